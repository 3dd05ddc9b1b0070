/* outline.h - the finished outline of the puzzles on a sheet, chained from the sides that face the outside or a void. */
#ifndef DOVETELL_ASSEMBLY_OUTLINE_H
#define DOVETELL_ASSEMBLY_OUTLINE_H

#include "assembly/problem.h"
#include <dovetell/pieces.h>

/* One region for each puzzle; everything lives in the arena. false: no memory, or a border that does not close. */
bool dt_outline_regions(const dt_pieces *pieces, dt_arena *arena, dt_region **regions, size_t *count);

#endif
