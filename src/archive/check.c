#include "archive/check.h"
#include "archive/statements.h"
#include "base/shown.h"

void
wsi_check_tell (WsCheck *check, const char *format, ...)
{
  va_list arguments;
  va_start (arguments, format);
  g_autofree char *what = g_strdup_vprintf (format, arguments);
  va_end (arguments);
  if (!wsi_archive_expect_still (check->archive, NULL))
    return; /* and the end of the check says so */
  /* A damaged row may hold anything. */
  g_autofree char *valid = wsi_shown (what);
  check->result->wrong++;
  check->verifier->tell (valid, check->verifier->data);
}

void
wsi_check_tell_row (WsCheck *check, WsLink *link, const char *format, ...)
{
  va_list arguments;
  va_start (arguments, format);
  g_autofree char *what = g_strdup_vprintf (format, arguments);
  va_end (arguments);
  link->told = TRUE;
  const char *bench = link->chain->bench;
  wsi_check_tell (check, "%s%s%srow %" G_GUINT64_FORMAT " (%s): %s", bench != NULL ? "bench " : "",
                  bench != NULL ? bench : "", bench != NULL ? ", " : "", link->number, link->id,
                  what);
}

gboolean
wsi_check_was_removed (const WsCheck *check, const char *sha256)
{
  const guint uses = GPOINTER_TO_UINT (g_hash_table_lookup (check->uses, sha256));
  const guint removals = GPOINTER_TO_UINT (g_hash_table_lookup (check->removals, sha256));
  return removals > 0 && removals >= uses;
}

void
wsi_check_progress (WsCheck *check)
{
  if (check->verifier->progress != NULL)
    check->verifier->progress (__atomic_load_n (&check->done_bytes, __ATOMIC_RELAXED),
                               check->all_bytes, check->verifier->data);
}
