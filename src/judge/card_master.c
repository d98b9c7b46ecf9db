#include "judge/card_master.h"

#include <math.h>
#include <string.h>

#include <whetsight/error.h>

#include "base/number.h"
#include "base/size.h"
#include "judge/limit_text.h"

#define GROUP "master"

static void
master_clear (gpointer data)
{
  g_free (((WsMasterValue *)data)->quantity);
}

GArray *
wsi_card_masters_new (void)
{
  GArray *masters = g_array_new (FALSE, FALSE, sizeof (WsMasterValue));
  g_array_set_clear_func (masters, master_clear);
  return masters;
}

const WsMasterValue *
wsi_card_masters_find (const GArray *masters, const char *quantity)
{
  for (guint i = 0; i < masters->len; i++)
  {
    const WsMasterValue *master = &g_array_index (masters, WsMasterValue, i);
    if (g_str_equal (master->quantity, quantity))
      return master;
  }
  return NULL;
}

/* "118.021 +- 0.020", the sign as it can be typed or as it is printed. */
static gboolean
read_value (const char *text, WsMasterValue *master)
{
  static const char *const signs[] = { "+-", "+/-", "±" };
  for (gsize i = 0; text != NULL && i < G_N_ELEMENTS (signs); i++)
  {
    const char *at = strstr (text, signs[i]);
    if (at == NULL)
      continue;
    g_autofree char *value = g_strstrip (g_strndup (text, (gsize)(at - text)));
    g_autofree char *U = g_strstrip (g_strdup (at + strlen (signs[i])));
    return wsi_number_parse (value, &master->value) && wsi_number_parse (U, &master->U) &&
           master->U > 0;
  }
  return FALSE;
}

static void
make_metric (const char *key, WsMasterValue *master)
{
  if (!g_str_has_suffix (key, "_in"))
  {
    master->quantity = g_strdup (key);
    return;
  }
  master->quantity = g_strdup_printf ("%.*s_mm", (int)(strlen (key) - strlen ("_in")), key);
  master->value *= WS_MM_PER_INCH;
  master->U *= WS_MM_PER_INCH;
}

gboolean
wsi_card_masters_read (const char *name, GKeyFile *file, GArray *masters, gboolean *is_master,
                       GError **error)
{
  g_auto (GStrv) keys = g_key_file_get_keys (file, GROUP, NULL, NULL);
  *is_master = keys != NULL;
  for (gsize i = 0; keys != NULL && keys[i] != NULL; i++)
  {
    WsMasterValue master = { 0 };
    g_autofree char *text = g_key_file_get_string (file, GROUP, keys[i], NULL);
    const char *expected = NULL;
    if (!wsi_limit_is_quantity_name (keys[i]))
      expected = "a quantity's name that ends in _deg, _mm, _in or _share";
    else if (!read_value (text, &master))
      expected = "\"value +- U\", U with k = 2 and above 0";
    else
      make_metric (keys[i], &master);
    if (expected == NULL && wsi_card_masters_find (masters, master.quantity) != NULL)
    {
      g_free (master.quantity);
      expected = "a quantity once, not in two units";
    }
    if (expected != NULL)
    {
      g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s: [" GROUP "] %s: expected %s, found \"%s\"",
                   name, keys[i], expected, text != NULL ? text : "");
      return FALSE;
    }
    g_array_append_val (masters, master);
  }
  return TRUE;
}
