#include "bench/listen.h"

#include <whetsight/error.h>

#ifdef WS_HAVE_MICROHTTPD

#include <arpa/inet.h>
#include <netinet/in.h>
#include <string.h>

#include "bench/body.h"
#include "bench/door.h"
#include "bench/line.h"
#include "late/web.h"

#define MOST_CONNECTIONS 256
#define MOST_A_CLIENT 128
#define IDLE_S 15
#define HEAD_BYTES 32768    /* of a connection: its request's head and its answer's */
#define STACK_BYTES 1048576 /* of a connection's thread: drawing a page of paper takes most */

struct WsListener
{
  struct MHD_Daemon *daemon, *daemon6; /* the second of IPv6's loopback, or NULL */
  WsServe *serve;
  WsLines *lines;
  WsSpool *spool;
  guint port;
};

/* One request as it comes in. */
typedef struct
{
  char *target;
  WsServeRequest *request;
  WsBody *body;
  WsLine *line;
  gboolean admitted;
} Coming;

/* ---- The answer ----------------------------------------------------------------------------- */

/* Nothing is loaded from elsewhere, no script stands in a page, nobody frames it. */
#define POLICY                                                                                     \
  "default-src 'none'; img-src 'self' blob:; style-src 'self'; script-src 'self'; connect-src "    \
  "'self'; manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
#define PICTURE_POLICY "default-src 'none'; sandbox; frame-ancestors 'none'"

static void
add_headers (struct MHD_Response *response, const WsServeReply *reply)
{
  const struct
  {
    const char *name, *value;
  } headers[] = {
    { "Content-Type", reply->type },
    { "Content-Security-Policy", reply->is_picture ? PICTURE_POLICY : POLICY },
    { "X-Content-Type-Options", "nosniff" },
    { "Referrer-Policy", "same-origin" },
    { "Cross-Origin-Opener-Policy", "same-origin" },
    { "Cross-Origin-Resource-Policy", "same-origin" },
    { "Permissions-Policy", "camera=(self), microphone=(), geolocation=()" },
    { "Cache-Control", reply->tag != NULL ? "private, no-cache" : "no-store" },
    { "Location", reply->location },
    { "Set-Cookie", reply->cookie },
    { "Allow", reply->allow },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (headers); i++)
    if (headers[i].value != NULL)
      MHD_add_response_header (response, headers[i].name, headers[i].value);
  g_autofree char *tag = reply->tag != NULL ? g_strdup_printf ("\"%s\"", reply->tag) : NULL;
  g_autofree char *retry = g_strdup_printf ("%u", reply->retry_after);
  g_autofree char *name = reply->file_name != NULL
                            ? g_strdup_printf ("attachment; filename=\"%s\"", reply->file_name)
                            : NULL;
  if (tag != NULL)
    MHD_add_response_header (response, "ETag", tag);
  if (reply->retry_after > 0)
    MHD_add_response_header (response, "Retry-After", retry);
  if (name != NULL)
    MHD_add_response_header (response, "Content-Disposition", name);
}

static gboolean
is_known (const WsServeReply *reply, const WsServeRequest *request)
{
  const char *known = request != NULL ? wsi_request_header (request, "if-none-match") : NULL;
  return reply->tag != NULL && known != NULL && strstr (known, reply->tag) != NULL;
}

static void
unref_bytes (void *bytes)
{
  g_bytes_unref (bytes);
}

/* Takes the reply over.  `whole`: the request was read to its end, so another one may follow. */
static enum MHD_Result
send_reply (struct MHD_Connection *connection, const Coming *coming, WsServeReply *reply,
            gboolean whole)
{
  gsize n_bytes;
  guint status = reply->status;
  const char *bytes = g_bytes_get_data (reply->body, &n_bytes);
  const gboolean known = is_known (reply, coming->request);
  if (known)
    status = MHD_HTTP_NOT_MODIFIED;
  /* The body stays until it was sent. */
  struct MHD_Response *response = MHD_create_response_from_buffer_with_free_callback_cls (
    known ? 0 : n_bytes, (void *)bytes, unref_bytes, g_bytes_ref (reply->body));
  if (response == NULL)
  {
    wsi_reply_free (reply);
    return MHD_NO;
  }
  add_headers (response, reply);
  /* Whoever is to come again later comes by a new connection: this one will have been cut. */
  if (!whole || reply->retry_after > 0)
    MHD_add_response_header (response, "Connection", "close");
  const enum MHD_Result queued = MHD_queue_response (connection, status, response);
  MHD_destroy_response (response);
  wsi_reply_free (reply);
  if (coming->line != NULL)
    wsi_line_sends (coming->line);
  return queued;
}

