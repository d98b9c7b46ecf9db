#include <stdio.h>
#include <string.h>

#include <jansson.h>

#include "base/language.h"
#include "base/number.h"

#include "archive/card_sides.h"
#include "archive/note.h"
#include "archive/state.h"
#include "cli/archive.h"
#include "cli/fail.h"
#include "cli/say.h"
#include "report/words.h"

typedef struct
{
  const char *quantity;
  gboolean json;
  guint64 n;
  GPtrArray *tools; /* of char *: ids, each once */
  const WsArchive *archive;
  int status;
} Listing;

/* "118.02 ± 0.05" of the quantity that was asked for; free with g_free(). */
static char *
value_words (const char *record, const char *quantity)
{
  json_t *root = json_loads (record, 0, NULL);
  json_t *entry = json_object_get (json_object_get (root, "quantities"), quantity);
  const double value = json_number_value (json_object_get (entry, "value"));
  const double U = json_number_value (json_object_get (entry, "U"));
  const guint places = wsi_number_places (U);
  g_autofree char *value_text = wsi_number_format (value, places);
  g_autofree char *U_text = wsi_number_format (U, places);
  json_decref (root);
  return g_strdup_printf ("  %s ± %s", value_text, U_text);
}

static void
print_wrong (Listing *listing, const WsInspection *inspection)
{
  const char *id = inspection->id != NULL ? inspection->id : "?";
  listing->status = wsi_archive_tell_wrong (listing->archive, id, inspection->wrong);
  if (!listing->json)
    wsi_say ("%s  NOT AS IT WAS WRITTEN\n", id);
}

/* What people added to it. */
static void
print_notes (const WsInspection *inspection, const char *indent)
{
  for (guint i = 0; inspection->notes != NULL && i < inspection->notes->len; i++)
  {
    const WsNote *note = g_ptr_array_index (inspection->notes, i);
    g_autofree char *time = wsi_words_local_time (note->time);
    g_autofree char *words = wsi_note_told (note, time);
    wsi_say ("%s%s\n", indent, words);
  }
}

/* The record, and behind it a line for each note. */
static void
print_json (const WsInspection *inspection)
{
  wsi_say_json (inspection->record);
  for (guint i = 0; inspection->notes != NULL && i < inspection->notes->len; i++)
    wsi_say_json (((const WsNote *)g_ptr_array_index (inspection->notes, i))->record);
}

static gboolean
print_row (const WsInspection *inspection, gpointer data, GError **error)
{
  Listing *listing = data;
  g_autofree char *value = NULL;
  (void)error;
  listing->n++;
  if (inspection->wrong != NULL)
  {
    print_wrong (listing, inspection);
    return TRUE;
  }
  if (inspection->tool != NULL &&
      !g_ptr_array_find_with_equal_func (listing->tools, inspection->tool, g_str_equal, NULL))
    g_ptr_array_add (listing->tools, g_strdup (inspection->tool));
  if (listing->json)
  {
    print_json (inspection);
    return TRUE;
  }
  if (listing->quantity != NULL)
    value = value_words (inspection->record, listing->quantity);
  wsi_say ("%s  %-12s %-12s %-12s %-9s%s%s%s%s%s%s%s\n", inspection->id,
           inspection->tool != NULL ? inspection->tool : "-", inspection->kind, inspection->view,
           inspection->verdict != NULL ? _ (inspection->verdict) : _ ("no limits"),
           inspection->station != NULL ? _ ("  at ") : "",
           inspection->station != NULL ? inspection->station : "",
           inspection->grinder != NULL ? _ ("  ground by ") : "",
           inspection->grinder != NULL ? inspection->grinder : "",
           inspection->imported != NULL ? _ ("  imported") : "",
           inspection->clock != NULL ? _ ("  CLOCK SET BACK") : "", value != NULL ? value : "");
  print_notes (inspection, "    ");
  return TRUE;
}

/* "bench 1 since 2026-11-25 10:15 by R. Vane"; free with g_free(). */
static char *
side_words (const WsCardSide *side)
{
  const char *bench = side->bench != NULL ? side->bench : _ ("this archive");
  if (side->text == NULL)
    return g_strdup_printf (_ ("%s NOT AS IT WAS WRITTEN"), bench);
  g_autofree char *time = wsi_words_local_time (side->time);
  return g_strdup_printf (_ ("%s since %s by %s"), bench, time, side->by);
}

