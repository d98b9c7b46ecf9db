/*
 * What benches and grinders of a plant did, as text for people and as JSON.
 */
#ifndef WS_REPORT_PLANT_H
#define WS_REPORT_PLANT_H

#include "archive/plant.h"

G_BEGIN_DECLS

/* What one bench comes to, in a few words; static, in English, marked for translation. */
const char *wsi_plant_bench_words (const WsPlantQuantity *of, const WsGauge *gauge);

/* "moved +0.020 ± 0.008 in 77 days", "3 weeks of 5 that it takes"; free with g_free(). */
char *wsi_plant_drift_words (const WsGauge *gauge);

/* Where what is compared with comes from; free with g_free(). */
char *wsi_plant_reference_words (const WsPlantQuantity *of);

/* What holds of the whole comparison; NULL for nothing more; free with g_free(). */
char *wsi_plant_doubt_words (const WsPlantQuantity *of);

/* "23 days (16 to open)"; "more than 41 days for over half of them"; free with g_free(). */
char *wsi_plant_median_words (const WsSurvival *survival, gboolean days);

/* What one group comes to; static, in English, marked for translation. */
const char *wsi_plant_group_words (const WsPlantLives *lives, const WsPlantGroup *group);

/* Inspections and edges that weren't used and why; NULL for none; free with g_free(). */
char *wsi_plant_left_words (const WsPlantLeft *left);
char *wsi_plant_edges_words (const WsPlantLives *lives);

/* Two benches of one quantity. */
typedef struct
{
  const WsGauge *a, *b;
  double en; /* of a against b */
} WsPlantPair;

/* Those that lie furthest apart by |E_n| first, `most` at most; `n` of how many, `n_apart` of them
 * beyond 1.  Of WsPlantPair; free with g_array_unref(). */
GArray *wsi_plant_pairs (const WsPlantQuantity *of, guint most, guint *n, guint *n_apart);

/* Free with g_free(). */
char *wsi_plant_benches_text (const WsPlantBenches *benches);
char *wsi_plant_benches_json (const WsPlantBenches *benches);
char *wsi_plant_lives_text (const WsPlantLives *lives);
char *wsi_plant_lives_json (const WsPlantLives *lives);

G_END_DECLS

#endif
