/*
 * Time stamps on seals, by OpenSSL's own service on this computer: what they attest, and what isn't
 * taken for one.
 */
#include <arpa/inet.h>
#include <netinet/in.h>
#include <signal.h>
#include <sys/socket.h>
#include <sys/wait.h>

#include <whetsight/seal.h>

#include "aside_for_tests.h"

/* How the service answers. */
typedef enum
{
  GOOD,
  STALE, /* what it answered before */
  GARBAGE,
  FAILING,
  SILENT /* none */
} Manner;

static const char authority_script[] =
  "set -e; cd \"$1\"\n"
  "for ca in ca other; do\n"
  "  openssl req -x509 -newkey ec -pkeyopt ec_paramgen_curve:prime256v1 -nodes -keyout $ca.key"
  "    -out $ca.pem -subj \"/CN=$ca\" -days 3650\n"
  "done\n"
  "openssl req -new -newkey ec -pkeyopt ec_paramgen_curve:prime256v1 -nodes -keyout tsa.key"
  "  -out tsa.csr -subj /CN=time\n"
  "echo extendedKeyUsage=critical,timeStamping >ext.cnf\n"
  "openssl x509 -req -in tsa.csr -CA ca.pem -CAkey ca.key -CAcreateserial -days 3650"
  "  -extfile ext.cnf -out tsa.pem\n"
  "echo 01 >serial\n"
  "cat >tsa.cnf <<END\n"
  "[tsa]\ndefault_tsa = one\n[one]\nserial = $1/serial\nsigner_cert = $1/tsa.pem\n"
  "certs = $1/ca.pem\nsigner_key = $1/tsa.key\nsigner_digest = sha256\n"
  "default_policy = 1.2.3.4.1\ndigests = sha256\n"
  "END\n";

typedef struct
{
  Aside *aside;
  char *service, *key, *public_half, *seals; /* paths */
  int socket;
  char *url;
} Scene;

/* ---- The service ------------------------------------------------------------------------------
 */

static gboolean
call_shell (const char *script, const char *argument)
{
  int status = 1;
  const char *const call[] = { "sh", "-c", script, "sh", argument, NULL };
  return g_spawn_sync (NULL, (char **)call, NULL,
                       G_SPAWN_SEARCH_PATH | G_SPAWN_STDOUT_TO_DEV_NULL |
                         G_SPAWN_STDERR_TO_DEV_NULL,
                       NULL, NULL, NULL, NULL, &status, NULL) &&
         status == 0;
}

static void
read_query (int connection, const char *path)
{
  char bytes[4096];
  gsize n = 0, length = 0;
  const char *body = NULL;
  for (ssize_t more; n < sizeof bytes - 1 && (body == NULL || n < (gsize)(body - bytes) + length) &&
                     (more = read (connection, bytes + n, sizeof bytes - 1 - n)) > 0;)
  {
    n += (gsize)more;
    bytes[n] = '\0';
    const char *field = strstr (bytes, "Content-Length: ");
    const char *end = strstr (bytes, "\r\n\r\n");
    length = field != NULL ? (gsize)atoi (field + strlen ("Content-Length: ")) : 0;
    body = end != NULL ? end + 4 : NULL;
  }
  if (body != NULL)
    g_file_set_contents (path, body, (gssize)length, NULL);
}

static void
answer (const Scene *scene, int connection, Manner manner)
{
  char *reply = NULL;
  gsize n = 0;
  g_autofree char *query = g_build_filename (scene->service, "query", NULL);
  g_autofree char *path = g_build_filename (scene->service, "reply", NULL);
  read_query (connection, query);
  if (manner == GOOD)
    call_shell ("cd \"$1\"; openssl ts -reply -config tsa.cnf -queryfile query -out reply",
                scene->service);
  if (manner == GARBAGE)
    reply = g_strndup ("0\003abc", n = 5);
  else
    g_file_get_contents (path, &reply, &n, NULL);
  g_autofree char *head = g_strdup_printf ("HTTP/1.0 %s\r\nContent-Type: "
                                           "application/timestamp-reply\r\nContent-Length: "
                                           "%u\r\n\r\n",
                                           manner == FAILING ? "500 no" : "200 OK", (guint)n);
  if (write (connection, head, strlen (head)) < 0 || write (connection, reply, n) < 0)
    g_printerr ("the answer can't be sent\n");
  g_free (reply);
}

