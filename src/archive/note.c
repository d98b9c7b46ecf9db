#include "archive/note.h"

#include <string.h>

#include <whetsight/error.h>

#include "archive/lean.h"
#include "archive/statements.h"
#include "base/language.h"
#include "base/sha256.h"
#include "base/shown.h"

static const char *const kind_names[WS_N_NOTES] = {
  [WS_NOTE_SIGN_OFF] = "sign-off",         [WS_NOTE_RELEASE] = "release",
  [WS_NOTE_COMMENT] = "comment",           [WS_NOTE_REMOVAL] = "pictures-removed",
  [WS_NOTE_REMEASURED] = "measured-again",
};

const char *
ws_note_kind_name (WsNoteKind kind)
{
  return kind_names[kind];
}

/* As it is shown; a release is never told as an acceptance. */
static const char *const titles[WS_N_NOTES] = {
  [WS_NOTE_SIGN_OFF] = N_ ("signed off"),
  [WS_NOTE_RELEASE] = N_ ("RELEASED AGAINST THE VERDICT"),
  [WS_NOTE_COMMENT] = N_ ("comment"),
  [WS_NOTE_REMOVAL] = N_ ("PICTURES REMOVED"),
  [WS_NOTE_REMEASURED] = N_ ("MEASURED AGAIN"),
};

typedef const char *(*Translate) (const char *english);

static const char *
untranslated (const char *english)
{
  return english;
}

/* Free with g_free(). */
static char *
verdict_words (const WsNote *note, Translate in)
{
  if (note->kind != WS_NOTE_REMEASURED)
    return g_strdup ("");
  const char *was = note->was != NULL ? note->was : N_ ("no limits");
  const char *now = note->now != NULL ? note->now : N_ ("no limits");
  return g_str_equal (was, now)
           ? g_strconcat ("; ", in (now), in (N_ (" as before")), NULL)
           : g_strconcat ("; ", in (N_ ("NOW ")), in (now), in (N_ (", was ")), in (was), NULL);
}

static char *
note_words (const WsNote *note, const char *time, Translate in)
{
  g_autofree char *verdicts = verdict_words (note, in);
  g_autofree char *words = g_strconcat (
    in (titles[note->kind]), in (N_ (" by ")), note->by,
    note->account != NULL ? in (N_ (" (login ")) : "", note->account != NULL ? note->account : "",
    note->account != NULL ? ")" : "", ", ", time,
    note->imported != NULL ? in (N_ (", imported")) : "",
    note->clock != NULL ? in (N_ (", CLOCK SET BACK")) : "", ": ", note->text, verdicts, NULL);
  return wsi_shown (words); /* a line break could look like a row of its own */
}

char *
wsi_note_words (const WsNote *note, const char *time)
{
  return note_words (note, time, untranslated);
}

char *
wsi_note_told (const WsNote *note, const char *time)
{
  return note_words (note, time, wsi_language_text);
}

const WsNote *
wsi_notes_release (const WsInspection *inspection)
{
  for (guint i = inspection->notes != NULL ? inspection->notes->len : 0; i-- > 0;)
  {
    const WsNote *note = g_ptr_array_index (inspection->notes, i);
    if (note->kind == WS_NOTE_RELEASE)
      return note;
  }
  return NULL;
}

char *
wsi_notes_words (const WsInspection *inspection)
{
  if (inspection->notes == NULL || inspection->notes->len == 0)
    return NULL;
  GString *words = g_string_new (NULL);
  for (guint i = 0; i < inspection->notes->len; i++)
  {
    const WsNote *note = g_ptr_array_index (inspection->notes, i);
    g_autofree char *one = wsi_note_words (note, note->time);
    g_string_append_printf (words, "%s%s", i > 0 ? "; " : "", one);
  }
  return g_string_free (words, FALSE);
}

/* ---- Reading ------------------------------------------------------------------------------ */

gboolean
wsi_note_is (const json_t *record)
{
  return json_object_get (record, "note") != NULL;
}

static const char *
text_at (const json_t *record, const char *key)
{
  return json_string_value (json_object_get (record, key));
}

gboolean
wsi_note_is_kind (const char *name)
{
  for (int i = 0; i < WS_N_NOTES; i++)
    if (g_strcmp0 (name, kind_names[i]) == 0)
      return TRUE;
  return FALSE;
}

static const char *const event_names[WS_N_EVENTS] = {
  [WS_EVENT_ACCOUNT] = "account",   [WS_EVENT_CARD] = "card",   [WS_EVENT_REGRIND] = "regrind",
  [WS_EVENT_HANDOVER] = "handover", [WS_EVENT_CHECK] = "check",
};

