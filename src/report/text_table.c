#include "report/text_table.h"

#include <math.h>

#include "base/language.h"
#include "base/told_text.h"
#include "report/words.h"

#define WRAP 79

/* Rows that stay although there is no room. */
#define LEAST_ROWS 2

enum
{
  COLUMN_LABEL,
  COLUMN_VALUE,
  COLUMN_UNCERTAINTY,
  COLUMN_UNIT,
  COLUMN_LIMITS,
  COLUMN_INSIDE,
  COLUMN_VERDICT,
  N_COLUMNS
};

typedef char *Row[N_COLUMNS];

/* ---- Lines ---------------------------------------------------------------------------- */

static void
append_spaces (GString *text, glong n)
{
  for (glong i = 0; i < n; i++)
    g_string_append_c (text, ' ');
}

void
wsi_text_wrap (GString *text, const char *first, const char *words, glong indent)
{
  g_auto (GStrv) parts = g_strsplit (words, " ", -1);
  glong column = g_utf8_strlen (first, -1);
  g_string_append (text, first);
  for (gsize i = 0; parts[i] != NULL; i++)
  {
    glong length = g_utf8_strlen (parts[i], -1);
    if (i > 0 && column + 1 + length > WRAP)
    {
      g_string_append_c (text, '\n');
      append_spaces (text, indent);
      column = indent;
    }
    else if (i > 0)
    {
      g_string_append_c (text, ' ');
      column++;
    }
    g_string_append (text, parts[i]);
    column += length;
  }
  g_string_append_c (text, '\n');
}

/* ---- Rows ----------------------------------------------------------------------------- */

static void
row_clear (gpointer data)
{
  char **row = data;
  for (int i = 0; i < N_COLUMNS; i++)
    g_free (row[i]);
}

/* The number of the footnote for a built-in limit's source. */
static guint
footnote (GPtrArray *sources, const char *source)
{
  guint index;
  if (!g_ptr_array_find_with_equal_func (sources, source, g_str_equal, &index))
  {
    index = sources->len;
    g_ptr_array_add (sources, (gpointer)source);
  }
  return index + 1;
}

/* `sources` NULL: a star for built-in limits, whatever their source. */
static char *
limits_cell (const WsQuantity *quantity, GPtrArray *sources)
{
  g_autofree char *limits = wsi_words_limits (quantity);
  if (*limits == '\0' && quantity->limit_source != NULL)
    return g_strdup (_ ("on the card"));
  if (!wsi_words_is_built_in (quantity))
    return g_steal_pointer (&limits);
  return sources != NULL
           ? g_strdup_printf ("%s [%u]", limits, footnote (sources, quantity->limit_source))
           : g_strdup_printf ("%s *", limits);
}

/* In inches, below the row in mm. */
static void
append_inches (GArray *rows, const WsQuantity *quantity)
{
  const WsQuantity in = wsi_words_shown_in (quantity, WS_UNITS_IN);
  char *value = wsi_words_value (&in), *uncertainty = wsi_words_uncertainty (&in);
  Row row = {
    [COLUMN_LABEL] = g_strdup (""),
    [COLUMN_VALUE] = value != NULL ? value : g_strdup (""),
    [COLUMN_UNCERTAINTY] = uncertainty != NULL ? uncertainty : g_strdup (""),
    [COLUMN_UNIT] = g_strdup (wsi_words_unit (&in)),
    [COLUMN_LIMITS] = wsi_words_limits (&in),
    [COLUMN_INSIDE] = g_strdup (""),
    [COLUMN_VERDICT] = g_strdup (""),
  };
  g_array_append_val (rows, row);
}

static void
append_row (GArray *rows, const WsQuantity *shown, GPtrArray *sources)
{
  const WsQuantity mm = wsi_words_shown_in (shown, WS_UNITS_MM);
  const WsQuantity *quantity = wsi_words_in_both (shown) ? &mm : shown;
  const char *verdict = ws_verdict_name (quantity->verdict);
  char *value = wsi_words_value (quantity);
  char *uncertainty = wsi_words_uncertainty (quantity);
  Row row = {
    [COLUMN_LABEL] = wsi_words_label (quantity),
    [COLUMN_VALUE] = value != NULL ? value : g_strdup (_ ("unknown")),
    [COLUMN_UNCERTAINTY] = uncertainty != NULL ? uncertainty : g_strdup (""),
    [COLUMN_UNIT] = g_strdup (wsi_words_unit (quantity)),
    [COLUMN_LIMITS] = limits_cell (quantity, sources),
    [COLUMN_INSIDE] = sources != NULL ? wsi_words_conformance (quantity) : g_strdup (""),
    [COLUMN_VERDICT] = g_strdup (quantity->given   ? _ ("given")
                                 : verdict != NULL ? _ (verdict)
                                                   : "-"),
  };
  g_array_append_val (rows, row);
  if (wsi_words_in_both (shown) && shown->known)
    append_inches (rows, shown);
}

