/* small_part.h - does a flat piece fit the small-parts cylinder? Body, method and tolerance in small_part.c. */
#ifndef DOVETELL_PIECES_SMALL_PART_H
#define DOVETELL_PIECES_SMALL_PART_H

#include "hull.h"

/* hull: convex, as hull_of gives it. box = hull_rectangle(hull), which decides most pieces at once. */
bool small_part_hull_fits(dt_path hull, rectangle box, double thickness_mm);

#endif
