#include "archive/row_check.h"
#include "archive/pictures.h"
#include "archive/series.h"

#include <math.h>
#include <string.h>

#include <whetsight/clear.h>

#include "archive/note.h"
#include "archive/statements.h"
#include "archive/store.h"

/* ---- What a row says twice --------------------------------------------------------- */

typedef struct
{
  GArray *recorded; /* of WsRow, by their names */
  char *wrong;      /* name of a quantity that isn't as recorded; to be freed */
  guint n;
} Twice;

/* 0 isn't -0; what is unknown is so in both. */
static gboolean
is_same_number (double a, double b)
{
  return isnan (a) || isnan (b) ? isnan (a) && isnan (b) : a == b && signbit (a) == signbit (b);
}

static gboolean
is_same (const WsRow *a, const WsRow *b)
{
  return is_same_number (a->value, b->value) && is_same_number (a->U, b->U) &&
         is_same_number (a->lower, b->lower) && is_same_number (a->upper, b->upper) &&
         g_strcmp0 (a->verdict, b->verdict) == 0;
}

static void
keep_quantity (const WsRow *row, gpointer data)
{
  g_array_append_val ((GArray *)data, *row);
}

static void
compare_quantity (const WsRow *row, gpointer data)
{
  Twice *twice = data;
  guint at = twice->n++;
  /* They come in that order but where a server has one of its own. */
  const gboolean is_next =
    at < twice->recorded->len &&
    wsi_columns_by_name (&g_array_index (twice->recorded, WsRow, at), row) == 0;
  if ((!is_next && !g_array_binary_search (twice->recorded, row, wsi_columns_by_name, &at)) ||
      !is_same (&g_array_index (twice->recorded, WsRow, at), row))
  {
    g_free (twice->wrong);
    twice->wrong = g_strdup (row->name);
  }
}

static const char *
differing_column (const WsInspection *row, const WsInspection *recorded)
{
  const struct
  {
    const char *name, *a, *b;
  } columns[] = {
    { "id", row->id, recorded->id },
    { "time", row->time, recorded->time },
    { "tool", row->tool, recorded->tool },
    { "kind", row->kind, recorded->kind },
    { "view", row->view, recorded->view },
    { "verdict", row->verdict, recorded->verdict },
    { "reason", row->reason, recorded->reason },
    { "image_name", row->image_name, recorded->image_name },
    { "image", row->image, recorded->image },
    { "about", row->about, recorded->about },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (columns); i++)
    if (g_strcmp0 (columns[i].a, columns[i].b) != 0)
      return columns[i].name;
  return NULL;
}

/* A table holds any number where one of two belongs. */
static gboolean
is_flag (gboolean value)
{
  return value == TRUE || value == FALSE;
}

/* `recorded` has what its record says in its columns, `quantities` in the order of their names. */
static gboolean
compare_with (WsArchive *archive, const WsInspection *row, const WsInspection *recorded,
              GArray *quantities, char **what, GError **error)
{
  Twice twice = { quantities, NULL, 0 };
  const char *column = differing_column (row, recorded);
  const gboolean read =
    wsi_store_each_quantity (archive, row->number, compare_quantity, &twice, error);
  g_autofree char *wrong = twice.wrong;
  if (!read)
    return FALSE;
  if (column != NULL)
    *what = g_strdup_printf ("edited: %s is not what the record says", column);
  else if (!is_flag (row->reground) || !is_flag (row->has_pictures))
    *what = g_strdup_printf ("edited: %s is neither yes nor no",
                             is_flag (row->reground) ? "pictures" : "reground");
  else if (wrong != NULL)
    *what = g_strdup_printf ("edited: quantity %s is not what the record says", wrong);
  else if (twice.n != quantities->len)
    *what = g_strdup ("edited: a quantity was removed from the table");
  return *what != NULL || row->about == NULL || wsi_note_compare (archive, row, what, error);
}

gboolean
wsi_row_compare (WsArchive *archive, const WsInspection *row, json_t *record, char **what,
                 GError **error)
{
  g_autoptr (GArray) quantities = g_array_new (FALSE, FALSE, sizeof (WsRow));
  WsInspection recorded = { .record = row->record };
  gboolean done = TRUE;
  if (record != NULL &&
      wsi_columns_fill_parsed (&recorded, record, keep_quantity, quantities, NULL))
  {
    g_array_sort (quantities, wsi_columns_by_name);
    done = compare_with (archive, row, &recorded, quantities, what, error);
  }
  else
    *what = g_strdup ("holds no record");
  wsi_columns_clear (&recorded);
  return done;
}

/* ---- Its place in the chain ---------------------------------------------------------- */

/* The row names the one before it, and the one after it, or the head, names the row. */
static gboolean
links_hold (const WsInspection *row, const WsBeside *beside)
{
  const gboolean has_after = beside->after != NULL;
  return (beside->before != NULL) == (row->place > 1) &&
         g_str_equal (row->previous, beside->before != NULL ? beside->before : "") &&
         g_str_equal (has_after ? beside->after : beside->head_hash, row->hash) &&
         (has_after ? beside->head_count > row->place : beside->head_count == row->place);
}

