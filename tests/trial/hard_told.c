/* What isn't what the program is told: wrong cards, scales and views, and no tool at all. */
#include <math.h>
#include <string.h>

#include "hard.h"

/* ---- Sizes --------------------------------------------------------------------------------------
 */

/* By 1 to 30 %, either way.  Less than a fifth may be wear or regrinding, which narrows blades, or
 * shows in the lengths; what is more can't. */
static double
wrong_factor (HardShot *shot)
{
  const double by = hard_between (shot, 0.01, 0.30);
  if (by < 0.25)
    shot->expected = HARD_FREE;
  return scene_rng_next (&shot->rng) % 2 == 0 ? 1.0 + by : 1.0 / (1.0 + by);
}

void
hard_wrong_scale (HardShot *shot)
{
  shot->mm_per_px *= wrong_factor (shot);
}

/* A length on the card. */
static void
change_on_card (HardShot *shot, const char *key, double by)
{
  const char *found = strstr (shot->card->str, key);
  if (found == NULL)
    return;
  const gsize at = (gsize)(found - shot->card->str) + strlen (key);
  const gsize end = at + strcspn (shot->card->str + at, "\n");
  char text[G_ASCII_DTOSTR_BUF_SIZE];
  const double length = g_ascii_strtod (shot->card->str + at, NULL);
  g_string_erase (shot->card, (gssize)at, (gssize)(end - at));
  g_string_insert (shot->card, (gssize)at, g_ascii_dtostr (text, sizeof text, by * length));
}

void
hard_wrong_card (HardShot *shot)
{
  const double by = wrong_factor (shot);
  change_on_card (shot, "diameter_mm = ", by);
  change_on_card (shot, "width_mm = ", by);
  if (shot->scene != HARD_FORM_PLAN)
    return;
  /* The nominal of another tool altogether. */
  SceneCamera unused;
  shot->expected = HARD_NOT_ACCEPTED;
  scene_profile_random (shot->scene_seed + 1, &shot->profile, &unused);
}

/* ---- Hands --------------------------------------------------------------------------------------
 */

void
hard_other_hand (HardShot *shot)
{
  const gboolean left = strstr (shot->card->str, "hand = left") != NULL;
  g_string_replace (shot->card, left ? "hand = left" : "hand = right",
                    left ? "hand = right" : "hand = left", 1);
}

/* ---- Views --------------------------------------------------------------------------------------
 */

/* Whether a picture of the one could be one of the other: one view, or views of the same side of
 * like tools. */
static gboolean
are_alike (HardScenes one, HardScenes other)
{
  const guint ends = HARD_END | HARD_TIP, sides = HARD_BLADE_SIDE | HARD_FORM_SIDE;
  return one == other || ((one & ends) != 0 && (other & ends) != 0) ||
         ((one & sides) != 0 && (other & sides) != 0);
}

/* In silhouette all blades are a plate with a slanting end, and sides that a degree or two may
 * part: from above or from the side, nobody could tell. */
#define PLATES HARD_BLADES

/* Through another view, with a card as for that view's own tool, and a scale at which the picture
 * would show one of that size. */
void
hard_other_view (HardShot *shot)
{
  HardScenes other = shot->scene;
  while (are_alike (shot->scene, other))
    other = (HardScenes)(1u << scene_rng_next (&shot->rng) % HARD_N_SCENES);
  if ((shot->scene & PLATES) != 0 && (other & PLATES) != 0)
    shot->expected = HARD_FREE;
  hard_shot_tell (shot, other);
}

/* ---- No drill's point ---------------------------------------------------------------------------
 */

static SceneImage *
render_trap (HardShot *shot)
{
  const char *const *kinds = scene_trap_kinds ();
  const guint n = g_strv_length ((char **)kinds);
  shot->mm_per_px = shot->camera.mm_per_px;
  return scene_trap (kinds[shot->seed % n], shot->scene_seed, NULL);
}

void
hard_traps (HardShot *shot)
{
  shot->render = render_trap;
}

/* The drill's other end: round, with a chamfer. */
static SceneImage *
render_shank (HardShot *shot)
{
  const SceneCamera *camera = &shot->camera;
  const double half = 0.5 * shot->drill.diameter;
  const double cut = half * hard_between (shot, 0.05, 0.9);
  const double slope = tan (scene_rng_uniform (&shot->rng, 25.0, 60.0) * G_PI / 180.0);
  const double reach = 2.0 * hypot (camera->width, camera->height) * camera->mm_per_px;
  const ScenePoint corners[] = {
    { -half, -reach },           { -half, 0.0 }, { cut - half, cut * slope },
    { half - cut, cut * slope }, { half, 0.0 },  { half, -reach }
  };
  ScenePolygon bar = { g_memdup2 (corners, sizeof corners), G_N_ELEMENTS (corners), 1.0 };
  scene_camera_project (camera, &bar);
  shot->mm_per_px = camera->mm_per_px;
  SceneImage *image = scene_render_polygons (&bar, 1, camera);
  scene_polygon_clear (&bar);
  return image;
}

void
hard_shank (HardShot *shot)
{
  shot->render = render_shank;
}

/* The tool moves out of the picture, the cutting end first. */
void
hard_cut_by_frame (HardShot *shot)
{
  const double roll = shot->camera.roll_deg * G_PI / 180.0;
  const double way = shot->strength * 0.4 * MAX (shot->camera.width, shot->camera.height);
  const double aside = 0.5 * way * scene_rng_uniform (&shot->rng, -1.0, 1.0);
  shot->camera.origin_x += way * sin (roll) + aside * cos (roll);
  shot->camera.origin_y += -way * cos (roll) + aside * sin (roll);
}