/* ---- The request ---------------------------------------------------------------------------- */

static enum MHD_Result
take_header (void *data, enum MHD_ValueKind kind, const char *name, const char *value)
{
  (void)kind;
  wsi_request_add_header (data, name, value != NULL ? value : "");
  return MHD_YES;
}

static char *
client_of (struct MHD_Connection *connection)
{
  char text[INET6_ADDRSTRLEN] = "?";
  const union MHD_ConnectionInfo *info =
    MHD_get_connection_info (connection, MHD_CONNECTION_INFO_CLIENT_ADDRESS);
  const struct sockaddr *address = info != NULL ? info->client_addr : NULL;
  if (address != NULL && address->sa_family == AF_INET)
    inet_ntop (AF_INET, &((const struct sockaddr_in *)(const void *)address)->sin_addr, text,
               sizeof text);
  else if (address != NULL && address->sa_family == AF_INET6)
    inet_ntop (AF_INET6, &((const struct sockaddr_in6 *)(const void *)address)->sin6_addr, text,
               sizeof text);
  return g_strdup (text);
}

/* A body has one length, told one way: two that disagree are how requests are smuggled past
 * whoever stands between.  FALSE for what isn't so. */
static gboolean
read_length (const WsServeRequest *request, guint64 *length, gboolean *chunked)
{
  const char *text = wsi_request_header (request, "content-length");
  const char *coding = wsi_request_header (request, "transfer-encoding");
  *length = 0;
  *chunked = coding != NULL;
  if (coding != NULL && (text != NULL || g_ascii_strcasecmp (coding, "chunked") != 0))
    return FALSE;
  return text == NULL || g_ascii_string_to_unsigned (text, 10, 0, G_MAXINT64, length, NULL);
}

/* NULL when the body may come. */
static WsServeReply *
admit (WsListener *listener, struct MHD_Connection *connection, Coming *coming)
{
  guint64 most, length;
  gboolean chunked;
  WsServeRequest *request = coming->request;
  request->client = client_of (connection);
  MHD_get_connection_values (connection, MHD_HEADER_KIND, take_header, request);
  if (!read_length (request, &length, &chunked))
    return wsi_serve_trouble (request, 400, "The length of what was sent is told in two ways.");
  WsServeReply *reply = wsi_serve_admit (listener->serve, request, &most);
  if (reply != NULL)
    return reply;
  if (length > most)
    return wsi_serve_trouble (request, 413, "What was sent is longer than may be sent here.");
  coming->body = wsi_body_new (listener->spool, most);
  wsi_line_reads (coming->line, chunked ? most : length);
  coming->admitted = TRUE;
  return NULL;
}

static WsServeReply *
answer (WsListener *listener, Coming *coming)
{
  const char *what = "The body can't be read.";
  g_autoptr (GBytes) bytes = wsi_body_take (coming->body);
  if (bytes == NULL)
    return wsi_serve_trouble (coming->request, 503, "No room for what was sent; try again later.");
  if (!wsi_request_set_body (coming->request, bytes, &what))
    return wsi_serve_trouble (coming->request, 400, what);
  return wsi_serve_answer (listener->serve, coming->request);
}

static enum MHD_Result
refuse_target (struct MHD_Connection *connection, const Coming *coming)
{
  static const char words[] = "There is no such path here.\n";
  return send_reply (connection, coming,
                     wsi_reply_take_text (404, "text/plain; charset=utf-8", g_strdup (words)),
                     FALSE);
}

