#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "image/foreign.h"

static void
files_are_named_as_what_they_are (void **state)
{
  (void)state;
  static const struct
  {
    const char *bytes;
    gsize n;
    const char *told;
  } files[] = {
    { "RIFF\x10\0\0\0WEBPVP8 ", 16, "a WebP picture" },
    { "GIF89a\1\0\1\0", 10, "a GIF picture" },
    { "\0\0\0\x18"
      "ftypheic\0\0\0\0",
      16, "a HEIC picture" },
    { "\0\0\0\x18"
      "ftypavif\0\0\0\0",
      16, "an AVIF picture" },
    { "\0\0\0\x18"
      "ftypisom\0\0\0\0",
      16, "a film, no picture" },
    { "\0\0\0\x18"
      "ftypcrx \0\0\0\0",
      16, "a camera's raw file" },
    { "8BPS\0\1\0\0", 8, "a Photoshop file" },
    { "%PDF-1.7\n", 9, "a PDF document" },
    { "P5\n4 4\n255\n", 11, "a portable map" },
    { "\xEF\xBB\xBF<?xml version='1.0'?>\n<SVG xmlns=", 37, "an SVG drawing" },
    { "  <!DOCTYPE html><html>", 23, "a web page" },
    { "PK\3\4\x14\0", 6, "an archive" },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (files); i++)
  {
    const char *kind = wsi_foreign_kind ((const guint8 *)files[i].bytes, files[i].n);
    assert_non_null (kind);
    assert_true (g_str_has_prefix (kind, files[i].told));
  }
}

static void
others_are_not_guessed (void **state)
{
  (void)state;
  static const char *const files[] = { "", "P", "GIF", "hello", "<card>", "[tool]\nid = 1" };
  for (gsize i = 0; i < G_N_ELEMENTS (files); i++)
    assert_null (wsi_foreign_kind ((const guint8 *)files[i], strlen (files[i])));
}

int
main (void)
{
  static const struct CMUnitTest tests[] = {
    cmocka_unit_test (files_are_named_as_what_they_are),
    cmocka_unit_test (others_are_not_guessed),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
