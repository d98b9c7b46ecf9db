#include "report/picture/layout.h"

#include "base/geometry.h"
#include "base/testing.h"

static const WsArea picture = { 100, 50, 800, 600 };

/* Is any place of the line, as it is drawn, within the box?  By stepping along it. */
static gboolean
covers (const WsArea *box, const WsKeepClear *line)
{
  const guint n = line->n, stretches = line->is_area ? n : n - 1;
  for (guint i = 0; i < stretches; i++)
  {
    const WsPoint a = line->points[i], run = wsi_point_sub (line->points[(i + 1) % n], a);
    for (double t = 0; t <= 1; t += 0.25 / fmax (wsi_point_length (run), 0.5))
    {
      const WsPoint p = wsi_point_along (a, t, run);
      if (p.x > box->x - line->reach && p.x < box->x + box->width + line->reach &&
          p.y > box->y - line->reach && p.y < box->y + box->height + line->reach)
        return TRUE;
    }
  }
  return FALSE;
}

static gboolean
is_inside (const WsArea *box)
{
  return box->x >= picture.x && box->y >= picture.y &&
         box->x + box->width <= picture.x + picture.width &&
         box->y + box->height <= picture.y + picture.height;
}

static gboolean
overlap (const WsArea *a, const WsArea *b)
{
  return fmax (a->x, b->x) < fmin (a->x + a->width, b->x + b->width) &&
         fmax (a->y, b->y) < fmin (a->y + a->height, b->y + b->height);
}

static WsLabelWish
wish (double x, double y, double away_x, double away_y)
{
  return (WsLabelWish){
    .width = 60, .height = 30, .from = { x, y }, .away = { away_x, away_y }, .gap = 10
  };
}

static WsLabelPlace
place_one (const WsLabelWish *one, const WsKeepClear *lines, guint n_lines)
{
  const WsLabelField field = { picture, 1, lines, n_lines, NULL, 0 };
  WsLabelPlace place;
  wsi_labels_place (&field, one, 1, &place);
  return place;
}

/* Where nothing is in the way a label stands where it would stand best, at its gap. */
static void
test_nothing_in_the_way (void **state)
{
  (void)state;
  static const struct
  {
    double away[2], left, top;
  } all[] = {
    { { 1, 0 }, 510, 285 }, { { -1, 0 }, 430, 285 }, { { 0, 1 }, 470, 310 }, { { 0, -1 }, 470, 260 }
  };
  for (gsize i = 0; i < G_N_ELEMENTS (all); i++)
  {
    const WsLabelWish one = wish (500, 300, all[i].away[0], all[i].away[1]);
    const WsLabelPlace place = place_one (&one, NULL, 0);
    assert_true (place.is_placed);
    assert_false (place.has_leader);
    assert_near (place.box.x, all[i].left, 1e-9);
    assert_near (place.box.y, all[i].top, 1e-9);
    assert_near (place.box.width, 60, 0);
    assert_near (place.box.height, 30, 0);
  }
}

/* An edge where it would stand: it gives way, as little as it can. */
static void
test_edge_in_the_way (void **state)
{
  (void)state;
  static const WsPoint edge[] = { { 540, 60 }, { 540, 640 } };
  const WsKeepClear line = { edge, 2, 5, FALSE, FALSE };
  const WsLabelWish one = wish (500, 300, 1, 0);
  const WsLabelPlace place = place_one (&one, &line, 1);
  assert_true (place.is_placed);
  assert_false (covers (&place.box, &line));
  assert_true (wsi_point_distance (one.from, wsi_point (place.box.x + 30, place.box.y + 15)) < 70);
}

/* What may give is avoided, but only where that costs little. */
static void
test_what_may_give (void **state)
{
  (void)state;
  static const WsPoint small[] = { { 540, 290 }, { 540, 310 } };
  static const WsPoint all_over[] = { { 100, 50 }, { 900, 50 }, { 900, 650 }, { 100, 650 } };
  const WsLabelWish one = wish (500, 300, 1, 0);
  const WsKeepClear may = { small, 2, 1, FALSE, TRUE };
  const WsLabelPlace beside = place_one (&one, &may, 1);
  assert_false (covers (&beside.box, &may));
  WsKeepClear whole = { all_over, 4, 1, TRUE, TRUE };
  const WsLabelPlace place = place_one (&one, &whole, 1);
  assert_true (place.is_placed);
  assert_near (place.box.x, 510, 1e-9);
  whole.may_give = FALSE;
  assert_false (place_one (&one, &whole, 1).is_placed);
}

