/*
 * What a page takes from a record.
 */
#ifndef WS_REPORT_PDF_READ_H
#define WS_REPORT_PDF_READ_H

#include <jansson.h>
#include <whetsight/result.h>

G_BEGIN_DECLS

/* NULL and NAN where there is none. */
const char *wsi_record_text (const json_t *object, const char *key);
double wsi_record_number (const json_t *object, const char *key);

WsVerdict wsi_record_verdict (const char *name);

/* What a retake's code says to do; NULL for others. */
const char *wsi_record_sentence (const char *reason);

/* As it is written on the card, "" when it isn't finite; free with g_free(). */
char *wsi_record_size (double size);

G_END_DECLS

#endif
