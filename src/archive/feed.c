#include "archive/feed.h"

#include <string.h>

#include <whetsight/error.h>

#include "archive/exchange.h"
#include "archive/feed_state.h"
#include "archive/http.h"
#include "archive/statements.h"
#include "archive/store.h"
#include "base/file.h"
#include "base/key_file.h"

#define KIND_OF_FILE "feed"
#define MAX_BYTES 65536

/* An agent's answer to one asset. */
#define SECONDS_TO_ANSWER 20
#define MAX_ANSWER (1 << 20)

/* Files between two writings of the state: so many at most come twice after a crash. */
#define SAVE_EVERY 32

/* ---- The feed's file --------------------------------------------------------------------------
 */

static gboolean
refuse (const WsFeed *feed, const char *group, const char *key, const char *expected,
        GError **error)
{
  g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s: [%s] %s: expected %s", feed->path, group, key,
               expected);
  return FALSE;
}

static gboolean
check_keys (const WsFeed *feed, GKeyFile *file, GError **error)
{
  static const char *const known[] = { "feed archive", "feed since", "agent url", "agent device",
                                       "drop folder",  "drop forms", NULL };
  g_auto (GStrv) groups = g_key_file_get_groups (file, NULL);
  for (char **group = groups; *group != NULL; group++)
  {
    g_auto (GStrv) keys = g_key_file_get_keys (file, *group, NULL, NULL);
    for (char **key = keys; key != NULL && *key != NULL; key++)
    {
      g_autofree char *both = g_strconcat (*group, " ", *key, NULL);
      if (!g_strv_contains (known, both))
        return refuse (feed, *group, *key,
                       "[feed] archive, since, [agent] url, device, [drop] folder, forms alone",
                       error);
    }
  }
  return TRUE;
}

/* Beside the feed's file when it is relative. */
static char *
path_at (const WsFeed *feed, GKeyFile *file, const char *group, const char *key)
{
  g_autofree char *text = g_key_file_get_string (file, group, key, NULL);
  g_autofree char *folder = g_path_get_dirname (feed->path);
  if (text == NULL || *text == '\0')
    return NULL;
  return g_path_is_absolute (text) || strstr (text, "://") != NULL
           ? g_steal_pointer (&text)
           : g_build_filename (folder, text, NULL);
}

static gboolean
read_forms (WsFeed *feed, GKeyFile *file, GError **error)
{
  g_autofree char *text = g_key_file_get_string (file, "drop", "forms", NULL);
  g_auto (GStrv) words = g_strsplit (text != NULL ? text : "csv", ",", -1);
  for (char **word = words; *word != NULL; word++)
  {
    const char *form = g_strstrip (*word);
    if (g_str_equal (form, "csv"))
      feed->forms[WS_EXCHANGE_CSV] = TRUE;
    else if (g_str_equal (form, "qif"))
      feed->forms[WS_EXCHANGE_QIF] = TRUE;
    else
      return refuse (feed, "drop", "forms", "csv, qif or both with a comma between", error);
  }
  return TRUE;
}

/* "2026-11-29", or more of a time or less. */
static gboolean
read_since (WsFeed *feed, GKeyFile *file, GError **error)
{
  feed->since = g_key_file_get_string (file, "feed", "since", NULL);
  if (feed->since == NULL)
    feed->since = g_strdup ("");
  return strspn (feed->since, G_CSET_DIGITS "-T:Z") == strlen (feed->since) ||
         refuse (feed, "feed", "since", "a time, 2026-11-29 or 2026-11-29T10:15, UTC", error);
}

static gboolean
read_feed (WsFeed *feed, GKeyFile *file, GError **error)
{
  if (!check_keys (feed, file, error))
    return FALSE;
  feed->archive = path_at (feed, file, "feed", "archive");
  feed->folder = path_at (feed, file, "drop", "folder");
  feed->url = g_key_file_get_string (file, "agent", "url", NULL);
  feed->device = g_key_file_get_string (file, "agent", "device", NULL);
  if (feed->archive == NULL)
    return refuse (feed, "feed", "archive", "the archive's folder or address", error);
  if (feed->url == NULL && feed->folder == NULL)
    return refuse (feed, "agent", "url", "an agent's address, or [drop] folder", error);
  g_autofree char *origin = feed->url != NULL ? wsi_http_origin (feed->url) : NULL;
  if (feed->url != NULL && origin == NULL)
    return refuse (feed, "agent", "url", "http://host:port, without a name or password", error);
  while (feed->url != NULL && g_str_has_suffix (feed->url, "/"))
    feed->url[strlen (feed->url) - 1] = '\0';
  return read_since (feed, file, error) && read_forms (feed, file, error);
}

