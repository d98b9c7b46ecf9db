#include "archive/notes.h"

#include <string.h>

#include <whetsight/error.h>

#include "archive/note.h"
#include "archive/statements.h"
#include "archive/store.h"

#define MOST_BYTES 4000 /* of a reason: a page of it */

/* ---- Of an inspection --------------------------------------------------------------------- */

static gboolean
keep_note (const WsInspection *row, gpointer data, GError **error)
{
  WsInspection *inspection = data;
  (void)error;
  if (wsi_note_is_event (row))
    return TRUE; /* on something whose name is like the inspection's id */
  if (row->wrong != NULL)
  {
    if (inspection->wrong == NULL)
      inspection->wrong =
        g_strdup_printf ("the %s on it, %s, is not as it was written: %s",
                         wsi_note_is_kind (row->kind) ? row->kind : "note", row->id, row->wrong);
    return TRUE;
  }
  g_ptr_array_add (inspection->notes, wsi_note_of (row));
  return TRUE;
}

/* FALSE, too, where it can't be told. */
static gboolean
lacks_notes (WsArchive *archive, const WsInspection *inspection)
{
  WsQuery *stmt = wsi_statement (archive, WS_SQL_HAS_NOTES);
  wsi_bind_text (stmt, 1, inspection->id);
  const WsQueryStep step = wsi_step (stmt);
  wsi_reset (stmt);
  return step == WS_QUERY_DONE;
}

gboolean
wsi_notes_gather (WsArchive *archive, WsInspection *inspection, GError **error)
{
  const WsBeside *beside = archive->beside;
  inspection->notes = wsi_notes_copy (NULL);
  if (beside != NULL && beside->number == inspection->number ? !beside->has_notes
                                                             : lacks_notes (archive, inspection))
    return TRUE;
  return wsi_store_each_note (archive, inspection->id, keep_note, inspection, error);
}

/* ---- Writing ------------------------------------------------------------------------------ */

static gboolean refuse (GError **error, WsErrorCode code, const char *format, ...)
  G_GNUC_PRINTF (3, 4);

static gboolean
refuse (GError **error, WsErrorCode code, const char *format, ...)
{
  va_list arguments;
  va_start (arguments, format);
  g_autofree char *what = g_strdup_vprintf (format, arguments);
  va_end (arguments);
  g_set_error_literal (error, WS_ERROR, (int)code, what);
  return FALSE;
}

/* A retake says nothing that one could stand up for, and what is accepted needs no release. */
static gboolean
check_verdict (const WsInspection *inspection, WsNoteKind kind, GError **error)
{
  const char *verdict = inspection->verdict != NULL ? inspection->verdict : "";
  if (inspection->wrong != NULL)
    return refuse (error, WS_ERROR_DATA,
                   "%s: not as it was written (%s), so nothing is added to it", inspection->id,
                   inspection->wrong);
  if (kind == WS_NOTE_COMMENT)
    return TRUE;
  if (g_str_equal (verdict, "retake"))
    return refuse (error, WS_ERROR_DATA,
                   "%s: a retake measured nothing, so nobody can answer for it; take the picture "
                   "again",
                   inspection->id);
  if (kind == WS_NOTE_RELEASE && (g_str_equal (verdict, "accept") || *verdict == '\0'))
    return refuse (error, WS_ERROR_DATA,
                   "%s: %s, so there is no verdict to release it against; archive sign signs it "
                   "off",
                   inspection->id, *verdict != '\0' ? "accepted" : "judged by no limits");
  return TRUE;
}

gboolean
wsi_notes_check_words (const WsNoteWords *words, GError **error)
{
  const char *const texts[] = { words->by, words->text };
  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
  {
    g_autofree char *stripped = g_strstrip (g_strdup (texts[i] != NULL ? texts[i] : ""));
    if (*stripped == '\0')
      return refuse (error, WS_ERROR_USAGE, "%s",
                     i == 0 ? "nobody is named" : "no reason is given");
    if (strlen (stripped) > MOST_BYTES || !g_utf8_validate (stripped, -1, NULL))
      return refuse (error, WS_ERROR_USAGE, "%s: too long, or not UTF-8",
                     i == 0 ? "the name" : "the reason");
  }
  return TRUE;
}

/* Free with g_free(). */
static char *
new_id (const char *time, const char *sha256)
{
  g_autofree char *compact = g_strdup (time);
  char *to = compact;
  for (const char *from = compact; *from != '\0'; from++)
    if (*from != '-' && *from != ':')
      *to++ = *from;
  *to = '\0';
  return g_strdup_printf ("%s-note-%.8s-%06x", compact, sha256, g_random_int () & 0xffffffU);
}

char *
wsi_notes_record (const WsInspection *inspection, const WsNoteWords *words, json_t *removed)
{
  char sha256[WS_SHA256_HEX_SIZE];
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autofree char *time = g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  wsi_sha256_hex (inspection->record, strlen (inspection->record), sha256);
  g_autofree char *id = new_id (time, sha256);
  json_t *record = json_pack (
    "{s:s, s:s, s:s, s:s, s:s, s:s, s:s, s:s?, s:s, s:s, s:s?}", "note", WSI_NOTE_FORM, "id", id,
    "time", time, "program", "whetsight " WS_VERSION, "kind", ws_note_kind_name (words->kind),
    "about", inspection->id, "record_sha256", sha256, "verdict", inspection->verdict, "by",
    words->by, "text", words->text, "account", words->account);
  if (removed != NULL)
    json_object_set (record, WSI_NOTE_REMOVED, removed);
  char *text = record != NULL ? json_dumps (record, 0) : NULL;
  json_decref (record);
  return text;
}

gboolean
ws_archive_add_note (WsArchive *archive, const char *id, const WsNoteWords *words, char **note_id,
                     GError **error)
{
  g_autoptr (WsInspection) row = g_new0 (WsInspection, 1);
  g_return_val_if_fail (words->kind <= WS_NOTE_COMMENT, FALSE);
  if (!wsi_notes_check_words (words, error))
    return FALSE;
  g_autoptr (WsInspection) inspection = ws_archive_find (archive, id, error);
  if (inspection == NULL || !check_verdict (inspection, words->kind, error))
    return FALSE;
  row->record = wsi_notes_record (inspection, words, NULL);
  if (row->record == NULL)
    return refuse (error, WS_ERROR_INTERNAL, "%s: the note can't be written as JSON", id);
  if (!ws_archive_store (archive, row, NULL, error))
    return FALSE;
  if (note_id != NULL)
    *note_id = g_strdup (row->id);
  return TRUE;
}
