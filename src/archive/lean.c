#include "archive/lean.h"

#include <string.h>

#define MARK "\"budget\":"

/* An object with more is none of ours. */
#define MOST_KEYS 16

/* So short that no parser finds a number too large: 10^16 times 10^99. */
#define MOST_DIGITS 16
#define MOST_DECIMALS 20
#define MOST_EXPONENT 2

/* What follows each of these is NULL where `at` isn't what it looks for. */

static const char *
skip_blanks (const char *at)
{
  while (*at == ' ' || *at == '\t' || *at == '\r' || *at == '\n')
    at++;
  return at;
}

static const char *
skip_char (const char *at, char wanted)
{
  return at != NULL && *at == wanted ? at + 1 : NULL;
}

/* In quotes. */
static const char *
skip_text (const char *at)
{
  if (*at != '"')
    return NULL;
  for (at++; *at >= ' ' && *at <= '~' && *at != '"' && *at != '\\'; at++)
    ;
  return skip_char (at, '"');
}

static const char *
skip_digits (const char *at, gsize most)
{
  const char *from = at;
  while (g_ascii_isdigit (*at))
    at++;
  return at > from && (gsize)(at - from) <= most ? at : NULL;
}

static const char *
skip_number (const char *at)
{
  if (*at == '-')
    at++;
  if (at[0] == '0' && g_ascii_isdigit (at[1]))
    return NULL;
  at = skip_digits (at, MOST_DIGITS);
  if (at != NULL && *at == '.')
    at = skip_digits (at + 1, MOST_DECIMALS);
  if (at == NULL || (*at != 'e' && *at != 'E'))
    return at;
  at++;
  return skip_digits (*at == '-' || *at == '+' ? at + 1 : at, MOST_EXPONENT);
}

static const char *
skip_value (const char *at)
{
  static const char *const words[] = { "null", "true", "false" };
  if (*at == '"')
    return skip_text (at);
  if (*at == '-' || g_ascii_isdigit (*at))
    return skip_number (at);
  for (gsize i = 0; i < G_N_ELEMENTS (words); i++)
    if (g_str_has_prefix (at, words[i]))
      return at + strlen (words[i]);
  return NULL;
}

typedef struct
{
  const char *at;
  gsize n;
} Key;

static gboolean
is_among (const Key *key, const Key *keys, guint n)
{
  for (guint i = 0; i < n; i++)
    if (keys[i].n == key->n && memcmp (keys[i].at, key->at, key->n) == 0)
      return TRUE;
  return FALSE;
}

static const char *
skip_object (const char *at)
{
  Key keys[MOST_KEYS];
  guint n = 0;
  at = skip_char (at, '{');
  while (at != NULL && n < MOST_KEYS)
  {
    const char *from = skip_blanks (at), *behind = skip_text (from);
    if (behind == NULL)
      return NULL;
    keys[n] = (Key){ from, (gsize)(behind - from) };
    if (is_among (&keys[n], keys, n))
      return NULL;
    n++;
    at = skip_char (skip_blanks (behind), ':');
    at = at != NULL ? skip_value (skip_blanks (at)) : NULL;
    if (at == NULL)
      return NULL;
    at = skip_blanks (at);
    if (*at == '}')
      return at + 1;
    at = skip_char (at, ',');
  }
  return NULL;
}

/* Of one object or more. */
static const char *
skip_list (const char *at)
{
  at = skip_char (at, '[');
  while (at != NULL)
  {
    at = skip_object (skip_blanks (at));
    if (at == NULL)
      return NULL;
    at = skip_blanks (at);
    if (*at == ']')
      return at + 1;
    at = skip_char (at, ',');
  }
  return NULL;
}

char *
wsi_lean_text (const char *text)
{
  GString *lean = g_string_new (NULL);
  for (const char *mark = strstr (text, MARK); mark != NULL; mark = strstr (text, MARK))
  {
    const char *from = mark + strlen (MARK);
    const char *behind = skip_list (skip_blanks (from));
    g_string_append_len (lean, text, from - text);
    if (behind != NULL)
      g_string_append (lean, "[]");
    text = behind != NULL ? behind : from;
  }
  g_string_append (lean, text);
  return g_string_free (lean, FALSE);
}

json_t *
wsi_lean_parse (const char *text, json_error_t *error)
{
  g_autofree char *lean = wsi_lean_text (text);
  return json_loads (lean, JSON_REJECT_DUPLICATES, error);
}
