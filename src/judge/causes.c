#include "judge/causes.h"

#include <math.h>
#include <string.h>

#include <whetsight/error.h>

#include "base/key_file.h"
#include "base/number.h"

#define KIND_OF_FILE "table of causes"
#define SYMPTOM "symptom "
#define CAUSE "cause "

typedef struct
{
  const char *name; /* of the file, for messages */
  GKeyFile *file;
  const char *group;
} Reader;

static void
symptom_free (gpointer data)
{
  WsSymptom *symptom = data;
  g_free (symptom->name);
  g_free (symptom->title);
  g_free (symptom->amount);
  g_free (symptom);
}

static void
cause_free (gpointer data)
{
  WsCause *cause = data;
  g_free (cause->name);
  g_strfreev (cause->symptoms);
  g_free (cause->what);
  g_free (cause->check);
  g_free (cause->cure);
  g_free (cause->source);
  g_strfreev (cause->quantities);
  g_free (cause);
}

void
wsi_causes_free (WsCauses *causes)
{
  if (causes == NULL)
    return;
  g_ptr_array_unref (causes->symptoms);
  g_ptr_array_unref (causes->causes);
  g_free (causes);
}

const char *
wsi_cause_stage_name (WsCauseStage stage)
{
  static const char *const names[] = { [WS_STAGE_SET_UP] = "set-up",
                                       [WS_STAGE_TOOL] = "tool",
                                       [WS_STAGE_CENTRE_HEIGHT] = "centre-height",
                                       [WS_STAGE_MACHINE] = "machine" };
  return stage < WS_N_STAGES ? names[stage] : NULL;
}

static gboolean
refuse (const Reader *reader, const char *key, const char *expected, GError **error)
{
  g_autofree char *found = g_key_file_get_string (reader->file, reader->group, key, NULL);
  if (found == NULL)
    g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s: [%s] %s is missing; expected %s",
                 reader->name, reader->group, key, expected);
  else
    g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s: [%s] %s: expected %s, found \"%s\"",
                 reader->name, reader->group, key, expected, found);
  return FALSE;
}

static gboolean
check_keys (const Reader *reader, const char *const *known, GError **error)
{
  g_auto (GStrv) keys = g_key_file_get_keys (reader->file, reader->group, NULL, NULL);
  for (char **key = keys; *key != NULL; key++)
    if (!g_strv_contains (known, *key))
    {
      g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s: [%s] has no key %s", reader->name,
                   reader->group, *key);
      return FALSE;
    }
  return TRUE;
}

static gboolean
read_words (const Reader *reader, const char *key, char **words, GError **error)
{
  *words = g_key_file_get_string (reader->file, reader->group, key, NULL);
  return (*words != NULL && **words != '\0') || refuse (reader, key, "words", error);
}

/* NULL where the key isn't there. */
static char **
read_list (const Reader *reader, const char *key)
{
  char **list = g_key_file_get_string_list (reader->file, reader->group, key, NULL, NULL);
  for (char **word = list; list != NULL && *word != NULL; word++)
    g_strstrip (*word);
  return list;
}

static gboolean
read_number (const Reader *reader, const char *key, double *value, GError **error)
{
  g_autofree char *text = g_key_file_get_string (reader->file, reader->group, key, NULL);
  if (text != NULL && wsi_number_parse (text, value) && *value > 0 && *value < 1e4)
    return TRUE;
  return refuse (reader, key, "a number above 0, with a decimal point", error);
}

static gboolean
read_stage (const Reader *reader, WsCauseStage *stage, GError **error)
{
  g_autofree char *text = g_key_file_get_string (reader->file, reader->group, "stage", NULL);
  for (guint i = 0; i < WS_N_STAGES; i++)
    if (g_strcmp0 (text, wsi_cause_stage_name ((WsCauseStage)i)) == 0)
    {
      *stage = (WsCauseStage)i;
      return TRUE;
    }
  return refuse (reader, "stage", "set-up, tool, centre-height or machine", error);
}

static gboolean
read_outside (const Reader *reader, int *outside, GError **error)
{
  g_autofree char *text = g_key_file_get_string (reader->file, reader->group, "outside", NULL);
  *outside = g_strcmp0 (text, "below") == 0 ? -1 : g_strcmp0 (text, "above") == 0 ? 1 : 0;
  return text == NULL || *outside != 0 || refuse (reader, "outside", "below or above", error);
}

static gboolean
read_kinds (const Reader *reader, guint *kinds, GError **error)
{
  g_auto (GStrv) names = read_list (reader, "tools");
  *kinds = names == NULL ? G_MAXUINT : 0;
  for (char **name = names; names != NULL && *name != NULL; name++)
  {
    guint kind = 0;
    while (kind < WS_N_KINDS && !g_str_equal (*name, ws_tool_kind_name ((WsToolKind)kind)))
      kind++;
    if (kind == WS_N_KINDS)
      return refuse (reader, "tools", "kinds of tools, with semicolons", error);
    *kinds |= 1U << kind;
  }
  return TRUE;
}

