/*
 * A bench and the archive that a plant shares: what the bench has goes there, tool cards come back.
 */
#include <string.h>

#include <whetsight/sync.h>

#include "archive/central_cards.h"
#include "archive/engines.h"
#include "base/language.h"
#include "bench/cards.h"
#include "cli/archive.h"
#include "cli/fail.h"
#include "cli/progress.h"
#include "cli/say.h"

#define BYTES_PER_MB 1e6
#define CENTRE "centre" /* the chain that cards come from, unless it is named */

typedef struct
{
  char *archive, *to, *bench;
  char *from, *of, *cards, *key;
  gboolean pictures, replace;
} Options;

/* ---- There ----------------------------------------------------------------------------------- */

static void
tell (const char *what, gpointer data)
{
  wsi_progress_clear (data);
  wsi_say_aside ("%s\n", what);
}

static void
show (const WsSync *so_far, guint64 all_rows, gpointer data)
{
  WsProgress *progress = data;
  progress->all = (double)(all_rows - so_far->known);
  wsi_progress_show (progress, (double)so_far->rows);
}

static void
summarise (const WsSync *done, double seconds)
{
  wsi_say ("%u rows sent (%.1f MB, %.0f a second), %u there already; %u pictures sent (%.1f MB), "
           "%u there already\n",
           (guint)done->rows, (double)done->row_bytes / BYTES_PER_MB,
           seconds > 0.0 ? (double)done->rows / seconds : 0.0, (guint)done->known,
           (guint)done->pictures, (double)done->picture_bytes / BYTES_PER_MB,
           (guint)done->known_pictures);
}

typedef gboolean (*Send) (WsArchive *archive, WsArchive *centre, const WsSyncWatcher *watcher,
                          WsSync *done, GError **error);

static int
send (WsArchive *archive, WsArchive *centre, Send how)
{
  WsProgress progress;
  const WsSyncWatcher watcher = { show, tell, &progress };
  GError *error = NULL;
  WsSync done;
  wsi_progress_start (&progress, _ ("sent"), "", 0.0);
  const gboolean sent = how (archive, centre, &watcher, &done, &error);
  wsi_progress_clear (&progress);
  if (sent || done.rows > 0)
    summarise (&done, wsi_progress_seconds (&progress));
  if (!sent)
    return wsi_fail (error);
  if (done.missing == 0)
    return WS_EXIT_ACCEPT;
  wsi_say_aside ("%u pictures weren't here as they were stored, and are missing there, too; "
                 "whetsight archive verify tells more, and --pictures sends them once they are "
                 "back\n",
                 (guint)done.missing);
  return WS_EXIT_REJECT;
}

/* ---- And back -------------------------------------------------------------------------------- */

typedef struct
{
  const Options *options;
  WsArchive *archive;
  const char *of, *sealed;
  guint taken, known, left;
} Taking;

typedef enum
{
  CARD_IS_HERE,
  CARD_IS_NEW,   /* there is none here, or one that the centre had before */
  CARD_IS_OTHERS /* changed here */
} CardState;

static CardState
state_of (const char *folder, const WsCentralCard *card)
{
  g_autofree char *text = NULL;
  g_autoptr (WsServeCard) here = wsi_cards_find (folder, card->tool, NULL);
  if (here == NULL)
    return CARD_IS_NEW;
  if (!g_file_get_contents (here->path, &text, NULL, NULL))
    return CARD_IS_OTHERS;
  if (g_str_equal (text, card->text))
    return CARD_IS_HERE;
  return g_ptr_array_find_with_equal_func (card->earlier, text, g_str_equal, NULL) ? CARD_IS_NEW
                                                                                   : CARD_IS_OTHERS;
}

