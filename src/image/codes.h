/*
 * What the counts of a file's codes tell of its tones.
 */
#ifndef WS_IMAGE_CODES_H
#define WS_IMAGE_CODES_H

#include <whetsight/image.h>

G_BEGIN_DECLS

typedef struct
{
  guint gaps;     /* codes that next to no pixel has, while its neighbours' are many */
  guint doubles;  /* codes that half as many pixels again have as their neighbours let expect */
  double missing; /* share of the codes between darkest and brightest that are used by none, where
                     the others are used by many; else 0 */
} WsCodes;

/*
 * Light falls on a sensor at all levels, so the counts go smoothly from code to code.  A curve laid
 * over codes that are whole numbers already tears them apart where it is steep and lays two on one
 * where it is flat; a palette leaves most of them out.
 */
WsCodes wsi_codes_look (const guint32 counts[WS_IMAGE_CODES]);

G_END_DECLS

#endif
