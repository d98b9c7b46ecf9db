/*
 * Set-ups of drills, blades and form tools that begin turned, leaning, dim, out of focus, near the
 * frame or dirty, and are brought right by somebody who knows nothing and does what the words say.
 * With the argument `large` a hundred of each tool, or of those named behind it ("blades").
 */
#include <whetsight/whetsight.h>

#include "base/testing.h"
#include "scene/blade.h"
#include "scene/profile.h"
#include "scene/scene.h"

#include <glib/gstdio.h>
#include <jansson.h>
#include <math.h>

#define WIDTH 480
#define HEIGHT 360

#define MANY 100

/* Frames a second; more than so many frames nobody waits. */
#define RATE 2.0
#define MOST_FRAMES 80

/* What is said of dirt must be as near as this to it, to be found. */
#define FOUND_PX 25.0

static gboolean large;
static const char *only; /* of the tools; NULL: all */

typedef enum
{
  DRILL,
  BLADE,
  FORM,
  N_TOOLS
} Tool;

static const struct
{
  const char *name, *view;
  WsToolKind kind;
  guint few; /* set-ups in the suite */
} tools[N_TOOLS] = {
  [DRILL] = { "drills", "drill-side", WS_KIND_TWIST_DRILL, 4 },
  [BLADE] = { "blades", "blade-plan", WS_KIND_CUTOFF_BLADE, 2 },
  [FORM] = { "form tools", "form-plan", WS_KIND_FORM_TOOL, 2 },
};

/* What is wrong at first. */
typedef enum
{
  TURNED,
  LEANING,
  DIM,
  SOFT,
  NEAR_FRAME,
  DIRTY,
  ALL,
  N_FAULTS
} Fault;

/* Only drills turn and lean, and a blade's view doesn't tell dirt from its front. */
static const struct
{
  Fault of[N_FAULTS];
  guint n;
} faults[N_TOOLS] = {
  [DRILL] = { { ALL, NEAR_FRAME, TURNED, DIRTY, LEANING, DIM, SOFT }, 7 },
  [BLADE] = { { NEAR_FRAME, DIM, SOFT, ALL }, 4 },
  [FORM] = { { DIRTY, NEAR_FRAME, DIM, SOFT, ALL }, 5 },
};

/* What the hands hold.  Nobody knows the sign of focus or of lean. */
typedef struct
{
  Tool tool;
  guint which;
  SceneDrill drill;
  SceneBladePlan blade;
  SceneProfile profile;
  SceneCamera camera;
  double turn;        /* deg */
  double light;       /* of the ground, of full scale */
  double focus, step; /* px of blur off, either way; and how far the next turn of the ring goes */
  double lean, lean_step;
  double x, y;      /* px off the place aimed at */
  double dirt;      /* px, its radius; 0: clean */
  double dirt_at;   /* px from the middle along the rows, where it sits on the edge */
  ScenePoint where; /* px, where it was seen last */
  guint64 seed;
} Setup;

/* ---- What is seen ---------------------------------------------------------------------- */

/* A solid's outline takes longer to make than all else, so hands turn by whole steps, and set-ups
 * share drills. */
/* deg; few set-ups share more. */
#define TURN_STEP (large ? 1.0 : 6.0)
#define LEAN_STEP (large ? 1.0 : 2.0)
#define DRILLS 2

typedef struct
{
  guint drill;
  int turn, lean;       /* steps */
  ScenePolygon outline; /* mm */
  SceneTruth truth;
} Look;

static void
look_free (gpointer data)
{
  Look *look = data;
  scene_polygon_clear (&look->outline);
  g_free (look);
}

/* Belongs to `looks`. */
static const Look *
look_at (GPtrArray *looks, const Setup *setup)
{
  const int turn = (int)lrint (setup->turn / TURN_STEP),
            lean = (int)lrint (setup->lean / LEAN_STEP);
  for (guint i = 0; i < looks->len; i++)
  {
    const Look *look = looks->pdata[i];
    if (look->drill == setup->which && look->turn == turn && look->lean == lean)
      return look;
  }
  Look *look = g_new0 (Look, 1);
  *look = (Look){ .drill = setup->which, .turn = turn, .lean = lean };
  look->outline = scene_drill_outline (&setup->drill, turn * TURN_STEP, lean * LEAN_STEP,
                                       -(WIDTH + HEIGHT) * setup->camera.mm_per_px, &look->truth);
  g_ptr_array_add (looks, look);
  return look;
}

/* ---- Set-ups --------------------------------------------------------------------------- */

