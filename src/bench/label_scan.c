#include "bench/label_scan.h"

#include <dlfcn.h>
#include <unistd.h>

#include <whetsight/error.h>

#include "bench/grey_jpeg.h"
#include "image/confined.h"

#define MOST_S 5
#define MOST_SIDE 1600 /* px: a label that fills a tenth of it is read */

/* zbar.h of libzbar 0.23, LGPL 2.1.  It is opened where a label is read: nothing else of the
 * program waits for it and for what it brings along. */
#define ZBAR_LIBRARY "libzbar.so.0"
#define ZBAR_QRCODE 64
#define ZBAR_CFG_ENABLE 0
#define FOURCC_Y800 0x30303859UL

typedef struct
{
  void *module;
  void *(*scanner_create) (void);
  void (*scanner_destroy) (void *);
  int (*set_config) (void *, int, int, int);
  void *(*image_create) (void);
  void (*image_destroy) (void *);
  void (*set_format) (void *, unsigned long);
  void (*set_size) (void *, unsigned, unsigned);
  void (*set_data) (void *, const void *, unsigned long, void *);
  int (*scan) (void *, void *);
  const void *(*first_symbol) (const void *);
  const char *(*symbol_data) (const void *);
} Zbar;

static gboolean
open_zbar (Zbar *zbar)
{
  const struct
  {
    const char *name;
    void *place;
  } functions[] = {
    { "zbar_image_scanner_create", &zbar->scanner_create },
    { "zbar_image_scanner_destroy", &zbar->scanner_destroy },
    { "zbar_image_scanner_set_config", &zbar->set_config },
    { "zbar_image_create", &zbar->image_create },
    { "zbar_image_destroy", &zbar->image_destroy },
    { "zbar_image_set_format", &zbar->set_format },
    { "zbar_image_set_size", &zbar->set_size },
    { "zbar_image_set_data", &zbar->set_data },
    { "zbar_scan_image", &zbar->scan },
    { "zbar_image_first_symbol", &zbar->first_symbol },
    { "zbar_symbol_get_data", &zbar->symbol_data },
  };
  zbar->module = dlopen (ZBAR_LIBRARY, RTLD_NOW | RTLD_LOCAL);
  for (gsize i = 0; zbar->module != NULL && i < G_N_ELEMENTS (functions); i++)
  {
    /* POSIX lets a function be got as a pointer to data. */
    void *found = dlsym (zbar->module, functions[i].name);
    if (found == NULL)
      return FALSE;
    *(void **)functions[i].place = found;
  }
  return zbar->module != NULL;
}

/* Every so many pixels of the picture as codes; sets the size. */
static guint8 *
reduce (const WsImage *image, guint *width, guint *height)
{
  WsGreyTable table;
  const guint step = 1 + (MAX (image->width, image->height) - 1) / MOST_SIDE;
  *width = MAX (image->width / step, 1);
  *height = MAX (image->height / step, 1);
  guint8 *codes = g_malloc ((gsize)*width * *height);
  wsi_grey_table_fill (&table);
  for (guint y = 0; y < *height; y++)
    for (guint x = 0; x < *width; x++)
      codes[(gsize)y * *width + x] =
        table
          .code[image->linear[(gsize)y * step * image->width + (gsize)x * step] >> WSI_GREY_SHIFT];
  return codes;
}

static char *
scan (const Zbar *zbar, const guint8 *codes, guint width, guint height)
{
  void *scanner = zbar->scanner_create (), *image = zbar->image_create ();
  zbar->set_config (scanner, 0, ZBAR_CFG_ENABLE, 0);
  zbar->set_config (scanner, ZBAR_QRCODE, ZBAR_CFG_ENABLE, 1);
  zbar->set_format (image, FOURCC_Y800);
  zbar->set_size (image, width, height);
  zbar->set_data (image, codes, (unsigned long)width * height, NULL);
  const void *symbol = zbar->scan (scanner, image) > 0 ? zbar->first_symbol (image) : NULL;
  const char *text = symbol != NULL ? zbar->symbol_data (symbol) : NULL;
  char *copy = text != NULL && g_utf8_validate (text, -1, NULL) ? g_strdup (text) : NULL;
  zbar->image_destroy (image);
  zbar->scanner_destroy (scanner);
  return copy;
}

char *
wsi_label_scan (const char *path, GError **error)
{
  Zbar zbar = { .module = NULL };
  guint width, height;
  const WsImageLimits limits = WS_IMAGE_LIMITS_DEFAULT;
  if (!open_zbar (&zbar))
  {
    g_set_error_literal (error, WS_ERROR, WS_ERROR_NO_INPUT,
                         "labels can't be read here: libzbar0 isn't installed");
    return NULL;
  }
  g_autoptr (WsImage) image = wsi_image_read_confined (path, &limits, WS_IMAGE_GREY, error);
  if (image == NULL)
    return NULL;
  g_autofree guint8 *codes = reduce (image, &width, &height);
  alarm (MOST_S);
  char *text = scan (&zbar, codes, width, height);
  alarm (0);
  return text;
}
