/*
 * What `measure` does with what came of each picture.
 */
#ifndef WS_CLI_DELIVER_H
#define WS_CLI_DELIVER_H

#include <whetsight/batch.h>

#include "cli/plan.h"

G_BEGIN_DECLS

/* One call of the verb. */
typedef struct
{
  WsPlan *plan;
  const char *out; /* folder, or NULL; borrowed */
  gboolean json;
  gboolean details;   /* all of the text, also of several pictures */
  WsArchive *archive; /* NULL: not archived, or it can't be used */
  WsJobNotes notes;   /* but for the settings, which are each task's */
} WsDelivery;

/* OUT/STEM.annotated.png and OUT/STEM.record.json.  Free with g_free(). */
char *wsi_delivery_picture_path (const WsDelivery *delivery, const char *image_path);
char *wsi_delivery_record_path (const WsDelivery *delivery, const char *image_path);

/* Measures what is planned, `n_workers` at once; archives, prints and saves in their order.  With
 * `summary`, or with several pictures, ends with how many came out how, on standard error.
 * Returns the exit status, the worst of all; what went wrong was told. */
int wsi_deliver_all (const WsDelivery *delivery, guint n_workers, gboolean summary);

G_END_DECLS

#endif
