/*
 * An inspection on paper.
 */
#include <string.h>

#include <whetsight/error.h>
#include <whetsight/pdf.h>
#include <whetsight/view.h>

#include "base/language.h"
#include "bench/api.h"
#include "report/paper_words.h"

static GBytes *
print (WsArchive *archive, WsInspection *inspection, const WsServeRequest *request, GError **error)
{
  GError *cause = NULL;
  const char *paper = wsi_request_query (request, "paper");
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autofree char *time = g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  if (inspection->wrong == NULL)
    inspection->wrong = ws_archive_check_pictures (archive, inspection);
  g_autofree char *annotated = ws_archive_has_picture (archive, inspection, inspection->annotated)
                                 ? ws_archive_picture_path (archive, inspection->annotated)
                                 : NULL;
  g_autofree char *original = ws_archive_has_picture (archive, inspection, inspection->image)
                                ? ws_archive_picture_path (archive, inspection->image)
                                : NULL;
  g_autofree char *state = wsi_paper_state (archive, inspection, &cause);
  g_autofree char *regrind = cause == NULL ? wsi_paper_regrind (archive, inspection, &cause) : NULL;
  if (cause != NULL)
  {
    g_propagate_error (error, cause);
    return NULL;
  }
  const WsPdfPage page = { inspection, annotated, original, regrind, state };
  const WsPdfStyle style = {
    .paper = g_strcmp0 (paper, "letter") == 0 ? WS_PAPER_LETTER : WS_PAPER_A4,
    .lengths = WS_LENGTHS_MM_INCHES,
    .lookup = ws_view_lookup,
    .time = time,
  };
  return ws_pdf_report (&page, 1, &style, error);
}

WsServeReply *
wsi_api_report (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  /* Printed reports are in one language throughout. */
  wsi_language_use (NULL);
  WsArchive *archive = wsi_serve_take (serve, &error);
  g_autoptr (WsInspection) inspection =
    archive != NULL ? ws_archive_find (archive, request->ids[0], &error) : NULL;
  g_autoptr (GBytes) pdf = inspection != NULL ? print (archive, inspection, request, &error) : NULL;
  wsi_serve_give (serve, archive);
  if (pdf == NULL)
    return wsi_serve_take_error (serve, request, error);
  WsServeReply *reply = wsi_reply_bytes (200, "application/pdf", pdf);
  g_autofree char *safe = wsi_request_safe_name (request->ids[0]);
  reply->file_name = g_strconcat (g_strdelimit (safe, "\"\\", '_'), ".pdf", NULL);
  return reply;
}
