/* compare.h - inside of a comparison: the pieces of two drafts laid on each other. */
#ifndef DOVETELL_ANALYSIS_COMPARE_H
#define DOVETELL_ANALYSIS_COMPARE_H

#include "base/arena.h"
#include <dovetell/compare.h>

typedef struct matching {
    dt_point shift;      /* lays old on now */
    dt_piece_id *became; /* by old piece, DT_OUTSIDE = gone */
    dt_piece_id *was;    /* by new piece, DT_OUTSIDE = new */
    double *differ_mm;   /* by old piece, INFINITY = gone */
    size_t same, changed;
} matching;

/* Each piece of old with the piece of now that covers its place: each holds the other's inner point, and neither is
 * more than twice as large. Arrays in the arena. DT_NO_MEMORY. */
dt_status match_pieces(const dt_pieces *old, const dt_pieces *now, dt_arena *arena, matching *out);

#endif
