/*
 * Views: a tool kind seen from one side.  A view is one file in src/tool that
 * ends in one const WsView, and one line in src/tool/views.def.
 */
#ifndef WHETSIGHT_VIEW_H
#define WHETSIGHT_VIEW_H

#include <whetsight/card.h>
#include <whetsight/image.h>
#include <whetsight/judge.h>
#include <whetsight/optics.h>
#include <whetsight/result.h>

G_BEGIN_DECLS

/*
 * How far what the picture shows may lie from the card's word on it: more than wear, regrinding and
 * the view's own doubt can make of a tool is another tool, another card or a wrong scale.  Of a
 * hand only the trait is used.
 */
typedef struct
{
  WsTrait trait;
  const char *stem;    /* quantity that shows it; NULL: the result's `seen` does */
  double below, above; /* parts of the card's word; of an angle degrees.  0 above: nothing makes
                          such a tool larger than its card lets it be */
  double slack_mm;     /* beside them, for the smallest tools, but not beside 0 */
  gboolean is_ground;  /* grinding alone makes it: to have the wrong one is a fault, no mismatch */
} WsFitBand;

/* How a view looks at many pictures of one tool, one after the other; `room` is its own. */
typedef struct
{
  guint least, most; /* pictures */
  gpointer (*begin) (void);
  /* Keeps what it needs of a picture; else makes `result`, which is of this picture alone, a
   * retake. */
  void (*take) (gpointer room, guint i, const WsImage *image, const WsToolCard *card,
                const WsOptics *optics, WsResult *result);
  /* Fills the result of all pictures; `result->shown` becomes the one that its marks are on. */
  void (*finish) (gpointer room, const WsToolCard *card, const WsOptics *optics, WsResult *result);
  void (*end) (gpointer room);
} WsSeriesView;

typedef struct
{
  const char *name;    /* "drill-side" */
  const char *summary; /* one line for help */
  guint kinds;         /* bit (1 << WsToolKind) for each kind it applies to */
  WsImageFlags needs;
  const WsQuantityInfo *quantities;
  gsize n_quantities;
  const char *own_size; /* stem of the quantity that a micrometer gives as well, from which a scale
                           can follow; NULL when none is seen */
  const WsRequired *required; /* what must have been judged before a tool is accepted */
  gsize n_required;
  const WsFitBand *fits; /* what is held against the card */
  gsize n_fits;

  const WsSeriesView *series; /* of a view that needs many pictures; else NULL */
  gboolean of_work; /* it shows what a tool made, not the tool: nothing in it judges the tool */

  /* Fills quantities with values and budgets, findings about the picture, and
   * marks; or makes the result a retake.  Does no I/O and keeps no state. */
  void (*measure) (const WsImage *image, const WsToolCard *card, const WsOptics *optics,
                   WsResult *result);

  /* Adds findings and advice in the shop's language, after the verdicts are in. */
  void (*advise) (const WsToolCard *card, WsResult *result);
} WsView;

/* NULL-terminated, static. */
const WsView *const *ws_views (void);

/* NULL when there is no such view. */
const WsView *ws_view_find (const char *name);

/* The view used for a kind when none is named; never NULL for a drill. */
const WsView *ws_view_for_kind (WsToolKind kind);

/* What a view declares of a quantity, by its full name ("point_angle_deg", "diameter_px"); NULL
 * when there is no such view or quantity; static.  A WsQuantityLookup. */
const WsQuantityInfo *ws_view_lookup (const char *view, const char *name);

/* Is a quantity of that full name the direction of a line (WS_UNIT_DIRECTION), so that values a
 * multiple of 180 degrees apart are the same?  Views agree about names. */
gboolean ws_views_mean_direction (const char *name);

/*
 * The whole job for one picture: measure, limits (the card's, else built-in),
 * verdicts, advice.  Never fails: a picture that can't be measured is a retake.
 * The caller owns the result.
 */
WsResult *ws_measure (const WsView *view, const WsImage *image, const WsToolCard *card,
                      const WsOptics *optics);

/*
 * The same where the scale follows from the tool's own size, `optics->known_mm`, and from how many
 * pixels it has in the picture.  Sets the scale in `optics`; where the size can't be seen, it stays
 * unknown.  The size is then given in the result, not measured.
 */
WsResult *ws_measure_by_size (const WsView *view, const WsImage *image, const WsToolCard *card,
                              WsOptics *optics);

/* Where the pictures of a series come from: one at a time, `image` is the caller's to free.  NULL
 * with an error when one can't be had. */
typedef WsImage *(*WsSeriesNext) (guint i, gpointer data, GError **error);

/*
 * The whole job for `n` pictures of one tool: a view with a `series`.  Pictures that can't be used
 * are left out, and told, unless there are many of them.  NULL with the error of `next`.  The
 * caller owns the result.
 */
WsResult *ws_measure_series (const WsView *view, guint n, WsSeriesNext next, gpointer data,
                             const WsToolCard *card, const WsOptics *optics, GError **error);

G_END_DECLS

#endif
