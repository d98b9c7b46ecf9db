/*
 * The program's verbs.  Each takes its arguments, the verb's own name first, and
 * returns the exit status.
 */
#ifndef WS_CLI_VERBS_H
#define WS_CLI_VERBS_H

#include <whetsight/error.h>

G_BEGIN_DECLS

/* Exit statuses that aren't errors; errors are those of WsErrorCode. */
enum
{
  WS_EXIT_ACCEPT = 0,
  WS_EXIT_REJECT = 1,
  WS_EXIT_UNDECIDED = 2,
  WS_EXIT_RETAKE = 3
};

int ws_verb_archive (char ***arguments);
int ws_verb_calibrate (char ***arguments);
int ws_verb_explain (char ***arguments);
int ws_verb_measure (char ***arguments);
int ws_verb_verify (char ***arguments);
int ws_verb_study (char ***arguments);
int ws_verb_trend (char ***arguments);
int ws_verb_report (char ***arguments);
int ws_verb_views (char ***arguments);
int ws_verb_aim (char ***arguments);

/* Sets `error` to what printf makes of `format` and returns FALSE; the second with
 * WS_ERROR_USAGE. */
gboolean ws_refuse (GError **error, WsErrorCode code, const char *format, ...) G_GNUC_PRINTF (3, 4);
gboolean ws_refuse_usage (GError **error, const char *format, ...) G_GNUC_PRINTF (2, 3);

/* Prints the error as one line on standard error, takes it over, returns its status. */
int ws_fail (GError *error);

G_END_DECLS

#endif
