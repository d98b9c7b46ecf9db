/*
 * The bench's camera, looked through by browsers: one thread follows its frames while somebody
 * looks on.  Only the newest frame is kept, so that a slow browser gets fewer frames, never older
 * ones.  A camera is set up for one tool at a time.
 */
#ifndef WS_BENCH_EYE_H
#define WS_BENCH_EYE_H

#include <whetsight/card.h>
#include <whetsight/optics.h>
#include <whetsight/view.h>

G_BEGIN_DECLS

typedef struct WsEye WsEye;

/* `address` as of wsi_camera_open(), or NULL and `bench`, a bench file, whose camera is set as that
 * has it (camera/bench.h); `rate`: frames a second of a folder's pictures, NAN as they come.  Free
 * with wsi_eye_free(), which waits until its thread has ended. */
WsEye *wsi_eye_new (const char *address, const char *bench, double rate);
void wsi_eye_free (WsEye *eye);

/* What is set up; borrowed. */
typedef struct
{
  const char *card;        /* path of the tool's card; NULL for what is no tool */
  const char *calibration; /* path, or NULL */
  const WsView *view; /* of silhouettes; NULL likewise: light, focus and rest alone are told, and
                         nothing is taken by itself */
} WsEyeTask;

/* The first frame newer than `after`, and begins to look when nobody did: a line of JSON
 * ("whetsight-live/1": frame, words, arrow, outline), then the frame as a JPEG.  Waits for it, and
 * no longer than WSI_EYE_WAIT_S.  Errors: WS_ERROR_CANCELLED when the camera is set up for
 * another tool, or sent nothing; those of opening it, of the card and the calibration.  Free with
 * g_bytes_unref(). */
GBytes *wsi_eye_next (WsEye *eye, const WsEyeTask *task, guint64 after, GError **error);

/* The picture that was taken as frame `number`, as a file; 0: the next frame, good or not.  Errors
 * as above; WS_ERROR_NO_INPUT when that frame wasn't taken.  Free with g_bytes_unref(). */
GBytes *wsi_eye_take (WsEye *eye, const WsEyeTask *task, guint64 number, GError **error);

#define WSI_EYE_WAIT_S 4

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsEye, wsi_eye_free)

G_END_DECLS

#endif
