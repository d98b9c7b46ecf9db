/* One shot of the campaign: a scene at random, its card and its truth. */
#include "hard.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* ---- The scenes ---------------------------------------------------------------------------- */

G_GNUC_PRINTF (2, 0)
static void
card (HardShot *shot, const char *format, double number)
{
  char text[G_ASCII_DTOSTR_BUF_SIZE];
  g_string_append_printf (shot->card, format, g_ascii_dtostr (text, sizeof text, number));
}

/* The design's point angle, and a diameter in the middle of h8, not at its end. */
static void
drill_card (HardShot *shot, double diameter)
{
  g_string_append (shot->card, "[tool]\nid = QT-H-0001\nkind = twist-drill\n");
  card (shot, "diameter_mm = %s\n", diameter);
}

static void
random_drill_side (HardShot *shot)
{
  const guint draw = (guint)(scene_rng_next (&shot->rng) % (2 * SCENE_N_MODES));
  scene_random (shot->scene_seed, draw < SCENE_N_MODES ? (SceneMode)draw : SCENE_GOOD, &shot->drill,
                &shot->camera);
  drill_card (shot, shot->drill.diameter + 0.007);
  const double point = 2.0 * shot->drill.design_half_angle;
  card (shot, "[limits]\npoint_angle_deg = %s", point - 3.0);
  card (shot, " .. %s\n", point + 3.0);
  shot->view = "drill-side";
}

static void
random_form_plan (HardShot *shot)
{
  scene_profile_random (shot->scene_seed, &shot->profile, &shot->camera);
  g_string_append (shot->card, "[tool]\nid = QT-H-0002\nkind = form-tool\n"
                               "nominal_profile = nominal.profile\n[limits]\n"
                               "profile_deviation_max_mm = .. 0.03\n"
                               "profile_deviation_min_mm = -0.03 ..\n");
  shot->view = "form-plan";
}

static void
random_blade_plan (HardShot *shot)
{
  const guint draw = (guint)(scene_rng_next (&shot->rng) % (2 * SCENE_BLADE_N_MODES));
  scene_random_blade_plan (shot->scene_seed,
                           draw < SCENE_BLADE_N_MODES ? (SceneBladeMode)draw : SCENE_BLADE_GOOD,
                           &shot->plan, &shot->camera);
  g_string_append (shot->card, "[tool]\nid = QT-H-0003\nkind = cutoff-blade\n"
                               "part_has_centre_hole = yes\n");
  card (shot, "width_mm = %s\n", shot->plan.width);
  shot->view = "blade-plan";
}

static void
random_blade_side (HardShot *shot)
{
  scene_random_blade_side (shot->scene_seed,
                           shot->scene_seed % 4 == 0 ? SCENE_BLADE_WORN : SCENE_BLADE_GOOD,
                           &shot->side, &shot->camera);
  const gboolean form = shot->scene == HARD_FORM_SIDE;
  g_string_append (shot->card, form ? "[tool]\nid = QT-H-0004\nkind = form-tool\n[limits]\n"
                                      "front_relief_deg = 5 .. 15\n"
                                    : "[tool]\nid = QT-H-0004\nkind = cutoff-blade\nwidth_mm = 3\n"
                                      "part_has_centre_hole = yes\n");
  shot->view = form ? "form-side" : "blade-side";
}

static void
random_face (HardShot *shot)
{
  scene_random_face (shot->scene_seed, &shot->face);
  g_string_append (shot->card, "[tool]\nid = QT-H-0005\nkind = cutoff-blade\n"
                               "part_has_centre_hole = yes\n");
  card (shot, "width_mm = %s\n", shot->face.width);
  shot->view = "blade-face";
}

static void
random_end (HardShot *shot)
{
  scene_random_end (shot->scene_seed, &shot->end);
  drill_card (shot, shot->end.diameter);
  g_string_append_printf (shot->card, "hand = %s\n", shot->end.left_hand ? "left" : "right");
  shot->view = "drill-end";
}

static void
random_tip (HardShot *shot)
{
  scene_random_tip (shot->scene_seed, &shot->drill, &shot->tip);
  drill_card (shot, shot->drill.diameter);
  g_string_append_printf (shot->card, "hand = %s\n", shot->drill.left_hand ? "left" : "right");
  shot->view = "drill-end";
}

