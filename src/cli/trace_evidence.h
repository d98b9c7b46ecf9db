/*
 * What the archive says of a cause.
 */
#ifndef WS_CLI_TRACE_EVIDENCE_H
#define WS_CLI_TRACE_EVIDENCE_H

#include <whetsight/whetsight.h>

#include "judge/causes.h"

G_BEGIN_DECLS

/* In the order in which causes are looked at. */
typedef enum
{
  WS_EVIDENCE_FOR,  /* a value lies outside its limits */
  WS_EVIDENCE_NONE, /* nothing, or nothing that tells */
  WS_EVIDENCE_AGAINST
} WsEvidenceSide;

typedef struct
{
  WsEvidenceSide side;
  char *words; /* a line each, with numbers in mm; NULL: nothing was measured */
} WsEvidence;

/* Whose fault it is. */
typedef struct
{
  WsArchive *archive; /* NULL: there is none, and no evidence */
  const char *tool;
  const WsSymptom *symptom;
  double by;             /* the amount, mm; NAN: unknown */
  char *kind, *reground; /* of the tool; time of its last regrind; each NULL when unknown */
} WsTraceCase;

/* Finds `kind` and `reground`.  Errors: WS_ERROR_NO_INPUT when nothing of the tool is there. */
gboolean wsi_trace_case_look (WsTraceCase *about, GError **error);
void wsi_trace_case_clear (WsTraceCase *about);

/* What isn't as it was written is told aside and not used.  Errors: WS_ERROR_DATA.  Free words with
 * g_free(). */
gboolean wsi_trace_evidence (const WsTraceCase *about, const WsCause *cause, WsEvidence *evidence,
                             GError **error);

G_END_DECLS

#endif
