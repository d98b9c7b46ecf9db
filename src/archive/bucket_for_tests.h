/*
 * An archive beside an object store of the test's own.
 */
#ifndef WS_ARCHIVE_BUCKET_FOR_TESTS_H
#define WS_ARCHIVE_BUCKET_FOR_TESTS_H

#include "archive/archive_for_tests.h"

#include <sys/stat.h>

#include "archive/http.h"
#include "archive/pictures.h"
#include "archive/s3_for_tests.h"

/* ---- A store ----------------------------------------------------------------------------------
 */

typedef struct
{
  Fixture *archive;
  char *root, *keys, *conf;
  S3 s3;
  HttpServer *server;
} Shop;

static inline void
write_conf (const Shop *shop, const char *region)
{
  g_autofree char *text =
    g_strdup_printf ("[pictures]\nstore = %s/pictures/shop\nregion = %s\nkeys = %s\n",
                     shop->server->address, region, shop->keys);
  assert_true (g_file_set_contents (shop->conf, text, -1, NULL));
}

static inline void
write_keys (const Shop *shop, const char *secret, mode_t mode)
{
  g_autofree char *text = g_strdup_printf (
    "[default]\naws_access_key_id = " S3_KEY "\naws_secret_access_key = %s\n", secret);
  assert_true (g_file_set_contents (shop->keys, text, -1, NULL));
  assert_int_equal (g_chmod (shop->keys, mode), 0);
}

static inline int
set_up_shop (void **state)
{
  void *archive = NULL;
  Shop *shop = g_new0 (Shop, 1);
  shop->root = quick_folder ();
  set_up (&archive);
  shop->archive = archive;
  shop->keys = g_build_filename (shop->root, "s3.keys", NULL);
  shop->conf = g_build_filename (shop->root, "store.conf", NULL);
  g_setenv ("no_proxy", "127.0.0.1", TRUE);
  s3_init (&shop->s3, "eu-central-1");
  shop->server = http_server_new (0, s3_answer, &shop->s3);
  write_keys (shop, S3_SECRET, 0600);
  write_conf (shop, "eu-central-1");
  *state = shop;
  return 0;
}

static inline int
tear_down_shop (void **state)
{
  Shop *shop = *state;
  void *archive = shop->archive;
  if (shop->server != NULL)
    http_server_free (shop->server);
  s3_clear (&shop->s3);
  sample_remove_tree (shop->root);
  tear_down (&archive);
  g_free (shop->keys);
  g_free (shop->conf);
  g_free (shop->root);
  g_free (shop);
  return 0;
}

static inline void
need_curl (void)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (WsHttp) http = wsi_http_new (&error);
  if (http == NULL)
    skip_for ("%s", error->message);
}

#endif
