#include "report/starter_card.h"

#include <math.h>
#include <string.h>

#include <whetsight/judge.h>
#include <whetsight/view.h>

#include "base/number.h"
#include "base/size.h"
#include "result/build.h"

/* Places of a limit: a tenth of a micrometre, below all that is measured. */
#define PLACES 4

/* ---- [tool] -------------------------------------------------------------------------------- */

static gboolean
is_drill (WsToolKind kind)
{
  return kind == WS_KIND_TWIST_DRILL || kind == WS_KIND_SPOT_DRILL;
}

/* Without zeros at the end.  Free with g_free(). */
static char *
short_number (double value)
{
  char *text = wsi_number_format (value, PLACES);
  gsize n = strlen (text);
  while (n > 0 && text[n - 1] == '0')
    n--;
  text[n > 0 && text[n - 1] == '.' ? n - 1 : n] = '\0';
  return text;
}

/* As it was typed, and where that isn't millimetres, in them as well. */
static void
append_size (GString *text, const WsStarter *starter)
{
  const char *name = is_drill (starter->kind) ? "diameter" : "width";
  double mm;
  if (!wsi_size_parse (starter->size, &mm))
    return;
  g_autofree char *in_mm = short_number (mm);
  if (!wsi_size_says_unit (starter->size))
    g_string_append_printf (text, "%s_mm = %s\n", name, in_mm);
  else
    g_string_append_printf (text, "# %s mm\n%s = %s\n", in_mm, name, starter->size);
}

static void
append_blade (GString *text, const WsStarter *starter)
{
  if (starter->hole == WS_ANSWER_UNKNOWN)
    g_string_append (text,
                     "# The part to be cut off: yes or no; without it the rake isn't judged.\n"
                     "# part_has_centre_hole = yes\n");
  else
    g_string_append_printf (text, "part_has_centre_hole = %s\n",
                            starter->hole == WS_ANSWER_YES ? "yes" : "no");
}

static void
append_form (GString *text, const WsStarter *starter)
{
  if (starter->profile != NULL)
    g_string_append_printf (text, "nominal_profile = %s\n", starter->profile);
  else
    g_string_append (text, "# The drawing of the profile on the tool's face, beside this card:\n"
                           "# nominal_profile = profile.dxf\n");
}

static void
append_tool (GString *text, const WsStarter *starter)
{
  g_string_append_printf (text, "# %s\n[tool]\nid = %s\nkind = %s\n",
                          starter->purpose != NULL ? starter->purpose : "What the tool is for.",
                          starter->id, ws_tool_kind_name (starter->kind));
  append_size (text, starter);
  if (starter->hand != NULL)
    g_string_append_printf (text, "hand = %s\n", starter->hand);
  else if (is_drill (starter->kind))
    g_string_append (text, "# Of the flutes:\n# hand = right\n");
  else if (starter->kind == WS_KIND_CUTOFF_BLADE)
    g_string_append (text,
                     "# The corner that must lead, seen from above with the edge away from you:\n"
                     "# hand = left\n");
  if (is_drill (starter->kind))
    g_string_append (text, "# The web's thickness at the point narrows U much where it is known:\n"
                           "# web_mm = 1\n");
  if (starter->kind == WS_KIND_CUTOFF_BLADE)
    append_blade (text, starter);
  if (starter->kind == WS_KIND_FORM_TOOL)
    append_form (text, starter);
}

/* ---- [limits] ------------------------------------------------------------------------------ */

/* What the built-in limits see of the card.  Free with ws_tool_card_free(). */
static WsToolCard *
card_of (const WsStarter *starter)
{
  WsToolCard *card = ws_tool_card_new (starter->kind);
  card->id = g_strdup (starter->id);
  double *size = is_drill (starter->kind) ? &card->diameter_mm : &card->width_mm;
  wsi_size_parse (starter->size, size);
  card->part_has_centre_hole = starter->hole;
  return card;
}

/* As if all that the view can see had been seen: so it has all limits.  Free with
 * ws_result_free(). */
