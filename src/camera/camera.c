#include "camera/camera.h"

#include <math.h>
#include <string.h>

#include <whetsight/error.h>

#include "base/shown.h"
#include "camera/kind.h"

static const WsCameraKind *const kinds[] = {
  &wsi_camera_kind_files,
  &wsi_camera_kind_genicam,
  &wsi_camera_kind_v4l2,
};

struct WsCamera
{
  const WsCameraKind *kind;
  gpointer self;
  WsCameraIdentity identity;
};

static const WsCameraKind *
kind_of (const char *address)
{
  for (gsize i = 0; i < G_N_ELEMENTS (kinds); i++)
  {
    const gsize n = strlen (kinds[i]->name);
    if (strncmp (address, kinds[i]->name, n) == 0 && address[n] == ':')
      return kinds[i];
  }
  return NULL;
}

static void
set_no_kind (const char *address, GError **error)
{
  g_autofree char *shown = wsi_shown (address);
  g_autoptr (GString) known = g_string_new (NULL);
  for (gsize i = 0; i < G_N_ELEMENTS (kinds); i++)
    g_string_append_printf (known, "%s%s:",
                            i == 0                         ? ""
                            : i + 1 < G_N_ELEMENTS (kinds) ? ", "
                                                           : " or ",
                            kinds[i]->name);
  g_set_error (error, WS_ERROR, WS_ERROR_USAGE, "%s: no camera's address; it begins with %s", shown,
               known->str);
}

WsCamera *
wsi_camera_open (const char *address, gboolean colour, GError **error)
{
  const WsCameraKind *kind = kind_of (address);
  if (kind == NULL)
  {
    set_no_kind (address, error);
    return NULL;
  }
  if (kind->missing != NULL)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT,
                 "%s: this program was built without %s, which such cameras need", kind->name,
                 kind->missing);
    return NULL;
  }
  g_autoptr (WsCamera) camera = g_new0 (WsCamera, 1);
  camera->kind = kind;
  camera->identity.kind = g_strdup (kind->name);
  camera->self = kind->open (address + strlen (kind->name) + 1, colour, &camera->identity, error);
  if (camera->self == NULL)
    return NULL;
  if (camera->identity.name == NULL)
    camera->identity.name = g_strdup ("");
  if (camera->identity.serial == NULL)
    camera->identity.serial = g_strdup ("");
  return g_steal_pointer (&camera);
}

void
wsi_camera_close (WsCamera *camera)
{
  if (camera == NULL)
    return;
  if (camera->self != NULL)
    camera->kind->close (camera->self);
  g_free (camera->identity.kind);
  g_free (camera->identity.name);
  g_free (camera->identity.serial);
  g_free (camera);
}

const WsCameraIdentity *
wsi_camera_identity (const WsCamera *camera)
{
  return &camera->identity;
}

gboolean
wsi_camera_get (WsCamera *camera, WsSettingName name, WsSetting *read, GError **error)
{
  *read = (WsSetting){ WS_SETTING_ABSENT, NAN, NAN, NAN, "" };
  return camera->kind->get == NULL || camera->kind->get (camera->self, name, read, error);
}

gboolean
wsi_camera_set (WsCamera *camera, WsSettingName name, double value, WsSetting *read, GError **error)
{
  if (!wsi_camera_get (camera, name, read, error))
    return FALSE;
  if (read->state == WS_SETTING_ABSENT)
    return TRUE;
  return camera->kind->set (camera->self, name, value, error) &&
         wsi_camera_get (camera, name, read, error);
}

gboolean
wsi_camera_fix (WsCamera *camera, double exposure_s, double gain, WsCameraSettings *read,
                GError **error)
{
  const double wished[WS_N_SETTINGS] = {
    [WS_SETTING_EXPOSURE] = exposure_s, [WS_SETTING_GAIN] = gain,
    [WS_SETTING_WHITE_BALANCE] = NAN,   [WS_SETTING_GAMMA] = 1.0,
    [WS_SETTING_SHARPENING] = 0.0,
  };
  for (WsSettingName name = 0; name < WS_N_SETTINGS; name++)
    if (!wsi_camera_set (camera, name, wished[name], &read->of[name], error))
      return FALSE;
  return TRUE;
}

gboolean
wsi_camera_grab (WsCamera *camera, WsFrame *frame, guint timeout_ms, GError **error)
{
  return camera->kind->grab (camera->self, frame, timeout_ms, error);
}
