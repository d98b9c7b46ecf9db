/*
 * GKeyFile does the reading; strictness is added here, since a card decides whether a
 * tool is used: nothing in it may be skipped or guessed.
 */
#include <math.h>
#include <string.h>

#include <whetsight/card.h>
#include <whetsight/error.h>

#include "base/file.h"
#include "base/geometry.h"
#include "base/key_file.h"
#include "base/number.h"
#include "base/sha256.h"
#include "base/size.h"
#include "contour/correct.h"
#include "judge/card_master.h"
#include "judge/card_part.h"
#include "judge/limit_text.h"

#define KIND_OF_FILE "tool card"
#define MAX_CARD_BYTES 65536
#define MAX_ID_CHARS 64
#define MAX_LENGTH_MM 10000.0
#define MAX_GROUND_DEG 45.0

typedef struct
{
  const char *name; /* of the file, for messages */
  GKeyFile *file;
  WsToolCard *card;
} Reader;

typedef gboolean (*ReadKey) (const Reader *reader, const char *key, GError **error);

#define DRILLS (1U << WS_KIND_TWIST_DRILL | 1U << WS_KIND_SPOT_DRILL)
#define FORM (1U << WS_KIND_FORM_TOOL)
#define BLADES (1U << WS_KIND_CUTOFF_BLADE | 1U << WS_KIND_FORM_TOOL)

/* "NAME: [group] key: expected ..., found ..." */
static gboolean
refuse (const Reader *reader, const char *group, const char *key, const char *expected,
        GError **error)
{
  g_autofree char *found = g_key_file_get_value (reader->file, group, key, NULL);
  if (found == NULL)
    g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s: [%s] %s is missing; expected %s",
                 reader->name, group, key, expected);
  else
    g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s: [%s] %s: expected %s, found \"%s\"",
                 reader->name, group, key, expected, found);
  return FALSE;
}

static gboolean
is_printable (const char *text)
{
  for (; *text != '\0'; text = g_utf8_next_char (text))
    if (!g_unichar_isprint (g_utf8_get_char (text)))
      return FALSE;
  return TRUE;
}

static gboolean
read_id (const Reader *reader, const char *key, GError **error)
{
  g_autofree char *id = g_key_file_get_string (reader->file, "tool", key, NULL);
  if (id == NULL || *id == '\0' || !is_printable (id) || g_utf8_strlen (id, -1) > MAX_ID_CHARS)
    return refuse (reader, "tool", key, "the tool's name, 1 to 64 printable characters", error);
  reader->card->id = g_steal_pointer (&id);
  return TRUE;
}

static gboolean
read_kind (const Reader *reader, const char *key, GError **error)
{
  g_autofree char *kind = g_key_file_get_string (reader->file, "tool", key, NULL);
  for (guint i = 0; kind != NULL && i < WS_N_KINDS; i++)
    if (g_str_equal (kind, ws_tool_kind_name ((WsToolKind)i)))
    {
      reader->card->kind = (WsToolKind)i;
      return TRUE;
    }
  return refuse (reader, "tool", key, "twist-drill, spot-drill, cutoff-blade or form-tool", error);
}

static gboolean
read_length (const Reader *reader, const char *key, double *length, GError **error)
{
  g_autofree char *text = g_key_file_get_string (reader->file, "tool", key, NULL);
  if (isfinite (*length))
    return refuse (reader, "tool", key, "the size once, not in two units", error);
  if (!wsi_number_parse (text, length) || *length <= 0.0 || *length > MAX_LENGTH_MM)
    return refuse (reader, "tool", key, "millimetres above 0, with a decimal point", error);
  return TRUE;
}

/* Says its unit: a bare number might be either's. */
static gboolean
read_size (const Reader *reader, const char *key, double *length, GError **error)
{
  g_autofree char *text = g_key_file_get_string (reader->file, "tool", key, NULL);
  double mm;
  if (isfinite (*length))
    return refuse (reader, "tool", key, "the size once, not in two units", error);
  if (!wsi_size_parse (text, &mm) || !wsi_size_says_unit (text) || mm <= 0.0 || mm > MAX_LENGTH_MM)
  {
    g_autofree char *expected = g_strdup_printf (
      "a size above 0 with its unit (6.5 mm, 0.25 in, 1/4 in, #7, F; bare millimetres are %s_mm)",
      key);
    return refuse (reader, "tool", key, expected, error);
  }
  *length = mm;
  return TRUE;
}

