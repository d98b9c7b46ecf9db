/* The table of kinds. */
#include "hard.h"

void
hard_nothing (HardShot *shot)
{
  (void)shot;
}

#define HARD_KIND(name, scenes, before, after, expected)                                           \
  { #name, scenes, before, after, expected, NULL },
#define HARD_HEADING(text) { "", 0, hard_nothing, hard_nothing, HARD_FREE, text },

static const HardKind kinds[] = {
#include "hard_kinds.def"
  { NULL, 0, NULL, NULL, HARD_FREE, NULL },
};

#undef HARD_KIND
#undef HARD_HEADING

const HardKind *
hard_kinds (void)
{
  return kinds;
}
