/*
 * What a kind of camera does.
 */
#ifndef WS_CAMERA_KIND_H
#define WS_CAMERA_KIND_H

#include "camera/frame.h"

G_BEGIN_DECLS

typedef struct
{
  const char *name;    /* as addresses begin: "files" */
  const char *missing; /* NULL, or what the program would have to be built with */

  /* A camera of this kind, as wsi_camera_open() has it; `place` stands behind the kind's name.
   * Sets what identity it can. */
  gpointer (*open) (const char *place, gboolean colour, WsCameraIdentity *identity, GError **error);
  void (*close) (gpointer self);
  gboolean (*get) (gpointer self, WsSettingName name, WsSetting *read, GError **error);
  /* NAN: as it is, but fixed. */
  gboolean (*set) (gpointer self, WsSettingName name, double value, GError **error);
  gboolean (*grab) (gpointer self, WsFrame *frame, guint timeout_ms, GError **error);
} WsCameraKind;

extern const WsCameraKind wsi_camera_kind_files, wsi_camera_kind_genicam, wsi_camera_kind_v4l2;

G_END_DECLS

#endif
