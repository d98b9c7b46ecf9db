/* The page of accuracy, from the campaign's numbers. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "hard.h"
#include "hard_judge.h"

typedef struct
{
  double error, U, U_rest;
} Number;

typedef struct
{
  const HardKind *kind;
  const char *heading;
  guint n, of[HARD_N_SORTS], harmless, needless, numbers, covered;
  double worst; /* |error| over U */
} KindSums;

/* A lip whose bound is known. */
typedef struct
{
  guint64 seed;
  guint lip_px;
  double bound_deg, error, U;
} Lip;

typedef struct
{
  GArray *kinds;       /* of KindSums */
  GHashTable *numbers; /* "scene|quantity|heading" to a GArray of Number */
  GHashTable *refused; /* "scene|heading" to a pair of counts, all and refused */
  GArray *lips;
} Sums;

/* ---- Reading ----------------------------------------------------------------------------------
 */

static KindSums *
sums_of (Sums *sums, const char *name)
{
  for (guint i = 0; i < sums->kinds->len; i++)
  {
    KindSums *kind = &g_array_index (sums->kinds, KindSums, i);
    if (g_str_equal (kind->kind->name, name))
      return kind;
  }
  return NULL;
}

static void
list_kinds (Sums *sums)
{
  const char *heading = "";
  for (const HardKind *kind = hard_kinds (); kind->name != NULL; kind++)
  {
    heading = kind->heading != NULL ? kind->heading : heading;
    const KindSums entry = { .kind = kind, .heading = heading };
    if (*kind->name != '\0')
      g_array_append_val (sums->kinds, entry);
  }
}

typedef struct
{
  KindSums *kind;
  char *scene;
  guint64 seed;
  guint lip_px;
  double bound_deg;
} Picture;

static void
read_picture (Sums *sums, char **cells, Picture *picture)
{
  picture->kind = sums_of (sums, cells[1]);
  if (picture->kind == NULL)
    return;
  KindSums *kind = picture->kind;
  g_free (picture->scene);
  picture->scene = g_strdup (cells[2]);
  picture->seed = g_ascii_strtoull (cells[3], NULL, 10);
  const int sort = CLAMP (atoi (cells[5]), 0, HARD_N_SORTS - 1);
  const guint harmless = g_ascii_strtod (cells[4], NULL) < 0.1 && kind->kind->expected == HARD_TRUE;
  const guint refused = sort == HARD_REFUSED || atoi (cells[6]) != 0;
  kind->n++;
  kind->of[sort]++;
  kind->harmless += harmless;
  kind->needless += harmless * refused;
  picture->lip_px = (guint)atoi (cells[7]);
  picture->bound_deg = g_ascii_strtod (cells[8], NULL);
  char *key = g_strdup_printf ("%s|%s", picture->scene, kind->heading);
  guint *counts = g_hash_table_lookup (sums->refused, key);
  if (counts == NULL)
    g_hash_table_insert (sums->refused, g_strdup (key), counts = g_new0 (guint, 2));
  g_free (key);
  counts[0]++;
  counts[1] += sort == HARD_REFUSED;
}

/* Segments, lips and sides are alike. */
static char *
common_name (const char *quantity)
{
  if (!g_str_has_prefix (quantity, "segment_"))
    return g_strdup (quantity);
  const char *rest = quantity + strlen ("segment_");
  return g_strconcat ("segment_N", rest + strspn (rest, "0123456789"), NULL);
}

static void
read_number (Sums *sums, char **cells, const Picture *picture)
{
  const Number number = { g_ascii_strtod (cells[1], NULL), g_ascii_strtod (cells[2], NULL),
                          g_ascii_strtod (cells[3], NULL) };
  KindSums *kind = picture->kind;
  const double ratio = fabs (number.error) / MAX (number.U, 1e-12);
  kind->numbers++;
  kind->covered += ratio <= 1.0;
  kind->worst = MAX (kind->worst, ratio);
  g_autofree char *name = common_name (cells[0]);
  g_autofree char *key = g_strdup_printf ("%s|%s|%s", picture->scene, name, kind->heading);
  GArray *numbers = g_hash_table_lookup (sums->numbers, key);
  if (numbers == NULL)
    g_hash_table_insert (sums->numbers, g_strdup (key),
                         numbers = g_array_new (FALSE, FALSE, sizeof (Number)));
  g_array_append_val (numbers, number);
  if (!g_str_equal (kind->kind->name, "plain") || !g_str_equal (cells[0], "point_angle_deg") ||
      !isfinite (picture->bound_deg))
    return;
  const Lip lip = { picture->seed, picture->lip_px, picture->bound_deg, fabs (number.error),
                    number.U };
  g_array_append_val (sums->lips, lip);
}

