/* node.h - cuts to noded cuts: cuts that meet at their ends only. */
#ifndef DOVETELL_LINES_NODE_H
#define DOVETELL_LINES_NODE_H

#include "net.h"

/* Splits the cuts wherever they cross, touch or overlap, by snap rounding; ends stay where they are, a cut that passes within half
 * a micrometre of an end or a crossing is bent through it. Equal cuts may come out several times, and cuts of no length.
 * DT_TOO_LARGE with a sentence when the lines cross too often; DT_NO_MEMORY. O((n + crossings) log) for lines as people
 * draw them. */
dt_status dt_node_cuts(dt_cuts *cuts, dt_error *error);

#endif