static gboolean
read_symptom (const Reader *reader, WsSymptom *symptom, GError **error)
{
  static const char *const known[] = { "title", "amount", NULL };
  symptom->name = g_strdup (reader->group + strlen (SYMPTOM));
  symptom->amount = g_key_file_get_string (reader->file, reader->group, "amount", NULL);
  return check_keys (reader, known, error) && read_words (reader, "title", &symptom->title, error);
}

static gboolean
read_cause (const Reader *reader, WsCause *cause, GError **error)
{
  static const char *const known[] = { "symptoms", "tools",    "stage",  "minutes",
                                       "what",     "check",    "cure",   "quantity",
                                       "outside",  "explains", "source", NULL };
  cause->name = g_strdup (reader->group + strlen (CAUSE));
  cause->symptoms = read_list (reader, "symptoms");
  cause->quantities = read_list (reader, "quantity");
  cause->explains = NAN;
  if (!check_keys (reader, known, error) || !read_kinds (reader, &cause->kinds, error) ||
      !read_stage (reader, &cause->stage, error) ||
      !read_outside (reader, &cause->outside, error) ||
      !read_number (reader, "minutes", &cause->minutes, error) ||
      !read_words (reader, "what", &cause->what, error) ||
      !read_words (reader, "check", &cause->check, error) ||
      !read_words (reader, "cure", &cause->cure, error) ||
      !read_words (reader, "source", &cause->source, error))
    return FALSE;
  if (cause->symptoms == NULL)
    return refuse (reader, "symptoms", "symptoms, with semicolons", error);
  return !g_key_file_has_key (reader->file, reader->group, "explains", NULL) ||
         read_number (reader, "explains", &cause->explains, error);
}

/* A symptom that isn't declared would never be asked for. */
static gboolean
check_symptoms (const WsCauses *causes, const char *name, GError **error)
{
  for (guint i = 0; i < causes->causes->len; i++)
  {
    const WsCause *cause = g_ptr_array_index (causes->causes, i);
    for (char **symptom = cause->symptoms; *symptom != NULL; symptom++)
      if (wsi_causes_symptom (causes, *symptom) == NULL)
      {
        g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                     "%s: [cause %s] symptoms: there is no [symptom %s]", name, cause->name,
                     *symptom);
        return FALSE;
      }
  }
  return TRUE;
}

static gboolean
read_group (const Reader *reader, WsCauses *causes, GError **error)
{
  if (g_str_has_prefix (reader->group, SYMPTOM))
  {
    WsSymptom *symptom = g_new0 (WsSymptom, 1);
    g_ptr_array_add (causes->symptoms, symptom);
    return read_symptom (reader, symptom, error);
  }
  if (g_str_has_prefix (reader->group, CAUSE))
  {
    WsCause *cause = g_new0 (WsCause, 1);
    g_ptr_array_add (causes->causes, cause);
    return read_cause (reader, cause, error);
  }
  g_set_error (error, WS_ERROR, WS_ERROR_DATA,
               "%s: [%s] is neither [symptom NAME] nor [cause NAME]", reader->name, reader->group);
  return FALSE;
}

WsCauses *
wsi_causes_parse (const char *name, const char *text, GError **error)
{
  g_autoptr (GKeyFile) file = wsi_key_file_parse (name, KIND_OF_FILE, text, error);
  if (file == NULL)
    return NULL;
  g_autoptr (WsCauses) causes = g_new0 (WsCauses, 1);
  causes->symptoms = g_ptr_array_new_with_free_func (symptom_free);
  causes->causes = g_ptr_array_new_with_free_func (cause_free);
  g_auto (GStrv) groups = g_key_file_get_groups (file, NULL);
  for (char **group = groups; *group != NULL; group++)
  {
    const Reader reader = { name, file, *group };
    if (!read_group (&reader, causes, error))
      return NULL;
  }
  return check_symptoms (causes, name, error) ? g_steal_pointer (&causes) : NULL;
}

const WsSymptom *
wsi_causes_symptom (const WsCauses *causes, const char *name)
{
  for (guint i = 0; i < causes->symptoms->len; i++)
  {
    const WsSymptom *symptom = g_ptr_array_index (causes->symptoms, i);
    if (g_str_equal (symptom->name, name))
      return symptom;
  }
  return NULL;
}

gboolean
wsi_cause_fits (const WsCause *cause, const char *symptom, guint kind)
{
  return g_strv_contains ((const char *const *)cause->symptoms, symptom) &&
         (kind >= WS_N_KINDS || (cause->kinds >> kind & 1U) != 0);
}
