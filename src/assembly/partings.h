/* partings.h - where may lines that ran along each other part? */
#ifndef DOVETELL_ASSEMBLY_PARTINGS_H
#define DOVETELL_ASSEMBLY_PARTINGS_H

#include "assembly/problem.h"

/* Finds out at which breaks lines may part. Where they do, some other piece fills the angle between them with a corner of its own and
 * lies along either line: so one of the two bodies turns away there by at least the narrowest corner, and some corner not wider
 * than the room has a line that follows the body's from there on. Knobs part nowhere, unless another piece could reach into them.
 * false: no memory. */
bool dt_find_partings(dt_problem *problem);

#endif
