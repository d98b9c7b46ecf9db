/*
 * Seals that were kept elsewhere, as a user would make and check them: what they find that the
 * archive alone can't tell.
 */
#include <sys/stat.h>
#include <unistd.h>

#include "archive/seal_key.h"
#include "aside_for_tests.h"

#include <whetsight/seal.h>

typedef struct
{
  char *key, *public_half, *seal, *older;
} Paths;

static void
paths_clear (Paths *paths)
{
  g_free (paths->key);
  g_free (paths->public_half);
  g_free (paths->seal);
  g_free (paths->older);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Paths, paths_clear)

static Paths
paths_of (const Aside *aside)
{
  return (Paths){ beside (aside, "key"), beside (aside, "key.pub"), beside (aside, "seals"),
                  beside (aside, "older") };
}

static void
make_key (const Paths *paths)
{
  g_auto (Run) made = run ("archive", "key", paths->key, NULL);
  assert_int_equal (made.status, 0);
}

static void
seal (const Aside *aside, const Paths *paths)
{
  g_auto (Run) sealed = run ("archive", "seal", aside->archive.folder, "--key", paths->key,
                             "--output", paths->seal, NULL);
  assert_int_equal (sealed.status, 0);
  assert_string_equal (sealed.out, "");
}

/* By itself it is all as written; held against the seal it isn't, for that reason. */
static void
check_found (const Aside *aside, const Paths *paths, const char *why)
{
  g_auto (Run) alone = run ("archive", "verify", aside->archive.folder, NULL);
  g_auto (Run) held = run ("archive", "verify", aside->archive.folder, "--seal", paths->seal,
                           "--key", paths->public_half, NULL);
  assert_int_equal (alone.status, 0);
  assert_int_equal (held.status, 1);
  assert_contains (held.out, why);
}

/* RFC 8032, 7.1, test 1. */
static void
test_a_published_signature (void **state)
{
  static const char text[] =
    "whetsight-key/1\n"
    "made 2026-11-25T10:15:02Z\n"
    "public d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a\n"
    "secret 9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60\n";
  static const char expected[] = "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555"
                                 "fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b";
  char signature[WS_SIGNATURE_HEX_SIZE];
  g_autoptr (GError) error = NULL;
  g_auto (Paths) paths = paths_of (*state);
  assert_true (g_file_set_contents (paths.key, text, -1, NULL));
  assert_int_equal (g_chmod (paths.key, 0600), 0);
  g_autoptr (WsSealKey) key = wsi_seal_key_load (paths.key, &error);
  assert_null (error);
  wsi_seal_key_sign (key, "", signature);
  assert_string_equal (signature, expected);
  assert_true (wsi_signature_holds ("", wsi_seal_key_public (key), signature));
  assert_false (wsi_signature_holds ("x", wsi_seal_key_public (key), signature));
}

static void
test_a_key (void **state)
{
  const Aside *aside = *state;
  GStatBuf about;
  g_auto (Paths) paths = paths_of (aside);
  g_auto (Run) made = run ("archive", "key", paths.key, NULL);
  assert_int_equal (made.status, 0);
  assert_true (g_str_has_prefix (made.out, "key "));
  assert_int_equal (g_stat (paths.key, &about), 0);
  assert_int_equal (about.st_mode & 0777, 0600);

  /* The public half tells nothing else. */
  g_autofree char *public_half = NULL;
  assert_true (g_file_get_contents (paths.public_half, &public_half, NULL, NULL));
  assert_lacks (public_half, "secret");

  g_auto (Run) again = run ("archive", "key", paths.key, NULL);
  assert_int_equal (again.status, 73);
  assert_contains (again.err, "never written over");
  g_auto (Run) none = run ("archive", "key", NULL);
  assert_int_equal (none.status, 64);

  /* Others could have read it. */
  assert_int_equal (g_chmod (paths.key, 0640), 0);
  g_auto (Run) open = run ("archive", "seal", aside->archive.folder, "--key", paths.key, NULL);
  assert_int_equal (open.status, 65);
  assert_contains (open.err, "others may read");
}

/* Neither key nor seal may lie where they would be changed along with the rows, whatever way leads
 * there. */
static void
test_nothing_inside_an_archive (void **state)
{
  const Aside *aside = *state;
  g_auto (Paths) paths = paths_of (aside);
  g_autofree char *inside = g_build_filename (aside->archive.folder, "images", "key", NULL);
  g_autofree char *link = beside (aside, "link");
  g_autofree char *through = g_build_filename (link, "key", NULL);
  g_autofree char *images = g_build_filename (aside->archive.folder, "images", NULL);
  const char *const bad[] = { inside, through };
  assert_int_equal (symlink (images, link), 0);
  make_key (&paths);
  for (gsize i = 0; i < G_N_ELEMENTS (bad); i++)
  {
    g_auto (Run) made = run ("archive", "key", bad[i], NULL);
    assert_int_equal (made.status, 64);
    assert_false (g_file_test (bad[i], G_FILE_TEST_EXISTS));
    g_auto (Run) sealed = run ("archive", "seal", aside->archive.folder, "-o", bad[i], NULL);
    assert_int_equal (sealed.status, 64);
    copy_folder (paths.key, inside);
    g_auto (Run) with = run ("archive", "seal", aside->archive.folder, "--key", bad[i], NULL);
    assert_int_equal (with.status, 64);
    g_remove (inside);
  }
}

