#include "bench/tls.h"

#include <arpa/inet.h>
#include <ifaddrs.h>
#include <netinet/in.h>
#include <string.h>

#include <whetsight/error.h>

#include "late/web.h"

static void
add_address (GPtrArray *names, const struct sockaddr *address)
{
  char text[INET6_ADDRSTRLEN] = "";
  if (address != NULL && address->sa_family == AF_INET)
    inet_ntop (AF_INET, &((const struct sockaddr_in *)(const void *)address)->sin_addr, text,
               sizeof text);
  if (*text != '\0' && !g_ptr_array_find_with_equal_func (names, text, g_str_equal, NULL))
    g_ptr_array_add (names, g_strdup (text));
}

char **
wsi_tls_own_names (void)
{
  struct ifaddrs *addresses = NULL;
  GPtrArray *names = g_ptr_array_new ();
  char *host = g_ascii_strdown (g_get_host_name (), -1);
  g_ptr_array_add (names, host);
  if (strchr (host, '.') == NULL)
    g_ptr_array_add (names, g_strconcat (host, ".local", NULL));
  g_ptr_array_add (names, g_strdup ("localhost"));
  if (getifaddrs (&addresses) == 0)
  {
    for (const struct ifaddrs *one = addresses; one != NULL; one = one->ifa_next)
      add_address (names, one->ifa_addr);
    freeifaddrs (addresses);
  }
  g_ptr_array_add (names, NULL);
  return (char **)g_ptr_array_free (names, FALSE);
}

#ifdef WS_HAVE_MICROHTTPD

#define DAYS 397 /* browsers believe no certificate for longer */

static gboolean
name_it (gnutls_x509_crt_t certificate, const char *name)
{
  struct in_addr address;
  if (inet_pton (AF_INET, name, &address) == 1)
    return gnutls_x509_crt_set_subject_alt_name (certificate, GNUTLS_SAN_IPADDRESS, &address,
                                                 sizeof address, GNUTLS_FSAN_APPEND) == 0;
  return gnutls_x509_crt_set_subject_alt_name (certificate, GNUTLS_SAN_DNSNAME, name,
                                               (unsigned int)strlen (name),
                                               GNUTLS_FSAN_APPEND) == 0;
}

static gboolean
fill (gnutls_x509_crt_t certificate, gnutls_x509_privkey_t key, const char *const *names)
{
  unsigned char serial[16];
  const time_t now = (time_t)(g_get_real_time () / G_USEC_PER_SEC);
  gboolean done = gnutls_rnd (GNUTLS_RND_NONCE, serial, sizeof serial) == 0;
  serial[0] &= 0x7f; /* a positive number */
  for (; done && *names != NULL; names++)
    done = name_it (certificate, *names);
  return done && gnutls_x509_crt_set_version (certificate, 3) == 0 &&
         gnutls_x509_crt_set_serial (certificate, serial, sizeof serial) == 0 &&
         gnutls_x509_crt_set_activation_time (certificate, now - 3600) == 0 &&
         gnutls_x509_crt_set_expiration_time (certificate, now + DAYS * 86400) == 0 &&
         gnutls_x509_crt_set_dn (certificate, "CN=Whetsight bench page", NULL) == 0 &&
         gnutls_x509_crt_set_key (certificate, key) == 0 &&
         gnutls_x509_crt_set_basic_constraints (certificate, 0, -1) == 0 &&
         gnutls_x509_crt_set_key_usage (certificate, GNUTLS_KEY_DIGITAL_SIGNATURE) == 0 &&
         gnutls_x509_crt_set_key_purpose_oid (certificate, GNUTLS_KP_TLS_WWW_SERVER, 0) == 0 &&
         gnutls_x509_crt_sign2 (certificate, certificate, key, GNUTLS_DIG_SHA256, 0) == 0;
}

/* Takes the bytes over. */
static char *
text_of (gnutls_datum_t *bytes)
{
  char *text = g_strndup ((const char *)bytes->data, bytes->size);
  gnutls_free (bytes->data);
  return text;
}

gboolean
wsi_tls_make (const char *const *names, char **certificate, char **key, GError **error)
{
  gnutls_x509_crt_t made = NULL;
  gnutls_x509_privkey_t secret = NULL;
  gnutls_datum_t text = { 0 }, secret_text = { 0 };
  if (!wsi_late_has_web (error))
    return FALSE;
  const gboolean done =
    gnutls_x509_crt_init (&made) == 0 && gnutls_x509_privkey_init (&secret) == 0 &&
    gnutls_x509_privkey_generate2 (secret, GNUTLS_PK_ECDSA,
                                   GNUTLS_CURVE_TO_BITS (GNUTLS_ECC_CURVE_SECP256R1), 0, NULL,
                                   0) == 0 &&
    fill (made, secret, names) && gnutls_x509_crt_export2 (made, GNUTLS_X509_FMT_PEM, &text) == 0 &&
    gnutls_x509_privkey_export2 (secret, GNUTLS_X509_FMT_PEM, &secret_text) == 0;
  if (done)
  {
    *certificate = text_of (&text);
    *key = text_of (&secret_text);
  }
  else
    g_set_error_literal (error, WS_ERROR, WS_ERROR_INTERNAL, "no certificate could be made");
  gnutls_x509_crt_deinit (made);
  gnutls_x509_privkey_deinit (secret);
  return done;
}

char *
wsi_tls_fingerprint (const char *certificate)
{
  unsigned char hash[32];
  size_t n = sizeof hash;
  gnutls_x509_crt_t read = NULL;
  const gnutls_datum_t text = { (unsigned char *)certificate, (unsigned int)strlen (certificate) };
  GString *words = NULL;
  if (gnutls_x509_crt_init (&read) == 0 &&
      gnutls_x509_crt_import (read, &text, GNUTLS_X509_FMT_PEM) == 0 &&
      gnutls_x509_crt_get_fingerprint (read, GNUTLS_DIG_SHA256, hash, &n) == 0)
  {
    words = g_string_new (NULL);
    for (gsize i = 0; i < n; i++)
      g_string_append_printf (words, "%s%02X", i > 0 ? ":" : "", hash[i]);
  }
  gnutls_x509_crt_deinit (read);
  return words != NULL ? g_string_free (words, FALSE) : NULL;
}

#else

gboolean
wsi_tls_make (const char *const *names, char **certificate, char **key, GError **error)
{
  (void)names;
  (void)certificate;
  (void)key;
  g_set_error_literal (error, WS_ERROR, WS_ERROR_USAGE, "this program was built without GnuTLS");
  return FALSE;
}

char *
wsi_tls_fingerprint (const char *certificate)
{
  (void)certificate;
  return NULL;
}

#endif