static double
either_sign (SceneRng *rng, double low, double high)
{
  const double value = scene_rng_uniform (rng, low, high);
  return scene_rng_uniform (rng, 0, 1) < 0.5 ? value : -value;
}

static void
choose_tool (Setup *setup, SceneRng *rng)
{
  setup->camera.roll_deg = scene_rng_uniform (rng, -25, 25);
  switch (setup->tool)
  {
  case DRILL:
    setup->which = large ? (guint)(setup->seed / (1000 * N_FAULTS) % DRILLS) : 0;
    scene_drill_init (&setup->drill, setup->which == 0 ? 5.0 : 10.2);
    if (setup->which == 1)
      setup->drill.half_angle_a = setup->drill.half_angle_b = setup->drill.design_half_angle = 67.5;
    scene_camera_aim (&setup->camera, &setup->drill, 0.4);
    break;
  case BLADE:
    scene_blade_plan_init (&setup->blade, scene_rng_uniform (rng, 1.5, 4.0));
    setup->blade.radius_left = setup->blade.radius_right = scene_rng_uniform (rng, 0.02, 0.06);
    setup->blade.seed = setup->seed;
    setup->camera.roll_deg = scene_rng_uniform (rng, -3, 3);
    scene_aim_blade (&setup->camera, setup->blade.width, 0.45);
    break;
  default:
    scene_profile_random (setup->seed, &setup->profile, &setup->camera);
    setup->camera.width = WIDTH;
    setup->camera.height = HEIGHT;
    setup->camera.roll_deg = scene_rng_uniform (rng, -3, 3);
    scene_profile_aim (&setup->profile, &setup->camera, 0.6);
    break;
  }
}

static void
put_wrong (Setup *setup, Fault fault, SceneRng *rng)
{
  const gboolean all = fault == ALL, drill = setup->tool == DRILL;
  if (drill && (fault == TURNED || all))
    setup->turn = either_sign (rng, 4, 20);
  if (drill && (fault == LEANING || all))
    setup->lean = rint (either_sign (rng, 2, 5));
  if (fault == DIM || all)
    setup->light = scene_rng_uniform (rng, 0.01, 0.1);
  if (fault == SOFT || all)
    setup->focus = either_sign (rng, 4, 9);
  if (fault == NEAR_FRAME)
    setup->x = either_sign (rng, 155, 185);
  if (fault == DIRTY || (all && drill))
  {
    setup->dirt = scene_rng_uniform (rng, 5, 9);
    setup->dirt_at = either_sign (rng, 20, 40);
  }
}

static void
setup_init (Setup *setup, Tool tool, guint i)
{
  SceneRng rng;
  scene_rng_init (&rng, 4100 + i + 1000 * tool);
  *setup = (Setup){ .tool = tool, .seed = 1000 * i, .light = 0.6 };
  scene_camera_init (&setup->camera);
  setup->camera.width = WIDTH;
  setup->camera.height = HEIGHT;
  choose_tool (setup, &rng);
  setup->camera.shot = 0.006;
  setup->camera.read = 0.002;
  setup->camera.light_x = setup->camera.light_y = setup->camera.vignette = 0;
  setup->step = either_sign (&rng, 1.0, 2.0);
  setup->lean_step = either_sign (&rng, LEAN_STEP, LEAN_STEP);
  put_wrong (setup, faults[tool].of[i % faults[tool].n], &rng);
}

/* ---- Frames ---------------------------------------------------------------------------- */

static guint16
light_at (const WsImage *image, guint x, guint y)
{
  return image->linear[(gsize)y * image->width + x];
}

/* A round crumb where the tool begins below the top of a column. */
static void
lay_dirt (Setup *setup, const SceneCamera *camera, WsImage *image)
{
  const double centre = setup->tool == FORM ? WIDTH / 2.0 : camera->origin_x;
  const guint column = (guint)CLAMP (centre + setup->dirt_at, 20, WIDTH - 20);
  const double ground = 65535 * camera->back, tool = 65535 * camera->front;
  guint y = 0;
  while (y + 1 < HEIGHT && light_at (image, column, y) > 0.5 * (ground + tool))
    y++;
  setup->where = (ScenePoint){ column, y };
  for (guint i = 0; i < WIDTH * HEIGHT; i++)
  {
    const guint across = i % WIDTH, down = i / WIDTH;
    const double r = hypot (across - (double)column, down - (double)y);
    const double cover = 0.5 * erfc ((r - setup->dirt) / (sqrt (2.0) * camera->blur_px));
    image->linear[i] =
      (guint16)MIN (image->linear[i], lround (ground + cover * (tool - ground)) + 200);
  }
}

