/* bars.h - what bars a candidate from being laid, remembered: as long as it lies, one look says no.
 *
 * Vocabulary: the BAR of a listed candidate is a cell of the mesh that it would take up and that is taken, or a laid placement that it
 * clashes with. A placement is CLEAR of the first so many that are laid once it has been compared with each of them.
 */
#ifndef DOVETELL_ASSEMBLY_BARS_H
#define DOVETELL_ASSEMBLY_BARS_H

#include "assembly/state.h"

/* The i-th candidate of a list, or DT_NONE where it may not be laid: kinds left, ranks, and the exact pair test have had their say.
 * O(1) as long as its bar lies, else O(laid). false: no memory. */
bool dt_bars_candidate(dt_state *state, const dt_list *list, uint32_t i, uint32_t *placement);

/* The first of the laid that a placement clashes with, by its place in `laid`, or DT_NONE. false: no memory. */
bool dt_bars_first(dt_state *state, uint32_t placement, uint32_t *laid);

#endif