static enum MHD_Result
handle (void *data, struct MHD_Connection *connection, const char *url, const char *method,
        const char *version, const char *upload, size_t *n_upload, void **kept)
{
  WsListener *listener = data;
  Coming *coming = *kept;
  (void)url;
  (void)version;
  if (coming == NULL || coming->target == NULL)
    return MHD_NO;
  if (coming->request == NULL)
  {
    coming->line = wsi_lines_find (listener->lines, connection);
    coming->request = wsi_request_new (method, coming->target);
    if (coming->request == NULL)
      return refuse_target (connection, coming);
    WsServeReply *reply = admit (listener, connection, coming);
    return reply == NULL ? MHD_YES : send_reply (connection, coming, reply, FALSE);
  }
  if (!coming->admitted)
    return MHD_NO;
  if (*n_upload > 0)
  {
    const gboolean fits = wsi_body_add (coming->body, upload, *n_upload);
    *n_upload = 0;
    return fits ? MHD_YES : MHD_NO;
  }
  wsi_line_works (coming->line);
  return send_reply (connection, coming, answer (listener, coming), TRUE);
}

/* ---- Connections ---------------------------------------------------------------------------- */

static void *
begin_request (void *data, const char *target, struct MHD_Connection *connection)
{
  (void)data;
  (void)connection;
  Coming *coming = g_new0 (Coming, 1);
  coming->target = g_strdup (target);
  return coming;
}

static void
end_request (void *data, struct MHD_Connection *connection, void **kept,
             enum MHD_RequestTerminationCode code)
{
  Coming *coming = *kept;
  (void)data;
  (void)connection;
  (void)code;
  if (coming == NULL)
    return;
  if (coming->line != NULL)
    wsi_line_waits (coming->line);
  wsi_request_free (coming->request);
  wsi_body_free (coming->body);
  g_free (coming->target);
  g_free (coming);
  *kept = NULL;
}

static void
note_connection (void *data, struct MHD_Connection *connection, void **kept,
                 enum MHD_ConnectionNotificationCode code)
{
  WsListener *listener = data;
  const union MHD_ConnectionInfo *info =
    MHD_get_connection_info (connection, MHD_CONNECTION_INFO_CONNECTION_FD);
  (void)kept;
  if (code == MHD_CONNECTION_NOTIFY_STARTED && info != NULL)
    wsi_lines_add (listener->lines, connection, info->connect_fd);
  else if (code == MHD_CONNECTION_NOTIFY_CLOSED)
    wsi_lines_remove (listener->lines, connection);
}

/* Paths are decoded by the request itself. */
static size_t
leave_as_it_is (void *data, struct MHD_Connection *connection, char *text)
{
  (void)data;
  (void)connection;
  return strlen (text);
}

static void
be_quiet (void *data, const char *format, va_list arguments)
{
  (void)data;
  (void)format;
  (void)arguments;
}

/* `more`: flags for that kind of address. */
static struct MHD_Daemon *
start (WsListener *listener, const WsListenTls *tls, guint more, const void *address)
{
  const guint16 port = ntohs (((const struct sockaddr_in *)address)->sin_port);
  const struct MHD_OptionItem secured[] = {
    { MHD_OPTION_HTTPS_MEM_KEY, 0, (void *)tls->key },
    { MHD_OPTION_HTTPS_MEM_CERT, 0, (void *)tls->certificate },
    { MHD_OPTION_HTTPS_PRIORITIES, 0, "SECURE128:-VERS-ALL:+VERS-TLS1.3:+VERS-TLS1.2" },
    { MHD_OPTION_END, 0, NULL },
  };
  const struct MHD_OptionItem plain[] = { { MHD_OPTION_END, 0, NULL } };
  guint flags = MHD_USE_THREAD_PER_CONNECTION | MHD_USE_INTERNAL_POLLING_THREAD | MHD_USE_POLL |
                MHD_USE_ERROR_LOG | more;
  if (tls->key != NULL)
    flags |= MHD_USE_TLS;
  return MHD_start_daemon (
    flags, port, NULL, NULL, handle, listener, MHD_OPTION_EXTERNAL_LOGGER, be_quiet, NULL,
    MHD_OPTION_SOCK_ADDR, address, MHD_OPTION_CONNECTION_LIMIT, (unsigned int)MOST_CONNECTIONS,
    MHD_OPTION_PER_IP_CONNECTION_LIMIT, (unsigned int)MOST_A_CLIENT, MHD_OPTION_CONNECTION_TIMEOUT,
    (unsigned int)IDLE_S, MHD_OPTION_CONNECTION_MEMORY_LIMIT, (size_t)HEAD_BYTES,
    MHD_OPTION_THREAD_STACK_SIZE, (size_t)STACK_BYTES, MHD_OPTION_STRICT_FOR_CLIENT, 1,
    MHD_OPTION_URI_LOG_CALLBACK, begin_request, NULL, MHD_OPTION_UNESCAPE_CALLBACK, leave_as_it_is,
    NULL, MHD_OPTION_NOTIFY_COMPLETED, end_request, NULL, MHD_OPTION_NOTIFY_CONNECTION,
    note_connection, listener, MHD_OPTION_ARRAY, tls->key != NULL ? secured : plain,
    MHD_OPTION_END);
}

