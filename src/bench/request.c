#define _GNU_SOURCE /* memmem() */
#include "bench/request.h"

#include <jansson.h>
#include <string.h>

#define MOST_PIECES 8
#define MOST_PIECE 256   /* bytes */
#define MOST_FIELDS 64   /* of a query or a form */
#define MOST_NAME 180    /* bytes of a file's name: what is made of it gets an ending */
#define MOST_FIELD 65536 /* bytes: a tool card */

/* ---- Text that came in parts ---------------------------------------------------------------- */

static int
hex_value (char digit)
{
  return g_ascii_xdigit_value (digit);
}

/* Decodes %41 and, in forms, +.  NULL for what is cut short, holds a zero byte or isn't UTF-8. */
static char *
decode (const char *text, gsize n, gboolean plus)
{
  g_autoptr (GString) out = g_string_sized_new (n);
  for (gsize i = 0; i < n; i++)
  {
    char c = text[i];
    if (c == '%')
    {
      if (i + 2 >= n || hex_value (text[i + 1]) < 0 || hex_value (text[i + 2]) < 0)
        return NULL;
      c = (char)(16 * hex_value (text[i + 1]) + hex_value (text[i + 2]));
      i += 2;
    }
    else if (plus && c == '+')
      c = ' ';
    if (c == '\0')
      return NULL;
    g_string_append_c (out, c);
  }
  if (!g_utf8_validate (out->str, (gssize)out->len, NULL))
    return NULL;
  return g_strdup (out->str);
}

/* FALSE for a part that leaves the path, or would act on whoever looks at it. */
static gboolean
piece_is_sound (const char *piece)
{
  if (*piece == '\0' || strlen (piece) > MOST_PIECE || g_str_equal (piece, ".") ||
      g_str_equal (piece, ".."))
    return FALSE;
  for (const char *c = piece; *c != '\0'; c++)
    if (g_ascii_iscntrl (*c) || *c == '/' || *c == '\\')
      return FALSE;
  return TRUE;
}

static gboolean
read_path (WsServeRequest *request, const char *path, gsize n)
{
  g_autoptr (GPtrArray) pieces = g_ptr_array_new_with_free_func (g_free);
  if (n == 0 || path[0] != '/')
    return FALSE;
  for (gsize from = 1; from < n;)
  {
    const char *slash = memchr (path + from, '/', n - from);
    const gsize to = slash != NULL ? (gsize)(slash - path) : n;
    char *piece = decode (path + from, to - from, FALSE);
    if (piece == NULL || !piece_is_sound (piece) || pieces->len == MOST_PIECES)
    {
      g_free (piece);
      return FALSE;
    }
    g_ptr_array_add (pieces, piece);
    from = to + 1;
    if (slash != NULL && from == n)
      return FALSE; /* ends in a slash */
  }
  g_ptr_array_add (pieces, NULL);
  request->path = (char **)g_ptr_array_steal (pieces, NULL);
  return TRUE;
}

/* name=value&…; the first of a name counts. */
static gboolean
read_pairs (GHashTable *into, const char *text, gsize n)
{
  for (gsize from = 0; from < n;)
  {
    const char *end = memchr (text + from, '&', n - from);
    const gsize to = end != NULL ? (gsize)(end - text) : n;
    const char *equals = memchr (text + from, '=', to - from);
    const gsize cut = equals != NULL ? (gsize)(equals - text) : to;
    g_autofree char *name = decode (text + from, cut - from, TRUE);
    g_autofree char *value = cut < to ? decode (text + cut + 1, to - cut - 1, TRUE) : g_strdup ("");
    if (name == NULL || value == NULL || g_hash_table_size (into) >= MOST_FIELDS)
      return FALSE;
    if (!g_hash_table_contains (into, name))
      g_hash_table_insert (into, g_steal_pointer (&name), g_steal_pointer (&value));
    from = to + 1;
  }
  return TRUE;
}

static void
part_free (gpointer data)
{
  WsServePart *part = data;
  g_free (part->name);
  g_free (part->file_name);
  g_free (part);
}

WsServeRequest *
wsi_request_new (const char *method, const char *target)
{
  g_autoptr (WsServeRequest) request = g_new0 (WsServeRequest, 1);
  const char *mark = strchr (target, '?');
  const gsize n_path = mark != NULL ? (gsize)(mark - target) : strlen (target);
  request->method = g_strdup (method);
  request->query = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, g_free);
  request->headers = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, g_free);
  request->cookies = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, g_free);
  request->parts = g_ptr_array_new_with_free_func (part_free);
  if (!read_path (request, target, n_path) ||
      (mark != NULL && !read_pairs (request->query, mark + 1, strlen (mark + 1))))
    return NULL;
  return g_steal_pointer (&request);
}

void
wsi_request_free (WsServeRequest *request)
{
  if (request == NULL)
    return;
  g_free (request->method);
  g_strfreev (request->path);
  g_hash_table_unref (request->query);
  g_hash_table_unref (request->headers);
  g_hash_table_unref (request->cookies);
  g_ptr_array_unref (request->parts);
  g_clear_pointer (&request->body, g_bytes_unref);
  g_free (request->client);
  g_free (request);
}

