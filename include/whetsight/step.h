/*
 * How a long task tells how far it is, and is stopped.
 */
#ifndef WHETSIGHT_STEP_H
#define WHETSIGHT_STEP_H

#include <glib.h>

G_BEGIN_DECLS

/* What comes next; all borrowed. */
typedef struct
{
  const char *doing;   /* "looking for the board"; NULL where there is only one thing to do */
  const char *picture; /* base name of its file */
  guint number, all;   /* 1 .. all */
} WsStep;

/* Called before each step, in the thread that called the task.  FALSE stops the task, which then
 * fails with WS_ERROR_CANCELLED. */
typedef gboolean (*WsStepFunc) (const WsStep *step, gpointer data);

/* A callback and what it is called with; `func` NULL: nobody is told. */
typedef struct
{
  WsStepFunc func;
  gpointer data;
} WsSteps;

/* For tasks: FALSE with WS_ERROR_CANCELLED when the task is to stop. */
gboolean ws_steps_tell (const WsSteps *steps, const WsStep *step, GError **error);

G_END_DECLS

#endif
