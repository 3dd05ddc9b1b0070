/* looks.h - what a person can tell of a piece at sight: whether it is an edge or a corner piece.
 *
 * A side has one of three looks: PLAIN when a long enough run of it is straight, or bent as the rim of this puzzle is
 * bent; else KNOBBED when it turns back on itself; else WAVY. A piece also looks like a CORNER when two plain runs meet
 * at a corner. The rim asks for the look it has; a piece that shows the same look somewhere, if only inside, comes into
 * question for it.
 */
#ifndef DOVETELL_RATING_LOOKS_H
#define DOVETELL_RATING_LOOKS_H

#include "base/arena.h"
#include <dovetell/pieces.h>

enum { LOOK_PLAIN = 1, LOOK_WAVY = 2, LOOK_KNOBBED = 4, LOOK_CORNER = 8 };

typedef struct looks {
    uint8_t asks;  /* of the rim at this place; 0 for an inner piece */
    uint8_t shows; /* of the whole outline, asks included */
} looks;

/* Looks of all pieces, in the arena. eye_mm sets the scale of all that is smaller than a person sees. O(outline
 * points). */
dt_status looks_of_pieces(const dt_pieces *pieces, double eye_mm, dt_arena *arena, const looks **out);

#endif
