/* interlock.h - whether a group of pieces comes off by one straight move, and which.
 *
 * BLOCKING GRAPH of a direction: a link u -> v when u, moved in that direction, runs into v. A group can move exactly
 * when no link leaves it; there is such a group exactly when the graph is not strongly connected (Wilson and Latombe,
 * Geometric reasoning about mechanical assembly, Artificial Intelligence 71, 1994). Puzzles on one sheet are judged one
 * by one.
 */
#ifndef DOVETELL_GRAPH_INTERLOCK_H
#define DOVETELL_GRAPH_INTERLOCK_H

#include "graph/held.h"
#include <dovetell/settings.h>

typedef struct loose_group {
    dt_piece_id *pieces; /* ascending; owned; NULL when nothing comes off */
    size_t count;
    double direction; /* degrees; NAN when nothing comes off */
} loose_group;

dt_status loose_group_single(const loosest_piece *loosest, loose_group *out);

/* The smallest group found that comes off, count 0 if there is none. No single piece may come off (held.h). freedoms[i]
 * belongs to pairs[i]. DT_NO_MEMORY, DT_LIBRARY, DT_STOPPED. Near linear in pairs where most joints lock. */
dt_status interlock_find(const solids *s, solids_scratch *scratch, const neighbours *n, const freedom *freedoms, const dt_watch *watch,
                         loose_group *out);

/* The joint between the group and the rest with the longest border: the best place for a knob. DT_OUTSIDE twice where
 * no joint holds the group. */
void loose_group_mend(const loose_group *group, const neighbours *n, dt_piece_id *a, dt_piece_id *b);

#endif
