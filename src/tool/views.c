#include <whetsight/judge.h>
#include <whetsight/view.h>

#include <math.h>
#include <string.h>

#include "image/evened.h"
#include "image/repeated.h"
#include "result/build.h"
#include "tool/advise.h"
#include "tool/card_fit.h"
#include "tool/known_size.h"

#define WS_VIEW(view) extern const WsView view;
#include "tool/views.def"
#undef WS_VIEW

static const WsView *const views[] = {
#define WS_VIEW(view) &(view),
#include "tool/views.def"
#undef WS_VIEW
  NULL,
};

const WsView *const *
ws_views (void)
{
  return views;
}

const WsView *
ws_view_find (const char *name)
{
  for (const WsView *const *view = views; *view != NULL; view++)
    if (g_str_equal ((*view)->name, name))
      return *view;
  return NULL;
}

const WsView *
ws_view_for_kind (WsToolKind kind)
{
  for (const WsView *const *view = views; *view != NULL; view++)
    if ((*view)->kinds & 1U << kind)
      return *view;
  return NULL;
}

const WsQuantityInfo *
ws_view_lookup (const char *view_name, const char *name)
{
  const WsView *view = ws_view_find (view_name);
  const char *unit = strrchr (name, '_');
  for (gsize i = 0; view != NULL && unit != NULL && i < view->n_quantities; i++)
  {
    const WsQuantityInfo *info = &view->quantities[i];
    const gsize n = strlen (info->stem);
    if (strncmp (name, info->stem, n) == 0 && name + n == unit)
      return info;
  }
  return NULL;
}

gboolean
ws_views_mean_direction (const char *name)
{
  g_autofree char *family = ws_quantity_family (name);
  for (const WsView *const *view = views; *view != NULL; view++)
  {
    const WsQuantityInfo *info = ws_view_lookup ((*view)->name, family);
    if (info != NULL)
      return info->unit == WS_UNIT_DIRECTION;
  }
  return FALSE;
}

/* The view's own, and what the card adds to it of what the view measures; free with
 * g_array_unref(). */
static GArray *
required_of (const WsView *view, const WsToolCard *card)
{
  GArray *all = g_array_new (FALSE, FALSE, sizeof (WsRequired));
  g_array_append_vals (all, view->required, (guint)view->n_required);
  for (gsize i = 0; card->required != NULL && card->required[i] != NULL; i++)
  {
    const char *name = card->required[i];
    g_autofree char *family = ws_quantity_family (name);
    g_autofree char *stem = g_strndup (name, (gsize)(strrchr (name, '_') - name));
    const WsRequired added = { .kinds = 1U << card->kind, .stem = g_intern_string (stem) };
    if (ws_view_lookup (view->name, family) != NULL)
      g_array_append_val (all, added);
  }
  return all;
}

/* Its verdict is this view's alone. */
static void
name_other_views (const WsToolCard *card, WsResult *result)
{
  g_autoptr (GPtrArray) names = g_ptr_array_new ();
  for (gsize i = 0; card->views != NULL && card->views[i] != NULL; i++)
    if (!g_str_equal (card->views[i], result->view))
      g_ptr_array_add (names, card->views[i]);
  g_ptr_array_add (names, NULL);
  g_free (result->other_views);
  result->other_views = names->len > 1 ? g_strjoinv (", ", (char **)names->pdata) : NULL;
}

static void
judge (const WsView *view, const WsToolCard *card, const WsOptics *optics, WsResult *result)
{
  g_autoptr (GArray) required = required_of (view, card);
  name_other_views (card, result);
  if (optics->is_doubted)
    wsi_result_hold (result, WS_HOLD_VERDICT, "calibration-failed",
                     "The calibration failed its last check, so nothing can be judged with it "
                     "until a check passes: see whetsight verify.");
  if (optics->is_unchecked)
    wsi_result_hold (result, WS_HOLD_VERDICT, "check-due",
                     "The check of the bench's calibration is due, so nothing can be judged with "
                     "it until one passes: see whetsight verify.");
  ws_limits_apply (result, card);
  wsi_card_fit_check (view, card, result);
  ws_verdicts_apply (result);
  ws_verdicts_require (result, (const WsRequired *)required->data, required->len, card,
                       optics->has_scale);
  if (result->hold == WS_HOLD_VERDICT)
    return;
  if (view->advise != NULL)
    view->advise (card, result);
  wsi_advise_conclude (card, result);
  ws_verdicts_conclude (result, card, optics->has_scale);
}

static WsPoint
to_picture (WsPoint ideal, gconstpointer lens)
{
  return ws_lens_to_picture (lens, ideal);
}