static gboolean
take_card (const Taking *taking, const WsCentralCard *card, GError **error)
{
  gboolean denied = FALSE;
  g_autofree char *reason =
    g_strdup_printf ("row %" G_GUINT64_FORMAT " of %s, hash %s, sealed %s: %s", card->number,
                     taking->of, card->hash, taking->sealed, card->reason);
  const WsCardChange change = { .id = card->tool,
                                .text = card->text,
                                .by = card->by,
                                .login = g_get_user_name (),
                                .reason = reason,
                                .may_limit = TRUE };
  return wsi_cards_set (taking->options->cards, taking->archive, &change, &denied, error);
}

/* One that can't be used here leaves the others. */
static void
look_at (Taking *taking, const WsCentralCard *card)
{
  g_autoptr (GError) error = NULL;
  const CardState state = state_of (taking->options->cards, card);
  if (state == CARD_IS_HERE)
    taking->known++;
  else if (state == CARD_IS_OTHERS && !taking->options->replace)
  {
    taking->left++;
    wsi_say_aside ("card %s: the one here is none that %s had, and stays; --replace takes that of "
                   "%s by %s\n",
                   card->tool, taking->of, card->time, card->by);
  }
  else if (take_card (taking, card, &error))
  {
    taking->taken++;
    wsi_say ("card %s: of %s by %s: %s\n", card->tool, card->time, card->by, card->reason);
  }
  else
  {
    taking->left++;
    wsi_say_aside ("card %s: not taken: %s\n", card->tool, error->message);
  }
}

static int
take_all (const Options *options, WsArchive *archive, WsArchive *centre)
{
  GError *error = NULL;
  g_autofree char *sealed = NULL;
  g_autoptr (GPtrArray) cards = wsi_central_cards (centre, options->key, &sealed, &error);
  Taking taking = { .options = options,
                    .archive = archive,
                    .of = options->of != NULL ? options->of : CENTRE,
                    .sealed = sealed };
  if (cards == NULL)
    return wsi_fail (error);
  for (guint i = 0; i < cards->len; i++)
    look_at (&taking, g_ptr_array_index (cards, i));
  wsi_say ("%u cards taken, %u here already, %u left; sealed %s\n", taking.taken, taking.known,
           taking.left, sealed);
  return taking.left == 0 ? WS_EXIT_ACCEPT : WS_EXIT_REJECT;
}

/* ---- The command ----------------------------------------------------------------------------- */

/* The address, with whose chain is meant. */
static char *
address_of (const char *address, const char *bench)
{
  if (bench == NULL)
    return g_strdup (address);
  g_autofree char *escaped = g_uri_escape_string (bench, NULL, FALSE);
  return g_strconcat (address, strchr (address, '?') != NULL ? "&" : "?",
                      "application_name=", escaped, NULL);
}

static gboolean
check (const Options *options, char **words, GError **error)
{
  const char *address = options->to != NULL ? options->to : options->from;
  const guint n_words = g_strv_length (words);
  if (n_words > 2 || (n_words == 2) == (options->archive != NULL))
    return wsi_refuse_usage (error, "archive sync: name the bench's own archive, a folder, once");
  if ((options->to == NULL) == (options->from == NULL))
    return wsi_refuse_usage (error, "archive sync: give --to or --from, and the address of the "
                                    "archive that the benches share");
  if (!wsi_engine_is_address (address))
    return wsi_refuse_usage (error,
                             "archive sync: %s is no address, postgresql://…; for folders there "
                             "are archive backup, and archive bundle with archive merge",
                             address);
  if (options->to != NULL
        ? options->of != NULL || options->cards != NULL || options->key != NULL || options->replace
        : options->bench != NULL || options->pictures)
    return wsi_refuse_usage (error, "archive sync: --bench and --pictures go with --to; --of, "
                                    "--cards, --key and --replace with --from");
  if (options->from != NULL && (options->cards == NULL || options->key == NULL))
    return wsi_refuse_usage (error, "archive sync --from: give the folder of tool cards with "
                                    "--cards, and with --key the public half of the key that the "
                                    "centre seals with");
  return TRUE;
}

/* A mistyped folder isn't made.  One of an older form is brought up to this one where that can be.
 */
