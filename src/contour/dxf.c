/*
 * ASCII DXF, release 12 and later: pairs of lines, a group code and its value.
 *
 * Only the section ENTITIES is looked at, and $INSUNITS in the header.  Entities that carry no
 * outline (texts, dimensions, points) are passed over; any other that isn't read is an error,
 * since a profile must not lose a part in silence.
 */
#include <stdlib.h>
#include <string.h>

#include <whetsight/error.h>

#include "base/geometry.h"
#include "contour/build.h"

#define MM_PER_INCH 25.4
#define MAX_CODE 1071

/* $INSUNITS */
#define UNITS_INCH 1
#define UNITS_MM 4
#define MAX_UNITS 1000 /* far beyond any that is defined */

/* Group codes. */
enum
{
  G_TYPE = 0,
  G_NAME = 2,
  G_VARIABLE = 9,
  G_X = 10,
  G_X2 = 11,
  G_Y = 20,
  G_Y2 = 21,
  G_RADIUS = 40,
  G_BULGE = 42,
  G_ANGLE = 50,
  G_ANGLE2 = 51,
  G_FLAGS = 70,
  G_EXTRUSION_Z = 230,
  N_GROUPS = 256
};

typedef struct
{
  WsPoint at;
  double bulge;
} Vertex;

typedef struct
{
  const char *name;
  const char *text; /* what is not read yet */
  guint line;       /* of the value read last */
  int code;
  char *value; /* without spaces around it */

  double unit; /* mm */
  GArray *segments;
  GArray *vertices; /* of Vertex, of the polyline being read */
  gboolean in_polyline, is_closed;
} Reader;

/* What an entity's groups say, each the last of its code. */
typedef struct
{
  double value[N_GROUPS];
  gboolean has[N_GROUPS];
} Groups;

static gboolean refuse (const Reader *reader, GError **error, const char *format, ...)
  G_GNUC_PRINTF (3, 4);

static gboolean
refuse (const Reader *reader, GError **error, const char *format, ...)
{
  va_list arguments;
  va_start (arguments, format);
  g_autofree char *what = g_strdup_vprintf (format, arguments);
  va_end (arguments);
  g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s: line %u: %s", reader->name, reader->line, what);
  return FALSE;
}

/* ---- Pairs ------------------------------------------------------------------------ */

/* The next line without spaces around it; NULL at the end.  Free with g_free(). */
static char *
next_line (Reader *reader)
{
  if (*reader->text == '\0')
    return NULL;
  const char *end = reader->text + strcspn (reader->text, "\n");
  char *line = g_strndup (reader->text, (gsize)(end - reader->text));
  reader->text = *end == '\n' ? end + 1 : end;
  reader->line++;
  return g_strstrip (line);
}

static gboolean
next_pair (Reader *reader, GError **error)
{
  g_autofree char *code = next_line (reader);
  g_free (reader->value);
  reader->value = code != NULL ? next_line (reader) : NULL;
  if (reader->value == NULL)
    return refuse (reader, error, "the file ends too early; expected 0 EOF at its end");
  char *end = NULL;
  const glong number = strtol (code, &end, 10);
  if (*code == '\0' || *end != '\0' || number < -5 || number > MAX_CODE)
  {
    g_autofree char *safe = g_strescape (code, NULL);
    reader->line--;
    return refuse (reader, error, "expected a group code, found \"%.40s\"", safe);
  }
  reader->code = (int)number;
  return TRUE;
}

/* As drawing programs write them: also ".5" and "5.". */
static gboolean
parse_number (const char *text, double *number)
{
  char *end = NULL;
  if (*text == '\0' || text[strspn (text, "0123456789+-.eE")] != '\0')
    return FALSE;
  *number = g_ascii_strtod (text, &end);
  return *end == '\0' && isfinite (*number);
}

static gboolean
read_number (const Reader *reader, double *number, GError **error)
{
  if (parse_number (reader->value, number))
    return TRUE;
  g_autofree char *safe = g_strescape (reader->value, NULL);
  return refuse (reader, error, "group %d: expected a number, found \"%.40s\"", reader->code, safe);
}

static gboolean
is_pair (const Reader *reader, int code, const char *value)
{
  return reader->code == code && g_str_equal (reader->value, value);
}

/* ---- Header ----------------------------------------------------------------------- */

static gboolean
read_header (Reader *reader, GError **error)
{
  gboolean is_units = FALSE;
  while (next_pair (reader, error))
  {
    if (is_pair (reader, G_TYPE, "ENDSEC"))
      return TRUE;
    if (reader->code == G_VARIABLE)
      is_units = g_str_equal (reader->value, "$INSUNITS");
    double units = 0;
    if (!is_units || reader->code != G_FLAGS)
      continue;
    if (!read_number (reader, &units, error))
      return FALSE;
    /* No int holds all that a damaged file may say. */
    const int code = fabs (units) <= MAX_UNITS ? (int)units : MAX_UNITS;
    if (code == UNITS_INCH)
      reader->unit = MM_PER_INCH;
    else if (code != UNITS_MM && code != 0)
      return refuse (reader, error, "$INSUNITS %g: draw the profile in millimetres or inches",
                     units);
  }
  return FALSE;
}

