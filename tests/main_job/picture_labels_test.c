/*
 * Labels on annotated pictures, from the picture file to the sheet: none on another, on a marked
 * edge or outside of the picture, whatever the tool, its faults and the picture's size.  What
 * labels keep clear of is checked by other code than places them.
 */
#include "base/testing.h"

#include <glib/gstdio.h>
#include <math.h>
#include <string.h>
#include <whetsight/view.h>

#include "base/geometry.h"
#include "report/picture/labels.h"
#include "report/picture/marks.h"
#include "report/picture/picture_area.h"
#include "report/picture/upright.h"
#include "scene/profile.h"
#include "trial/gates.h"

#define FIRST_SEED 9100
#define N_DRILLS (scale * trial_scenes (16, 2))
#define N_FORMS (scale * trial_scenes (6, 1))

/* How many times as many pictures: 20 with the argument "large". */
static guint scale = 1;

typedef struct
{
  guint pictures, labels, dropped, leaders, on_labels, on_edges, outside, on_bar;
} Counts;

static char *folder;

/* ---- Checking ----------------------------------------------------------------------------- */

static gboolean
overlap (const WsArea *a, const WsArea *b)
{
  return fmax (a->x, b->x) < fmin (a->x + a->width, b->x + b->width) &&
         fmax (a->y, b->y) < fmin (a->y + a->height, b->y + b->height);
}

static gboolean
holds (const WsArea *box, WsPoint p)
{
  return p.x > box->x && p.x < box->x + box->width && p.y > box->y && p.y < box->y + box->height;
}

/* Lines that tell of the tool's own edges, and what is wrong with them. */
static gboolean
is_edge (WsMarkRole role)
{
  return role == WS_MARK_OUTLINE || role == WS_MARK_EDGE_LINE || role == WS_MARK_EDGE_USED ||
         role == WS_MARK_SEGMENT || role == WS_MARK_NOMINAL || role == WS_MARK_DEVIATION ||
         role == WS_MARK_BURN || role == WS_MARK_LAND || role == WS_MARK_CHIP;
}

/* Every half px along the mark. */
static gboolean
covers (const WsArea *box, const WsMark *mark, const WsSheet *sheet)
{
  for (guint i = 0; i + 1 < mark->points->len; i++)
  {
    const WsPoint a = wsi_sheet_place (sheet, g_array_index (mark->points, WsPoint, i));
    const WsPoint b = wsi_sheet_place (sheet, g_array_index (mark->points, WsPoint, i + 1));
    const guint n = (guint)ceil (2.0 * wsi_point_distance (a, b)) + 1;
    for (guint k = 0; k <= n; k++)
      if (holds (box, wsi_point_along (a, (double)k / n, wsi_point_sub (b, a))))
        return TRUE;
  }
  return FALSE;
}

static void
check_label (const WsLabel *label, const WsSheet *sheet, const WsReport *report,
             const WsScaleBar *bar, Counts *counts)
{
  const WsArea *box = &label->place.box;
  const GPtrArray *marks = report->result->marks;
  counts->leaders += label->place.has_leader ? 1 : 0;
  counts->on_bar += overlap (box, &bar->box) ? 1 : 0;
  if (box->x < sheet->x || box->y < sheet->y || box->x + box->width > sheet->x + sheet->width ||
      box->y + box->height > sheet->y + sheet->height)
    counts->outside++;
  for (guint i = 0; i < marks->len; i++)
  {
    const WsMark *mark = g_ptr_array_index (marks, i);
    if (is_edge (mark->role) && covers (box, mark, sheet))
    {
      print_message ("\"%s\" lies on a mark of role %d\n", label->text, mark->role);
      counts->on_edges++;
    }
  }
}