static WsResult *
seen_of (const WsView *view, const WsToolCard *card)
{
  WsResult *result = wsi_result_new (view->name);
  for (gsize i = 0; i < view->n_quantities; i++)
    if (strchr (view->quantities[i].stem, 'N') == NULL)
      wsi_quantity_set (wsi_result_add_quantity (result, &view->quantities[i], TRUE), 1);
  ws_limits_apply (result, card);
  return result;
}

static void
move_point_angle (const WsStarter *starter, WsQuantity *quantity)
{
  if (isnan (starter->point_angle) || !g_str_equal (quantity->info->stem, "point_angle"))
    return;
  const double half = 0.5 * (quantity->upper - quantity->lower);
  quantity->lower = starter->point_angle - half;
  quantity->upper = starter->point_angle + half;
}

static void
append_limit (GString *text, const char *mark, const WsQuantity *quantity)
{
  g_autofree char *lower = isfinite (quantity->lower) ? short_number (quantity->lower) : NULL;
  g_autofree char *upper = isfinite (quantity->upper) ? short_number (quantity->upper) : NULL;
  g_string_append_printf (text, "# %s: %s\n%s%s = %s%s..%s%s\n", quantity->info->label,
                          quantity->limit_source, mark, quantity->name, lower != NULL ? lower : "",
                          lower != NULL ? " " : "", upper != NULL ? " " : "",
                          upper != NULL ? upper : "");
}

/* A limit on a card insists on being judged, and a silhouette shows no burn. */
static gboolean
is_always_seen (const WsQuantity *quantity)
{
  return !g_str_has_prefix (quantity->info->stem, "burn_");
}

static void
append_limits (GString *text, const WsStarter *starter)
{
  const WsView *usual = ws_view_for_kind (starter->kind);
  g_autoptr (WsToolCard) card = card_of (starter);
  g_autoptr (WsResult) seen = seen_of (usual, card);
  g_string_append_printf (text,
                          "\n[limits]\n# As built in for a %s, view %s. Put your drawing's in "
                          "their place.\n",
                          ws_tool_kind_name (starter->kind), usual->name);
  for (guint i = 0; i < seen->quantities->len; i++)
  {
    WsQuantity *quantity = g_ptr_array_index (seen->quantities, i);
    move_point_angle (starter, quantity);
    if (quantity->limit_source != NULL && is_always_seen (quantity))
      append_limit (text, "", quantity);
  }
}

static gboolean
is_told (const GHashTable *told, const WsQuantity *quantity)
{
  return g_hash_table_contains ((GHashTable *)told, quantity->name);
}

/* Of other views, and what the usual one can't always see. */
static void
append_reminders (GString *text, const WsStarter *starter)
{
  const WsView *usual = ws_view_for_kind (starter->kind);
  g_autoptr (WsToolCard) card = card_of (starter);
  g_autoptr (GHashTable) told = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  for (const WsView *const *view = ws_views (); *view != NULL; view++)
  {
    g_autoptr (WsResult) seen =
      (*view)->kinds & 1U << starter->kind ? seen_of (*view, card) : wsi_result_new ((*view)->name);
    for (guint i = 0; i < seen->quantities->len; i++)
    {
      const WsQuantity *quantity = g_ptr_array_index (seen->quantities, i);
      const gboolean active = *view == usual && is_always_seen (quantity);
      if (quantity->limit_source == NULL || active || is_told (told, quantity))
        continue;
      if (g_hash_table_size (told) == 0)
        g_string_append (text, "\n# Built in as well, where a picture shows it. Without the # the "
                               "card insists on it.\n");
      append_limit (text, "# ", quantity);
      g_hash_table_add (told, g_strdup (quantity->name));
    }
  }
}

static void
append_profile_limits (GString *text)
{
  g_string_append (text, "# No standard knows the profile: its tolerance stands on the drawing.\n"
                         "# profile_deviation_max_mm = .. 0.01\n"
                         "# profile_deviation_min_mm = -0.01 ..\n");
}

char *
wsi_starter_card (const WsStarter *starter)
{
  GString *text = g_string_new (NULL);
  append_tool (text, starter);
  append_limits (text, starter);
  if (starter->kind == WS_KIND_FORM_TOOL)
    append_profile_limits (text);
  append_reminders (text, starter);
  return g_string_free (text, FALSE);
}
