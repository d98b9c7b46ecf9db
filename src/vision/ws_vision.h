/*
 * The only door to OpenCV, in C.  No C++ type, exception or message comes through it.
 */
#ifndef WS_VISION_H
#define WS_VISION_H

#include <glib.h>

G_BEGIN_DECLS

/* A decoded picture.  Free with wsi_vision_picture_clear(). */
typedef struct
{
  guint width, height;
  guint channels;  /* 1 grey, 3 RGB */
  guint8 *samples; /* 8 bits each, rows from top to bottom, `row_bytes` apart */
  gsize row_bytes;
} WsVisionPicture;

/*
 * Decodes a BMP file's bytes.  The caller has checked the size they claim.
 * Errors: WS_ERROR_DATA (damaged, or of a kind that isn't read), WS_ERROR_INTERNAL
 * (the module with OpenCV can't be opened).
 */
gboolean wsi_vision_decode (const guint8 *bytes, gsize n_bytes, WsVisionPicture *picture,
                            GError **error);

void wsi_vision_picture_clear (WsVisionPicture *picture);

/* Borrowed: linear light, row by row without padding. */
typedef struct
{
  const guint16 *linear;
  guint width, height;
} WsVisionLight;

/* The inner corners of a chessboard, row by row. */
typedef struct
{
  guint columns, rows; /* as seen: fewer or more than asked for when they don't fit */
  double *corners;     /* x, y; columns x rows of them; NULL when no board is seen at all */
} WsVisionBoard;

/*
 * Finds the chessboard with so many inner corners, each to about half a pixel.  Without it the
 * part of a board that is seen is returned, so that the caller can tell what is wrong.
 * Errors: WS_ERROR_INTERNAL.  Free with wsi_vision_board_clear().
 */
gboolean wsi_vision_find_board (const WsVisionLight *light, guint columns, guint rows,
                                WsVisionBoard *board, GError **error);

void wsi_vision_board_clear (WsVisionBoard *board);

/* Moves a corner (x, y) to the point that all gradients within `half_width` px of it point past
 * (Förstner & Gülch 1987).  Errors: WS_ERROR_INTERNAL. */
gboolean wsi_vision_refine_corner (const WsVisionLight *light, guint half_width, double corner[2],
                                   GError **error);

/* 10 to 90 % widths of the edges between a whole board's corners, px: the mean of those along its
 * rows and of those along its columns; NAN where they can't be told.  Errors: WS_ERROR_INTERNAL. */
gboolean wsi_vision_edge_widths (const WsVisionLight *light, const WsVisionBoard *board,
                                 double widths[2], GError **error);

/* Views of one flat board. */
typedef struct
{
  guint width, height;  /* px, of the pictures */
  guint n_views;        /* >= 1 */
  guint n_points;       /* of the board */
  const double *board;  /* x, y in mm; n_points of them */
  const double *points; /* x, y in px; n_points for each view in turn */
} WsVisionViews;

/*
 * A pinhole camera for the views (Zhang 2000): focal lengths, principal point, k1 and k2 to
 * `camera`, rotation vector and translation (mm) of each view to `poses`, 6 each.
 * Errors: WS_ERROR_DATA when there is none.
 */
gboolean wsi_vision_calibrate (const WsVisionViews *views, double camera[6], double *poses,
                               GError **error);

/* ---- Video --------------------------------------------------------------------------------- */

typedef struct WsVisionVideo WsVisionVideo;

/* Of a video; belongs to it and holds until the next one. */
typedef struct
{
  guint width, height;
  guint channels;        /* 1 grey, 3 blue, green, red */
  const guint8 *samples; /* 8 bits each; NULL after the last picture */
  gsize row_bytes;
} WsVisionFrame;

/* `rate`: pictures a second, as the file says; 0 when it doesn't.  Errors: WS_ERROR_DATA when it
 * isn't a video, WS_ERROR_INTERNAL.  Free with wsi_vision_video_close(). */
WsVisionVideo *wsi_vision_video_open (const char *path, double *rate, GError **error);
void wsi_vision_video_close (WsVisionVideo *video);

/* Errors: WS_ERROR_DATA. */
gboolean wsi_vision_video_read (WsVisionVideo *video, WsVisionFrame *frame, GError **error);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsVisionVideo, wsi_vision_video_close)

/* What the module hands to vision.c, under the name WS_VISION_MODULE_SYMBOL.  Each function
 * returns NULL, or what is wrong, static. */
typedef struct
{
  /* `picture` is zeroed by the caller, `board` too. */
  const char *(*decode) (const guint8 *bytes, gsize n_bytes, WsVisionPicture *picture);
  const char *(*find_board) (const WsVisionLight *light, guint columns, guint rows,
                             WsVisionBoard *board);
  const char *(*refine_corner) (const WsVisionLight *light, guint half_width, double corner[2]);
  const char *(*edge_widths) (const WsVisionLight *light, const WsVisionBoard *board,
                              double widths[2]);
  const char *(*calibrate) (const WsVisionViews *views, double camera[6], double *poses);
  const char *(*open_video) (const char *path, gpointer *video, double *rate);
  const char *(*read_video) (gpointer video, WsVisionFrame *frame);
  void (*close_video) (gpointer video);
} WsVisionModule;

#define WS_VISION_MODULE_SYMBOL "ws_vision_module"

G_END_DECLS

#endif
