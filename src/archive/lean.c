#include "archive/lean.h"

#include <math.h>
#include <string.h>

#include <whetsight/result.h>

#include "base/number.h"

#define BUDGET "budget"
#define MARK "\"" BUDGET "\":"

/* An object with more is none of ours, nor are so many quantities. */
#define MOST_KEYS 16
#define MOST_ROWS 64

/* About what the names of a record's quantities take. */
#define NAMES_BYTES 1000

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

typedef struct
{
  const char *at;
  guint depth;
  WsLean *lean; /* takes the first quantities that are met; NULL where none does */
} Reader;

static json_t *
read_number (Reader *reader)
{
  const char *from = reader->at, *behind = skip_number (from);
  if (behind == NULL)
    return NULL;
  reader->at = behind;
  for (const char *c = from; c < behind; c++)
    if (*c == '.' || *c == 'e' || *c == 'E')
      return json_real (wsi_number_decimal (from, behind));
  return json_integer (g_ascii_strtoll (from, NULL, 10));
}

static json_t *
read_text (Reader *reader)
{
  const char *from = reader->at + 1, *to = from;
  gboolean is_ascii = TRUE;
  for (; (guchar)*to >= ' ' && *to != '"' && *to != '\\'; to++)
    is_ascii = is_ascii && (guchar)*to < 0x80;
  if (*to != '"')
    return NULL;
  reader->at = to + 1;
  const gsize n = (gsize)(to - from);
  return is_ascii ? json_stringn_nocheck (from, n) : json_stringn (from, n);
}

static json_t *
read_word (Reader *reader)
{
  const char first = *reader->at, *behind = skip_value (reader->at);
  if (behind == NULL)
    return NULL;
  reader->at = behind;
  return first == 'n' ? json_null () : json_boolean (first == 't');
}

static json_t *read_value (Reader *reader);

/* Behind a member or an element: a comma and what follows it, or the end. */
static gboolean
read_on (Reader *reader, char end, gboolean *more)
{
  reader->at = skip_blanks (reader->at);
  *more = *reader->at == ',';
  if (!*more && *reader->at != end)
    return FALSE;
  reader->at = *more ? skip_blanks (reader->at + 1) : reader->at + 1;
  return TRUE;
}

/* Behind the bracket that opens: whether it closes at once. */
static gboolean
read_nothing (Reader *reader, char end)
{
  reader->at = skip_blanks (reader->at + 1);
  if (*reader->at != end)
    return FALSE;
  reader->at++;
  return TRUE;
}

static json_t *
read_list (Reader *reader)
{
  json_t *list = json_array ();
  gboolean more = !read_nothing (reader, ']');
  while (more)
  {
    json_t *value = read_value (reader);
    if (value == NULL || json_array_append_new (list, value) != 0 || !read_on (reader, ']', &more))
    {
      json_decref (list);
      return NULL;
    }
  }
  return list;
}

/* ---- Quantities beside the tree ---- */

typedef struct
{
  const char *name;
  gsize offset;
} Number;

static const Number numbers[] = {
  { "value", G_STRUCT_OFFSET (WsRow, value) },
  { "U", G_STRUCT_OFFSET (WsRow, U) },
  { "k", G_STRUCT_OFFSET (WsRow, k) },
  { "lower", G_STRUCT_OFFSET (WsRow, lower) },
  { "upper", G_STRUCT_OFFSET (WsRow, upper) },
  { "smallest_seen", G_STRUCT_OFFSET (WsRow, smallest_seen) },
};

static gboolean
is_called (const Key *key, const char *name)
{
  return *key->at == *name && strncmp (key->at, name, key->n) == 0 && name[key->n] == '\0';
}

/* SQLite keeps whole numbers as integers, which know no -0. */
static const char *
take_number (const char *at, double *number)
{
  const char *behind = *at == 'n' ? skip_word (at, "null") : skip_number (at);
  if (behind != NULL)
    *number = *at == 'n' ? (double)NAN : wsi_number_decimal (at, behind) + 0.0;
  return behind;
}

