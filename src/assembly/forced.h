/* forced.h - which pieces have their drawn places in every assembly?
 *
 * Vocabulary: a piece is FORCED when every assembly that has the pieces known so far in their drawn places has it in
 * its own, too. A WEDGE is the corner (or the straight stretch) that a piece has at a junction. A wedge between two
 * placed lines whose gap nothing else can fill makes its piece forced.
 *
 * The first piece is one that lies in a corner of the finished outline in every assembly, since there are only as many
 * pieces that fit into corners as there are corners; or one of a few of which one does. Where it lies in another corner than its own, the whole is turned,
 * or there has to be a dead end along the outline. Where all this cannot be shown nothing is said.
 */
#ifndef DOVETELL_ASSEMBLY_FORCED_H
#define DOVETELL_ASSEMBLY_FORCED_H

#include "assembly/problem.h"
#include <dovetell/pieces.h>
#include <dovetell/settings.h>

typedef struct dt_forced {
    bool all;
    const bool *pieces;  /* by piece: is it forced? In the arena */
    size_t count;        /* 0 where nothing can be said */
    uint64_t steps; /* tips that were compared with a gap */
} dt_forced;

/* region: of the one puzzle. room: mm that a line may lie off the line that it follows. Nothing is forced where
 * settings->steps did not suffice or watch stops it. false: no memory. */
bool dt_forced_find(const dt_pieces *pieces, const dt_region *region, const dt_settings *settings, double room,
                    const dt_watch *watch, dt_arena *arena, dt_forced *out);

#endif
