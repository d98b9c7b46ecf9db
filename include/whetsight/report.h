/*
 * Outputs.  Each is made from a WsReport alone and measures nothing.
 */
#ifndef WHETSIGHT_REPORT_H
#define WHETSIGHT_REPORT_H

#include <whetsight/calibrate.h>
#include <whetsight/card.h>
#include <whetsight/checks.h>
#include <whetsight/image.h>
#include <whetsight/optics.h>
#include <whetsight/result.h>
#include <whetsight/trend.h>

G_BEGIN_DECLS

/* The calibration that a measurement rests on, and its standing. */
typedef struct
{
  WsCalibration *calibration;
  gboolean expired;       /* but used all the same */
  const char *check;      /* the last check: "never", "passed", "failed", "due"; static */
  char check_time[24];    /* of the pass, or of the first failure since; "" when never */
  gboolean check_ignored; /* a failed check was not to count */
} WsCalibrationUse;

/* One picture of a series; all borrowed. */
typedef struct
{
  const char *name;   /* base name of its file */
  const char *sha256; /* NULL when it could not be read */
  guint width, height;
} WsReportImage;

/* A result and where it came from; all borrowed but for the strings said otherwise. */
typedef struct
{
  const char *id;                /* unique: "20261125T101502Z-1f0c9a3b-5e0d11" */
  const char *time;              /* ISO 8601, UTC, "2026-11-25T10:15:02Z" */
  const char *machine;           /* that the tool works on, or NULL */
  const char *measured_by;       /* a name, or NULL */
  double length_mm, u_length_mm; /* of the tool, measured by hand; 0 when nobody did */
  const char *tone_told;    /* "linear", "srgb": of the picture, where somebody told it; or NULL */
  const char *image_name;   /* base name of the picture's file */
  const char *image_sha256; /* NULL when the file could not be read */
  guint image_width, image_height; /* 0 when it could not be decoded */
  const WsReportImage *images; /* of a series: all of them, the one above among them; else NULL */
  guint n_images;
  const WsToolCard *card;
  const WsOptics *optics;
  const WsCalibrationUse *calibration; /* NULL when measured without one */
  const WsResult *result;
  WsUnits units;      /* of texts and pictures */
  const char *record; /* what ws_report_record() made of the result before it was shown in other
                         units, for the picture; or NULL */
} WsReport;

typedef enum
{
  WS_TEXT_SCREEN, /* verdict, reason, what to do, and of the table what a screen still holds */
  WS_TEXT_DETAILS /* all of it: every quantity, what was found, sources of limits, scale, camera */
} WsTextLength;

/* Lets texts and pictures of `result` tell lengths in `units`, in the language that the program
 * chose for this thread: its sentences are written anew, its quantities are only read so.  For
 * good, so the record is made first. */
void ws_report_show_in (WsResult *result, WsUnits units);

/* Text for people, ending in a newline.  Free with g_free(). */
char *ws_report_text (const WsReport *report, WsTextLength length);

/* Verdict, picture and reason in one line without a newline: one of many pictures.  Free with
 * g_free(). */
char *ws_report_line (const WsReport *report);

/* Record "whetsight/1" as one line of JSON without a newline.  Free with g_free(). */
char *ws_report_record (const WsReport *report);

/* The picture with what was found drawn on it, as PNG bytes; the record travels in
 * an iTXt chunk with the keyword "Whetsight Record".  Errors: WS_ERROR_INTERNAL. */
GBytes *ws_report_picture (const WsReport *report, const WsImage *image, GError **error);

/* What a calibration says: the summary for people, ending in a newline; the same as one line of
 * JSON, `path` being where the calibration was written.  Free with g_free(). */
char *ws_report_sizes_text (const WsSizesDone *done);
char *ws_report_sizes_json (const WsSizesDone *done, const char *path);
char *ws_report_target_text (const WsTargetDone *done);

/* The picture of its residuals as a PNG file's bytes.  Errors: WS_ERROR_INTERNAL.  The caller owns
 * the result. */
GBytes *ws_report_sizes_chart (const WsSizesDone *done, GError **error);
GBytes *ws_report_target_chart (const WsTargetDone *done, GError **error);

/* The control chart of a calibration's checks, of WsCheck as ws_checks_load() and
 * ws_checks_append() give them.  Errors: WS_ERROR_INTERNAL.  The caller owns the result. */
GBytes *ws_report_checks_chart (const WsCalibration *calibration, const GPtrArray *checks,
                                WsChartFormat format, GError **error);

/* What the newest check of each size signals beside pass and fail, ending in NULL: "diameter 4.638
 * mm: the last 7 deviations rise".  Free with g_strfreev(). */
char **ws_report_checks_signals (const WsCalibration *calibration, const GPtrArray *checks);

/* Writes to a temporary name beside `path`, syncs, renames: whole or not at all.
 * Errors: WS_ERROR_CANT_WRITE. */
gboolean ws_report_save (const char *path, const void *bytes, gsize n_bytes, GError **error);

G_END_DECLS

#endif
