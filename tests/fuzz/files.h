/*
 * Files for readers that take a path: in memory, or in a folder of the process.
 */
#ifndef WS_FUZZ_FILES_H
#define WS_FUZZ_FILES_H

#include <fcntl.h>
#include <glib.h>
#include <sys/mman.h>
#include <unistd.h>

static inline void
write_whole (int fd, const void *bytes, gsize n_bytes)
{
  if (fd < 0 || write (fd, bytes, n_bytes) != (gssize)n_bytes)
    g_error ("a file can't be written");
}

/* A file in memory and its name.  Close the descriptor. */
static inline int
memory_file (const void *bytes, gsize n_bytes, char path[64])
{
  const int fd = memfd_create ("fuzz", MFD_CLOEXEC);
  g_snprintf (path, 64, "/proc/self/fd/%d", fd);
  write_whole (fd, bytes, n_bytes);
  return fd;
}

/* Anew, in place. */
static inline void
put_file (const char *path, const void *bytes, gsize n_bytes)
{
  const int fd = open (path, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
  write_whole (fd, bytes, n_bytes);
  close (fd);
}

#endif