/* Files round their pixels a length to whole numbers. */
#define MOST_DECLARED 0.005

/* A calibrated near camera knows the shape of its pixels. */
static gboolean
has_square_pixels (const WsImage *image, const WsOptics *optics, WsResult *result)
{
  if ((optics->lens != NULL && optics->lens->model == WS_LENS_PINHOLE) ||
      !(image->pixel_aspect > 0) || fabs (log (image->pixel_aspect)) <= MOST_DECLARED)
    return TRUE;
  return wsi_result_retake (result, WS_RETAKE_PIXELS_NOT_SQUARE,
                            "the file says that a pixel is %.3g times as wide as it is high",
                            image->pixel_aspect);
}

/* More of a picture than this let through was cut out after it was taken. */
#define MAX_CLEAR 0.005

/* Whether it is the file of a camera, and says what its codes mean; else a retake. */
static gboolean
is_of_camera (const WsImage *image, WsResult *result)
{
  const double clear = (double)image->n_clear / ((double)image->width * image->height);
  if (clear > MAX_CLEAR)
    return wsi_result_retake (result, WS_RETAKE_TONES_CHANGED,
                              "%.0f %% of the picture is transparent", 100 * clear);
  /* Cameras that give more than 8 bits mostly give linear light, and mostly don't say so. */
  if (image->tone == WS_TONE_SRGB_ASSUMED && image->bits > 8)
    return wsi_result_retake (result, WS_RETAKE_TONE_UNKNOWN,
                              "%u bits a sample, and no colour profile", image->bits);
  return TRUE;
}

static gboolean
has_pixels_of_its_own (const WsImage *image, WsResult *result)
{
  const double times = wsi_image_repeated (image);
  if (!(times > 1))
    return TRUE;
  return wsi_result_retake (result, WS_RETAKE_PIXELS_NOT_SQUARE,
                            "rows or columns of pixels are repeated, noise and all: it was made "
                            "%.3g times as large without smoothing",
                            times);
}

static gboolean
can_be_used (const WsImage *image, const WsOptics *optics, WsResult *result)
{
  return is_of_camera (image, result) && has_square_pixels (image, optics, result) &&
         has_pixels_of_its_own (image, result);
}

/* More of the ground at full scale than noise and reflections account for. */
#define MAX_FLICKER_CLIPPED 0.01

/* A silhouette's ground shows how a lamp flickers; elsewhere light and shade are the tool's.
 * `evened` becomes the picture without, NULL where the picture is as good as it is. */
static gboolean
lamp_is_even (const WsView *view, const WsImage *image, WsImage **evened, WsResult *result)
{
  double clipped = 0;
  if (!view->of_work && !(view->needs & WS_IMAGE_COLOUR))
    *evened = wsi_image_evened (image, &clipped);
  if (*evened == NULL || clipped <= MAX_FLICKER_CLIPPED)
    return TRUE;
  return wsi_result_retake (result, WS_RETAKE_OVER_EXPOSED,
                            "the lamp flickers, and with it %.0f %% of the ground is at full scale",
                            100 * clipped);
}

static WsResult *
look (const WsView *view, const WsImage *image, const WsToolCard *card, const WsOptics *optics)
{
  WsResult *result = wsi_result_new (view->name);
  g_autoptr (WsImage) evened = NULL;
  if (!can_be_used (image, optics, result) || !lamp_is_even (view, image, &evened, result))
    return result;
  view->measure (evened != NULL ? evened : image, card, optics, result);
  if (image->pages > 1 && result->reason == WS_RETAKE_NONE)
    wsi_result_add_finding (
      result, "first-page",
      g_strdup_printf ("The file has %u pages; the first one was measured.", image->pages), NULL);
  return result;
}

static WsResult *
conclude (const WsView *view, const WsToolCard *card, const WsOptics *optics, WsResult *result)
{
  if (result->reason == WS_RETAKE_NONE)
    judge (view, card, optics, result);
  if (optics->lens != NULL)
    /* Views work in the ideal picture; people look at the real one. */
    wsi_result_move_places (result, to_picture, optics->lens);
  return result;
}

WsResult *
ws_measure (const WsView *view, const WsImage *image, const WsToolCard *card,
            const WsOptics *optics)
{
  return conclude (view, card, optics, look (view, image, card, optics));
}

WsResult *
ws_measure_by_size (const WsView *view, const WsImage *image, const WsToolCard *card,
                    WsOptics *optics)
{
  WsResult *result = look (view, image, card, optics);
  if (wsi_known_size_scale (view->own_size, result, optics))
  {
    ws_result_free (result);
    result = look (view, image, card, optics);
    wsi_known_size_give (view->own_size, optics, card, result);
  }
  return conclude (view, card, optics, result);
}

