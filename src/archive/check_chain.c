/*
 * The chain of rows, the head that names its end, and the seals on it.
 */
#include <string.h>

#include <whetsight/seal.h>

#include "archive/check.h"
#include "archive/schema.h"
#include "archive/statements.h"

static void
tell_inserted (WsCheck *check, gsize from, gsize to)
{
  for (gsize i = from; i < to; i++)
  {
    WsLink *link = g_ptr_array_index (check->links, i);
    if (!link->told)
      wsi_check_tell_row (check, link, "inserted: the row after it doesn't follow from it");
  }
}

static void
tell_removed (WsCheck *check, WsLink *link, guint64 after)
{
  if (link->number > after + 2)
    wsi_check_tell (check,
                    "rows %" G_GUINT64_FORMAT " to %" G_GUINT64_FORMAT
                    ": removed (before row %" G_GUINT64_FORMAT ", %s)",
                    after + 1, link->number - 1, link->number, link->id);
  else if (link->number > after + 1)
    wsi_check_tell (check,
                    "row %" G_GUINT64_FORMAT ": removed (before row %" G_GUINT64_FORMAT ", %s)",
                    after + 1, link->number, link->id);
  else
    wsi_check_tell_row (check, link,
                        "doesn't follow from the row before it: a row was removed or replaced");
}

static void
check_link (WsCheck *check, WsLink *link, const WsLink *before)
{
  const WsLink *parent = g_hash_table_lookup (check->by_hash, link->previous);
  const char *expected = before != NULL ? before->hash : "";
  if (g_str_equal (link->previous, expected))
  {
    if (link->number != (before != NULL ? before->number : 0) + 1)
      wsi_check_tell_row (check, link, "has another number than its place in the chain");
  }
  else if (*link->previous == '\0')
    tell_inserted (check, 0, link->index);
  else if (parent == NULL)
    tell_removed (check, link, before != NULL ? before->number : 0);
  else if (parent->index > link->index)
    wsi_check_tell_row (check, link, "out of order: belongs after row %" G_GUINT64_FORMAT " (%s)",
                        parent->number, parent->id);
  else
  {
    const guint wrong = (guint)check->result->wrong;
    tell_inserted (check, parent->index + 1, link->index);
    if (wrong == check->result->wrong && before != NULL && !before->told)
      wsi_check_tell_row (check, link, "out of order: belongs after row %" G_GUINT64_FORMAT " (%s)",
                          parent->number, parent->id);
  }
}

/* When nothing is missing, each row's place in the chain is known.  FALSE when it isn't so. */
static gboolean
check_order (WsCheck *check)
{
  g_autoptr (GHashTable) next = g_hash_table_new (g_str_hash, g_str_equal);
  g_autoptr (GPtrArray) chain = g_ptr_array_new ();
  const char *end = "";
  for (guint i = 0; i < check->links->len; i++)
  {
    WsLink *link = g_ptr_array_index (check->links, i);
    if (!g_hash_table_insert (next, link->previous, link))
      return FALSE;
  }
  for (WsLink *link; chain->len < check->links->len && (link = g_hash_table_lookup (next, end));
       end = link->hash)
    g_ptr_array_add (chain, link);
  if (chain->len < check->links->len)
    return FALSE;
  for (guint i = 0; i < chain->len; i++)
  {
    WsLink *link = g_ptr_array_index (chain, i);
    if (link->number != (guint64)i + 1)
      wsi_check_tell_row (check, link, "out of order: was written as number %u", i + 1);
  }
  return TRUE;
}

static void
check_head (WsCheck *check, const WsHead *head)
{
  WsLink *last =
    check->links->len > 0 ? g_ptr_array_index (check->links, check->links->len - 1) : NULL;
  const WsLink *meant = g_hash_table_lookup (check->by_hash, head->hash);
  if (g_str_equal (head->hash, last != NULL ? last->hash : "") && head->count == check->links->len)
    return;
  if (meant != NULL && head->count < check->links->len)
    tell_inserted (check, meant->index + 1, check->links->len);
  else if (head->count > check->links->len)
    wsi_check_tell (check, "rows removed: %" G_GUINT64_FORMAT " were written, %u are there",
                    head->count, check->links->len);
  else
    wsi_check_tell (check, "the head doesn't name the last row: rows were replaced or moved");
}

