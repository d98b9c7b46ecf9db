/*
 * Checks of a calibration against things of known size, and their history in NAME.checks.csv
 * beside NAME.calib.
 */
#ifndef WHETSIGHT_CHECKS_H
#define WHETSIGHT_CHECKS_H

#include <whetsight/calibration.h>

G_BEGIN_DECLS

#define WS_CHECK_TIME_SIZE 21 /* "2026-11-25T15:52:25Z" and the zero byte */

/* One measured size of one picture.  Lengths in mm, uncertainties expanded, k = 2. */
typedef struct
{
  char *run; /* the same for all pictures of one call */
  char time[WS_CHECK_TIME_SIZE];
  char *calibration; /* its id */
  char *file;        /* the picture's name without its folder */
  char *sha256;      /* of the picture */
  char *quantity;    /* "diameter_mm", "outer_mm", "inner_mm", "square_mm" */
  double value, U;   /* by the picture and the calibration */
  double reference, U_reference;
  double deviation; /* value - reference */
  double E_n;    /* deviation / sqrt (U^2 + U_reference^2): ISO/IEC 17043, recalled from memory */
  gboolean pass; /* |E_n| <= 1 */
} WsCheck;

/* A check with what it has in common with others of a call, judged.  Lengths are rounded to
 * 0.1 nm first, as the file keeps them.  The caller owns it until it is added to a list. */
WsCheck *ws_check_new (const char *run, const char *quantity, double value, double U,
                       double reference, double U_reference);
void ws_check_free (WsCheck *check);

/* A name for a call: its time and a random part.  Free with g_free(). */
char *ws_checks_new_run (GDateTime *time);

/* An empty list of WsCheck that owns them. */
GPtrArray *ws_checks_new (void);

/* "shelf/NAME.checks.csv" for "shelf/NAME.calib".  Free with g_free(). */
char *ws_checks_path (const char *calibration_path);

/* An empty list when there is no such file yet.  Errors: WS_ERROR_NO_INPUT, WS_ERROR_DATA. */
GPtrArray *ws_checks_load (const char *path, GError **error);

/* Writes the file beside the calibration anew with `checks` at its end, whole or not at all;
 * others who do the same wait.  Returns the whole history.  Errors: as of loading, and
 * WS_ERROR_CANT_WRITE. */
GPtrArray *ws_checks_append (const char *calibration_path, const GPtrArray *checks, GError **error);

/* ---- What they say ---------------------------------------------------------------- */

typedef enum
{
  WS_CHECKED_NEVER,
  WS_CHECKED_PASSED, /* every size of the last run */
  WS_CHECKED_FAILED  /* some size of some run, and no run has passed as a whole since */
} WsCheckedState;

typedef struct
{
  WsCheckedState state;
  char time[WS_CHECK_TIME_SIZE]; /* of the last pass; of the first failure since; "" when never */
} WsCheckState;

/* Of the calibration with this id; checks of others don't count. */
WsCheckState ws_checks_state (const GPtrArray *checks, const char *calibration);

/* The same from the file beside the calibration's. */
gboolean ws_checks_load_state (const char *calibration_path, const char *calibration,
                               WsCheckState *state, GError **error);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsCheck, ws_check_free)

G_END_DECLS

#endif
