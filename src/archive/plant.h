/*
 * What many benches and grinders did, read from the archive: the same master tool on every bench,
 * and how long tools lasted.
 */
#ifndef WS_ARCHIVE_PLANT_H
#define WS_ARCHIVE_PLANT_H

#include <whetsight/archive.h>
#include <whetsight/card.h>

#include "maths/gauges.h"
#include "maths/survival.h"

G_BEGIN_DECLS

/* What was left out, and why. */
typedef struct
{
  GPtrArray *wrong;            /* of char *, "ID (what)": not as they were written */
  guint n_retakes, n_nameless; /* without a station or grinder */
} WsPlantLeft;

/* ---- Benches ---- */

/* One quantity of one view. */
typedef struct
{
  char *view, *quantity;
  GPtrArray *readings; /* of GArray of WsGaugeReading, as `gauges.gauges` */
  WsGauges gauges;     /* by their names */
  gboolean has_biases; /* there is a reference, or a mean of several */
} WsPlantQuantity;

typedef struct
{
  GPtrArray *quantities; /* of WsPlantQuantity, by view and name */
  guint n;               /* inspections that were used */
  WsPlantLeft left;
} WsPlantBenches;

/* Of the inspections of `filter->tool`, retakes aside.  What `card` (or NULL) says of the tool is
 * the reference.  Errors: those of ws_archive_each().  Free with wsi_plant_benches_free(). */
WsPlantBenches *wsi_plant_benches (WsArchive *archive, const WsArchiveFilter *filter,
                                   const WsToolCard *card, GError **error);
void wsi_plant_benches_free (WsPlantBenches *benches);

/* ---- Lives ---- */

typedef enum
{
  WS_PLANT_BY_GRINDER, /* who or what ground the edge */
  WS_PLANT_BY_STATION, /* where it was first measured then */
  WS_PLANT_BY_KIND
} WsPlantBy;

/* Of edges between two regrinds. */
typedef struct
{
  char *name;
  GArray *lives;       /* of WsLife, days from the regrind */
  GArray *inspections; /* of WsLife, how often it was looked at: one look may have several views */
  guint n_as_ground; /* rejected when they were first looked at: badly ground, none of the lives */

  WsSurvival by_days, by_inspections;
  double expected;    /* ends in as many days, if it lasted as all others */
  double probability; /* of a difference as great by chance; NAN: can't be told */
} WsPlantGroup;

typedef struct
{
  char *tool, *from, *name; /* of the group */
  double days;
} WsPlantShort;

typedef struct
{
  GPtrArray *groups;    /* of WsPlantGroup, by their names */
  GPtrArray *shortest;  /* of WsPlantShort: lives that ended, the shortest first */
  guint n_begun_unseen; /* edges whose regrind isn't in the archive: not used */
  guint n_doubted;      /* edges with an inspection that isn't as it was written: not used */
  WsPlantLeft left;
} WsPlantLives;

/* Of the tools that `filter` finds.  An edge begins with the first inspection after a regrind, and
 * ends with its first reject; one that was reground or is used without having been rejected lasted
 * so long at least.  Errors: those of ws_archive_each().  Free with wsi_plant_lives_free(). */
WsPlantLives *wsi_plant_lives (WsArchive *archive, const WsArchiveFilter *filter, WsPlantBy by,
                               GError **error);
void wsi_plant_lives_free (WsPlantLives *lives);

/* Fewer ended lives in a group, or beside it, say nothing of it (common practice, no source). */
#define WS_PLANT_LEAST_ENDED 5

/* Does the group end earlier than the others?  With a probability by chance of 5 % divided by the
 * number of groups (Bonferroni), and enough ended lives. */
gboolean wsi_plant_ends_early (const WsPlantLives *lives, const WsPlantGroup *group);

/* ---- Both ---- */

void wsi_plant_left_init (WsPlantLeft *left);
void wsi_plant_left_clear (WsPlantLeft *left);
void wsi_plant_left_wrong (WsPlantLeft *left, const WsInspection *inspection);

/* Days since a Monday; NAN for what is no time. */
double wsi_plant_day (const char *time);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsPlantBenches, wsi_plant_benches_free)
G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsPlantLives, wsi_plant_lives_free)

G_END_DECLS

#endif
