/* The table of kinds. */
#include "hard.h"

void
hard_nothing (HardShot *shot)
{
  (void)shot;
}

#define HARD_KIND(name, scenes, before, after, expected) { #name, scenes, before, after, expected },

static const HardKind kinds[] = {
#include "hard_kinds.def"
  { NULL, 0, NULL, NULL, HARD_FREE },
};

#undef HARD_KIND

const HardKind *
hard_kinds (void)
{
  return kinds;
}
