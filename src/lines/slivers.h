/* slivers.h - faces too thin to be pieces. */
#ifndef DOVETELL_LINES_SLIVERS_H
#define DOVETELL_LINES_SLIVERS_H

#include "net.h"

/* Finds the faces whose largest inscribed circle is narrower than kerf_mm, adds a fault for each, and gives each to the face
 * along its longest border (to the outside when nothing else borders it): keep[a] becomes false for every arc between
 * them; *any says whether there was one. keep has an entry for each arc, true at first. DT_NO_MEMORY, DT_LIBRARY.
 * O(n), and GEOS's largest inscribed circle for the few faces whose area over perimeter is below half a kerf. */
dt_status dt_slivers_merge(const dt_net *net, double kerf_mm, bool *keep, bool *any, dt_faults *faults);

#endif