static WsArchive *
open_own (const char *folder, gboolean sends, GError **error)
{
  WsArchive *there = ws_archive_open (folder, WS_ARCHIVE_READ, error);
  if (there == NULL)
    return NULL;
  WsArchive *archive = ws_archive_open (folder, WS_ARCHIVE_WRITE, sends ? NULL : error);
  if (archive == NULL && sends)
    return there;
  ws_archive_free (there);
  return archive;
}

static int
sync_with (gpointer data, char **words)
{
  const Options *options = data;
  const gboolean sends = options->to != NULL;
  GError *error = NULL;
  if (!check (options, words, &error))
    return wsi_fail (error);
  g_autofree char *address =
    sends ? address_of (options->to, options->bench)
          : address_of (options->from, options->of != NULL ? options->of : CENTRE);
  const char *folder = options->archive != NULL ? options->archive : words[1];
  if (wsi_engine_is_address (folder))
  {
    wsi_refuse_usage (&error, "archive sync: the bench's own archive is a folder");
    return wsi_fail (error);
  }
  g_autoptr (WsArchive) archive = open_own (folder, sends, &error);
  g_autoptr (WsArchive) centre =
    archive != NULL ? ws_archive_open (address, sends ? WS_ARCHIVE_WRITE : WS_ARCHIVE_READ, &error)
                    : NULL;
  if (centre == NULL)
    return wsi_fail (error);
  const Send how = options->pictures ? ws_archive_sync_pictures : ws_archive_sync;
  return sends ? send (archive, centre, how) : take_all (options, archive, centre);
}

static const WsOption sync_options[] = {
  { WS_OPTION_FILE, "archive", 'a', G_STRUCT_OFFSET (Options, archive), "DIR",
    "The bench's own archive, in place of DIR behind the options", NULL },
  { WS_OPTION_TEXT, "to", 0, G_STRUCT_OFFSET (Options, to), "ADDRESS",
    "Send what is missing there, postgresql://…; passwords belong into ~/.pgpass", NULL },
  { WS_OPTION_TEXT, "bench", 0, G_STRUCT_OFFSET (Options, bench), "NAME",
    "What this bench is called there; by default as the address has it, or the computer's name",
    NULL },
  { WS_OPTION_FLAG, "pictures", 0, G_STRUCT_OFFSET (Options, pictures), NULL,
    "Send pictures that weren't here when their rows were sent, and no rows", NULL },
  { WS_OPTION_TEXT, "from", 0, G_STRUCT_OFFSET (Options, from), "ADDRESS",
    "Take tool cards from there", NULL },
  { WS_OPTION_TEXT, "of", 0, G_STRUCT_OFFSET (Options, of), "NAME",
    "Of whose chain the cards are; by default of centre", NULL },
  { WS_OPTION_FILE, "cards", 0, G_STRUCT_OFFSET (Options, cards), "DIR",
    "The bench's folder of tool cards", NULL },
  { WS_OPTION_FILE, "key", 0, G_STRUCT_OFFSET (Options, key), "FILE",
    "The public half of the key that the centre seals with", NULL },
  { WS_OPTION_FLAG, "replace", 0, G_STRUCT_OFFSET (Options, replace), NULL,
    "Cards that were changed here are replaced, too", NULL },
  WS_OPTIONS_END
};

const WsCommand wsi_archive_sync = {
  .name = "sync",
  .summary = "send what a bench has to the plant's archive, take cards from there",
  .arguments = "[DIR]",
  .about = "Sends the rows and pictures that the plant's archive lacks, in the order of the "
           "chain; stopped\nanywhere, the same call goes on. With --from it takes tool cards that "
           "the centre's chain holds\nand that its key sealed.",
  .exits = "Exit status: 0 all is there; 1 all rows are, but pictures were missing here, or cards "
           "were left\nas they are here; 64 wrong call, 65 the archive isn't the one that was sent "
           "before, or something\nisn't as it was written or sealed, 66 no archive there, 73 can't "
           "write, or nobody answers: try\nagain later.",
  .groups = { { sync_options, 0 } },
  .size = sizeof (Options),
  .run = sync_with,
};