static gboolean
read_file (Sums *sums, const char *path)
{
  g_autofree char *text = NULL;
  if (!g_file_get_contents (path, &text, NULL, NULL))
    return FALSE;
  g_auto (GStrv) lines = g_strsplit (text, "\n", -1);
  Picture picture = { 0 };
  for (char **line = lines; *line != NULL; line++)
  {
    g_auto (GStrv) cells = g_strsplit (*line, ",", -1);
    const guint n = g_strv_length (cells);
    if (n == 9 && g_str_equal (cells[0], "picture"))
      read_picture (sums, cells, &picture);
    else if (n == 4 && picture.kind != NULL)
      read_number (sums, cells, &picture);
  }
  g_free (picture.scene);
  return TRUE;
}

/* ---- Writing -----------------------------------------------------------------------------------
 */

static void
put_kinds (const Sums *sums)
{
  KindSums all = { 0 };
  g_print ("| kind | pictures | judged or measured | undecided | doubted, beside a wrong number | "
           "retake | **wrong** | needless | numbers | in U | worst \\|e\\|/U |\n"
           "|---|--:|--:|--:|--:|--:|--:|--:|--:|--:|--:|\n");
  for (guint i = 0; i <= sums->kinds->len; i++)
  {
    const gboolean is_all = i == sums->kinds->len;
    const KindSums *k = is_all ? &all : &g_array_index (sums->kinds, KindSums, i);
    if (k->n == 0)
      continue;
    g_print ("| %s | %u | %u | %u | %u | %u | %u | %u of %u | %u | ",
             is_all ? "all" : k->kind->name, k->n, k->of[HARD_JUDGED], k->of[HARD_UNDECIDED],
             k->of[HARD_DOUBTFUL], k->of[HARD_REFUSED], k->of[HARD_WRONG] + k->of[HARD_FAILED],
             k->needless, k->harmless, k->numbers);
    if (k->numbers > 0)
      g_print ("%.1f %% | %.1f |\n", 100.0 * k->covered / k->numbers, k->worst);
    else
      g_print ("| |\n");
    for (int s = 0; s < HARD_N_SORTS && !is_all; s++)
      all.of[s] += k->of[s];
    if (is_all)
      continue;
    all.n += k->n;
    all.harmless += k->harmless;
    all.needless += k->needless;
    all.numbers += k->numbers;
    all.covered += k->covered;
    all.worst = MAX (all.worst, k->worst);
  }
}

/* Misses first. */
static void
put_misses (const Sums *sums)
{
  guint n = 0, wrong = 0;
  GString *kinds = g_string_new (NULL);
  for (guint i = 0; i < sums->kinds->len; i++)
  {
    const KindSums *k = &g_array_index (sums->kinds, KindSums, i);
    const guint of_kind = k->of[HARD_WRONG] + k->of[HARD_FAILED];
    n += k->n;
    wrong += of_kind;
    if (of_kind > 0)
      g_string_append_printf (kinds, "%s%s (%u of %u)", kinds->len > 0 ? ", " : ": ", k->kind->name,
                              of_kind, k->n);
  }
  g_print ("Of %u pictures %u are wrong with confidence%s.\n\n", n, wrong, kinds->str);
  g_string_free (kinds, TRUE);
}

static int
by_text (gconstpointer a, gconstpointer b)
{
  return strcmp (*(const char *const *)a, *(const char *const *)b);
}

