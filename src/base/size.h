/*
 * Lengths and drill sizes as people of both systems write them, and lengths told in both.
 */
#ifndef WS_BASE_SIZE_H
#define WS_BASE_SIZE_H

#include <glib.h>

G_BEGIN_DECLS

/* By definition since 1959. */
#define WS_MM_PER_INCH 25.4

/*
 * Reads a whole text as a length: "6.5", "6.5 mm", "0.25 in", "0.25in", "1/4", "1/4 in", "1 1/4",
 * "1-1/4 in", with a sign or without.  A bare decimal number is millimetres, a fraction always
 * inches; its denominator is a power of two up to 128, as on rules and drills.  `in` may be written
 * as a double quote.  FALSE and `mm` untouched otherwise.
 */
gboolean wsi_length_parse (const char *text, double *mm);

/* The same, and drills by their number, "#80" to "#1", and letter, "A" to "Z". */
gboolean wsi_size_parse (const char *text, double *mm);

/* Does the text say its unit, by name or by being a fraction, a number or a letter? */
gboolean wsi_size_says_unit (const char *text);

G_END_DECLS

#endif