/* Benches that have other cards of one tool judge it by other limits. */
static gboolean
print_card_sides (WsArchive *archive, const char *tool, GError **error)
{
  g_autoptr (GPtrArray) sides = tool != NULL ? wsi_card_sides (archive, tool, error) : NULL;
  if (sides == NULL || sides->len < 2)
    return tool == NULL || sides != NULL;
  wsi_say ("The cards of tool %s DIFFER:\n", tool);
  for (guint i = 0; i < sides->len; i++)
  {
    g_autofree char *words = side_words (g_ptr_array_index (sides, i));
    wsi_say ("    %s\n", words);
  }
  return TRUE;
}

static gboolean
print_state (WsArchive *archive, const char *tool, GError **error)
{
  g_autoptr (WsToolState) state = wsi_archive_tool_state (archive, tool, error);
  if (state == NULL)
    return FALSE;
  g_autofree char *words = wsi_words_state (state);
  wsi_say ("Tool %s is %s.\n", tool, words);
  return TRUE;
}

/* Each tool's standing takes all of its inspections: of more tools nobody who asked for something
 * else waits for it.  Own choice. */
#define MOST_TOOLS 20

/* What all of a tool's inspections say of it, whichever of them were asked for. */
static gboolean
print_states (WsArchive *archive, const GPtrArray *tools, GError **error)
{
  if (tools->len > 0)
    wsi_say ("\n");
  const gboolean few = tools->len <= MOST_TOOLS;
  if (!few)
    wsi_say (_ ("%u tools: what all views say of each, whetsight archive tools tells.\n"),
             tools->len);
  for (guint i = 0; i < tools->len; i++)
  {
    const char *tool = g_ptr_array_index (tools, i);
    if ((few && !print_state (archive, tool, error)) || !print_card_sides (archive, tool, error))
      return FALSE;
  }
  return TRUE;
}

typedef struct
{
  gboolean json;
  WsFilterOptions filter;
} ListOptions;

static int
list (gpointer data, char **words)
{
  const ListOptions *options = data;
  g_autoptr (WsArchive) archive = NULL;
  WsArchiveFilter filter;
  g_autoptr (GPtrArray) tools = g_ptr_array_new_with_free_func (g_free);
  Listing listing = { .quantity = options->filter.quantity, .json = options->json, .tools = tools };
  GError *error = NULL;
  if (!wsi_filter_options_read (&options->filter, &filter, &error) ||
      (archive = wsi_archive_command_open (words, 0, _ ("one folder"), WS_ARCHIVE_READ, &error)) ==
        NULL)
    return wsi_fail (error);
  listing.archive = archive;
  if (!ws_archive_each (archive, &filter, TRUE, print_row, &listing, &error))
    return wsi_fail (error);
  if (!listing.json && !print_states (archive, tools, &error))
    return wsi_fail (error);
  if (listing.n == 0)
    wsi_filter_options_suggest (&options->filter, archive);
  if (!listing.json)
    wsi_say_aside ("%u inspections\n", (guint)listing.n);
  return listing.status;
}

static const WsOption list_options[] = {
  { WS_OPTION_FLAG, "json", 'j', G_STRUCT_OFFSET (ListOptions, json), NULL,
    "Print the records, one a line, and behind each its notes", NULL },
  WS_OPTIONS_END
};

const WsCommand wsi_archive_list = {
  .name = "list",
  .summary = "find inspections",
  .arguments = "DIR",
  .about = "Lists inspections in the order they were stored: id, tool, kind, view, verdict; then "
           "what all\nviews of each tool say of it: fit, not fit or incomplete.",
  .groups = { { list_options, 0 }, { wsi_filter_options, G_STRUCT_OFFSET (ListOptions, filter) } },
  .size = sizeof (ListOptions),
  .run = list,
};

static void
print_member (const char *name, const char *text)
{
  if (text != NULL)
    wsi_say ("%-11s %s\n", name, text);
}

static void
print_picture (const WsArchive *archive, const WsInspection *inspection, const char *name,
               const char *sha256)
{
  if (sha256 == NULL)
    return;
  g_autofree char *path = ws_archive_picture_path (archive, sha256);
  const gboolean there = ws_archive_has_picture (archive, inspection, sha256);
  print_member (name, there ? path : sha256);
}

