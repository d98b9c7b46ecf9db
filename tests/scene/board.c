/* Chessboards as a camera sees them. */
#include "lens.h"
#include "solid.h"

#include <math.h>

/* Points along each side of a square, so that distortion bends it. */
#define N_SIDE 16

/* The pose as a matrix with the board's x, y and normal as columns, in the picture's
 * directions: right, down, away from the camera. */
typedef struct
{
  double m[3][3];
} Pose;

static Pose
pose_of (const SceneBoard *board)
{
  const double cx = cos (board->rx_deg * SCENE_DEG), sx = sin (board->rx_deg * SCENE_DEG);
  const double cy = cos (board->ry_deg * SCENE_DEG), sy = sin (board->ry_deg * SCENE_DEG);
  const double cz = cos (board->rz_deg * SCENE_DEG), sz = sin (board->rz_deg * SCENE_DEG);
  /* Ry Rx Rz: its own normal first. */
  const Pose pose = { { { cy * cz + sy * sx * sz, -cy * sz + sy * sx * cz, sy * cx },
                        { cx * sz, cx * cz, -sx },
                        { -sy * cz + cy * sx * sz, sy * sz + cy * sx * cz, cy * cx } } };
  return pose;
}

/* A point of the board, mm from its middle, in the picture. */
static ScenePoint
seen (const SceneBoard *board, const Pose *pose, const SceneCamera *camera, double x, double y)
{
  const double right = board->x + pose->m[0][0] * x + pose->m[0][1] * y;
  const double down = board->y + pose->m[1][0] * x + pose->m[1][1] * y;
  const double nearer = board->z - pose->m[2][0] * x - pose->m[2][1] * y;
  const double D = camera->distance_mm;
  const double growth = (D > 0.0 ? D / (D - nearer) : 1.0) / camera->mm_per_px;
  const ScenePoint foot = lens_to_ideal (camera, lens_foot (camera));
  const ScenePoint ideal = { foot.x + right * growth, foot.y + down * growth };
  return lens_distort (camera, ideal);
}

ScenePoint *
scene_board_corners (const SceneBoard *board, const SceneCamera *camera)
{
  const Pose pose = pose_of (board);
  ScenePoint *corners = g_new (ScenePoint, (gsize)board->rows * board->columns);
  for (guint j = 0; j < board->rows; j++)
    for (guint i = 0; i < board->columns; i++)
      corners[(gsize)j * board->columns + i] =
        seen (board, &pose, camera, (i - 0.5 * (board->columns - 1.0)) * board->square,
              (j - 0.5 * (board->rows - 1.0)) * board->square);
  return corners;
}

static ScenePolygon
square_at (const SceneBoard *board, const Pose *pose, const SceneCamera *camera, guint i, guint j)
{
  static const double corner[5][2] = { { 0, 0 }, { 1, 0 }, { 1, 1 }, { 0, 1 }, { 0, 0 } };
  ScenePolygon square = { g_new (ScenePoint, 4 * N_SIDE), 4 * N_SIDE, 1.0 };
  for (guint k = 0; k < 4; k++)
    for (guint t = 0; t < N_SIDE; t++)
    {
      const double x = corner[k][0] + (corner[k + 1][0] - corner[k][0]) * t / N_SIDE;
      const double y = corner[k][1] + (corner[k + 1][1] - corner[k][1]) * t / N_SIDE;
      square.points[k * N_SIDE + t] =
        seen (board, pose, camera, (i + x - 0.5 * (board->columns + 1.0)) * board->square,
              (j + y - 0.5 * (board->rows + 1.0)) * board->square);
    }
  lens_shrink (camera, &square);
  return square;
}

SceneImage *
scene_render_board (const SceneBoard *board, const SceneCamera *camera)
{
  const Pose pose = pose_of (board);
  g_autoptr (GArray) squares = g_array_new (FALSE, FALSE, sizeof (ScenePolygon));
  for (guint j = 0; j <= board->rows; j++)
    for (guint i = 0; i <= board->columns; i++)
      if ((i + j) % 2 == 0)
      {
        const ScenePolygon square = square_at (board, &pose, camera, i, j);
        g_array_append_val (squares, square);
      }
  SceneImage *image =
    scene_render_polygons ((const ScenePolygon *)(void *)squares->data, squares->len, camera);
  for (guint i = 0; i < squares->len; i++)
    scene_polygon_clear (&g_array_index (squares, ScenePolygon, i));
  return image;
}
