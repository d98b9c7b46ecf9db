#include "cli/suggest.h"

#include <string.h>

#include "base/language.h"

/* One slip in three letters is a slip; more is another word. */
#define LETTERS_PER_SLIP 3
#define MAX_LETTERS 64

/* Levenshtein's distance, one row of the table at a time. */
static gsize
distance (const char *a, const char *b)
{
  gsize row[MAX_LETTERS + 1];
  gsize n = strlen (b);
  for (gsize j = 0; j <= n; j++)
    row[j] = j;
  for (gsize i = 1; *a != '\0'; a++, i++)
  {
    gsize diagonal = row[0];
    row[0] = i;
    for (gsize j = 1; j <= n; j++)
    {
      gsize replaced = diagonal + (*a != b[j - 1]);
      diagonal = row[j];
      row[j] = MIN (replaced, MIN (row[j], row[j - 1]) + 1);
    }
  }
  return row[n];
}

const char *
wsi_suggest (const char *word, const char *const *candidates)
{
  const char *nearest = NULL;
  gsize least = MAX (1, strlen (word) / LETTERS_PER_SLIP) + 1;
  for (; *candidates != NULL; candidates++)
  {
    if (strlen (*candidates) > MAX_LETTERS)
      continue;
    gsize slips = distance (word, *candidates);
    if (slips < least)
    {
      least = slips;
      nearest = *candidates;
    }
  }
  return nearest;
}

char *
wsi_suggest_or (const char *word, const char *const *candidates, const char *otherwise)
{
  const char *meant = wsi_suggest (word, candidates);
  return meant != NULL ? g_strdup_printf (_ ("did you mean %s?"), meant) : g_strdup (otherwise);
}
