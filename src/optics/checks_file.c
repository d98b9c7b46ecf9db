/*
 * NAME.checks.csv: RFC 4180, one line a check, never changed but at its end.
 */
#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <string.h>
#include <sys/file.h>
#include <unistd.h>

#include <glib/gstdio.h>
#include <whetsight/checks.h>
#include <whetsight/error.h>

#include "base/csv.h"
#include "base/file.h"
#include "base/number.h"
#include "base/sha256.h"
#include "optics/check_places.h"

#define KIND_OF_FILE "list of checks"
#define MAX_BYTES (64U << 20) /* own choice: a check an hour for a century */

#define CALIBRATION_SUFFIX ".calib"
#define CHECKS_SUFFIX ".checks.csv"

#define PLACES_E_N 4

enum
{
  COLUMN_RUN,
  COLUMN_TIME,
  COLUMN_CALIBRATION,
  COLUMN_FILE,
  COLUMN_SHA256,
  COLUMN_QUANTITY,
  COLUMN_VALUE,
  COLUMN_U,
  COLUMN_REFERENCE,
  COLUMN_U_REFERENCE,
  COLUMN_DEVIATION,
  COLUMN_E_N,
  COLUMN_PASS,
  N_COLUMNS
};

static const char *const header[N_COLUMNS + 1] = {
  "run", "time",      "calibration", "file",      "sha256", "quantity", "value",
  "U",   "reference", "U_reference", "deviation", "E_n",    "pass",     NULL,
};

char *
ws_checks_path (const char *calibration_path)
{
  gsize n = strlen (calibration_path);
  if (g_str_has_suffix (calibration_path, CALIBRATION_SUFFIX))
    n -= strlen (CALIBRATION_SUFFIX);
  g_autofree char *stem = g_strndup (calibration_path, n);
  return g_strconcat (stem, CHECKS_SUFFIX, NULL);
}

/* ---- Writing ---------------------------------------------------------------------- */

static void
append_check (GString *out, const WsCheck *check)
{
  g_autofree char *value = wsi_number_format (check->value, WS_CHECK_PLACES);
  g_autofree char *U = wsi_number_format (check->U, WS_CHECK_PLACES);
  g_autofree char *reference = wsi_number_format (check->reference, WS_CHECK_PLACES);
  g_autofree char *U_reference = wsi_number_format (check->U_reference, WS_CHECK_PLACES);
  g_autofree char *deviation = wsi_number_format (check->deviation, WS_CHECK_PLACES);
  g_autofree char *E_n = wsi_number_format (check->E_n, PLACES_E_N);
  const char *const fields[N_COLUMNS + 1] = {
    [COLUMN_RUN] = check->run,
    [COLUMN_TIME] = check->time,
    [COLUMN_CALIBRATION] = check->calibration,
    [COLUMN_FILE] = check->file,
    [COLUMN_SHA256] = check->sha256,
    [COLUMN_QUANTITY] = check->quantity,
    [COLUMN_VALUE] = value,
    [COLUMN_U] = U,
    [COLUMN_REFERENCE] = reference,
    [COLUMN_U_REFERENCE] = U_reference,
    [COLUMN_DEVIATION] = deviation,
    [COLUMN_E_N] = E_n,
    [COLUMN_PASS] = check->pass ? "yes" : "no",
  };
  wsi_csv_append_row (out, fields);
}

/* ---- Reading ---------------------------------------------------------------------- */

static gboolean
refuse (const char *name, const WsCsvRow *row, int column, const char *expected, GError **error)
{
  g_autofree char *found = g_utf8_make_valid (row->fields[column], -1);
  g_strdelimit (found, "\r\n", ' ');
  g_set_error (
    error, WS_ERROR, WS_ERROR_DATA,
    "%s: line %u: %s: expected %s, found \"%s\"; restore it from a copy, or move it away "
    "to start anew",
    name, row->line, header[column], expected, found);
  return FALSE;
}

static gboolean
read_length (const char *name, const WsCsvRow *row, int column, double lower, double *value,
             GError **error)
{
  if (wsi_number_parse (row->fields[column], value) && *value >= lower)
    return TRUE;
  return refuse (name, row, column, "a number", error);
}

static gboolean
is_time (const char *text)
{
  g_autoptr (GDateTime) time = g_date_time_new_from_iso8601 (text, NULL);
  return time != NULL && strlen (text) == WS_CHECK_TIME_SIZE - 1;
}

/* What was judged follows from the sizes, or somebody changed them. */
static WsCheck *
judged (const char *name, const WsCsvRow *row, GError **error)
{
  double value, U, reference, U_reference;
  if (!read_length (name, row, COLUMN_VALUE, 0, &value, error) ||
      !read_length (name, row, COLUMN_U, 0, &U, error) ||
      !read_length (name, row, COLUMN_REFERENCE, 0, &reference, error) ||
      !read_length (name, row, COLUMN_U_REFERENCE, 0, &U_reference, error))
    return NULL;
  g_autoptr (WsCheck) check = ws_check_new (row->fields[COLUMN_RUN], row->fields[COLUMN_QUANTITY],
                                            value, U, reference, U_reference);
  const char *expected = check->pass ? "yes by the sizes" : "no by the sizes";
  if (g_str_has_prefix (expected, row->fields[COLUMN_PASS]) && *row->fields[COLUMN_PASS] != '\0')
    return g_steal_pointer (&check);
  refuse (name, row, COLUMN_PASS, expected, error);
  return NULL;
}

