/* halo.h - two bitmaps of a body that answer fast, on the safe side: its HALO, the ground near its lines, and its CORE, the ground deep
 * inside it.
 *
 * Invariants: every point within `within` of a line lies in the halo; every point of the core lies deeper than `within`. */
#ifndef DOVETELL_ASSEMBLY_HALO_H
#define DOVETELL_ASSEMBLY_HALO_H

#include "assembly/body.h"

typedef struct dt_bitmap {
    dt_point low;
    double cells_per_mm;
    uint32_t columns, rows;
    uint64_t *bits;          /* row by row; NULL: not made */
    bool beyond;             /* what lies outside the bitmap */
} dt_bitmap;

/* In the body's axes. false: no memory. O(points + cells). */
bool dt_halo_make(const dt_body *body, double within, dt_bitmap *out);
bool dt_core_make(const dt_body *body, double within, dt_bitmap *out);
void dt_bitmap_free(dt_bitmap *map);

static inline bool dt_bitmap_has(const dt_bitmap *map, dt_point p) {
    double x = (p.x - map->low.x) * map->cells_per_mm, y = (p.y - map->low.y) * map->cells_per_mm;
    if (!(x >= 0.0 && y >= 0.0 && x < map->columns && y < map->rows)) return map->beyond;
    size_t cell = (size_t)(uint32_t)y * map->columns + (uint32_t)x;
    return map->bits[cell / 64] >> (cell % 64) & 1;
}

#endif
