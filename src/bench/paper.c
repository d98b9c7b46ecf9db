/*
 * On paper: an inspection, and what is to be ground.
 */
#include <string.h>

#include <whetsight/error.h>
#include <whetsight/pdf.h>
#include <whetsight/view.h>

#include "base/language.h"
#include "bench/api.h"
#include "bench/cards.h"
#include "bench/shelf.h"
#include "report/paper_words.h"
#include "report/pdf/grind_sheet.h"

/* What a page takes of an inspection, and who owns it. */
typedef struct
{
  char *annotated, *original, *state, *regrind;
  WsPdfPage page;
} Printed;

static void
printed_clear (Printed *printed)
{
  g_free (printed->annotated);
  g_free (printed->original);
  g_free (printed->state);
  g_free (printed->regrind);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Printed, printed_clear)

static char *
path_of (WsArchive *archive, const WsInspection *inspection, const char *sha256)
{
  return ws_archive_has_picture (archive, inspection, sha256)
           ? ws_archive_picture_path (archive, sha256)
           : NULL;
}

static gboolean
fill (WsArchive *archive, WsInspection *inspection, Printed *printed, GError **error)
{
  GError *cause = NULL;
  if (inspection->wrong == NULL)
    inspection->wrong = ws_archive_check_pictures (archive, inspection);
  printed->annotated = path_of (archive, inspection, inspection->annotated);
  printed->original = path_of (archive, inspection, inspection->image);
  printed->state = wsi_paper_state (archive, inspection, &cause);
  printed->regrind = cause == NULL ? wsi_paper_regrind (archive, inspection, &cause) : NULL;
  printed->page = (WsPdfPage){ inspection, printed->annotated, printed->original, printed->regrind,
                               printed->state };
  if (cause != NULL)
    g_propagate_error (error, cause);
  return cause == NULL;
}

/* `time`: of printing. */
static WsPdfStyle
style_of (const WsServeRequest *request, const char *time)
{
  const char *paper = wsi_request_query (request, "paper");
  return (WsPdfStyle){
    .paper = g_strcmp0 (paper, "letter") == 0 ? WS_PAPER_LETTER : WS_PAPER_A4,
    .lengths = WS_LENGTHS_MM_INCHES,
    .lookup = ws_view_lookup,
    .time = time,
  };
}

static char *
time_now (void)
{
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  return g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
}

static GBytes *
print (WsArchive *archive, WsInspection *inspection, const WsServeRequest *request, GError **error)
{
  g_auto (Printed) printed = { 0 };
  g_autofree char *time = time_now ();
  const WsPdfStyle style = style_of (request, time);
  return fill (archive, inspection, &printed, error)
           ? ws_pdf_report (&printed.page, 1, &style, error)
           : NULL;
}

/* "QT-D-0118.pdf", from what a request says. */
static WsServeReply *
paper_reply (GBytes *pdf, const char *name, const char *ending)
{
  WsServeReply *reply = wsi_reply_bytes (200, "application/pdf", pdf);
  g_autofree char *safe = wsi_request_safe_name (name);
  reply->file_name = g_strconcat (g_strdelimit (safe, "\"\\", '_'), ending, NULL);
  return reply;
}

WsServeReply *
wsi_api_report (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  WsArchive *archive = wsi_serve_take (serve, &error);
  g_autoptr (WsInspection) inspection =
    archive != NULL ? ws_archive_find (archive, request->ids[0], &error) : NULL;
  g_autoptr (GBytes) pdf = inspection != NULL ? print (archive, inspection, request, &error) : NULL;
  wsi_serve_give (serve, archive);
  if (pdf == NULL)
    return wsi_serve_take_error (serve, request, error);
  return paper_reply (pdf, request->ids[0], ".pdf");
}

/* ---- What is to be ground -----------------------------------------------------------------------
 */

static GBytes *
print_grind_sheet (WsArchive *archive, const WsToolCard *card, const WsServeRequest *request,
                   GError **error)
{
  g_auto (Printed) printed = { 0 };
  WsWaiting waiting = { .waits = FALSE };
  g_autofree char *time = time_now ();
  g_autofree char *words = wsi_card_words (card);
  const WsPdfStyle style = style_of (request, time);
  const gboolean found =
    wsi_waiting_find (archive, card->id, &waiting, error) &&
    (waiting.inspection == NULL || fill (archive, waiting.inspection, &printed, error));
  const WsGrindSheet sheet = {
    .tool = card->id,
    .words = words,
    .handed_by = waiting.handed_by,
    .handed = waiting.handed,
    .page = waiting.inspection != NULL ? &printed.page : NULL,
    .record = waiting.record,
  };
  GBytes *pdf = found ? wsi_grind_sheet_print (&sheet, &style, error) : NULL;
  wsi_waiting_clear (&waiting);
  return pdf;
}

WsServeReply *
wsi_api_grind_sheet (WsServe *serve, WsServeRequest *request)
{
  GError *error = NULL;
  g_autoptr (WsServeCard) card = wsi_cards_find (serve->settings.cards, request->ids[0], &error);
  WsArchive *archive = card != NULL ? wsi_serve_take (serve, &error) : NULL;
  g_autoptr (GBytes) pdf =
    archive != NULL ? print_grind_sheet (archive, card->card, request, &error) : NULL;
  wsi_serve_give (serve, archive);
  return pdf != NULL ? paper_reply (pdf, request->ids[0], "-grind.pdf")
                     : wsi_serve_take_error (serve, request, error);
}
