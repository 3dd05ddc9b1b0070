/* neck.h - the narrowest place of a piece: definition and method in neck.c. */
#ifndef DOVETELL_PIECES_NECK_H
#define DOVETELL_PIECES_NECK_H

#include "border.h"

/* largest = border_largest_disc(b). Exact on the polygon (an even strip counts as uneven by up to 0.05 mm before it is a neck).
 * Near linear in the points as a rule; *work (0 at first) grows by what it took, and where that is too much for all pieces together the
 * answer is DT_TOO_LARGE. DT_NO_MEMORY. */
dt_status neck_find(const border *b, disc largest, uint64_t *work, dt_neck *out);

#endif
