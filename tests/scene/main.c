/* scene: renders tools with known truth.  See scene.h for what the numbers mean. */
#include "blade.h"
#include "flank.h"
#include "profile.h"
#include "relief.h"
#include "tip.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct
{
  SceneDrill drill;
  SceneBladePlan plan;
  SceneBladeSide side;
  SceneCamera camera;
  SceneBoard board;
  SceneProfile profile;
  char *nominal;
  gint segment;
  double error;
  char *out;
  char *mode;
  char *kind;
  gint64 seed;
  gint quality;
  double point_deg, diameter, share, web, half_a, half_b, stretch, skew, lean;
  gboolean linear, near, front;
} Options;

#define REAL(name, place, help)                                                                    \
  {                                                                                                \
    name, 0, 0, G_OPTION_ARG_DOUBLE, place, help, NULL                                             \
  }
#define WHOLE(name, place, help)                                                                   \
  {                                                                                                \
    name, 0, 0, G_OPTION_ARG_INT, place, help, NULL                                                \
  }
#define FLAG(name, place, help)                                                                    \
  {                                                                                                \
    name, 0, 0, G_OPTION_ARG_NONE, place, help, NULL                                               \
  }

static void
add_common (GOptionContext *context, Options *o)
{
  const GOptionEntry common[] = {
    { "out", 'o', 0, G_OPTION_ARG_FILENAME, &o->out, "Picture to write, .png or .jpg", "FILE" },
    { "seed", 's', 0, G_OPTION_ARG_INT64, &o->seed, "Seed of everything random", "N" },
    { "mode", 0, 0, G_OPTION_ARG_STRING, &o->mode, "random: good, unequal, …", "MODE" },
    { "kind", 0, 0, G_OPTION_ARG_STRING, &o->kind,
      "trap: what is wrong; random-proud: what is on the lips", "KIND" },
    WHOLE ("quality", &o->quality, "JPEG quality"),
    FLAG ("near", &o->near, "random: by a near camera"),
    FLAG ("front-lit", &o->front, "random: lit from the front"),
    { NULL, 0, 0, G_OPTION_ARG_NONE, NULL, NULL, NULL }
  };
  g_option_context_add_main_entries (context, common, NULL);
}

static void
add_drill (GOptionContext *context, Options *o)
{
  SceneDrill *d = &o->drill;
  const GOptionEntry drill[] = { REAL ("diameter", &o->diameter, "mm"),
                                 REAL ("point", &o->point_deg, "Design point angle, deg"),
                                 REAL ("half-a", &o->half_a, "Half angle ground on lip a, deg"),
                                 REAL ("half-b", &o->half_b, "Half angle ground on lip b, deg"),
                                 REAL ("offset", &d->offset, "Apex off the axis, mm toward b"),
                                 REAL ("height", &d->height, "Lip a above lip b, mm"),
                                 REAL ("helix", &d->helix_deg, "deg"),
                                 REAL ("web", &o->web, "Thickness, mm"),
                                 REAL ("land", &d->land_deg, "deg"),
                                 REAL ("relief", &d->relief_deg, "deg"),
                                 REAL ("cone", &d->cone_distance,
                                       "Grinding cone's distance in radii, 0: plane flanks"),
                                 REAL ("chip-a", &d->chip_a.depth, "Chip's depth on lip a, mm"),
                                 REAL ("chip-a-width", &d->chip_a.width, "mm"),
                                 REAL ("chip-a-place", &d->chip_a.place, "Fraction of the radius"),
                                 REAL ("chip-b", &d->chip_b.depth, "Chip's depth on lip b, mm"),
                                 REAL ("chip-b-width", &d->chip_b.width, "mm"),
                                 REAL ("chip-b-place", &d->chip_b.place, "Fraction of the radius"),
                                 REAL ("corner-a", &d->corner_a, "Radius of worn corner a, mm"),
                                 REAL ("corner-b", &d->corner_b, "Radius of worn corner b, mm"),
                                 FLAG ("left-hand", &d->left_hand, "Left-hand flutes"),
                                 { NULL, 0, 0, G_OPTION_ARG_NONE, NULL, NULL, NULL } };
  g_option_context_add_main_entries (context, drill, NULL);
}

