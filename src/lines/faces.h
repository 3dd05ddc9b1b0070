/* faces.h - from chains without dangles and bridges to the arcs, rings and faces of a net. */
#ifndef DOVETELL_LINES_FACES_H
#define DOVETELL_LINES_FACES_H

#include "chains.h"

/* Fills nodes, arcs, faces and what they point to. Every chain must have two different faces on its sides. DT_NO_MEMORY, or
 * DT_LIBRARY when the chains break that rule. O(n log n). */
dt_status dt_faces_build(const dt_chains *chains, dt_net *net);

#endif
