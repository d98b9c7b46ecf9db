#include "archive/manifest.h"

#include <string.h>

#include <whetsight/error.h>

#include "base/file.h"

#define FORM "whetsight-bundle/1"
#define MAX_BYTES 65536

/* Lines behind the first. */
enum
{
  LINE_TIME,
  LINE_NAME,
  LINE_AFTER,
  LINE_COUNT,
  LINE_ROWS,
  LINE_SEAL,
  LINE_SHA256,
  N_LINES
};

static const char *const names[N_LINES] = {
  "time ", "from ", "after ", "rows ", WS_BUNDLE_ROWS " ", WS_BUNDLE_SEAL " ", "sha256 "
};

void
wsi_manifest_clear (WsManifest *manifest)
{
  g_clear_pointer (&manifest->time, g_free);
  g_clear_pointer (&manifest->name, g_free);
  g_clear_pointer (&manifest->seal, g_free);
}

static const char *
or_dash (const char *hash)
{
  return *hash != '\0' ? hash : "-";
}

/* All lines but the last. */
static char *
compose (const WsManifest *manifest)
{
  char seal[WS_SHA256_HEX_SIZE] = "";
  if (manifest->seal != NULL)
    wsi_sha256_hex (manifest->seal, strlen (manifest->seal), seal);
  return g_strdup_printf (
    FORM "\n%s%s\n%s%s\n%s%" G_GUINT64_FORMAT " %s\n%s%" G_GUINT64_FORMAT " %s\n%s%s\n%s%s\n",
    names[LINE_TIME], manifest->time, names[LINE_NAME], manifest->name, names[LINE_AFTER],
    manifest->after, or_dash (manifest->after_hash), names[LINE_COUNT], manifest->count,
    or_dash (manifest->hash), names[LINE_ROWS], manifest->rows_sha256, names[LINE_SEAL],
    or_dash (seal));
}

gboolean
wsi_manifest_save (const char *folder, const WsManifest *manifest, GError **error)
{
  char sha256[WS_SHA256_HEX_SIZE];
  g_autofree char *path = g_build_filename (folder, WS_MANIFEST_NAME, NULL);
  g_autofree char *seal_path = g_build_filename (folder, WS_BUNDLE_SEAL, NULL);
  g_autofree char *text = compose (manifest);
  wsi_sha256_hex (text, strlen (text), sha256);
  g_autofree char *whole = g_strconcat (text, names[LINE_SHA256], sha256, "\n", NULL);
  return (manifest->seal == NULL ||
          wsi_file_save (seal_path, manifest->seal, strlen (manifest->seal), error)) &&
         wsi_file_save (path, whole, strlen (whole), error);
}

/* ---- Reading ------------------------------------------------------------------------------- */

static gboolean
refuse (const char *folder, const char *what, GError **error)
{
  g_set_error (error, WS_ERROR, WS_ERROR_DATA, "bundle %s: %s; have it made again", folder, what);
  return FALSE;
}

/* "17 HASH", "0 -" */
static gboolean
take_end (const char *text, guint64 *count, char hash[WS_SHA256_HEX_SIZE])
{
  g_auto (GStrv) parts = g_strsplit (text, " ", 2);
  if (g_strv_length (parts) != 2 ||
      !g_ascii_string_to_unsigned (parts[0], 10, 0, G_MAXINT64, count, NULL) ||
      !(*count == 0 ? g_str_equal (parts[1], "-") : wsi_sha256_is_hex (parts[1])))
    return FALSE;
  g_strlcpy (hash, *count == 0 ? "" : parts[1], WS_SHA256_HEX_SIZE);
  return TRUE;
}

static gboolean
parse (WsManifest *manifest, const char *text)
{
  const char *members[N_LINES];
  g_auto (GStrv) lines = g_strsplit (text, "\n", -1);
  if (g_strv_length (lines) != N_LINES + 2 || !g_str_equal (lines[0], FORM))
    return FALSE;
  for (int i = 0; i < N_LINES; i++)
  {
    if (!g_str_has_prefix (lines[1 + i], names[i]))
      return FALSE;
    members[i] = lines[1 + i] + strlen (names[i]);
  }
  manifest->time = g_strdup (members[LINE_TIME]);
  manifest->name = g_strdup (members[LINE_NAME]);
  return g_utf8_validate (manifest->name, -1, NULL) &&
         g_strlcpy (manifest->rows_sha256, members[LINE_ROWS], WS_SHA256_HEX_SIZE) ==
           WS_SHA256_HEX_SIZE - 1 &&
         take_end (members[LINE_AFTER], &manifest->after, manifest->after_hash) &&
         take_end (members[LINE_COUNT], &manifest->count, manifest->hash) &&
         manifest->count >= manifest->after;
}

static gboolean
check_rows (const char *folder, const WsManifest *manifest, GError **error)
{
  char found[WS_SHA256_HEX_SIZE];
  g_autofree char *path = g_build_filename (folder, WS_BUNDLE_ROWS, NULL);
  return (wsi_sha256_file (path, NULL, found) && g_str_equal (found, manifest->rows_sha256)) ||
         refuse (folder, WS_BUNDLE_ROWS " is missing or was changed", error);
}

/* The seal is taken as the manifest that is made of it then has its hash. */
static gboolean
check_text (const char *folder, WsManifest *manifest, const char *text, GError **error)
{
  char sha256[WS_SHA256_HEX_SIZE];
  g_autofree char *path = g_build_filename (folder, WS_BUNDLE_SEAL, NULL);
  if (g_file_test (path, G_FILE_TEST_EXISTS) &&
      (manifest->seal = wsi_file_read_text (path, "seal", MAX_BYTES, error)) == NULL)
    return FALSE;
  g_autofree char *composed = compose (manifest);
  wsi_sha256_hex (composed, strlen (composed), sha256);
  g_autofree char *whole = g_strconcat (composed, names[LINE_SHA256], sha256, "\n", NULL);
  return g_str_equal (whole, text) || refuse (folder, "its manifest or seal was changed", error);
}

gboolean
wsi_manifest_load (const char *folder, WsManifest *manifest, GError **error)
{
  *manifest = (WsManifest){ 0 };
  g_autofree char *path = g_build_filename (folder, WS_MANIFEST_NAME, NULL);
  if (!g_file_test (path, G_FILE_TEST_IS_REGULAR))
  {
    g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT,
                 "%s: no bundle there, or one that isn't whole yet (no " WS_MANIFEST_NAME ")",
                 folder);
    return FALSE;
  }
  g_autofree char *text = wsi_file_read_text (path, "manifest", MAX_BYTES, error);
  if (text == NULL)
    return FALSE;
  if (!parse (manifest, text))
    return refuse (folder, "its manifest isn't one of archive bundle", error);
  return check_text (folder, manifest, text, error) && check_rows (folder, manifest, error);
}
