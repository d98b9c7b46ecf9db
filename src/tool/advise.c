#include "tool/advise.h"

#include "result/build.h"

#include <math.h>

typedef struct
{
  guint work; /* any of it asks for the caution */
  const char *text;
} Caution;

static const Caution cautions[] = {
  { WS_WORK_GRIND | WS_WORK_MOUNT | WS_WORK_HONE,
    "Your shop's and your local safety rules come first. Grinding "
    "and setting tools is for people who were trained in it." },
  { WS_WORK_GRIND | WS_WORK_HONE, "Wear eye protection." },
  { WS_WORK_GRIND, "Keep the wheel's guards on and the tool rest close to the wheel." },
  { WS_WORK_GRIND, "No gloves, loose sleeves or cloth near the turning wheel." },
  { WS_WORK_GRIND, "Keep grinding dust out of your lungs: use the extraction." },
  { WS_WORK_MOUNT, "Lock the machine out and let everything come to rest before you reach in." },
  { WS_WORK_GRIND | WS_WORK_MOUNT | WS_WORK_HONE,
    "Lips and edges cut: hold the tool by its shank or body." },
};

/* Those that the work asks for and no work so far did. */
static void
add_cautions (WsResult *result, guint work)
{
  for (gsize i = 0; i < G_N_ELEMENTS (cautions); i++)
    if ((cautions[i].work & work) != 0 && (cautions[i].work & result->work) == 0)
      g_ptr_array_add (result->cautions, g_strdup (cautions[i].text));
  result->work |= work;
}

void
wsi_advise (WsResult *result, guint work, char *text)
{
  if (result->set_aside != NULL && work != WS_WORK_NONE)
  {
    g_free (text);
    return;
  }
  g_ptr_array_add (result->advice, text);
  add_cautions (result, work);
}

static gboolean
is_found (const WsResult *result, const char *code)
{
  for (guint i = 0; i < result->findings->len; i++)
    if (g_str_equal (((const WsFinding *)g_ptr_array_index (result->findings, i))->code, code))
      return TRUE;
  return FALSE;
}

void
wsi_advise_cleaning_first (WsResult *result)
{
  const gboolean is_burred = is_found (result, "wire-edge"), is_dirty = is_found (result, "dirt");
  if ((!is_burred && !is_dirty) || result->verdict == WS_VERDICT_ACCEPT)
    return;
  wsi_advise (result, WS_WORK_HONE,
              g_strdup_printf ("First %s, and measure again%s",
                               !is_dirty   ? "hone the wire edge off lightly"
                               : is_burred ? "clean the tool and hone the wire edge off lightly"
                                           : "clean the tool, hone a wire edge off lightly",
                               result->verdict == WS_VERDICT_REJECT
                                 ? ": what follows is for the tool without it."
                                 : "."));
}

void
wsi_advise_set_aside (WsResult *result, char *why)
{
  g_ptr_array_set_size (result->advice, 0);
  g_ptr_array_set_size (result->cautions, 0);
  g_array_set_size (result->grinding, 0);
  result->work = WS_WORK_NONE;
  wsi_advise (result, WS_WORK_NONE, g_strdup_printf ("Set it aside. %s", why));
  wsi_result_set_aside (result, why);
}

void
wsi_advise_conclude (const WsToolCard *card, WsResult *result)
{
  if (result->verdict == WS_VERDICT_ACCEPT && is_found (result, "wire-edge"))
    wsi_advise (result, WS_WORK_HONE,
                g_strdup ("Hone the wire edge off lightly before it is used; it can chatter."));
  else if (result->verdict == WS_VERDICT_ACCEPT && result->advice->len == 0)
    wsi_advise (result, WS_WORK_NONE, g_strdup ("Nothing to grind: the limits are met."));
  if (result->verdict == WS_VERDICT_REJECT && result->set_aside == NULL && card->id != NULL &&
      (result->work & (WS_WORK_GRIND | WS_WORK_HONE)) == 0)
    wsi_advise_set_aside (result,
                          g_strdup ("No grinding that can be told from this view cures what is "
                                    "outside the limits."));
}

const char *
wsi_picture_side (WsPoint one, WsPoint other)
{
  const double right = one.x - other.x, down = one.y - other.y;
  if (fabs (right) >= fabs (down))
    return right > 0.0 ? "on the right" : "on the left";
  return down > 0.0 ? "at the bottom" : "at the top";
}
