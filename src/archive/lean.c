#include "archive/lean.h"

#include <string.h>

#include "base/number.h"

#define BUDGET "budget"
#define MARK "\"" BUDGET "\":"

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

#define EIGHT 1, 1, 1, 1, 1, 1, 1, 1

/* Printable ASCII but for quote and backslash: one look for each of a record's many characters, in
 * place of four. */
static const guint8 plain_bytes[G_MAXUINT8 + 1] = {
  0, 0, 0, 0,     0,     0,     0,     0,     0,     0,     0,     0,     0, 0, 0, 0, 0,
  0, 0, 0, 0,     0,     0,     0,     0,     0,     0,     0,     0,     0, 0, 0, 1, 1,
  0, 1, 1, 1,     1,     1,     EIGHT, EIGHT, EIGHT, EIGHT, EIGHT, EIGHT, 1, 1, 1, 1, 0,
  1, 1, 1, EIGHT, EIGHT, EIGHT, 1,     1,     1,     1,     1,     1,     1, 0,
};

static gboolean
is_plain (char c)
{
  return plain_bytes[(guchar)c];
}

/* In quotes. */
static const char *
skip_text (const char *at)
{
  if (*at != '"')
    return NULL;
  for (at++; is_plain (*at); at++)
    ;
  return skip_char (at, '"');
}

static gboolean
is_digit (char c)
{
  return (guint)(guchar)c - '0' < 10;
}

static const char *
skip_digits (const char *at, gsize most)
{
  const char *from = at;
  while (is_digit (*at))
    at++;
  return at > from && (gsize)(at - from) <= most ? at : NULL;
}

static const char *
skip_number (const char *at)
{
  if (*at == '-')
    at++;
  if (at[0] == '0' && is_digit (at[1]))
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
skip_word (const char *at, const char *word)
{
  for (; *word != '\0'; word++, at++)
    if (*at != *word)
      return NULL;
  return at;
}

static const char *
skip_value (const char *at)
{
  switch (*at)
  {
  case '"':
    return skip_text (at);
  case 'n':
    return skip_word (at, "null");
  case 't':
    return skip_word (at, "true");
  case 'f':
    return skip_word (at, "false");
  default:
    return skip_number (at);
  }
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
  GString *lean = g_string_sized_new (strlen (text) + 1);
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

/* ---- Parsing ----------------------------------------------------------------------------------
 */

/* jansson takes each byte by itself; a record's own text is plain.  What isn't, is left to it. */

#define MOST_DEPTH 16

static json_t *
read_number (const char **at)
{
  const char *from = *at, *behind = skip_number (from);
  if (behind == NULL)
    return NULL;
  *at = behind;
  for (const char *c = from; c < behind; c++)
    if (*c == '.' || *c == 'e' || *c == 'E')
      return json_real (wsi_number_decimal (from, behind));
  return json_integer (g_ascii_strtoll (from, NULL, 10));
}

static json_t *
read_text (const char **at)
{
  const char *from = *at + 1, *to = from;
  gboolean is_ascii = TRUE;
  for (; (guchar)*to >= ' ' && *to != '"' && *to != '\\'; to++)
    is_ascii = is_ascii && (guchar)*to < 0x80;
  if (*to != '"')
    return NULL;
  *at = to + 1;
  const gsize n = (gsize)(to - from);
  return is_ascii ? json_stringn_nocheck (from, n) : json_stringn (from, n);
}

static json_t *
read_word (const char **at)
{
  const char *behind = skip_value (*at);
  if (behind == NULL)
    return NULL;
  const char first = **at;
  *at = behind;
  return first == 'n' ? json_null () : json_boolean (first == 't');
}

static json_t *read_value (const char **at, guint depth);

static json_t *
read_list (const char **at, guint depth)
{
  json_t *list = json_array ();
  const char *next = skip_blanks (*at + 1);
  if (*next == ']')
  {
    *at = next + 1;
    return list;
  }
  for (;;)
  {
    json_t *value = read_value (&next, depth);
    if (value == NULL || json_array_append_new (list, value) != 0)
      break;
    next = skip_blanks (next);
    if (*next == ']')
    {
      *at = next + 1;
      return list;
    }
    if (*next != ',')
      break;
    next = skip_blanks (next + 1);
  }
  json_decref (list);
  return NULL;
}

/* A member, but for lists called a budget, as wsi_lean_text() leaves them out.  One under a key
 * that is there already doesn't make the object larger. */
static gboolean
read_member (const char **at, guint depth, json_t *object)
{
  const char *key = *at + 1, *behind = skip_text (*at);
  const char *next = behind != NULL ? skip_char (skip_blanks (behind), ':') : NULL;
  if (next == NULL)
    return FALSE;
  const gsize n = (gsize)(behind - 1 - key), had = json_object_size (object);
  const gboolean is_budget = *behind == ':' && n == strlen (BUDGET) && memcmp (key, BUDGET, n) == 0;
  next = skip_blanks (next);
  const char *behind_list = is_budget ? skip_list (next) : NULL;
  json_t *value = behind_list != NULL ? json_array () : read_value (&next, depth);
  *at = behind_list != NULL ? behind_list : next;
  return value != NULL && json_object_setn_new_nocheck (object, key, n, value) == 0 &&
         json_object_size (object) > had;
}

static json_t *
read_object (const char **at, guint depth)
{
  json_t *object = json_object ();
  const char *next = skip_blanks (*at + 1);
  if (*next == '}')
  {
    *at = next + 1;
    return object;
  }
  while (read_member (&next, depth, object))
  {
    next = skip_blanks (next);
    if (*next == '}')
    {
      *at = next + 1;
      return object;
    }
    if (*next != ',')
      break;
    next = skip_blanks (next + 1);
  }
  json_decref (object);
  return NULL;
}

static json_t *
read_value (const char **at, guint depth)
{
  if (depth >= MOST_DEPTH)
    return NULL;
  switch (**at)
  {
  case '{':
    return read_object (at, depth + 1);
  case '[':
    return read_list (at, depth + 1);
  case '"':
    return read_text (at);
  case 't':
  case 'f':
  case 'n':
    return read_word (at);
  default:
    return read_number (at);
  }
}

/* NULL where it isn't plain. */
static json_t *
read_plain (const char *text)
{
  const char *at = skip_blanks (text);
  json_t *root = *at == '{' ? read_object (&at, 0) : NULL;
  if (root != NULL && *skip_blanks (at) != '\0')
    g_clear_pointer (&root, json_decref);
  return root;
}

json_t *
wsi_lean_parse (const char *text, json_error_t *error)
{
  json_t *plain = read_plain (text);
  if (plain != NULL)
    return plain;
  g_autofree char *lean = wsi_lean_text (text);
  return json_loads (lean, JSON_REJECT_DUPLICATES, error);
}