static gboolean
skip_section (Reader *reader, GError **error)
{
  while (next_pair (reader, error))
    if (is_pair (reader, G_TYPE, "ENDSEC"))
      return TRUE;
  return FALSE;
}

/* ---- Entities --------------------------------------------------------------------- */

static gboolean
check_length (const Reader *reader, double mm, GError **error)
{
  return fabs (mm) <= WS_CONTOUR_MAX_MM ||
         refuse (reader, error, "a coordinate is beyond %g mm", WS_CONTOUR_MAX_MM);
}

static gboolean
take_point (const Reader *reader, const Groups *groups, int x, int y, WsPoint *point,
            GError **error)
{
  if (!groups->has[x] || !groups->has[y])
    return refuse (reader, error, "group %d or %d is missing before here", x, y);
  *point = wsi_point (groups->value[x] * reader->unit, groups->value[y] * reader->unit);
  return check_length (reader, point->x, error) && check_length (reader, point->y, error);
}

static gboolean
add_line (Reader *reader, const Groups *groups, GError **error)
{
  WsPoint from, to;
  if (!take_point (reader, groups, G_X, G_Y, &from, error) ||
      !take_point (reader, groups, G_X2, G_Y2, &to, error))
    return FALSE;
  wsi_contour_add_line (reader->segments, from, to);
  return TRUE;
}

/* From angle 50 counter-clockwise to angle 51, degrees. */
static gboolean
add_arc (Reader *reader, const Groups *groups, GError **error)
{
  WsPoint centre;
  if (!take_point (reader, groups, G_X, G_Y, &centre, error))
    return FALSE;
  const double radius = groups->value[G_RADIUS] * reader->unit;
  if (!groups->has[G_RADIUS] || !groups->has[G_ANGLE] || !groups->has[G_ANGLE2] || !(radius > 0))
    return refuse (reader, error, "an arc before here lacks its radius or an angle");
  if (!check_length (reader, radius, error))
    return FALSE;
  const double start = wsi_radians (fmod (groups->value[G_ANGLE], 360));
  double sweep = wsi_radians (fmod (groups->value[G_ANGLE2], 360)) - start;
  while (sweep <= 0)
    sweep += 2 * G_PI;
  const WsPoint from = wsi_point_along (centre, radius, wsi_point (cos (start), sin (start)));
  wsi_contour_add_arc (reader->segments, centre, from, sweep);
  return TRUE;
}

static void
add_vertices (Reader *reader)
{
  const guint n = reader->vertices->len;
  for (guint i = 0; i + (reader->is_closed ? 0 : 1) < n && n > 1; i++)
  {
    const Vertex *a = &g_array_index (reader->vertices, Vertex, i);
    const Vertex *b = &g_array_index (reader->vertices, Vertex, (i + 1) % n);
    wsi_contour_add_bulge (reader->segments, a->at, b->at, a->bulge);
  }
  g_array_set_size (reader->vertices, 0);
}

static gboolean
add_vertex (Reader *reader, const Groups *groups, GError **error)
{
  Vertex vertex = { .bulge = groups->has[G_BULGE] ? groups->value[G_BULGE] : 0 };
  if (!take_point (reader, groups, G_X, G_Y, &vertex.at, error))
    return FALSE;
  if (reader->vertices->len >= WS_CONTOUR_MAX_SEGMENTS)
    return refuse (reader, error, "more than %d segments", WS_CONTOUR_MAX_SEGMENTS);
  g_array_append_val (reader->vertices, vertex);
  return TRUE;
}

static gboolean
finish_entity (Reader *reader, const char *type, const Groups *groups, GError **error)
{
  if (groups->has[G_EXTRUSION_Z] && groups->value[G_EXTRUSION_Z] < 0)
    return refuse (reader, error, "an entity before here is drawn from behind (group 230)");
  if (reader->segments->len > WS_CONTOUR_MAX_SEGMENTS)
    return refuse (reader, error, "more than %d segments", WS_CONTOUR_MAX_SEGMENTS);
  if (g_str_equal (type, "LINE"))
    return add_line (reader, groups, error);
  if (g_str_equal (type, "ARC"))
    return add_arc (reader, groups, error);
  if (g_str_equal (type, "VERTEX"))
    return add_vertex (reader, groups, error);
  return TRUE;
}

/* A light polyline's vertices follow each other in one entity: x starts a new one. */
static gboolean
take_light_vertex (Reader *reader, Groups *groups, GError **error)
{
  if (!groups->has[G_X])
    return TRUE;
  if (!add_vertex (reader, groups, error))
    return FALSE;
  groups->has[G_X] = groups->has[G_Y] = groups->has[G_BULGE] = FALSE;
  return TRUE;
}

static gboolean
is_read (const char *type)
{
  const char *const types[] = { "LINE", "ARC", "LWPOLYLINE", "POLYLINE", "VERTEX", "SEQEND", NULL };
  return g_strv_contains (types, type);
}

