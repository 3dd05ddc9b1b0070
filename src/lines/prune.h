/* prune.h - which chains bound no face: dangles and bridges. */
#ifndef DOVETELL_LINES_PRUNE_H
#define DOVETELL_LINES_PRUNE_H

#include "chains.h"

typedef enum dt_chain_fate { DT_CHAIN_KEPT, DT_CHAIN_DANGLE, DT_CHAIN_BRIDGE } dt_chain_fate;

/* fate[c] for each chain: a dangle is taken away because one of its ends holds nothing else (again and again), a bridge because
 * it is the only way between its two ends. DT_NO_MEMORY. O(n). Source: Tarjan, A note on finding the bridges of a graph, 1974. */
dt_status dt_prune(const dt_chains *chains, dt_chain_fate *fate);

#endif