static GArray *
new_rows (gboolean with_inside)
{
  GArray *rows = g_array_new (FALSE, FALSE, sizeof (Row));
  g_array_set_clear_func (rows, row_clear);
  Row head = { g_strdup (_ ("Quantity")), g_strdup (_ ("Value")),
               g_strdup ("± U"),          g_strdup (_ ("Unit")),
               g_strdup (_ ("Limits")),   g_strdup (with_inside ? _ ("Inside") : ""),
               g_strdup (_ ("Verdict")) };
  g_array_append_val (rows, head);
  return rows;
}

static void
measure_columns (const GArray *rows, glong widths[N_COLUMNS])
{
  for (guint i = 0; i < rows->len; i++)
    for (int column = 0; column < N_COLUMNS; column++)
    {
      glong width = g_utf8_strlen (g_array_index (rows, Row, i)[column], -1);
      widths[column] = MAX (widths[column], width);
    }
}

/* Columns without anything in them take no room. */
static void
append_cells (GString *text, const Row row, const glong widths[N_COLUMNS])
{
  for (int column = 0; column < N_COLUMNS; column++)
  {
    gboolean right =
      column == COLUMN_VALUE || column == COLUMN_UNCERTAINTY || column == COLUMN_INSIDE;
    glong pad = widths[column] - g_utf8_strlen (row[column], -1);
    if (widths[column] == 0)
      continue;
    append_spaces (text, (column > 0 ? 2 : 0) + (right ? pad : 0));
    g_string_append (text, row[column]);
    if (!right && column + 1 < N_COLUMNS)
      append_spaces (text, pad);
  }
  g_string_append_c (text, '\n');
}

static void
append_rows (GString *text, const GArray *rows)
{
  glong widths[N_COLUMNS] = { 0 };
  measure_columns (rows, widths);
  for (guint i = 0; i < rows->len; i++)
    append_cells (text, g_array_index (rows, Row, i), widths);
}

/* ---- The whole table ------------------------------------------------------------------ */

static void
append_sources (GString *text, const GPtrArray *sources, const WsReport *report)
{
  g_string_append (
    text, _ ("U is the expanded uncertainty, k = 2. Inside is the probability that the true\n"
             "value lies inside the limits (JCGM 106).\n"));
  if (sources->len == 0)
    return;
  g_autofree char *origin =
    g_strdup_printf (_ ("Limits with a number are not %s. They are built in for a %s:"),
                     report->card->id != NULL ? _ ("on the tool card") : _ ("from a tool card"),
                     _ (ws_tool_kind_name (report->card->kind)));
  wsi_text_wrap (text, "", origin, 0);
  for (guint i = 0; i < sources->len; i++)
  {
    g_autofree char *source = wsi_told_text (g_ptr_array_index (sources, i));
    g_string_append_printf (text, "  [%u] %s\n", i + 1, source);
  }
}

/* What is smaller may be there although the table says 0. */
static void
append_smallest_seen (GString *text, const GPtrArray *quantities)
{
  GString *words = g_string_new (NULL);
  for (guint i = 0; i < quantities->len; i++)
  {
    const WsQuantity *quantity = g_ptr_array_index (quantities, i);
    if (!isfinite (quantity->smallest_seen))
      continue;
    g_autofree char *label = wsi_words_label (quantity);
    g_autofree char *least = wsi_words_smallest_seen (quantity);
    g_string_append_printf (words, "%s%s %s", words->len > 0 ? ", " : "", label, least);
  }
  if (words->len > 0)
  {
    g_string_append (words, _ (". What is smaller doesn't show in this picture."));
    wsi_text_wrap (text, _ ("Smallest seen: "), words->str, 2);
  }
  g_string_free (words, TRUE);
}

void
wsi_text_table (GString *text, const WsReport *report)
{
  g_autoptr (GPtrArray) sources = g_ptr_array_new ();
  g_autoptr (GArray) rows = new_rows (TRUE);
  const GPtrArray *quantities = report->result->quantities;
  for (guint i = 0; i < quantities->len; i++)
    append_row (rows, g_ptr_array_index (quantities, i), sources);
  g_string_append_c (text, '\n');
  append_rows (text, rows);
  append_smallest_seen (text, quantities);
  append_sources (text, sources, report);
}