static void
print_quantities (const char *record)
{
  const char *name;
  json_t *entry;
  json_t *root = json_loads (record, 0, NULL);
  json_t *quantities = json_object_get (root, "quantities");
  if (json_object_size (quantities) > 0)
    wsi_say ("\n");
  json_object_foreach (quantities, name, entry)
  {
    const char *verdict = json_string_value (json_object_get (entry, "verdict"));
    const double U = json_number_value (json_object_get (entry, "U"));
    const guint places = wsi_number_places (U);
    g_autofree char *value =
      wsi_number_format (json_number_value (json_object_get (entry, "value")), places);
    g_autofree char *U_text = wsi_number_format (U, places);
    g_autofree char *given =
      wsi_number_exact (json_number_value (json_object_get (entry, "given")));
    if (json_is_number (json_object_get (entry, "given")))
      wsi_say ("%-28s %10s   given\n", name, given);
    else if (json_is_null (json_object_get (entry, "value")))
      wsi_say ("%-28s unknown\n", name);
    else
      wsi_say ("%-28s %10s ± %-8s %s\n", name, value, U_text, verdict != NULL ? _ (verdict) : "-");
  }
  json_decref (root);
}

static void
print_clock (const WsInspection *inspection)
{
  g_autofree char *newest =
    inspection->clock != NULL ? wsi_words_local_time (inspection->clock) : NULL;
  if (newest != NULL)
    wsi_say ("%-11s set back: it was stored after one of %s\n", _ ("clock"), newest);
}

static void
print_inspection (const WsArchive *archive, const WsInspection *inspection)
{
  g_autofree char *number = g_strdup_printf ("%" G_GUINT64_FORMAT, inspection->number);
  g_autofree char *time = wsi_words_local_time (inspection->time);
  print_member ("id", inspection->id);
  print_member (_ ("number"), number);
  print_member (_ ("time"), time);
  print_member (_ ("tool"), inspection->tool);
  print_member (_ ("kind"), inspection->kind);
  print_member (_ ("view"), inspection->view);
  print_member (_ ("verdict"),
                inspection->verdict != NULL ? _ (inspection->verdict) : _ ("no limits"));
  print_member (_ ("reason"), inspection->reason);
  print_member (_ ("station"), inspection->station);
  print_member (_ ("ground by"), inspection->grinder);
  print_member (_ ("reground"), inspection->reground ? _ ("yes") : NULL);
  print_member (_ ("imported"), inspection->imported);
  print_clock (inspection);
  print_member (_ ("picture"), inspection->image_name);
  print_picture (archive, inspection, _ ("original"), inspection->image);
  print_picture (archive, inspection, _ ("annotated"), inspection->annotated);
  print_member (_ ("hash"), inspection->hash);
  print_notes (inspection, "");
  print_quantities (inspection->record);
}

/* The record stands without its pictures, but whoever looks at them has to know. */
static int
tell_pictures (const WsArchive *archive, const WsInspection *inspection)
{
  g_autofree char *wrong = ws_archive_check_pictures (archive, inspection);
  return wrong == NULL
           ? WS_EXIT_ACCEPT
           : wsi_fail (g_error_new (WS_ERROR, WS_ERROR_DATA, "archive %s: %s: %s",
                                    ws_archive_folder (archive), inspection->id, wrong));
}

typedef struct
{
  gboolean json;
} ShowOptions;

static int
show (gpointer data, char **words)
{
  const ShowOptions *options = data;
  GError *error = NULL;
  g_autoptr (WsArchive) archive = NULL;
  g_autoptr (WsInspection) inspection = NULL;
  if ((archive = wsi_archive_command_open (words, 1, _ ("a folder and an id"), WS_ARCHIVE_READ,
                                           &error)) == NULL ||
      (inspection = ws_archive_find (archive, words[2], &error)) == NULL)
    return wsi_fail (error);
  if (inspection->wrong != NULL)
    return wsi_archive_tell_wrong (archive, inspection->id, inspection->wrong);
  if (options->json)
    print_json (inspection);
  else
  {
    print_inspection (archive, inspection);
    if (!print_card_sides (archive, inspection->tool, &error))
      return wsi_fail (error);
  }
  return tell_pictures (archive, inspection);
}

static const WsOption show_options[] = { { WS_OPTION_FLAG, "json", 'j',
                                           G_STRUCT_OFFSET (ShowOptions, json), NULL,
                                           "Print the record, and behind it its notes", NULL },
                                         WS_OPTIONS_END };

const WsCommand wsi_archive_show = {
  .name = "show",
  .summary = "print one inspection",
  .arguments = "DIR ID",
  .groups = { { show_options, 0 } },
  .size = sizeof (ShowOptions),
  .run = show,
};