static void
test_it_holds (void **state)
{
  const Aside *aside = *state;
  g_auto (Paths) paths = paths_of (aside);
  make_key (&paths);
  seal (aside, &paths);
  store_more (aside, 6, 7);
  seal (aside, &paths);
  store_more (aside, 8, 8);
  g_auto (Run) held = run ("archive", "verify", aside->archive.folder, "--seal", paths.seal, NULL);
  assert_int_equal (held.status, 0);
  assert_contains (held.out, "the first 7 rows are those sealed at ");
  assert_contains (held.out, "is it yours?");
  g_auto (Run) ours = run ("archive", "verify", aside->archive.folder, "--seal", paths.seal,
                           "--key", paths.public_half, NULL);
  assert_int_equal (ours.status, 0);
  assert_contains (ours.out, "signed by this key");
}

static void
test_a_cut_is_found (void **state)
{
  const Aside *aside = *state;
  g_auto (Paths) paths = paths_of (aside);
  make_key (&paths);
  copy_folder (aside->archive.folder, paths.older);
  store_more (aside, 6, 7);
  seal (aside, &paths);
  copy_folder (paths.older, aside->archive.folder);
  check_found (aside, &paths, "of 7 rows 5 are there");
}

/* Every hash fits, since all rows were written anew. */
static void
test_a_rewritten_past_is_found (void **state)
{
  const Aside *aside = *state;
  g_auto (Paths) paths = paths_of (aside);
  make_key (&paths);
  seal (aside, &paths);
  sample_remove_tree (aside->archive.folder);
  store_more (aside, 1, 2);
  store_more (aside, 4, 7);
  check_found (aside, &paths, "row 5 is not the one that was sealed");
}

/* The older state has the same inspections; that it was sealed is all that it doesn't know. */
static void
test_a_rollback_is_found (void **state)
{
  const Aside *aside = *state;
  g_auto (Paths) paths = paths_of (aside);
  make_key (&paths);
  copy_folder (aside->archive.folder, paths.older);
  seal (aside, &paths);
  copy_folder (paths.older, aside->archive.folder);
  check_found (aside, &paths, "it was put back to an older state");

  /* Nor does going on from there hide it. */
  store_more (aside, 6, 6);
  g_free (paths.seal);
  paths.seal = beside (aside, "others");
  seal (aside, &paths);
  g_free (paths.seal);
  paths.seal = beside (aside, "seals");
  check_found (aside, &paths, "the archive has another as number 1");
}

/* What was kept is no proof any more once it was touched, or when anybody could have made it. */
static void
test_seals_that_prove_nothing (void **state)
{
  const Aside *aside = *state;
  g_auto (Paths) paths = paths_of (aside);
  g_autofree char *stranger = beside (aside, "stranger");
  g_autofree char *strangers = beside (aside, "stranger.pub");
  g_autofree char *good = NULL;
  make_key (&paths);
  seal (aside, &paths);
  g_auto (Run) made = run ("archive", "key", stranger, NULL);
  assert_int_equal (made.status, 0);
  assert_true (g_file_get_contents (paths.seal, &good, NULL, NULL));

  g_auto (Run) foreign = run ("archive", "verify", aside->archive.folder, "--seal", paths.seal,
                              "--key", strangers, NULL);
  assert_int_equal (foreign.status, 65);
  assert_contains (foreign.err, "signed by another key");
  g_auto (Run) line = run ("archive", "seal", aside->archive.folder, NULL);
  g_auto (Run) bare = run ("archive", "verify", aside->archive.folder, "--seal",
                           g_strchomp (line.out), "--key", paths.public_half, NULL);
  assert_int_equal (bare.status, 65);
  assert_contains (bare.err, "not signed");

  /* Any byte of it; what is left of one that was cut off; none at all. */
  const gsize n = strlen (good);
  for (gsize at = 0; at < n - 1; at++)
  {
    g_autoptr (GError) error = NULL;
    g_autofree char *changed = g_strdup (good);
    changed[at] = (char)(changed[at] ^ 1);
    g_autoptr (GPtrArray) seals = ws_seals_read (changed, &error);
    assert_null (seals);
    assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
    g_autofree char *cut = g_strndup (good, at);
    g_autoptr (GPtrArray) rest = ws_seals_read (cut, NULL);
    assert_null (rest);
  }
  assert_true (g_file_set_contents (paths.seal, "", 0, NULL));
  g_auto (Run) empty = run ("archive", "verify", aside->archive.folder, "--seal", paths.seal, NULL);
  assert_int_equal (empty.status, 65);
  g_remove (paths.seal);
  g_auto (Run) lost = run ("archive", "verify", aside->archive.folder, "--seal", paths.seal, NULL);
  assert_int_equal (lost.status, 66);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (test_a_published_signature, set_up_aside, tear_down_aside),
    cmocka_unit_test_setup_teardown (test_a_key, set_up_aside, tear_down_aside),
    cmocka_unit_test_setup_teardown (test_nothing_inside_an_archive, set_up_aside, tear_down_aside),
    cmocka_unit_test_setup_teardown (test_it_holds, set_up_aside, tear_down_aside),
    cmocka_unit_test_setup_teardown (test_a_cut_is_found, set_up_aside, tear_down_aside),
    cmocka_unit_test_setup_teardown (test_a_rewritten_past_is_found, set_up_aside, tear_down_aside),
    cmocka_unit_test_setup_teardown (test_a_rollback_is_found, set_up_aside, tear_down_aside),
    cmocka_unit_test_setup_teardown (test_seals_that_prove_nothing, set_up_aside, tear_down_aside),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
