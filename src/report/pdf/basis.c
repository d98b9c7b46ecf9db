#include "report/pdf/basis.h"

#include <math.h>

#include "base/geometry.h"
#include "base/language.h"
#include "base/shown.h"
#include "report/pdf/qr.h"
#include "report/pdf/read.h"
#include "report/words.h"

#define SIGNATURE 40.0
#define QR 64.0 /* 23 mm: a module of half a millimetre */

/* Clauses of ISO/IEC 17025:2017 and ISO 10012:2003, recalled from memory. */
#define BY_RULE "ISO/IEC 17025:2017, 7.8.3.1 b, 7.8.6; ISO 10012:2003, 7.3.1"
#define BY_CARD "ISO/IEC 17025:2017, 7.8.3.1 b"
#define BY_EQUIPMENT "ISO/IEC 17025:2017, 7.8.2.1 f; ISO 10012:2003, 7.1.4, 7.3.2"
#define BY_SIGNATURE "ISO/IEC 17025:2017, 7.8.2.1 o"
#define BY_IDENTITY "ISO/IEC 17025:2017, 7.8.2.1 d, l, 7.11"

static gboolean
has_limits (const json_t *record)
{
  const char *name;
  const json_t *entry;
  json_object_foreach (json_object_get (record, "quantities"), name, entry)
  {
    if (wsi_record_text (entry, "limit_source") != NULL)
      return TRUE;
  }
  return FALSE;
}

static void
put_rule (WsPage *page, const json_t *record)
{
  if (!has_limits (record))
    return;
  wsi_page_put_heading_by (page, _ ("Decision rule"), BY_RULE);
  wsi_page_put_paragraph (
    page, "",
    _ (
      "ISO 14253-1:2017. Accepted is what lies inside its limits with all of its U, the expanded "
      "uncertainty for k = 2 (about 95 %); rejected what lies outside them with all of U; "
      "undecided "
      "what is neither, or what something in the picture speaks against. Inside is the probability "
      "that the true value conforms, of a normal distribution with standard uncertainty U / k "
      "(JCGM "
      "106:2012, 7). The tool has the worst verdict of its quantities."));
}

static void
put_card (WsPage *page, const json_t *record)
{
  const json_t *tool = json_object_get (record, "tool");
  const char *id = wsi_record_text (tool, "id"), *hash = wsi_record_text (tool, "card_sha256");
  if (id == NULL || !has_limits (record))
    return;
  g_autofree char *shown = wsi_shown (id);
  g_autofree char *words = g_strdup_printf (
    _ ("Card %s, %s%s. Limits without a number in the table stand on it."), shown,
    hash != NULL ? "SHA-256 " : _ ("its revision was not recorded"), hash != NULL ? hash : "");
  wsi_page_put_heading_by (page, _ ("Tool card"), BY_CARD);
  wsi_page_put_paragraph (page, "", words);
}

/* ---- Equipment --------------------------------------------------------------------------- */

/* Free with g_free(). */
static char *
uncalibrated_words (const json_t *record)
{
  const json_t *scale = json_object_get (record, "scale");
  const json_t *corrected = json_object_get (record, "corrected");
  char number[G_ASCII_DTOSTR_BUF_SIZE] = "";
  const char *not_corrected =
    json_is_true (json_object_get (corrected, "perspective"))
      ? _ ("the lens is not corrected; perspective is, by the tool's own outline")
      : _ ("lens and perspective are not corrected");
  if (!json_is_object (scale))
    return g_strdup_printf (_ ("None: %s; lengths in px."), not_corrected);
  g_ascii_formatd (number, sizeof number, "%.7g", wsi_record_number (scale, "mm_per_px"));
  if (isfinite (wsi_record_number (scale, "known_size_mm")))
    return g_strdup_printf (_ ("Scale from the tool's own size, %s mm a pixel; %s."), number,
                            not_corrected);
  return g_strdup_printf (_ ("Scale given as %s mm a pixel; %s."), number, not_corrected);
}

/* "until 2027-01-01 …"; records of older versions have no dates.  Free with g_free(). */
static char *
validity_words (const json_t *calibration)
{
  const gboolean expired = json_is_true (json_object_get (calibration, "expired"));
  g_autofree char *made = wsi_words_local_time (wsi_record_text (calibration, "made"));
  g_autofree char *expires = wsi_words_local_time (wsi_record_text (calibration, "expires"));
  return g_strdup_printf ("%s%s%s%s%s", made != NULL ? _ ("made ") : "", made != NULL ? made : "",
                          made != NULL ? ", " : "",
                          expired           ? _ ("EXPIRED")
                          : expires != NULL ? _ ("valid until ")
                          : made != NULL    ? _ ("without a date of expiry")
                                            : _ ("valid when measured"),
                          expired || expires == NULL ? "" : expires);
}

/* Free with g_free(). */
static char *
calibration_words (const json_t *calibration)
{
  const char *check = wsi_record_text (calibration, "check");
  g_autofree char *check_time = wsi_words_local_time (wsi_record_text (calibration, "check_time"));
  g_autofree char *validity = validity_words (calibration);
  return g_strdup_printf (
    _ ("%s, camera %s, model %s, %s; last check: %s%s%s%s. SHA-256 %s"),
    wsi_record_text (calibration, "id"), wsi_record_text (calibration, "camera"),
    wsi_record_text (calibration, "model"), validity, check != NULL ? _ (check) : _ ("never"),
    check_time != NULL ? " " : "", check_time != NULL ? check_time : "",
    json_is_true (json_object_get (calibration, "check_ignored")) ? _ (", not counted") : "",
    wsi_record_text (calibration, "sha256"));
}