WsFeed *
wsi_feed_load (const char *path, GError **error)
{
  g_autofree char *text = wsi_file_read_text (path, KIND_OF_FILE, MAX_BYTES, error);
  g_autoptr (GKeyFile) file =
    text != NULL ? wsi_key_file_parse (path, KIND_OF_FILE, text, error) : NULL;
  g_autoptr (WsFeed) feed = g_new0 (WsFeed, 1);
  feed->path = g_strdup (path);
  return file != NULL && read_feed (feed, file, error) ? g_steal_pointer (&feed) : NULL;
}

void
wsi_feed_free (WsFeed *feed)
{
  if (feed == NULL)
    return;
  g_free (feed->path);
  g_free (feed->archive);
  g_free (feed->since);
  g_free (feed->url);
  g_free (feed->device);
  g_free (feed->folder);
  g_free (feed);
}

void
wsi_fed_clear (WsFed *fed)
{
  g_clear_pointer (&fed->agent, g_free);
  g_clear_pointer (&fed->drop, g_free);
}

/* ---- One run ----------------------------------------------------------------------------------
 */

typedef struct
{
  const WsFeed *feed;
  WsQuantityLookup lookup;
  WsArchive *archive;
  WsFeedState *state;
  WsFed *fed;
  GArray *new_rows; /* of guint64: numbers of rows whose files aren't dropped */
  guint n_to_read;  /* rows from the first of these on */
  guint n_unsaved;
} Run;

/* ---- Assets: which tools changed --------------------------------------------------------------
 */

/* A note changes the tool whose inspection it is on. */
static gboolean
note_change (const WsInspection *row, gpointer data, GError **error)
{
  Run *run = data;
  WsFeedCursor *cursor = &run->state->assets;
  (void)error;
  if (wsi_feed_cursor_knows (cursor, row->number))
    return TRUE;
  wsi_feed_cursor_handled (cursor, row->number);
  if (strcmp (row->time, run->feed->since) < 0)
    return TRUE;
  const char *tool = row->tool;
  g_autoptr (WsInspection) about =
    row->about != NULL ? wsi_store_find (run->archive, row->about, NULL) : NULL;
  if (about != NULL)
    tool = about->tool;
  if (tool != NULL)
    g_hash_table_add (run->state->tools, g_strdup (tool));
  return TRUE;
}

/* ---- Assets: sent -----------------------------------------------------------------------------
 */

typedef struct
{
  WsExchange *exchange;
  GString *out;
  guint n_wrong;
} Writer;

static gboolean
add (const WsInspection *inspection, json_t *record, gpointer data, GError **error)
{
  Writer *writer = data;
  writer->n_wrong += inspection->wrong != NULL ? 1 : 0;
  return wsi_exchange_add_parsed (writer->exchange, inspection, record, writer->out, error);
}

static GString *
asset_of (Run *run, const char *tool, GError **error)
{
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autofree char *time = g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  g_autoptr (WsExchange) exchange = ws_exchange_new (WS_EXCHANGE_MTCONNECT, run->lookup, time);
  g_autoptr (GString) out = g_string_new (NULL);
  Writer writer = { exchange, out, 0 };
  WsArchiveFilter filter = WS_ARCHIVE_ALL;
  filter.tool = tool;
  if (!wsi_store_each_record (run->archive, &filter, add, &writer, error) ||
      !wsi_exchange_mtconnect_asset (exchange, tool, out, error))
    return NULL;
  run->fed->n_wrong += writer.n_wrong;
  return g_steal_pointer (&out);
}

/* Older agents answer with 200 and say in the document what is wrong. */
static gboolean
is_refusal (const GByteArray *body)
{
  return body != NULL && body->len > 0 &&
         g_strstr_len ((const char *)body->data, (gssize)body->len, "MTConnectError") != NULL;
}

typedef enum
{
  TAKEN,
  REFUSED,
  NO_ANSWER
} Outcome;

