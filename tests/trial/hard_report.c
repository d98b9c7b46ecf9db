/* The page of accuracy, from the campaign's numbers. */
#include <math.h>
#include <stddef.h>
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

/* Half angles of lips a and b, and both together. */
#define N_ANGLES 3
static const char *const angles[N_ANGLES] = { "half_angle_a_deg", "half_angle_b_deg",
                                              "point_angle_deg" };

/* A drill whose lips' bound is known. */
typedef struct
{
  guint64 seed;
  guint lip_px;
  double bound_deg; /* of the point angle */
  double error[N_ANGLES], U[N_ANGLES];
} Lips;

typedef struct
{
  GArray *kinds;       /* of KindSums */
  GHashTable *numbers; /* "scene|quantity|heading" to a GArray of Number */
  GHashTable *refused; /* "scene|heading" to a pair of counts, all and refused */
  GArray *lips;        /* of Lips */
  guint64 first, last; /* seeds of the kinds other than plain */
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
  if (!g_str_equal (kind->kind->name, "plain"))
  {
    sums->first = MIN (sums->first, picture->seed);
    sums->last = MAX (sums->last, picture->seed);
  }
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
note_lips (Sums *sums, const Picture *picture, const char *quantity, const Number *number)
{
  guint angle = 0, at = 0;
  while (angle < N_ANGLES && !g_str_equal (quantity, angles[angle]))
    angle++;
  if (angle == N_ANGLES || !g_str_equal (picture->kind->kind->name, "plain") ||
      !isfinite (picture->bound_deg))
    return;
  while (at < sums->lips->len && g_array_index (sums->lips, Lips, at).seed != picture->seed)
    at++;
  const Lips new_lips = {
    picture->seed, picture->lip_px, picture->bound_deg, { NAN, NAN, NAN }, { NAN, NAN, NAN }
  };
  if (at == sums->lips->len)
    g_array_append_val (sums->lips, new_lips);
  Lips *lips = &g_array_index (sums->lips, Lips, at);
  lips->error[angle] = fabs (number->error);
  lips->U[angle] = number->U;
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
  note_lips (sums, picture, cells[0], &number);
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

double
hard_most_possible (guint k, guint n)
{
  double low = (double)k / MAX (n, 1), high = 1.0;
  for (int step = 0; step < 60 && n > 0; step++)
  {
    const double p = 0.5 * (low + high);
    double term = exp (n * log1p (-p)), sum = term;
    for (guint i = 1; i <= k; i++)
    {
      term *= (n - i + 1.0) / i * p / (1.0 - p);
      sum += term;
    }
    *(sum > 0.05 ? &low : &high) = p;
  }
  return n > 0 ? high : 1.0;
}

static void
put_share (guint k, guint n)
{
  g_print ("%u of %u (%.2f %%, below %.2f %% with 95 %% confidence)", k, n, 100.0 * k / MAX (n, 1),
           100.0 * hard_most_possible (k, n));
}

/* Misses first. */
static void
put_misses (const Sums *sums)
{
  KindSums all = { 0 };
  guint wrong = 0;
  g_autoptr (GString) kinds = g_string_new (NULL);
  for (guint i = 0; i < sums->kinds->len; i++)
  {
    const KindSums *k = &g_array_index (sums->kinds, KindSums, i);
    const guint of_kind = k->of[HARD_WRONG] + k->of[HARD_FAILED];
    all.n += k->n;
    all.harmless += k->harmless;
    all.needless += k->needless;
    all.numbers += k->numbers;
    all.covered += k->covered;
    wrong += of_kind;
    if (of_kind > 0)
      g_string_append_printf (kinds, "%s%s %u of %u", kinds->len > 0 ? ", " : ": ", k->kind->name,
                              of_kind, k->n);
  }
  g_print ("- Wrong with confidence: ");
  put_share (wrong, all.n);
  g_print ("%s.\n- Needlessly refused or doubted: ", kinds->str);
  put_share (all.needless, all.harmless);
  g_print (".\n- Numbers outside U, of pictures spoilt and not: ");
  put_share (all.numbers - all.covered, all.numbers);
  g_print (".\n\nSeeds %" G_GUINT64_FORMAT " to %" G_GUINT64_FORMAT
           ", and more of those that nothing spoils.\n\n",
           MIN (sums->first, sums->last), sums->last);
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

/* Of what follows `at` doubles in each number. */
static double
median_of (const GArray *numbers, gsize at)
{
  const guint n = numbers->len;
  g_autofree double *values = g_new (double, n);
  for (guint i = 0; i < n; i++)
    values[i] = (&g_array_index (numbers, Number, i).error)[at];
  qsort (values, n, sizeof *values, by_value);
  return 0.5 * (values[(n - 1) / 2] + values[n / 2]);
}

/* U over RMS says nothing of a handful, nor where most are exactly 0: none there, and none told. */
#define LEAST_RATIO 10

static void
put_numbers (const char *key, const GArray *numbers)
{
  g_auto (GStrv) parts = g_strsplit (key, "|", 3);
  const guint n = numbers->len;
  double squares = 0.0, worst = 0.0, worst_ratio = 0.0;
  guint covered = 0, exact = 0;
  for (guint i = 0; i < n; i++)
  {
    const Number *number = &g_array_index (numbers, Number, i);
    const double error = fabs (number->error);
    squares += error * error / n;
    worst = MAX (worst, error);
    worst_ratio = MAX (worst_ratio, error / MAX (number->U, 1e-12));
    covered += error <= number->U;
    exact += error < 1e-9;
  }
  const gboolean is_length = g_str_has_suffix (parts[1], "_mm");
  const gboolean is_angle = g_str_has_suffix (parts[1], "_deg");
  const int digits = is_length ? 3 : 4;
  g_autofree char *name = g_strdup (parts[1]);
  if (is_length || is_angle)
    *strrchr (name, '_') = '\0';
  g_print ("| %s | %s | %s | %u | %.*f | %.*f | %.*f | %u | %.1f | ", name,
           is_length  ? "px"
           : is_angle ? "°"
                      : "1",
           parts[2], n, digits, sqrt (squares), digits, worst, digits,
           median_of (numbers, offsetof (Number, U) / sizeof (double)), n - covered, worst_ratio);
  if (n >= LEAST_RATIO && 2 * exact <= n)
    g_print ("%.1f |\n",
             median_of (numbers, offsetof (Number, U_rest) / sizeof (double)) / sqrt (squares));
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
      g_print (
        "\n| quantity | unit | condition | n | RMS | worst | U | outside U | worst e/U | U/RMS |\n"
        "|---|---|---|--:|--:|--:|--:|--:|--:|--:|\n");
    }
    put_numbers (key, g_hash_table_lookup (sums->numbers, key));
  }
}

static int
by_length (gconstpointer a, gconstpointer b)
{
  const Lips *one = a, *other = b;
  return (one->lip_px > other->lip_px) - (one->lip_px < other->lip_px);
}

/* A lip's own bound; the point angle has that of two. */
static double
bound_of (const Lips *lips, guint angle)
{
  return angle < N_ANGLES - 1 ? lips->bound_deg / sqrt (2.0) : lips->bound_deg;
}

static void
put_angle (const Lips *lips, guint angle)
{
  if (isfinite (lips->error[angle]))
    g_print (" %.5f | %.5f |", lips->error[angle], lips->U[angle]);
  else
    g_print (" | |");
}

static void
put_lips (const Sums *sums)
{
  double squares[N_ANGLES] = { 0.0 };
  guint n[N_ANGLES] = { 0 };
  g_array_sort (sums->lips, by_length);
  g_print ("| seed | a lip, px | a lip's bound | error a | U | error b | U | point angle's bound | "
           "error | U |\n|--:|--:|--:|--:|--:|--:|--:|--:|--:|--:|\n");
  for (guint i = 0; i < sums->lips->len; i++)
  {
    const Lips *lips = &g_array_index (sums->lips, Lips, i);
    for (guint angle = 0; angle < N_ANGLES; angle++)
    {
      if (!isfinite (lips->error[angle]))
        continue;
      squares[angle] += pow (lips->error[angle] / bound_of (lips, angle), 2.0);
      n[angle]++;
    }
    g_print ("| %" G_GUINT64_FORMAT " | %u | %.5f |", lips->seed, lips->lip_px, bound_of (lips, 0));
    put_angle (lips, 0);
    put_angle (lips, 1);
    g_print (" %.5f |", lips->bound_deg);
    put_angle (lips, 2);
    g_print ("\n");
  }
  if (n[0] > 0 && n[1] > 0 && n[2] > 0)
    g_print (
      "\nThe errors' RMS is %.1f times the bound for lip a, %.1f times for lip b, %.1f times "
      "for the point angle.\n",
      sqrt (squares[0] / n[0]), sqrt (squares[1] / n[1]), sqrt (squares[2] / n[2]));
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
    "*Wrong*: a number more than 1.5 U off, or a verdict that truth contradicts, and nothing that\n"
    "doubts it. *Needless*: refused or doubted where the picture had nothing wrong yet. Of a "
    "false\n"
    "card, scale or view only the verdict counts, and its numbers are not compared. *Below*: the\n"
    "greatest share that what was counted leaves possible (one-sided, by Clopper and Pearson, "
    "*Biometrika*\n"
    "26, 1934); none of n leaves 3 / n. Pictures of one scene have the tool in common, so they "
    "are\n"
    "not wholly independent.\n\n");
  put_misses (sums);
  g_print ("## By kind\n\n");
  put_kinds (sums);
  g_print ("\n## By quantity and condition\n\n"
           "Lengths are in the picture's px (the scale is exact here), so that small and large "
           "tools can be\n"
           "put together. *RMS*, *worst*: of the errors of all pictures that were measured, "
           "hopeless ones\n"
           "among them. *U*: the median of what was stated, k = 2; where a picture tells little, "
           "it says so\n"
           "by a large U. *Outside U*: how many errors exceed it. *Worst e/U*: the greatest error "
           "in parts of\n"
           "its U. *U/RMS*: the median U without the budget's alignment and lens lines, over the "
           "errors' RMS;\n"
           "left out for fewer than 10, and where most errors are exactly 0, as of chips and lands "
           "where none\n"
           "is and none is told: U is then how small a one would have been seen.\n");
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
    "It counts noise alone, on all of a lip from apex to corner. What the program adds are samples "
    "of "
    "8\n"
    "bits, lips that are not quite straight, parts of a lip left out, at its corner and at the "
    "chisel\n"
    "edge, and for each half angle the axis; [drills](methods/drill.md#the-whole-lip) says how "
    "much "
    "each\n"
    "takes. A lip's own bound is that without √2. Degrees; U with all lines, alignment among "
    "them,\n"
    "which is why it is far larger.\n\n");
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
                .lips = g_array_new (FALSE, FALSE, sizeof (Lips)),
                .first = G_MAXUINT64 };
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
