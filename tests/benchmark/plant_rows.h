/*
 * Rows of ten years of a plant, as PostgreSQL's COPY takes them: made by number, so that each
 * table's can be made by itself, with a chain a bench that verify takes.
 */
#ifndef WS_BENCHMARK_PLANT_ROWS_H
#define WS_BENCHMARK_PLANT_ROWS_H

#include <stdio.h>
#include <string.h>

#include <whetsight/archive.h>

#include "archive/columns.h"

#define PLANT_BENCHES 40
#define PLANT_TOOLS 20000
#define PLANT_START 1480550400 /* 2016-12-01, UTC */
#define PLANT_SECONDS (3652.0 * 86400.0)

typedef struct
{
  guint64 number;
  guint bench;
  guint64 place;
  double angle, diameter;
  gboolean good;
  char id[24], time[32], tool[16];
  int month;
} PlantRow;

/* splitmix64 (Vigna, public domain): the same number, the same row. */
static inline double
plant_random (guint64 seed)
{
  guint64 z = seed * G_GUINT64_CONSTANT (0x9E3779B97F4A7C15);
  z = (z ^ (z >> 30)) * G_GUINT64_CONSTANT (0xBF58476D1CE4E5B9);
  z = (z ^ (z >> 27)) * G_GUINT64_CONSTANT (0x94D049BB133111EB);
  return (double)((z ^ (z >> 31)) >> 11) / 9007199254740992.0;
}

static inline void
plant_row (guint64 i, guint64 rows, PlantRow *row)
{
  g_autoptr (GDateTime) time = g_date_time_new_from_unix_utc (
    PLANT_START + (gint64)(PLANT_SECONDS * (double)i / (double)rows));
  g_autofree char *stamp = g_date_time_format (time, "%Y-%m-%dT%H:%M:%SZ");
  const double spread = plant_random (3 * i) + plant_random (3 * i + 1) - 1.0;
  row->number = i + 1;
  row->bench = (guint)(i % PLANT_BENCHES);
  row->place = i / PLANT_BENCHES + 1;
  row->angle = 118.0 + 0.0001 * (double)(gint64)(21000.0 * spread);
  row->diameter = 6.49 + 0.0001 * (double)(gint64)(100.0 * plant_random (3 * i + 2));
  row->good = row->angle > 116.05 && row->angle < 119.95;
  g_snprintf (row->id, sizeof row->id, "id-%012" G_GUINT64_FORMAT, i);
  g_snprintf (row->tool, sizeof row->tool, "QT-D-%05u", (guint)(plant_random (i) * PLANT_TOOLS));
  g_strlcpy (row->time, stamp, sizeof row->time);
  row->month = g_date_time_get_year (time) * 100 + g_date_time_get_month (time);
}

/* Free with g_free(). */
static inline char *
plant_record (const PlantRow *row)
{
  const char *verdict = row->good ? "accept" : "reject";
  return g_strdup_printf (
    "{\"record\": \"whetsight/1\", \"id\": \"%s\", \"time\": \"%s\", \"program\": \"0.2.0\","
    " \"tool\": {\"id\": \"%s\", \"kind\": \"twist-drill\", \"diameter_mm\": 6.5},"
    " \"view\": \"drill-side\", \"image\": {\"name\": \"drill.png\", \"sha256\": null},"
    " \"calibration\": null, \"verdict\": \"%s\", \"reason\": null, \"hand\": \"right\","
    " \"quantities\": {\"point_angle_deg\": {\"value\": %.4f, \"U\": 0.05, \"k\": 2.0,"
    " \"lower\": 116.0, \"upper\": 120.0, \"verdict\": \"%s\", \"budget\": []},"
    " \"diameter_mm\": {\"value\": %.4f, \"U\": 0.0012, \"k\": 2.0, \"lower\": 6.478,"
    " \"upper\": 6.51, \"verdict\": \"accept\", \"budget\": []}},"
    " \"findings\": [], \"advice\": []}",
    row->id, row->time, row->tool, verdict, row->angle, verdict, row->diameter);
}

static inline void
plant_print_inspection (const PlantRow *row, char previous[PLANT_BENCHES][WS_SHA256_HEX_SIZE])
{
  g_autofree char *record = plant_record (row);
  g_autofree char *station = g_strdup_printf ("bench %u", row->bench + 1);
  WsInspection made = {
    .record = record, .station = station, .grinder = "R. Vane", .previous = previous[row->bench]
  };
  char hash[WS_SHA256_HEX_SIZE];
  wsi_columns_hash (&made, hash);
  printf ("%" G_GUINT64_FORMAT "\t%s\t%" G_GUINT64_FORMAT
          "\t%s\t%s\t%s\ttwist-drill\tdrill-side\t%s\tdrill.png\t%s\tR. Vane\t0\t0\t%s\t%s\n",
          row->number, station, row->place, row->id, row->time, row->tool,
          row->good ? "accept" : "reject", station, previous[row->bench], hash);
  g_strlcpy (previous[row->bench], hash, WS_SHA256_HEX_SIZE);
}

static inline void
plant_print_record (const PlantRow *row)
{
  g_autofree char *record = plant_record (row);
  printf ("%" G_GUINT64_FORMAT "\t%d\t%s\n", row->number, row->month, record);
}

static inline void
plant_print_quantities (const PlantRow *row)
{
  printf ("%" G_GUINT64_FORMAT "\t%d\tpoint_angle_deg\t%.4f\t0.05\t116\t120\t%s\n"
          "%" G_GUINT64_FORMAT "\t%d\tdiameter_mm\t%.4f\t0.0012\t6.478\t6.51\taccept\n",
          row->number, row->month, row->angle, row->good ? "accept" : "reject", row->number,
          row->month, row->diameter);
}

/* "inspection", "record", "quantity", or "month": all months. */
static inline int
plant_print (const char *table, guint64 rows)
{
  int month = 0;
  PlantRow row;
  char (*previous)[WS_SHA256_HEX_SIZE] = g_malloc0 (PLANT_BENCHES * sizeof *previous);
  for (guint64 i = 0; i < rows; i++)
  {
    plant_row (i, rows, &row);
    if (g_str_equal (table, "inspection"))
      plant_print_inspection (&row, previous);
    else if (g_str_equal (table, "record"))
      plant_print_record (&row);
    else if (g_str_equal (table, "quantity"))
      plant_print_quantities (&row);
    else if (row.month != month)
      printf ("%d\n", row.month);
    month = row.month;
  }
  g_free (previous);
  return fflush (stdout) == 0 ? 0 : 73;
}

#endif