static gboolean
read_diameter_size (const Reader *reader, const char *key, GError **error)
{
  return read_size (reader, key, &reader->card->diameter_mm, error);
}

static gboolean
read_width_size (const Reader *reader, const char *key, GError **error)
{
  return read_size (reader, key, &reader->card->width_mm, error);
}

static gboolean
read_web_size (const Reader *reader, const char *key, GError **error)
{
  return read_size (reader, key, &reader->card->web_mm, error);
}

static gboolean
read_diameter (const Reader *reader, const char *key, GError **error)
{
  return read_length (reader, key, &reader->card->diameter_mm, error);
}

static gboolean
read_width (const Reader *reader, const char *key, GError **error)
{
  return read_length (reader, key, &reader->card->width_mm, error);
}

static gboolean
read_min_length (const Reader *reader, const char *key, GError **error)
{
  return read_length (reader, key, &reader->card->min_length_mm, error);
}

static gboolean
read_whole_length (const Reader *reader, const char *key, GError **error)
{
  return read_length (reader, key, &reader->card->length_mm, error);
}

static gboolean
read_hand (const Reader *reader, const char *key, GError **error)
{
  g_autofree char *text = g_key_file_get_string (reader->file, "tool", key, NULL);
  for (WsHand hand = WS_HAND_RIGHT; hand <= WS_HAND_LEFT; hand++)
    if (g_strcmp0 (text, ws_hand_name (hand)) == 0)
    {
      reader->card->hand = hand;
      return TRUE;
    }
  return refuse (reader, "tool", key, "right or left", error);
}

static gboolean
read_material (const Reader *reader, const char *key, GError **error)
{
  g_autofree char *text = g_key_file_get_string (reader->file, "tool", key, NULL);
  for (WsMaterial m = WS_MATERIAL_UNKNOWN + 1; text != NULL && m < WS_N_MATERIALS; m++)
    if (g_str_equal (text, ws_material_name (m)))
    {
      reader->card->material = m;
      return TRUE;
    }
  return refuse (reader, "tool", key, "carbon-steel, high-speed-steel, carbide or ceramic", error);
}

static gboolean
read_coating (const Reader *reader, const char *key, GError **error)
{
  g_autofree char *text = g_key_file_get_string (reader->file, "tool", key, NULL);
  for (WsCoating c = WS_COATING_UNKNOWN + 1; text != NULL && c < WS_N_COATINGS; c++)
    if (g_ascii_strcasecmp (text, ws_coating_name (c)) == 0)
    {
      reader->card->coating = c;
      return TRUE;
    }
  return refuse (reader, "tool", key, "none, TiN, ZrN, TiCN, TiAlN, CrN or black-oxide", error);
}

static gboolean
read_web (const Reader *reader, const char *key, GError **error)
{
  return read_length (reader, key, &reader->card->web_mm, error);
}

static gboolean
check_boolean (const Reader *reader, const char *key, GError **error)
{
  if (g_key_file_get_boolean (reader->file, "tool", key, NULL))
    return TRUE;
  g_autofree char *text = g_key_file_get_string (reader->file, "tool", key, NULL);
  if (g_strcmp0 (text, "false") == 0)
    return TRUE;
  return refuse (reader, "tool", key, "true or false", error);
}

/* Beyond this no blade is ground. */
#define MAX_SIDE_RAKE_DEG 45.0

static gboolean
read_side_rake (const Reader *reader, const char *key, GError **error)
{
  g_autofree char *text = g_key_file_get_string (reader->file, "tool", key, NULL);
  double *angle = &reader->card->side_rake_deg;
  if (!wsi_number_parse (text, angle) || *angle < 0.0 || *angle > MAX_SIDE_RAKE_DEG)
    return refuse (reader, "tool", key, "degrees from 0 to 45, with a decimal point", error);
  return TRUE;
}

