#include "report/told.h"

#include <string.h>

#include "base/language.h"
#include "report/pdf/read.h"

char *
wsi_told_label (WsQuantityLookup lookup, const char *view, const char *name,
                const WsQuantityInfo **info)
{
  g_autofree char *family = ws_quantity_family (name);
  const WsQuantityInfo *declared = lookup != NULL ? lookup (view, name) : NULL;
  if (declared == NULL && lookup != NULL)
    declared = lookup (view, family);
  if (info != NULL)
    *info = declared;
  const char *end = strrchr (name, '_');
  GString *label = declared != NULL ? g_string_new (_ (declared->label))
                                    : g_string_new_len (name, end != NULL ? end - name : -1);
  if (declared == NULL)
  {
    g_string_replace (label, "_", " ", 0);
    label->str[0] = g_ascii_toupper (label->str[0]);
  }
  const char *digits = strpbrk (name, "0123456789");
  if (declared != NULL && digits != NULL && !g_str_equal (family, name))
  {
    g_autofree char *number = g_strdup_printf (" %u", (guint)g_ascii_strtoull (digits, NULL, 10));
    g_string_replace (label, " N", number, 1);
  }
  return g_string_free (label, FALSE);
}

static void
append_label (GString *words, const char *label, gboolean is_out)
{
  if (words->len == 0)
    g_string_append (words,
                     is_out ? _ ("Outside the limits: ") : _ ("Too near the limits to tell: "));
  else
    g_string_append (words, ", ");
  /* German writes nouns large anywhere. */
  const gboolean is_english = g_str_equal (wsi_language_code (), "en");
  g_string_append_c (words, is_english ? g_ascii_tolower (label[0]) : label[0]);
  g_string_append (words, label + 1);
}

/* The finding of that code, or NULL. */
static const char *
finding_text (const json_t *record, const char *code)
{
  const json_t *findings = json_object_get (record, "findings");
  for (gsize i = 0; code != NULL && i < json_array_size (findings); i++)
  {
    const json_t *finding = json_array_get (findings, i);
    if (g_strcmp0 (wsi_record_text (finding, "code"), code) == 0)
      return wsi_record_text (finding, "text");
  }
  return NULL;
}

char *
wsi_told_reason (WsQuantityLookup lookup, const char *view, const json_t *record)
{
  const char *name;
  json_t *entry;
  const char *code = wsi_record_text (record, "reason");
  const char *verdict = wsi_record_text (record, "verdict");
  const char *sentence = wsi_record_sentence (code);
  if (sentence == NULL)
    sentence = finding_text (record, code);
  const gboolean is_out = g_strcmp0 (verdict, "reject") == 0;
  if (sentence != NULL || (!is_out && g_strcmp0 (verdict, "undecided") != 0))
    return g_strdup (sentence != NULL ? _ (sentence) : "");
  GString *words = g_string_new (NULL);
  json_object_foreach (json_object_get (record, "quantities"), name, entry)
  {
    g_autofree char *label = wsi_told_label (lookup, view, name, NULL);
    if (g_strcmp0 (wsi_record_text (entry, "verdict"), verdict) == 0 && *label != '\0')
      append_label (words, label, is_out);
  }
  if (words->len > 0)
    g_string_append_c (words, '.');
  return g_string_free (words, FALSE);
}