/* ---- Series ------------------------------------------------------------------------- */

/* A series of which more pictures can't be used isn't the one that was meant. */
#define MOST_UNUSED 0.25

/* Pictures of a series, looked at. */
typedef struct
{
  GPtrArray *looks; /* of WsResult, one a picture */
  guint unused;
} Looks;

static void
looks_clear (Looks *looks)
{
  g_ptr_array_unref (looks->looks);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Looks, looks_clear)

static void
free_result (gpointer result)
{
  ws_result_free (result);
}

static const WsResult *
first_unused (const Looks *looks, guint *which)
{
  for (guint i = 0; i < looks->looks->len; i++)
  {
    const WsResult *look = g_ptr_array_index (looks->looks, i);
    *which = i;
    if (look->reason != WS_RETAKE_NONE)
      return look;
  }
  return NULL;
}

/* What was left out, and why. */
static void
tell_unused (const Looks *looks, WsResult *result)
{
  guint which;
  const WsResult *look = first_unused (looks, &which);
  if (look == NULL || result->reason != WS_RETAKE_NONE)
    return;
  wsi_result_add_finding (
    result, "pictures-left-out",
    g_strdup_printf ("%u of %u pictures can't be used and were left out; the first of them is "
                     "number %u: %s%s%s",
                     looks->unused, looks->looks->len, which + 1, ws_retake_code (look->reason),
                     look->detail != NULL ? ", " : "", look->detail != NULL ? look->detail : "."),
    NULL);
}

static gboolean
look_at_all (const WsView *view, gpointer room, guint n, WsSeriesNext next, gpointer data,
             const WsToolCard *card, const WsOptics *optics, Looks *looks, GError **error)
{
  for (guint i = 0; i < n; i++)
  {
    g_autoptr (WsImage) image = next (i, data, error);
    if (image == NULL)
      return FALSE;
    WsResult *look = wsi_result_new (view->name);
    g_ptr_array_add (looks->looks, look);
    g_autoptr (WsImage) evened = NULL;
    if (can_be_used (image, optics, look) && lamp_is_even (view, image, &evened, look))
      view->series->take (room, i, evened != NULL ? evened : image, card, optics, look);
    looks->unused += look->reason != WS_RETAKE_NONE;
  }
  return TRUE;
}

/* The outline is marked on the picture that is shown. */
static void
take_marks (const Looks *looks, WsResult *result)
{
  WsResult *look = g_ptr_array_index (looks->looks, result->shown);
  GPtrArray *marks = look->marks;
  look->marks = result->marks;
  result->marks = marks;
  while (look->marks->len > 0)
    g_ptr_array_add (marks, g_ptr_array_steal_index (look->marks, 0));
}

static void
finish_series (const WsView *view, gpointer room, const Looks *looks, const WsToolCard *card,
               const WsOptics *optics, WsResult *result)
{
  guint which = 0;
  const WsResult *unused = first_unused (looks, &which);
  const guint n = looks->looks->len;
  if (looks->unused > MOST_UNUSED * n && unused != NULL)
  {
    result->shown = which;
    wsi_result_retake (result, unused->reason, "%u of %u pictures can't be used; number %u: %s",
                       looks->unused, n, which + 1,
                       unused->detail != NULL ? unused->detail : ws_retake_code (unused->reason));
  }
  else
    view->series->finish (room, card, optics, result);
  take_marks (looks, result);
  tell_unused (looks, result);
}

WsResult *
ws_measure_series (const WsView *view, guint n, WsSeriesNext next, gpointer data,
                   const WsToolCard *card, const WsOptics *optics, GError **error)
{
  g_return_val_if_fail (view->series != NULL && n > 0, NULL);
  g_auto (Looks) looks = { .looks = g_ptr_array_new_with_free_func (free_result) };
  WsResult *result = wsi_result_new (view->name);
  if (n < view->series->least || n > view->series->most)
  {
    wsi_result_retake (result, WS_RETAKE_WRONG_VIEW, "%u pictures; a series has %u to %u of them",
                       n, view->series->least, view->series->most);
    return result;
  }
  gpointer room = view->series->begin ();
  const gboolean seen = look_at_all (view, room, n, next, data, card, optics, &looks, error);
  if (seen)
    finish_series (view, room, &looks, card, optics, result);
  view->series->end (room);
  if (seen)
    return conclude (view, card, optics, result);
  ws_result_free (result);
  return NULL;
}
