/* trim.h - outlines without slits and fins: where lines nearly meet but were not joined, an outline runs into the crack and back. */
#ifndef DOVETELL_ASSEMBLY_TRIM_H
#define DOVETELL_ASSEMBLY_TRIM_H

#include "base/arena.h"
#include <dovetell/geom.h>

/* The closed path without slits and fins narrower than a drawing error. points NULL: no memory. O(n log n) on smooth outlines, O(n^2) at
 * worst; the path itself is given back where there are none. */
dt_path dt_trimmed(dt_path path, dt_arena *arena);

#endif
