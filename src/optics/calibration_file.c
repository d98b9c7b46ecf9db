/*
 * NAME.calib: a GLib key file that ends in a checksum over everything before it.
 * docs/calibration.md describes it key by key.
 */
#include <math.h>
#include <string.h>

#include <whetsight/error.h>

#include "base/file.h"
#include "base/key_file.h"
#include "base/number.h"
#include "base/sha256.h"
#include "image/taken.h"
#include "optics/calibration.h"
#include "optics/lens.h"

#define KIND_OF_FILE "calibration"
#define FORMAT "whetsight-calibration/1"
#define HEAD                                                                                       \
  "# A camera's calibration, made by whetsight.  Not to be edited: the checksum at the end would " \
  "no longer fit.\n"

#define CHECKSUM_HEAD "\n[checksum]\n"
#define CHECKSUM_KEY "sha256="

/* Bounds on what is believed.  Own choice, far beyond any real calibration: they keep garbage
 * from being taken for numbers, and memory from being asked for on its account. */
#define MAX_BYTES (4U << 20)
#define MAX_CHARS_SHOWN 60
#define MAX_CHARS 1000
#define MAX_SIZE_MM 10000.0
#define MAX_MM_PER_PX 100.0
#define MAX_SHIFT_PX 20.0
#define MAX_RMS_PX 1000.0

/* r (1 + K1 r^2) grows up to the picture's corner, r = 1, while 1 + 3 K1 > 0; as much is allowed
 * the other way. */
#define MAX_TELECENTRIC_K1 (1.0 / 3.0)

/* Rounding that a correlation of 1 may show. */
#define CORRELATION_SLACK 1e-9

#define MANY_ARTEFACTS "artefact"
#define MANY_SOURCES "source"

/* ---- Writing ---------------------------------------------------------------------- */

static void
set_text (GKeyFile *file, const char *group, const char *key, const char *text)
{
  if (text != NULL)
    g_key_file_set_string (file, group, key, text);
}

static void
set_number (GKeyFile *file, const char *group, const char *key, double value)
{
  g_autofree char *text = wsi_number_exact (value);
  g_key_file_set_value (file, group, key, text);
}

static void
set_count (GKeyFile *file, const char *group, const char *key, guint value)
{
  g_autofree char *text = g_strdup_printf ("%u", value);
  g_key_file_set_value (file, group, key, text);
}

static char *
time_text (GDateTime *time)
{
  g_autoptr (GDateTime) utc = time != NULL ? g_date_time_to_utc (time) : NULL;
  return utc != NULL ? g_date_time_format (utc, "%Y-%m-%dT%H:%M:%SZ") : g_strdup ("never");
}

static void
put_head (GKeyFile *file, const WsCalibration *calibration)
{
  const char *group = "calibration";
  g_autofree char *made = time_text (calibration->made);
  g_autofree char *expires = time_text (calibration->expires);
  set_text (file, group, "format", FORMAT);
  set_text (file, group, "id", calibration->id);
  set_text (file, group, "camera", calibration->camera);
  set_text (file, group, "model", ws_lens_model_name (calibration->lens.model));
  set_text (file, group, "method", calibration->method);
  set_count (file, group, "width", calibration->lens.width);
  set_count (file, group, "height", calibration->lens.height);
  set_text (file, group, "made", made);
  set_text (file, group, "expires", expires);
  set_text (file, group, "program", calibration->program);
}

/* A row holds the covariances with the parameters up to its own; the rest is symmetric. */
static char *
covariance_row (const WsLens *lens, guint row)
{
  const guint n = wsi_lens_n_parameters (lens->model);
  GString *text = g_string_new (NULL);
  for (guint column = 0; column <= row; column++)
  {
    const double mean =
      0.5 * (lens->covariance[row * n + column] + lens->covariance[column * n + row]);
    g_autofree char *number = wsi_number_exact (mean);
    g_string_append_printf (text, "%s%s", column > 0 ? " " : "", number);
  }
  return g_string_free (text, FALSE);
}

