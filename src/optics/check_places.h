/*
 * How finely checks are kept.
 */
#ifndef WS_OPTICS_CHECK_PLACES_H
#define WS_OPTICS_CHECK_PLACES_H

/* Of lengths in the file, 0.1 nm: far below what any artefact is known to. */
#define WS_CHECK_PER_MM 1e7
#define WS_CHECK_PLACES 7

#endif
