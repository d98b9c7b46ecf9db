#include "base/testing.h"

#include "base/sha256.h"

/* FIPS 180-4's published examples "abc" and the empty message, from memory; GLib's own
 * implementation agrees. */
static void
published_digests (void **state)
{
  (void)state;
  char hex[WS_SHA256_HEX_SIZE];
  ws_sha256_hex ("abc", 3, hex);
  assert_string_equal (hex, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  ws_sha256_hex ("", 0, hex);
  assert_string_equal (hex, "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}

static void
tells_hex (void **state)
{
  (void)state;
  char hex[WS_SHA256_HEX_SIZE];
  ws_sha256_hex ("abc", 3, hex);
  assert_true (ws_sha256_is_hex (hex));
  hex[0] = 'G';
  assert_false (ws_sha256_is_hex (hex));
  hex[0] = 'A';
  assert_false (ws_sha256_is_hex (hex));
  assert_false (ws_sha256_is_hex ("ba78"));
  assert_false (ws_sha256_is_hex (""));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (published_digests),
    cmocka_unit_test (tells_hex),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
