#include <errno.h>
#include <stdio.h>
#include <string.h>

#include "archive/exchange.h"
#include "archive/store.h"
#include "base/file.h"

#include "base/language.h"
#include "cli/archive.h"
#include "cli/fail.h"

/* Enough not to read and write byte by byte. */
#define FLUSH_BYTES 65536

typedef struct
{
  char *format;
  char *output;
  WsFilterOptions filter;
} Options;

/* ---- Export --------------------------------------------------------------------------- */

typedef struct
{
  WsExchange *exchange;
  GString *out;
  WsFilePieces *file; /* NULL: standard output */
  const WsArchive *archive;
  int status; /* of what was left out */
} Writer;

static gboolean
flush (Writer *writer, gsize least, GError **error)
{
  if (writer->out->len < least)
    return TRUE;
  if (writer->file != NULL)
  {
    if (!wsi_file_pieces_add (writer->file, writer->out->str, writer->out->len, error))
      return FALSE;
  }
  else if (fwrite (writer->out->str, 1, writer->out->len, stdout) < writer->out->len ||
           fflush (stdout) != 0)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_CANT_WRITE, "can't write to standard output");
    return FALSE;
  }
  g_string_truncate (writer->out, 0);
  return TRUE;
}

static gboolean
add (const WsInspection *inspection, json_t *record, gpointer data, GError **error)
{
  Writer *writer = data;
  if (inspection->wrong != NULL)
    writer->status = wsi_archive_tell_wrong (writer->archive, inspection->id, inspection->wrong);
  if (wsi_exchange_add_parsed (writer->exchange, inspection, record, writer->out, error))
    return flush (writer, FLUSH_BYTES, error);
  g_prefix_error (error, "%s: ", inspection->id);
  return FALSE;
}

static gboolean
add_one (const WsInspection *inspection, gpointer writer, GError **error)
{
  json_t *record = wsi_columns_parse (inspection->record, NULL);
  const gboolean added = add (inspection, record, writer, error);
  json_decref (record);
  return added;
}

static gboolean
write_some (WsArchive *archive, const WsArchiveFilter *filter, char **ids, Writer *writer,
            GError **error)
{
  if (*ids == NULL)
    return wsi_store_each_record (archive, filter, add, writer, error);
  for (; *ids != NULL; ids++)
  {
    g_autoptr (WsInspection) inspection = ws_archive_find (archive, *ids, error);
    if (inspection == NULL || !add_one (inspection, writer, error))
      return FALSE;
  }
  return TRUE;
}

/* Ids of tools, each once, and inspections without a tool. */
typedef struct
{
  GHashTable *known;
  GPtrArray *tools, *others;
} Chosen;

static gboolean
choose (const WsInspection *inspection, gpointer data, GError **error)
{
  Chosen *chosen = data;
  (void)error;
  if (inspection->tool == NULL)
    g_ptr_array_add (chosen->others, g_strdup (inspection->id));
  else if (!g_hash_table_contains (chosen->known, inspection->tool))
  {
    g_ptr_array_add (chosen->tools, g_strdup (inspection->tool));
    g_hash_table_add (chosen->known, g_ptr_array_index (chosen->tools, chosen->tools->len - 1));
  }
  return TRUE;
}

static gboolean
choose_some (WsArchive *archive, const WsArchiveFilter *filter, char **ids, Chosen *chosen,
             GError **error)
{
  if (*ids == NULL)
    return ws_archive_each (archive, filter, FALSE, choose, chosen, error);
  for (; *ids != NULL; ids++)
  {
    g_autoptr (WsInspection) inspection = ws_archive_find (archive, *ids, error);
    if (inspection == NULL || !choose (inspection, chosen, error))
      return FALSE;
  }
  return TRUE;
}

/* A form that says what a tool is fit for gets all of the tool's inspections, whichever were
 * chosen: what was left out might be what rejects it. */
static gboolean
write_tools (WsArchive *archive, const WsArchiveFilter *filter, char **ids, Writer *writer,
             GError **error)
{
  g_autoptr (GHashTable) known = g_hash_table_new (g_str_hash, g_str_equal);
  g_autoptr (GPtrArray) tools = g_ptr_array_new_with_free_func (g_free);
  g_autoptr (GPtrArray) others = g_ptr_array_new_with_free_func (g_free);
  Chosen chosen = { known, tools, others };
  if (!choose_some (archive, filter, ids, &chosen, error))
    return FALSE;
  for (guint i = 0; i < tools->len; i++)
  {
    WsArchiveFilter all = WS_ARCHIVE_ALL;
    all.tool = g_ptr_array_index (tools, i);
    if (!wsi_store_each_record (archive, &all, add, writer, error))
      return FALSE;
  }
  g_ptr_array_add (others, NULL);
  return others->len == 1 || write_some (archive, NULL, (char **)others->pdata, writer, error);
}

