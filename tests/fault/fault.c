/*
 * Loaded before the C library (LD_PRELOAD), makes writes to files in one folder fail or kills the
 * program there: what a full disk, a broken one and a power cut do.
 *
 *   WS_FAULT_UNDER   folder whose files are meant
 *   WS_FAULT_ERRNO   what a failing call says, 28 (no space) by default
 *   WS_FAULT_RATE    how many of 100000 calls fail
 *   WS_FAULT_KILL    how many of 100000 calls end in SIGKILL: before, midway or after
 *   WS_FAULT_NOLOCK  if set, locks are refused with "no locks available"
 *   WS_FAULT_SEED    of the random numbers
 *   WS_FAULT_SEND    ends in SIGKILL before (1), after (2) the first send() to another program,
 *                    before (3), after (4) the second, …
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

#define OF 100000U

static uint64_t state;

/* splitmix64 (Vigna, public domain). */
static unsigned
draw (void)
{
  if (state == 0)
  {
    const char *seed = getenv ("WS_FAULT_SEED");
    state = seed != NULL ? strtoul (seed, NULL, 10) : (uint64_t)getpid ();
  }
  uint64_t z = (state += 0x9E3779B97F4A7C15U);
  z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9U;
  z = (z ^ (z >> 27)) * 0x94D049BB133111EBU;
  return (unsigned)((z ^ (z >> 31)) % OF);
}

static unsigned
setting (const char *name, unsigned otherwise)
{
  const char *text = getenv (name);
  return text != NULL ? (unsigned)strtoul (text, NULL, 10) : otherwise;
}

static int
is_meant (int fd)
{
  char link[64], path[4096];
  const char *under = getenv ("WS_FAULT_UNDER");
  if (under == NULL)
    return 0;
  snprintf (link, sizeof link, "/proc/self/fd/%d", fd);
  const ssize_t n = readlink (link, path, sizeof path - 1);
  if (n <= 0)
    return 0;
  path[n] = '\0';
  return strncmp (path, under, strlen (under)) == 0;
}

static int
is_due (const char *name)
{
  const unsigned rate = setting (name, 0);
  return rate > 0 && draw () < rate;
}

/* 0: go on; else the call fails. */
static int
strike (int fd)
{
  if (!is_meant (fd))
    return 0;
  if (is_due ("WS_FAULT_KILL"))
    raise (SIGKILL);
  if (!is_due ("WS_FAULT_RATE"))
    return 0;
  errno = (int)setting ("WS_FAULT_ERRNO", ENOSPC);
  return -1;
}

static void
strike_after (int fd)
{
  if (is_meant (fd) && is_due ("WS_FAULT_KILL"))
    raise (SIGKILL);
}

/* Half of it, then the end. */
static int
is_torn (int fd)
{
  return is_meant (fd) && is_due ("WS_FAULT_KILL");
}

ssize_t
write (int fd, const void *bytes, size_t n)
{
  static ssize_t (*real) (int, const void *, size_t);
  if (real == NULL)
    *(void **)&real = dlsym (RTLD_NEXT, "write");
  if (strike (fd) != 0)
    return -1;
  if (is_torn (fd) && real (fd, bytes, n / 2) >= 0)
    raise (SIGKILL);
  const ssize_t done = real (fd, bytes, n);
  strike_after (fd);
  return done;
}

ssize_t
pwrite64 (int fd, const void *bytes, size_t n, off64_t at)
{
  static ssize_t (*real) (int, const void *, size_t, off64_t);
  if (real == NULL)
    *(void **)&real = dlsym (RTLD_NEXT, "pwrite64");
  if (strike (fd) != 0)
    return -1;
  if (is_torn (fd) && real (fd, bytes, n / 2, at) >= 0)
    raise (SIGKILL);
  const ssize_t done = real (fd, bytes, n, at);
  strike_after (fd);
  return done;
}

ssize_t
pwrite (int fd, const void *bytes, size_t n, off_t at)
{
  return pwrite64 (fd, bytes, n, at);
}

static int
synced (int fd, const char *name)
{
  int (*real) (int);
  *(void **)&real = dlsym (RTLD_NEXT, name);
  if (strike (fd) != 0)
    return -1;
  const int done = real (fd);
  strike_after (fd);
  return done;
}

int
fsync (int fd)
{
  return synced (fd, "fsync");
}

int
fdatasync (int fd)
{
  return synced (fd, "fdatasync");
}

ssize_t
send (int fd, const void *bytes, size_t n, int flags)
{
  static ssize_t (*real) (int, const void *, size_t, int);
  static unsigned at;
  const unsigned due = setting ("WS_FAULT_SEND", 0);
  if (real == NULL)
    *(void **)&real = dlsym (RTLD_NEXT, "send");
  if (++at == due)
    raise (SIGKILL);
  const ssize_t done = real (fd, bytes, n, flags);
  if (++at == due)
    raise (SIGKILL);
  return done;
}

int
rename (const char *from, const char *to)
{
  static int (*real) (const char *, const char *);
  const char *under = getenv ("WS_FAULT_UNDER");
  if (real == NULL)
    *(void **)&real = dlsym (RTLD_NEXT, "rename");
  const int meant = under != NULL && strncmp (to, under, strlen (under)) == 0;
  if (meant && is_due ("WS_FAULT_KILL"))
    raise (SIGKILL);
  if (meant && is_due ("WS_FAULT_RATE"))
  {
    errno = (int)setting ("WS_FAULT_ERRNO", ENOSPC);
    return -1;
  }
  const int done = real (from, to);
  if (meant && is_due ("WS_FAULT_KILL"))
    raise (SIGKILL);
  return done;
}

static int
control (int fd, int command, void *argument)
{
  static int (*real) (int, int, ...);
  if (real == NULL)
    *(void **)&real = dlsym (RTLD_NEXT, "fcntl");
  if ((command == F_SETLK || command == F_SETLKW) && getenv ("WS_FAULT_NOLOCK") != NULL)
  {
    errno = ENOLCK;
    return -1;
  }
  return real (fd, command, argument);
}

int
fcntl64 (int fd, int command, ...)
{
  va_list arguments;
  va_start (arguments, command);
  void *argument = va_arg (arguments, void *);
  va_end (arguments);
  return control (fd, command, argument);
}

int
fcntl (int fd, int command, ...)
{
  va_list arguments;
  va_start (arguments, command);
  void *argument = va_arg (arguments, void *);
  va_end (arguments);
  return control (fd, command, argument);
}