static WsCheck *
read_check (const char *name, const WsCsvRow *row, GError **error)
{
  if (row->n != N_COLUMNS)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                 "%s: line %u: %u fields instead of %d; restore it from a copy, or move it away to "
                 "start anew",
                 name, row->line, row->n, N_COLUMNS);
    return NULL;
  }
  if (!is_time (row->fields[COLUMN_TIME]))
  {
    refuse (name, row, COLUMN_TIME, "a time such as 2026-11-25T15:52:25Z", error);
    return NULL;
  }
  WsCheck *check = judged (name, row, error);
  if (check == NULL)
    return NULL;
  g_strlcpy (check->time, row->fields[COLUMN_TIME], sizeof check->time);
  check->calibration = g_strdup (row->fields[COLUMN_CALIBRATION]);
  check->file = g_strdup (row->fields[COLUMN_FILE]);
  check->sha256 = g_strdup (row->fields[COLUMN_SHA256]);
  return check;
}

static gboolean
is_header (const WsCsvRow *row)
{
  return g_strv_equal ((const char *const *)row->fields, header);
}

GPtrArray *
ws_checks_load (const char *path, GError **error)
{
  g_autoptr (GPtrArray) checks = ws_checks_new ();
  if (!g_file_test (path, G_FILE_TEST_EXISTS))
    return g_steal_pointer (&checks);
  g_autofree char *text = wsi_file_read_text (path, KIND_OF_FILE, MAX_BYTES, error);
  g_autoptr (GPtrArray) rows = text != NULL ? wsi_csv_parse (path, text, error) : NULL;
  if (rows == NULL)
    return NULL;
  if (rows->len == 0 || !is_header (g_ptr_array_index (rows, 0)))
  {
    g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                 "%s: not a list of checks: its first line should name the columns from run to "
                 "pass; move it away to start anew",
                 path);
    return NULL;
  }
  for (guint i = 1; i < rows->len; i++)
  {
    WsCheck *check = read_check (path, g_ptr_array_index (rows, i), error);
    if (check == NULL)
      return NULL;
    g_ptr_array_add (checks, check);
  }
  return g_steal_pointer (&checks);
}

gboolean
ws_checks_load_state (const char *calibration_path, const char *calibration, WsCheckState *state,
                      GError **error)
{
  g_autofree char *path = ws_checks_path (calibration_path);
  g_autoptr (GPtrArray) checks = ws_checks_load (path, error);
  if (checks == NULL)
    return FALSE;
  *state = ws_checks_state (checks, calibration);
  return TRUE;
}

/* ---- Appending -------------------------------------------------------------------- */

static WsCheck *
copy_of (const WsCheck *check)
{
  WsCheck *copy = g_memdup2 (check, sizeof *check);
  copy->run = g_strdup (check->run);
  copy->calibration = g_strdup (check->calibration);
  copy->file = g_strdup (check->file);
  copy->sha256 = g_strdup (check->sha256);
  copy->quantity = g_strdup (check->quantity);
  return copy;
}

static GPtrArray *
append_locked (const char *path, const GPtrArray *checks, GError **error)
{
  g_autoptr (GPtrArray) all = ws_checks_load (path, error);
  if (all == NULL)
    return NULL;
  for (guint i = 0; i < checks->len; i++)
    g_ptr_array_add (all, copy_of (g_ptr_array_index (checks, i)));

  g_autoptr (GString) out = g_string_new (NULL);
  wsi_csv_append_row (out, header);
  for (guint i = 0; i < all->len; i++)
    append_check (out, g_ptr_array_index (all, i));
  return wsi_file_save (path, out->str, out->len, error) ? g_steal_pointer (&all) : NULL;
}

/* The lock is on the calibration's file: the list's own is replaced by another each time. */
GPtrArray *
ws_checks_append (const char *calibration_path, const GPtrArray *checks, GError **error)
{
  g_autofree char *path = ws_checks_path (calibration_path);
  const int fd = g_open (calibration_path, O_RDONLY | O_CLOEXEC, 0);
  int locked = -1;
  do
    locked = fd >= 0 ? flock (fd, LOCK_EX) : -1;
  while (fd >= 0 && locked != 0 && errno == EINTR);
  if (locked != 0)
    g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT, "%s: can't be locked: %s", calibration_path,
                 g_strerror (errno));
  GPtrArray *all = locked == 0 ? append_locked (path, checks, error) : NULL;
  if (fd >= 0)
    close (fd);
  return all;
}