static void
put_lens (GKeyFile *file, const WsLens *lens)
{
  const guint n = wsi_lens_n_parameters (lens->model);
  for (guint i = 0; i < n; i++)
  {
    const char *name = wsi_lens_parameter_name (lens->model, i);
    g_autofree char *row = covariance_row (lens, i);
    set_number (file, "parameters", name, lens->parameters[i]);
    set_text (file, "covariance", name, row);
  }
  set_number (file, "residual", "rms_px", lens->residual_px);
}

static char *
group_name (const char *stem, guint i)
{
  return g_strdup_printf ("%s %u", stem, i + 1);
}

static void
put_artefact (GKeyFile *file, guint i, const WsArtefact *artefact)
{
  g_autofree char *group = group_name (MANY_ARTEFACTS, i);
  set_text (file, group, "what", artefact->what);
  set_text (file, group, "certificate", artefact->certificate);
  set_number (file, group, "size_mm", artefact->size_mm);
  set_number (file, group, "u_mm", artefact->u_mm);
}

static void
put_source (GKeyFile *file, guint i, const WsCalibrationSource *source)
{
  g_autofree char *group = group_name (MANY_SOURCES, i);
  set_text (file, group, "name", source->name);
  set_text (file, group, "sha256", source->sha256);
  set_text (file, group, "rejected", source->rejected);
  if (!isnan (source->rms_px))
    set_number (file, group, "rms_px", source->rms_px);
}

static void
put_remark (GKeyFile *file, guint i, const char *remark)
{
  g_autofree char *key = g_strdup_printf ("%u", i + 1);
  set_text (file, "remarks", key, remark);
}

#define GROUP_TAKEN "taken"

static void
put_taken (GKeyFile *file, const WsTaken *taken)
{
  for (WsTakenName name = 0; taken != NULL && name < WS_TAKEN_CALIBRATION; name++)
    set_text (file, GROUP_TAKEN, wsi_taken_keyword (name), taken->of[name]);
}

/* The whole file. */
static char *
text_of (const WsCalibration *calibration)
{
  g_autoptr (GKeyFile) file = g_key_file_new ();
  put_head (file, calibration);
  put_lens (file, &calibration->lens);
  put_taken (file, calibration->taken);
  for (guint i = 0; i < calibration->artefacts->len; i++)
    put_artefact (file, i, g_ptr_array_index (calibration->artefacts, i));
  for (guint i = 0; i < calibration->sources->len; i++)
    put_source (file, i, g_ptr_array_index (calibration->sources, i));
  for (guint i = 0; i < calibration->remarks->len; i++)
    put_remark (file, i, g_ptr_array_index (calibration->remarks, i));

  g_autofree char *body = g_key_file_to_data (file, NULL, NULL);
  g_autofree char *sealed = g_strconcat (HEAD, body, "\n", NULL);
  char hex[WS_SHA256_HEX_SIZE];
  wsi_sha256_hex (sealed, strlen (sealed), hex);
  return g_strconcat (sealed, &CHECKSUM_HEAD[1], CHECKSUM_KEY, hex, "\n", NULL);
}

/* ---- Reading ---------------------------------------------------------------------- */

typedef struct
{
  const char *name; /* of the file, for messages */
  GKeyFile *file;
  WsCalibration *calibration;
} Reader;

/* "NAME: [group] key: expected …, found …; calibrate again" */
static gboolean
refuse (const Reader *reader, const char *group, const char *key, const char *expected,
        GError **error)
{
  g_autofree char *found = g_key_file_get_value (reader->file, group, key, NULL);
  if (found == NULL)
    g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                 "%s: [%s] %s is missing; expected %s; calibrate again", reader->name, group, key,
                 expected);
  else
  {
    g_autofree char *start = g_strndup (found, MAX_CHARS_SHOWN);
    g_autofree char *shown = g_utf8_make_valid (start, -1);
    g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                 "%s: [%s] %s: expected %s, found \"%s\"; calibrate again", reader->name, group,
                 key, expected, shown);
  }
  return FALSE;
}