const char *
wsi_event_kind_name (WsEventKind kind)
{
  return event_names[kind];
}

gboolean
wsi_note_is_event (const WsInspection *row)
{
  return g_strcmp0 (row->view, WSI_EVENT_VIEW) == 0;
}

static gboolean
is_event_kind (const char *name)
{
  for (int i = 0; i < WS_N_EVENTS; i++)
    if (g_strcmp0 (name, event_names[i]) == 0)
      return TRUE;
  return FALSE;
}

/* NULL when nothing; other notes hold no result. */
static const char *
lacks_of_result (const char *kind, const json_t *note)
{
  const json_t *result = json_object_get (note, WSI_NOTE_RESULT);
  const char *settings = text_at (note, WSI_NOTE_SETTINGS);
  if (g_strcmp0 (kind, kind_names[WS_NOTE_REMEASURED]) != 0)
    return result == NULL ? NULL : WSI_NOTE_RESULT;
  if (settings == NULL || !wsi_sha256_is_hex (settings))
    return WSI_NOTE_SETTINGS;
  return g_strcmp0 (text_at (result, "record"), "whetsight/1") == 0 ? NULL : WSI_NOTE_RESULT;
}

gboolean
wsi_note_fill (WsInspection *row, const json_t *record, const char **what)
{
  static const char *const texts[] = { "id", "time", "about", "record_sha256", "by", "text" };
  const char *form = text_at (record, "note");
  const gboolean is_event = g_strcmp0 (form, WSI_EVENT_FORM) == 0;
  *what = NULL;
  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
    if (is_event && g_str_equal (texts[i], "record_sha256"))
      continue;
    else if (text_at (record, texts[i]) == NULL || *text_at (record, texts[i]) == '\0')
      *what = texts[i];
  if (*what == NULL && !is_event && (form == NULL || !g_str_equal (form, WSI_NOTE_FORM)))
    *what = "note";
  const char *kind = text_at (record, "kind");
  if (*what == NULL && !(is_event ? is_event_kind (kind) : wsi_note_is_kind (kind)))
    *what = "kind";
  if (*what == NULL)
    *what = lacks_of_result (kind, record);
  if (*what != NULL)
    return FALSE;
  row->id = g_strdup (text_at (record, "id"));
  row->time = g_strdup (text_at (record, "time"));
  row->kind = g_strdup (text_at (record, "kind"));
  row->view = g_strdup (is_event ? WSI_EVENT_VIEW : WSI_NOTE_VIEW);
  row->about = g_strdup (text_at (record, "about"));
  return TRUE;
}

static void
note_free (gpointer data)
{
  WsNote *note = data;
  char *const texts[] = { note->id,       note->time,     note->about, note->by,     note->text,
                          note->account,  note->imported, note->hash,  note->record, note->clock,
                          note->settings, note->was,      note->now };
  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
    g_free (texts[i]);
  g_free (note);
}

static WsNote *
note_copy (const WsNote *note)
{
  WsNote *copy = g_new (WsNote, 1);
  *copy = *note;
  char **const texts[] = { &copy->id,     &copy->time,    &copy->about,    &copy->by,
                           &copy->text,   &copy->account, &copy->imported, &copy->hash,
                           &copy->record, &copy->clock,   &copy->settings, &copy->was,
                           &copy->now };
  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
    *texts[i] = g_strdup (*texts[i]);
  return copy;
}

GPtrArray *
wsi_notes_copy (GPtrArray *notes)
{
  GPtrArray *copies = g_ptr_array_new_with_free_func (note_free);
  for (guint i = 0; notes != NULL && i < notes->len; i++)
    g_ptr_array_add (copies, note_copy (g_ptr_array_index (notes, i)));
  return copies;
}

WsNote *
wsi_note_of (const WsInspection *row)
{
  WsNote *note = g_new0 (WsNote, 1);
  json_t *record = wsi_lean_parse (row->record, NULL);
  for (int i = 0; i < WS_N_NOTES; i++)
    if (g_strcmp0 (text_at (record, "kind"), kind_names[i]) == 0)
      note->kind = (WsNoteKind)i;
  note->number = row->number;
  note->id = g_strdup (row->id);
  note->time = g_strdup (row->time);
  note->about = g_strdup (row->about);
  note->by = g_strdup (text_at (record, "by"));
  note->text = g_strdup (text_at (record, "text"));
  note->account = g_strdup (text_at (record, "account"));
  note->imported = g_strdup (row->imported);
  note->clock = g_strdup (row->clock);
  note->hash = g_strdup (row->hash);
  note->record = g_strdup (row->record);
  if (note->kind == WS_NOTE_REMEASURED)
  {
    note->settings = g_strdup (text_at (record, WSI_NOTE_SETTINGS));
    note->was = g_strdup (text_at (record, "verdict"));
    note->now = g_strdup (text_at (json_object_get (record, WSI_NOTE_RESULT), "verdict"));
  }
  json_decref (record);
  return note;
}