/* ---- What fits ------------------------------------------------------------------------ */

typedef enum
{
  RANK_AMISS,    /* rejected, undecided */
  RANK_ACCEPTED, /* by a limit */
  RANK_NO_LIMIT,
  RANK_UNKNOWN, /* without a limit either */
  N_RANKS
} Rank;

static Rank
rank_of (const WsQuantity *quantity)
{
  switch (quantity->verdict)
  {
  case WS_VERDICT_REJECT:
  case WS_VERDICT_UNDECIDED:
    return RANK_AMISS;
  case WS_VERDICT_ACCEPT:
    return RANK_ACCEPTED;
  default:
    /* What the scale rests on is worth a look. */
    return quantity->given ? RANK_ACCEPTED : quantity->known ? RANK_NO_LIMIT : RANK_UNKNOWN;
  }
}

/* How many of each rank are shown in `n_rows` rows; `left` becomes those that aren't. */
static void
share_out (guint n_rows, guint shown[N_RANKS], guint left[N_RANKS])
{
  for (int rank = 0; rank < N_RANKS; rank++)
  {
    shown[rank] = MIN (left[rank], n_rows);
    left[rank] -= shown[rank];
    n_rows -= shown[rank];
  }
}

/* Returns whether one of them has a built-in limit. */
static gboolean
append_shown (GArray *rows, const GPtrArray *quantities, guint shown[N_RANKS])
{
  gboolean built_in = FALSE;
  for (guint i = 0; i < quantities->len; i++)
  {
    const WsQuantity *quantity = g_ptr_array_index (quantities, i);
    const Rank rank = rank_of (quantity);
    if (shown[rank] == 0)
      continue;
    shown[rank]--;
    append_row (rows, quantity, NULL);
    built_in = built_in || wsi_words_is_built_in (quantity);
  }
  return built_in;
}

/* "* built in. More with --details: 9 accepted, 7 without limit."; at most a line. */
static void
append_notes (GString *text, gboolean built_in, const guint left[N_RANKS])
{
  const guint counts[] = { left[RANK_AMISS], left[RANK_ACCEPTED],
                           left[RANK_NO_LIMIT] + left[RANK_UNKNOWN] };
  static const char *const words[] = { N_ ("not accepted"), N_ ("accepted"), N_ ("without limit") };
  const char *before = ": ";
  g_string_append_printf (text, _ ("%sMore with --details"), built_in ? _ ("* built in. ") : "");
  for (gsize i = 0; i < G_N_ELEMENTS (counts); i++)
  {
    if (counts[i] == 0)
      continue;
    g_string_append_printf (text, "%s%u %s", before, counts[i], _ (words[i]));
    before = ", ";
  }
  g_string_append (text, ".\n");
}

/* The head and a line of notes. */
#define AROUND 2

static void
count_ranks (const GPtrArray *quantities, guint counts[N_RANKS])
{
  for (guint i = 0; i < quantities->len; i++)
    counts[rank_of (g_ptr_array_index (quantities, i))]++;
}

guint
wsi_text_table_least (const WsResult *result)
{
  guint counts[N_RANKS] = { 0 };
  count_ranks (result->quantities, counts);
  return result->quantities->len > 0 ? AROUND + MIN (counts[RANK_AMISS], LEAST_ROWS) : 0;
}

void
wsi_text_table_fitting (GString *text, const WsReport *report, guint n_lines)
{
  const GPtrArray *quantities = report->result->quantities;
  guint left[N_RANKS] = { 0 }, shown[N_RANKS];
  count_ranks (quantities, left);

  guint n_rows = n_lines > AROUND ? n_lines - AROUND : 0;
  /* A line between is worth less than a row of what isn't accepted. */
  const gboolean apart = n_rows > left[RANK_AMISS];
  n_rows = MAX (n_rows - (apart ? 1 : 0), MIN (left[RANK_AMISS], LEAST_ROWS));
  share_out (n_rows, shown, left);
  g_autoptr (GArray) rows = new_rows (FALSE);
  const gboolean built_in = append_shown (rows, quantities, shown);
  if (apart)
    g_string_append_c (text, '\n');
  if (rows->len > 1)
    append_rows (text, rows);
  append_notes (text, built_in, left);
}
