/*
 * Video devices of the kernel (V4L2).  What they ask of the system goes through a table.
 */
#ifndef WS_CAMERA_V4L2_H
#define WS_CAMERA_V4L2_H

#include "camera/kind.h"

G_BEGIN_DECLS

/* As the system's calls of these names: -1 and errno when they fail. */
typedef struct
{
  int (*open) (gpointer data, const char *path);
  void (*close) (gpointer data, int fd);
  int (*ioctl) (gpointer data, int fd, unsigned long request, void *argument);
  void *(*map) (gpointer data, int fd, gsize n_bytes, gint64 offset); /* NULL when it fails */
  void (*unmap) (gpointer data, void *bytes, gsize n_bytes);
  int (*wait) (gpointer data, int fd, int timeout_ms); /* 1 a picture is there, 0 none came */
  gpointer data;
} WsV4l2System;

/* A device's place, and whether its frames are to have colour. */
typedef struct
{
  const char *place;
  gboolean colour;
} WsV4l2Wish;

/* As WsCameraKind.open; `system` stays the caller's and is needed until the camera is closed. */
gpointer wsi_v4l2_open (const WsV4l2System *system, const WsV4l2Wish *wish,
                        WsCameraIdentity *identity, GError **error);

G_END_DECLS

#endif
