/*
 * What the outputs for people say alike.
 */
#ifndef WS_REPORT_WORDS_H
#define WS_REPORT_WORDS_H

#include <whetsight/report.h>
#include <whetsight/result.h>

#include "judge/join.h"

G_BEGIN_DECLS

/* "ACCEPT", …; "NO LIMITS" for WS_VERDICT_NONE; static. */
const char *wsi_words_verdict (WsVerdict verdict);

/* What a verdict means in a sentence; "" for a retake, which has its reason.  Static. */
const char *wsi_words_meaning (WsVerdict verdict);

/* What a quantity is called in this thread's language, "Deviation of segment 3" of a family's
 * third. Free with g_free(). */
char *wsi_words_label (const WsQuantity *quantity);

/* Why the verdict is as it is: what holds it, "Outside the limits: point angle, chip depth a.", or
 * what the verdict means.  Free with g_free(). */
char *wsi_words_reason (const WsReport *report);

/* What to do with the tool, and why: "Regrind. Outside the limits: …".  Free with g_free(). */
char *wsi_words_action (const WsReport *report);

/* The same for an action as records name it, without its reason; NULL for none; static. */
const char *wsi_words_action_named (const char *name);

/* "fit: drill-side accept, drill-end accept", "incomplete: drill-side accept, drill-end not
 * measured".  Free with g_free(). */
char *wsi_words_state (const WsToolState *state);

/* The cautions in one line, for where there is no room for each; NULL where nothing is to be done
 * that asks for any; static. */
const char *wsi_words_care (const WsResult *result);

/* "QT-D-0118 · twist-drill 6.5 mm"; the card's parts that are known.  Free with g_free(). */
char *wsi_words_tool (const WsReport *report);

/* "2026-11-25 11:15:02 CET" of "2026-11-25T10:15:02Z": what people read is the clock on their wall,
 * with its zone; records keep UTC.  What is no time stays as it is.  Free with g_free(). */
char *wsi_words_local_time (const char *time);
char *wsi_words_local (const char *time, const char *format); /* as of g_date_time_format() */
char *wsi_words_time (const WsReport *report);

/* Is it a length in mm that is shown in inches alone?  In both, the main unit is mm. */
gboolean wsi_words_in_inches (const WsQuantity *quantity);

/* Is it a length in mm that is shown in both? */
gboolean wsi_words_in_both (const WsQuantity *quantity);

/* The same quantity as it is shown in other units; borrows all of it. */
WsQuantity wsi_words_shown_in (const WsQuantity *quantity, WsUnits units);

/* A value of that quantity, or its U, in the main unit. */
double wsi_words_in_shown_unit (const WsQuantity *quantity, double value);

/* "deg", "mm" or "px", part of the quantity's name; "in" and "mm (in)" as it is shown; static. */
const char *wsi_words_unit (const WsQuantity *quantity);

/* U to two figures and the value to the same place; NULL when unknown.  Free with g_free(). */
char *wsi_words_value (const WsQuantity *quantity);
char *wsi_words_uncertainty (const WsQuantity *quantity);

/* "0.024 mm": the least that would have been seen, rounded up; NULL when unknown.  Free with
 * g_free(). */
char *wsi_words_smallest_seen (const WsQuantity *quantity);

/* "116 .. 120", ".. 0.1"; "" without limits.  Free with g_free(). */
char *wsi_words_limits (const WsQuantity *quantity);

/* One end: as it is written on the card.  Built-in ones follow from factors and would go on for
 * ever; they are rounded inward.  "" when infinite.  Free with g_free(). */
char *wsi_words_limit (double end, gboolean is_upper, gboolean is_built_in);

/* Of a limit in mm: in inches to so many places, inward. */
char *wsi_words_limit_inches (double mm, gboolean is_upper, guint places);

/* To so many digits, inward: for limits in other units than they are written in. */
char *wsi_words_limit_rounded (double end, gboolean is_upper, guint digits);

/* "97.7 %", ">99.9 %", "<0.1 %": the probability that the true value lies inside the limits; ""
 * without limits.  Free with g_free(). */
char *wsi_words_conformance (const WsQuantity *quantity);

/* Does a finding of that code say again what rows of the table say?  Records keep it for its place;
 * people read the table. */
gboolean wsi_words_is_in_table (const char *code);

/* TRUE when a limit comes neither from the card nor from nowhere. */
gboolean wsi_words_is_built_in (const WsQuantity *quantity);

G_END_DECLS

#endif
