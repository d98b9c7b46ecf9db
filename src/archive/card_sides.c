#include "archive/card_sides.h"

#include <string.h>

#include <jansson.h>

#include "archive/note.h"
#include "archive/schema.h"
#include "archive/statements.h"
#include "archive/store.h"

static void
side_free (gpointer data)
{
  WsCardSide *side = data;
  g_free (side->bench);
  g_free (side->time);
  g_free (side->by);
  g_free (side->text);
  g_free (side);
}

/* The bench that changed it: what was taken in from elsewhere names that first, "bench 2, 2026-…".
 */
static char *
bench_of (const WsInspection *row)
{
  const char *end = row->imported != NULL ? strstr (row->imported, ", ") : NULL;
  return end != NULL ? g_strndup (row->imported, (gsize)(end - row->imported))
                     : g_strdup (row->bench);
}

static WsCardSide *
side_of (GPtrArray *sides, const char *bench)
{
  for (guint i = 0; i < sides->len; i++)
  {
    WsCardSide *side = g_ptr_array_index (sides, i);
    if (g_strcmp0 (side->bench, bench) == 0)
      return side;
  }
  WsCardSide *side = g_new0 (WsCardSide, 1);
  side->bench = g_strdup (bench);
  g_ptr_array_add (sides, side);
  return side;
}

static void
set_side (WsCardSide *side, const WsInspection *row)
{
  json_t *record = row->wrong == NULL ? json_loads (row->record, 0, NULL) : NULL;
  g_free (side->time);
  g_free (side->by);
  g_free (side->text);
  side->time = g_strdup (row->time);
  side->by = g_strdup (json_string_value (json_object_get (record, "by")));
  side->text = g_strdup (json_string_value (json_object_get (record, "after")));
  side->own = row->imported == NULL;
  json_decref (record);
}

static gboolean
gather (const WsInspection *row, gpointer data, GError **error)
{
  (void)error;
  if (!wsi_note_is_event (row))
    return TRUE;
  g_autofree char *bench = bench_of (row);
  WsCardSide *side = side_of (data, bench);
  if (row->imported == NULL || !side->own)
    set_side (side, row);
  return TRUE;
}

static gboolean
differ (const GPtrArray *sides)
{
  for (guint i = 0; i < sides->len; i++)
  {
    const WsCardSide *first = g_ptr_array_index (sides, 0), *side = g_ptr_array_index (sides, i);
    if (side->text == NULL || first->text == NULL || !g_str_equal (first->text, side->text))
      return TRUE;
  }
  return FALSE;
}

GPtrArray *
wsi_card_sides (WsArchive *archive, const char *tool, GError **error)
{
  g_autofree char *about = g_strconcat ("card ", tool, NULL);
  g_autoptr (GPtrArray) sides = g_ptr_array_new_with_free_func (side_free);
  if (archive->engine->version < WS_VERSION_OF_NOTES)
    return g_steal_pointer (&sides);
  if (!wsi_store_each_note (archive, about, gather, sides, error))
    return NULL;
  if (sides->len > 1 && !differ (sides))
    g_ptr_array_set_size (sides, 1);
  return g_steal_pointer (&sides);
}
