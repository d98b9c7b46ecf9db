/*
 * A process gives up what it doesn't need before it looks at what may attack it.
 */
#ifndef WS_IMAGE_LOCKDOWN_H
#define WS_IMAGE_LOCKDOWN_H

#include <glib.h>

G_BEGIN_DECLS

typedef struct
{
  int kept_fd;       /* the one file that stays open */
  guint64 max_bytes; /* of memory, beside what the process has already */
  guint max_seconds; /* of processor time */
} WsLockdown;

/*
 * For a child of fork() that is to compute something and to write it to one file: from here on it
 * has no other file, can't open any, has no network and no new process, and ends when it takes
 * more memory or time than it is granted, or asks the kernel for anything else.  What it prints
 * goes nowhere.
 *
 * FALSE where the kernel doesn't grant that.  Built without libseccomp it keeps the limits alone.
 */
gboolean wsi_lock_down (const WsLockdown *lockdown);

/* Whether the kernel's filter is part of it. */
gboolean wsi_lockdown_has_filter (void);

G_END_DECLS

#endif
