/*
 * From pixels to millimetres.
 */
#ifndef WHETSIGHT_OPTICS_H
#define WHETSIGHT_OPTICS_H

#include <glib.h>

G_BEGIN_DECLS

typedef struct
{
  gboolean has_scale; /* FALSE: lengths stay in px */
  double mm_per_px;   /* > 0 when has_scale */
  double u_mm_per_px; /* standard uncertainty, >= 0 */
} WsOptics;

#define WS_OPTICS_UNKNOWN                                                                          \
  {                                                                                                \
    FALSE, 1.0, 0.0                                                                                \
  }

G_END_DECLS

#endif