static void
put_equipment (WsPage *page, const WsInspection *inspection, const json_t *record)
{
  const json_t *calibration = json_object_get (record, "calibration");
  const char *program = wsi_record_text (record, "program");
  const char *camera = wsi_record_text (calibration, "camera");
  g_autofree char *resting =
    json_is_object (calibration) ? calibration_words (calibration) : uncalibrated_words (record);
  g_autofree char *instrument = g_strdup_printf (
    _ ("Instrument: %s%s%s%s%s"), program != NULL ? program : "whetsight",
    camera != NULL ? _ (", camera ") : _ (", camera not named"), camera != NULL ? camera : "",
    inspection->station != NULL ? _ (", station ") : "",
    inspection->station != NULL ? inspection->station : "");
  wsi_page_put_heading_by (page, _ ("Calibration"), BY_EQUIPMENT);
  wsi_page_put_paragraph (page, "", instrument);
  wsi_page_put_paragraph (page, "", resting);
}

/* ---- What proves it ---------------------------------------------------------------------- */

/* Free with g_free(). */
static char *
identity_words (const WsInspection *inspection, const json_t *record)
{
  const char *sha256 = wsi_record_text (json_object_get (record, "image"), "sha256");
  g_autofree char *name =
    inspection->image_name != NULL ? wsi_shown (inspection->image_name) : g_strdup ("?");
  const gboolean has_results = wsi_record_verdict (inspection->verdict) != WS_VERDICT_RETAKE;
  return g_strdup_printf (
    _ ("Inspection %s\nPicture %s%s%s%s%s%s"), inspection->id, name,
    sha256 != NULL ? ", SHA-256 " : "", sha256 != NULL ? sha256 : "",
    inspection->hash != NULL ? _ ("\nArchive hash ") : "",
    inspection->hash != NULL ? inspection->hash : "",
    has_results ? _ ("\nThese results are of this tool alone, as it lay in this picture.") : "");
}

static void
put_identity (WsPage *page, const WsInspection *inspection, const json_t *record)
{
  g_autofree char *words = identity_words (inspection, record);
  g_autofree char *code = g_strdup_printf ("whetsight inspection %s %s", inspection->id,
                                           inspection->hash != NULL ? inspection->hash : "-");
  WsTextStyle style = wsi_page_letters (WS_PAGE_TEXT, FALSE, WS_INK);
  double width, height;
  style.wrap = wsi_page_inner_width (page) - QR - 6.0;
  wsi_canvas_measure (page->cr, &style, words, &width, &height);
  wsi_page_make_room (page, fmax (height, QR) + 2.0 * WS_PAGE_ROW * WS_PAGE_TEXT);
  wsi_page_put_heading_by (page, _ ("Kept as"), BY_IDENTITY);
  wsi_page_put (page, &style, WS_PAGE_MARGIN, page->y, words);
  if (!page->dry)
    wsi_qr_draw (page->cr, code, page->width - WS_PAGE_MARGIN - QR, page->y, QR);
  page->y += fmax (height, QR) + 1.0;
}

void
wsi_page_put_basis (WsPage *page, const WsInspection *inspection, const json_t *record)
{
  put_rule (page, record);
  put_card (page, record);
  /* A retake measured nothing, by whatever scale. */
  if (wsi_record_verdict (inspection->verdict) != WS_VERDICT_RETAKE ||
      json_is_object (json_object_get (record, "calibration")))
    put_equipment (page, inspection, record);
  put_identity (page, inspection, record);
}

void
wsi_page_put_signature (WsPage *page, WsVerdict verdict)
{
  if (verdict == WS_VERDICT_RETAKE)
    return;
  wsi_page_make_room (page, SIGNATURE);
  if (page->dry)
    return;
  const WsTextStyle style = wsi_page_letters (WS_PAGE_TEXT, FALSE, WS_GREY);
  const double y = page->height - WS_PAGE_FOOTER - 22.0;
  const double middle = WS_PAGE_MARGIN + 0.62 * wsi_page_inner_width (page);
  wsi_canvas_line (page->cr, WS_INK, 0.6, wsi_point (WS_PAGE_MARGIN, y),
                   wsi_point (middle - 20.0, y));
  wsi_canvas_line (page->cr, WS_INK, 0.6, wsi_point (middle, y),
                   wsi_point (page->width - WS_PAGE_MARGIN, y));
  wsi_page_put (page, &style, WS_PAGE_MARGIN, y + 2.0, _ ("Inspected by (name, signature)"));
  wsi_page_put (page, &style, middle, y + 2.0, _ ("Date"));
  WsTextStyle small = wsi_page_letters (WS_PAGE_CLAUSE, FALSE, WS_GREY);
  small.across = WS_END;
  wsi_page_put (page, &small, middle - 20.0, y + 3.0, BY_SIGNATURE);
}