/* ---- Pictures that were removed --------------------------------------------------------- */

static void
each_removed (const char *record, WsNameVisit visit, gpointer data)
{
  gsize i;
  json_t *name, *root = json_loads (record, JSON_REJECT_DUPLICATES, NULL);
  json_t *names = json_object_get (root, WSI_NOTE_REMOVED);
  json_array_foreach (names, i, name)
  {
    if (json_is_string (name))
      visit (json_string_value (name), data);
  }
  json_decref (root);
}

void
wsi_note_each_removed (const WsInspection *row, WsNameVisit visit, gpointer data)
{
  if (row->about != NULL && row->imported == NULL && row->record != NULL &&
      g_strcmp0 (row->kind, kind_names[WS_NOTE_REMOVAL]) == 0)
    each_removed (row->record, visit, data);
}

typedef struct
{
  const char *sha256;
  gboolean found;
} Sought;

static void
compare_name (const char *sha256, gpointer data)
{
  Sought *sought = data;
  sought->found = sought->found || g_str_equal (sha256, sought->sha256);
}

gboolean
wsi_notes_removed (const WsInspection *inspection, const char *sha256)
{
  Sought sought = { sha256, FALSE };
  for (guint i = 0; inspection->notes != NULL && i < inspection->notes->len; i++)
  {
    const WsNote *note = g_ptr_array_index (inspection->notes, i);
    if (note->kind == WS_NOTE_REMOVAL && note->imported == NULL)
      each_removed (note->record, compare_name, &sought);
  }
  return sought.found;
}

/* ---- Checking ----------------------------------------------------------------------------- */

/* Another picture's numbers would be told as this one's. */
const char *
wsi_note_differing (const json_t *record, const json_t *result)
{
  static const struct
  {
    const char *object, *key, *what;
  } same[] = { { "image", "sha256", "of another picture" },
               { NULL, "view", "of another view" },
               { "tool", "id", "of another tool" } };
  for (gsize i = 0; i < G_N_ELEMENTS (same); i++)
  {
    const json_t *a = same[i].object != NULL ? json_object_get (record, same[i].object) : record;
    const json_t *b = same[i].object != NULL ? json_object_get (result, same[i].object) : result;
    if (g_strcmp0 (text_at (a, same[i].key), text_at (b, same[i].key)) != 0)
      return same[i].what;
  }
  return NULL;
}

/* Of that id; NULL when there is none.  Free with g_free(). */
static gboolean
find_record (WsArchive *archive, const char *id, char **record, GError **error)
{
  WsQuery *stmt = wsi_statement (archive, WS_SQL_RECORD_OF_ID);
  wsi_bind_text (stmt, 1, id);
  const WsQueryStep step = wsi_step (stmt);
  *record = step == WS_QUERY_ROW ? g_strdup (wsi_column_text (stmt, 0)) : NULL;
  const gboolean done = step != WS_QUERY_FAILED || wsi_statement_refuse (archive, error);
  wsi_reset (stmt);
  return done;
}

static gboolean
is_of (const json_t *note, const char *record)
{
  char sha256[WS_SHA256_HEX_SIZE];
  wsi_sha256_hex (record, strlen (record), sha256);
  return g_strcmp0 (text_at (note, "record_sha256"), sha256) == 0;
}

static const char *
result_differing (const json_t *note, const char *record)
{
  const json_t *result = json_object_get (note, WSI_NOTE_RESULT);
  if (result == NULL)
    return NULL;
  json_t *parsed = wsi_lean_parse (record, NULL);
  const char *differing = wsi_note_differing (parsed, result);
  json_decref (parsed);
  return differing;
}

gboolean
wsi_note_compare (WsArchive *archive, const WsInspection *row, char **what, GError **error)
{
  g_autofree char *record = NULL;
  const char *differing;
  if (wsi_note_is_event (row))
    return TRUE;
  if (!find_record (archive, row->about, &record, error))
    return FALSE;
  json_t *note = wsi_lean_parse (row->record, NULL);
  if (record == NULL)
    *what = g_strdup_printf ("the inspection it is on, %s, is not here", row->about);
  else if (!is_of (note, record))
    *what = g_strdup_printf ("the record of %s is not the one it was written on", row->about);
  else if ((differing = result_differing (note, record)) != NULL)
    *what = g_strdup_printf ("its result is %s", differing);
  json_decref (note);
  return TRUE;
}
