/*
 * How views fill a result: quantities with their budgets, findings, marks, or the reason why
 * there are none.  Who only reads results needs whetsight/result.h alone.
 *
 * Inside a view lengths are px of the ideal picture, angles rad and shares numbers: as seen.
 * Values and budgets are recorded in degrees, and in mm where there is a scale.
 */
#ifndef WS_RESULT_BUILD_H
#define WS_RESULT_BUILD_H

#include "base/refusal.h"

#include <whetsight/optics.h>
#include <whetsight/result.h>

G_BEGIN_DECLS

/* Free with ws_result_free(). */
WsResult *wsi_result_new (const char *view);

/* Turns `result` into a retake: numbers and findings go, marks stay for the picture where they are
 * the tool's.
 * `detail` is printf-style, or NULL.  Always FALSE, for the caller to return. */
gboolean wsi_result_retake (WsResult *result, WsRetake reason, const char *detail, ...)
  G_GNUC_PRINTF (3, 4);

/* The same, as somebody below found out. */
gboolean wsi_result_refuse (WsResult *result, const WsRefusal *refusal);

typedef WsPoint (*WsMove) (WsPoint at, gconstpointer data);

/* Moves all places that marks, quantities and findings name, px. */
void wsi_result_move_places (WsResult *result, WsMove move, gconstpointer data);

/* What is known of tool and picture lets the numbers not decide.  `why` is printf-style and makes a
 * sentence; it is told as a finding of that code too.  The strongest hold counts, of equal ones the
 * first.  Nothing for a retake. */
void wsi_result_hold (WsResult *result, WsHold hold, const char *code, const char *why, ...)
  G_GNUC_PRINTF (4, 5);

/* What was seen makes the tool a reject, whatever its numbers say: adds the finding of that code,
 * which is static, with the words. */
void wsi_result_reject (WsResult *result, const char *code, const char *why, ...)
  G_GNUC_PRINTF (3, 4);

/* What the picture shows of the tool's size where no quantity tells it, as seen: for holding the
 * card against it (tool/card_fit.h).  Nothing without a scale. */
void wsi_result_see (WsResult *result, WsTrait trait, double px, double U_px,
                     const WsOptics *optics);

/* `text` is taken over. */
void wsi_result_add_finding (WsResult *result, const char *code, char *text,
                             const WsPoint *where_px);

/* A number of the grinding advised; its name, with its unit, is printf-style. */
void wsi_result_add_grinding (WsResult *result, double value, const char *name, ...)
  G_GNUC_PRINTF (3, 4);

/* No grinding cures the tool: says why in a sentence, which is taken over.  The first one counts,
 * and only where the tool is rejected. */
void wsi_result_set_aside (WsResult *result, char *why);

/* Copies points and label. */
void wsi_result_add_mark (WsResult *result, WsMarkRole role, const char *label,
                          const WsPoint *points, gsize n_points);

/* ---- Quantities ---- */

/* Adds an unknown quantity and returns it, owned by the result. */
WsQuantity *wsi_result_add_quantity (WsResult *result, const WsQuantityInfo *info,
                                     gboolean has_scale);

/*
 * The same for one of a family whose number varies by picture: the capital N in the family's stem
 * and label stands for `number` ("corner_N_angle" -> "corner_3_angle").
 */
WsQuantity *wsi_result_add_numbered (WsResult *result, const WsQuantityInfo *family, guint number,
                                     gboolean has_scale);

/* What a quantity of that unit is recorded in, per px, rad or share. */
double wsi_quantity_per_seen (const WsQuantity *quantity, const WsOptics *optics);

/* Make it known: by its value as seen, or as recorded. */
void wsi_quantity_set_seen (WsQuantity *quantity, double seen, const WsOptics *optics);
void wsi_quantity_set (WsQuantity *quantity, double value);

/* Where it is seen, px of the ideal picture. */
void wsi_quantity_set_place (WsQuantity *quantity, WsPoint where);

/* The least that would have shown in this picture, as seen. */
void wsi_quantity_set_smallest_seen (WsQuantity *quantity, double seen, const WsOptics *optics);

/* Makes it unknown again, without a budget. */
void wsi_quantity_forget (WsQuantity *quantity);

/* ---- Budgets ---- */

/* Adds a line to the budget.  U follows from wsi_quantity_combine(). */
void wsi_quantity_add_line (WsQuantity *quantity, const char *name, WsDistribution distribution,
                            double u, double sensitivity);

/* The same for an input of the quantity's own kind, as seen. */
void wsi_quantity_add_seen_line (WsQuantity *quantity, const char *name,
                                 WsDistribution distribution, double u_seen,
                                 const WsOptics *optics);

/* The line of the scale, in proportion to the value.  Nothing for angles and shares, for unknown
 * quantities, and without a scale. */
void wsi_quantity_add_scale_line (WsQuantity *quantity, const WsOptics *optics);

/* The line of an uncalibrated lens, of angles and lengths (optics/unknown_lens.h): what its radial
 * distortion does to this quantity where it lies in the picture, px or rad as `seen` (0 where that
 * isn't told), and on top what any place in the middle is allowed, since the distortion's middle
 * and its other kinds aren't known either.  Nothing for unknown quantities, with a calibration, and
 * of a length that is 0. */
void wsi_quantity_add_lens_line (WsQuantity *quantity, double seen, const WsOptics *optics);

/* The same of one that looks from near, and so is no telecentric one. */
void wsi_quantity_add_near_lens_line (WsQuantity *quantity, const WsOptics *optics);

/* Sets U = k sqrt(sum of squared contributions): JCGM 100:2008, 5.1.2 and 6.2.1. */
void wsi_quantity_combine (WsQuantity *quantity);

/*
 * The lines that every quantity has, then U: scale, and an unknown lens (angles without a scale,
 * which speaks for a telecentric lens).
 */
void wsi_quantity_finish (WsQuantity *quantity, const WsOptics *optics);

G_END_DECLS

#endif