static gboolean
is_printable (const char *text)
{
  for (; *text != '\0'; text = g_utf8_next_char (text))
    if (!g_unichar_isprint (g_utf8_get_char (text)))
      return FALSE;
  return TRUE;
}

/* NULL with an error unless the key is there and holds one line of text. */
static char *
get_text (const Reader *reader, const char *group, const char *key, GError **error)
{
  g_autofree char *text = g_key_file_get_string (reader->file, group, key, NULL);
  if (text != NULL && is_printable (text) && g_utf8_strlen (text, -1) <= MAX_CHARS)
    return g_steal_pointer (&text);
  refuse (reader, group, key, "a line of text", error);
  return NULL;
}

/* The same, for a key that may be left out: `text` is NULL then. */
static gboolean
get_optional_text (const Reader *reader, const char *group, const char *key, char **text,
                   GError **error)
{
  *text = NULL;
  if (!g_key_file_has_key (reader->file, group, key, NULL))
    return TRUE;
  *text = get_text (reader, group, key, error);
  return *text != NULL;
}

static gboolean
get_number (const Reader *reader, const char *group, const char *key, double lower, double upper,
            double *value, GError **error)
{
  g_autofree char *text = g_key_file_get_value (reader->file, group, key, NULL);
  if (wsi_number_parse (text, value) && *value >= lower && *value <= upper)
    return TRUE;
  g_autofree char *expected = g_strdup_printf ("a number from %g to %g", lower, upper);
  return refuse (reader, group, key, expected, error);
}

static gboolean
get_count (const Reader *reader, const char *group, const char *key, guint *value, GError **error)
{
  guint64 number;
  g_autofree char *text = g_key_file_get_value (reader->file, group, key, NULL);
  if (text == NULL || !g_ascii_string_to_unsigned (text, 10, 1, G_MAXINT / 4, &number, NULL))
    return refuse (reader, group, key, "a whole number above 0", error);
  *value = (guint)number;
  return TRUE;
}

/* Only as it is written: "2026-11-25T15:52:25Z". */
static gboolean
get_time (const Reader *reader, const char *key, GDateTime **time, GError **error)
{
  g_autofree char *text = g_key_file_get_value (reader->file, "calibration", key, NULL);
  g_autoptr (GDateTime) parsed = text != NULL ? g_date_time_new_from_iso8601 (text, NULL) : NULL;
  g_autofree char *again = parsed != NULL ? time_text (parsed) : NULL;
  if (g_strcmp0 (text, again) != 0 || parsed == NULL)
    return refuse (reader, "calibration", key, "a time such as 2026-11-25T15:52:25Z", error);
  g_clear_pointer (time, g_date_time_unref);
  *time = g_steal_pointer (&parsed);
  return TRUE;
}

static gboolean
get_expiry (const Reader *reader, GError **error)
{
  g_autofree char *text = g_key_file_get_value (reader->file, "calibration", "expires", NULL);
  return g_strcmp0 (text, "never") == 0 ||
         get_time (reader, "expires", &reader->calibration->expires, error);
}

static gboolean
check_format (const Reader *reader, GError **error)
{
  g_autofree char *format = g_key_file_get_value (reader->file, "calibration", "format", NULL);
  if (g_strcmp0 (format, FORMAT) == 0)
    return TRUE;
  return refuse (reader, "calibration", "format", FORMAT " (another version's file?)", error);
}

static gboolean
get_model (const Reader *reader, GError **error)
{
  g_autofree char *model = g_key_file_get_value (reader->file, "calibration", "model", NULL);
  for (guint i = 0; i < WS_N_LENSES; i++)
    if (g_strcmp0 (model, ws_lens_model_name ((WsLensModel)i)) == 0)
    {
      reader->calibration->lens.model = (WsLensModel)i;
      return TRUE;
    }
  return refuse (reader, "calibration", "model", "telecentric or pinhole", error);
}

