#include "base/language.h"

#include <string.h>

/* The one thing that has to be known wherever a text is written: NULL stands for English. */
static GPrivate current;

/* ---- Which language ------------------------------------------------------------------------- */

static const WsCatalogue *
catalogue_of (const char *tag, gsize n)
{
  for (const WsCatalogue *catalogue = wsi_catalogues; catalogue->language != NULL; catalogue++)
    if (strlen (catalogue->language) == n && g_ascii_strncasecmp (tag, catalogue->language, n) == 0)
      return catalogue;
  return NULL;
}

/* RFC 9110, 12.5.4: tags by commas.  Browsers send them in the order of what is liked best, so
 * weights need no reading, but that of what isn't wanted at all. */
void
wsi_language_use (const char *wanted)
{
  const WsCatalogue *found = NULL;
  for (const char *tag = wanted; tag != NULL && found == NULL;)
  {
    tag += strspn (tag, " \t");
    const gsize n = strcspn (tag, "-_.;, \t");
    if (n == 2 && g_ascii_strncasecmp (tag, "en", 2) == 0)
      break;
    found = catalogue_of (tag, n);
    const gsize length = strcspn (tag, ",");
    if (found != NULL && g_strstr_len (tag, (gssize)length, "q=0") != NULL &&
        g_strstr_len (tag, (gssize)length, "q=0.") == NULL)
      found = NULL;
    tag = tag[length] == ',' ? tag + length + 1 : NULL;
  }
  g_private_set (&current, (gpointer)found);
}

const char *
wsi_language_code (void)
{
  const WsCatalogue *catalogue = g_private_get (&current);
  return catalogue != NULL ? catalogue->language : "en";
}

/* ---- A text ---------------------------------------------------------------------------------
 */

/* Places in the head of a .mo file (GNU gettext manual, "The Format of GNU MO Files"): how many
 * texts, and where the tables of them and of their translations begin, each of lengths and
 * offsets. */
#define MO_COUNT 8
#define MO_TEXTS 12
#define MO_TRANSLATIONS 16
#define MO_ENTRY 8

static guint32
number_at (const WsCatalogue *catalogue, gsize at)
{
  guint32 number;
  memcpy (&number, catalogue->mo + at, sizeof number);
  return GUINT32_FROM_LE (number);
}

static const char *
text_at (const WsCatalogue *catalogue, gsize table, gsize i)
{
  return (const char *)catalogue->mo +
         number_at (catalogue, number_at (catalogue, table) + i * MO_ENTRY + sizeof (guint32));
}

/* The texts are sorted. */
const char *
wsi_language_text (const char *english)
{
  const WsCatalogue *catalogue = g_private_get (&current);
  gsize low = 0, high = catalogue != NULL ? number_at (catalogue, MO_COUNT) : 0;
  /* The empty text's translation is the catalogue's head. */
  if (english == NULL || *english == '\0')
    return english;
  while (low < high)
  {
    const gsize middle = (low + high) / 2;
    const int order = strcmp (english, text_at (catalogue, MO_TEXTS, middle));
    if (order == 0)
      return text_at (catalogue, MO_TRANSLATIONS, middle);
    if (order < 0)
      high = middle;
    else
      low = middle + 1;
  }
  return english;
}

guint
wsi_language_count (void)
{
  const WsCatalogue *catalogue = g_private_get (&current);
  return catalogue != NULL ? number_at (catalogue, MO_COUNT) : 0;
}

const char *
wsi_language_nth (guint i, const char **translated)
{
  const WsCatalogue *catalogue = g_private_get (&current);
  if (translated != NULL)
    *translated = text_at (catalogue, MO_TRANSLATIONS, i);
  return text_at (catalogue, MO_TEXTS, i);
}
