/*
 * The language of what people read.  Texts stand in the code in English, marked for xgettext; their
 * translations are the catalogues of src/po, which are part of the program.  So a page may answer
 * one browser in German and the next in English, whatever locales the computer has.  What programs
 * read, records above all, is never translated.
 */
#ifndef WS_BASE_LANGUAGE_H
#define WS_BASE_LANGUAGE_H

#include <glib.h>

G_BEGIN_DECLS

/* Marks a text and translates it; the second marks one that is translated where it is shown. */
/* The name that translated programs have it by. */
/* NOLINTBEGIN(bugprone-reserved-identifier) */
#define _(text) wsi_language_text (text)
/* NOLINTEND(bugprone-reserved-identifier) */
#define N_(text) text

typedef struct
{
  const char *language; /* "de" */
  const guint8 *mo;     /* as msgfmt writes it, the least byte first */
  gsize n_bytes;
} WsCatalogue;

/* Ends in one without a language. */
extern const WsCatalogue wsi_catalogues[];

/* The language of this thread from now on: the first of the list that there is, "de-DE,de;q=0.9,en"
 * as a browser sends it or "de_DE.UTF-8" as a locale is named; English for NULL and for others. */
void wsi_language_use (const char *wanted);

/* "en", "de"; static. */
const char *wsi_language_code (void);

/* The text in this thread's language, or itself; borrowed for as long as the text is. */
const char *wsi_language_text (const char *english) G_GNUC_FORMAT (1);

/* Texts of this thread's catalogue, 0 in English; the i-th, and its translation where that is
 * wanted; static. */
guint wsi_language_count (void);
const char *wsi_language_nth (guint i, const char **translated);

G_END_DECLS

#endif
