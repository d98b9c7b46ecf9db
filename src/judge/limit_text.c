#include "judge/limit_text.h"

#include <math.h>
#include <string.h>

#include "base/number.h"
#include "base/size.h"

/* What a family's name has where its members have their number: "segment_N_radius_mm". */
static gboolean
is_family_number (const char *name, const char *at)
{
  return at > name && at[-1] == '_' && at[0] == 'N' && at[1] == '_';
}

gboolean
wsi_limit_is_quantity_name (const char *name)
{
  if (!g_ascii_islower (*name))
    return FALSE;
  for (const char *at = name; *at != '\0'; at++)
    if (!g_ascii_islower (*at) && !g_ascii_isdigit (*at) && *at != '_' &&
        !is_family_number (name, at))
      return FALSE;
  return g_str_has_suffix (name, "_deg") || g_str_has_suffix (name, "_mm") ||
         g_str_has_suffix (name, "_share") || g_str_has_suffix (name, "_in");
}

/* Limits are kept in millimetres, whatever they were written in. */
static char *
in_metric (const char *key, double *lower, double *upper)
{
  if (!g_str_has_suffix (key, "_in"))
    return g_strdup (key);
  *lower *= WS_MM_PER_INCH;
  *upper *= WS_MM_PER_INCH;
  return g_strdup_printf ("%.*s_mm", (int)(strlen (key) - strlen ("_in")), key);
}

/* An empty end is open and leaves `end` as it is. */
static gboolean
read_end (char *text, double *end)
{
  g_strstrip (text);
  return *text == '\0' || wsi_number_parse (text, end);
}

static gboolean
read_range (const char *text, double *lower, double *upper)
{
  const char *dots = strstr (text, "..");
  if (dots == NULL)
    return FALSE;
  g_autofree char *left = g_strndup (text, (gsize)(dots - text));
  g_autofree char *right = g_strdup (dots + 2);
  return read_end (left, lower) && read_end (right, upper) &&
         (isfinite (*lower) || isfinite (*upper)) && *lower < *upper;
}

const char *
wsi_limit_parse (const char *key, const char *text, char **quantity, double *lower, double *upper)
{
  *lower = -INFINITY;
  *upper = INFINITY;
  if (!wsi_limit_is_quantity_name (key))
    return "a quantity's name that ends in _deg, _mm, _in or _share";
  if (text == NULL || !read_range (text, lower, upper))
    return "\"lower .. upper\", the lower first, either may be left out";
  *quantity = in_metric (key, lower, upper);
  return NULL;
}
