#include "base/number.h"

#include <math.h>
#include <stdlib.h>
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

/* Powers of ten that a double has exactly, and whole numbers that it has all of: their product or
 * quotient is then the double nearest to the decimal (W. Clinger, PLDI 1990). */
static const double exact_tens[] = { 1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                     1e8,  1e9,  1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
                                     1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22 };
#define EXACT_WHOLE (G_GUINT64_CONSTANT (1) << 53)

double
wsi_number_decimal (const char *from, const char *behind)
{
  const char *at = *from == '-' ? from + 1 : from;
  guint64 whole = 0;
  int tens = 0;
  gboolean after_point = FALSE;
  for (; at < behind && (*at == '.' || g_ascii_isdigit (*at)); at++)
    if (*at == '.')
      after_point = TRUE;
    else
    {
      if (whole >= EXACT_WHOLE / 10)
        return g_ascii_strtod (from, NULL);
      whole = 10 * whole + (guint64)(*at - '0');
      tens -= after_point ? 1 : 0;
    }
  /* An exponent of three digits is beyond the exact ones. */
  if (at < behind && (*at == 'e' || *at == 'E') && behind - at <= 4)
    tens += atoi (at + 1);
  else if (at < behind)
    return g_ascii_strtod (from, NULL);
  if (ABS (tens) >= (int)G_N_ELEMENTS (exact_tens))
    return g_ascii_strtod (from, NULL);
  const double value =
    tens < 0 ? (double)whole / exact_tens[-tens] : (double)whole * exact_tens[tens];
  return *from == '-' ? -value : value;
}

/* What "%.15g" writes without an exponent. */
#define PLAIN_LEAST 1e-4
#define PLAIN_MOST 1e15

/* `whole` / 10^`places`, its last digit none but a place's that counts. */
static void
write_plain (gboolean negative, guint64 whole, guint places, char *buffer)
{
  char digits[24];
  char *at = digits + sizeof digits;
  for (guint n = 0; whole > 0 || n <= places; n++, whole /= 10)
  {
    if (n == places && n > 0)
      *--at = '.';
    *--at = (char)('0' + whole % 10);
  }
  const gsize n = (gsize)(digits + sizeof digits - at);
  if (negative)
    *buffer++ = '-';
  memcpy (buffer, at, n);
  buffer[n] = '\0';
}

/*
 * A decimal of so few digits that a double keeps them all, as most numbers are that were printed
 * once: "%.15g" gives it back, since there is but one near enough.  It is found without that, which
 * takes ten times as long.  FALSE for other numbers.
 */
static gboolean
write_kept (double value, char *buffer)
{
  const double size = fabs (value);
  if (!(size >= PLAIN_LEAST && size < PLAIN_MOST))
    return FALSE;
  for (guint places = 0; size * exact_tens[places] < PLAIN_MOST; places++)
  {
    const guint64 whole = (guint64)(size * exact_tens[places] + 0.5);
    if (whole < (guint64)PLAIN_MOST && !((double)whole / exact_tens[places] < size) &&
        !((double)whole / exact_tens[places] > size))
    {
      write_plain (value < 0, whole, places, buffer);
      return TRUE;
    }
  }
  return FALSE;
}

char *
wsi_number_exact (double value)
{
  static const char *const formats[] = { "%.15g", "%.16g", "%.17g" };
  char buffer[G_ASCII_DTOSTR_BUF_SIZE];
  if (write_kept (value, buffer))
    return g_strdup (buffer);
  for (guint i = 0; i <= EXACT_DIGITS - SAFE_DIGITS; i++)
  {
    g_ascii_formatd (buffer, sizeof buffer, formats[i], value);
    const double back = wsi_number_decimal (buffer, buffer + strlen (buffer));
    /* By bits, so that -0 comes back as it was. */
    /* NOLINTNEXTLINE(bugprone-suspicious-memory-comparison) */
    if (memcmp (&back, &value, sizeof value) == 0)
      break;
  }
  return g_strdup (buffer);
}