static int
by_value (const void *a, const void *b)
{
  const double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

static void
put_numbers (const char *key, const GArray *numbers)
{
  g_auto (GStrv) parts = g_strsplit (key, "|", 3);
  const guint n = numbers->len;
  g_autofree double *rest = g_new (double, n);
  double squares = 0.0, worst = 0.0;
  guint covered = 0;
  for (guint i = 0; i < n; i++)
  {
    const Number *number = &g_array_index (numbers, Number, i);
    squares += number->error * number->error / n;
    worst = MAX (worst, fabs (number->error));
    covered += fabs (number->error) <= number->U;
    rest[i] = number->U_rest;
  }
  qsort (rest, n, sizeof *rest, by_value);
  const double rms = sqrt (squares);
  g_print ("| `%s` | %s | %u | %.4f | %.4f | %.1f %% | ", parts[1], parts[2], n, rms, worst,
           100.0 * covered / n);
  if (rms > 1e-9)
    g_print ("%.1f |\n", rest[n / 2] / rms);
  else
    g_print ("|\n");
}

static void
put_refusals (const Sums *sums, const char *scene)
{
  const char *before = NULL, *separator = "Refused: ";
  for (guint i = 0; i < sums->kinds->len; i++)
  {
    const char *heading = g_array_index (sums->kinds, KindSums, i).heading;
    if (g_strcmp0 (heading, before) == 0)
      continue;
    before = heading;
    g_autofree char *key = g_strdup_printf ("%s|%s", scene, heading);
    const guint *counts = g_hash_table_lookup (sums->refused, key);
    if (counts == NULL)
      continue;
    g_print ("%s%s %u of %u", separator, heading, counts[1], counts[0]);
    separator = "; ";
  }
  g_print (".\n");
}

static void
put_quantities (const Sums *sums)
{
  g_autoptr (GPtrArray) keys = g_ptr_array_new ();
  GHashTableIter iter;
  gpointer each;
  g_hash_table_iter_init (&iter, sums->numbers);
  while (g_hash_table_iter_next (&iter, &each, NULL))
    g_ptr_array_add (keys, each);
  g_ptr_array_sort (keys, by_text);
  g_autofree char *scene = g_strdup ("");
  for (guint i = 0; i < keys->len; i++)
  {
    const char *key = keys->pdata[i];
    g_auto (GStrv) parts = g_strsplit (key, "|", 2);
    if (!g_str_equal (scene, parts[0]))
    {
      g_free (scene);
      scene = g_strdup (parts[0]);
      g_print ("\n### %s\n\n", scene);
      put_refusals (sums, scene);
      g_print ("\n| quantity | condition | n | RMS | worst | in U | U/RMS |\n"
               "|---|---|--:|--:|--:|--:|--:|\n");
    }
    put_numbers (key, g_hash_table_lookup (sums->numbers, key));
  }
}

static int
by_length (gconstpointer a, gconstpointer b)
{
  const Lip *one = a, *other = b;
  return (one->lip_px > other->lip_px) - (one->lip_px < other->lip_px);
}

static void
put_lips (const Sums *sums)
{
  double ratios = 0.0;
  g_array_sort (sums->lips, by_length);
  g_print ("| seed | lips, px | bound, deg | error, deg | U, deg |\n|--:|--:|--:|--:|--:|\n");
  for (guint i = 0; i < sums->lips->len; i++)
  {
    const Lip *lip = &g_array_index (sums->lips, Lip, i);
    ratios += pow (lip->error / lip->bound_deg, 2.0) / sums->lips->len;
    g_print ("| %" G_GUINT64_FORMAT " | %u | %.5f | %.5f | %.5f |\n", lip->seed, lip->lip_px,
             lip->bound_deg, lip->error, lip->U);
  }
  if (sums->lips->len > 0)
    g_print ("\nThe errors' RMS is %.1f times the bound.\n", sqrt (ratios));
}

static void
put_page (const Sums *sums)
{
  g_print (
    "# How accurate it is\n\n"
    "Made by `tests/trial/accuracy.sh` from rendered pictures whose truth is known; the same "
    "seeds\n"
    "give the same page. What is rendered and how it is spoilt: `tests/trial/hard_kinds.def`, each "
    "kind\n"
    "at six strengths from harmless to hopeless. What it can't say: how real steel and real lamps\n"
    "differ from rendered ones.\n\n"
    "Angles are in degrees, lengths in px. *In U*: the share of errors that the stated U covers.\n"
    "*U/RMS*: the median U without the budget's alignment lines, over the errors' RMS.\n\n"
    "## Wrong with confidence, by kind\n\n"
    "*Wrong*: a number more than 1.5 U off, or a verdict that truth contradicts, and nothing that\n"
    "doubts it. *Needless*: refused or doubted where the picture had nothing wrong yet. Of a "
    "false\n"
    "card, scale or view only the verdict counts, and its numbers are not compared.\n\n");
  put_misses (sums);
  put_kinds (sums);
  g_print ("\n## By quantity and condition\n");
  put_quantities (sums);
  g_print (
    "\n## Beside what is possible\n\n"
    "No method can find the point angle with a standard deviation below the Cramér–Rao bound,\n"
    "√2 · √(24 √π s) · σ / (C N^1.5) for two lips of N px, blurred by a Gaussian of s px (pixels "
    "of\n"
    "1/12 px² added to s²), in white noise σ over the contrast C (information of independent "
    "pixels:\n"
    "S. M. Kay, *Fundamentals of Statistical Signal Processing: Estimation Theory*, 1993, chapter "
    "3).\n"
    "It counts noise alone. What the program adds are samples of 8 bits, lips that are not quite\n"
    "straight, and parts of a lip left out, at its corner and at the chisel edge.\n\n");
  put_lips (sums);
}

/* As it is, whatever the locale. */
static void
print_bytes (const char *text)
{
  fputs (text, stdout);
}

int
report_main (int argc, char **argv)
{
  Sums sums = { .kinds = g_array_new (FALSE, FALSE, sizeof (KindSums)),
                .lips = g_array_new (FALSE, FALSE, sizeof (Lip)) };
  sums.numbers =
    g_hash_table_new_full (g_str_hash, g_str_equal, g_free, (GDestroyNotify)g_array_unref);
  sums.refused = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, g_free);
  list_kinds (&sums);
  g_set_print_handler (print_bytes);
  int status = argc < 2 ? 64 : 0;
  for (int i = 1; i < argc && status == 0; i++)
    if (!read_file (&sums, argv[i]))
      status = 66;
  if (status == 0)
    put_page (&sums);
  else
    g_printerr ("trial report: give files that `trial hard --numbers` wrote\n");
  g_array_unref (sums.kinds);
  g_array_unref (sums.lips);
  g_hash_table_unref (sums.numbers);
  g_hash_table_unref (sums.refused);
  return status;
}