static void
check_labels (const GArray *labels, const WsSheet *sheet, const WsReport *report,
              const WsScaleBar *bar, Counts *counts)
{
  counts->pictures++;
  counts->labels += labels->len;
  for (guint i = 0; i < labels->len; i++)
  {
    const WsLabel *label = &g_array_index (labels, WsLabel, i);
    if (!label->place.is_placed)
    {
      print_message ("no room for \"%s\"\n", label->text);
      counts->dropped++;
      continue;
    }
    check_label (label, sheet, report, bar, counts);
    for (guint k = 0; k < i; k++)
    {
      const WsLabel *other = &g_array_index (labels, WsLabel, k);
      if (!other->place.is_placed || !overlap (&label->place.box, &other->place.box))
        continue;
      print_message ("\"%s\" lies on \"%s\"\n", label->text, other->text);
      counts->on_labels++;
    }
  }
}

/* On a sheet of the size that the annotated picture has. */
static void
lay_out (const WsReport *report, guint width, guint height, Counts *counts)
{
  WsArea area;
  wsi_report_picture_area (width, height, 0.0, &area);
  cairo_surface_t *surface = cairo_image_surface_create (
    CAIRO_FORMAT_RGB24, (int)(area.x + area.width), (int)(area.y + area.height));
  const WsSheet sheet = { .cr = cairo_create (surface),
                          .factor = area.width / width,
                          .x = area.x,
                          .y = area.y,
                          .width = area.width,
                          .height = area.height,
                          .unit = fmax (area.width, 1280.0) / 1280.0 };
  const WsScaleBar bar = wsi_scale_bar_place (&sheet, report);
  GArray *labels = wsi_marks_draw (&sheet, report, &bar);
  check_labels (labels, &sheet, report, &bar, counts);
  g_array_unref (labels);
  if (wsi_upright_helps (report->result))
  {
    const WsScaleBar none = { .length = 0.0 };
    WsSheet upright = sheet;
    upright.width = 0.5 * fmax (area.width, 1280.0);
    wsi_upright_turn (&upright, report->result);
    labels = wsi_marks_draw (&upright, report, NULL);
    check_labels (labels, &upright, report, &none, counts);
    g_array_unref (labels);
  }
  cairo_destroy (sheet.cr);
  cairo_surface_destroy (surface);
}

static void
assert_clean (const char *what, const Counts *counts)
{
  print_message ("%s: %u pictures, %u labels (%u with a leader, %u without room), %u on another, "
                 "%u on an edge, %u on the scale bar, %u outside\n",
                 what, counts->pictures, counts->labels, counts->leaders, counts->dropped,
                 counts->on_labels, counts->on_edges, counts->on_bar, counts->outside);
  assert_int_equal (counts->on_labels, 0);
  assert_int_equal (counts->on_edges, 0);
  assert_int_equal (counts->on_bar, 0);
  assert_int_equal (counts->outside, 0);
  assert_int_equal (counts->dropped, 0);
}

/* ---- Measuring ----------------------------------------------------------------------------- */

/* The same marks on the same picture in another number of px. */
static void
resize (WsResult *result, double factor)
{
  for (guint i = 0; i < result->marks->len; i++)
  {
    GArray *points = ((WsMark *)g_ptr_array_index (result->marks, i))->points;
    for (guint k = 0; k < points->len; k++)
    {
      WsPoint *p = &g_array_index (points, WsPoint, k);
      *p = wsi_point (p->x * factor, p->y * factor);
    }
  }
  for (guint i = 0; i < result->quantities->len; i++)
  {
    WsQuantity *quantity = g_ptr_array_index (result->quantities, i);
    quantity->where_px = wsi_point (quantity->where_px.x * factor, quantity->where_px.y * factor);
  }
}

/* Sizes of sheets to try beside the picture's own, by their longer side. */
static const guint longer_sides[] = { 6000, 300 };

