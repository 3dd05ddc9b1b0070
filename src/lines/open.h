/* open.h - gaps too wide to be closed: lines that face each other across them. */
#ifndef DOVETELL_LINES_OPEN_H
#define DOVETELL_LINES_OPEN_H

#include "loose.h"

/* Looks for pairs of open ends that face each other, and for open ends that aim straight at a line, up to 5 mm away. Where such a gap
 * lies outside all faces, an outline is open (DT_FAULT_OPEN_OUTLINE); where it lies in a face that is much larger than the
 * others, or is at most three join distances wide, two pieces have run together (DT_FAULT_GAP, not mended, with the
 * face in pieces[0]). Such a fault takes the place of the stray or tail of its ends. Of other strays and tails it notes whether they
 * run out over the outermost border. DT_NO_MEMORY. O((n + k) log). */
dt_status dt_open_report(const dt_net *net, const dt_open_ends *ends, double join_mm, dt_faults *faults);

/* The two open ends nearest to each other, not counting the two ends of one straight line. False: there are no two. */
bool dt_open_nearest(const dt_open_ends *ends, dt_point *a, dt_point *b);

#endif