static void
add_blade (GOptionContext *context, Options *o)
{
  SceneBladePlan *p = &o->plan;
  SceneBladeSide *s = &o->side;
  const GOptionEntry blade[] = { REAL ("blade-width", &p->width, "mm"),
                                 REAL ("rake", &p->rake_deg, "Right corner leads: positive, deg"),
                                 REAL ("clear-left", &p->clearance_left, "deg"),
                                 REAL ("clear-right", &p->clearance_right, "deg"),
                                 REAL ("round-left", &p->radius_left, "Worn corner, mm"),
                                 REAL ("round-right", &p->radius_right, "Worn corner, mm"),
                                 REAL ("chip", &p->chip.depth, "Chip's depth, mm"),
                                 REAL ("chip-width", &p->chip.width, "mm"),
                                 REAL ("chip-place", &p->chip.place, "Part of the width"),
                                 REAL ("rough", &p->rough, "Deviation of the front, mm"),
                                 REAL ("rough-length", &p->rough_length, "Its waves, mm"),
                                 REAL ("blade-height", &s->height, "mm"),
                                 REAL ("front-relief", &s->relief_deg, "deg"),
                                 REAL ("top-rake", &s->top_rake_deg, "deg"),
                                 REAL ("ground", &s->ground, "Length of the top ground, mm"),
                                 REAL ("drop", &s->drop, "Of the tip below the top, mm"),
                                 REAL ("tip-radius", &s->tip_radius, "Worn tip, mm"),
                                 REAL ("hollow", &s->hollow, "Radius of the front's wheel, mm"),
                                 FLAG ("mirrored", &s->mirrored, "Front to the left"),
                                 { NULL, 0, 0, G_OPTION_ARG_NONE, NULL, NULL, NULL } };
  g_option_context_add_main_entries (context, blade, NULL);
}

static void
add_camera (GOptionContext *context, Options *o)
{
  SceneCamera *c = &o->camera;
  const GOptionEntry camera[] = { WHOLE ("width", &c->width, "px"),
                                  WHOLE ("height-px", &c->height, "px"),
                                  REAL ("share", &o->share, "Diameter as part of the shorter side"),
                                  REAL ("roll", &c->roll_deg, "Point up is 0, clockwise, deg"),
                                  REAL ("turn", &c->turn_deg, "Lips out of the picture, deg"),
                                  REAL ("tilt", &c->tilt_deg, "Axis out of the picture, deg"),
                                  REAL ("distance", &c->distance_mm, "mm; 0: telecentric"),
                                  REAL ("centre-x", &c->centre_x, "Principal point, px"),
                                  REAL ("centre-y", &c->centre_y, "from the picture's middle"),
                                  REAL ("k1", &c->k1, "Radial distortion, see scene.h"),
                                  REAL ("k2", &c->k2, "Radial distortion"),
                                  REAL ("shrink", &c->shrink_px, "Edges bloom inward, px"),
                                  REAL ("stretch", &o->stretch,
                                        "random: pixels narrower than high"),
                                  REAL ("skew", &o->skew, "random: px to the right a row"),
                                  REAL ("lean", &o->lean, "random: axis out of the picture, deg"),
                                  REAL ("blur", &c->blur_px, "Sigma, px"),
                                  REAL ("defocus", &c->defocus_px, "Radius, px"),
                                  REAL ("motion", &c->motion_px, "Length, px"),
                                  REAL ("motion-deg", &c->motion_deg, "Direction, deg"),
                                  REAL ("back", &c->back, "Light of the ground, 0 to 1"),
                                  REAL ("front", &c->front, "Light of the tool, 0 to 1"),
                                  REAL ("light-x", &c->light_x, "Slope of the light"),
                                  REAL ("light-y", &c->light_y, "Slope of the light"),
                                  REAL ("vignette", &c->vignette, "Loss in the corners"),
                                  REAL ("shot", &c->shot, "Noise at full light"),
                                  REAL ("read", &c->read, "Noise in the dark"),
                                  WHOLE ("dust", &c->dust, "Specks on the ground"),
                                  WHOLE ("dust-body", &c->dust_body, "Crumbs on the body"),
                                  WHOLE ("bits", &c->bits, "8 or 16"),
                                  REAL ("red", &c->tint[0], "Tint, with --colour"),
                                  REAL ("blue", &c->tint[2], "Tint, with --colour"),
                                  FLAG ("colour", &c->colour, "Three channels"),
                                  FLAG ("linear", &o->linear, "Linear samples, gAMA 1"),
                                  FLAG ("tagged", &c->tagged, "sRGB said in the file"),
                                  { NULL, 0, 0, G_OPTION_ARG_NONE, NULL, NULL, NULL } };
  g_option_context_add_main_entries (context, camera, NULL);
}

