/*
 * Nominal profiles from files: what the kinds share, and our own plain text.
 */
#include <string.h>

#include <whetsight/error.h>

#include "base/file.h"
#include "base/geometry.h"
#include "base/number.h"
#include "contour/build.h"

#define KIND_OF_FILE "profile"
#define MAX_BYTES (4u << 20)
#define MM_PER_INCH 25.4

/* Where reading stands. */
typedef struct
{
  const char *name;
  guint line;
  double unit; /* mm */
  gboolean has_point;
  WsPoint at; /* mm */
  GArray *segments;
} Plain;

static gboolean refuse (const Plain *plain, GError **error, const char *format, ...)
  G_GNUC_PRINTF (3, 4);

static gboolean
refuse (const Plain *plain, GError **error, const char *format, ...)
{
  va_list arguments;
  va_start (arguments, format);
  g_autofree char *what = g_strdup_vprintf (format, arguments);
  va_end (arguments);
  g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s: line %u: %s", plain->name, plain->line, what);
  return FALSE;
}

static gboolean
read_length (const Plain *plain, const char *word, double *mm, GError **error)
{
  double value;
  if (!wsi_number_parse (word, &value) || fabs (value * plain->unit) > WS_CONTOUR_MAX_MM)
  {
    g_autofree char *safe = g_strescape (word, NULL);
    return refuse (plain, error, "expected a length, found \"%.40s\"", safe);
  }
  *mm = value * plain->unit;
  return TRUE;
}

static gboolean
read_point (const Plain *plain, char **words, WsPoint *point, GError **error)
{
  return read_length (plain, words[0], &point->x, error) &&
         read_length (plain, words[1], &point->y, error);
}

static gboolean
read_unit (Plain *plain, char **words, GError **error)
{
  if (plain->has_point)
    return refuse (plain, error, "unit must stand before the first point");
  if (g_str_equal (words[1], "mm"))
    plain->unit = 1;
  else if (g_str_equal (words[1], "inch"))
    plain->unit = MM_PER_INCH;
  else
    return refuse (plain, error, "expected unit mm or unit inch");
  return TRUE;
}

static gboolean
read_start (Plain *plain, char **words, GError **error)
{
  if (plain->has_point)
    return refuse (plain, error, "a profile has one start; use line or arc");
  plain->has_point = TRUE;
  return read_point (plain, words + 1, &plain->at, error);
}

static gboolean
read_line (Plain *plain, char **words, GError **error)
{
  WsPoint to;
  if (!read_point (plain, words + 1, &to, error))
    return FALSE;
  if (!wsi_contour_add_line (plain->segments, plain->at, to))
    return refuse (plain, error, "the line has no length");
  plain->at = to;
  return TRUE;
}

/* arc X Y RADIUS cw|ccw: the shorter of the two such arcs. */
static gboolean
read_arc (Plain *plain, char **words, GError **error)
{
  WsPoint to;
  double radius;
  if (!read_point (plain, words + 1, &to, error) || !read_length (plain, words[3], &radius, error))
    return FALSE;
  const gboolean left = g_str_equal (words[4], "ccw");
  if (!left && !g_str_equal (words[4], "cw"))
    return refuse (plain, error, "expected cw or ccw after the radius");
  const double half = 0.5 * wsi_point_distance (plain->at, to);
  if (!(radius > 0) || half > radius * (1 + 1e-6) || !(half > 0))
    return refuse (plain, error, "no arc of this radius joins the two points");
  const double bulge = tan (0.5 * asin (MIN (half / radius, 1)));
  if (!wsi_contour_add_bulge (plain->segments, plain->at, to, left ? bulge : -bulge))
    return refuse (plain, error, "the arc has no length");
  plain->at = to;
  return TRUE;
}