/* "true" and "false" are what GLib's key files call it. */
static gboolean
read_centre_hole (const Reader *reader, const char *key, GError **error)
{
  g_autofree char *text = g_key_file_get_string (reader->file, "tool", key, NULL);
  const char *const yes[] = { "yes", "true", NULL }, *const no[] = { "no", "false", NULL };
  if (text != NULL && g_strv_contains (yes, text))
    reader->card->part_has_centre_hole = WS_ANSWER_YES;
  else if (text != NULL && g_strv_contains (no, text))
    reader->card->part_has_centre_hole = WS_ANSWER_NO;
  else
    return refuse (reader, "tool", key, "yes or no", error);
  return TRUE;
}

static gboolean
read_reference_side (const Reader *reader, const char *key, GError **error)
{
  g_autofree char *text = g_key_file_get_string (reader->file, "tool", key, NULL);
  static const char *const sides[] = {
    [WS_REFERENCE_CENTRE] = "centre",
    [WS_REFERENCE_LEFT] = "left",
    [WS_REFERENCE_RIGHT] = "right",
  };
  for (gsize i = 0; text != NULL && i < G_N_ELEMENTS (sides); i++)
    if (g_str_equal (text, sides[i]))
    {
      reader->card->reference_side = (WsReferenceSide)i;
      return TRUE;
    }
  return refuse (reader, "tool", key, "centre, left or right", error);
}

/* A profile's file lies where its name leads from the card. */
static WsContour *
load_profile (const Reader *reader, const char *key, GError **error)
{
  g_autofree char *name = g_key_file_get_string (reader->file, "tool", key, NULL);
  if (name == NULL || *name == '\0')
  {
    refuse (reader, "tool", key, "a file name", error);
    return NULL;
  }
  g_autofree char *folder = g_path_get_dirname (reader->name);
  g_autofree char *path =
    g_path_is_absolute (name) ? g_strdup (name) : g_build_filename (folder, name, NULL);
  return ws_contour_load (path, error);
}

static gboolean
read_nominal (const Reader *reader, const char *key, GError **error)
{
  reader->card->form.nominal = load_profile (reader, key, error);
  return reader->card->form.nominal != NULL;
}

static gboolean
read_part (const Reader *reader, const char *key, GError **error)
{
  reader->card->form.part = load_profile (reader, key, error);
  return reader->card->form.part != NULL;
}

static gboolean
read_degrees (const Reader *reader, const char *key, double least, double *angle, GError **error)
{
  double degrees;
  g_autofree char *text = g_key_file_get_string (reader->file, "tool", key, NULL);
  if (!wsi_number_parse (text, &degrees) || degrees < least || degrees > MAX_GROUND_DEG)
    return refuse (reader, "tool", key, least < 0 ? "degrees, -45 to 45" : "degrees, 0 to 45",
                   error);
  *angle = wsi_radians (degrees);
  return TRUE;
}

static gboolean
read_rake (const Reader *reader, const char *key, GError **error)
{
  return read_degrees (reader, key, -MAX_GROUND_DEG, &reader->card->form.correction.rake, error);
}

static gboolean
read_relief (const Reader *reader, const char *key, GError **error)
{
  return read_degrees (reader, key, 0, &reader->card->form.correction.relief, error);
}

static gboolean
read_smallest_radius (const Reader *reader, const char *key, GError **error)
{
  return read_length (reader, key, &reader->card->form.correction.smallest_radius, error);
}

static gboolean
read_tool_radius (const Reader *reader, const char *key, GError **error)
{
  return read_length (reader, key, &reader->card->form.correction.tool_radius, error);
}

static gboolean
read_mirrored (const Reader *reader, const char *key, GError **error)
{
  reader->card->form.is_mirrored = g_key_file_get_boolean (reader->file, "tool", key, NULL);
  return check_boolean (reader, key, error);
}

static gboolean
read_reference (const Reader *reader, const char *key, GError **error)
{
  g_autofree char *text = g_key_file_get_string (reader->file, "tool", key, NULL);
  reader->card->form.by_dovetail = g_strcmp0 (text, "dovetail") == 0;
  if (reader->card->form.by_dovetail || g_strcmp0 (text, "profile") == 0)
    return TRUE;
  return refuse (reader, "tool", key, "profile or dovetail", error);
}

