#include <whetsight/remeasure.h>

#include <string.h>

#include <whetsight/error.h>

#include "archive/columns.h"
#include "archive/note.h"
#include "archive/notes.h"
#include "archive/statements.h"
#include "base/sha256.h"

const WsNote *
ws_inspection_remeasured (const WsInspection *inspection, const char *settings, const char *text)
{
  for (guint i = 0; inspection->notes != NULL && i < inspection->notes->len; i++)
  {
    const WsNote *note = g_ptr_array_index (inspection->notes, i);
    if (note->kind == WS_NOTE_REMEASURED && g_strcmp0 (note->settings, settings) == 0 &&
        g_str_equal (note->text, text))
      return note;
  }
  return NULL;
}

guint
ws_shard_of (const char *id, guint n)
{
  char hex[WS_SHA256_HEX_SIZE];
  wsi_sha256_hex (id, strlen (id), hex);
  hex[8] = '\0';
  return (guint)(g_ascii_strtoull (hex, NULL, 16) % n);
}

static gboolean
refuse (const WsInspection *inspection, const char *what, GError **error)
{
  g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s: %s", inspection->id, what);
  return FALSE;
}

static gboolean
check (const WsInspection *inspection, const WsRemeasured *again, GError **error)
{
  if (inspection->wrong != NULL)
    return refuse (inspection, "not as it was written, so nothing is added to it", error);
  json_t *record = wsi_columns_parse (inspection->record, NULL);
  json_t *result = wsi_columns_parse (again->record, error);
  const char *what = result != NULL ? wsi_note_differing (record, result) : NULL;
  const gboolean is_record = result != NULL;
  json_decref (record);
  json_decref (result);
  return is_record && (what == NULL || refuse (inspection, what, error));
}

/* The note as others are, and behind it the result.  Free with g_free(). */
static char *
note_record (const WsInspection *inspection, const WsRemeasured *again)
{
  const WsNoteWords words = { WS_NOTE_REMEASURED, again->by, again->text, again->account };
  g_autofree char *note = wsi_notes_record (inspection, &words, NULL);
  if (note == NULL)
    return NULL;
  *strrchr (note, '}') = '\0';
  return g_strdup_printf ("%s, \"" WSI_NOTE_SETTINGS "\": \"%s\", \"" WSI_NOTE_RESULT "\": %s}",
                          note, again->settings, again->record);
}

/* A transaction keeps others off the chain that is written to; those who write to other benches'
 * may add to the same inspection. */
static gboolean
hold (WsArchive *archive, const char *id, GError **error)
{
  WsQuery *query = wsi_statement (archive, WS_SQL_HOLD_ID);
  wsi_bind_text (query, 1, id);
  const gboolean held = wsi_step (query) == WS_QUERY_ROW || wsi_statement_refuse (archive, error);
  wsi_reset (query);
  return held;
}

/* What isn't there now isn't until the transaction ends. */
static gboolean
add (WsArchive *archive, const char *id, const WsRemeasured *again, gboolean *added, GError **error)
{
  g_autoptr (WsInspection) inspection =
    hold (archive, id, error) ? ws_archive_find (archive, id, error) : NULL;
  if (inspection == NULL || !check (inspection, again, error))
    return FALSE;
  *added = ws_inspection_remeasured (inspection, again->settings, again->text) == NULL;
  if (!*added)
    return TRUE;
  g_autoptr (WsInspection) row = g_new0 (WsInspection, 1);
  row->record = note_record (inspection, again);
  if (row->record != NULL)
    return ws_archive_store (archive, row, NULL, error);
  g_set_error (error, WS_ERROR, WS_ERROR_INTERNAL, "%s: the note can't be written as JSON", id);
  return FALSE;
}

gboolean
ws_archive_add_remeasured (WsArchive *archive, const char *id, const WsRemeasured *again,
                           gboolean *added, GError **error)
{
  const WsNoteWords words = { WS_NOTE_REMEASURED, again->by, again->text, again->account };
  *added = FALSE;
  if (!wsi_notes_check_words (&words, error) || !ws_archive_begin (archive, error))
    return FALSE;
  if (add (archive, id, again, added, error) && ws_archive_commit (archive, error))
    return TRUE;
  *added = FALSE;
  ws_archive_roll_back (archive);
  return FALSE;
}