static const struct
{
  const char *word, *form;
  guint n_words;
  gboolean needs_point;
  gboolean (*read) (Plain *plain, char **words, GError **error);
} statements[] = {
  { "unit", "unit mm|inch", 2, FALSE, read_unit },
  { "start", "start X Y", 3, FALSE, read_start },
  { "line", "line X Y", 3, TRUE, read_line },
  { "arc", "arc X Y RADIUS cw|ccw", 5, TRUE, read_arc },
};

static gboolean
read_statement (Plain *plain, char **words, GError **error)
{
  for (gsize i = 0; i < G_N_ELEMENTS (statements); i++)
  {
    if (!g_str_equal (words[0], statements[i].word))
      continue;
    if (g_strv_length (words) != statements[i].n_words)
      return refuse (plain, error, "expected %s", statements[i].form);
    if (statements[i].needs_point && !plain->has_point)
      return refuse (plain, error, "expected start X Y first");
    if (plain->segments->len >= WS_CONTOUR_MAX_SEGMENTS)
      return refuse (plain, error, "more than %d segments", WS_CONTOUR_MAX_SEGMENTS);
    return statements[i].read (plain, words, error);
  }
  g_autofree char *safe = g_strescape (words[0], NULL);
  return refuse (plain, error, "expected unit, start, line or arc, found \"%.40s\"", safe);
}

/* Words of a line, its comment left out; NULL at the end.  Free with g_strfreev(). */
static char **
words_of (const char *line)
{
  g_autofree char *text = g_strdup (line);
  char *comment = strchr (text, '#');
  if (comment != NULL)
    *comment = '\0';
  g_auto (GStrv) parts = g_strsplit_set (text, " \t\r", -1);
  GPtrArray *words = g_ptr_array_new ();
  for (gsize i = 0; parts[i] != NULL; i++)
    if (*parts[i] != '\0')
      g_ptr_array_add (words, g_strdup (parts[i]));
  g_ptr_array_add (words, NULL);
  return (char **)g_ptr_array_free (words, FALSE);
}

WsContour *
wsi_contour_read_plain (const char *text, const char *name, GError **error)
{
  g_auto (GStrv) lines = g_strsplit (text, "\n", -1);
  g_autoptr (GArray) segments = g_array_new (FALSE, FALSE, sizeof (WsContourSegment));
  Plain plain = { .name = name, .unit = 1, .segments = segments };
  for (gsize i = 0; lines[i] != NULL; i++)
  {
    plain.line = (guint)i + 1;
    g_auto (GStrv) words = words_of (lines[i]);
    if (words[0] != NULL && !read_statement (&plain, words, error))
      return NULL;
  }
  return wsi_contour_join (g_steal_pointer (&segments), name, error);
}

/* DXF starts with a group code on a line of its own: 0 (SECTION) or 999 (a comment). */
static gboolean
looks_like_dxf (const char *text)
{
  text += strspn (text, " \t\r\n");
  const gsize digits = strspn (text, "0123456789");
  if (digits == 0)
    return FALSE;
  const char *end = text + digits + strspn (text + digits, " \t\r");
  return *end == '\n' || *end == '\0';
}

static WsContour *
read_text (const char *text, const char *name, GError **error)
{
  return looks_like_dxf (text) ? wsi_contour_read_dxf (text, name, error)
                               : wsi_contour_read_plain (text, name, error);
}

WsContour *
ws_contour_parse (const char *bytes, gsize n_bytes, const char *name, GError **error)
{
  if (n_bytes > MAX_BYTES || memchr (bytes, '\0', n_bytes) != NULL)
    g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                 "%s: not a profile, which is a text file of at most %u MiB (save DXF as ASCII)",
                 name, MAX_BYTES >> 20);
  else
  {
    g_autofree char *text = g_strndup (bytes, n_bytes);
    return read_text (text, name, error);
  }
  return NULL;
}

WsContour *
ws_contour_load (const char *path, GError **error)
{
  g_autofree char *text = wsi_file_read_text (path, KIND_OF_FILE, MAX_BYTES, error);
  return text != NULL ? ws_contour_parse (text, strlen (text), path, error) : NULL;
}
