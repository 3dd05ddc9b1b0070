/* soundings.h - a few points deep inside each body: where one of them falls on ground that is taken, the body cannot lie there.
 *
 * Invariant: the cell of the mesh that a sounding falls into is one of the cells of the placement that the body would be, so an answer
 * says nothing that the cells would not say; but it needs no placement. */
#ifndef DOVETELL_ASSEMBLY_SOUNDINGS_H
#define DOVETELL_ASSEMBLY_SOUNDINGS_H

#include "assembly/board.h"

typedef struct dt_soundings {
    dt_point **points;       /* per body, in its axes, far apart */
    double **depth;          /* of each, beyond what it needs, mm */
    uint32_t *count;
    uint32_t body_count;
    const dt_board *board;
} dt_soundings;

/* false: no memory; can be freed in any case. O(bodies x points x cells of a piece). */
bool dt_soundings_make(const dt_board *board, dt_soundings *out);
void dt_soundings_free(dt_soundings *soundings);

/* Would the body, so laid, take up a cell that is taken? Then *cell is it, DT_NONE beyond the mesh. "No" says nothing. */
bool dt_soundings_meet(const dt_soundings *soundings, uint32_t body, dt_stand stand, const uint64_t *taken, uint32_t *cell);

#endif