static guint
port_of (const WsListener *listener)
{
  const union MHD_DaemonInfo *info =
    listener->daemon != NULL ? MHD_get_daemon_info (listener->daemon, MHD_DAEMON_INFO_BIND_PORT)
                             : NULL;
  return info != NULL ? info->port : listener->serve->settings.port;
}

/* The network by one socket for both kinds of address, where there is IPv6.  This computer alone by
 * two, since each kind has a loopback of its own; without IPv6's the other is enough. */
static void
start_all (WsListener *listener, const WsListenTls *tls)
{
  const gboolean lan = listener->serve->settings.lan;
  const guint16 port = (guint16)listener->serve->settings.port;
  const struct sockaddr_in address = {
    .sin_family = AF_INET,
    .sin_port = htons (port),
    .sin_addr = { htonl (lan ? INADDR_ANY : INADDR_LOOPBACK) },
  };
  struct sockaddr_in6 address6 = { .sin6_family = AF_INET6,
                                   .sin6_port = htons (port),
                                   .sin6_addr = lan ? in6addr_any : in6addr_loopback };
  if (lan)
    listener->daemon = start (listener, tls, MHD_USE_DUAL_STACK, &address6);
  if (listener->daemon == NULL)
    listener->daemon = start (listener, tls, 0, &address);
  listener->port = port_of (listener);
  address6.sin6_port = htons ((guint16)listener->port);
  if (!lan && listener->daemon != NULL)
    listener->daemon6 = start (listener, tls, MHD_USE_IPv6, &address6);
}

WsListener *
wsi_listener_new (WsServe *serve, const WsListenTls *tls, GError **error)
{
  if (!wsi_late_has_web (error))
    return NULL;
  g_autoptr (WsListener) listener = g_new0 (WsListener, 1);
  listener->serve = serve;
  listener->lines = wsi_lines_new ();
  listener->spool = wsi_spool_new (serve->settings.spool);
  start_all (listener, tls);
  if (listener->daemon != NULL)
    return g_steal_pointer (&listener);
  g_set_error (
    error, WS_ERROR, WS_ERROR_CANT_WRITE,
    "can't listen at port %u: it is taken, or the certificate and key aren't PEM and don't "
    "belong together; give another one with --port",
    serve->settings.port);
  return NULL;
}

void
wsi_listener_free (WsListener *listener)
{
  if (listener == NULL)
    return;
  if (listener->daemon6 != NULL)
    MHD_stop_daemon (listener->daemon6);
  if (listener->daemon != NULL)
    MHD_stop_daemon (listener->daemon);
  wsi_lines_free (listener->lines);
  wsi_spool_free (listener->spool);
  g_free (listener);
}

void
wsi_listener_cut_slow (WsListener *listener)
{
  wsi_lines_cut (listener->lines, g_get_monotonic_time ());
}

gboolean
wsi_listener_can (GError **error)
{
  (void)error;
  return TRUE;
}

#else

struct WsListener
{
  guint port;
};

gboolean
wsi_listener_can (GError **error)
{
  g_set_error_literal (
    error, WS_ERROR, WS_ERROR_USAGE,
    "this program was built without libmicrohttpd, so it serves no page; build it "
    "with the package libmicrohttpd-dev");
  return FALSE;
}

WsListener *
wsi_listener_new (WsServe *serve, const WsListenTls *tls, GError **error)
{
  (void)serve;
  (void)tls;
  wsi_listener_can (error);
  return NULL;
}

void
wsi_listener_free (WsListener *listener)
{
  g_free (listener);
}

void
wsi_listener_cut_slow (WsListener *listener)
{
  (void)listener;
}

#endif

guint
wsi_listener_port (const WsListener *listener)
{
  return listener->port;
}
