/*
 * Puts the program to the proof: measures a picture with the real binary, sets its record
 * beside the truth, and sums up errors and stated uncertainties.
 *
 * Angles are in degrees, lengths in parts of the true diameter, of a blade's edge width or height.
 */
#ifndef TRIAL_TRIAL_H
#define TRIAL_TRIAL_H

#include <glib.h>
#include <jansson.h>

G_BEGIN_DECLS

typedef enum
{
  TRIAL_POINT_ANGLE,
  TRIAL_HALF_ANGLE_A,
  TRIAL_HALF_ANGLE_B,
  TRIAL_HALF_ANGLE_DIFFERENCE,
  TRIAL_LIP_LENGTH_A,
  TRIAL_LIP_LENGTH_B,
  TRIAL_LIP_LENGTH_DIFFERENCE,
  TRIAL_LIP_HEIGHT_DIFFERENCE,
  TRIAL_POINT_OFFSET,
  TRIAL_DIAMETER,
  TRIAL_POINT_LENGTH,
  TRIAL_CORNER_WEAR_A,
  TRIAL_CORNER_WEAR_B,
  TRIAL_LIP_STRAIGHTNESS_A,
  TRIAL_LIP_STRAIGHTNESS_B,
  TRIAL_CHISEL_FLAT,
  TRIAL_CHIP_DEPTH_A,
  TRIAL_CHIP_DEPTH_B,
  TRIAL_VIEW_TURN,
  TRIAL_SIDE_RAKE,
  TRIAL_SIDE_CLEARANCE_MEAN,
  TRIAL_SIDE_CLEARANCE_LEFT,
  TRIAL_SIDE_CLEARANCE_RIGHT,
  TRIAL_EDGE_WIDTH,
  TRIAL_LEADING_CORNER_ADVANCE,
  TRIAL_CORNER_RADIUS_LEFT,
  TRIAL_CORNER_RADIUS_RIGHT,
  TRIAL_EDGE_STRAIGHTNESS,
  TRIAL_BLADE_CHIP_DEPTH,
  TRIAL_FRONT_RELIEF,
  TRIAL_TOP_RAKE,
  TRIAL_TIP_HEIGHT,
  TRIAL_LIP_RELIEF,
  TRIAL_CHISEL_EDGE_ANGLE,
  TRIAL_CHISEL_EDGE_LENGTH,
  TRIAL_WEB_THICKNESS,
  TRIAL_MARGIN_WIDTH,
  TRIAL_WEAR_LAND_MEAN,
  TRIAL_BURN_DEPTH_MAX,
  TRIAL_SEGMENT_ANGLE, /* of any segment of a profile */
  TRIAL_SEGMENT_RADIUS,
  TRIAL_SEGMENT_DEVIATION,
  TRIAL_PROFILE_TURN,
  TRIAL_N_QUANTITIES
} TrialQuantity;

/* With its unit, as in records; static. */
const char *trial_quantity_name (TrialQuantity quantity);

/* --- One run of the program ------------------------------------------------ */

typedef struct
{
  int status;     /* exit status; -1 when the program was killed or could not start */
  json_t *record; /* NULL when there is none */
  char *errors;   /* what went to standard error */
} TrialRun;

/* The program that tests are told of by the environment variable WHETSIGHT, or NULL. */
const char *trial_program (void);

/* measure --view VIEW --json, with --scale when `mm_per_px` is not NAN.  Free with
 * trial_run_free(). */
TrialRun *trial_measure_view (const char *program, const char *view, const char *picture,
                              double mm_per_px);

/* The same for drill-side. */
TrialRun *trial_measure (const char *program, const char *picture, double mm_per_px);

/* measure --view VIEW --json with `options` (ends in NULL) added. */
TrialRun *trial_measure_with (const char *program, const char *view, const char *picture,
                              const char *const *options);

void trial_run_free (TrialRun *run);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (TrialRun, trial_run_free)

/* The record's text under `key`, or NULL. */
const char *trial_text (const json_t *record, const char *key);

/* Also when there is no record at all. */
gboolean trial_is_retake (const TrialRun *run);

/* NAN when the record doesn't have it. */
double trial_value (const json_t *record, const char *quantity);

/* --- Reference pictures ------------------------------------------------------ */

/* A folder of pictures that lie beside the project or where WHETSIGHT_REFERENCES says, `source`
 * being the project's own; NULL, and says so on standard output, when it isn't there: tests that
 * use it are skipped.  Free with g_free(). */
char *trial_references (const char *source, const char *name);

/* --- What a record must hold, whatever the truth ---------------------------- */

/* NULL when the exit status, the tool's verdict and every quantity's verdict follow from values,
 * U and limits as ISO 14253-1:2017 has it; else what does not.  Free with g_free(). */
char *trial_check_verdicts (const TrialRun *run);

/* NULL when the record is a retake for one of `reasons` (comma-separated codes; NULL: for any)
 * without numbers, with exit status 3; else what is wrong.  Free with g_free(). */
char *trial_check_retake (const TrialRun *run, const char *reasons);

/* NULL when the hand and each corner's radius of 8 px and more (15 % and 1 px) are told right, and
 * the chip as below by the edge width; else what is wrong.  Free with g_free(). */
char *trial_check_blade (const json_t *record, const json_t *truth, double mm_per_px);

/* NULL when each lip's chip is told where truth has one of at least 0.01 of the diameter, its
 * depth within 15 % and 1 px, and none where truth has none.  Free with g_free(). */
char *trial_check_chips (const json_t *record, const json_t *truth, double mm_per_px);

/* --- Sums ------------------------------------------------------------------- */

typedef struct
{
  double error;
  double U;      /* as stated */
  double U_rest; /* without the budget's alignment lines */
} TrialError;

typedef struct
{
  GArray *errors[TRIAL_N_QUANTITIES]; /* of TrialError */
} TrialTable;

typedef struct
{
  guint n;
  double rms, median, max; /* of |error| */
  double coverage;         /* share with |error| <= U */
  double median_U, median_U_rest;
} TrialSummary;

/* Free with trial_table_free(). */
TrialTable *trial_table_new (void);
void trial_table_free (TrialTable *table);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (TrialTable, trial_table_free)

/* The error of one quantity; FALSE when record or truth doesn't have it. */
gboolean trial_error (const json_t *record, const json_t *truth, TrialQuantity quantity,
                      TrialError *error);

/* A record's quantity's U without what the rendered world has right: how the tool lies, and the
 * lens (alignment lines). */
double trial_U_without_setting (const json_t *quantity);

/* Adds every quantity that both record and truth have, but for chips where there is none and none
 * is told: their U says how small a chip would be seen, and there is no error to compare it with.
 */
void trial_table_add (TrialTable *table, const json_t *record, const json_t *truth);

/* Adds one quantity, its error in parts of `unit`; FALSE when the record doesn't have it. */
gboolean trial_table_add_one (TrialTable *table, TrialQuantity quantity, const json_t *record,
                              double truth, double unit);

/* Adds an error with its U, none of it by alignment. */
void trial_table_add_error (TrialTable *table, TrialQuantity quantity, double error, double U);

TrialSummary trial_summary (const TrialTable *table, TrialQuantity quantity);

/* A plain text table, one line a quantity.  Free with g_free(). */
char *trial_table_text (const TrialTable *table);

G_END_DECLS

#endif
