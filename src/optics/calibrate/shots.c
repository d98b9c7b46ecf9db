#include <math.h>
#include <string.h>

#include <whetsight/calibrate.h>
#include <whetsight/error.h>

#include "base/csv.h"
#include "base/file.h"
#include "base/number.h"

#define KIND_OF_FILE "list of pictures"
#define MAX_BYTES (1U << 20) /* own choice: some 10000 pictures */
#define MAX_MM 1000.0        /* own choice: beyond any artefact for a camera at a bench */

static const char *const known_columns[] = { "file",     "diameter_mm", "outer_mm",
                                             "inner_mm", "u_mm",        "certificate" };

typedef struct
{
  const char *name; /* of the list, for messages */
  const char *folder;
  const WsCsvRow *header;
} Reader;

WsShot *
ws_shot_new (char *path, WsShotKind kind)
{
  WsShot *shot = g_new0 (WsShot, 1);
  shot->path = path;
  shot->kind = kind;
  shot->size_mm = NAN;
  shot->hole_mm = NAN;
  return shot;
}

void
ws_shot_free (WsShot *shot)
{
  if (shot == NULL)
    return;
  g_free (shot->path);
  g_free (shot);
}

static void
shot_destroy (gpointer data)
{
  ws_shot_free (data);
}

GPtrArray *
ws_shots_new (void)
{
  return g_ptr_array_new_with_free_func (shot_destroy);
}

static gboolean
refuse (const Reader *reader, guint line, const char *what, GError **error)
{
  g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s: line %u: %s", reader->name, line, what);
  return FALSE;
}

static gboolean
check_columns (const Reader *reader, GError **error)
{
  const WsCsvRow *header = reader->header;
  for (guint i = 0; i < header->n; i++)
  {
    gboolean known = FALSE;
    for (gsize k = 0; k < G_N_ELEMENTS (known_columns); k++)
      known = known || g_str_equal (header->fields[i], known_columns[k]);
    g_autofree char *shown = g_utf8_make_valid (header->fields[i], -1);
    g_strdelimit (shown, "\r\n", ' ');
    g_autofree char *what = g_strdup_printf (
      "no column \"%s\"; expected file, diameter_mm, u_mm or file, outer_mm, inner_mm, u_mm",
      shown);
    if (!known)
      return refuse (reader, header->line, what, error);
  }
  const gboolean pins = wsi_csv_column (header, "diameter_mm") >= 0;
  const gboolean discs =
    wsi_csv_column (header, "outer_mm") >= 0 || wsi_csv_column (header, "inner_mm") >= 0;
  if (wsi_csv_column (header, "file") < 0 || pins == discs)
    return refuse (reader, header->line,
                   "expected the columns file, diameter_mm, u_mm or file, outer_mm, inner_mm, u_mm",
                   error);
  return TRUE;
}

/* `value` stays as it is where the column is missing or, if `may_lack`, the field empty. */
static gboolean
read_field (const Reader *reader, const WsCsvRow *row, const char *column, gboolean may_lack,
            double *value, GError **error)
{
  double number;
  const int i = wsi_csv_column (reader->header, column);
  if (i < 0 || (may_lack && *row->fields[i] == '\0'))
    return TRUE;
  const gboolean is_size = !g_str_equal (column, "u_mm");
  if (wsi_number_parse (row->fields[i], &number) && number <= MAX_MM &&
      (is_size ? number > 0 : number >= 0))
  {
    *value = number;
    return TRUE;
  }
  g_autofree char *found = g_utf8_make_valid (row->fields[i], -1);
  g_strdelimit (found, "\r\n", ' ');
  g_autofree char *what =
    g_strdup_printf ("%s: expected millimetres%s with a decimal point, found \"%s\"", column,
                     is_size ? " above 0" : "", found);
  return refuse (reader, row->line, what, error);
}

static WsShot *
read_shot (const Reader *reader, const WsCsvRow *row, GError **error)
{
  const char *file = row->fields[wsi_csv_column (reader->header, "file")];
  const gboolean is_pin = wsi_csv_column (reader->header, "diameter_mm") >= 0;
  char *path =
    g_path_is_absolute (file) ? g_strdup (file) : g_build_filename (reader->folder, file, NULL);
  g_autoptr (WsShot) shot = ws_shot_new (path, is_pin ? WS_SHOT_PIN : WS_SHOT_DISC);
  const char *trouble = NULL;
  if (!read_field (reader, row, "diameter_mm", FALSE, &shot->size_mm, error) ||
      !read_field (reader, row, "outer_mm", TRUE, &shot->size_mm, error) ||
      !read_field (reader, row, "inner_mm", TRUE, &shot->hole_mm, error) ||
      !read_field (reader, row, "u_mm", TRUE, &shot->u_mm, error))
    return NULL;
  if (*file == '\0')
    trouble = "file: expected a picture's name";
  else if (isnan (shot->size_mm) && isnan (shot->hole_mm))
    trouble = "expected outer_mm or inner_mm or both";
  else if (shot->hole_mm >= shot->size_mm)
    trouble = "inner_mm: expected less than outer_mm";
  if (trouble == NULL)
    return g_steal_pointer (&shot);
  refuse (reader, row->line, trouble, error);
  return NULL;
}

static GPtrArray *
read_rows (const Reader *reader, const GPtrArray *rows, GError **error)
{
  g_autoptr (GPtrArray) shots = ws_shots_new ();
  for (guint i = 1; i < rows->len; i++)
  {
    const WsCsvRow *row = g_ptr_array_index (rows, i);
    if (row->n != reader->header->n)
    {
      refuse (reader, row->line, "not as many fields as the first line has", error);
      return NULL;
    }
    WsShot *shot = read_shot (reader, row, error);
    if (shot == NULL)
      return NULL;
    g_ptr_array_add (shots, shot);
  }
  return g_steal_pointer (&shots);
}

GPtrArray *
ws_shots_load (const char *path, GError **error)
{
  g_autofree char *text = wsi_file_read_text (path, KIND_OF_FILE, MAX_BYTES, error);
  g_autoptr (GPtrArray) rows = text != NULL ? wsi_csv_parse (path, text, error) : NULL;
  if (rows == NULL)
    return NULL;
  if (rows->len < 2)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                 "%s: lists no pictures; expected a line of column names and a line a picture",
                 path);
    return NULL;
  }
  g_autofree char *folder = g_path_get_dirname (path);
  const Reader reader = { .name = path, .folder = folder, .header = rows->pdata[0] };
  return check_columns (&reader, error) ? read_rows (&reader, rows, error) : NULL;
}
