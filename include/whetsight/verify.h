/*
 * Checking a calibration against things of known size that it wasn't made with.
 */
#ifndef WHETSIGHT_VERIFY_H
#define WHETSIGHT_VERIFY_H

#include <whetsight/calibrate.h>
#include <whetsight/checks.h>
#include <whetsight/retake.h>

G_BEGIN_DECLS

/* One run: pictures that are checked together. */
typedef struct WsVerify WsVerify;

/* A run that starts now; `calibration` is borrowed.  Free with ws_verify_free(). */
WsVerify *ws_verify_new (const WsCalibration *calibration);
void ws_verify_free (WsVerify *verify);

/* Only pictures that were taken like this are measured; borrowed. */
void ws_verify_expect (WsVerify *verify, const WsTaken *taken);

/* Pictures come from elsewhere: they are decoded in a process of their own (WS_IMAGE_CONFINED). */
void ws_verify_confine (WsVerify *verify);

/* What a picture showed; clear with ws_verify_seen_clear(). */
typedef struct
{
  guint first, n;   /* its checks' places in ws_verify_checks() */
  WsRetake reason;  /* why it can't be measured */
  char *detail;     /* what was seen then; owned */
  gboolean made_it; /* the calibration was made from this very picture, so that it agrees by
                       construction */
} WsVerifySeen;

void ws_verify_seen_clear (WsVerifySeen *seen);

/* Measures a picture and adds a check for each size that is known of it.  FALSE without an error
 * when it can't be measured; `seen` is set either way.  Errors: those of ws_image_load();
 * WS_ERROR_DATA when the calibration isn't for pictures of this size; WS_ERROR_INTERNAL. */
gboolean ws_verify_shot (WsVerify *verify, const WsShot *shot, WsVerifySeen *seen, GError **error);

/* Of WsCheck, all so far, owned by the run; to be kept with ws_checks_append(). */
const GPtrArray *ws_verify_checks (const WsVerify *verify);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsVerify, ws_verify_free)
G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (WsVerifySeen, ws_verify_seen_clear)

G_END_DECLS

#endif
