/*
 * Options of a command as a table: what --help says of them, what may be typed, and where it goes.
 * Help, reading and checking all follow from it.
 */
#ifndef WS_CLI_OPTIONS_H
#define WS_CLI_OPTIONS_H

#include <glib.h>

G_BEGIN_DECLS

typedef enum
{
  WS_OPTION_END,
  WS_OPTION_FLAG,   /* gboolean */
  WS_OPTION_TEXT,   /* char *, UTF-8 */
  WS_OPTION_FILE,   /* char *, a path as the system has it */
  WS_OPTION_WORD,   /* char *, one of its check's words */
  WS_OPTION_TIME,   /* char *, the first part of a time: "2026-11" */
  WS_OPTION_COUNT,  /* int, 0 when not given */
  WS_OPTION_NUMBER, /* double, NAN when not given */
  WS_OPTION_LENGTH, /* likewise, mm: in mm or inches, as wsi_length_parse() has it */
  WS_OPTION_SIZE,   /* likewise, also a drill's number or letter */
  WS_OPTION_FILES,  /* char **, what stands after the options: paths */
  WS_OPTION_WORDS   /* char **, likewise: texts */
} WsOptionKind;

/* What may be typed. */
typedef struct
{
  const char *phrase; /* "expected degrees, 0 to 60": what is said of anything else */
  double least, most;
  gboolean above; /* `least` itself is none of them */
  gboolean whole;
  /* The words of a WS_OPTION_WORD, by their place; NULL behind the last.  Of a WS_OPTION_TEXT those
   * that are worth to be offered.  Static. */
  const char *(*word) (guint i);
} WsOptionCheck;

typedef struct
{
  WsOptionKind kind;
  const char *name; /* "calib" for --calib; NULL for what stands after the options */
  char letter;      /* 'c' for -c, or 0 */
  gsize offset;     /* of the value in the command's struct */
  const char *argument, *help;
  const WsOptionCheck *check; /* or NULL */
} WsOption;

/* A table, ending in WS_OPTION_END, and where its struct lies in the command's. */
typedef struct
{
  const WsOption *options;
  gsize offset;
} WsOptionGroup;

/* Ends a table. */
#define WS_OPTIONS_END                                                                             \
  {                                                                                                \
    WS_OPTION_END, NULL, 0, 0, NULL, NULL, NULL                                                    \
  }

/* Reads `arguments` into `values`, which is all zero bytes before; takes out what it knows.
 * `groups` ends in one without options.  Errors: those of GOption, WS_ERROR_USAGE.  Free what was
 * read with wsi_options_clear(), also after an error. */
gboolean wsi_options_read (const WsOptionGroup *groups, GOptionContext *context, char ***arguments,
                           gpointer values, GError **error);
void wsi_options_clear (const WsOptionGroup *groups, gpointer values);

/* Refuses with WS_ERROR_USAGE when --NAME wasn't given. */
gboolean wsi_options_require (const WsOption *options, const char *name, gconstpointer values,
                              GError **error);

/* The place of a word that was read, `otherwise` when the option wasn't given. */
guint wsi_option_word_index (const WsOptionCheck *check, const char *word, guint otherwise);

/* A number that was read, `otherwise` when the option wasn't given. */
double wsi_option_number (double value, double otherwise);

/* ---- Checks that several commands share ------------------------------------------------ */

extern const WsOptionCheck wsi_check_above_zero; /* a number */
extern const WsOptionCheck wsi_check_number;     /* any */
extern const WsOptionCheck wsi_check_view, wsi_check_kind, wsi_check_verdict;

G_END_DECLS

#endif