static void
add_board (GOptionContext *context, Options *o)
{
  SceneBoard *b = &o->board;
  const GOptionEntry board[] = { WHOLE ("columns", &b->columns, "board: inner corners across"),
                                 WHOLE ("rows", &b->rows, "board: inner corners down"),
                                 REAL ("square", &b->square, "board: mm"),
                                 REAL ("mm-per-px", &o->camera.mm_per_px, "board, pin: scale"),
                                 REAL ("rx", &b->rx_deg, "board: turned about x, deg"),
                                 REAL ("ry", &b->ry_deg, "board: turned about y, deg"),
                                 REAL ("rz", &b->rz_deg, "board: in its plane, deg"),
                                 REAL ("board-x", &b->x, "board: middle, mm to the right"),
                                 REAL ("board-y", &b->y, "board: middle, mm down"),
                                 REAL ("board-z", &b->z, "board: middle, mm toward the camera"),
                                 { NULL, 0, 0, G_OPTION_ARG_NONE, NULL, NULL, NULL } };
  g_option_context_add_main_entries (context, board, NULL);
}

static void
add_profile (GOptionContext *context, Options *o)
{
  const GOptionEntry profile[] = {
    { "nominal", 0, 0, G_OPTION_ARG_FILENAME, &o->nominal,
      "Form tools: write the nominal profile, as DXF when it ends in .dxf", "FILE" },
    WHOLE ("segment", &o->segment, "Form tools: the segment that is off, from 1"),
    REAL ("error", &o->error, "Its error, mm, positive: too much metal"),
    { NULL, 0, 0, G_OPTION_ARG_NONE, NULL, NULL, NULL }
  };
  g_option_context_add_main_entries (context, profile, NULL);
}

static GOptionContext *
make_context (Options *o)
{
  GOptionContext *context = g_option_context_new (
    "drill|blade-plan|blade-side|fitting|random|random-plan|random-side|random-profile|"
    "random-proud|trap|board|pin|random-face|random-end|random-relief|random-tip");
  g_option_context_set_summary (context,
                                "Renders a tool and prints the truth as one line of JSON.");
  add_common (context, o);
  add_drill (context, o);
  add_blade (context, o);
  add_profile (context, o);
  add_camera (context, o);
  add_board (context, o);
  return context;
}

static int
save (const Options *o, const SceneImage *image)
{
  if (scene_image_save (image, o->out, o->quality))
    return 0;
  fprintf (stderr, "scene: can't write %s\n", o->out);
  return 73;
}

static int
picture (const Options *o, const char *mode)
{
  SceneTruth truth;
  g_autoptr (SceneImage) image = scene_render (&o->drill, &o->camera, &truth);
  const int status = save (o, image);
  g_autofree char *name = g_path_get_basename (o->out);
  g_autofree char *json =
    scene_truth_json (name, mode, (guint64)o->seed, &o->drill, &o->camera, &truth);
  if (status == 0)
    puts (json);
  return status;
}

static int
run_drill (Options *o)
{
  SceneDrill *d = &o->drill;
  const double D = o->diameter;
  d->diameter = D;
  d->web = o->web > 0.0 ? o->web : 0.15 * D;
  d->margin = 0.08 * D;
  d->clearance = 0.015 * D;
  d->design_half_angle = 0.5 * o->point_deg;
  d->half_angle_a = o->half_a > 0.0 ? o->half_a : d->design_half_angle;
  d->half_angle_b = o->half_b > 0.0 ? o->half_b : d->design_half_angle;
  o->camera.encoding = o->linear ? SCENE_LINEAR : SCENE_SRGB;
  o->camera.seed = (guint64)o->seed;
  scene_camera_aim (&o->camera, d, o->share);
  return picture (o, "drill");
}

static int
run_random (Options *o)
{
  for (int mode = 0; mode < SCENE_N_MODES; mode++)
    if (g_strcmp0 (scene_mode_name ((SceneMode)mode), o->mode) == 0)
    {
      (o->near ? scene_random_near : scene_random) ((guint64)o->seed, (SceneMode)mode, &o->drill,
                                                    &o->camera);
      if (o->front)
        scene_random_front_light ((guint64)o->seed, &o->camera);
      if (!g_str_has_suffix (o->out, ".png"))
        o->camera.bits = 8;
      o->camera.tilt_deg = o->lean;
      o->camera.stretch = o->stretch;
      o->camera.skew = o->skew;
      return picture (o, o->mode);
    }
  fprintf (stderr, "scene: no mode %s\n", o->mode);
  return 64;
}