static gboolean
read_required (const Reader *reader, const char *key, GError **error)
{
  g_autofree char *text = g_key_file_get_string (reader->file, "tool", key, NULL);
  char **names = g_strsplit (text != NULL ? text : "", ",", -1);
  g_strfreev (reader->card->required);
  reader->card->required = names;
  for (; *names != NULL; names++)
    if (!wsi_limit_is_quantity_name (g_strstrip (*names)))
      return refuse (reader, "tool", key, "names of quantities with commas between", error);
  return TRUE;
}

/* Which views there are lies above this layer; here only the form. */
static gboolean
is_view_name (const char *name)
{
  gboolean good = *name != '\0';
  for (; good && *name != '\0'; name++)
    good = g_ascii_islower (*name) || *name == '-';
  return good;
}

static gboolean
read_views (const Reader *reader, const char *key, GError **error)
{
  g_autofree char *text = g_key_file_get_string (reader->file, "tool", key, NULL);
  char **names = g_strsplit (text != NULL ? text : "", ",", -1);
  reader->card->views = names;
  for (gsize i = 0; i == 0 || names[i] != NULL; i++)
    if (names[i] == NULL || !is_view_name (g_strstrip (names[i])))
      return refuse (reader, "tool", key, "names of views with commas between", error);
  return TRUE;
}

static const struct
{
  const char *name;
  guint kinds;
  ReadKey read;
} tool_keys[] = {
  { "id", DRILLS | BLADES, read_id },
  { "kind", DRILLS | BLADES, read_kind },
  { "required", DRILLS | BLADES, read_required },
  { "views", DRILLS | BLADES, read_views },
  { "material", DRILLS | BLADES, read_material },
  { "coating", DRILLS | BLADES, read_coating },
  { "min_length_mm", DRILLS | BLADES, read_min_length },
  { "length_mm", DRILLS, read_whole_length },
  { "diameter_mm", DRILLS, read_diameter },
  { "diameter", DRILLS, read_diameter_size },
  { "web_mm", DRILLS, read_web },
  { "web", DRILLS, read_web_size },
  { "hand", DRILLS | 1U << WS_KIND_CUTOFF_BLADE, read_hand },
  { "width_mm", BLADES, read_width },
  { "width", BLADES, read_width_size },
  { "nominal_profile", FORM, read_nominal },
  { "part_profile", FORM, read_part },
  { "rake_deg", FORM, read_rake },
  { "relief_deg", FORM, read_relief },
  { "smallest_radius_mm", FORM, read_smallest_radius },
  { "tool_radius_mm", FORM, read_tool_radius },
  { "profile_mirrored", FORM, read_mirrored },
  { "reference", FORM, read_reference },
  { "part_has_centre_hole", 1U << WS_KIND_CUTOFF_BLADE, read_centre_hole },
  { "reference_side", 1U << WS_KIND_CUTOFF_BLADE, read_reference_side },
  { "side_rake_deg", 1U << WS_KIND_CUTOFF_BLADE, read_side_rake },
};

/* The profile on the tool's face, from whatever the card gives. */
static gboolean
complete_form (const Reader *reader, GError **error)
{
  WsFormSpec *form = &reader->card->form;
  if (form->part != NULL && form->nominal != NULL)
    return refuse (reader, "tool", "nominal_profile", "either this or part_profile, not both",
                   error);
  if (form->part != NULL)
  {
    if (isnan (form->correction.rake))
      return refuse (reader, "tool", "rake_deg", "the tool's top rake, beside part_profile", error);
    if (isnan (form->correction.relief))
      return refuse (reader, "tool", "relief_deg", "its front relief, beside part_profile", error);
    if (isnan (form->correction.smallest_radius))
      return refuse (reader, "tool", "smallest_radius_mm",
                     "the part's smallest radius, beside part_profile", error);
    form->nominal = wsi_form_correct (form->part, &form->correction);
  }
  if (form->nominal != NULL && form->is_mirrored)
    ws_contour_mirror (form->nominal);
  return TRUE;
}

