#include "camera.h"
#include "optics/calibration.h"
#include "optics/lens.h"

#include <math.h>

/*
 * Standard deviations, from memory of chessboard calibrations: the scale is known far better than
 * focal length and distance, which trade off against each other, and the principal point trades
 * off against the pose.
 */
#define EDGE_SHIFT_PX 0.02
#define SCALE 1e-4
#define DISTANCE 2e-3
#define PRINCIPAL_PX 2.0
#define CORNER_PX 1.0 /* k1 alone, at the picture's corner */
#define K2_SHARE 0.8  /* of that k2 takes back */
#define POSE_RAD 3e-4
#define TELECENTRIC_K1 2e-4

#define MAX_MODES 8

/* Columns of a square root of the covariance. */
typedef struct
{
  guint n, n_modes;
  double column[MAX_MODES][WS_LENS_MAX];
} Modes;

static double *
next_mode (Modes *modes)
{
  return modes->column[modes->n_modes++];
}

static void
pinhole (const SceneCamera *camera, double *p, Modes *modes)
{
  const double f = camera->distance_mm / camera->mm_per_px;
  const double corner = 0.5 * hypot (camera->width, camera->height) / f;
  p[WS_LENS_P_FX] = p[WS_LENS_P_FY] = f;
  p[WS_LENS_P_CX] = 0.5 * (camera->width - 1.0) + camera->centre_x;
  p[WS_LENS_P_CY] = 0.5 * (camera->height - 1.0) + camera->centre_y;
  p[WS_LENS_P_K1] = camera->k1;
  p[WS_LENS_P_K2] = camera->k2;
  p[WS_LENS_P_TZ] = camera->distance_mm;
  double *mode = next_mode (modes);
  mode[WS_LENS_P_FX] = mode[WS_LENS_P_FY] = SCALE * f;
  mode = next_mode (modes);
  mode[WS_LENS_P_FX] = mode[WS_LENS_P_FY] = DISTANCE * f;
  mode[WS_LENS_P_TZ] = DISTANCE * camera->distance_mm;
  for (guint k = 0; k < 2; k++)
  {
    mode = next_mode (modes);
    mode[WS_LENS_P_CX + k] = PRINCIPAL_PX;
    mode[WS_LENS_P_TX + k] = -PRINCIPAL_PX * camera->mm_per_px;
    mode = next_mode (modes);
    mode[WS_LENS_P_RX + k] = POSE_RAD;
  }
  mode = next_mode (modes);
  mode[WS_LENS_P_K1] = CORNER_PX / (f * pow (corner, 3.0));
  mode[WS_LENS_P_K2] = -K2_SHARE * CORNER_PX / (f * pow (corner, 5.0));
}

static void
telecentric (const SceneCamera *camera, double *p, Modes *modes)
{
  p[WS_LENS_T_SCALE] = camera->mm_per_px;
  p[WS_LENS_T_K1] = camera->k1;
  next_mode (modes)[WS_LENS_T_SCALE] = SCALE * camera->mm_per_px;
  next_mode (modes)[WS_LENS_T_K1] = TELECENTRIC_K1;
}

/* Parameters off by a draw, and the covariance. */
static void
spread (WsLens *lens, const Modes *modes, guint64 seed)
{
  SceneRng rng;
  scene_rng_init (&rng, seed);
  const guint n = modes->n;
  for (guint k = 0; k < modes->n_modes; k++)
  {
    const double draw = scene_rng_normal (&rng);
    for (guint i = 0; i < n; i++)
    {
      lens->parameters[i] += draw * modes->column[k][i];
      for (guint j = 0; j < n; j++)
        lens->covariance[i * n + j] += modes->column[k][i] * modes->column[k][j];
    }
  }
}

WsCalibration *
trial_calibration (const SceneCamera *camera, guint64 seed)
{
  const gboolean near = camera->distance_mm > 0.0;
  WsCalibration *calibration = wsi_calibration_new (near ? "target" : "pin", TRIAL_CAMERA_NAME);
  WsLens *lens = &calibration->lens;
  *lens = (WsLens){ .model = near ? WS_LENS_PINHOLE : WS_LENS_TELECENTRIC,
                    .width = camera->width,
                    .height = camera->height,
                    .residual_px = 0.03 };
  Modes modes = { .n = wsi_lens_n_parameters (lens->model) };
  lens->parameters[WS_LENS_EDGE_SHIFT] = camera->shrink_px;
  next_mode (&modes)[WS_LENS_EDGE_SHIFT] = EDGE_SHIFT_PX;
  (near ? pinhole : telecentric) (camera, lens->parameters, &modes);
  spread (lens, &modes, seed);
  wsi_calibration_add_artefact (calibration, near ? "chessboard 11 x 8, 1.5 mm" : "pin 6 mm",
                                "QT-0017", near ? 1.5 : 6.0, 0.0003);
  return calibration;
}

gboolean
trial_calibration_save (const SceneCamera *camera, guint64 seed, const char *path)
{
  g_autoptr (WsCalibration) calibration = trial_calibration (camera, seed);
  g_autoptr (GError) error = NULL;
  if (ws_calibration_save (calibration, path, &error))
    return TRUE;
  g_printerr ("%s\n", error->message);
  return FALSE;
}

gboolean
trial_card_save (const SceneDrill *drill, double web_mm, const char *hand, const char *path)
{
  char number[G_ASCII_DTOSTR_BUF_SIZE];
  const char *kind = drill->design_half_angle < 50.0 ? "spot-drill" : "twist-drill";
  g_autoptr (GString) card = g_string_new ("[tool]\nid = QT-D-0118\n");
  g_string_append_printf (card, "kind = %s\ndiameter_mm = %s\n", kind,
                          g_ascii_dtostr (number, sizeof number, drill->diameter));
  if (!isnan (web_mm))
    g_string_append_printf (card, "web_mm = %s\n", g_ascii_dtostr (number, sizeof number, web_mm));
  if (hand != NULL)
    g_string_append_printf (card, "hand = %s\n", hand);
  return g_file_set_contents (path, card->str, -1, NULL);
}
