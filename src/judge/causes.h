/*
 * What may be behind a fault of the part: a table that a toolroom can read and change.
 */
#ifndef WS_JUDGE_CAUSES_H
#define WS_JUDGE_CAUSES_H

#include <whetsight/card.h>

G_BEGIN_DECLS

/* In the order in which they are looked at: what costs nothing first. */
typedef enum
{
  WS_STAGE_SET_UP,
  WS_STAGE_TOOL,
  WS_STAGE_CENTRE_HEIGHT,
  WS_STAGE_MACHINE,
  WS_N_STAGES
} WsCauseStage;

typedef struct
{
  char *name, *title;
  char *amount; /* "oversize", or NULL */
} WsSymptom;

typedef struct
{
  char *name;
  char **symptoms;
  guint kinds; /* bits of WsToolKind that it is for */
  WsCauseStage stage;
  double minutes;
  char *what, *check, *cure, *source;
  char **quantities; /* or NULL */
  int outside;       /* of which end of its limits they lie: -1 below, 1 above, 0 either */
  double explains;   /* so many times the quantity, at most, is the amount; NAN: unknown */
} WsCause;

typedef struct
{
  GPtrArray *symptoms; /* of WsSymptom, as they stand in the table */
  GPtrArray *causes;   /* of WsCause, likewise */
} WsCauses;

/* The table that comes with the program. */
extern const char wsi_causes_text[];

/* `name` of the file is for messages.  Errors: WS_ERROR_DATA, naming group and key.  Free with
 * wsi_causes_free(). */
WsCauses *wsi_causes_parse (const char *name, const char *text, GError **error);
void wsi_causes_free (WsCauses *causes);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsCauses, wsi_causes_free)

/* NULL when there is none. */
const WsSymptom *wsi_causes_symptom (const WsCauses *causes, const char *name);

/* Is the cause one of this symptom with a tool of this kind, WS_N_KINDS for any? */
gboolean wsi_cause_fits (const WsCause *cause, const char *symptom, guint kind);

/* "set-up", "tool", "centre-height", "machine"; static. */
const char *wsi_cause_stage_name (WsCauseStage stage);

G_END_DECLS

#endif
