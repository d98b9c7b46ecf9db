/*
 * Tool cards from arbitrary text.  What a card takes as a profile is found beside it: the text
 * after a line of dashes.
 */
#define _GNU_SOURCE
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <whetsight/card.h>

#include "fuzz/files.h"

int LLVMFuzzerTestOneInput (const uint8_t *bytes, size_t n_bytes);

#define CUT "\n--\n"

static void
check (const WsToolCard *card)
{
  if (card->kind >= WS_N_KINDS || card->material >= WS_N_MATERIALS)
    g_error ("a tool of no kind or material");
  if (card->diameter_mm <= 0 || isinf (card->diameter_mm) || card->width_mm <= 0 ||
      isinf (card->width_mm))
    g_error ("a size that is none");
  for (guint i = 0; i < card->limits->len; i++)
  {
    const WsLimit *limit = &g_array_index (card->limits, WsLimit, i);
    if (!(limit->lower <= limit->upper))
      g_error ("limits the wrong way round");
    if (ws_tool_card_limit (card, limit->quantity) == NULL)
      g_error ("a limit that can't be found");
  }
}

/* A folder of this process, made once; the profile goes into it. */
static const char *
folder (void)
{
  static char *made;
  if (made == NULL)
    made = g_dir_make_tmp ("fuzz-card-XXXXXX", NULL);
  return made;
}

int
LLVMFuzzerTestOneInput (const uint8_t *bytes, size_t n_bytes)
{
  const uint8_t *cut = memmem (bytes, n_bytes, CUT, strlen (CUT));
  const gsize n = cut != NULL ? (gsize)(cut - bytes) + 1 : n_bytes;
  g_autofree char *path = g_build_filename (folder (), "t.tool", NULL);
  g_autofree char *profile = g_build_filename (folder (), "n.dxf", NULL);
  g_autoptr (GError) error = NULL;
  put_file (path, bytes, n);
  if (cut != NULL)
    put_file (profile, cut + strlen (CUT), n_bytes - n - strlen (CUT) + 1);
  g_autoptr (WsToolCard) card = ws_tool_card_load (path, &error);
  if ((card == NULL) != (error != NULL))
    g_error ("a card and an error, or neither");
  if (card != NULL)
    check (card);
  return 0;
}