/* Answers once. */
static pid_t
serve (const Scene *scene, Manner manner)
{
  const pid_t pid = fork ();
  if (pid != 0)
    return pid;
  const int connection = accept (scene->socket, NULL, NULL);
  if (manner != SILENT)
    answer (scene, connection, manner);
  close (connection);
  _exit (0);
}

static void
open_service (Scene *scene)
{
  struct sockaddr_in address = { .sin_family = AF_INET, .sin_addr = { htonl (INADDR_LOOPBACK) } };
  socklen_t size = sizeof address;
  scene->socket = socket (AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  assert_int_equal (bind (scene->socket, (struct sockaddr *)&address, size), 0);
  assert_int_equal (listen (scene->socket, 4), 0);
  assert_int_equal (getsockname (scene->socket, (struct sockaddr *)&address, &size), 0);
  scene->url = g_strdup_printf ("http://127.0.0.1:%u/stamp", ntohs (address.sin_port));
}

static int
set_up_scene (void **state)
{
  Scene *scene = g_new0 (Scene, 1);
  const int failed = set_up_aside ((void **)&scene->aside);
  g_unsetenv ("http_proxy");
  g_unsetenv ("HTTP_PROXY");
  scene->service = beside (scene->aside, "service");
  scene->key = beside (scene->aside, "key");
  scene->public_half = beside (scene->aside, "key.pub");
  scene->seals = beside (scene->aside, "seals");
  g_mkdir (scene->service, 0700);
  open_service (scene);
  g_free (ws_seal_key_make (scene->key, NULL));
  *state = scene;
  return failed;
}

static int
tear_down_scene (void **state)
{
  Scene *scene = *state;
  close (scene->socket);
  tear_down_aside ((void **)&scene->aside);
  char *const texts[] = { scene->service, scene->key, scene->public_half, scene->seals,
                          scene->url };
  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
    g_free (texts[i]);
  g_free (scene);
  return 0;
}

/* ---- Tests ------------------------------------------------------------------------------------
 */

static Run
seal (const Scene *scene, Manner manner)
{
  const pid_t pid = serve (scene, manner);
  Run sealed = run ("archive", "seal", scene->aside->archive.folder, "--key", scene->key,
                    "--output", scene->seals, "--stamp", scene->url, NULL);
  kill (pid, SIGKILL);
  waitpid (pid, NULL, 0);
  return sealed;
}

static void
check_verify (const Scene *scene, const char *authority, int status, const char *said)
{
  g_autofree char *ca = g_build_filename (scene->service, authority, NULL);
  g_auto (Run) held =
    run ("archive", "verify", scene->aside->archive.folder, "--seal", scene->seals, "--key",
         scene->public_half, authority != NULL ? "--stamp-ca" : NULL, ca, NULL);
  if (held.status != status)
    print_error ("%d\n%s%s", held.status, held.out, held.err);
  assert_int_equal (held.status, status);
  assert_contains (status < 64 ? held.out : held.err, said);
}

static void
check_good (const Scene *scene)
{
  g_auto (Run) sealed = seal (scene, GOOD);
  if (sealed.status != 0)
    print_error ("%s", sealed.err);
  assert_int_equal (sealed.status, 0);
}

/* Any byte of the stamp, some of which mean nothing, and the whole of it on another seal. */
static void
check_changed (const Scene *scene)
{
  g_autofree char *good = NULL;
  assert_true (g_file_get_contents (scene->seals, &good, NULL, NULL));
  g_autofree char *ca = g_build_filename (scene->service, "ca.pem", NULL);
  g_autoptr (GPtrArray) whole = ws_seals_read (good, NULL);
  g_autofree char *true_time = ws_seal_stamp_time (g_ptr_array_index (whole, 0), ca, NULL);
  guint n_refused = 0;
  assert_non_null (true_time);
  char *stamp = strstr (good, "\nstamp ") + strlen ("\nstamp ");
  for (gsize at = 0; at < strlen (stamp) - 4; at += 97)
  {
    const char was = stamp[at];
    stamp[at] = was == 'A' ? 'B' : 'A';
    g_autoptr (GPtrArray) seals = ws_seals_read (good, NULL);
    assert_non_null (seals);
    g_autofree char *time = ws_seal_stamp_time (g_ptr_array_index (seals, 0), ca, NULL);
    assert_true (time == NULL || g_str_equal (time, true_time));
    n_refused += time == NULL;
    stamp[at] = was;
  }
  assert_true (n_refused > 5);
  store_more (scene->aside, 6, 6);
  g_autoptr (WsArchive) archive = open_archive (&scene->aside->archive, WS_ARCHIVE_WRITE);
  g_autofree char *other = ws_archive_seal_signed (archive, scene->key, NULL);
  g_autofree char *moved = g_strconcat (other, "stamp ", stamp, NULL);
  assert_true (g_file_set_contents (scene->seals, moved, -1, NULL));
  check_verify (scene, "ca.pem", 65, "its time stamp doesn't hold");
  check_verify (scene, NULL, 65, "its time stamp doesn't hold");
}

static void
test_stamps (void **state)
{
  const Scene *scene = *state;
  if (!call_shell (authority_script, scene->service))
    skip_for ("openssl isn't there");
  check_good (scene);
  check_verify (scene, "ca.pem", 0, "by a service that these certificates vouch for");
  check_verify (scene, NULL, 0, "by a service that nobody vouches for");
  check_verify (scene, "other.pem", 65, "its time stamp doesn't hold");
  check_verify (scene, "nothing.pem", 66, "no certificates there");

  /* The seal itself is kept, whatever the service does. */
  for (Manner manner = STALE; manner <= FAILING; manner++)
  {
    g_remove (scene->seals);
    g_auto (Run) sealed = seal (scene, manner);
    assert_int_equal (sealed.status, 73);
    assert_contains (sealed.err, "sealed, but not stamped");
    check_verify (scene, NULL, 0, "signed by this key");
    check_verify (scene, "ca.pem", 65, "it has no time stamp");
  }
  g_remove (scene->seals);
  check_good (scene);
  check_changed (scene);
}

static void
test_no_service (void **state)
{
  const Scene *scene = *state;
  const pid_t pid = serve (scene, SILENT);
  g_auto (Run) gone =
    run ("archive", "seal", scene->aside->archive.folder, "--stamp", scene->url, NULL);
  waitpid (pid, NULL, 0);
  assert_int_equal (gone.status, 73);
  assert_contains (gone.out, "whetsight-seal/1");
  g_auto (Run) address =
    run ("archive", "seal", scene->aside->archive.folder, "--stamp", "https://127.0.0.1/", NULL);
  assert_int_equal (address.status, 64);
  assert_string_equal (address.out, "");
}

static void
test_when_it_is_due (void **state)
{
  const Scene *scene = *state;
  for (int rows = N_ROWS; rows <= N_ROWS + 3; rows++)
  {
    if (rows > N_ROWS)
      store_more (scene->aside, rows, rows);
    g_auto (Run) sealed =
      run ("archive", "seal", scene->aside->archive.folder, "--every", "3", NULL);
    assert_int_equal (sealed.status, 0);
    assert_int_equal (*sealed.out != '\0', (rows - N_ROWS) % 3 == 0);
  }
  g_auto (Run) none = run ("archive", "seal", scene->aside->archive.folder, "--every", "1", NULL);
  assert_string_equal (none.out, "");
  g_auto (Run) wrong = run ("archive", "seal", scene->aside->archive.folder, "--every", "-1", NULL);
  assert_int_equal (wrong.status, 64);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (test_stamps, set_up_scene, tear_down_scene),
    cmocka_unit_test_setup_teardown (test_no_service, set_up_scene, tear_down_scene),
    cmocka_unit_test_setup_teardown (test_when_it_is_due, set_up_scene, tear_down_scene),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