/* PUT /asset/ID?type=CuttingTool&device=NAME with the element as body, as agents take it. */
static Outcome
put_asset (Run *run, WsHttp *http, const char *tool, const GString *asset)
{
  static const char *const headers[] = { "Content-Type: text/xml", NULL };
  GError *error = NULL;
  g_autoptr (GByteArray) body = NULL;
  g_autofree char *id = g_uri_escape_string (tool, NULL, FALSE);
  g_autofree char *device =
    run->feed->device != NULL ? g_uri_escape_string (run->feed->device, NULL, FALSE) : NULL;
  g_autofree char *url = g_strconcat (run->feed->url, "/asset/", id, "?type=CuttingTool",
                                      device != NULL ? "&device=" : NULL, device, NULL);
  g_autoptr (GBytes) bytes = g_bytes_new (asset->str, asset->len);
  const WsHttpRequest request = { .method = "PUT",
                                  .url = url,
                                  .headers = headers,
                                  .body = bytes,
                                  .most = MAX_ANSWER,
                                  .seconds = SECONDS_TO_ANSWER };
  const guint status = wsi_http_send (http, &request, &body, &error);
  if (status >= 200 && status < 300 && !is_refusal (body))
    return TAKEN;
  g_clear_pointer (&run->fed->agent, g_free);
  if (status == 0)
    run->fed->agent = g_strdup (error->message);
  else
    run->fed->agent =
      g_strdup_printf ("%s: doesn't take the asset of %s: status %u%s", run->feed->url, tool,
                       status, is_refusal (body) ? ", MTConnectError" : "");
  g_clear_error (&error);
  return status == 0 ? NO_ANSWER : REFUSED;
}

static gboolean
send_asset (Run *run, WsHttp *http, const char *tool, gboolean *go_on, GError **error)
{
  g_autoptr (GString) asset = asset_of (run, tool, error);
  if (asset == NULL)
    return FALSE;
  const Outcome outcome = asset->len > 0 ? put_asset (run, http, tool, asset) : TAKEN;
  *go_on = outcome != NO_ANSWER;
  if (outcome != TAKEN)
    return TRUE;
  run->fed->n_assets += asset->len > 0 ? 1 : 0;
  g_hash_table_remove (run->state->tools, tool);
  return wsi_feed_state_save (run->state, error);
}

static gboolean
feed_agent (Run *run, GError **error)
{
  guint n = 0;
  gboolean go_on = TRUE, done = TRUE;
  if (!wsi_store_each_row_behind (run->archive, run->state->assets.after, note_change, run,
                                  error) ||
      !wsi_feed_state_save (run->state, error))
    return FALSE;
  g_autoptr (WsHttp) http = g_hash_table_size (run->state->tools) > 0 ? wsi_http_new (error) : NULL;
  if (http == NULL)
    return g_hash_table_size (run->state->tools) == 0;
  g_autofree char **keys = (char **)g_hash_table_get_keys_as_array (run->state->tools, &n);
  g_autoptr (GPtrArray) tools = g_ptr_array_new_with_free_func (g_free);
  for (guint i = 0; i < n; i++)
    g_ptr_array_add (tools, g_strdup (keys[i]));
  for (guint i = 0; done && go_on && i < n; i++)
    done = send_asset (run, http, g_ptr_array_index (tools, i), &go_on, error);
  run->fed->n_waiting = g_hash_table_size (run->state->tools);
  return done;
}

/* ---- Files ------------------------------------------------------------------------------------
 */

/* "20261129T….csv": what an id has that a file's name shouldn't is left out. */
static char *
file_for (const WsFeed *feed, const char *id, WsExchangeForm form)
{
  g_autofree char *plain = g_strdup (id);
  g_strcanon (plain, G_CSET_A_2_Z G_CSET_a_2_z G_CSET_DIGITS "._-", '_');
  g_autofree char *name =
    g_strconcat (*plain == '.' ? "_" : "", plain, ".", ws_exchange_name (form), NULL);
  return g_build_filename (feed->folder, name, NULL);
}

