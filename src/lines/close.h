/* close.h - lines so near to each other that the strip between them burns away. */
#ifndef DOVETELL_LINES_CLOSE_H
#define DOVETELL_LINES_CLOSE_H

#include "net.h"

/* Adds a fault for each stretch, longer than two kerfs and than 1 mm, where two arcs of the same face (or one arc and itself) run less
 * than half a millimetre apart, the face in pieces[0]; not where they part from a common node at an angle. DT_TOO_LARGE
 * with a sentence, DT_NO_MEMORY. Near linear. */
dt_status dt_close_report(const dt_net *net, double kerf_mm, dt_faults *faults, dt_error *error);

#endif