/* Without it, rows could be cut off the end by writing down what is there anyway. */
static void
check_digest (WsCheck *check, const WsHead *head)
{
  char digest[WS_SHA256_HEX_SIZE];
  wsi_head_digest (head, digest);
  if (check->archive->engine->version >= WS_VERSION_OF_DIGESTS &&
      !g_str_equal (digest, head->digest))
    wsi_check_tell (check, "the head was edited: its digest is of another");
}

void
wsi_check_chain (WsCheck *check, const WsHead *head)
{
  const gboolean complete = check_order (check);
  for (guint i = 0; !complete && i < check->links->len; i++)
    check_link (check, g_ptr_array_index (check->links, i),
                i > 0 ? g_ptr_array_index (check->links, i - 1) : NULL);
  check_head (check, head);
  check_digest (check, head);
}

/* ---- Seals -------------------------------------------------------------------------- */

static void
check_seal (WsCheck *check, const char *time, guint64 count, const char *hash)
{
  const guint there = check->links->len;
  const WsLink *link = NULL;
  if (count == 0)
    return;
  if (count <= there)
    link = g_ptr_array_index (check->links, count - 1);
  if (link == NULL)
    wsi_check_tell (check,
                    "seal of %s: of %" G_GUINT64_FORMAT " rows %u are there; rows were cut "
                    "off, or the archive was put back to an older state",
                    time, count, there);
  else if (!g_str_equal (link->hash, hash))
    wsi_check_tell (check,
                    "seal of %s: row %" G_GUINT64_FORMAT
                    " is not the one that was sealed; rows were changed since",
                    time, count);
}

typedef struct
{
  WsCheck *check;
  guint64 n;
  char hash[WS_SHA256_HEX_SIZE]; /* of all so far */
  GPtrArray *lines;              /* of char *, what each of them says */
} Seals;

static char *
seal_line (const char *time, guint64 count, const char *hash)
{
  return g_strdup_printf ("%s %" G_GUINT64_FORMAT " %s", time, count, hash);
}

static void
visit_seal (guint64 number, const char *time, guint64 count, const char *hash, gpointer data)
{
  Seals *seals = data;
  if (number != ++seals->n)
  {
    wsi_check_tell (seals->check, "seal %" G_GUINT64_FORMAT ": removed", seals->n);
    seals->n = number;
  }
  wsi_head_add_seal (seals->hash, time, count, hash);
  g_ptr_array_add (seals->lines, seal_line (time, count, hash));
  check_seal (seals->check, time, count, hash);
}

static gboolean
check_stored_seals (Seals *seals, GError **error)
{
  WsHead head;
  WsCheck *check = seals->check;
  if (!wsi_store_head (check->archive, &head, error) ||
      !wsi_store_each_seal (check->archive, visit_seal, seals, error))
    return FALSE;
  if (seals->n != head.seals)
    wsi_check_tell (check, "seals removed or inserted: %" G_GUINT64_FORMAT " were made",
                    head.seals);
  else if (check->archive->engine->version >= WS_VERSION_OF_DIGESTS &&
           !g_str_equal (seals->hash, head.seals_hash))
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
  Seals seals = { check, 0, "", lines };
  if (!check_stored_seals (&seals, error))
    return FALSE;
  if (seal != NULL && (given = ws_seals_read (seal, error)) == NULL)
    return FALSE;
  for (guint i = 0; given != NULL && i < given->len; i++)
  {
    const WsSeal *one = g_ptr_array_index (given, i);
    check_seal (check, one->time, one->count, one->hash);
    check_place (&seals, one);
  }
  return TRUE;
}