static void
measure_and_lay_out (const char *path, const char *card_path, const char *view, double mm_per_px,
                     Counts *counts)
{
  static const WsImageLimits limits = WS_IMAGE_LIMITS_DEFAULT;
  g_autoptr (GError) error = NULL;
  g_autoptr (WsToolCard) card = ws_tool_card_load (card_path, &error);
  assert_null (error);
  const WsView *seen = ws_view_find (view);
  const WsOptics optics = { .has_scale = mm_per_px > 0.0,
                            .mm_per_px = mm_per_px > 0.0 ? mm_per_px : 1.0,
                            .u_mm_per_px = 2e-4 * mm_per_px };
  g_autoptr (WsImage) image = ws_image_load (path, &limits, seen->needs, &error);
  assert_null (error);
  g_autoptr (WsResult) result = ws_measure (seen, image, card, &optics);
  WsReport report = { .card = card, .optics = &optics, .result = result };
  lay_out (&report, image->width, image->height, counts);
  double now = MAX (image->width, image->height);
  const double aspect = image->height / (double)image->width;
  for (gsize i = 0; i < G_N_ELEMENTS (longer_sides); i++)
  {
    resize (result, longer_sides[i] / now);
    now = longer_sides[i];
    const double width = aspect > 1.0 ? now / aspect : now;
    lay_out (&report, (guint)ceil (width), (guint)ceil (width * aspect), counts);
  }
}

/* ---- Pictures ------------------------------------------------------------------------------ */

static void
test_pictures_in_images (void **state)
{
  (void)state;
  g_autofree char *list = NULL;
  Counts counts = { 0 };
  assert_true (g_file_get_contents (WS_SOURCE_DIR "/images/shots.csv", &list, NULL, NULL));
  g_auto (GStrv) lines = g_strsplit (list, "\n", -1);
  const guint n_lines = g_strv_length (lines);
  for (guint i = 1; i < n_lines && *lines[i] != '\0'; i += trial_scenes (1, 4))
  {
    g_auto (GStrv) cells = g_strsplit (lines[i], ",", 6);
    g_autofree char *path = g_build_filename (WS_SOURCE_DIR, "images", cells[0], NULL);
    g_autofree char *card = g_build_filename (WS_SOURCE_DIR, "images", cells[1], NULL);
    measure_and_lay_out (path, card, cells[2], g_ascii_strtod (cells[3], NULL), &counts);
  }
  assert_clean ("images", &counts);
  assert_true (counts.labels > 3 * trial_scenes (100, 25));
}

static char *
write_file (const char *name, const char *text)
{
  char *path = g_build_filename (folder, name, NULL);
  assert_true (g_file_set_contents (path, text, -1, NULL));
  return path;
}

/* Barbs one after the other, as many flanks as asked for: `n` segments. */
static void
make_comb (guint n, SceneProfile *profile)
{
  *profile = (SceneProfile){ .start = { 0.0, 0.0 }, .n = n, .depth = 6.0 };
  for (guint i = 0; i < n; i++)
    profile->segments[i].to =
      (ScenePoint){ i % 2 ? 0.9 * (i + 1) : 0.9 * i + 1.1, i % 2 ? 0.0 : 1.3 - 0.02 * i };
}

static void
take_form (const SceneProfile *profile, SceneCamera *camera, double share, Counts *counts)
{
  g_autofree char *nominal = scene_profile_text (profile);
  g_autofree char *profile_path = write_file ("form.profile", nominal);
  g_autofree char *card = write_file (
    "form.tool",
    "[tool]\nid = QT-F-9999\nkind = form-tool\nnominal_profile = form.profile\n"
    "[limits]\nprofile_deviation_max_mm = .. 0.01\nsegment_3_deviation_mm = -0.01 .. 0.01\n"
    "corner_2_angle_deg = 10 .. 20\n");
  g_autofree char *path = g_build_filename (folder, "form.png", NULL);
  scene_profile_aim (profile, camera, share);
  g_autoptr (SceneImage) picture = scene_render_profile (profile, camera);
  assert_true (scene_image_save (picture, path, 0));
  measure_and_lay_out (path, card, "form-plan", camera->mm_per_px, counts);
  g_unlink (path);
  g_unlink (card);
  g_unlink (profile_path);
}

