/*
 * The chain of rows, the head that names its end, and the seals on it.
 */
#include <string.h>

#include <whetsight/seal.h>

#include "archive/check.h"
#include "archive/schema.h"
#include "archive/statements.h"

static void tell (WsCheck *check, const WsChain *chain, const char *format, ...)
  G_GNUC_PRINTF (3, 4);

static void
tell (WsCheck *check, const WsChain *chain, const char *format, ...)
{
  va_list arguments;
  va_start (arguments, format);
  g_autofree char *what = g_strdup_vprintf (format, arguments);
  va_end (arguments);
  if (chain->bench != NULL)
    wsi_check_tell (check, "bench %s, %s", chain->bench, what);
  else
    wsi_check_tell (check, "%s", what);
}

static void
tell_inserted (WsCheck *check, const WsChain *chain, gsize from, gsize to)
{
  for (gsize i = from; i < to; i++)
  {
    WsLink *link = g_ptr_array_index (chain->links, i);
    if (!link->told)
      wsi_check_tell_row (check, link, "inserted: the row after it doesn't follow from it");
  }
}

static void
tell_removed (WsCheck *check, const WsChain *chain, WsLink *link, guint64 after)
{
  if (link->number > after + 2)
    tell (check, chain,
          "rows %" G_GUINT64_FORMAT " to %" G_GUINT64_FORMAT
          ": removed (before row %" G_GUINT64_FORMAT ", %s)",
          after + 1, link->number - 1, link->number, link->id);
  else if (link->number > after + 1)
    tell (check, chain, "row %" G_GUINT64_FORMAT ": removed (before row %" G_GUINT64_FORMAT ", %s)",
          after + 1, link->number, link->id);
  else
    wsi_check_tell_row (check, link,
                        "doesn't follow from the row before it: a row was removed or replaced");
}

static void
check_link (WsCheck *check, const WsChain *chain, WsLink *link, const WsLink *before)
{
  const WsLink *parent = g_hash_table_lookup (chain->by_hash, link->previous);
  const char *expected = before != NULL ? before->hash : "";
  if (g_str_equal (link->previous, expected))
  {
    if (link->number != (before != NULL ? before->number : 0) + 1)
      wsi_check_tell_row (check, link, "has another number than its place in the chain");
  }
  else if (*link->previous == '\0')
    tell_inserted (check, chain, 0, link->index);
  else if (parent == NULL)
    tell_removed (check, chain, link, before != NULL ? before->number : 0);
  else if (parent->index > link->index)
    wsi_check_tell_row (check, link, "out of order: belongs after row %" G_GUINT64_FORMAT " (%s)",
                        parent->number, parent->id);
  else
  {
    const guint wrong = (guint)check->result->wrong;
    tell_inserted (check, chain, parent->index + 1, link->index);
    if (wrong == check->result->wrong && before != NULL && !before->told)
      wsi_check_tell_row (check, link, "out of order: belongs after row %" G_GUINT64_FORMAT " (%s)",
                          parent->number, parent->id);
  }
}

/* When nothing is missing, each row's place in the chain is known.  FALSE when it isn't so. */
static gboolean
check_order (WsCheck *check, const WsChain *chain)
{
  g_autoptr (GHashTable) next = g_hash_table_new (g_str_hash, g_str_equal);
  g_autoptr (GPtrArray) found = g_ptr_array_new ();
  const char *end = "";
  for (guint i = 0; i < chain->links->len; i++)
  {
    WsLink *link = g_ptr_array_index (chain->links, i);
    if (!g_hash_table_insert (next, link->previous, link))
      return FALSE;
  }
  for (WsLink *link; found->len < chain->links->len && (link = g_hash_table_lookup (next, end));
       end = link->hash)
    g_ptr_array_add (found, link);
  if (found->len < chain->links->len)
    return FALSE;
  for (guint i = 0; i < found->len; i++)
  {
    WsLink *link = g_ptr_array_index (found, i);
    if (link->number != (guint64)i + 1)
      wsi_check_tell_row (check, link, "out of order: was written as number %u", i + 1);
  }
  return TRUE;
}

