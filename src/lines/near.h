/* near.h - corners so near to each other that they are meant to be one. */
#ifndef DOVETELL_LINES_NEAR_H
#define DOVETELL_LINES_NEAR_H

#include "chains.h"

/* Draws together the corners that a chain of at most distance_mm joins: *cuts becomes the cuts of the chains with their points
 * moved, to be noded again; *moved says whether there was such a chain (if not, cuts stay as they are). DT_NO_MEMORY. */
dt_status dt_near_gather(const dt_chains *chains, double distance_mm, dt_cuts *cuts, bool *moved);

#endif
