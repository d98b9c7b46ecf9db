/*
 * The archive: inspections kept so that a change to them is noticed.
 *
 * A folder with a database, archive.db, and images/, where each picture lies once under the
 * SHA-256 of its bytes.  Rows are chained: each holds the hash of its content together with the
 * hash of the row before (docs/archive.md has the exact bytes).  An inspection is all there or not
 * there: pictures are written, synced and renamed before the row that names them commits.
 *
 * A WsArchive belongs to one thread.  Any number of them, in any number of processes of one
 * computer, may write to one folder.
 */
#ifndef WHETSIGHT_ARCHIVE_H
#define WHETSIGHT_ARCHIVE_H

#include <glib.h>
#include <math.h>

G_BEGIN_DECLS

typedef struct WsArchive WsArchive;

typedef enum
{
  WS_ARCHIVE_READ, /* must be there */
  WS_ARCHIVE_WRITE /* made when it isn't there */
} WsArchiveMode;

/* Errors: WS_ERROR_NO_INPUT when there is none (read); WS_ERROR_CANT_WRITE when it can't be made or
 * written (read-only folder, full disk, a share without locks); WS_ERROR_DATA when the database is
 * damaged, no archive, or made by a newer program.  Free with ws_archive_free(). */
WsArchive *ws_archive_open (const char *folder, WsArchiveMode mode, GError **error);
void ws_archive_free (WsArchive *archive);

/* The folder as it was given. */
const char *ws_archive_folder (const WsArchive *archive);

/* One row.  Everything but `record` to `has_pictures` follows from the record or from what is
 * stored already. */
typedef struct
{
  char *record;          /* "whetsight/1", one line of JSON */
  char *settings;        /* hash of what it was measured by (card, view, optics), or NULL */
  char *station;         /* or NULL */
  char *grinder;         /* who or what ground the tool, or NULL */
  gboolean reground;     /* the first inspection after a regrind */
  char *annotated;       /* SHA-256 of the annotated picture, or NULL */
  gboolean has_pictures; /* the pictures are in this archive; FALSE for imported records */
  char *imported;        /* from where, when and by whom it was taken in; NULL when measured here */
  char *clock;           /* the newest time of a row before that is later: the clock was set back */

  guint64 number; /* 1, 2, … in the order of storing; of several benches, with gaps */
  char *bench;    /* whose chain the row stands in; NULL where there is but one */
  guint64 place;  /* in that chain: 1, 2, … */
  char *id;
  char *time; /* ISO 8601, UTC */
  char *tool; /* the card's id, or NULL */
  char *kind;
  char *view;
  char *verdict; /* NULL without limits */
  char *reason;  /* retake code, or NULL */
  char *image_name;
  char *image;    /* SHA-256, NULL when the file could not be read */
  char *previous; /* hash of the row before */
  char *hash;

  /* What of it is not as it was written, in words, or NULL: then record, columns, quantities and
   * the place in the chain agree.  Nothing of a wrong one may be shown as a result. */
  char *wrong;

  char *about;      /* of a row that is a note: the id of its inspection; else NULL */
  GPtrArray *notes; /* of WsNote, in the order of storing, where records are read; else NULL */
} WsInspection;

typedef enum
{
  WS_NOTE_SIGN_OFF, /* somebody answers for the verdict as it stands */
  WS_NOTE_RELEASE,  /* somebody lets the tool be used against the verdict, which stays */
  WS_NOTE_COMMENT,
  WS_NOTE_REMOVAL,    /* pictures were removed by a rule: ws_archive_clear() alone writes it */
  WS_NOTE_REMEASURED, /* the picture was measured again: ws_archive_add_remeasured() alone writes
                         it */
  WS_N_NOTES
} WsNoteKind;

/* What somebody added to an inspection: a row of the same chain. */
typedef struct
{
  guint64 number;
  char *id, *time, *about;
  WsNoteKind kind;
  char *by, *text; /* the name and the reason as they were given */
  char *account;   /* whose login it was added from, or NULL */
  char *imported;  /* as WsInspection's, and so is clock */
  char *clock;
  char *hash;
  char *record;               /* its own, one line of JSON */
  char *settings, *was, *now; /* where the picture was measured again: hash of what it was measured
                                 by, verdicts before and after, NULL without limits; else NULL */
} WsNote;

/* Borrowed. */
typedef struct
{
  WsNoteKind kind;
  const char *by, *text, *account;
} WsNoteWords;

/* "sign-off", "release", "comment", "pictures-removed"; static. */
const char *ws_note_kind_name (WsNoteKind kind);

void ws_inspection_free (WsInspection *inspection);

/* Pictures to go with an inspection: a file's bytes and their SHA-256; borrowed. */
typedef struct
{
  GBytes *original;        /* or NULL */
  GBytes *annotated;       /* or NULL */
  const GPtrArray *others; /* of GBytes: of a series, the originals that the record lists beside
                              that one; or NULL */
} WsPictures;

/* Stores `inspection` (its `record` to `reground`; `annotated` and `has_pictures` when `pictures`
 * is NULL) and sets its number and hash.  When this returns TRUE it is on disk.  Errors:
 * WS_ERROR_CANT_WRITE; WS_ERROR_DATA when the record is none, its id is taken, or `original` isn't
 * the picture that it names. */
gboolean ws_archive_store (WsArchive *archive, WsInspection *inspection, const WsPictures *pictures,
                           GError **error);

