/* witness.h - the least that has to be shown of another assembly. */
#ifndef DOVETELL_ASSEMBLY_WITNESS_H
#define DOVETELL_ASSEMBLY_WITNESS_H

#include <dovetell/assembly.h>

/* Leaves the fewest of the moves that are another assembly by themselves: pieces that trade places among each other, all others at
 * home. The moves must have passed dt_assembly_verify; what is left has, too. false: no memory. O(moves^2) and the checks. */
bool dt_witness_reduce(const dt_pieces *pieces, const dt_settings *settings, dt_move *moves, size_t *count);

#endif