static const char *
take_verdict (const char *at, WsRow *row)
{
  const char *behind = *at == 'n' ? skip_word (at, "null") : skip_text (at);
  if (behind == NULL || *at == 'n')
    return behind;
  const Key told = { at + 1, (gsize)(behind - at) - 2 };
  for (int verdict = WS_VERDICT_NONE + 1; verdict <= WS_VERDICT_RETAKE; verdict++)
    if (is_called (&told, ws_verdict_name ((WsVerdict)verdict)))
    {
      row->verdict = ws_verdict_name ((WsVerdict)verdict);
      return behind;
    }
  return NULL;
}

/* One that was given instead of measured is for those who look closer. */
static const char *
take_member (const Key *key, const char *at, WsRow *row)
{
  for (gsize i = 0; i < G_N_ELEMENTS (numbers); i++)
    if (is_called (key, numbers[i].name))
      return take_number (at, &G_STRUCT_MEMBER (double, row, numbers[i].offset));
  if (is_called (key, "verdict"))
    return take_verdict (at, row);
  if (is_called (key, "given"))
    return NULL;
  if (*at != '[' || !is_called (key, BUDGET))
    return skip_value (at);
  const char *inside = skip_blanks (at + 1);
  return *inside == ']' ? inside + 1 : skip_list (at);
}

/* `"name": `, under a name that isn't among the n of `keys`, which it is added to. */
static gboolean
read_key (Reader *reader, Key *keys, guint n, guint most)
{
  const char *behind = n < most ? skip_text (reader->at) : NULL;
  const char *next = behind != NULL ? skip_char (skip_blanks (behind), ':') : NULL;
  if (next == NULL)
    return FALSE;
  keys[n] = (Key){ reader->at + 1, (gsize)(behind - reader->at) - 2 };
  reader->at = skip_blanks (next);
  return !is_among (&keys[n], keys, n);
}

static gboolean
read_row (Reader *reader, WsRow *row)
{
  Key keys[MOST_KEYS];
  row->value = row->U = row->k = row->lower = row->upper = row->smallest_seen = NAN;
  gboolean more = *reader->at == '{';
  if (!more || read_nothing (reader, '}'))
    return more;
  for (guint n = 0; more; n++)
  {
    if (!read_key (reader, keys, n, MOST_KEYS))
      return FALSE;
    reader->at = take_member (&keys[n], reader->at, row);
    if (reader->at == NULL || !read_on (reader, '}', &more))
      return FALSE;
  }
  return !(row->smallest_seen < 0);
}

static gboolean
read_rows (Reader *reader, WsLean *lean)
{
  Key keys[MOST_ROWS];
  gboolean more = *reader->at == '{';
  if (!more || read_nothing (reader, '}'))
    return more;
  for (guint n = 0; more; n++)
  {
    WsRow row = { 0 };
    if (!read_key (reader, keys, n, MOST_ROWS) || !read_row (reader, &row) ||
        !read_on (reader, '}', &more))
      return FALSE;
    row.name = g_string_chunk_insert_len (lean->names, keys[n].at, (gssize)keys[n].n);
    g_array_append_val (lean->rows, row);
  }
  return TRUE;
}

/* Whether they were taken; the reader stays where it is where they weren't, since the tree can
 * have what isn't plain. */
static gboolean
take_rows (Reader *reader, json_t *object)
{
  WsLean *lean = reader->lean;
  const char *from = reader->at;
  if (lean == NULL || lean->of != NULL)
    return FALSE;
  if (read_rows (reader, lean))
  {
    lean->of = object;
    return TRUE;
  }
  g_array_set_size (lean->rows, 0);
  reader->at = from;
  return FALSE;
}

/* ---- Objects ---- */

