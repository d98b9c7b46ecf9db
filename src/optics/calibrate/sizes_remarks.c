/*
 * What the user should know of a calibration by sizes.
 */
#include "base/number.h"
#include "optics/calibrate/sizes.h"
#include "optics/calibration.h"

static void remark (WsSizesDone *done, const char *format, ...) G_GNUC_PRINTF (2, 3);

static void
remark (WsSizesDone *done, const char *format, ...)
{
  va_list arguments;
  va_start (arguments, format);
  wsi_calibration_add_remark (done->calibration, g_strdup_vprintf (format, arguments));
  va_end (arguments);
}

/* Shots that count, and those of them with clipped light. */
static void
count_clipped (const WsSizesDone *done, guint *clipped, guint *measured)
{
  *clipped = *measured = 0;
  for (guint i = 0; i < done->shots->len; i++)
  {
    const WsShotSeen *seen = wsi_sizes_seen (done, i);
    if (seen->rejected != NULL)
      continue;
    *measured += 1;
    *clipped += seen->is_clipped ? 1 : 0;
  }
}

static void
remark_light (WsSizesDone *done)
{
  guint clipped, measured;
  count_clipped (done, &clipped, &measured);
  if (clipped == 0)
    return;
  remark (
    done,
    "warning: the light is clipped (at full scale) in %u of %u pictures, so that edges bloom; "
    "the edge shift holds only for this very light and exposure; better expose the ground "
    "to 80 %% of full scale and calibrate again",
    clipped, measured);
}

static void
remark_shift (WsSizesDone *done)
{
  if (done->fit.has_shift)
    return;
  g_autofree char *U = wsi_number_format (wsi_sizes_U (done, WS_LENS_EDGE_SHIFT), 1);
  remark (done,
          "one diameter can't tell how much edges bloom: edge shift taken as 0 with U = %s px; add "
          "a second diameter to know it",
          U);
}

static void
remark_certificates (WsSizesDone *done)
{
  guint without = 0;
  for (guint i = 0; i < done->shots->len; i++)
    without += ((const WsShot *)g_ptr_array_index (done->shots, i))->u_mm > 0 ? 0 : 1;
  if (without > 0)
    remark (
      done,
      "no uncertainty is given for the sizes in %u of %u pictures; it is taken as 0, so U may "
      "be too small",
      without, done->shots->len);
}

static void
remark_left_out (WsSizesDone *done)
{
  for (guint i = 0; i < done->widths->len; i++)
  {
    const WsShotWidth *width = wsi_sizes_width (done, i);
    const WsShotSeen *seen = wsi_sizes_seen (done, width->shot);
    if (!width->residual.rejected || seen->rejected != NULL)
      continue;
    g_autofree char *um = wsi_number_format (wsi_sizes_um (done, width->residual.px), 1);
    remark (done, "%s: the %s diameter is left out, %s um off", seen->name, width->part, um);
  }
}

void
wsi_sizes_add_remarks (WsSizesDone *done)
{
  remark_light (done);
  remark_shift (done);
  remark_certificates (done);
  remark_left_out (done);
}