/* By the inspection's own time, so that the same one gives the same bytes again. */
static gboolean
drop (Run *run, const WsInspection *inspection, json_t *record, WsExchangeForm form, GError **error)
{
  g_autoptr (WsExchange) exchange = ws_exchange_new (form, run->lookup, inspection->time);
  g_autoptr (GString) out = g_string_new (NULL);
  g_autofree char *path = file_for (run->feed, inspection->id, form);
  if (!wsi_exchange_add_parsed (exchange, inspection, record, out, error))
    return FALSE;
  for (gboolean more = TRUE; more;)
    if (!ws_exchange_finish (exchange, out, &more, error))
      return FALSE;
  return wsi_file_save (path, out->str, out->len, error);
}

static gboolean
drop_all_forms (Run *run, const WsInspection *inspection, json_t *record, GError **error)
{
  for (guint form = 0; form <= WS_EXCHANGE_QIF; form++)
    if (run->feed->forms[form] && !drop (run, inspection, record, (WsExchangeForm)form, error))
      return FALSE;
    else
      run->fed->n_files += run->feed->forms[form] ? 1 : 0;
  return TRUE;
}

static gboolean
note_new (const WsInspection *row, gpointer data, GError **error)
{
  Run *run = data;
  (void)error;
  const gboolean is_new = !wsi_feed_cursor_knows (&run->state->files, row->number);
  /* Before the first that is asked for: none of these is read. */
  if (is_new && run->new_rows->len == 0 && strcmp (row->time, run->feed->since) < 0)
    wsi_feed_cursor_handled (&run->state->files, row->number);
  else if (is_new)
    g_array_append_val (run->new_rows, row->number);
  run->n_to_read += run->new_rows->len > 0 ? 1 : 0;
  return TRUE;
}

static gboolean
drop_row (const WsInspection *inspection, json_t *record, gpointer data, GError **error)
{
  Run *run = data;
  if (wsi_feed_cursor_knows (&run->state->files, inspection->number))
    return TRUE;
  const gboolean is_asked = strcmp (inspection->time, run->feed->since) >= 0;
  run->fed->n_wrong += is_asked && inspection->wrong != NULL ? 1 : 0;
  if (is_asked && inspection->wrong == NULL && !drop_all_forms (run, inspection, record, error))
    return FALSE;
  wsi_feed_cursor_handled (&run->state->files, inspection->number);
  return ++run->n_unsaved % SAVE_EVERY != 0 || wsi_feed_state_save (run->state, error);
}

/* In one view of the rows, so that none comes in between and pushes another out. */
static gboolean
drop_new (Run *run, GError **error)
{
  GError *cause = NULL;
  WsArchiveFilter filter = WS_ARCHIVE_ALL;
  if (!wsi_store_each_row_behind (run->archive, run->state->files.after, note_new, run, error))
    return FALSE;
  filter.last = run->n_to_read;
  if (filter.last > 0 && !wsi_store_each_record (run->archive, &filter, drop_row, run, &cause))
  {
    run->fed->drop = g_strdup (cause->message);
    g_error_free (cause);
  }
  /* Notes are none. */
  for (guint i = 0; run->fed->drop == NULL && i < run->new_rows->len; i++)
    wsi_feed_cursor_handled (&run->state->files, g_array_index (run->new_rows, guint64, i));
  return TRUE;
}

/* What the folder doesn't take waits; what was before it is kept as dropped. */
static gboolean
feed_folder (Run *run, GError **error)
{
  if (!wsi_store_begin_reading (run->archive, error))
    return FALSE;
  const gboolean done = drop_new (run, error);
  wsi_store_end_reading (run->archive);
  return done && wsi_feed_state_save (run->state, error);
}

/* ---- Both -------------------------------------------------------------------------------------
 */

gboolean
wsi_feed_run (const WsFeed *feed, WsQuantityLookup lookup, WsFed *fed, GError **error)
{
  g_autoptr (WsArchive) archive = ws_archive_open (feed->archive, WS_ARCHIVE_READ, error);
  if (archive == NULL)
    return FALSE;
  g_autoptr (WsFeedState) state =
    wsi_feed_state_open (feed->path, archive->engine->is_folder ? 0 : WS_FEED_REMEMBERED, error);
  g_autoptr (GArray) new_rows = g_array_new (FALSE, FALSE, sizeof (guint64));
  Run run = { .feed = feed,
              .lookup = lookup,
              .archive = archive,
              .state = state,
              .fed = fed,
              .new_rows = new_rows };
  return state != NULL && (feed->folder == NULL || feed_folder (&run, error)) &&
         (feed->url == NULL || feed_agent (&run, error));
}