static int
run_proud (Options *o)
{
  g_autofree char *json = NULL;
  g_autoptr (SceneImage) image = scene_proud ((guint64)o->seed, o->kind, &json);
  if (image == NULL)
  {
    g_autofree char *kinds = g_strjoinv (", ", (char **)scene_proud_kinds ());
    fprintf (stderr, "scene: give --kind, one of: %s\n", kinds);
    return 64;
  }
  puts (json);
  return save (o, image);
}

static int
picture_plan (const Options *o, const char *mode)
{
  SceneBladePlanTruth truth;
  g_autoptr (SceneImage) image = scene_render_blade_plan (&o->plan, &o->camera, &truth);
  const int status = save (o, image);
  g_autofree char *name = g_path_get_basename (o->out);
  g_autofree char *json = scene_blade_plan_json (name, mode, (guint64)o->seed, &o->camera, &truth);
  if (status == 0)
    puts (json);
  return status;
}

static int
picture_side (const Options *o, const char *mode)
{
  SceneBladeSideTruth truth;
  g_autoptr (SceneImage) image = scene_render_blade_side (&o->side, &o->camera, &truth);
  const int status = save (o, image);
  g_autofree char *name = g_path_get_basename (o->out);
  g_autofree char *json = scene_blade_side_json (name, mode, (guint64)o->seed, &o->camera, &truth);
  if (status == 0)
    puts (json);
  return status;
}

static int
run_blade (Options *o, gboolean from_above)
{
  o->camera.encoding = o->linear ? SCENE_LINEAR : SCENE_SRGB;
  o->camera.seed = o->plan.seed = (guint64)o->seed;
  scene_aim_blade (&o->camera, from_above ? o->plan.width : o->side.height, o->share);
  return from_above ? picture_plan (o, "blade") : picture_side (o, "blade");
}

/* The scene of the mode, or the look from the side, that was asked for. */
static gboolean
random_blade (Options *o, gboolean from_above)
{
  for (int i = 0; i < SCENE_BLADE_N_MODES; i++)
  {
    const SceneBladeMode mode = (SceneBladeMode)i;
    if (g_strcmp0 (scene_blade_mode_name (mode), o->mode) != 0)
      continue;
    if (from_above)
      scene_random_blade_plan ((guint64)o->seed, mode, &o->plan, &o->camera);
    else
      scene_random_blade_side ((guint64)o->seed, mode, &o->side, &o->camera);
    return TRUE;
  }
  for (int i = 0; i < SCENE_SIDE_N_LOOKS && !from_above; i++)
  {
    const SceneSideLook look = (SceneSideLook)i;
    if (g_strcmp0 (scene_side_look_name (look), o->mode) != 0)
      continue;
    scene_random_side_look ((guint64)o->seed, look, &o->side, &o->camera);
    return TRUE;
  }
  return FALSE;
}

static int
run_random_blade (Options *o, gboolean from_above)
{
  const gboolean found = random_blade (o, from_above);
  if (found && o->front)
    scene_random_front_light ((guint64)o->seed, &o->camera);
  if (!found)
  {
    fprintf (stderr, "scene: no mode %s\n", o->mode);
    return 64;
  }
  if (!g_str_has_suffix (o->out, ".png"))
  {
    o->camera.bits = 8;
    o->camera.encoding = SCENE_SRGB; /* a JPEG can't say anything else */
  }
  return from_above ? picture_plan (o, o->mode) : picture_side (o, o->mode);
}

static int
run_trap (Options *o)
{
  const char *reasons = NULL;
  g_autoptr (SceneImage) image =
    o->kind == NULL ? NULL : scene_trap (o->kind, (guint64)o->seed, &reasons);
  if (image == NULL)
  {
    g_autofree char *kinds = g_strjoinv (", ", (char **)scene_trap_kinds ());
    fprintf (stderr, "scene: give --kind, one of: %s\n", kinds);
    return 64;
  }
  const int status = save (o, image);
  g_auto (GStrv) list = g_strsplit (reasons, ",", -1);
  g_autofree char *quoted = g_strjoinv ("\", \"", list);
  g_autofree char *name = g_path_get_basename (o->out);
  if (status == 0)
    printf ("{\"file\": \"%s\", \"view\": \"drill-side\", \"mode\": \"trap\", \"kind\": \"%s\", "
            "\"seed\": %" G_GINT64_FORMAT ", \"reasons\": [\"%s\"]}\n",
            name, o->kind, o->seed, quoted);
  return status;
}