static const char *
form_name (guint i)
{
  return i < WS_N_EXCHANGES ? ws_exchange_name ((WsExchangeForm)i) : NULL;
}

static const WsOptionCheck is_form = { .word = form_name };

static const WsOption options[] = {
  { WS_OPTION_WORD, "format", 'f', G_STRUCT_OFFSET (Options, format), "FORM",
    "csv, jsonl, qif or mtconnect", &is_form },
  { WS_OPTION_FILE, "output", 'o', G_STRUCT_OFFSET (Options, output), "FILE",
    "Write there, whole or not at all; to standard output by default", NULL },
  WS_OPTIONS_END
};

static gboolean
write_all (WsArchive *archive, const Options *chosen, char **ids, int *status, GError **error)
{
  WsArchiveFilter filter;
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autofree char *time = g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  if (!wsi_filter_options_read (&chosen->filter, &filter, error) ||
      (*ids != NULL && !wsi_filter_options_refuse (&chosen->filter, error)) ||
      !wsi_options_require (options, "format", chosen, error))
    return FALSE;
  const guint form = wsi_option_word_index (&is_form, chosen->format, WS_N_EXCHANGES);
  g_autoptr (WsExchange) exchange = ws_exchange_new ((WsExchangeForm)form, ws_view_lookup, time);
  g_autoptr (GString) out = g_string_new (NULL);
  g_autoptr (WsFilePieces) file =
    chosen->output != NULL ? wsi_file_pieces_new (chosen->output, error) : NULL;
  if (chosen->output != NULL && file == NULL)
    return FALSE;
  Writer writer = { exchange, out, file, archive, WS_EXIT_ACCEPT };
  if (!(form == WS_EXCHANGE_MTCONNECT ? write_tools : write_some) (archive, &filter, ids, &writer,
                                                                   error))
    return FALSE;
  for (gboolean more = TRUE; more;)
    if (!ws_exchange_finish (exchange, out, &more, error) || !flush (&writer, FLUSH_BYTES, error))
      return FALSE;
  *status = writer.status;
  return flush (&writer, 0, error) && (file == NULL || wsi_file_pieces_finish (file, error));
}

static int
export_some (gpointer data, char **words)
{
  GError *error = NULL;
  int status = WS_EXIT_ACCEPT;
  const guint n = g_strv_length (words);
  g_autoptr (WsArchive) archive =
    wsi_archive_command_open (words, n > 2 ? n - 2 : 0, _ ("a folder"), WS_ARCHIVE_READ, &error);
  if (archive == NULL || !write_all (archive, data, words + 2, &status, &error))
    return wsi_fail (error);
  return status;
}

const WsCommand wsi_archive_export = {
  .name = "export",
  .summary = "write inspections for other programs",
  .arguments = "DIR [ID…]",
  .about = "Writes inspections, all of them or those that the options or ids choose, for other "
           "programs:\ncsv (a line a quantity), jsonl (a line an inspection; archive import takes "
           "it), qif (QIF 3.0\nresults), mtconnect (cutting-tool assets, each tool by all "
           "its views).",
  .groups = { { options, 0 }, { wsi_filter_options, G_STRUCT_OFFSET (Options, filter) } },
  .size = sizeof (Options),
  .run = export_some,
};

/* ---- Import --------------------------------------------------------------------------- */

typedef struct
{
  guint line;
  guint stored, known;
  const char *source;
} Tally;

