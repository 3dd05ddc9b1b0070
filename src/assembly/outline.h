/* outline.h - the finished outline of the puzzles on a sheet, chained from the sides that face the outside or a void. */
#ifndef DOVETELL_ASSEMBLY_OUTLINE_H
#define DOVETELL_ASSEMBLY_OUTLINE_H

#include "assembly/problem.h"
#include <dovetell/pieces.h>

/* One region for each puzzle; everything lives in the arena. false: no memory, or a border that does not close. */
bool dt_outline_regions(const dt_pieces *pieces, dt_arena *arena, dt_region **regions, size_t *count);

/* What is left to fill where some pieces lie as drawn (lies: by piece; not all do): one region, which may have several
 * outlines, in any order with its voids. false as above. */
bool dt_outline_rest(const dt_pieces *pieces, const bool *lies, dt_arena *arena, dt_region *region);

#endif