/* An area is kept clear, not only its border; beyond it a line leads back. */
static void
test_leaders (void **state)
{
  (void)state;
  static const WsPoint area[] = { { 380, 180 }, { 620, 180 }, { 620, 420 }, { 380, 420 } };
  const WsKeepClear region = { area, 4, 2, TRUE, FALSE };
  WsLabelWish one = wish (500, 300, 0, 1);
  const WsLabelPlace place = place_one (&one, &region, 1);
  assert_true (place.is_placed && place.has_leader);
  assert_true (place.box.y > 422 || place.box.y + 30 < 178 || place.box.x > 622 ||
               place.box.x + 60 < 378);
  assert_near (wsi_point_distance (place.leader[0], one.from), 10, 1e-9);
  assert_near (place.leader[1].x, CLAMP (500, place.box.x, place.box.x + 60), 1e-9);
  assert_near (place.leader[1].y, CLAMP (300, place.box.y, place.box.y + 30), 1e-9);
  one.is_loose = TRUE;
  assert_false (place_one (&one, &region, 1).has_leader);
}

/* At the border and in corners they stay inside; what has no room at all isn't placed. */
static void
test_border (void **state)
{
  (void)state;
  static const double at[][2] = { { 100, 50 },  { 900, 50 },  { 900, 650 }, { 100, 650 },
                                  { 500, 640 }, { 105, 300 }, { 899, 300 }, { 500, 51 } };
  for (gsize i = 0; i < G_N_ELEMENTS (at); i++)
    for (int k = 0; k < 8; k++)
    {
      const WsLabelWish one = wish (at[i][0], at[i][1], cos (k * G_PI / 4), sin (k * G_PI / 4));
      const WsLabelPlace place = place_one (&one, NULL, 0);
      assert_true (place.is_placed);
      assert_true (is_inside (&place.box));
    }
  WsLabelWish wide = wish (500, 300, 1, 0);
  wide.width = 801;
  assert_false (place_one (&wide, NULL, 0).is_placed);
}

/* Taken boxes stay free; an earlier label has the better place. */
static void
test_order (void **state)
{
  (void)state;
  const WsArea box = { 505, 280, 70, 40 };
  const WsLabelField field = { picture, 1, NULL, 0, &box, 1 };
  const WsLabelWish two[] = { wish (500, 300, 1, 0), wish (500, 300, 1, 0) };
  WsLabelPlace places[2];
  wsi_labels_place (&field, two, 2, places);
  for (guint i = 0; i < 2; i++)
    assert_true (places[i].is_placed && !overlap (&places[i].box, &box));
  assert_false (overlap (&places[0].box, &places[1].box));
  const WsPoint from = two[0].from;
  const double first = wsi_point_distance (from, wsi_point (places[0].box.x, places[0].box.y + 15));
  assert_true (first < 60);
}

/* A zigzag with a label at each of its corners, as a form tool has, and one at each of its flanks;
 * whatever the seed all find a place, none on another, on the edge or outside, and hardly a leader
 * runs under a label. */
static void
test_crowds (void **state)
{
  (void)state;
  guint n_placed = 0, n_under = 0;
  for (guint32 seed = 1; seed <= 30; seed++)
  {
    g_autoptr (GRand) rand = g_rand_new_with_seed (seed);
    WsPoint edge[21];
    WsLabelWish wishes[39];
    WsLabelPlace places[39];
    for (guint i = 0; i < 21; i++)
      edge[i] =
        wsi_point (120 + 38 * i, 350 + g_rand_double_range (rand, 10, 60) * (i % 2 ? 1 : -1));
    for (guint i = 0; i < 20; i++)
      wishes[i] = wish (0.5 * (edge[i].x + edge[i + 1].x), 0.5 * (edge[i].y + edge[i + 1].y), 0, 1);
    for (guint i = 1; i < 20; i++)
      wishes[19 + i] = wish (edge[i].x, edge[i].y, 0, i % 2 ? 1 : -1);
    for (guint i = 0; i < 39; i++)
      wishes[i].width = 40;
    const WsKeepClear line = { edge, 21, 4, FALSE, FALSE };
    const WsLabelField field = { picture, 1, &line, 1, NULL, 0 };
    wsi_labels_place (&field, wishes, 39, places);
    for (guint i = 0; i < 39; i++)
    {
      if (!places[i].is_placed)
        continue;
      n_placed++;
      assert_true (is_inside (&places[i].box));
      assert_false (covers (&places[i].box, &line));
      for (guint k = 0; k < 39; k++)
      {
        if (k == i || !places[k].is_placed)
          continue;
        assert_false (overlap (&places[i].box, &places[k].box));
        const WsKeepClear leader = { places[k].leader, 2, 0, FALSE, FALSE };
        n_under += places[k].has_leader && covers (&places[i].box, &leader);
      }
    }
  }
  assert_int_equal (n_placed, 30 * 39);
  assert_in_range (n_under, 0, n_placed / 20);
}

