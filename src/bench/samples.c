#include "bench/samples.h"

#include "base/csv.h"
#include "bench/cards.h"

#define N_COLUMNS 6

static void
sample_free (gpointer data)
{
  WsSample *sample = data;
  char *const texts[] = { sample->file, sample->card,  sample->view,
                          sample->what, sample->scale, sample->scale_u };
  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
    g_free (texts[i]);
  g_free (sample);
}

static void
add_sample (GPtrArray *samples, const WsCsvRow *row, const char *tool)
{
  g_autofree char *card = tool != NULL ? g_strconcat (tool, WSI_CARD_ENDING, NULL) : NULL;
  if (row->n != N_COLUMNS || (card != NULL && !g_str_equal (row->fields[1], card)))
    return;
  WsSample *sample = g_new (WsSample, 1);
  *sample = (WsSample){
    .file = g_strdup (row->fields[0]),
    .card = g_strdup (row->fields[1]),
    .view = g_strdup (row->fields[2]),
    .scale = g_strdup (row->fields[3]),
    .scale_u = g_strdup (row->fields[4]),
    .what = g_strdup (row->fields[5]),
  };
  sample->what[0] = g_ascii_toupper (sample->what[0]);
  g_ptr_array_add (samples, sample);
}

GPtrArray *
wsi_samples_of (const char *folder, const char *tool)
{
  GPtrArray *samples = g_ptr_array_new_with_free_func (sample_free);
  g_autofree char *path = folder != NULL ? g_build_filename (folder, "shots.csv", NULL) : NULL;
  g_autofree char *text = NULL;
  if (path == NULL || !g_file_get_contents (path, &text, NULL, NULL))
    return samples;
  g_autoptr (GPtrArray) rows = wsi_csv_parse (path, text, NULL);
  for (guint i = 1; rows != NULL && i < rows->len; i++)
    add_sample (samples, g_ptr_array_index (rows, i), tool);
  return samples;
}