static int
run_board (Options *o)
{
  o->camera.encoding = o->linear ? SCENE_LINEAR : SCENE_SRGB;
  o->camera.seed = (guint64)o->seed;
  g_autoptr (SceneImage) image = scene_render_board (&o->board, &o->camera);
  const int status = save (o, image);
  g_autofree char *name = g_path_get_basename (o->out);
  g_autofree char *json = scene_board_json (name, &o->board, &o->camera);
  if (status == 0)
    puts (json);
  return status;
}

/* A gauge pin across the whole picture, its axis through the picture's middle. */
static int
run_pin (Options *o)
{
  SceneCamera *camera = &o->camera;
  const double half = 0.5 * o->diameter, far = camera->mm_per_px * (camera->width + camera->height);
  ScenePolygon pin = { g_new (ScenePoint, 4), 4, 1.0 };
  for (guint i = 0; i < 4; i++)
    pin.points[i] = (ScenePoint){ i < 2 ? -half : half, i == 0 || i == 3 ? -far : far };
  scene_polygon_divide (&pin, 0.02 * far);
  camera->encoding = o->linear ? SCENE_LINEAR : SCENE_SRGB;
  camera->seed = (guint64)o->seed;
  camera->origin_x = 0.5 * camera->width;
  camera->origin_y = 0.5 * camera->height;
  scene_camera_project (camera, &pin);
  g_autoptr (SceneImage) image = scene_render_polygons (&pin, 1, camera);
  scene_polygon_clear (&pin);
  const int status = save (o, image);
  if (status == 0)
    printf ("{\"diameter_mm\": %.6f, \"mm_per_px\": %.8f, \"edge_shift_px\": %.4f, \"k1\": %.6f}\n",
            o->diameter, camera->mm_per_px, camera->shrink_px, camera->k1);
  return status;
}

static gboolean
save_nominal (const Options *o)
{
  if (o->nominal == NULL)
    return TRUE;
  g_autofree char *text = g_str_has_suffix (o->nominal, ".dxf") ? scene_profile_dxf (&o->profile)
                                                                : scene_profile_text (&o->profile);
  return g_file_set_contents (o->nominal, text, -1, NULL);
}

static int
picture_profile (Options *o, const char *mode)
{
  if (o->segment >= 1 && (guint)o->segment <= o->profile.n)
    o->profile.segments[o->segment - 1].error = o->error;
  g_autoptr (SceneImage) image = scene_render_profile (&o->profile, &o->camera);
  const int status = save (o, image);
  g_autofree char *name = g_path_get_basename (o->out);
  if (status != 0 || !save_nominal (o))
    return 73;
  char scale[G_ASCII_DTOSTR_BUF_SIZE], error[G_ASCII_DTOSTR_BUF_SIZE];
  printf ("{\"file\": \"%s\", \"view\": \"form-plan\", \"mode\": \"%s\", \"seed\": "
          "%" G_GINT64_FORMAT ", \"mm_per_px\": %s, \"truth\": {\"segment_%d_deviation_mm\": "
          "%s}}\n",
          name, mode, o->seed, g_ascii_dtostr (scale, sizeof scale, o->camera.mm_per_px),
          o->segment, g_ascii_dtostr (error, sizeof error, o->error));
  return 0;
}

static int
run_profile (Options *o, gboolean random)
{
  if (random)
  {
    scene_profile_random ((guint64)o->seed, &o->profile, &o->camera);
    if (o->front)
      scene_random_front_light ((guint64)o->seed, &o->camera);
  }
  else
  {
    scene_profile_fitting (&o->profile);
    o->camera.encoding = o->linear ? SCENE_LINEAR : SCENE_SRGB;
    o->camera.seed = (guint64)o->seed;
    scene_profile_aim (&o->profile, &o->camera, o->share);
  }
  return picture_profile (o, random ? "random" : "fitting");
}

static int
run_face (Options *o)
{
  SceneFace face;
  scene_random_face ((guint64)o->seed, &face);
  g_autoptr (SceneImage) image = scene_render_face (&face);
  const int status = save (o, image);
  g_autofree char *name = g_path_get_basename (o->out);
  g_autofree char *json = scene_face_json (name, &face);
  if (status == 0)
    puts (json);
  return status;
}