static gboolean
follows (WsArchive *archive, const WsInspection *row, gboolean *good, GError **error)
{
  const WsBeside *there = archive->beside;
  char before[WS_SHA256_HEX_SIZE] = "", after[WS_SHA256_HEX_SIZE] = "";
  gboolean has_before, has_after;
  WsHead head;
  if (there != NULL && there->number == row->number)
  {
    *good = links_hold (row, there);
    return TRUE;
  }
  if (!wsi_store_hash (archive, row->bench, row->place - 1, before, &has_before, error) ||
      !wsi_store_previous (archive, row->bench, row->place + 1, after, &has_after, error) ||
      !wsi_store_head (archive, row->bench, &head, error))
    return FALSE;
  const WsBeside read = { .before = has_before ? before : NULL,
                          .after = has_after ? after : NULL,
                          .head_count = head.count,
                          .head_hash = head.hash };
  *good = links_hold (row, &read);
  return TRUE;
}

gboolean
wsi_row_check (WsArchive *archive, const WsInspection *row, json_t *record, char **what,
               GError **error)
{
  char hash[WS_SHA256_HEX_SIZE] = "";
  gboolean good = TRUE;
  *what = NULL;
  if (row->record == NULL)
    *what = g_strdup ("its record was removed");
  else
    wsi_columns_hash (row, hash);
  if (*what == NULL && !g_str_equal (hash, row->hash))
    *what = g_strdup ("edited: its hash is of another content");
  if (*what == NULL && row->annotated != NULL && !wsi_sha256_is_hex (row->annotated))
    *what = g_strdup ("the annotated picture's sha256 is none");
  if (*what == NULL && !wsi_row_compare (archive, row, record, what, error))
    return FALSE;
  if (*what == NULL && !follows (archive, row, &good, error))
    return FALSE;
  if (!good)
    *what = g_strdup ("its place in the chain is not the one it was written for");
  return TRUE;
}

/* ---- As it was just written ------------------------------------------------------------ */

/* All that its hash covers, byte by byte. */
static gboolean
has_content (const WsInspection *row, const WsInspection *written)
{
  const struct
  {
    const char *a, *b;
  } texts[] = {
    { row->record, written->record },     { row->previous, written->previous },
    { row->settings, written->settings }, { row->station, written->station },
    { row->grinder, written->grinder },   { row->annotated, written->annotated },
    { row->imported, written->imported }, { row->clock, written->clock },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
    if (g_strcmp0 (texts[i].a, texts[i].b) != 0)
      return FALSE;
  return row->place == written->place && row->reground == written->reground &&
         row->has_pictures == written->has_pictures;
}

/* Its hash and what its record says were told of the same bytes a moment ago. */
gboolean
wsi_row_check_written (WsArchive *archive, const WsInspection *row, const WsInspection *written,
                       GArray *quantities, char **what, GError **error)
{
  gboolean good = TRUE;
  *what = NULL;
  if (!has_content (row, written) || !g_str_equal (row->hash, written->hash))
    *what = g_strdup ("another row");
  else if (row->annotated != NULL && !wsi_sha256_is_hex (row->annotated))
    *what = g_strdup ("the annotated picture's sha256 is none");
  else if (!compare_with (archive, row, written, quantities, what, error))
    return FALSE;
  if (*what == NULL && !follows (archive, row, &good, error))
    return FALSE;
  if (!good)
    *what = g_strdup ("its place in the chain is not the one it was written for");
  return TRUE;
}

/* ---- Pictures ------------------------------------------------------------------------ */

gboolean
ws_archive_has_picture (const WsArchive *archive, const WsInspection *inspection,
                        const char *sha256)
{
  if (!inspection->has_pictures || sha256 == NULL || !wsi_sha256_is_hex (sha256))
    return FALSE;
  guint64 size;
  return !wsi_notes_removed (inspection, sha256) || wsi_pictures_size (archive, sha256, &size);
}

static char *
check_picture (const WsArchive *archive, const WsInspection *inspection, const char *sha256,
               const char *what)
{
  char found[WS_SHA256_HEX_SIZE];
  guint64 n_bytes = 0;
  g_autoptr (GError) error = NULL;
  if (sha256 == NULL)
    return NULL;
  if (!wsi_sha256_is_hex (sha256))
    return g_strdup_printf ("the %s's sha256 is none", what);
  if (!ws_archive_has_picture (archive, inspection, sha256))
    return NULL; /* a rule removed it, and a note says so */
  const WsBucketAnswer answer = wsi_pictures_hash (archive, sha256, &n_bytes, found, &error);
  if (answer == WS_BUCKET_TROUBLE)
    return g_strdup_printf ("its %s can't be read: %s", what, error->message);
  if (answer == WS_BUCKET_MISSING)
    return g_strdup_printf ("its %s is missing", what);
  return g_str_equal (found, sha256) ? NULL : g_strdup_printf ("its %s was altered", what);
}

char *
ws_archive_check_pictures (const WsArchive *archive, const WsInspection *inspection)
{
  if (!inspection->has_pictures)
    return NULL;
  g_auto (GStrv) others = wsi_series_others (inspection);
  char *wrong = check_picture (archive, inspection, inspection->image, "picture");
  for (gsize i = 0; wrong == NULL && others[i] != NULL; i++)
    wrong = check_picture (archive, inspection, others[i], "series' picture");
  return wrong != NULL
           ? wrong
           : check_picture (archive, inspection, inspection->annotated, "annotated picture");
}

gboolean
ws_inspection_was_cleared (const WsInspection *inspection, const char *sha256)
{
  return wsi_notes_removed (inspection, sha256);
}
