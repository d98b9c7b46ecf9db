/*
 * No green light without proof: what must have been judged before a tool is accepted.
 */
#include <whetsight/judge.h>

#include <string.h>

#include "result/build.h"

#define NOT_JUDGED "not-judged"
#define NOT_SEEN "not-seen"

/* What stands in the way, as clauses. */
typedef struct
{
  GString *unjudged;
  GString *unseen;
  gboolean has_card, has_scale;
} Missing;

static void append (GString *clauses, const char *format, ...) G_GNUC_PRINTF (2, 3);

static void
append (GString *clauses, const char *format, ...)
{
  if (clauses->len > 0)
    g_string_append (clauses, "; ");
  va_list arguments;
  va_start (arguments, format);
  g_string_append_vprintf (clauses, format, arguments);
  va_end (arguments);
}

static const WsQuantity *
find (const WsResult *result, const char *stem)
{
  for (guint i = 0; i < result->quantities->len; i++)
  {
    const WsQuantity *quantity = g_ptr_array_index (result->quantities, i);
    if (g_str_equal (quantity->info->stem, stem))
      return quantity;
  }
  return NULL;
}

static gboolean
in_px (const WsQuantity *quantity)
{
  return g_str_has_suffix (quantity->name, "_px");
}

/* Without a card or a scale one clause tells of all that is missing for that. */
static void
demand (Missing *missing, const WsQuantity *quantity, const char *name, const char *on_card)
{
  /* A size that was given isn't this picture's to judge. */
  if (quantity != NULL && quantity->given)
    return;
  if (quantity != NULL && quantity->known && quantity->verdict == WS_VERDICT_NONE)
  {
    if (!missing->has_card)
      return;
    if (on_card != NULL)
      append (missing->unjudged, "%s: %s", quantity->info->label, on_card);
    else if (missing->has_scale || !in_px (quantity))
      append (missing->unjudged, "%s: no limit for it", quantity->info->label);
  }
  else if (quantity == NULL && !missing->has_scale)
    return;
  else if (quantity == NULL || !quantity->known)
    append (missing->unseen, "%s", quantity != NULL ? quantity->info->label : name);
}

/* What the card limits it asks for, though it can't be told from this picture. */
static void
demand_limited (Missing *missing, const WsResult *result)
{
  for (guint i = 0; i < result->quantities->len; i++)
  {
    const WsQuantity *quantity = g_ptr_array_index (result->quantities, i);
    if (quantity->verdict == WS_VERDICT_UNDECIDED && !quantity->known)
      append (missing->unseen, "%s", quantity->info->label);
  }
}

static guint
demand_all (Missing *missing, const WsResult *result, const WsRequired *required, gsize n,
            const WsToolCard *card)
{
  guint n_demanded = 0;
  for (gsize i = 0; i < n; i++)
  {
    const WsQuantity *quantity = find (result, required[i].stem);
    if (!(required[i].kinds & 1U << card->kind) ||
        (required[i].by_nominal && card->form.nominal == NULL))
      continue;
    n_demanded++;
    if (quantity == NULL || quantity->known || quantity->limit_source == NULL)
      demand (missing, quantity, required[i].stem, required[i].on_card);
  }
  return n_demanded;
}

/* That nothing is burnt says nothing of a tool's shape, nor that it is one: built-in limits judge
 * colour in a picture of anything. */
static gboolean
any_judged (const WsResult *result)
{
  for (guint i = 0; i < result->quantities->len; i++)
  {
    const WsQuantity *quantity = g_ptr_array_index (result->quantities, i);
    if (quantity->verdict != WS_VERDICT_NONE && !g_str_has_prefix (quantity->info->stem, "burn"))
      return TRUE;
  }
  return FALSE;
}

static void
hold (WsResult *result, const Missing *missing)
{
  const gboolean unjudged = missing->unjudged->len > 0, unseen = missing->unseen->len > 0;
  if (!unjudged && !unseen)
    return;
  wsi_result_hold (result, WS_HOLD_TOOL, unjudged ? NOT_JUDGED : NOT_SEEN, "%s%s%s%s%s%s",
                   unjudged ? "Not judged: " : "", missing->unjudged->str, unjudged ? "." : "",
                   unseen ? &" Not seen in this picture: "[unjudged ? 0 : 1] : "",
                   missing->unseen->str, unseen ? "." : "");
  result->verdict = WS_VERDICT_UNDECIDED;
}

void
ws_verdicts_require (WsResult *result, const WsRequired *required, gsize n, const WsToolCard *card,
                     gboolean has_scale)
{
  /* A rejection stands whatever else wasn't judged, and a stronger hold says enough. */
  if (result->verdict >= WS_VERDICT_REJECT || result->hold != WS_HOLD_NONE)
    return;
  g_autoptr (GString) unjudged = g_string_new (NULL), unseen = g_string_new (NULL);
  Missing missing = { unjudged, unseen, card->id != NULL, has_scale };
  if (card->id == NULL)
    append (unjudged, "no tool card says what this tool should be");
  if (!has_scale)
    append (unjudged, "lengths, since no scale was given");
  const guint n_demanded = demand_all (&missing, result, required, n, card);
  if (n_demanded == 0 && !any_judged (result))
    append (unjudged, "there are no limits to judge its shape by");
  demand_limited (&missing, result);
  hold (result, &missing);
}

static void
advise (WsResult *result, const char *text)
{
  g_ptr_array_add (result->advice, g_strdup (text));
}

/* What would settle what wasn't judged. */
static void
advise_settling (WsResult *result, const WsToolCard *card, gboolean has_scale)
{
  if (card->id == NULL)
    advise (result, "Name the tool's card (--tool), which says what the tool should be.");
  if (!has_scale)
    advise (result, "Give a scale (--scale) or a calibrated camera (--calib), so that lengths can "
                    "be judged.");
  if (result->advice->len == 0 && result->hold == WS_HOLD_TOOL)
    advise (result, "Complete the tool card or take a picture that shows what is missing, and "
                    "measure again.");
}

static void
hold_damage (WsResult *result)
{
  static const char *const damage[] = { "chip",      "corner-worn",      "burn",
                                        "wear-land", "point-off-centre", "side-rubs",
                                        NULL };
  for (guint i = 0; i < result->findings->len; i++)
  {
    const WsFinding *finding = g_ptr_array_index (result->findings, i);
    if (!g_strv_contains (damage, finding->code))
      continue;
    result->verdict = WS_VERDICT_UNDECIDED;
    g_ptr_array_set_size (result->advice, 0);
    wsi_result_hold (result, WS_HOLD_TOOL, "damage",
                     "Inside the limits by numbers, but damage was seen that no limit allows.");
    advise (result, "Look at the damage; limit it on the tool card if it may be.");
    return;
  }
}

void
ws_verdicts_conclude (WsResult *result, const WsToolCard *card, gboolean has_scale)
{
  if (result->verdict == WS_VERDICT_ACCEPT)
    hold_damage (result);
  if (result->verdict == WS_VERDICT_UNDECIDED)
    advise_settling (result, card, has_scale);
}