static SceneImage *
render (const Setup *setup, const SceneCamera *camera, const Look *look)
{
  SceneBladePlanTruth truth;
  if (setup->tool == BLADE)
    return scene_render_blade_plan (&setup->blade, camera, &truth);
  if (setup->tool == FORM)
    return scene_render_profile (&setup->profile, camera);
  ScenePolygon outline = look->outline;
  outline.points = g_memdup2 (outline.points, outline.n * sizeof (ScenePoint));
  scene_camera_project (camera, &outline);
  SceneImage *scene = scene_render_polygons (&outline, 1, camera);
  scene_polygon_clear (&outline);
  return scene;
}

/* A frame as a camera gives it. */
static WsImage *
take (Setup *setup, const Look *look)
{
  SceneCamera camera = setup->camera;
  camera.origin_x += setup->x;
  camera.origin_y += setup->y;
  camera.blur_px = hypot (1.0, setup->focus);
  camera.front = setup->light * 0.01;
  camera.back = setup->light;
  camera.bits = 16;
  camera.encoding = SCENE_LINEAR;
  camera.seed = setup->seed++;
  g_autoptr (SceneImage) scene = render (setup, &camera, look);
  WsImage *image = ws_image_new (scene->width, scene->height, NULL);
  memcpy (image->linear, scene->data, (gsize)2 * scene->width * scene->height);
  image->tone = WS_TONE_LINEAR;
  image->bits = 16;
  if (setup->dirt > 0)
    lay_dirt (setup, &camera, image);
  return image;
}

static gboolean
is_there (const Setup *setup, const WsLiveSaid *said)
{
  return said->has_place &&
         hypot (said->where_px.x - setup->where.x, said->where_px.y - setup->where.y) < FOUND_PX;
}

/* Does what was said. */
static void
obey (Setup *setup, const WsLiveSaid *said)
{
  const gboolean worse = said->arrow == WS_LIVE_BACK;
  switch (said->word)
  {
  case WS_LIVE_TOO_DARK:
    setup->light *= 1.7;
    break;
  case WS_LIVE_TOO_BRIGHT:
    setup->light *= 0.8;
    break;
  case WS_LIVE_OUT_OF_FOCUS:
    setup->step *= worse ? -0.6 : 1;
    setup->focus += setup->step;
    break;
  case WS_LIVE_LEANING:
    setup->lean_step *= worse ? -1 : 1;
    setup->lean += setup->lean_step;
    break;
  case WS_LIVE_TURNED:
    /* A right-hand drill; a hand is good to a fifth. */
    setup->turn -= (said->arrow == WS_LIVE_CLOCKWISE ? 0.8 : -0.8) *
                   (isfinite (said->amount) ? said->amount : 5);
    break;
  case WS_LIVE_NEAR_FRAME:
  {
    const double far = isfinite (said->amount) ? said->amount + 20 : 30;
    setup->x += said->arrow == WS_LIVE_RIGHT ? far : said->arrow == WS_LIVE_LEFT ? -far : 0;
    setup->y += said->arrow == WS_LIVE_DOWN ? far : said->arrow == WS_LIVE_UP ? -far : 0;
    break;
  }
  case WS_LIVE_DIRTY:
    /* Wiped where it was told, else nothing is found there; or the part that was named. */
    setup->dirt = is_there (setup, said) || !said->has_place ? 0 : setup->dirt;
    break;
  case WS_LIVE_OTHER:
    /* "Clean it", among others. */
    setup->dirt = 0;
    break;
  default:
    break;
  }
}

/* ---- Truth ----------------------------------------------------------------------------- */

/* Of a quantity, by its name in records; NAN where there is none. */
static double
truth_of (const json_t *truth, Tool tool, const char *name)
{
  /* A profile without errors has none. */
  if (tool == FORM)
    return g_str_has_prefix (name, "segment") && g_str_has_suffix (name, "deviation_mm")
             ? 0
             : (double)NAN;
  const json_t *value = json_object_get (truth, name);
  return json_is_number (value) ? json_number_value (value) : (double)NAN;
}

/* Free with json_decref(). */
static json_t *
truth_for (const Setup *setup, const Look *look)
{
  g_autofree char *text = NULL;
  if (setup->tool == DRILL)
    text = scene_truth_json ("x", "good", 0, &setup->drill, &setup->camera, &look->truth);
  else if (setup->tool == BLADE)
  {
    SceneBladePlanTruth truth;
    SceneImage *scene = scene_render_blade_plan (&setup->blade, &setup->camera, &truth);
    scene_image_free (scene);
    text = scene_blade_plan_json ("x", "good", 0, &setup->camera, &truth);
  }
  json_t *all = text != NULL ? json_loads (text, 0, NULL) : json_object ();
  json_t *truth = json_object_get (all, "truth");
  json_t *found = json_deep_copy (truth != NULL ? truth : all);
  json_decref (all);
  return found;
}

