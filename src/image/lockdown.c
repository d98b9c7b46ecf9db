#define _GNU_SOURCE /* close_range() */
#include "image/lockdown.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <unistd.h>

#ifdef WS_HAVE_SECCOMP
#include <seccomp.h>
#endif

/* Sanitizers reserve address space without end. */
#if defined(__SANITIZE_ADDRESS__)
#define LIMITS_MEMORY FALSE
#elif defined(__has_feature)
#if __has_feature(address_sanitizer)
#define LIMITS_MEMORY FALSE
#endif
#endif
#ifndef LIMITS_MEMORY
#define LIMITS_MEMORY TRUE
#endif

/* What runs here ends without a place to write counts of lines to: GCOVR_EXCL_START */

static gboolean
limit (int what, guint64 most)
{
  /* Processor time: a signal that tells of it comes a second before the end. */
  const struct rlimit limits = { (rlim_t)most, (rlim_t)most + (what == RLIMIT_CPU ? 1 : 0) };
  return setrlimit ((__rlimit_resource_t)what, &limits) == 0;
}

/* Address space that the process has, in bytes: the first number of proc(5)'s statm, in pages. */
static guint64
taken_bytes (void)
{
  unsigned long pages = 0;
  FILE *file = fopen ("/proc/self/statm", "re");
  if (file == NULL)
    return 0;
  const gboolean known = fscanf (file, "%lu", &pages) == 1;
  fclose (file);
  return known ? (guint64)pages * (guint64)sysconf (_SC_PAGESIZE) : 0;
}

static gboolean
set_limits (const WsLockdown *lockdown)
{
  const guint64 taken = taken_bytes ();
  return (!LIMITS_MEMORY || taken == 0 || limit (RLIMIT_AS, taken + lockdown->max_bytes)) &&
         limit (RLIMIT_CPU, lockdown->max_seconds) && limit (RLIMIT_CORE, 0) &&
         limit (RLIMIT_FSIZE, 0) && limit (RLIMIT_NPROC, 0);
}

/* Standard input and output too: they go nowhere. */
static gboolean
close_files (int kept)
{
  const int nowhere = open ("/dev/null", O_RDWR | O_CLOEXEC);
  if (nowhere < 0)
    return FALSE;
  for (int fd = 0; fd <= 2; fd++)
    if (dup2 (nowhere, fd) < 0)
      return FALSE;
  return (kept <= 3 || close_range (3, (unsigned)kept - 1, 0) == 0) &&
         close_range ((unsigned)kept + 1, ~0U, 0) == 0 && limit (RLIMIT_NOFILE, 0);
}

#ifdef WS_HAVE_SECCOMP

/* What decoders, the allocator and the way out need. */
static const int allowed[] = {
  SCMP_SYS (read),         SCMP_SYS (write),        SCMP_SYS (writev),
  SCMP_SYS (brk),          SCMP_SYS (mmap),         SCMP_SYS (munmap),
  SCMP_SYS (mremap),       SCMP_SYS (mprotect),     SCMP_SYS (madvise),
  SCMP_SYS (futex),        SCMP_SYS (getpid),       SCMP_SYS (gettid),
  SCMP_SYS (tgkill),       SCMP_SYS (rt_sigaction), SCMP_SYS (rt_sigprocmask),
  SCMP_SYS (rt_sigreturn), SCMP_SYS (sigaltstack),  SCMP_SYS (clock_gettime),
  SCMP_SYS (getrandom),    SCMP_SYS (sched_yield),  SCMP_SYS (exit),
  SCMP_SYS (exit_group),
};

/* What harmless code may try, and does without. */
static const int refused[] = {
  SCMP_SYS (open),        SCMP_SYS (openat),
  SCMP_SYS (stat),        SCMP_SYS (fstat),
  SCMP_SYS (newfstatat),  SCMP_SYS (readlink),
  SCMP_SYS (fcntl),       SCMP_SYS (lseek),
  SCMP_SYS (ioctl),       SCMP_SYS (prctl),
  SCMP_SYS (prlimit64),   SCMP_SYS (sysinfo),
  SCMP_SYS (close),       SCMP_SYS (sched_getaffinity),
  SCMP_SYS (getpeername),
};

static gboolean
set_filter (void)
{
  scmp_filter_ctx filter = seccomp_init (SCMP_ACT_KILL_PROCESS);
  gboolean good = filter != NULL;
  for (gsize i = 0; good && i < G_N_ELEMENTS (allowed); i++)
    good = seccomp_rule_add (filter, SCMP_ACT_ALLOW, allowed[i], 0) == 0;
  for (gsize i = 0; good && i < G_N_ELEMENTS (refused); i++)
    good = seccomp_rule_add (filter, SCMP_ACT_ERRNO (EACCES), refused[i], 0) == 0;
  good = good && seccomp_load (filter) == 0;
  /* Never released: that would take memory of a process which is about to end. */
  return good;
}

gboolean
wsi_lockdown_has_filter (void)
{
  return TRUE;
}

#else

static gboolean
set_filter (void)
{
  return TRUE;
}

gboolean
wsi_lockdown_has_filter (void)
{
  return FALSE;
}

#endif

gboolean
wsi_lock_down (const WsLockdown *lockdown)
{
  /* It ends with its parent, shows its memory to nobody, and gains no rights. */
  return prctl (PR_SET_PDEATHSIG, SIGKILL) == 0 && prctl (PR_SET_DUMPABLE, 0) == 0 &&
         prctl (PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) == 0 && set_limits (lockdown) &&
         close_files (lockdown->kept_fd) && set_filter ();
}

/* GCOVR_EXCL_STOP */