static int
run_end (Options *o)
{
  SceneEnd end;
  scene_random_end ((guint64)o->seed, &end);
  g_autoptr (SceneImage) image = scene_render_end (&end);
  const int status = save (o, image);
  g_autofree char *name = g_path_get_basename (o->out);
  g_autofree char *json = scene_end_json (name, &end);
  if (status == 0)
    puts (json);
  return status;
}

static int
run_relief (Options *o)
{
  SceneDrill drill;
  SceneRelief relief;
  SceneReliefTruth truth;
  scene_random_relief ((guint64)o->seed, &drill, &relief);
  scene_relief_truth (&drill, &relief, &truth);
  g_autoptr (SceneImage) image = scene_render_relief (&drill, &relief);
  const int status = save (o, image);
  g_autofree char *name = g_path_get_basename (o->out);
  g_autofree char *json = scene_relief_json (name, &drill, &relief, &truth);
  if (status == 0)
    puts (json);
  return status;
}

static int
run_tip (Options *o)
{
  SceneDrill drill;
  SceneTip tip;
  SceneTipTruth truth;
  scene_random_tip ((guint64)o->seed, &drill, &tip);
  scene_tip_truth (&drill, &truth);
  g_autoptr (SceneImage) image = scene_render_tip (&drill, &tip);
  const int status = save (o, image);
  g_autofree char *name = g_path_get_basename (o->out);
  g_autofree char *json = scene_tip_json (name, &drill, &tip, &truth);
  if (status == 0)
    puts (json);
  return status;
}

static const struct
{
  const char *name;
  int (*run) (Options *o);
} scenes[] = {
  { "drill", run_drill },        { "random", run_random },
  { "random-proud", run_proud }, { "trap", run_trap },
  { "board", run_board },        { "pin", run_pin },
  { "random-face", run_face },   { "random-end", run_end },
  { "random-tip", run_tip },     { "random-relief", run_relief },
};

static int
run (Options *o, int argc, char **argv)
{
  g_autoptr (GError) error = NULL;
  GOptionContext *context = make_context (o);
  const gboolean parsed = g_option_context_parse (context, &argc, &argv, &error);
  g_option_context_free (context);
  if (!parsed || argc != 2 || o->out == NULL)
  {
    fprintf (stderr, "scene: %s\n",
             parsed ? "name one scene, see --help, and give --out" : error->message);
    return 64;
  }
  for (gsize i = 0; i < G_N_ELEMENTS (scenes); i++)
    if (strcmp (argv[1], scenes[i].name) == 0)
      return scenes[i].run (o);
  if (strcmp (argv[1], "blade-plan") == 0 || strcmp (argv[1], "blade-side") == 0)
    return run_blade (o, strcmp (argv[1], "blade-plan") == 0);
  if (strcmp (argv[1], "random-plan") == 0 || strcmp (argv[1], "random-side") == 0)
    return run_random_blade (o, strcmp (argv[1], "random-plan") == 0);
  if (strcmp (argv[1], "fitting") == 0 || strcmp (argv[1], "random-profile") == 0)
    return run_profile (o, strcmp (argv[1], "random-profile") == 0);
  fprintf (stderr, "scene: no such scene: %s\n", argv[1]);
  return 64;
}

int
main (int argc, char **argv)
{
  Options o = { .seed = 1, .quality = 92, .point_deg = 118.0, .diameter = 10.0, .share = 0.36 };
  o.mode = g_strdup ("good");
  scene_drill_init (&o.drill, o.diameter);
  o.drill.chip_a.place = o.drill.chip_b.place = 0.6;
  o.drill.chip_a.width = o.drill.chip_b.width = 0.6;
  scene_blade_plan_init (&o.plan, 3.0);
  o.plan.chip.place = 0.6;
  o.plan.chip.width = 0.3;
  o.plan.rough_length = 0.2;
  o.side =
    (SceneBladeSide){ .height = 20.0, .relief_deg = 10.0, .top_rake_deg = 3.0, .rise_deg = 45.0 };
  scene_camera_init (&o.camera);
  o.camera.shot = 0.006;
  o.camera.read = 0.001;
  o.board = (SceneBoard){ .columns = 11, .rows = 8, .square = 1.5 };
  const int status = run (&o, argc, argv);
  g_free (o.nominal);
  g_free (o.out);
  g_free (o.mode);
  g_free (o.kind);
  return status;
}