/* How often a quantity lay inside its U. */
typedef struct
{
  guint n, in;
} Count;

typedef struct
{
  GHashTable *counts; /* name to Count */
  guint n, in;
} Tally;

static void
judge (Tally *tally, const Setup *setup, const Look *look, const WsResult *result)
{
  json_t *truth = truth_for (setup, look);
  for (guint i = 0; i < result->quantities->len; i++)
  {
    const WsQuantity *quantity = g_ptr_array_index (result->quantities, i);
    const double value = truth_of (truth, setup->tool, quantity->name);
    if (!quantity->known || quantity->given || isnan (value))
      continue;
    Count *count = g_hash_table_lookup (tally->counts, quantity->name);
    if (count == NULL)
    {
      count = g_new0 (Count, 1);
      g_hash_table_insert (tally->counts, g_strdup (quantity->name), count);
    }
    const gboolean in = fabs (quantity->value - value) <= quantity->U;
    count->n++;
    count->in += in ? 1 : 0;
    tally->n++;
    tally->in += in ? 1 : 0;
    if (!in && !large)
      print_message ("%s, set-up %u: %s %.4f, true %.4f, U %.4f\n", tools[setup->tool].name,
                     (guint)(setup->seed / 1000), quantity->name, quantity->value, value,
                     quantity->U);
  }
  json_decref (truth);
}

/* ---- From the first frame to the picture ------------------------------------------------- */

typedef struct
{
  gboolean taken, dirty; /* dirty: when it was taken */
  double turn_deg;       /* true, of what was taken */
  guint frames;
  guint said[WS_N_LIVE_WORDS];
  WsLiveWord last;
} Outcome;