static void
test_boxes_and_lines (void **state)
{
  (void)state;
  const WsArea box = { 10, 20, 30, 40 };
  static const struct
  {
    WsPoint points[3];
    guint n;
    double reach;
    gboolean is_area, meets;
  } all[] = {
    { { { 0, 0 }, { 100, 0 } }, 2, 1, FALSE, FALSE },
    { { { 0, 19 }, { 100, 19 } }, 2, 2, FALSE, TRUE },
    { { { 0, 19 }, { 100, 19 } }, 2, 0.5, FALSE, FALSE },
    { { { 0, 40 }, { 100, 41 } }, 2, 0, FALSE, TRUE },
    { { { 20, 0 }, { 21, 100 } }, 2, 0, FALSE, TRUE },
    { { { 0, 55 }, { 15, 70 } }, 2, 0, FALSE, FALSE },
    { { { 0, 45 }, { 25, 70 } }, 2, 0, FALSE, TRUE },
    { { { 20, 30 }, { 21, 30 } }, 2, 0, FALSE, TRUE },
    { { { 20, 30 } }, 1, 0, FALSE, TRUE },
    { { { 60, 30 } }, 1, 0, FALSE, FALSE },
    { { { -100, 0 }, { 300, 0 }, { 25, 300 } }, 3, 0, TRUE, TRUE },
    { { { -100, 0 }, { 300, 0 }, { 25, 300 } }, 3, 0, FALSE, FALSE },
    { { { 0, 0 }, { 0, 100 }, { 100, 100 } }, 3, 0, FALSE, FALSE },
    { { { 0, 0 }, { 0, 100 }, { 100, 100 } }, 3, 0, TRUE, TRUE },
    { { { 60, 0 }, { 60, 100 }, { 100, 100 } }, 3, 0, TRUE, FALSE },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (all); i++)
  {
    const WsKeepClear line = { all[i].points, all[i].n, all[i].reach, all[i].is_area, FALSE };
    if (wsi_box_meets_line (&box, &line) != all[i].meets)
      fail_msg ("line %" G_GSIZE_FORMAT, i);
  }
  const WsArea beside = { 42, 20, 5, 5 };
  assert_false (wsi_boxes_meet (&box, &beside, 0));
  assert_false (wsi_boxes_meet (&box, &beside, 1.9));
  assert_true (wsi_boxes_meet (&box, &beside, 2.1));
}

/* Marks may lie anywhere, and lines may have no length. */
static void
test_odd_lines (void **state)
{
  (void)state;
  static const WsPoint odd[] = { { -1e9, 300 }, { 1e9, 300 }, { 500, 1e12 }, { 500, 1e12 } };
  const WsKeepClear lines[] = { { odd, 4, 3, FALSE, FALSE },
                                { odd, 1, 3, TRUE, FALSE },
                                { odd, 0, 3, FALSE, FALSE } };
  const WsLabelWish one = wish (450, 300, 1, 0);
  const WsLabelPlace place = place_one (&one, lines, 3);
  assert_true (place.is_placed);
  assert_true (place.box.y > 303 || place.box.y + 30 < 297);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_nothing_in_the_way),
    cmocka_unit_test (test_edge_in_the_way),
    cmocka_unit_test (test_what_may_give),
    cmocka_unit_test (test_leaders),
    cmocka_unit_test (test_border),
    cmocka_unit_test (test_order),
    cmocka_unit_test (test_crowds),
    cmocka_unit_test (test_boxes_and_lines),
    cmocka_unit_test (test_odd_lines),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
