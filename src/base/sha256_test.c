#include "base/testing.h"

#include <unistd.h>

#include <glib/gstdio.h>

#include "base/sha256.h"

/* FIPS 180-4's published examples "abc" and the empty message, from memory; GLib's own
 * implementation agrees. */
static void
published_digests (void **state)
{
  (void)state;
  char hex[WS_SHA256_HEX_SIZE];
  wsi_sha256_hex ("abc", 3, hex);
  assert_string_equal (hex, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  wsi_sha256_hex ("", 0, hex);
  assert_string_equal (hex, "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}

/* Wherever it is cut. */
static void
pieces_hash_as_their_whole (void **state)
{
  (void)state;
  char bytes[200], hex[WS_SHA256_HEX_SIZE], expected[WS_SHA256_HEX_SIZE];
  for (gsize i = 0; i < sizeof bytes; i++)
    bytes[i] = (char)(i * i % 251);
  wsi_sha256_hex (bytes, sizeof bytes, expected);
  for (gsize cut = 0; cut <= sizeof bytes; cut++)
  {
    const WsSha256Piece pieces[] = { { bytes, cut }, { bytes + cut, sizeof bytes - cut } };
    wsi_sha256_pieces_hex (pieces, 2, hex);
    assert_string_equal (hex, expected);
  }
}

/* A file of more than one block. */
static void
a_file_hashes_as_its_bytes (void **state)
{
  (void)state;
  const gsize n = 600001;
  char hex[WS_SHA256_HEX_SIZE], expected[WS_SHA256_HEX_SIZE];
  guint64 n_read = 7;
  g_autofree char *bytes = g_malloc (n);
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "file", NULL);
  g_autofree char *other = g_build_filename (folder, "link", NULL);
  for (gsize i = 0; i < n; i++)
    bytes[i] = (char)(i * i % 251);
  wsi_sha256_hex (bytes, n, expected);
  assert_true (g_file_set_contents (path, bytes, (gssize)n, NULL));
  assert_true (wsi_sha256_file (path, &n_read, hex));
  assert_string_equal (hex, expected);
  assert_int_equal (n_read, 7 + n);
  assert_int_equal (symlink ("file", other), 0);
  assert_false (wsi_sha256_file (other, NULL, hex));
  assert_int_equal (g_remove (other) | g_remove (path), 0);
  assert_false (wsi_sha256_file (path, NULL, hex));
  assert_int_equal (g_rmdir (folder), 0);
}

static void
tells_hex (void **state)
{
  (void)state;
  char hex[WS_SHA256_HEX_SIZE];
  wsi_sha256_hex ("abc", 3, hex);
  assert_true (wsi_sha256_is_hex (hex));
  hex[0] = 'G';
  assert_false (wsi_sha256_is_hex (hex));
  hex[0] = 'A';
  assert_false (wsi_sha256_is_hex (hex));
  assert_false (wsi_sha256_is_hex ("ba78"));
  assert_false (wsi_sha256_is_hex (""));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (published_digests),
    cmocka_unit_test (pieces_hash_as_their_whole),
    cmocka_unit_test (a_file_hashes_as_its_bytes),
    cmocka_unit_test (tells_hex),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
