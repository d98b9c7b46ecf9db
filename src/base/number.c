#include "base/number.h"

#include <math.h>
#include <string.h>

#define MAX_PLACES 6
#define DEFAULT_PLACES 4

/* Decimal digits that a double always keeps, and that always tell it from its neighbours
 * (IEEE 754, binary64). */
#define SAFE_DIGITS 15
#define EXACT_DIGITS 17

static const char *
skip_digits (const char *text)
{
  while (g_ascii_isdigit (*text))
    text++;
  return text;
}

static const char *
skip_sign (const char *text)
{
  return *text == '+' || *text == '-' ? text + 1 : text;
}

/* g_ascii_strtod() alone would also take hex, infinities and a bare point, and the last
 * would let the limits "1...2" pass for "1 .. .2". */
static gboolean
is_decimal (const char *text)
{
  const char *start = skip_sign (text);
  const char *at = skip_digits (start);
  if (at == start)
    return FALSE;
  if (*at == '.')
  {
    start = at + 1;
    at = skip_digits (start);
    if (at == start)
      return FALSE;
  }
  if (*at == 'e' || *at == 'E')
  {
    start = skip_sign (at + 1);
    at = skip_digits (start);
    if (at == start)
      return FALSE;
  }
  return *at == '\0';
}

gboolean
wsi_number_parse (const char *text, double *value)
{
  if (text == NULL || !is_decimal (text))
    return FALSE;
  double parsed = g_ascii_strtod (text, NULL);
  if (!isfinite (parsed))
    return FALSE;
  *value = parsed;
  return TRUE;
}

guint
wsi_number_places (double U)
{
  if (!isfinite (U) || U <= 0.0)
    return DEFAULT_PLACES;
  double places = 1.0 - floor (log10 (U));
  /* 0.0996 becomes 0.10, not 0.100. */
  if (round (U * pow (10, places)) >= 100)
    places--;
  return (guint)CLAMP (places, 0.0, MAX_PLACES);
}

double
wsi_number_round_down (double value)
{
  const double power = pow (10, floor (log10 (value))), leading = value / power;
  return power * (leading >= 5 ? 5 : leading >= 2 ? 2 : 1);
}

double
wsi_number_round_up (double value, guint places)
{
  const double power = pow (10.0, places);
  return ceil (value * power - 1e-3) / power;
}

char *
wsi_number_format (double value, guint places)
{
  char format[16];
  char buffer[G_ASCII_DTOSTR_BUF_SIZE + 330]; /* 309 digits before the point at most */
  g_snprintf (format, sizeof format, "%%.%uf", MIN (places, 12));
  g_ascii_formatd (buffer, sizeof buffer, format, value);
  if (buffer[0] == '-' && strspn (buffer + 1, "0.") == strlen (buffer + 1))
    return g_strdup (buffer + 1);
  return g_strdup (buffer);
}

char *
wsi_number_exact (double value)
{
  char buffer[G_ASCII_DTOSTR_BUF_SIZE];
  for (guint digits = SAFE_DIGITS; digits <= EXACT_DIGITS; digits++)
  {
    char format[8];
    g_snprintf (format, sizeof format, "%%.%ug", digits);
    g_ascii_formatd (buffer, sizeof buffer, format, value);
    const double back = g_ascii_strtod (buffer, NULL);
    /* By bits, so that -0 comes back as it was. */
    /* NOLINTNEXTLINE(bugprone-suspicious-memory-comparison) */
    if (memcmp (&back, &value, sizeof value) == 0)
      break;
  }
  return g_strdup (buffer);
}
