/*
 * Numbers as people write and read them, whatever the locale.
 */
#ifndef WS_BASE_NUMBER_H
#define WS_BASE_NUMBER_H

#include <glib.h>

G_BEGIN_DECLS

/* Reads a whole text as a decimal number: sign, digits, optionally a point followed by
 * digits, optionally an exponent.  Nothing else: no spaces, hex, "inf" or "nan", and no
 * comma.  FALSE and `value` untouched otherwise, or when it overflows. */
gboolean wsi_number_parse (const char *text, double *value);

/* Decimal places that show the uncertainty `U` to two significant digits (JCGM 100:2008,
 * 7.2.6), 0 .. 6; 4 when U is not a positive number. */
guint wsi_number_places (double U);

/* The greatest of 1, 2 and 5 times a power of ten that isn't above `value`, which is > 0: for
 * scales. */
double wsi_number_round_down (double value);

/* `value` at so many decimal places, and not below it: for what must come off at least.  What is
 * less than a thousandth of the last place above a number is that number. */
double wsi_number_round_up (double value, guint places);

/* `value` with so many decimal places; "0.00", never "-0.00".  Free with g_free(). */
char *wsi_number_format (double value, guint places);

/* With as many significant digits, 15 to 17, as wsi_number_parse() needs to get the same double
 * again.  Free with g_free(). */
char *wsi_number_exact (double value);

/* The double nearest to the decimal between `from` and `behind`: digits, perhaps with a point, a
 * minus or an exponent, and behind them none of those. */
double wsi_number_decimal (const char *from, const char *behind);

G_END_DECLS

#endif
