/* grow.h - a shape with its border moved outwards by an even distance: the adapter to GEOS's buffer. */
#ifndef DOVETELL_PIECES_GROW_H
#define DOVETELL_PIECES_GROW_H

#include <dovetell/pieces.h>

typedef struct grown {
    dt_path *rings;    /* the outline (positive area), then the holes that are left (negative); none repeats its first point */
    size_t count;
    dt_point *points;  /* of all rings */
} grown;

/* The piece grown by `distance` mm (0 or more): corners become round, holes shrink and may close. DT_LIBRARY when GEOS fails,
 * DT_NO_MEMORY. Free with grown_free. About O(n log n). */
dt_status grow_piece(const dt_piece *piece, double distance, grown *out);
void grown_free(grown *shape);

#endif