/* One under a key that is there already doesn't make the object larger. */
static gboolean
add_member (json_t *object, const Key *key, json_t *value)
{
  const gsize had = json_object_size (object);
  return value != NULL && json_object_setn_new_nocheck (object, key->at, key->n, value) == 0 &&
         json_object_size (object) > had;
}

/* A member, but for lists called a budget, as wsi_lean_text() leaves them out. */
static gboolean
read_member (Reader *reader, json_t *object)
{
  const char *behind = skip_text (reader->at);
  const char *next = behind != NULL ? skip_char (skip_blanks (behind), ':') : NULL;
  if (next == NULL)
    return FALSE;
  const Key key = { reader->at + 1, (gsize)(behind - reader->at) - 2 };
  reader->at = skip_blanks (next);
  if (is_called (&key, "quantities") && take_rows (reader, object))
    return add_member (object, &key, json_object ());
  const char *behind_list =
    *behind == ':' && is_called (&key, BUDGET) ? skip_list (reader->at) : NULL;
  if (behind_list == NULL)
    return add_member (object, &key, read_value (reader));
  reader->at = behind_list;
  return add_member (object, &key, json_array ());
}

static json_t *
read_object (Reader *reader)
{
  json_t *object = json_object ();
  gboolean more = !read_nothing (reader, '}');
  while (more)
    if (!read_member (reader, object) || !read_on (reader, '}', &more))
    {
      json_decref (object);
      return NULL;
    }
  return object;
}

static json_t *
read_value (Reader *reader)
{
  json_t *value;
  switch (*reader->at)
  {
  case '{':
  case '[':
    if (reader->depth >= MOST_DEPTH)
      return NULL;
    reader->depth++;
    value = *reader->at == '{' ? read_object (reader) : read_list (reader);
    reader->depth--;
    return value;
  case '"':
    return read_text (reader);
  case 't':
  case 'f':
  case 'n':
    return read_word (reader);
  default:
    return read_number (reader);
  }
}

/* NULL where it isn't plain. */
static json_t *
read_plain (const char *text, WsLean *lean)
{
  Reader reader = { skip_blanks (text), 0, lean };
  json_t *root = *reader.at == '{' ? read_object (&reader) : NULL;
  if (root != NULL && *skip_blanks (reader.at) != '\0')
    g_clear_pointer (&root, json_decref);
  return root;
}

json_t *
wsi_lean_parse (const char *text, json_error_t *error)
{
  json_t *plain = read_plain (text, NULL);
  if (plain != NULL)
    return plain;
  g_autofree char *lean = wsi_lean_text (text);
  return json_loads (lean, JSON_REJECT_DUPLICATES, error);
}

static json_t *
record_in (json_t *tree, WsLeanRecord find)
{
  return find != NULL ? find (tree) : tree;
}

gboolean
wsi_lean_read (WsLean *lean, const char *text, WsLeanRecord find, json_error_t *error)
{
  lean->rows = g_array_new (FALSE, FALSE, sizeof (WsRow));
  lean->names = g_string_chunk_new (NAMES_BYTES);
  lean->tree = read_plain (text, lean);
  lean->record = record_in (lean->tree, find);
  if (lean->record != NULL && lean->of == lean->record)
    return TRUE;
  /* Not plain, or others' than the record's. */
  g_clear_pointer (&lean->rows, g_array_unref);
  if (lean->tree == NULL || lean->of != NULL)
  {
    json_decref (lean->tree);
    lean->tree = wsi_lean_parse (text, error);
    lean->record = record_in (lean->tree, find);
  }
  return lean->tree != NULL;
}

void
wsi_lean_clear (WsLean *lean)
{
  json_decref (lean->tree);
  if (lean->rows != NULL)
    g_array_unref (lean->rows);
  if (lean->names != NULL)
    g_string_chunk_free (lean->names);
  *lean = (WsLean){ 0 };
}
