/*
 * How a camera took a picture.
 */
#ifndef WHETSIGHT_TAKEN_H
#define WHETSIGHT_TAKEN_H

#include <glib.h>

G_BEGIN_DECLS

/* What a picture taken by `whetsight capture` says of how it was taken. */
typedef enum
{
  WS_TAKEN_CAMERA, /* kind, name and serial number */
  WS_TAKEN_PIXELS, /* grey or colour, bits, tone, compression */
  WS_TAKEN_EXPOSURE,
  WS_TAKEN_GAIN,
  WS_TAKEN_WHITE_BALANCE,
  WS_TAKEN_GAMMA,
  WS_TAKEN_SHARPENING,
  WS_TAKEN_CALIBRATION, /* SHA-256 of its bench's; NULL without */
  WS_N_TAKEN
} WsTakenName;

typedef struct
{
  char *of[WS_N_TAKEN]; /* "0.01 s", "none", "no such control" */
} WsTaken;

G_END_DECLS

#endif
