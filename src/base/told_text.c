#include "base/told_text.h"

#include <string.h>

#include "base/language.h"

/* A pattern with fewer letters of its own would fit what it wasn't written for. */
#define LEAST_LETTERS 8
#define MOST_PLACES 12
#define MOST_DEPTH 4
#define MOST_BYTES 1200

/* Tries of a pattern's rest for one text: a hundred times what sentences take.  Texts from
 * elsewhere may be made to fit nearly all patterns nearly everywhere; they stay in English. */
#define MOST_TRIES 1000000

/* ---- Patterns ----------------------------------------------------------------------------------
 */

/* What a conversion of printf's took up: "%s", "%.2f", "%2$s"; its number from 1, or 0 where it has
 * none.  NULL when none begins here, as at "%%". */
static const char *
conversion_end (const char *at, guint *number, gboolean *is_text)
{
  const char *c = at + 1;
  *number = 0;
  if (*at != '%' || *c == '%')
    return NULL;
  const gsize n_digits = strspn (c, "0123456789");
  if (n_digits > 0 && c[n_digits] == '$')
  {
    *number = (guint)g_ascii_strtoull (c, NULL, 10);
    c += n_digits + 1;
  }
  c += strspn (c, "-+ #0123456789.*");
  *is_text = *c == 's';
  return strchr ("sdugfe", *c) != NULL && *c != '\0' ? c + 1 : NULL;
}

typedef struct
{
  const char *from;
  gsize n;
} Place;

typedef struct
{
  Place places[MOST_PLACES];
  guint n;
  guint *tries; /* left */
} Fitted;

static gboolean
is_number (const char *text, gsize n)
{
  return n > 0 && strspn (text, "0123456789+-.e") >= n;
}

static gboolean fits_from (const char *pattern, const char *text, Fitted *fitted);

/* What stands in a place may be any text that lets the rest fit; the shortest does. */
static gboolean
place_fits (const char *rest, const char *text, gboolean is_text, Fitted *fitted)
{
  const guint which = fitted->n;
  if (which == MOST_PLACES)
    return FALSE;
  const gsize length = strlen (text);
  for (gsize n = 0; n <= length; n++)
  {
    if (is_text && *rest != '%' && text[n] != *rest)
      continue;
    fitted->n = which + 1;
    fitted->places[which] = (Place){ text, n };
    if (!is_text && !is_number (text, n))
    {
      if (n > 0)
        return FALSE;
      continue;
    }
    if ((*rest == '\0' ? text[n] == '\0' : TRUE) && fits_from (rest, text + n, fitted))
      return TRUE;
  }
  return FALSE;
}

/* A full stop of the pattern isn't the one in a number. */
static gboolean
is_decimal_point (const char *text, const char *pattern)
{
  return *text == '.' && g_ascii_isdigit (text[1]) && !g_ascii_isdigit (pattern[1]);
}

static gboolean
fits_from (const char *pattern, const char *text, Fitted *fitted)
{
  guint number;
  gboolean is_text;
  if (*fitted->tries == 0)
    return FALSE;
  (*fitted->tries)--;
  while (*pattern != '\0')
  {
    const char *end = conversion_end (pattern, &number, &is_text);
    if (end != NULL)
      return place_fits (end, text, is_text, fitted);
    if (*pattern == '%')
      pattern++;
    if (*pattern != *text || is_decimal_point (text, pattern))
      return FALSE;
    pattern++;
    text++;
  }
  return *text == '\0';
}

/* Letters that stand for themselves. */
static gsize
count_letters (const char *pattern, guint *n_places)
{
  gsize letters = 0;
  guint number;
  gboolean is_text;
  *n_places = 0;
  while (*pattern != '\0')
  {
    const char *end = conversion_end (pattern, &number, &is_text);
    *n_places += end != NULL;
    letters += end == NULL && g_ascii_isalpha (*pattern);
    pattern = end != NULL ? end : pattern + 1;
  }
  return letters;
}

/* ---- Filling in
 * ---------------------------------------------------------------------------------- */

static char *tell (const char *english, guint depth, guint *tries);

