#include "judge/card_part.h"

#include <math.h>
#include <string.h>

#include <whetsight/error.h>

#include "base/number.h"

#define GROUP "part"

static void
order_clear (gpointer data)
{
  g_free (((WsOrder *)data)->name);
}

void
wsi_part_spec_init (WsPartSpec *part)
{
  part->diameter_mm = part->speed_rpm = part->feed_mm = NAN;
  part->orders = g_array_new (FALSE, FALSE, sizeof (WsOrder));
  g_array_set_clear_func (part->orders, order_clear);
}

void
wsi_part_spec_clear (WsPartSpec *part)
{
  g_clear_pointer (&part->orders, g_array_unref);
}

static gboolean
refuse (const char *name, const char *key, const char *expected, const char *found, GError **error)
{
  g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s: [" GROUP "] %s: expected %s, found \"%s\"",
               name, key, expected, found);
  return FALSE;
}

/* "gear 24; bearing 7.21": a name and how often it comes in one turn of the spindle. */
static gboolean
read_orders (const char *name, const char *text, WsPartSpec *part, GError **error)
{
  g_auto (GStrv) list = g_strsplit (text, ";", -1);
  for (char **item = list; *item != NULL; item++)
  {
    const char *words = g_strstrip (*item), *last = strrchr (words, ' ');
    double count;
    if (*words == '\0')
      continue;
    if (last == NULL || !wsi_number_parse (last + 1, &count) || !(count > 0 && count < 1e4))
      return refuse (name, "orders", "names with their number a turn, as \"gear 24; bearing 7.2\"",
                     text, error);
    WsOrder order = { g_strndup (words, (gsize)(last - words)), count };
    g_strchomp (order.name);
    g_array_append_val (part->orders, order);
  }
  return TRUE;
}

gboolean
wsi_part_spec_read (const char *name, GKeyFile *file, WsPartSpec *part, GError **error)
{
  const struct
  {
    const char *key, *expected;
    double *value, most;
  } numbers[] = {
    { "diameter_mm", "millimetres, above 0 and at most 1000", &part->diameter_mm, 1000 },
    { "speed_rpm", "turns a minute, above 0 and at most 100000", &part->speed_rpm, 100000 },
    { "feed_mm", "millimetres a turn, above 0 and at most 10", &part->feed_mm, 10 },
  };
  g_auto (GStrv) keys = g_key_file_get_keys (file, GROUP, NULL, NULL);
  for (char **key = keys; key != NULL && *key != NULL; key++)
  {
    g_autofree char *text = g_key_file_get_string (file, GROUP, *key, NULL);
    gsize i = 0;
    while (i < G_N_ELEMENTS (numbers) && !g_str_equal (numbers[i].key, *key))
      i++;
    if (i == G_N_ELEMENTS (numbers) && g_str_equal (*key, "orders") && text != NULL)
    {
      if (!read_orders (name, text, part, error))
        return FALSE;
      continue;
    }
    if (i == G_N_ELEMENTS (numbers))
    {
      g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                   "%s: [" GROUP
                   "] %s: not a key; expected diameter_mm, speed_rpm, feed_mm, orders",
                   name, *key);
      return FALSE;
    }
    double value;
    if (text == NULL || !wsi_number_parse (text, &value) ||
        !(value > 0 && value <= numbers[i].most))
      return refuse (name, *key, numbers[i].expected, text != NULL ? text : "", error);
    *numbers[i].value = value;
  }
  return TRUE;
}