static void
random_relief (HardShot *shot)
{
  scene_random_relief (shot->scene_seed, &shot->drill, &shot->relief);
  drill_card (shot, shot->drill.diameter);
  g_string_append_printf (shot->card, "hand = %s\n", shot->drill.left_hand ? "left" : "right");
  shot->view = "drill-relief";
}

/* ---- Rendering ------------------------------------------------------------------------------ */

/* Truth and scale of a generator's line of JSON. */
static void
take_truth (HardShot *shot, char *line)
{
  json_t *json = json_loads (line, 0, NULL);
  g_free (line);
  shot->mm_per_px = json_number_value (json_object_get (json, "mm_per_px"));
  shot->truth = json_incref (json_object_get (json, "truth"));
  json_decref (json);
}

static SceneImage *
render_drill_side (HardShot *shot)
{
  SceneTruth truth;
  SceneImage *image = scene_render (&shot->drill, &shot->camera, &truth);
  take_truth (shot, scene_truth_json ("", "", shot->seed, &shot->drill, &shot->camera, &truth));
  return image;
}

/* Lines' directions and arcs' radii; deviations are 0 where no segment has an error. */
static SceneImage *
render_form_plan (HardShot *shot)
{
  const SceneProfile *profile = &shot->profile;
  shot->truth = json_object ();
  shot->mm_per_px = shot->camera.mm_per_px;
  gboolean exact = TRUE;
  ScenePoint from = profile->start;
  for (guint i = 0; i < profile->n; i++)
  {
    const SceneSegment *segment = &profile->segments[i];
    const double dx = segment->to.x - from.x, dy = segment->to.y - from.y;
    const double bulge = segment->bulge;
    const gboolean is_line = fabs (bulge) < 1e-9;
    g_autofree char *name =
      g_strdup_printf (is_line ? "segment_%u_angle_deg" : "segment_%u_radius_mm", i + 1);
    /* A chord 2 h and a sagitta b h: r = h (1 + b^2) / (2 b). */
    hard_set_truth (shot, name,
                    is_line ? atan2 (dy, dx) * 180.0 / G_PI
                            : 0.25 * hypot (dx, dy) * (1.0 + bulge * bulge) / fabs (bulge));
    exact = exact && fabs (segment->error) < 1e-12;
    from = segment->to;
  }
  for (guint i = 0; exact && i < profile->n; i++)
  {
    g_autofree char *name = g_strdup_printf ("segment_%u_deviation_mm", i + 1);
    hard_set_truth (shot, name, 0.0);
  }
  if (exact)
  {
    hard_set_truth (shot, "profile_deviation_max_mm", 0.0);
    hard_set_truth (shot, "profile_deviation_min_mm", 0.0);
  }
  return scene_render_profile (profile, &shot->camera);
}

static SceneImage *
render_blade_plan (HardShot *shot)
{
  SceneBladePlanTruth truth;
  SceneImage *image = scene_render_blade_plan (&shot->plan, &shot->camera, &truth);
  take_truth (shot, scene_blade_plan_json ("", "", shot->seed, &shot->camera, &truth));
  return image;
}

static SceneImage *
render_blade_side (HardShot *shot)
{
  SceneBladeSideTruth truth;
  SceneImage *image = scene_render_blade_side (&shot->side, &shot->camera, &truth);
  take_truth (shot, scene_blade_side_json ("", "", shot->seed, &shot->camera, &truth));
  return image;
}

static SceneImage *
render_face (HardShot *shot)
{
  take_truth (shot, scene_face_json ("", &shot->face));
  return scene_render_face (&shot->face);
}

static SceneImage *
render_end (HardShot *shot)
{
  take_truth (shot, scene_end_json ("", &shot->end));
  return scene_render_end (&shot->end);
}

static SceneImage *
render_tip (HardShot *shot)
{
  SceneTipTruth truth;
  scene_tip_truth (&shot->drill, &truth);
  take_truth (shot, scene_tip_json ("", &shot->drill, &shot->tip, &truth));
  return scene_render_tip (&shot->drill, &shot->tip);
}

static SceneImage *
render_relief (HardShot *shot)
{
  SceneReliefTruth truth;
  scene_relief_truth (&shot->drill, &shot->relief, &truth);
  take_truth (shot, scene_relief_json ("", &shot->drill, &shot->relief, &truth));
  return scene_render_relief (&shot->drill, &shot->relief);
}

