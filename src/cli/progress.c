#include "cli/progress.h"

#include <stdio.h>
#include <unistd.h>

#include "base/language.h"

/* Often enough to be seen moving; seldom enough not to fill a log. */
#define TERMINAL_US 200000
#define PLAIN_US 10000000

#define US_PER_S 1e6

void
wsi_progress_start (WsProgress *progress, const char *verb, const char *unit, double all)
{
  *progress = (WsProgress){ .verb = verb, .unit = unit, .all = all };
  progress->on_terminal = isatty (STDERR_FILENO) == 1;
  progress->start_us = g_get_monotonic_time ();
  progress->shown_us = progress->start_us;
}

double
wsi_progress_seconds (const WsProgress *progress)
{
  return (double)(g_get_monotonic_time () - progress->start_us) / US_PER_S;
}

/* "48 s", "3 min 05 s", "2 h 10 min"; free with g_free(). */
static char *
duration (double seconds)
{
  const guint s = (guint)(seconds + 0.5);
  if (s < 60)
    return g_strdup_printf ("%u s", s);
  if (s < 3600)
    return g_strdup_printf (_ ("%u min %02u s"), s / 60, s % 60);
  return g_strdup_printf (_ ("%u h %02u min"), s / 3600, s / 60 % 60);
}

static char *
sentence (const WsProgress *progress, double done)
{
  const double seconds = wsi_progress_seconds (progress);
  const double rate = seconds > 0.0 ? done / seconds : 0.0;
  const char *gap = *progress->unit != '\0' ? " " : "";
  g_autofree char *left =
    rate > 0.0 ? duration ((progress->all - done) / rate) : g_strdup (_ ("unknown time"));
  return g_strdup_printf (_ ("%s %.0f of %.0f%s%s, %.1f%s%s a second, %s left"), progress->verb,
                          done, progress->all, gap, progress->unit, rate, gap, progress->unit,
                          left);
}

void
wsi_progress_show (WsProgress *progress, double done)
{
  const gint64 now = g_get_monotonic_time ();
  if (!progress->gone &&
      now - progress->shown_us < (progress->on_terminal ? TERMINAL_US : PLAIN_US))
    return;
  progress->shown_us = now;
  progress->gone = FALSE;
  g_autofree char *words = sentence (progress, done);
  if (progress->on_terminal)
    fprintf (stderr, "\r\033[K%s", words);
  else
    fprintf (stderr, "%s\n", words);
  fflush (stderr);
  progress->visible = progress->on_terminal;
}

void
wsi_progress_clear (WsProgress *progress)
{
  if (progress->visible)
    fputs ("\r\033[K", stderr);
  progress->gone = progress->visible;
  progress->visible = FALSE;
}