/* 14 and 20 segments, one of them off, in pictures of several sizes and any turn. */
static void
test_form_tools (void **state)
{
  (void)state;
  static const guint sizes[][2] = { { 1280, 960 }, { 1600, 1200 }, { 1000, 1500 } };
  Counts counts = { 0 };
  for (guint i = 0; i < N_FORMS; i++)
  {
    SceneProfile profile;
    SceneCamera camera;
    scene_camera_init (&camera);
    camera.width = sizes[i % 3][0];
    camera.height = sizes[i % 3][1];
    camera.roll_deg = 31.0 * i;
    camera.seed = FIRST_SEED + i;
    if (i % 2 == 0)
      make_comb (20, &profile);
    else
      scene_profile_fitting (&profile);
    profile.segments[2].error = 0.03;
    take_form (&profile, &camera, 0.7, &counts);
  }
  assert_clean ("form tools", &counts);
  assert_true (counts.labels > 3 * 20 * N_FORMS);
}

/* The largest and the smallest pictures, taken as such. */
static void
test_sizes_of_pictures (void **state)
{
  (void)state;
  const guint largest = trial_scenes (6000, 3000);
  const guint sizes[][2] = { { largest, largest / 3 * 2 }, { 300, 200 } };
  for (gsize i = 0; i < G_N_ELEMENTS (sizes); i++)
  {
    SceneProfile profile;
    SceneCamera camera;
    Counts counts = { 0 };
    scene_camera_init (&camera);
    camera.width = sizes[i][0];
    camera.height = sizes[i][1];
    camera.seed = FIRST_SEED;
    make_comb (i == 0 ? 20 : 4, &profile);
    take_form (&profile, &camera, 0.8, &counts);
    assert_clean (i == 0 ? "the largest" : "300 x 200", &counts);
    assert_true (i > 0 || counts.labels > 3 * 20);
  }
}

/* Chips anywhere on the lips, where the lips' letters stand, with worn corners and points off. */
static void
test_chipped_drills (void **state)
{
  (void)state;
  Counts counts = { 0 };
  g_autofree char *card =
    write_file ("drill.tool", "[tool]\nid = QT-D-9999\nkind = twist-drill\ndiameter_mm = 10\n");
  g_autofree char *path = g_build_filename (folder, "drill.png", NULL);
  for (guint i = 0; i < N_DRILLS; i++)
  {
    SceneDrill drill;
    SceneCamera camera;
    g_autoptr (GRand) rand = g_rand_new_with_seed (FIRST_SEED + i);
    scene_drill_init (&drill, 10.0);
    scene_camera_init (&camera);
    camera.width = 1280;
    camera.height = 960;
    camera.roll_deg = g_rand_double_range (rand, -180, 180);
    camera.seed = FIRST_SEED + i;
    scene_camera_aim (&camera, &drill, 0.42);
    SceneChip *chips[] = { &drill.chip_a, &drill.chip_b };
    for (guint k = 0; k < 2; k++)
      *chips[k] = (SceneChip){ .depth = g_rand_double_range (rand, 0.1, 0.25),
                               .width = g_rand_double_range (rand, 0.4, 0.8),
                               .place = g_rand_double_range (rand, 0.35, 0.85) };
    drill.corner_b = i % 2 ? 0.6 : 0.0;
    drill.offset = i % 3 ? 0.0 : 0.2;
    g_autoptr (SceneImage) picture = scene_render (&drill, &camera, NULL);
    assert_true (scene_image_save (picture, path, 0));
    measure_and_lay_out (path, card, "drill-side", camera.mm_per_px, &counts);
  }
  g_unlink (path);
  g_unlink (card);
  assert_clean ("chipped drills", &counts);
  assert_true (counts.labels > 3 * 5 * N_DRILLS);
}

static int
make_folder (void **state)
{
  (void)state;
  folder = g_dir_make_tmp ("whetsight-labels-XXXXXX", NULL);
  return folder != NULL ? 0 : -1;
}

static int
remove_folder (void **state)
{
  (void)state;
  g_rmdir (folder);
  g_free (folder);
  return 0;
}

int
main (int argc, char **argv)
{
  scale = argc > 1 && g_str_equal (argv[1], "large") ? 20 : 1;

  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_pictures_in_images),
    cmocka_unit_test (test_form_tools),
    cmocka_unit_test (test_sizes_of_pictures),
    cmocka_unit_test (test_chipped_drills),
  };
  return cmocka_run_group_tests (tests, make_folder, remove_folder);
}