static void
check_head (WsCheck *check, const WsChain *chain, const WsHead *head)
{
  const WsLink *last =
    chain->links->len > 0 ? g_ptr_array_index (chain->links, chain->links->len - 1) : NULL;
  const WsLink *meant = g_hash_table_lookup (chain->by_hash, head->hash);
  if (g_str_equal (head->hash, last != NULL ? last->hash : "") && head->count == chain->links->len)
    return;
  if (meant != NULL && head->count < chain->links->len)
    tell_inserted (check, chain, meant->index + 1, chain->links->len);
  else if (head->count > chain->links->len)
    tell (check, chain, "rows removed: %" G_GUINT64_FORMAT " were written, %u are there",
          head->count, chain->links->len);
  else
    tell (check, chain, "the head doesn't name the last row: rows were replaced or moved");
}

/* Without it, rows could be cut off the end by writing down what is there anyway. */
static void
check_digest (WsCheck *check, const WsChain *chain, const WsHead *head)
{
  char digest[WS_SHA256_HEX_SIZE];
  wsi_head_digest (head, digest);
  if (check->archive->engine->version >= WS_VERSION_OF_DIGESTS &&
      !g_str_equal (digest, head->digest))
    tell (check, chain, "the head was edited: its digest is of another");
}

static gboolean
check_chain (WsCheck *check, const char *bench, GError **error)
{
  WsHead head;
  const WsChain *chain = wsi_check_chain_of (check, bench);
  if (!wsi_store_head (check->archive, bench, &head, error))
    return FALSE;
  const gboolean complete = check_order (check, chain);
  for (guint i = 0; !complete && i < chain->links->len; i++)
    check_link (check, chain, g_ptr_array_index (chain->links, i),
                i > 0 ? g_ptr_array_index (chain->links, i - 1) : NULL);
  check_head (check, chain, &head);
  check_digest (check, chain, &head);
  return TRUE;
}

static void
note_bench (const char *bench, guint64 count, const char *hash, gpointer data)
{
  (void)count;
  (void)hash;
  g_ptr_array_add (data, g_strdup (bench));
}

gboolean
wsi_check_chains (WsCheck *check, GError **error)
{
  g_autoptr (GPtrArray) benches = g_ptr_array_new_with_free_func (g_free);
  if (check->archive->engine->bench == NULL)
    return check_chain (check, NULL, error);
  if (!wsi_store_each_bench (check->archive, note_bench, benches, error))
    return FALSE;
  for (guint i = 0; i < benches->len; i++)
    if (!check_chain (check, g_ptr_array_index (benches, i), error))
      return FALSE;
  return TRUE;
}

/* ---- Seals -------------------------------------------------------------------------- */

static void
check_sealed_row (WsCheck *check, const WsChain *chain, const char *time, guint64 count,
                  const char *hash)
{
  const guint there = chain->links->len;
  const WsLink *link = NULL;
  const char *of = chain->bench != NULL ? " of bench " : "";
  const char *bench = chain->bench != NULL ? chain->bench : "";
  if (count == 0)
    return;
  if (count <= there)
    link = g_ptr_array_index (chain->links, count - 1);
  if (link == NULL)
    wsi_check_tell (check,
                    "seal of %s: of %" G_GUINT64_FORMAT " rows%s%s %u are there; rows were cut "
                    "off, or the archive was put back to an older state",
                    time, count, of, bench, there);
  else if (!g_str_equal (link->hash, hash))
    wsi_check_tell (check,
                    "seal of %s: row %" G_GUINT64_FORMAT
                    "%s%s is not the one that was sealed; rows were changed since",
                    time, count, of, bench);
}

/* Each line names a bench behind its number of rows and the last one's hash. */
static guint64
check_sealed_heads (WsCheck *check, const char *time, const char *heads)
{
  guint64 sum = 0;
  g_auto (GStrv) lines = g_strsplit (heads, "\n", -1);
  for (char **line = lines; *line != NULL && **line != '\0'; line++)
  {
    g_auto (GStrv) parts = g_strsplit (*line, " ", 3);
    if (g_strv_length (parts) < 3)
      break;
    const guint64 count = g_ascii_strtoull (parts[0], NULL, 10);
    check_sealed_row (check, wsi_check_chain_of (check, parts[2]), time, count, parts[1]);
    sum += count;
  }
  return sum;
}

