/*
 * Pictures of anything but tools, shown to every view with a card and a scale as for its own tools:
 *
 *   trial shown [--view VIEW] [--jobs N] PROGRAM FOLDER|PICTURE…
 *
 * Nothing in them may be accepted or rejected.  What the first scale lets be measured is measured
 * again at the scale that makes it the size on the card.
 */
#ifndef TRIAL_SHOWN_H
#define TRIAL_SHOWN_H

#include <glib.h>

G_BEGIN_DECLS

/* The verb; gives the exit status: 0 when nothing was judged. */
int shown_main (int argc, char **argv);

G_END_DECLS

#endif
