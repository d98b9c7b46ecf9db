#include "base/testing.h"

#include "bench/request.h"

static void
no_path_leaves_its_place (void **state)
{
  static const char *const targets[] = {
    "/../etc/passwd",
    "/assets/..",
    "/assets/%2e%2e",
    "/assets/%2e%2e%2fsecret",
    "/assets/..%2f..%2fetc%2fpasswd",
    "/assets/a%2fb",
    "/assets/a%5cb",
    "/assets/a\\b",
    "/assets/a%00b",
    "/assets/%0d%0aSet-Cookie:x",
    "/assets/%ff",
    "/assets/%4",
    "/assets/%zz",
    "/assets//page.css",
    "//elsewhere.example/",
    "/assets/",
    "",
    "*",
    "assets/page.css",
    "http://127.0.0.1/",
    "/1/2/3/4/5/6/7/8/9",
    "/?a=%",
    "/?a=%c3",
  };
  (void)state;
  for (gsize i = 0; i < G_N_ELEMENTS (targets); i++)
  {
    g_autoptr (WsServeRequest) request = wsi_request_new ("GET", targets[i]);
    if (request != NULL)
      fail_msg ("%s was taken", targets[i]);
  }
}

static void
paths_and_queries_are_decoded (void **state)
{
  g_autoptr (WsServeRequest) request =
    wsi_request_new ("GET", "/tools/QT%2DD%20%c3%a4?q=a+b%26c&q=later&empty");
  (void)state;
  assert_string_equal (request->path[0], "tools");
  assert_string_equal (request->path[1], "QT-D \xc3\xa4");
  assert_string_equal (wsi_request_query (request, "q"), "a b&c");
  assert_string_equal (wsi_request_query (request, "empty"), "");
  assert_null (wsi_request_field (request, "empty"));
}

static void
names_of_files_stay_in_their_folder (void **state)
{
  static const char *const names[][2] = {
    { "drill.png", "drill.png" },
    { "../../etc/passwd", "passwd" },
    { "C:\\pictures\\drill.png", "drill.png" },
    { "..", "picture.." },
    { ".bashrc", "picture.bashrc" },
    { "", "picture" },
    { "/", "picture" },
    { NULL, "picture" },
    { "a\nb\x1b[2J.png", "a_b_[2J.png" },
    { "\xe2\x80\xae"
      "gnp.exe",
      "_gnp.exe" },
    { "<script>alert(1)<", "<script>alert(1)<" },
  };
  (void)state;
  for (gsize i = 0; i < G_N_ELEMENTS (names); i++)
  {
    g_autofree char *safe = wsi_request_safe_name (names[i][0]);
    assert_string_equal (safe, names[i][1]);
  }
  g_autofree char *long_name = g_strnfill (5000, 'x');
  g_autofree char *safe = wsi_request_safe_name (long_name);
  assert_true (strlen (safe) <= 200);
}

/* TRUE when it was taken. */
static gboolean
take (WsServeRequest *request, const char *type, const char *text)
{
  const char *what = NULL;
  g_autoptr (GBytes) body = g_bytes_new (text, strlen (text));
  wsi_request_add_header (request, "content-type", type);
  return wsi_request_set_body (request, body, &what);
}

#define PART                                                                                       \
  "--xx\r\nContent-Disposition: form-data; name=\"picture\"; filename=\"a\\\"b.png\"\r\n"          \
  "Content-Type: image/png\r\n\r\n\x89PNG\r\n--x\r\n--xx--\r\n"