/* By the bits of HardScenes. */
static const struct
{
  void (*random) (HardShot *);
  SceneImage *(*render) (HardShot *);
} makers[HARD_N_SCENES] = {
  { random_drill_side, render_drill_side },
  { random_form_plan, render_form_plan },
  { random_blade_side, render_blade_side },
  { random_blade_plan, render_blade_plan },
  { random_blade_side, render_blade_side },
  { random_face, render_face },
  { random_end, render_end },
  { random_tip, render_tip },
  { random_relief, render_relief },
};

/* ---- The shot -------------------------------------------------------------------------------- */

double
hard_between (const HardShot *shot, double low, double high)
{
  return low + shot->strength * (high - low);
}

void
hard_set_truth (HardShot *shot, const char *quantity, double value)
{
  if (isnan (value))
    json_object_del (shot->truth, quantity);
  else
    json_object_set_new (shot->truth, quantity, json_real (value));
}

#define N_STRENGTHS 6

/* Scenes one after the other as seeds count, at strengths that go to and fro, so that a few seeds
 * have them all.  Gives the scene's bit. */
static guint
choose (guint scenes, guint64 seed, double *strength)
{
  guint bits[HARD_N_SCENES], n = 0;
  for (guint i = 0; i < HARD_N_SCENES; i++)
    if ((scenes & (1u << i)) != 0)
      bits[n++] = i;
  g_return_val_if_fail (n > 0, 0);
  /* Multiples of the golden section spread evenly. */
  const guint64 spread = (seed + 1) * G_GUINT64_CONSTANT (0x9e3779b97f4a7c15);
  *strength = (double)((spread >> 32) * N_STRENGTHS >> 32) / (N_STRENGTHS - 1);
  return bits[seed % n];
}

HardScenes
hard_scene_of (guint scenes, guint64 seed)
{
  double strength;
  return (HardScenes)(1u << choose (scenes, seed, &strength));
}

void
hard_cache_init (HardCache *cache)
{
  memset (cache, 0, sizeof *cache);
  g_mutex_init (&cache->lock);
}

void
hard_cache_clear (HardCache *cache)
{
  hard_picture_clear (&cache->picture);
  json_decref (cache->truth);
  g_mutex_clear (&cache->lock);
}

static void
render (HardShot *shot, SceneImage *(*draw) (HardShot *))
{
  SceneImage *image = draw (shot);
  if (shot->truth == NULL)
    shot->truth = json_object ();
  shot->picture = hard_picture_of (image);
  shot->encoding = image->encoding;
  shot->tagged = image->tagged;
  shot->bits = image->bits;
  scene_image_free (image);
}

static gboolean
take_cached (HardShot *shot, HardCache *cache)
{
  g_mutex_lock (&cache->lock);
  const gboolean found =
    cache->truth != NULL && cache->scene == shot->scene && cache->scene_seed == shot->scene_seed;
  if (found)
  {
    shot->picture = hard_picture_copy (&cache->picture);
    shot->truth = json_deep_copy (cache->truth);
    shot->encoding = cache->encoding;
    shot->tagged = cache->tagged;
    shot->bits = cache->bits;
    shot->mm_per_px = cache->mm_per_px;
  }
  g_mutex_unlock (&cache->lock);
  return found;
}

static void
keep_cached (const HardShot *shot, HardCache *cache)
{
  g_mutex_lock (&cache->lock);
  cache->scene = shot->scene;
  cache->scene_seed = shot->scene_seed;
  hard_picture_take (&cache->picture, hard_picture_copy (&shot->picture));
  json_decref (cache->truth);
  cache->truth = json_deep_copy (shot->truth);
  cache->encoding = shot->encoding;
  cache->tagged = shot->tagged;
  cache->bits = shot->bits;
  cache->mm_per_px = shot->mm_per_px;
  g_mutex_unlock (&cache->lock);
}

HardShot *
hard_shot_new (const HardKind *kind, guint64 seed, HardCache *cache)
{
  HardShot *shot = g_new0 (HardShot, 1);
  shot->seed = seed;
  shot->expected = kind->expected;
  shot->card = g_string_new (NULL);
  shot->options = g_ptr_array_new_with_free_func (g_free);
  const guint maker = choose (kind->scenes, seed, &shot->strength);
  shot->scene = (HardScenes)(1u << maker);
  scene_rng_init (&shot->rng, seed);
  shot->scene_seed = scene_rng_next (&shot->rng) % 1000000;
  scene_camera_init (&shot->camera);
  makers[maker].random (shot);
  scene_rng_init (&shot->rng, seed ^ ((guint64)g_str_hash (kind->name) << 20));
  kind->before (shot);
  const gboolean is_plain = kind->before == hard_nothing;
  if (!is_plain || !take_cached (shot, cache))
    render (shot, shot->render != NULL ? shot->render : makers[maker].render);
  if (is_plain)
    keep_cached (shot, cache);
  kind->after (shot);
  return shot;
}

