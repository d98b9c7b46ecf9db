/*
 * A bench: which camera with which settings stands at which station, and the calibration made of
 * it. Kept as a key file.  What was changed since is refused: no picture may be measured by a
 * calibration that isn't its own.
 */
#ifndef WS_CAMERA_BENCH_H
#define WS_CAMERA_BENCH_H

#include <whetsight/checks.h>

#include "camera/camera.h"

G_BEGIN_DECLS

typedef struct
{
  char *address, *name, *serial;
  guint width, height;           /* px, of its pictures */
  char *pixels;                  /* as wsi_taken_pixels() has them */
  gboolean colour;               /* which they have */
  char *settings[WS_N_SETTINGS]; /* as wsi_setting_text() has them */
  char *calibration;             /* path, beside the bench file unless absolute; NULL: none yet */
  char *calibration_sha256;      /* NULL likewise */
  char *station;                 /* or NULL */
  double check_hours;            /* a check of the calibration is due after so many; 0: never */
} WsBench;

/* Once a day, before work. */
#define WS_BENCH_CHECK_HOURS 24.0

void wsi_bench_clear (WsBench *bench);

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (WsBench, wsi_bench_clear)

/* Errors: WS_ERROR_NO_INPUT; WS_ERROR_DATA when it is no bench file or lacks what it needs. */
gboolean wsi_bench_load (const char *path, WsBench *bench, GError **error);

/* Whole or not at all.  Errors: WS_ERROR_CANT_WRITE. */
gboolean wsi_bench_save (const char *path, const WsBench *bench, GError **error);

/* Keeps what the camera is and gives now. */
void wsi_bench_keep (WsBench *bench, const WsCamera *camera, const WsCameraSettings *settings,
                     const WsImage *image);

/* Errors: those of loading it; WS_ERROR_DATA when the calibration is another one than the bench was
 * kept with. */
gboolean wsi_bench_check_calibration (const WsBench *bench, GError **error);

/* Opens the bench's camera and sets it as the bench has it.  Errors: those of wsi_camera_open();
 * WS_ERROR_DATA when it is another camera, a setting can't be had again, or the calibration is
 * another one. */
WsCamera *wsi_bench_open (const WsBench *bench, WsCameraSettings *settings, GError **error);

/* How the bench takes its pictures, with its calibration.  Free with wsi_taken_free(). */
WsTaken *wsi_bench_taken (const WsBench *bench);

/* The check of the bench's calibration, which whoever works there makes in the morning. */
typedef struct
{
  WsCheckState last;
  gboolean due;
} WsBenchCheck;

/* Without a calibration there is nothing to check, so none is due.  `now` in any time zone.
 * Errors: those of loading calibration and checks. */
gboolean wsi_bench_check (const WsBench *bench, GDateTime *now, WsBenchCheck *check,
                          GError **error);

/* Errors: WS_ERROR_DATA when the picture has another size or pixel format than the bench's. */
gboolean wsi_bench_check_picture (const WsBench *bench, const WsImage *image, GError **error);

G_END_DECLS

#endif
