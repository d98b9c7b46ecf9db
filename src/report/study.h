/*
 * What a gauge study says, beside its text (whetsight/study.h).
 */
#ifndef WS_REPORT_STUDY_H
#define WS_REPORT_STUDY_H

#include <whetsight/study.h>

G_BEGIN_DECLS

/* Are the values that were repeated all the same?  Then nothing can be said of the gauge. */
gboolean wsi_study_repeats_exactly (const WsStudy *study);

G_END_DECLS

#endif