/* `heads`: what was sealed of many benches, or NULL. */
static void
check_seal (WsCheck *check, const char *time, guint64 count, const char *hash, const char *heads)
{
  char digest[WS_SHA256_HEX_SIZE];
  if (check->archive->engine->bench == NULL)
  {
    check_sealed_row (check, wsi_check_chain_of (check, NULL), time, count, hash);
    return;
  }
  wsi_heads_digest (heads != NULL ? heads : "", digest);
  if (count == 0)
    return;
  if (heads == NULL)
    wsi_check_tell (check,
                    "seal of %s: the archive doesn't know it; it is another archive, or was put "
                    "back to an older state",
                    time);
  else if (!g_str_equal (digest, hash))
    wsi_check_tell (check, "seal of %s: edited: its hash is of other heads", time);
  else if (check_sealed_heads (check, time, heads) != count)
    wsi_check_tell (check, "seal of %s: edited: its heads have another number of rows", time);
}

typedef struct
{
  WsCheck *check;
  guint64 n;
  char hash[WS_SHA256_HEX_SIZE]; /* of all so far */
  GPtrArray *lines;              /* of char *, what each of them says */
  GHashTable *heads;             /* such a line -> what it says of the benches */
} Seals;

static char *
seal_line (const char *time, guint64 count, const char *hash)
{
  return g_strdup_printf ("%s %" G_GUINT64_FORMAT " %s", time, count, hash);
}

static void
visit_seal (const WsStoredSeal *seal, gpointer data)
{
  Seals *seals = data;
  if (seal->number != ++seals->n)
  {
    wsi_check_tell (seals->check, "seal %" G_GUINT64_FORMAT ": removed", seals->n);
    seals->n = seal->number;
  }
  wsi_head_add_seal (seals->hash, seal->time, seal->count, seal->hash);
  char *line = seal_line (seal->time, seal->count, seal->hash);
  g_ptr_array_add (seals->lines, line);
  if (seal->heads != NULL)
    g_hash_table_insert (seals->heads, line, g_strdup (seal->heads));
  check_seal (seals->check, seal->time, seal->count, seal->hash, seal->heads);
}

static gboolean
check_stored_seals (Seals *seals, GError **error)
{
  guint64 n;
  char hash[WS_SHA256_HEX_SIZE];
  WsCheck *check = seals->check;
  if (!wsi_store_seals (check->archive, &n, hash, error) ||
      !wsi_store_each_seal (check->archive, visit_seal, seals, error))
    return FALSE;
  if (seals->n != n)
    wsi_check_tell (check, "seals removed or inserted: %" G_GUINT64_FORMAT " were made", n);
  else if (check->archive->engine->version >= WS_VERSION_OF_DIGESTS &&
           !g_str_equal (seals->hash, hash))
    wsi_check_tell (check, "a seal was edited: their hash is of others");
  return TRUE;
}

/* One that was made stands in the archive, too: where it doesn't, the folder is older than it, even
 * if no inspection came between. */
static void
check_place (const Seals *seals, const WsSeal *given)
{
  g_autofree char *line = seal_line (given->time, given->count, given->hash);
  if (given->seals > seals->lines->len)
    wsi_check_tell (seals->check,
                    "seal of %s: it was number %" G_GUINT64_FORMAT
                    ", the archive knows %u; it was put back to an older state",
                    given->time, given->seals, seals->lines->len);
  else if (given->seals > 0 &&
           !g_str_equal (line, g_ptr_array_index (seals->lines, given->seals - 1)))
    wsi_check_tell (seals->check,
                    "seal of %s: the archive has another as number %" G_GUINT64_FORMAT
                    "; it is another archive, or went on from an older state",
                    given->time, given->seals);
}

gboolean
wsi_check_seals (WsCheck *check, const char *seal, GError **error)
{
  g_autoptr (GPtrArray) lines = g_ptr_array_new_with_free_func (g_free);
  g_autoptr (GPtrArray) given = NULL;
  g_autoptr (GHashTable) heads = g_hash_table_new_full (g_str_hash, g_str_equal, NULL, g_free);
  Seals seals = { check, 0, "", lines, heads };
  if (!check_stored_seals (&seals, error))
    return FALSE;
  if (seal != NULL && (given = ws_seals_read (seal, error)) == NULL)
    return FALSE;
  for (guint i = 0; given != NULL && i < given->len; i++)
  {
    const WsSeal *one = g_ptr_array_index (given, i);
    g_autofree char *line = seal_line (one->time, one->count, one->hash);
    check_seal (check, one->time, one->count, one->hash, g_hash_table_lookup (heads, line));
    check_place (&seals, one);
  }
  return TRUE;
}
