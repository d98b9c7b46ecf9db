/*
 * What `whetsight archive` does.  Each takes its arguments, its own name first, and returns the
 * exit status.
 */
#ifndef WS_CLI_ARCHIVE_H
#define WS_CLI_ARCHIVE_H

#include <whetsight/whetsight.h>

G_BEGIN_DECLS

int ws_archive_verb_verify (char ***arguments);
int ws_archive_verb_seal (char ***arguments);
int ws_archive_verb_list (char ***arguments);
int ws_archive_verb_show (char ***arguments);
int ws_archive_verb_export (char ***arguments);
int ws_archive_verb_import (char ***arguments);

/* The filter's options as typed. */
typedef struct
{
  char *tool, *kind, *view, *verdict, *station, *grinder;
  char *from, *to;
  char *quantity, *above, *below;
  int last;
} WsFilterOptions;

void ws_filter_options_clear (WsFilterOptions *options);

/* Adds the options to a command's. */
void ws_filter_options_add (WsFilterOptions *options, GOptionContext *context);

/* Borrows from `options`.  Errors: WS_ERROR_USAGE. */
gboolean ws_filter_options_read (const WsFilterOptions *options, WsArchiveFilter *filter,
                                 GError **error);

/* NULL with WS_ERROR_USAGE unless `arguments` are the verb, a folder and `n_more` others; `what`
 * says which. */
WsArchive *ws_archive_verb_open (char **arguments, guint n_more, const char *what,
                                 WsArchiveMode mode, GError **error);

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (WsFilterOptions, ws_filter_options_clear)

G_END_DECLS

#endif
