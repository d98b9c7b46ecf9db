/*
 * Runs the program, whose path comes in the environment, WHETSIGHT.
 */
#ifndef WS_CLI_RUN_FOR_TESTS_H
#define WS_CLI_RUN_FOR_TESTS_H

#include "base/testing.h"

/* What a run left. */
typedef struct
{
  int status;
  char *out;
  char *err;
} Run;

static inline void
run_clear (Run *run)
{
  g_free (run->out);
  g_free (run->err);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Run, run_clear)

/* `call`: the program's path and its arguments, ending in NULL. */
static inline Run
run_call (const GPtrArray *call)
{
  Run run = { 0 };
  g_autoptr (GError) error = NULL;
  int wait_status;

  /* A copy of this process, to close descriptors in, takes long with sanitizers. */
  g_spawn_sync (NULL, (char **)call->pdata, NULL, G_SPAWN_LEAVE_DESCRIPTORS_OPEN, NULL, NULL,
                &run.out, &run.err, &wait_status, &error);
  assert_null (error);
  run.status = -1;
  if (g_spawn_check_wait_status (wait_status, &error))
    run.status = 0;
  else if (error->domain == G_SPAWN_EXIT_ERROR)
    run.status = error->code;
  return run;
}

static inline GPtrArray *
call_of (const char *argument, va_list rest)
{
  GPtrArray *call = g_ptr_array_new ();
  g_ptr_array_add (call, (gpointer)g_getenv ("WHETSIGHT"));
  for (; argument != NULL; argument = va_arg (rest, const char *))
    g_ptr_array_add (call, (gpointer)argument);
  g_ptr_array_add (call, NULL);
  return call;
}

/* Arguments end in NULL. */
static inline Run
run (const char *argument, ...)
{
  va_list rest;
  va_start (rest, argument);
  g_autoptr (GPtrArray) call = call_of (argument, rest);
  va_end (rest);
  return run_call (call);
}

#endif
