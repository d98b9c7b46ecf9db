#include "base/size.h"

#include <string.h>

#include "base/number.h"

#define MOST_DENOMINATOR 128
#define MOST_DIGITS 4

/* Drills by number, 1 to 80, in 0.0001 in: the sizes of ANSI/ASME B94.11M, from memory, and the
 * same in public tables. */
static const guint16 numbered[80] = {
  2280, 2210, 2130, 2090, 2055, 2040, 2010, 1990, 1960, 1935, 1910, 1890, 1850, 1820, 1800, 1770,
  1730, 1695, 1660, 1610, 1590, 1570, 1540, 1520, 1495, 1470, 1440, 1405, 1360, 1285, 1200, 1160,
  1130, 1110, 1100, 1065, 1040, 1015, 995,  980,  960,  935,  890,  860,  820,  810,  785,  760,
  730,  700,  670,  635,  595,  550,  520,  465,  430,  420,  410,  400,  390,  380,  370,  360,
  350,  330,  320,  310,  292,  280,  260,  250,  240,  225,  210,  200,  180,  160,  145,  135,
};

/* By letter, A to Z, in 0.001 in; from the same source. */
static const guint16 lettered[26] = {
  234, 238, 242, 246, 250, 257, 261, 266, 272, 277, 281, 290, 295,
  302, 316, 323, 332, 339, 348, 358, 368, 377, 386, 397, 404, 413,
};

/* Digits alone, few enough for any size.  Returns what follows, NULL when there are none. */
static const char *
read_digits (const char *text, guint *value)
{
  gsize n = 0;
  *value = 0;
  for (; n <= MOST_DIGITS && g_ascii_isdigit (text[n]); n++)
    *value = 10 * *value + (guint)(text[n] - '0');
  return n > 0 && n <= MOST_DIGITS ? text + n : NULL;
}

/* "3/8", the whole of `text`. */
static gboolean
read_fraction (const char *text, double *value)
{
  guint above, below;
  const char *rest = read_digits (text, &above);
  if (rest == NULL || *rest != '/')
    return FALSE;
  rest = read_digits (rest + 1, &below);
  if (rest == NULL || *rest != '\0' || above == 0 || above >= below || below > MOST_DENOMINATOR ||
      (below & (below - 1)) != 0)
    return FALSE;
  *value = (double)above / below;
  return TRUE;
}

/* "3/8", "1 3/8", "1-3/8", in inches. */
static gboolean
read_inches (const char *text, double *inches)
{
  guint whole;
  const char *rest = read_digits (text, &whole);
  if (read_fraction (text, inches))
    return TRUE;
  if (rest == NULL || (*rest != ' ' && *rest != '-') || !read_fraction (rest + 1, inches))
    return FALSE;
  *inches += whole;
  return TRUE;
}

/* Takes the unit's name off the end of `text`.  Returns millimetres in one, 0 without a name. */
static double
cut_unit (char *text)
{
  static const struct
  {
    const char *name;
    double mm;
  } units[] = { { "mm", 1 }, { "in", WS_MM_PER_INCH }, { "\"", WS_MM_PER_INCH } };
  for (gsize i = 0; i < G_N_ELEMENTS (units); i++)
    if (g_str_has_suffix (text, units[i].name))
    {
      text[strlen (text) - strlen (units[i].name)] = '\0';
      g_strchomp (text);
      return units[i].mm;
    }
  return 0;
}

gboolean
wsi_length_parse (const char *text, double *mm)
{
  double value;
  if (text == NULL)
    return FALSE;
  g_autofree char *copy = g_strdup (text);
  const double unit = cut_unit (copy);
  if (wsi_number_parse (copy, &value))
  {
    *mm = value * (unit > 0 ? unit : 1);
    return TRUE;
  }
  const gboolean signed_text = *copy == '-' || *copy == '+';
  if (unit == 1 || !read_inches (copy + signed_text, &value))
    return FALSE;
  *mm = (*copy == '-' ? -value : value) * WS_MM_PER_INCH;
  return TRUE;
}

/* "#7", "F". */
static gboolean
read_named (const char *text, double *mm)
{
  guint number;
  const char *rest = *text == '#' ? read_digits (text + 1, &number) : NULL;
  if (rest != NULL && *rest == '\0' && number >= 1 && number <= G_N_ELEMENTS (numbered))
    *mm = numbered[number - 1] * 1e-4 * WS_MM_PER_INCH;
  else if (*text >= 'A' && *text <= 'Z' && text[1] == '\0')
    *mm = lettered[*text - 'A'] * 1e-3 * WS_MM_PER_INCH;
  else
    return FALSE;
  return TRUE;
}

gboolean
wsi_size_parse (const char *text, double *mm)
{
  return text != NULL && (read_named (text, mm) || wsi_length_parse (text, mm));
}

gboolean
wsi_size_says_unit (const char *text)
{
  double number;
  return !wsi_number_parse (text, &number);
}