/* TRUE once after a picture was stored that was there already, damaged: it was put back. */
gboolean ws_archive_take_mended (WsArchive *archive);

/* TRUE once after a row was stored whose time lies before that of an older one: the computer's
 * clock was set back. */
gboolean ws_archive_take_clock (WsArchive *archive);

/* Everything stored between these two is there whole or not at all; without pictures only. */
gboolean ws_archive_begin (WsArchive *archive, GError **error);
gboolean ws_archive_commit (WsArchive *archive, GError **error);
void ws_archive_roll_back (WsArchive *archive);

/* What is looked for; NULL, NAN and 0 don't restrict. */
typedef struct
{
  const char *tool, *kind, *view, *verdict, *station, *grinder;
  const char *image, *settings;
  const char *from, *to; /* times or their first part, "2026-11": both ends are included */
  const char *quantity;  /* has a value */
  double above, below;   /* and it lies above, below that; NAN: open */
  guint64 before;        /* a number: what was stored earlier */
  guint64 last;          /* the newest so many */
  gboolean wild;         /* tool, station and grinder are patterns: * any text, ? one character */
} WsArchiveFilter;

#define WS_ARCHIVE_ALL                                                                             \
  {                                                                                                \
    .above = NAN, .below = NAN                                                                     \
  }

typedef gboolean (*WsArchiveVisit) (const WsInspection *inspection, gpointer data, GError **error);

/* Calls `visit` for each in the order of storing until it returns FALSE with an error.
 * `with_records`: fills `record` and `wrong`, which makes it slower.  Errors: the visitor's;
 * WS_ERROR_DATA. */
gboolean ws_archive_each (WsArchive *archive, const WsArchiveFilter *filter, gboolean with_records,
                          WsArchiveVisit visit, gpointer data, GError **error);

/* With its record, checked; NULL with WS_ERROR_NO_INPUT when there is none of this id.  Free with
 * ws_inspection_free(). */
WsInspection *ws_archive_find (WsArchive *archive, const char *id, GError **error);

/* Adds a note to the inspection of that id; `note_id` (or NULL) becomes the note's.  When this
 * returns TRUE it is on disk.  Errors: WS_ERROR_NO_INPUT; WS_ERROR_USAGE without a name or a
 * reason; WS_ERROR_DATA for an inspection that isn't as it was written, for what is said of a
 * retake other than a comment, and for a release of what is accepted; WS_ERROR_CANT_WRITE.  Free
 * `note_id` with g_free(). */
gboolean ws_archive_add_note (WsArchive *archive, const char *id, const WsNoteWords *words,
                              char **note_id, GError **error);

/* Where the picture of this SHA-256 lies.  Free with g_free(). */
char *ws_archive_picture_path (const WsArchive *archive, const char *sha256);

/* TRUE for a picture of the inspection, or FALSE for NULL, that lies in this archive as far as one
 * was told: the inspection has pictures, and no rule removed it, or it came again since. */
gboolean ws_archive_has_picture (const WsArchive *archive, const WsInspection *inspection,
                                 const char *sha256);

/* What is wrong with the pictures of an inspection, "its annotated picture is missing"; NULL when
 * they are there as they were stored, or it has none.  Free with g_free(). */
char *ws_archive_check_pictures (const WsArchive *archive, const WsInspection *inspection);

/* The value of a quantity in an inspection's record; FALSE when it has none. */
gboolean ws_archive_value (const WsInspection *inspection, const char *quantity, double *value);

/* One value in time. */
typedef struct
{
  char *id, *time, *tool, *grinder;
  char *wrong; /* as WsInspection's; there are no numbers then */
  gboolean reground;
  double value, U, lower, upper; /* limits -INFINITY, INFINITY when open */
} WsArchiveValue;

/* Values of `filter->quantity` in the order of time, `filter->last` aside.  Free with
 * g_ptr_array_unref(). */
GPtrArray *ws_archive_values (WsArchive *archive, const WsArchiveFilter *filter, GError **error);

/* How many there are, and the hash of the last ("" for none). */
gboolean ws_archive_head (WsArchive *archive, guint64 *count, char hash[65], GError **error);

/* "whetsight-seal/1 2026-11-25T10:15:02Z 17 1f0c…": stored and returned, to be kept elsewhere too.
 * Free with g_free(). */
char *ws_archive_seal (WsArchive *archive, GError **error);

/* What verifying tells: `what` is wrong is one line, "row 3 (20261125T…): edited". */
typedef struct
{
  guint64 rows, files, bytes; /* looked at */
  guint64 notes;              /* of the rows: sign-offs, releases and comments */
  guint64 events;             /* of the rows: changes of accounts and cards, regrinds */
  guint64 left_over;          /* files of interrupted writes: harmless */
  guint64 removed;            /* pictures that a rule removed, and a note says so */
  guint64 wrong;              /* things told */
} WsVerification;

typedef struct
{
  void (*tell) (const char *what, gpointer data);
  void (*progress) (guint64 done_bytes, guint64 all_bytes, gpointer data); /* or NULL */
  gpointer data;
} WsVerifier;

/* Recomputes every hash.  `seal`: what ws_seals_read() takes, to hold the archive against, or NULL.
 * Errors: WS_ERROR_DATA when the database can't be read at all or `seal` is none. */
gboolean ws_archive_verify (WsArchive *archive, const char *seal, const WsVerifier *verifier,
                            WsVerification *verification, GError **error);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsArchive, ws_archive_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsInspection, ws_inspection_free)

G_END_DECLS

#endif