double
hard_lip_bound_deg (const HardShot *shot, guint *lip_px)
{
  const SceneCamera *camera = &shot->camera;
  const double a = json_number_value (json_object_get (shot->truth, "lip_length_a_mm"));
  const double b = json_number_value (json_object_get (shot->truth, "lip_length_b_mm"));
  const double length = 0.5 * (a + b) / camera->mm_per_px;
  *lip_px = 0;
  if (shot->scene != HARD_DRILL_SIDE || !(length > 1.0))
    return NAN;
  *lip_px = (guint)length;
  const double light = 0.5 * (camera->back + camera->front);
  const double sigma = sqrt (camera->shot * camera->shot * light + camera->read * camera->read);
  const double s = sqrt (camera->blur_px * camera->blur_px + 1.0 / 12.0);
  const double direction =
    sqrt (24.0 * sqrt (G_PI) * s) * sigma / (camera->back - camera->front) / pow (length, 1.5);
  return sqrt (2.0) * direction * 180.0 / G_PI;
}

static double
size_told (const HardShot *shot)
{
  switch (shot->scene)
  {
  case HARD_FORM_PLAN:
  {
    const SceneProfile *profile = &shot->profile;
    return profile->segments[profile->n - 1].to.x - profile->start.x;
  }
  case HARD_FORM_SIDE:
  case HARD_BLADE_SIDE:
    return shot->side.height;
  case HARD_BLADE_PLAN:
    return shot->plan.width;
  case HARD_BLADE_FACE:
    return shot->face.width;
  case HARD_END:
    return shot->end.diameter;
  default:
    return shot->drill.diameter;
  }
}

void
hard_shot_tell (HardShot *shot, HardScenes other)
{
  g_autoptr (HardShot) told = g_new0 (HardShot, 1);
  told->scene = other;
  told->scene_seed = shot->scene_seed;
  told->rng = shot->rng;
  told->card = g_string_new (NULL);
  told->options = g_ptr_array_new ();
  for (guint i = 0; i < HARD_N_SCENES; i++)
    if ((guint)other == 1u << i)
      makers[i].random (told);
  const double share = scene_rng_uniform (&shot->rng, 0.25, 0.7);
  shot->mm_per_px = size_told (told) / (share * MIN (shot->picture.width, shot->picture.height));
  shot->view = told->view;
  shot->profile = told->profile;
  g_string_assign (shot->card, told->card->str);
}

void
hard_shot_free (HardShot *shot)
{
  if (shot == NULL)
    return;
  hard_picture_clear (&shot->picture);
  g_string_free (shot->card, TRUE);
  g_ptr_array_unref (shot->options);
  json_decref (shot->truth);
  g_free (shot);
}

static gboolean
write_picture (const HardShot *shot, const SceneImage *image, const char *path)
{
  if (shot->write != NULL)
    return shot->write (shot, image, path);
  return scene_image_save (image, path, shot->jpeg_quality);
}

char *
hard_shot_save (const HardShot *shot, const char *folder, const char *name)
{
  const char *extension = shot->extension != NULL  ? shot->extension
                          : shot->jpeg_quality > 0 ? "jpg"
                                                   : "png";
  g_autofree char *file = g_strconcat (name, ".", extension, NULL);
  g_autofree char *card_file = g_strconcat (name, ".tool", NULL);
  g_autofree char *path = g_build_filename (folder, file, NULL);
  g_autofree char *card_path = g_build_filename (folder, card_file, NULL);
  gboolean saved = g_file_set_contents (card_path, shot->card->str, -1, NULL);
  if (shot->profile.n > 0)
  {
    g_autofree char *nominal = g_build_filename (folder, "nominal.profile", NULL);
    g_autofree char *text = scene_profile_text (&shot->profile);
    saved = saved && g_file_set_contents (nominal, text, -1, NULL);
  }
  g_autoptr (SceneImage) image = hard_image_of (shot);
  saved = saved && write_picture (shot, image, path);
  return saved ? g_steal_pointer (&path) : NULL;
}
