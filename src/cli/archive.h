/*
 * What `whetsight archive` does, and what other verbs share with it.
 */
#ifndef WS_CLI_ARCHIVE_H
#define WS_CLI_ARCHIVE_H

#include <whetsight/whetsight.h>

#include "cli/command.h"

G_BEGIN_DECLS

extern const WsCommand wsi_archive_list, wsi_archive_show, wsi_archive_export, wsi_archive_import,
  wsi_archive_check, wsi_archive_sealing, wsi_archive_key, wsi_archive_sign, wsi_archive_release,
  wsi_archive_comment, wsi_archive_history, wsi_archive_tools, wsi_archive_table,
  wsi_archive_backup, wsi_archive_restore, wsi_archive_compare, wsi_archive_bundle,
  wsi_archive_merge, wsi_archive_sync, wsi_archive_clear, wsi_archive_make, wsi_archive_pictures;

/* Which inspections: the options as typed. */
typedef struct
{
  char *tool, *kind, *view, *verdict, *station, *grinder;
  char *from, *to;
  char *quantity;
  double above, below;
  int last;
} WsFilterOptions;

/* Of a WsFilterOptions. */
extern const WsOption wsi_filter_options[];

/* Borrows from `options`.  Errors: WS_ERROR_USAGE. */
gboolean wsi_filter_options_read (const WsFilterOptions *options, WsArchiveFilter *filter,
                                  GError **error);

/* FALSE with WS_ERROR_USAGE when any of them was given: beside ids they would be passed over. */
gboolean wsi_filter_options_refuse (const WsFilterOptions *options, GError **error);

/* After nothing was found: tells what may have been mistyped. */
void wsi_filter_options_suggest (const WsFilterOptions *options, WsArchive *archive);

/* NULL with WS_ERROR_USAGE unless `words` are the command, a folder and `n_more` others; `what`
 * says which. */
WsArchive *wsi_archive_command_open (char **words, guint n_more, const char *what,
                                     WsArchiveMode mode, GError **error);

/* Tells of an inspection that isn't as it was written and is therefore left out; returns the exit
 * status. */
int wsi_archive_tell_wrong (const WsArchive *archive, const char *id, const char *wrong);

/* "Point angle" of "point_angle_deg"; the name where no view declares it. */
const char *wsi_archive_quantity_label (const char *quantity);

/* Prints what verifying tells, its `data` a WsProgress, and how far it is. */
void wsi_archive_tell (const char *what, gpointer data);
void wsi_archive_show_bytes (guint64 done, guint64 all, gpointer data);

/* How to seal. */
typedef struct
{
  char *key, *output, *stamp; /* or NULL: unsigned, to standard output, not stamped */
  int every;                  /* rows that have to be new; 0: whenever it is asked for */
} WsSealing;

/* Errors: WS_ERROR_USAGE. */
gboolean wsi_archive_sealing_check (const WsSealing *sealing, GError **error);

/* Seals when it is due and says what went wrong; returns the exit status. */
int wsi_archive_seal (WsArchive *archive, const WsSealing *sealing);

G_END_DECLS

#endif
