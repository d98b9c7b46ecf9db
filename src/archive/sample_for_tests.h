/*
 * Records and pictures made by hand, for the tests of the archive.
 */
#ifndef WS_ARCHIVE_SAMPLE_FOR_TESTS_H
#define WS_ARCHIVE_SAMPLE_FOR_TESTS_H

#include <unistd.h>

#include <glib/gstdio.h>
#include <whetsight/archive.h>

#include "base/sha256.h"

/* In memory, where syncing takes no time.  Free with g_free(). */
static inline char *
quick_folder (void)
{
  static const char in_memory[] = "/dev/shm";
  return g_access (in_memory, W_OK) == 0
           ? g_mkdtemp (g_build_filename (in_memory, "whetsight-archive-XXXXXX", NULL))
           : g_dir_make_tmp ("whetsight-archive-XXXXXX", NULL);
}

typedef struct
{
  const char *id, *time, *tool;
  const char *verdict;
  double point_angle;
  GBytes *original; /* or NULL */
} Sample;

/* A record as measure would write it; free with g_free(). */
static inline char *
sample_record (const Sample *sample)
{
  char sha256[WS_SHA256_HEX_SIZE] = "";
  char angle[G_ASCII_DTOSTR_BUF_SIZE];
  if (sample->original != NULL)
    wsi_sha256_hex (g_bytes_get_data (sample->original, NULL), g_bytes_get_size (sample->original),
                    sha256);
  g_ascii_formatd (angle, sizeof angle, "%.4f", sample->point_angle);
  return g_strdup_printf (
    "{\"record\": \"whetsight/1\", \"id\": \"%s\", \"time\": \"%s\", \"program\": \"0.1.0\","
    " \"tool\": {\"id\": \"%s\", \"kind\": \"twist-drill\", \"diameter_mm\": 6.5},"
    " \"view\": \"drill-side\", \"image\": {\"name\": \"drill.png\", \"sha256\": %s%s%s,"
    " \"width\": 640, \"height\": 480}, \"scale\": null, \"calibration\": null,"
    " \"verdict\": \"%s\", \"reason\": null, \"hand\": \"right\", \"quantities\": {"
    "\"point_angle_deg\": {\"value\": %s, \"U\": 0.05, \"k\": 2.0, \"lower\": 116.0,"
    " \"upper\": 120.0, \"limit_source\": \"tool card\", \"verdict\": \"%s\", \"budget\": []},"
    " \"diameter_mm\": {\"value\": 6.4885, \"U\": 0.0012, \"k\": 2.0, \"lower\": 6.478,"
    " \"upper\": 6.5, \"limit_source\": \"tool card\", \"verdict\": \"accept\", \"budget\": []},"
    " \"lip_length_a_mm\": {\"value\": null, \"U\": null, \"k\": 2.0, \"lower\": null,"
    " \"upper\": null, \"limit_source\": null, \"verdict\": null, \"budget\": [],"
    " \"smallest_seen\": 0.024}},"
    " \"findings\": [{\"code\": \"chip\", \"text\": \"Lip a, \\\"left\\\", has a chip < 0.1 mm.\","
    " \"where_px\": [21.0, 36.0]}], \"advice\": [\"Grind lip a 1.5° sharper.\"]}",
    sample->id, sample->time, sample->tool, *sha256 != '\0' ? "\"" : "",
    *sha256 != '\0' ? sha256 : "null", *sha256 != '\0' ? "\"" : "", sample->verdict, angle,
    sample->verdict);
}

/* Free with ws_inspection_free(). */
static inline WsInspection *
sample_inspection (const Sample *sample)
{
  WsInspection *inspection = g_new0 (WsInspection, 1);
  inspection->record = sample_record (sample);
  inspection->station = g_strdup ("bench 2");
  inspection->grinder = g_strdup ("R. Vane");
  return inspection;
}

static inline void
sample_remove_tree (const char *path)
{
  GDir *dir = g_file_test (path, G_FILE_TEST_IS_SYMLINK) ? NULL : g_dir_open (path, 0, NULL);
  for (const char *name; dir != NULL && (name = g_dir_read_name (dir)) != NULL;)
  {
    g_autofree char *inner = g_build_filename (path, name, NULL);
    sample_remove_tree (inner);
  }
  if (dir != NULL)
    g_dir_close (dir);
  g_remove (path);
}

#endif