static char *
fill (const char *translated, const Fitted *fitted, guint depth)
{
  guint next = 0, number;
  gboolean is_text;
  GString *filled = g_string_new (NULL);
  while (*translated != '\0')
  {
    const char *end = conversion_end (translated, &number, &is_text);
    if (end == NULL)
    {
      translated += translated[0] == '%' && translated[1] == '%';
      g_string_append_c (filled, *translated++);
      continue;
    }
    const guint which = number > 0 ? number - 1 : next++;
    if (which < fitted->n)
    {
      g_autofree char *english = g_strndup (fitted->places[which].from, fitted->places[which].n);
      g_autofree char *told = tell (english, depth + 1, fitted->tries);
      g_string_append (filled, told);
    }
    translated = end;
  }
  return g_string_free (filled, FALSE);
}

/* The pattern that has most of the text as its own; NULL where none fits. */
static char *
tell_by_pattern (const char *english, guint depth, guint *tries)
{
  Fitted best = { .tries = tries };
  const char *translated = NULL;
  gsize most = LEAST_LETTERS - 1;
  const guint n = wsi_language_count ();
  for (guint i = 0; i < n; i++)
  {
    guint n_places;
    Fitted fitted = { .tries = tries };
    const char *pattern = wsi_language_nth (i, NULL);
    if (*pattern != '%' && *pattern != *english)
      continue;
    const gsize letters = count_letters (pattern, &n_places);
    if (n_places == 0 || letters <= most || !fits_from (pattern, english, &fitted))
      continue;
    most = letters;
    best = fitted;
    wsi_language_nth (i, &translated);
  }
  return translated != NULL ? fill (translated, &best, depth) : NULL;
}

/* The end of the sentence that begins here, its full stop with it. */
static const char *
sentence_end (const char *text)
{
  for (const char *c = text; *c != '\0'; c++)
    if (strchr (".:!", *c) != NULL && c[1] == ' ' && (c[0] != ':' || g_ascii_isupper (c[2])))
      return c + 1;
  return text + strlen (text);
}

/* The most sentences at once that the catalogue has, then the rest. */
static char *
tell_in_parts (const char *english, guint depth, guint *tries)
{
  const char *ends[MOST_PLACES];
  guint n = 0;
  for (const char *c = english; *c != '\0' && n < MOST_PLACES;)
  {
    ends[n] = sentence_end (c);
    c = ends[n] + (*ends[n] == ' ');
    n++;
  }
  if (n < 2)
    return g_strdup (english);
  for (guint i = n - 1; i-- > 0;)
  {
    g_autofree char *first = g_strndup (english, (gsize)(ends[i] - english));
    g_autofree char *told = tell (first, MOST_DEPTH, tries);
    if (i > 0 && g_str_equal (told, first))
      continue;
    g_autofree char *rest = tell (ends[i] + 1, depth, tries);
    return g_strconcat (told, " ", rest, NULL);
  }
  return g_strdup (english);
}

/* Spaces at either end stay where they are. */
static char *
tell (const char *english, guint depth, guint *tries)
{
  const gsize n = strlen (english), before = strspn (english, " ");
  const char *known = wsi_language_text (english);
  if (known != english)
    return g_strdup (known);
  if (n == 0 || n > MOST_BYTES || *tries == 0 || is_number (english, n))
    return g_strdup (english);
  if (before > 0 || english[n - 1] == ' ')
  {
    g_autofree char *inner = g_strstrip (g_strdup (english));
    g_autofree char *told = tell (inner, depth, tries);
    return g_strconcat (before > 0 ? " " : "", told, n > before && english[n - 1] == ' ' ? " " : "",
                        NULL);
  }
  char *told = tell_by_pattern (english, depth, tries);
  if (told != NULL || depth >= MOST_DEPTH)
    return told != NULL ? told : g_strdup (english);
  return tell_in_parts (english, depth, tries);
}

char *
wsi_told_text (const char *english)
{
  if (english == NULL)
    return NULL;
  guint tries = MOST_TRIES;
  return wsi_language_count () > 0 ? tell (english, 0, &tries) : g_strdup (english);
}
