/* touch.h - corners that lie beside a line without touching it, though no line ends there loose. */
#ifndef DOVETELL_LINES_TOUCH_H
#define DOVETELL_LINES_TOUCH_H

#include "gaps.h"

/* Finds the corners of the drawing where a line turns, or two or more meet, and that lie beside a line that they do not touch: as near as
 * doubled lines are to each other, and at least DT_SAME_MM. Appends to cuts what joins them, to be noded again, and to gaps, as
 * dt_gaps_close does, a fault for each join of DT_SAME_MM or more. Loose ends are left to dt_gaps_close.
 * DT_NO_MEMORY, or DT_TOO_LARGE with a sentence. O(n + pairs within reach). */
dt_status dt_touch_join(const dt_chains *chains, const dt_gap_options *options, dt_cuts *cuts, dt_faults *gaps, dt_error *error);

#endif