static gboolean
has_no_outline (const char *type)
{
  const char *const types[] = { "TEXT",   "MTEXT", "DIMENSION", "POINT",       "LEADER", "VIEWPORT",
                                "ATTDEF", "HATCH", "ATTRIB",    "MULTILEADER", NULL };
  return g_strv_contains (types, type);
}

static gboolean
start_entity (Reader *reader, const char *type, GError **error)
{
  if (g_str_equal (type, "VERTEX") && !reader->in_polyline)
    return refuse (reader, error, "VERTEX outside a POLYLINE");
  if (reader->in_polyline && !g_str_equal (type, "VERTEX") && !g_str_equal (type, "SEQEND"))
    return refuse (reader, error, "a POLYLINE isn't ended by SEQEND");
  if (is_read (type) || has_no_outline (type))
    return TRUE;
  g_autofree char *safe = g_strescape (type, NULL);
  return refuse (reader, error, "%.40s isn't read; draw the profile with LINE, ARC and LWPOLYLINE",
                 safe);
}

/* Groups up to the next entity; the pair that starts it has been read then. */
static gboolean
read_groups (Reader *reader, const char *type, Groups *groups, GError **error)
{
  const gboolean light = g_str_equal (type, "LWPOLYLINE"), wanted = is_read (type);
  while (next_pair (reader, error))
  {
    if (reader->code == G_TYPE)
      return TRUE;
    const gboolean number = (reader->code >= 10 && reader->code <= 59) || reader->code == G_FLAGS ||
                            reader->code == G_EXTRUSION_Z;
    if (!wanted || !number)
      continue;
    if (light && reader->code == G_X && !take_light_vertex (reader, groups, error))
      return FALSE;
    if (!read_number (reader, &groups->value[reader->code], error))
      return FALSE;
    groups->has[reader->code] = TRUE;
  }
  return FALSE;
}

static gboolean
end_entity (Reader *reader, const char *type, Groups *groups, GError **error)
{
  if (g_str_equal (type, "LWPOLYLINE") || g_str_equal (type, "POLYLINE"))
    reader->is_closed =
      groups->has[G_FLAGS] && ((guint64)fabs (fmod (groups->value[G_FLAGS], 2)) & 1);
  if (g_str_equal (type, "POLYLINE"))
    reader->in_polyline = TRUE;
  if (g_str_equal (type, "LWPOLYLINE") && !take_light_vertex (reader, groups, error))
    return FALSE;
  if (!finish_entity (reader, type, groups, error))
    return FALSE;
  if (!g_str_equal (type, "SEQEND") && !g_str_equal (type, "LWPOLYLINE"))
    return TRUE;
  reader->in_polyline = FALSE;
  add_vertices (reader);
  return TRUE;
}

static gboolean
read_entities (Reader *reader, GError **error)
{
  if (!next_pair (reader, error))
    return FALSE;
  while (!is_pair (reader, G_TYPE, "ENDSEC"))
  {
    if (reader->code != G_TYPE)
      return refuse (reader, error, "expected an entity (group 0), found group %d", reader->code);
    g_autofree char *type = g_strdup (reader->value);
    Groups groups = { 0 };
    if (!start_entity (reader, type, error) || !read_groups (reader, type, &groups, error) ||
        !end_entity (reader, type, &groups, error))
      return FALSE;
  }
  return !reader->in_polyline || refuse (reader, error, "a POLYLINE isn't ended by SEQEND");
}

static gboolean
read_section (Reader *reader, gboolean *found, GError **error)
{
  if (!next_pair (reader, error))
    return FALSE;
  if (reader->code != G_NAME)
    return refuse (reader, error, "expected a section's name (group 2)");
  if (g_str_equal (reader->value, "HEADER"))
    return read_header (reader, error);
  if (!g_str_equal (reader->value, "ENTITIES"))
    return skip_section (reader, error);
  *found = TRUE;
  return read_entities (reader, error);
}

static gboolean
read_file (Reader *reader, GError **error)
{
  gboolean found = FALSE;
  while (next_pair (reader, error))
  {
    if (is_pair (reader, G_TYPE, "EOF"))
      return found || refuse (reader, error, "there is no section ENTITIES");
    if (reader->code == 999)
      continue;
    if (!is_pair (reader, G_TYPE, "SECTION"))
      return refuse (reader, error, "expected 0 SECTION or 0 EOF");
    if (!read_section (reader, &found, error))
      return FALSE;
  }
  return FALSE;
}

WsContour *
wsi_contour_read_dxf (const char *text, const char *name, GError **error)
{
  g_autoptr (GArray) segments = g_array_new (FALSE, FALSE, sizeof (WsContourSegment));
  g_autoptr (GArray) vertices = g_array_new (FALSE, FALSE, sizeof (Vertex));
  Reader reader = {
    .name = name, .text = text, .unit = 1, .segments = segments, .vertices = vertices
  };
  const gboolean read = read_file (&reader, error);
  g_free (reader.value);
  return read ? wsi_contour_join (g_steal_pointer (&segments), name, error) : NULL;
}
