/*
 * Lists of pictures of things of known size.
 */
#ifndef WS_CLI_SHOTS_H
#define WS_CLI_SHOTS_H

#include <glib.h>

G_BEGIN_DECLS

typedef enum
{
  WS_SHOT_PIN,  /* a pin seen from the side: diameter */
  WS_SHOT_DISC, /* a ring or disc seen face-on: outer and, of a ring, inner diameter */
  WS_SHOT_BOARD /* a chessboard in the measuring plane: side of a square */
} WsShotKind;

typedef struct
{
  char *path;
  WsShotKind kind;
  double size_mm;      /* diameter; outer diameter, NAN when not known; side of a square */
  double hole_mm;      /* inner diameter, NAN when not known */
  double u_mm;         /* standard uncertainty of each */
  guint columns, rows; /* of a board's inner corners */
} WsShot;

/* Takes `path`. */
WsShot *ws_shot_new (char *path, WsShotKind kind);
void ws_shot_free (WsShot *shot);

/* Of WsShot, from a table with the columns file, diameter_mm, u_mm, or file, outer_mm, inner_mm
 * (which may be empty or missing), u_mm (likewise, then 0); file names are relative to the list's
 * folder.  Errors: WS_ERROR_NO_INPUT; WS_ERROR_DATA with line and column. */
GPtrArray *ws_shots_load (const char *path, GError **error);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsShot, ws_shot_free)

G_END_DECLS

#endif