/* Takes a text of the head's in place of the one there. */
static gboolean
replace_text (const Reader *reader, const char *key, char **text, GError **error)
{
  g_free (*text);
  *text = get_text (reader, "calibration", key, error);
  return *text != NULL;
}

static gboolean
read_head (const Reader *reader, GError **error)
{
  WsCalibration *calibration = reader->calibration;
  if (!check_format (reader, error) || !replace_text (reader, "id", &calibration->id, error) ||
      !replace_text (reader, "camera", &calibration->camera, error) ||
      !replace_text (reader, "method", &calibration->method, error) ||
      !replace_text (reader, "program", &calibration->program, error))
    return FALSE;
  if (*calibration->id == '\0')
    return refuse (reader, "calibration", "id", "a name", error);
  return get_model (reader, error) &&
         get_count (reader, "calibration", "width", &calibration->lens.width, error) &&
         get_count (reader, "calibration", "height", &calibration->lens.height, error) &&
         get_time (reader, "made", &calibration->made, error) && get_expiry (reader, error);
}

static gboolean
read_row (const Reader *reader, guint row, GError **error)
{
  WsLens *lens = &reader->calibration->lens;
  const guint n = wsi_lens_n_parameters (lens->model);
  const char *key = wsi_lens_parameter_name (lens->model, row);
  g_autofree char *text = g_key_file_get_value (reader->file, "covariance", key, NULL);
  g_auto (GStrv) numbers = g_strsplit (text != NULL ? text : "", " ", (int)n + 1);
  g_autofree char *expected = g_strdup_printf ("%u numbers", row + 1);
  if (g_strv_length (numbers) != row + 1)
    return refuse (reader, "covariance", key, expected, error);
  for (guint column = 0; column <= row; column++)
  {
    double *value = &lens->covariance[row * n + column];
    if (!wsi_number_parse (numbers[column], value))
      return refuse (reader, "covariance", key, expected, error);
    lens->covariance[column * n + row] = *value;
  }
  return TRUE;
}

/* Variances aren't negative and no correlation exceeds 1. */
static gboolean
check_row (const Reader *reader, guint row, GError **error)
{
  const WsLens *lens = &reader->calibration->lens;
  const guint n = wsi_lens_n_parameters (lens->model);
  const char *key = wsi_lens_parameter_name (lens->model, row);
  const double variance = lens->covariance[row * n + row];
  if (variance < 0)
    return refuse (reader, "covariance", key, "a variance of 0 or more at the end", error);
  for (guint column = 0; column < row; column++)
  {
    const double greatest = sqrt (variance) * sqrt (lens->covariance[column * n + column]);
    if (fabs (lens->covariance[row * n + column]) > (1 + CORRELATION_SLACK) * greatest)
      return refuse (reader, "covariance", key, "correlations between -1 and 1", error);
  }
  return TRUE;
}

static gboolean
check_telecentric (const Reader *reader, GError **error)
{
  const double *p = reader->calibration->lens.parameters;
  if (!(p[WS_LENS_T_SCALE] > 0 && p[WS_LENS_T_SCALE] <= MAX_MM_PER_PX))
    return refuse (reader, "parameters", "mm_per_px", "a scale above 0", error);
  if (!(fabs (p[WS_LENS_T_K1]) < MAX_TELECENTRIC_K1))
    return refuse (reader, "parameters", "k1", "a number between -1/3 and 1/3", error);
  return TRUE;
}

