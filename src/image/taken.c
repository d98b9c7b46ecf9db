#include "image/taken.h"

#include <math.h>

#include <whetsight/error.h>

/* Cameras set exposure and gain in steps: within this share it is the same. */
#define SAME_SHARE 0.01

#define CURE "take it with the bench's own settings (whetsight capture --bench), or calibrate again"

static const char *const keywords[WS_N_TAKEN] = {
  [WS_TAKEN_CAMERA] = "Source",
  [WS_TAKEN_PIXELS] = "pixels",
  [WS_TAKEN_EXPOSURE] = "exposure",
  [WS_TAKEN_GAIN] = "gain",
  [WS_TAKEN_WHITE_BALANCE] = "white_balance",
  [WS_TAKEN_GAMMA] = "gamma",
  [WS_TAKEN_SHARPENING] = "sharpening",
  [WS_TAKEN_CALIBRATION] = "calibration",
};

static const char *const words[WS_N_TAKEN] = {
  [WS_TAKEN_CAMERA] = "camera",
  [WS_TAKEN_PIXELS] = "pixel format",
  [WS_TAKEN_EXPOSURE] = "exposure",
  [WS_TAKEN_GAIN] = "gain",
  [WS_TAKEN_WHITE_BALANCE] = "white balance",
  [WS_TAKEN_GAMMA] = "gamma",
  [WS_TAKEN_SHARPENING] = "sharpening",
  [WS_TAKEN_CALIBRATION] = "calibration",
};

const char *
wsi_taken_keyword (WsTakenName name)
{
  return keywords[name];
}

void
wsi_taken_clear (WsTaken *taken)
{
  for (guint i = 0; i < WS_N_TAKEN; i++)
    g_clear_pointer (&taken->of[i], g_free);
}

void
wsi_taken_free (WsTaken *taken)
{
  if (taken == NULL)
    return;
  wsi_taken_clear (taken);
  g_free (taken);
}

WsTaken *
wsi_taken_copy (const WsTaken *taken)
{
  if (taken == NULL)
    return NULL;
  WsTaken *copy = g_new0 (WsTaken, 1);
  for (guint i = 0; i < WS_N_TAKEN; i++)
    copy->of[i] = g_strdup (taken->of[i]);
  return copy;
}

gboolean
wsi_taken_is_whole (const WsTaken *taken)
{
  for (guint i = 0; i < WS_TAKEN_CALIBRATION; i++)
    if (taken->of[i] == NULL)
      return FALSE;
  return TRUE;
}

/* ---- Comparing ----------------------------------------------------------------------------- */

/* The number that a setting begins with; NAN when it has none. */
static double
number_of (const char *text)
{
  char *end = NULL;
  const double number = g_ascii_strtod (text, &end);
  return end != text ? number : NAN;
}

/* Pictures of a folder don't say which camera took them. */
static gboolean
is_same (WsTakenName name, const char *kept, const char *now)
{
  if (g_str_equal (kept, now))
    return TRUE;
  if (name == WS_TAKEN_CAMERA)
    return g_str_has_prefix (kept, "files:") && g_str_has_prefix (now, "files:");
  const double was = number_of (kept), is = number_of (now);
  return fabs (is - was) <= SAME_SHARE * fabs (was) + 1e-9;
}

char *
wsi_taken_difference (const WsTaken *kept, const WsTaken *now, const char *whose)
{
  if (now == NULL)
    return kept == NULL ? NULL
                        : g_strdup_printf ("it doesn't say by which camera and settings it was "
                                           "taken; %s was by \"%s\"",
                                           whose, kept->of[WS_TAKEN_CAMERA]);
  if (kept == NULL)
    return g_strdup_printf ("it was taken by \"%s\"; %s doesn't say by which camera",
                            now->of[WS_TAKEN_CAMERA], whose);
  for (WsTakenName name = 0; name < WS_TAKEN_CALIBRATION; name++)
    if (!is_same (name, kept->of[name], now->of[name]))
      return g_strdup_printf ("it was taken with the %s \"%s\", %s with \"%s\"", words[name],
                              now->of[name], whose, kept->of[name]);
  return NULL;
}

gboolean
wsi_taken_check (const WsTaken *kept, const WsTaken *now, const char *whose, GError **error)
{
  g_autofree char *difference = wsi_taken_difference (kept, now, whose);
  if (difference == NULL)
    return TRUE;
  g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s; " CURE, difference);
  return FALSE;
}