/* ---- Headers -------------------------------------------------------------------------------- */

static void
read_cookies (WsServeRequest *request, const char *value)
{
  g_auto (GStrv) pairs = g_strsplit (value, ";", MOST_FIELDS);
  for (char **pair = pairs; *pair != NULL; pair++)
  {
    char *equals = strchr (g_strstrip (*pair), '=');
    if (equals == NULL)
      continue;
    *equals = '\0';
    if (!g_hash_table_contains (request->cookies, *pair))
      g_hash_table_insert (request->cookies, g_strdup (*pair), g_strdup (equals + 1));
  }
}

void
wsi_request_add_header (WsServeRequest *request, const char *name, const char *value)
{
  static const char *const once[] = { "host",         "origin",        "content-length",
                                      "content-type", "authorization", NULL };
  char *small = g_ascii_strdown (name, -1);
  if (g_hash_table_contains (request->headers, small) && g_strv_contains (once, small))
    request->twice = TRUE;
  if (g_str_equal (small, "cookie"))
    read_cookies (request, value);
  g_hash_table_insert (request->headers, small, g_strdup (value));
}

const char *
wsi_request_header (const WsServeRequest *request, const char *name)
{
  return g_hash_table_lookup (request->headers, name);
}

const char *
wsi_request_query (const WsServeRequest *request, const char *name)
{
  return g_hash_table_lookup (request->query, name);
}

/* ---- Bodies --------------------------------------------------------------------------------- */

static void
add_part (WsServeRequest *request, const char *name, const char *file_name, const char *bytes,
          gsize n_bytes)
{
  WsServePart *part = g_new0 (WsServePart, 1);
  part->name = g_strdup (name);
  part->file_name = g_strdup (file_name);
  part->bytes = bytes;
  part->n_bytes = n_bytes;
  g_ptr_array_add (request->parts, part);
}

/* What a header's parameter says: `filename="a\"b"` or `filename=ab`.  NULL when it isn't there.
 * Free with g_free(). */
static char *
parameter (const char *header, const char *name)
{
  const gsize n = strlen (name);
  for (const char *at = strchr (header, ';'); at != NULL;)
  {
    at += 1 + strspn (at + 1, " \t");
    const gboolean is_it = g_ascii_strncasecmp (at, name, n) == 0 && at[n] == '=';
    const char *from = at + strcspn (at, "=;");
    if (*from == '=')
      from++;
    GString *value = g_string_new (NULL);
    if (*from == '"')
      for (from++; *from != '\0' && *from != '"'; from++)
        g_string_append_c (value, *from == '\\' && from[1] != '\0' ? *++from : *from);
    else
      g_string_append_len (value, from, (gssize)strcspn (from, "; \t"));
    if (is_it)
      return g_string_free (value, FALSE);
    g_string_free (value, TRUE);
    at = strchr (from, ';');
  }
  return NULL;
}

/* Of a part's head the line that says its name. */
static char *
disposition (const char *head, gsize n)
{
  static const char wanted[] = "content-disposition:";
  g_autofree char *text = g_strndup (head, n);
  g_auto (GStrv) lines = g_strsplit (text, "\r\n", MOST_FIELDS);
  for (char **line = lines; *line != NULL; line++)
    if (g_ascii_strncasecmp (*line, wanted, strlen (wanted)) == 0)
      return g_strdup (*line + strlen (wanted));
  return NULL;
}

static const char *
find (const char *text, gsize n, const char *wanted)
{
  return memmem (text, n, wanted, strlen (wanted));
}

/* RFC 7578, strictly: a part ends where its boundary stands at the begin of a line. */
static gboolean
read_multipart (WsServeRequest *request, const char *boundary, const char *text, gsize n,
                const char **what)
{
  g_autofree char *opening = g_strconcat ("--", boundary, NULL);
  g_autofree char *line = g_strconcat ("\r\n--", boundary, NULL);
  const char *const end = text + n;
  const char *at = n >= strlen (opening) && strncmp (text, opening, strlen (opening)) == 0
                     ? text + strlen (opening)
                     : NULL;
  *what = "the form isn't cut by its boundary";
  while (at != NULL && request->parts->len < MOST_FIELDS)
  {
    if (end - at >= 2 && memcmp (at, "--", 2) == 0)
      return TRUE;
    if (end - at < 2 || memcmp (at, "\r\n", 2) != 0)
      return FALSE;
    const char *body = find (at, (gsize)(end - at), "\r\n\r\n");
    const char *next = body != NULL ? find (body + 2, (gsize)(end - body - 2), line) : NULL;
    /* A head has a line at least. */
    if (next == NULL || body == at)
      return FALSE;
    g_autofree char *words = disposition (at + 2, (gsize)(body - at - 2));
    g_autofree char *name = words != NULL ? parameter (words, "name") : NULL;
    g_autofree char *file_name = words != NULL ? parameter (words, "filename") : NULL;
    if (name == NULL)
      return FALSE;
    body += 4;
    /* An empty part: its boundary's line end is the head's. */
    add_part (request, name, file_name, body, next >= body ? (gsize)(next - body) : 0);
    at = next + strlen (line);
  }
  *what = "the form has too many parts";
  return FALSE;
}