static gboolean
check_pinhole (const Reader *reader, GError **error)
{
  const double *p = reader->calibration->lens.parameters;
  for (guint i = WS_LENS_P_FX; i <= WS_LENS_P_FY; i++)
    if (!(p[i] > 0))
      return refuse (reader, "parameters", wsi_lens_parameter_name (WS_LENS_PINHOLE, i),
                     "a focal length above 0", error);
  if (!(p[WS_LENS_P_TZ] > 0))
    return refuse (reader, "parameters", "tz_mm", "a distance above 0", error);
  const double scale = ws_lens_mm_per_px (&reader->calibration->lens);
  if (scale > 0 && scale <= MAX_MM_PER_PX)
    return TRUE;
  g_set_error (error, WS_ERROR, WS_ERROR_DATA,
               "%s: [parameters]: together they give no scale in the picture's middle; calibrate "
               "again",
               reader->name);
  return FALSE;
}

static gboolean
read_lens (const Reader *reader, GError **error)
{
  WsLens *lens = &reader->calibration->lens;
  const guint n = wsi_lens_n_parameters (lens->model);
  for (guint i = 0; i < n; i++)
  {
    const char *key = wsi_lens_parameter_name (lens->model, i);
    const double bound = i == WS_LENS_EDGE_SHIFT ? MAX_SHIFT_PX : G_MAXDOUBLE;
    if (!get_number (reader, "parameters", key, -bound, bound, &lens->parameters[i], error) ||
        !read_row (reader, i, error) || !check_row (reader, i, error))
      return FALSE;
  }
  if (!get_number (reader, "residual", "rms_px", 0, MAX_RMS_PX, &lens->residual_px, error))
    return FALSE;
  return lens->model == WS_LENS_PINHOLE ? check_pinhole (reader, error)
                                        : check_telecentric (reader, error);
}

static gboolean
read_taken (const Reader *reader, GError **error)
{
  if (!g_key_file_has_group (reader->file, GROUP_TAKEN))
    return TRUE;
  WsTaken *taken = reader->calibration->taken = g_new0 (WsTaken, 1);
  for (WsTakenName name = 0; name < WS_TAKEN_CALIBRATION; name++)
  {
    taken->of[name] = get_text (reader, GROUP_TAKEN, wsi_taken_keyword (name), error);
    if (taken->of[name] == NULL)
      return FALSE;
  }
  return TRUE;
}

static gboolean
read_artefact (const Reader *reader, const char *group, GError **error)
{
  g_autofree char *certificate = NULL;
  double size_mm, u_mm;
  g_autofree char *what = get_text (reader, group, "what", error);
  if (what == NULL || !get_optional_text (reader, group, "certificate", &certificate, error) ||
      !get_number (reader, group, "size_mm", 0, MAX_SIZE_MM, &size_mm, error) ||
      !get_number (reader, group, "u_mm", 0, MAX_SIZE_MM, &u_mm, error))
    return FALSE;
  wsi_calibration_add_artefact (reader->calibration, what, certificate, size_mm, u_mm);
  return TRUE;
}

static gboolean
read_source (const Reader *reader, const char *group, GError **error)
{
  g_autofree char *rejected = NULL;
  double rms_px = NAN;
  g_autofree char *name = get_text (reader, group, "name", error);
  g_autofree char *sha256 = name != NULL ? get_text (reader, group, "sha256", error) : NULL;
  if (sha256 == NULL)
    return FALSE;
  if (!wsi_sha256_is_hex (sha256))
    return refuse (reader, group, "sha256", "64 hex digits", error);
  if (!get_optional_text (reader, group, "rejected", &rejected, error))
    return FALSE;
  if (g_key_file_has_key (reader->file, group, "rms_px", NULL) &&
      !get_number (reader, group, "rms_px", 0, MAX_RMS_PX, &rms_px, error))
    return FALSE;
  wsi_calibration_add_source (reader->calibration, name, sha256, rejected, rms_px);
  return TRUE;
}

/* "STEM 1", "STEM 2" and so on, until one is missing. */
static gboolean
read_numbered (const Reader *reader, const char *stem,
               gboolean (*read) (const Reader *, const char *, GError **), GError **error)
{
  for (guint i = 0;; i++)
  {
    g_autofree char *group = group_name (stem, i);
    if (!g_key_file_has_group (reader->file, group))
      return TRUE;
    if (!read (reader, group, error))
      return FALSE;
  }
}