static WsToolCard *
card_for (const Setup *setup)
{
  g_autofree char *folder = NULL;
  if (setup->tool != FORM)
  {
    WsToolCard *card = ws_tool_card_new (tools[setup->tool].kind);
    card->web_mm = setup->tool == DRILL ? setup->drill.web : card->web_mm;
    if (setup->tool == DRILL)
      card->diameter_mm = setup->drill.diameter;
    return card;
  }
  g_autoptr (GError) error = NULL;
  folder = g_dir_make_tmp ("whetsight-live-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "form.tool", NULL);
  g_autofree char *profile = g_build_filename (folder, "form.profile", NULL);
  g_autofree char *text = scene_profile_text (&setup->profile);
  assert_true (g_file_set_contents (profile, text, -1, NULL));
  assert_true (g_file_set_contents (
    path, "[tool]\nid = QT-F-9\nkind = form-tool\nnominal_profile = form.profile\n", -1, NULL));
  WsToolCard *card = ws_tool_card_load (path, &error);
  if (card == NULL)
    fail_msg ("%s", error->message);
  g_unlink (path);
  g_unlink (profile);
  g_rmdir (folder);
  return card;
}

static void
tell_frame (const Setup *setup, const Outcome *outcome, const WsLiveSaid *said)
{
  const char *arrow = ws_live_arrow_code (said->arrow), *reason = ws_retake_code (said->reason);
  print_message ("%2u %-12s %-8s %6.2f | turn %6.2f lean %5.2f light %.3f focus %5.2f x %4.0f "
                 "dirt %.1f at %.0f %.0f, said %.0f %.0f; %s\n",
                 outcome->frames, ws_live_word_code (said->word), arrow != NULL ? arrow : "",
                 said->amount, setup->turn, setup->lean, setup->light, setup->focus, setup->x,
                 setup->dirt, setup->where.x, setup->where.y, said->where_px.x, said->where_px.y,
                 reason != NULL ? reason : "");
}

static Outcome
set_up (Setup *setup, GPtrArray *looks, Tally *tally)
{
  const gboolean tell = g_getenv ("WHETSIGHT_TELL") != NULL;
  const WsView *view = ws_view_find (tools[setup->tool].view);
  g_autoptr (WsToolCard) card = card_for (setup);
  WsOptics optics = WS_OPTICS_UNKNOWN;
  optics.has_scale = TRUE;
  optics.mm_per_px = setup->camera.mm_per_px;
  g_autoptr (WsFollow) follow = ws_follow_new ();
  WsLive live = WS_LIVE_INIT;
  Outcome outcome = { .taken = FALSE };
  for (; outcome.frames < MOST_FRAMES && !outcome.taken; outcome.frames++)
  {
    const Look *look = setup->tool == DRILL ? look_at (looks, setup) : NULL;
    g_autoptr (WsImage) frame = take (setup, look);
    const WsFollowed *followed = ws_follow_frame (follow, frame);
    WsLiveSeen seen = ws_live_look (followed, NULL, outcome.frames / RATE);
    g_autoptr (WsResult) result = NULL;
    if (ws_live_wants_measuring (&seen))
    {
      result = ws_measure (view, frame, card, &optics);
      seen = ws_live_look (followed, result, seen.time_s);
    }
    const WsLiveSaid said = ws_live_say (&live, &seen);
    if (tell)
      tell_frame (setup, &outcome, &said);
    outcome.said[outcome.last = said.word]++;
    if (said.word == WS_LIVE_TAKE)
    {
      outcome.taken = TRUE;
      outcome.dirty = setup->dirt > 0;
      outcome.turn_deg = look != NULL ? look->truth.view_turn_deg : 0;
      assert_int_equal (result->reason, WS_RETAKE_NONE);
      judge (tally, setup, look, result);
      for (guint i = 0; tell && i < result->findings->len; i++)
        print_message ("  %s\n", ((const WsFinding *)result->findings->pdata[i])->text);
    }
    obey (setup, &said);
  }
  return outcome;
}

static void
tell_counts (const Tally *tally)
{
  GHashTableIter each;
  gpointer name, value;
  g_hash_table_iter_init (&each, tally->counts);
  while (large && g_hash_table_iter_next (&each, &name, &value))
  {
    const Count *count = value;
    print_message ("  %-32s %u of %u inside U\n", (const char *)name, count->in, count->n);
  }
}

/* Adds to `sum` how often quantities lay inside U. */
static void
bring_right (Tool tool, Tally *sum)
{
  const guint n = large ? MANY : tools[tool].few;
  guint taken = 0, dirty = 0, said[WS_N_LIVE_WORDS] = { 0 };
  Tally tally = { g_hash_table_new_full (g_str_hash, g_str_equal, g_free, g_free), 0, 0 };
  g_autoptr (GPtrArray) looks = g_ptr_array_new_with_free_func (look_free);
  for (guint i = 0; i < n; i++)
  {
    Setup setup;
    setup_init (&setup, tool, i);
    const Outcome outcome = set_up (&setup, looks, &tally);
    taken += outcome.taken ? 1 : 0;
    dirty += outcome.taken && outcome.dirty ? 1 : 0;
    for (guint word = 0; word < WS_N_LIVE_WORDS; word++)
      said[word] += outcome.said[word] > 0 ? 1 : 0;
    if (!outcome.taken)
      print_message ("%s, set-up %u: not taken, last \"%s\"\n", tools[tool].name, i,
                     ws_live_word_text (outcome.last));
    /* measure refuses lips that are turned farther than 3.3 degrees. */
    assert_true (!outcome.taken || fabs (outcome.turn_deg) <= 3.3);
  }
  print_message ("%u %s: %u taken, %u of them dirty; %u of %u quantities inside U; %u outlines\n",
                 n, tools[tool].name, taken, dirty, tally.in, tally.n, looks->len);
  for (guint word = 0; word < WS_N_LIVE_WORDS; word++)
    if (said[word] > 0)
      print_message ("  \"%s\" in %u\n", ws_live_word_text ((WsLiveWord)word), said[word]);
  tell_counts (&tally);
  assert_true (taken >= 0.95 * n && dirty <= 0.01 * n);
  assert_true (tally.n >= 4 * taken);
  sum->n += tally.n;
  sum->in += tally.in;
  g_hash_table_unref (tally.counts);
}

static void
the_words_lead_to_a_picture (void **state)
{
  Tally sum = { NULL, 0, 0 };
  (void)state;
  for (Tool tool = 0; tool < N_TOOLS; tool++)
    if (only == NULL || g_str_equal (only, tools[tool].name))
      bring_right (tool, &sum);
  assert_true (sum.n > 0);
  print_message ("%u of %u quantities inside U, %.1f %%\n", sum.in, sum.n, 100.0 * sum.in / sum.n);
  assert_true (sum.in >= 0.95 * sum.n);
}

int
main (int argc, char **argv)
{
  large = argc > 1 && g_str_equal (argv[1], "large");
  only = large && argc > 2 ? argv[2] : NULL;
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (the_words_lead_to_a_picture),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