/* What a line says otherwise than what is there of the same record; NULL for nothing. */
static const char *
difference (const WsInspection *a, const WsInspection *b)
{
  const struct
  {
    const char *name, *a, *b;
  } texts[] = {
    { N_ ("the record"), a->record, b->record },
    { N_ ("the settings"), a->settings, b->settings },
    { N_ ("the station"), a->station, b->station },
    { N_ ("who ground it"), a->grinder, b->grinder },
    { N_ ("the annotated picture"), a->annotated, b->annotated },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
    if (g_strcmp0 (texts[i].a, texts[i].b) != 0)
      return texts[i].name;
  return a->reground != b->reground ? N_ ("whether it was reground") : NULL;
}

/* It isn't shown as one that was measured here; where it was imported before that is kept. */
static void
mark_imported (WsInspection *inspection, const char *source)
{
  g_autofree char *there = inspection->imported;
  inspection->imported =
    there != NULL ? g_strdup_printf ("%s; there from %s", source, there) : g_strdup (source);
}

/* "week-47.jsonl, 2026-11-29T10:15:02Z, by vane"; free with g_free(). */
static char *
source_of (const char *path)
{
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autofree char *time = g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  g_autofree char *name = g_filename_display_basename (path);
  return g_strdup_printf ("%s, %s, by %s", name, time, g_get_user_name ());
}

/* One that is there already is passed by; another one of its id is an error. */
static gboolean
take_in (WsArchive *archive, WsInspection *inspection, const WsLean *lean, Tally *tally,
         GError **error)
{
  g_autoptr (WsInspection) there = wsi_store_has_id (archive, inspection->id)
                                     ? wsi_store_find (archive, inspection->id, NULL)
                                     : NULL;
  const char *differs = there != NULL ? difference (there, inspection) : NULL;
  if (differs != NULL)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s is there already, with another text for %s",
                 inspection->id, differs);
    return FALSE;
  }
  if (there != NULL)
  {
    tally->known++;
    return TRUE;
  }
  tally->stored++;
  mark_imported (inspection, tally->source);
  return wsi_store_parsed (archive, inspection, lean, NULL, error);
}

static gboolean
read_line (WsArchive *archive, const char *line, Tally *tally, GError **error)
{
  g_auto (WsLean) lean = { 0 };
  g_autoptr (WsInspection) inspection = wsi_exchange_read_parsed (line, &lean, error);
  return inspection != NULL && take_in (archive, inspection, &lean, tally, error);
}

static gboolean
read_lines (WsArchive *archive, FILE *file, Tally *tally, GError **error)
{
  size_t room = 0;
  ssize_t length;
  g_autofree char *line = NULL;
  while ((length = getline (&line, &room, file)) > 0)
  {
    tally->line++;
    if (memchr (line, '\0', (gsize)length) != NULL)
    {
      g_set_error (error, WS_ERROR, WS_ERROR_DATA, "a zero byte: this is no text");
      return FALSE;
    }
    if (strspn (line, " \t\r\n") == (gsize)length)
      continue;
    if (!read_line (archive, line, tally, error))
      return FALSE;
  }
  if (!ferror (file))
    return TRUE;
  g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT, "can't be read on: %s", g_strerror (errno));
  return FALSE;
}

static gboolean
read_all (WsArchive *archive, FILE *file, const char *path, Tally *tally, GError **error)
{
  if (read_lines (archive, file, tally, error))
    return TRUE;
  g_prefix_error (error, "%s: line %u: nothing imported: ", path, tally->line);
  return FALSE;
}

static gboolean
import (WsArchive *archive, const char *path, Tally *tally, GError **error)
{
  FILE *file = g_file_test (path, G_FILE_TEST_IS_DIR) ? NULL : fopen (path, "rb");
  if (file == NULL)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT, "%s: no such file, or not readable", path);
    return FALSE;
  }
  /* Without a place glibc keeps to 4 kB. */
  g_autofree char *room = g_malloc (FLUSH_BYTES);
  setvbuf (file, room, _IOFBF, FLUSH_BYTES);
  gboolean done = ws_archive_begin (archive, error);
  if (done &&
      (!read_all (archive, file, path, tally, error) || !ws_archive_commit (archive, error)))
  {
    ws_archive_roll_back (archive);
    done = FALSE;
  }
  fclose (file);
  return done;
}

static int
import_all (gpointer data, char **words)
{
  GError *error = NULL;
  (void)data;
  g_autoptr (WsArchive) archive =
    wsi_archive_command_open (words, 1, _ ("a folder and a file"), WS_ARCHIVE_WRITE, &error);
  g_autofree char *source = archive != NULL ? source_of (words[2]) : NULL;
  Tally tally = { .source = source };
  if (archive == NULL || !import (archive, words[2], &tally, &error))
    return wsi_fail (error);
  printf (_ ("%u imported, %u there already\n"), tally.stored, tally.known);
  return WS_EXIT_ACCEPT;
}

const WsCommand wsi_archive_import = {
  .name = "import",
  .summary = "take in records, as export wrote them",
  .arguments = "DIR FILE",
  .about =
    "Takes in the lines of archive export --format jsonl, or records as measure --json prints "
    "them,\nwithout pictures: all of them or, when one line is wrong, none. What the archive "
    "holds already is\npassed by.",
  .run = import_all,
};