static gboolean
read_remarks (const Reader *reader, GError **error)
{
  for (guint i = 0;; i++)
  {
    g_autofree char *key = g_strdup_printf ("%u", i + 1);
    if (!g_key_file_has_key (reader->file, "remarks", key, NULL))
      return TRUE;
    char *text = get_text (reader, "remarks", key, error);
    if (text == NULL)
      return FALSE;
    wsi_calibration_add_remark (reader->calibration, text);
  }
}

/* Where the checksum's group starts, or NULL when the text doesn't end in one. */
static char *
find_checksum (char *text)
{
  char *start = g_strrstr (text, CHECKSUM_HEAD);
  const gsize n_before = strlen (CHECKSUM_HEAD CHECKSUM_KEY);
  if (start == NULL || strlen (start) != n_before + WS_SHA256_HEX_SIZE ||
      !g_str_has_suffix (start, "\n") || !g_str_has_prefix (start, CHECKSUM_HEAD CHECKSUM_KEY))
    return NULL;
  return start + 1;
}

/* Cuts the checksum off when it fits. */
static gboolean
unseal (const char *name, char *text, GError **error)
{
  char hex[WS_SHA256_HEX_SIZE];
  char *checksum = find_checksum (text);
  if (checksum == NULL)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                 "%s: no checksum at the end: not a calibration, or cut short; restore it from a "
                 "copy or calibrate again",
                 name);
    return FALSE;
  }
  wsi_sha256_hex (text, (gsize)(checksum - text), hex);
  if (strncmp (checksum + strlen (CHECKSUM_HEAD CHECKSUM_KEY) - 1, hex, sizeof hex - 1) != 0)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                 "%s: changed since it was made (the checksum doesn't fit); restore it from a copy "
                 "or calibrate again",
                 name);
    return FALSE;
  }
  *checksum = '\0';
  if (g_utf8_validate (text, -1, NULL))
    return TRUE;
  g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s: not UTF-8 text; calibrate again", name);
  return FALSE;
}

static WsCalibration *
calibration_of (const char *name, char *text, GError **error)
{
  char sha256[WS_SHA256_HEX_SIZE];
  wsi_sha256_hex (text, strlen (text), sha256);
  if (!unseal (name, text, error))
    return NULL;
  g_autoptr (GKeyFile) file = wsi_key_file_parse (name, KIND_OF_FILE, text, error);
  if (file == NULL)
    return NULL;
  g_autoptr (WsCalibration) calibration = wsi_calibration_new ("", "");
  const Reader reader = { .name = name, .file = file, .calibration = calibration };
  if (!read_head (&reader, error) || !read_lens (&reader, error) || !read_taken (&reader, error) ||
      !read_numbered (&reader, MANY_ARTEFACTS, read_artefact, error) ||
      !read_numbered (&reader, MANY_SOURCES, read_source, error) || !read_remarks (&reader, error))
    return NULL;
  calibration->sha256 = g_strdup (sha256);
  return g_steal_pointer (&calibration);
}

WsCalibration *
ws_calibration_load (const char *path, GError **error)
{
  g_autofree char *text = wsi_file_read_text (path, KIND_OF_FILE, MAX_BYTES, error);
  return text != NULL ? calibration_of (path, text, error) : NULL;
}

gboolean
ws_calibration_save (WsCalibration *calibration, const char *path, GError **error)
{
  g_autoptr (GError) cause = NULL;
  g_autofree char *text = text_of (calibration);
  g_autofree char *copy = g_strdup (text);
  g_autoptr (WsCalibration) again = calibration_of (path, copy, &cause);
  if (again == NULL)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_INTERNAL, "not saved, since it can't be: %s",
                 cause->message);
    return FALSE;
  }
  if (!wsi_file_save (path, text, strlen (text), error))
    return FALSE;
  g_free (calibration->sha256);
  calibration->sha256 = g_strdup (again->sha256);
  return TRUE;
}
