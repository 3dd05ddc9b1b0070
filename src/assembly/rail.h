/* rail.h - can the lines of a corner follow the lines that leave a foot? An exact question asked before anything is laid.
 *
 * Vocabulary: a RAIL is the line that leaves a foot, by points at fixed arc lengths with their normals. A corner's leg is known by its
 * points at the same arc lengths. With the corner within two seats of the foot and every point of a leg within a seat of the rail's line,
 * each pair of points gives one strip that the motion (a shift and a small turn) must lie in; "no" means that the strips share no motion.
 */
#ifndef DOVETELL_ASSEMBLY_RAIL_H
#define DOVETELL_ASSEMBLY_RAIL_H

#include "assembly/shore.h"

typedef struct dt_rail {
    uint32_t count;                     /* points before the line's next parting */
    dt_point at[DT_RAIL_SAMPLES];       /* from where the corner goes, in the axes of the plane */
    dt_point normals[DT_RAIL_SAMPLES];
    double room[DT_RAIL_SAMPLES];       /* mm: how far along its normal a point of a leg that follows may lie off */
    double wide[DT_RAIL_SAMPLES];       /* the same for a point at an arc length to which this one is the nearest */
    double swing[DT_RAIL_SAMPLES];      /* mm: how far across the chord from the corner it may */
} dt_rail;

/* way: of the legs that are to follow. corner: where their corner goes. O(samples log points). */
dt_rail dt_rail_of(const dt_shore *shore, dt_way way, dt_point corner, double seat);

/* Could the end (and where rails[1] is not NULL the same corner's end on the other way) follow? On the safe side: a leg that ends before its
 * first sample says nothing. O(samples). */
bool dt_rails_take(const dt_rail *const rails[2], const dt_end *const ends[2], double seat);

#endif
