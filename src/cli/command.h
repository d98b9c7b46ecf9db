/*
 * Commands of the program as tables.  Running, help and messages all follow from them.
 */
#ifndef WS_CLI_COMMAND_H
#define WS_CLI_COMMAND_H

#include "cli/options.h"

G_BEGIN_DECLS

#define WS_COMMAND_GROUPS 3

typedef struct WsCommand WsCommand;

struct WsCommand
{
  const char *name;      /* "pin", as typed */
  const char *summary;   /* its line in the list that it stands in */
  const char *arguments; /* "DIR [ID…]": what stands after the options where no option takes it */
  const char *about;     /* what --help begins with, or NULL */
  const char *notes;     /* what --help ends with, or NULL */
  const char *exits;     /* what its exit statuses mean, behind the notes, or NULL */

  /* Either a choice of other commands … */
  const char *choice;               /* "verb": what one of them is called */
  const WsCommand *const *commands; /* ends in NULL; NULL for a command that does something */

  /* … or something to do. */
  WsOptionGroup groups[WS_COMMAND_GROUPS + 1];
  gsize size; /* of the struct that the options are read into */
  /* Returns the exit status.  `words`: the command's name and what stands after the options, ending
   * in NULL; without it where an option takes it. */
  int (*run) (gpointer options, char **words);
};

/* Runs a command by its arguments, its name first; `path` is what was typed up to its name,
 * "whetsight archive list".  Returns the exit status; what went wrong was told. */
int wsi_command_run (const WsCommand *command, const char *path, char **arguments);

G_END_DECLS

#endif