static void
add_pair (gpointer name, gpointer value, gpointer data)
{
  WsServeRequest *request = data;
  /* Parts borrow from the body, but these were decoded: the query keeps them. */
  if (!g_hash_table_contains (request->query, name))
    g_hash_table_insert (request->query, g_strdup (name), g_strdup (value));
}

static gboolean
read_form (WsServeRequest *request, const char *text, gsize n)
{
  g_autoptr (GHashTable) pairs = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, g_free);
  if (!read_pairs (pairs, text, n))
    return FALSE;
  g_hash_table_foreach (pairs, add_pair, request);
  return TRUE;
}

/* An object of texts and numbers. */
static gboolean
read_json (WsServeRequest *request, const char *text, gsize n)
{
  const char *name;
  json_t *value, *root = json_loadb (text, n, JSON_REJECT_DUPLICATES, NULL);
  gboolean good = json_is_object (root) && json_object_size (root) <= MOST_FIELDS;
  json_object_foreach (root, name, value)
  {
    g_autofree char *other = json_is_string (value) ? NULL : json_dumps (value, JSON_ENCODE_ANY);
    const char *said = json_is_string (value) ? json_string_value (value) : other;
    if (json_is_object (value) || json_is_array (value))
      good = FALSE;
    else if (good && !json_is_null (value))
      add_pair ((gpointer)name, (gpointer)said, request);
  }
  json_decref (root);
  return good;
}

gboolean
wsi_request_set_body (WsServeRequest *request, GBytes *body, const char **what)
{
  gsize n;
  const char *type = wsi_request_header (request, "content-type");
  const char *text = g_bytes_get_data (body, &n);
  request->body = g_bytes_ref (body);
  if (n == 0)
    return TRUE;
  if (type == NULL)
    type = "application/octet-stream";
  if (g_ascii_strncasecmp (type, "multipart/form-data", 19) == 0)
  {
    g_autofree char *boundary = parameter (type, "boundary");
    *what = "the form has no boundary";
    /* RFC 2046, 5.1.1 */
    return boundary != NULL && *boundary != '\0' && strlen (boundary) <= 70 &&
           read_multipart (request, boundary, text, n, what);
  }
  if (g_ascii_strncasecmp (type, "application/x-www-form-urlencoded", 33) == 0)
  {
    *what = "the form isn't URL-encoded UTF-8, or has too many fields";
    return read_form (request, text, n);
  }
  if (g_ascii_strncasecmp (type, "application/json", 16) == 0)
  {
    *what = "the body is no JSON object of texts and numbers";
    return read_json (request, text, n);
  }
  add_part (request, "picture", wsi_request_query (request, "name"), text, n);
  return TRUE;
}

/* ---- Fields --------------------------------------------------------------------------------- */

static gboolean
text_is_sound (const char *text, gsize n)
{
  if (n > MOST_FIELD || !g_utf8_validate (text, (gssize)n, NULL))
    return FALSE;
  for (gsize i = 0; i < n; i++)
    if (g_ascii_iscntrl (text[i]) && strchr ("\r\n\t", text[i]) == NULL)
      return FALSE;
  return TRUE;
}

char *
wsi_request_field (const WsServeRequest *request, const char *name)
{
  const char *value = wsi_request_query (request, name);
  for (guint i = 0; i < request->parts->len; i++)
  {
    const WsServePart *part = g_ptr_array_index (request->parts, i);
    if (part->file_name == NULL && g_str_equal (part->name, name))
      return part->n_bytes > 0 && text_is_sound (part->bytes, part->n_bytes)
               ? g_strndup (part->bytes, part->n_bytes)
               : NULL;
  }
  return value != NULL && *value != '\0' && text_is_sound (value, strlen (value)) ? g_strdup (value)
                                                                                  : NULL;
}

guint64
wsi_request_count (const WsServeRequest *request, const char *name, guint64 most, guint64 otherwise)
{
  guint64 value;
  const char *text = wsi_request_query (request, name);
  return text != NULL && g_ascii_string_to_unsigned (text, 10, 1, most, &value, NULL) ? value
                                                                                      : otherwise;
}

char *
wsi_request_safe_name (const char *name)
{
  g_autofree char *valid = g_utf8_make_valid (name != NULL ? name : "", -1);
  const char *from = valid;
  for (const char *c = valid; *c != '\0'; c++)
    if (*c == '/' || *c == '\\')
      from = c + 1;
  GString *safe = g_string_new (NULL);
  for (; *from != '\0' && safe->len < MOST_NAME; from = g_utf8_next_char (from))
  {
    const gunichar c = g_utf8_get_char (from);
    g_string_append_unichar (
      safe, g_unichar_iscntrl (c) || g_unichar_type (c) == G_UNICODE_FORMAT ? '_' : c);
  }
  if (safe->len == 0 || safe->str[0] == '.')
    g_string_prepend (safe, "picture");
  return g_string_free (safe, FALSE);
}
