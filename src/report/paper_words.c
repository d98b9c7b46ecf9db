#include "report/paper_words.h"

#include "archive/state.h"
#include "base/language.h"
#include "report/words.h"

char *
wsi_paper_state (WsArchive *archive, const WsInspection *inspection, GError **error)
{
  g_autoptr (WsToolState) state =
    inspection->tool != NULL ? wsi_archive_tool_state (archive, inspection->tool, error) : NULL;
  return state != NULL ? wsi_words_state (state) : NULL;
}

/* ---- Regrinds ------------------------------------------------------------------------ */

typedef struct
{
  const char *time; /* of the inspection that is printed */
  char *before;     /* of the last regrind up to it, or NULL */
  char *after;      /* of the first one since, or NULL */
} Regrinds;

static gboolean
note_regrind (const WsInspection *inspection, gpointer data, GError **error)
{
  Regrinds *regrinds = data;
  const gboolean later = g_strcmp0 (inspection->time, regrinds->time) > 0;
  char **time = later ? &regrinds->after : &regrinds->before;
  (void)error;
  if (!inspection->reground || inspection->wrong != NULL)
    return TRUE;
  if (*time == NULL || (g_strcmp0 (inspection->time, *time) < 0) == later)
  {
    g_free (*time);
    *time = g_strdup (inspection->time);
  }
  return TRUE;
}

char *
wsi_paper_regrind (WsArchive *archive, const WsInspection *inspection, GError **error)
{
  Regrinds regrinds = { .time = inspection->time };
  WsArchiveFilter filter = WS_ARCHIVE_ALL;
  filter.tool = inspection->tool;
  if (inspection->tool == NULL ||
      !ws_archive_each (archive, &filter, TRUE, note_regrind, &regrinds, error))
    return NULL;
  g_autofree char *before = regrinds.before, *after = regrinds.after;
  g_autofree char *before_day = wsi_words_local (before, "%Y-%m-%d");
  g_autofree char *after_day = wsi_words_local (after, "%Y-%m-%d");
  return g_strdup_printf ("%s%s%s%s",
                          inspection->reground ? _ ("just before this picture")
                          : before != NULL     ? _ ("last on ")
                                               : _ ("not on record"),
                          inspection->reground || before == NULL ? "" : before_day,
                          after != NULL ? _ ("; AGAIN SINCE, ") : "",
                          after != NULL ? after_day : "");
}
