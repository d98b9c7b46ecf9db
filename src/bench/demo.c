#include "bench/demo.h"

#include <string.h>

#include <whetsight/error.h>

#include "archive/event.h"
#include "base/file.h"
#include "bench/cards.h"
#include "bench/intake.h"
#include "bench/samples.h"
#include "bench/setup.h"

/* ---- Cards and scales ----------------------------------------------------------------------- */

static gboolean
copy (const char *from, const char *to, const char *name, GError **error)
{
  gsize n;
  GError *cause = NULL;
  g_autofree char *bytes = NULL;
  g_autofree char *source = g_build_filename (from, name, NULL);
  g_autofree char *target = g_build_filename (to, name, NULL);
  if (g_file_get_contents (source, &bytes, &n, &cause))
    return wsi_file_save (target, bytes, n, error);
  g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT, "the demo's shop: %s", cause->message);
  g_error_free (cause);
  return FALSE;
}

static gboolean
write_setup (const char *samples, const char *cards, GError **error)
{
  g_autoptr (GPtrArray) pictures = wsi_samples_of (samples, NULL);
  g_autoptr (GString) text = g_string_new (NULL);
  g_autofree char *path = g_build_filename (cards, WSI_SETUP_NAME, NULL);
  for (guint i = 0; i < pictures->len; i++)
  {
    const WsSample *picture = g_ptr_array_index (pictures, i);
    g_string_append_printf (text, "[picture %s]\nscale = %s\nscale_u = %s\n", picture->file,
                            picture->scale, picture->scale_u);
  }
  return wsi_file_save (path, text->str, text->len, error);
}

gboolean
wsi_demo_prepare (const char *samples, const char *cards, GError **error)
{
  guint n = 0;
  g_autoptr (GDir) dir = g_dir_open (samples, 0, NULL);
  for (const char *name; dir != NULL && (name = g_dir_read_name (dir)) != NULL;)
    if (g_str_has_suffix (name, WSI_CARD_ENDING) || g_str_has_suffix (name, ".dxf"))
    {
      if (!copy (samples, cards, name, error))
        return FALSE;
      n++;
    }
  if (n > 0)
    return write_setup (samples, cards, error);
  g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT,
               "%s: the demo's shop isn't there; name its folder with --demo-pictures", samples);
  return FALSE;
}

/* ---- History -------------------------------------------------------------------------------- */

/* Worn, ground, good: what the shop did before the page was opened. */
static const struct
{
  const char *tool, *view, *picture;
  const char *ground; /* before it was measured, or NULL */
  double length_mm;   /* by hand; or 0 */
} history[] = {
  { "QT-D-0100", "drill-side", "lip-chipped.png", NULL, 0 },
  { "QT-D-0100", "drill-side", "point-offset.jpg", "0.4 mm off both lips, chip ground out", 0 },
  { "QT-D-0100", "drill-side", "wire-edge.png", "point set over to the axis, both lips alike", 0 },
  { "QT-D-0118", "drill-side", "trap-out-of-focus.png", NULL, 0 },
  { "QT-D-0118", "drill-side", "good-118.png", "0.3 mm off both lips", 0 },
  { "QT-D-0080", "drill-side", "corner-worn.png", NULL, 0 },
  { "QT-B-0030", "blade-plan", "blade-chipped.png", NULL, 0 },
  { "QT-B-0030", "blade-plan", "blade-good.png", "0.6 mm off the front edge", 0 },
  { "QT-B-0030", "blade-side", "blade-side.png", NULL, 0 },
  { "QT-B-0032", "blade-plan", "regrind-before.jpg", NULL, 92.4 },
  { "QT-B-0032", "blade-plan", "regrind-after.jpg", "0.45 mm off the front edge", 91.95 },
  { "QT-F-0114", "form-plan", "form-proud.png", NULL, 0 },
  { "QT-F-0114", "form-plan", "form-good.png", "third barb taken down by 0.03 mm", 0 },
  { "QT-F-0114", "part-surface", "part-chatter.jpg", NULL, 0 },
  { "QT-B-0042", "blade-face", "blade-burnt.jpg", NULL, 0 },
  { "QT-D-0127", "drill-side", "lips-unequal.png", NULL, 0 },
};

static gboolean
note_ground (WsServe *serve, const char *tool, const char *text, GError **error)
{
  const WsEventWords words = { .kind = WS_EVENT_REGRIND,
                               .subject = tool,
                               .by = "T. Grinder",
                               .account = serve->settings.login,
                               .text = text };
  WsArchive *archive = wsi_serve_take (serve, error);
  const gboolean added = archive != NULL && wsi_event_add (archive, &words, error);
  wsi_serve_give (serve, archive);
  return added;
}

static gboolean
measure (WsServe *serve, guint i, GError **error)
{
  g_auto (WsIntake) intake = { 0 };
  char length[G_ASCII_DTOSTR_BUF_SIZE] = "";
  if (history[i].length_mm > 0)
    g_ascii_dtostr (length, sizeof length, history[i].length_mm);
  g_autofree char *target = g_strdup_printf ("/measure/%s?view=%s&by=O.+Operator&length=%s",
                                             history[i].tool, history[i].view, length);
  g_autoptr (WsServeRequest) request = wsi_request_new ("POST", target);
  request->ids[0] = history[i].tool;
  request->actor.is_local = TRUE;
  return wsi_intake_sample (serve, request, history[i].picture, &intake, error);
}

gboolean
wsi_demo_fill (WsServe *serve, gboolean (*go_on) (void), GError **error)
{
  for (guint i = 0; i < G_N_ELEMENTS (history); i++)
  {
    if (go_on != NULL && !go_on ())
      return TRUE;
    if (history[i].ground != NULL &&
        !note_ground (serve, history[i].tool, history[i].ground, error))
      return FALSE;
    if (!measure (serve, i, error))
      return FALSE;
  }
  return TRUE;
}