static char *
known_tool_keys (WsToolKind kind)
{
  GString *names = g_string_new (NULL);
  for (gsize i = 0; i < G_N_ELEMENTS (tool_keys); i++)
    if (tool_keys[i].kinds & 1U << kind)
      g_string_append_printf (names, "%s%s", names->len > 0 ? ", " : "", tool_keys[i].name);
  return g_string_free (names, FALSE);
}

static gboolean
read_tool_key (const Reader *reader, const char *key, GError **error)
{
  WsToolKind kind = reader->card->kind;
  for (gsize i = 0; i < G_N_ELEMENTS (tool_keys); i++)
    if (g_str_equal (tool_keys[i].name, key) && tool_keys[i].kinds & 1U << kind)
      return tool_keys[i].read (reader, key, error);

  g_autofree char *known = known_tool_keys (kind);
  g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s: [tool] %s: not a key for a %s; expected %s",
               reader->name, key, ws_tool_kind_name (kind), known);
  return FALSE;
}

static gboolean
read_tool_group (const Reader *reader, GError **error)
{
  if (!read_kind (reader, "kind", error) || !read_id (reader, "id", error))
    return FALSE;
  g_clear_pointer (&reader->card->id, g_free);

  g_auto (GStrv) keys = g_key_file_get_keys (reader->file, "tool", NULL, error);
  for (gsize i = 0; keys != NULL && keys[i] != NULL; i++)
    if (!read_tool_key (reader, keys[i], error))
      return FALSE;
  if (reader->card->web_mm >= reader->card->diameter_mm)
    return refuse (reader, "tool", "web_mm", "less than diameter_mm", error);
  return complete_form (reader, error);
}

static gboolean
read_limit (const Reader *reader, const char *key, GError **error)
{
  WsLimit limit = { 0 };
  g_autofree char *text = g_key_file_get_string (reader->file, "limits", key, NULL);
  const char *expected = wsi_limit_parse (key, text, &limit.quantity, &limit.lower, &limit.upper);
  if (expected == NULL && ws_tool_card_limit (reader->card, limit.quantity) != NULL)
  {
    g_free (limit.quantity);
    expected = "a limit once, not in two units";
  }
  if (expected != NULL)
    return refuse (reader, "limits", key, expected, error);
  g_array_append_val (reader->card->limits, limit);
  return TRUE;
}

static gboolean
read_limits_group (const Reader *reader, GError **error)
{
  g_auto (GStrv) keys = g_key_file_get_keys (reader->file, "limits", NULL, NULL);
  for (gsize i = 0; keys != NULL && keys[i] != NULL; i++)
    if (!read_limit (reader, keys[i], error))
      return FALSE;
  return TRUE;
}

static gboolean
check_groups (const Reader *reader, GError **error)
{
  static const char *const known[] = { "tool", "limits", "part", "master", NULL };
  g_auto (GStrv) groups = g_key_file_get_groups (reader->file, NULL);
  for (gsize i = 0; groups[i] != NULL; i++)
    if (!g_strv_contains (known, groups[i]))
    {
      g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                   "%s: [%s]: expected only [tool], [limits], [part] and [master]", reader->name,
                   groups[i]);
      return FALSE;
    }
  return TRUE;
}

WsToolCard *
ws_tool_card_load (const char *path, GError **error)
{
  g_autofree char *text = wsi_file_read_text (path, KIND_OF_FILE, MAX_CARD_BYTES, error);
  g_autoptr (GKeyFile) file =
    text != NULL ? wsi_key_file_parse (path, KIND_OF_FILE, text, error) : NULL;
  if (file == NULL)
    return NULL;

  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  const Reader reader = { .name = path, .file = file, .card = card };
  card->sha256 = g_malloc (WS_SHA256_HEX_SIZE);
  wsi_sha256_hex (text, strlen (text), card->sha256);
  if (check_groups (&reader, error) && read_tool_group (&reader, error) &&
      read_limits_group (&reader, error) && wsi_part_spec_read (path, file, &card->part, error) &&
      wsi_card_masters_read (path, file, card->masters, &card->is_master, error))
    return g_steal_pointer (&card);
  return NULL;
}
