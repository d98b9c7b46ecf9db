/*
 * A file decoded in linear light and in codes has to be the same picture.
 */
#ifndef WS_IMAGE_BOTH_WAYS_FOR_TESTS_H
#define WS_IMAGE_BOTH_WAYS_FOR_TESTS_H

#include <string.h>

#include "image/light.h"

/* cmocka.h goes before this. */
static inline void
check_both_ways (const guint8 *bytes, gsize n_bytes, gboolean may_be_coded)
{
  g_autoptr (GError) one = NULL;
  g_autoptr (GError) other = NULL;
  g_autoptr (WsImage) plain = ws_image_decode (bytes, n_bytes, "same", NULL, WS_IMAGE_GREY, &one);
  g_autoptr (WsImage) coded =
    ws_image_decode (bytes, n_bytes, "same", NULL, WS_IMAGE_CODED, &other);
  assert_int_equal (plain != NULL, coded != NULL);
  if (plain == NULL)
  {
    assert_string_equal (one->message, other->message);
    return;
  }
  assert_int_equal (coded->coded != NULL, may_be_coded);
  assert_int_equal (coded->linear != NULL, !may_be_coded);
  assert_int_equal (coded->width, plain->width);
  assert_int_equal (coded->height, plain->height);
  for (gsize i = 0; i < (gsize)plain->width * plain->height; i++)
    assert_int_equal (wsi_image_light (coded, i), plain->linear[i]);
  assert_memory_equal (coded->codes, plain->codes, sizeof plain->codes);
  assert_string_equal (coded->sha256, plain->sha256);
  assert_true (coded->n_clear == plain->n_clear && coded->tone == plain->tone &&
               coded->bits == plain->bits && coded->lossy == plain->lossy &&
               coded->has_colour == plain->has_colour &&
               memcmp (&coded->gamma, &plain->gamma, sizeof plain->gamma) == 0 &&
               memcmp (&coded->pixel_aspect, &plain->pixel_aspect, sizeof plain->gamma) == 0);
}

#endif
