/*
 * Requests to the bench page, as somebody on the network may send them.
 *
 * The input is a request: a line "METHOD TARGET", headers, an empty line, the body.  A header
 * "As: ROLE" makes it somebody's who is signed in, with the right token; "As: local" asks the page
 * of this computer.
 */
#define _GNU_SOURCE
#include <signal.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <glib/gstdio.h>

#include "bench/door.h"
#include "fuzz/files.h"

int LLVMFuzzerInitialize (int *argc, char ***argv);
int LLVMFuzzerTestOneInput (const uint8_t *bytes, size_t n_bytes);

#define CARD "[tool]\nid = T\nkind = twist-drill\ndiameter_mm = 10\n"

static WsServe *pages[2]; /* of this computer, of the network */
static char sessions[WS_N_ROLES][WSI_SESSION_HEX];

static WsServe *
open_page (const char *folder, gboolean lan)
{
  static char *worker[] = { (char *)"/bin/false", NULL };
  static const char *const hosts[] = { "bench", NULL };
  const WsServeSettings settings = {
    .archive = g_build_filename (folder, lan ? "lan" : "local", NULL),
    .cards = g_build_filename (folder, "cards", NULL),
    .spool = folder,
    .worker = worker,
    .n_workers = 1,
    .lan = lan,
    .hosts = (char *const *)hosts,
    .login = "shop",
  };
  g_mkdir (settings.cards, 0700);
  WsServe *serve = wsi_serve_new (&settings, NULL);
  if (serve == NULL)
    g_error ("no page");
  return serve;
}

int
LLVMFuzzerInitialize (int *argc, char ***argv)
{
  const char *folder = g_dir_make_tmp ("fuzz-page-XXXXXX", NULL);
  (void)argc;
  (void)argv;
  signal (SIGPIPE, SIG_IGN);
  pages[0] = open_page (folder, FALSE);
  pages[1] = open_page (folder, TRUE);
  g_autofree char *card = g_build_filename (folder, "cards", "T.tool", NULL);
  put_file (card, CARD, strlen (CARD));
  for (int role = WS_ROLE_OPERATOR; role < WS_N_ROLES; role++)
  {
    WsServeActor actor = { .role = (WsServeRole)role };
    g_strlcpy (actor.account, wsi_role_name (actor.role), sizeof actor.account);
    wsi_sessions_open (pages[1]->sessions, &actor, sessions[role]);
  }
  return 0;
}

static gboolean
has_line_end (const char *text)
{
  return text != NULL && strpbrk (text, "\r\n") != NULL;
}

static void
check (const WsServeReply *reply)
{
  gsize n;
  const char *text = g_bytes_get_data (reply->body, &n);
  if (reply->status < 200 || reply->status > 599)
    g_error ("an answer of status %u", reply->status);
  if (has_line_end (reply->location) || has_line_end (reply->cookie) ||
      has_line_end (reply->file_name) || has_line_end (reply->tag))
    g_error ("a header of two lines");
  if (g_str_has_prefix (reply->type, "text/html") && memmem (text, n, "<script>", 8) != NULL)
    g_error ("a script in a page");
}

/* Reads the headers; returns who it is by. */
static const char *
add_headers (WsServeRequest *request, char **lines)
{
  const char *as = "";
  for (char **line = lines; *line != NULL; line++)
  {
    char *colon = strchr (*line, ':');
    if (colon == NULL)
      continue;
    *colon = '\0';
    const char *value = g_strstrip (colon + 1);
    if (g_ascii_strcasecmp (*line, "as") == 0)
      as = value;
    else
      wsi_request_add_header (request, *line, value);
  }
  return as;
}

static void
ask (WsServeRequest *request, const char *as, const uint8_t *body, gsize n_body)
{
  guint64 most;
  const char *what;
  WsServe *serve = pages[g_str_equal (as, "local") ? 0 : 1];
  const WsServeRole role = wsi_role_of_name (as);
  if (role != WS_ROLE_NOBODY)
    g_hash_table_insert (request->cookies, g_strdup (WSI_SESSION_COOKIE),
                         g_strdup (sessions[role]));
  request->client = g_strdup ("192.0.2.1");
  g_autoptr (WsServeReply) refused = wsi_serve_admit (serve, request, &most);
  if (refused != NULL)
  {
    check (refused);
    return;
  }
  if (*as != '\0')
    wsi_request_add_header (request, "X-Whetsight-Token", request->token);
  g_autoptr (GBytes) bytes = g_bytes_new (body, MIN (n_body, most));
  if (!wsi_request_set_body (request, bytes, &what))
    return;
  g_autoptr (WsServeReply) reply = wsi_serve_answer (serve, request);
  check (reply);
}

int
LLVMFuzzerTestOneInput (const uint8_t *bytes, size_t n_bytes)
{
  const uint8_t *cut = memmem (bytes, n_bytes, "\n\n", 2);
  const gsize n_head = cut != NULL ? (gsize)(cut - bytes) : n_bytes;
  g_autofree char *head = g_strndup ((const char *)bytes, n_head);
  g_auto (GStrv) lines = g_strsplit (head, "\n", 64);
  char *space = lines[0] != NULL ? strchr (lines[0], ' ') : NULL;
  if (space == NULL)
    return 0;
  *space = '\0';
  g_autoptr (WsServeRequest) request = wsi_request_new (lines[0], space + 1);
  if (request == NULL)
    return 0;
  const char *as = add_headers (request, lines + 1);
  ask (request, as, cut != NULL ? cut + 2 : NULL, cut != NULL ? n_bytes - n_head - 2 : 0);
  return 0;
}