static void
forms_with_files_are_read (void **state)
{
  g_autoptr (WsServeRequest) request = wsi_request_new ("POST", "/");
  (void)state;
  assert_true (take (request, "multipart/form-data; boundary=xx",
                     "--xx\r\ncontent-disposition: form-data; name=view\r\n\r\ndrill-side\r\n"
                     "--xx\r\nContent-Disposition: form-data; name=\"none\"\r\n\r\n\r\n" PART));
  assert_int_equal (request->parts->len, 3);
  const WsServePart *file = g_ptr_array_index (request->parts, 2);
  assert_string_equal (file->file_name, "a\"b.png");
  /* What looks nearly like its boundary is part of it. */
  assert_int_equal (file->n_bytes, 9);
  g_autofree char *view = wsi_request_field (request, "view");
  assert_string_equal (view, "drill-side");
  assert_null (wsi_request_field (request, "none"));
  assert_null (wsi_request_field (request, "picture"));
}

static void
damaged_forms_are_refused (void **state)
{
  static const char *const forms[][2] = {
    { "multipart/form-data", PART },
    { "multipart/form-data; boundary=", PART },
    { "multipart/form-data; boundary=yy", PART },
    { "multipart/form-data; boundary=xx",
      "--xx\r\nContent-Disposition: form-data; name=a\r\n\r\nb" },
    { "multipart/form-data; boundary=xx", "--xx\r\n\r\nno name\r\n--xx--" },
    { "multipart/form-data; boundary=xx", "--xx" },
    { "multipart/form-data; boundary=xx", "--xxx\r\n" },
    { "application/x-www-form-urlencoded", "a=%" },
    { "application/x-www-form-urlencoded", "a=%00" },
    { "application/json", "[1]" },
    { "application/json", "{\"a\": {\"b\": 1}}" },
    { "application/json", "{\"a\": 1, \"a\": 2}" },
    { "application/json", "{" },
  };
  (void)state;
  for (gsize i = 0; i < G_N_ELEMENTS (forms); i++)
  {
    g_autoptr (WsServeRequest) request = wsi_request_new ("POST", "/");
    if (take (request, forms[i][0], forms[i][1]))
      fail_msg ("taken: %s, %s", forms[i][0], forms[i][1]);
  }
}

static void
too_many_fields_are_refused (void **state)
{
  g_autoptr (GString) pairs = g_string_new (NULL);
  g_autoptr (GString) parts = g_string_new (NULL);
  (void)state;
  for (guint i = 0; i < 1000; i++)
  {
    g_string_append_printf (pairs, "f%u=1&", i);
    g_string_append_printf (parts, "--xx\r\nContent-Disposition: form-data; name=f%u\r\n\r\n1\r\n",
                            i);
  }
  g_string_append (parts, "--xx--\r\n");
  g_autoptr (WsServeRequest) a = wsi_request_new ("POST", "/");
  g_autoptr (WsServeRequest) b = wsi_request_new ("POST", "/");
  assert_false (take (a, "application/x-www-form-urlencoded", pairs->str));
  assert_false (take (b, "multipart/form-data; boundary=xx", parts->str));
}

static void
fields_have_no_control_characters (void **state)
{
  g_autoptr (WsServeRequest) request = wsi_request_new ("POST", "/?a=1%1b2&b=1%0a2");
  g_autofree char *b = wsi_request_field (request, "b");
  (void)state;
  assert_null (wsi_request_field (request, "a"));
  assert_string_equal (b, "1\n2");
}

static void
a_header_that_comes_once_is_noticed_twice (void **state)
{
  g_autoptr (WsServeRequest) request = wsi_request_new ("GET", "/");
  (void)state;
  wsi_request_add_header (request, "Host", "a");
  assert_false (request->twice);
  wsi_request_add_header (request, "hOST", "b");
  assert_true (request->twice);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (no_path_leaves_its_place),
    cmocka_unit_test (paths_and_queries_are_decoded),
    cmocka_unit_test (names_of_files_stay_in_their_folder),
    cmocka_unit_test (forms_with_files_are_read),
    cmocka_unit_test (damaged_forms_are_refused),
    cmocka_unit_test (too_many_fields_are_refused),
    cmocka_unit_test (fields_have_no_control_characters),
    cmocka_unit_test (a_header_that_comes_once_is_noticed_twice),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
