#include "image/profile.h"

#include <math.h>

#include <lcms2.h>

typedef double XYZ[3];

G_DEFINE_AUTO_CLEANUP_FREE_FUNC (cmsContext, cmsDeleteContext, NULL)
G_DEFINE_AUTO_CLEANUP_FREE_FUNC (cmsHPROFILE, cmsCloseProfile, NULL)
G_DEFINE_AUTO_CLEANUP_FREE_FUNC (cmsHTRANSFORM, cmsDeleteTransform, NULL)

/* As 8-bit codes have it, half a code at the brightest. */
#define SAME_CODE (0.5 / 255)

static cmsHTRANSFORM
to_xyz (cmsContext context, cmsHPROFILE profile, gboolean coloured)
{
  const cmsColorSpaceSignature space = cmsGetColorSpace (profile);
  if (space != (coloured ? cmsSigRgbData : cmsSigGrayData))
    return NULL;
  g_auto (cmsHPROFILE) xyz = cmsCreateXYZProfileTHR (context);
  if (xyz == NULL)
    return NULL;
  return cmsCreateTransformTHR (context, profile, coloured ? TYPE_RGB_DBL : TYPE_GRAY_DBL, xyz,
                                TYPE_XYZ_DBL, INTENT_RELATIVE_COLORIMETRIC,
                                cmsFLAGS_NOOPTIMIZE | cmsFLAGS_NOCACHE);
}

/* Light of the greys, the brightest 1. */
static void
fill_table (cmsHTRANSFORM transform, gboolean coloured, WsToneCurve *curve)
{
  for (guint i = 0; i < WS_TONE_ENTRIES; i++)
  {
    const double code = (double)i / (WS_TONE_ENTRIES - 1), rgb[3] = { code, code, code };
    XYZ light = { 0, 0, 0 };
    cmsDoTransform (transform, coloured ? rgb : &code, light, 1);
    curve->table[i] = (float)light[1];
  }
  const float white = curve->table[WS_TONE_ENTRIES - 1];
  for (guint i = 0; white > 0 && i < WS_TONE_ENTRIES; i++)
    curve->table[i] = CLAMP (curve->table[i] / white, 0.0F, 1.0F);
}

/* Flat stretches at the ends are cut-off light; elsewhere they would lose an edge. */
static gboolean
rises (const WsToneCurve *curve)
{
  for (guint i = 1; i < WS_TONE_ENTRIES; i++)
    if (!(curve->table[i] >= curve->table[i - 1]))
      return FALSE;
  return curve->table[WS_TONE_ENTRIES - 1] > 0.5F && curve->table[WS_TONE_ENTRIES / 8] < 0.5F;
}

static gboolean
is_srgb (const WsToneCurve *curve)
{
  for (guint i = 0; i < WS_TONE_ENTRIES; i++)
    if (fabs (wsi_linear_to_srgb (curve->table[i]) - (double)i / (WS_TONE_ENTRIES - 1)) > SAME_CODE)
      return FALSE;
  return TRUE;
}

WsProfileFound
wsi_profile_read (const void *bytes, gsize n_bytes, gboolean coloured, WsToneCurve *curve)
{
  if (n_bytes > G_MAXUINT32)
    return WS_PROFILE_UNUSED;
  g_auto (cmsContext) context = cmsCreateContext (NULL, NULL);
  g_auto (cmsHPROFILE) profile =
    cmsOpenProfileFromMemTHR (context, bytes, (cmsUInt32Number)n_bytes);
  if (profile == NULL)
    return WS_PROFILE_UNUSED;
  g_auto (cmsHTRANSFORM) transform = to_xyz (context, profile, coloured);
  if (transform == NULL)
    return WS_PROFILE_UNUSED;
  *curve = (WsToneCurve){ .tone = WS_TONE_PROFILE };
  fill_table (transform, coloured, curve);
  if (!rises (curve))
    return WS_PROFILE_WRONG;
  if (is_srgb (curve))
    *curve = (WsToneCurve){ .tone = WS_TONE_SRGB };
  return WS_PROFILE_READ;
}
