/* grid_index.h - which segments lie near a place: a hashed grid of square cells that grows as segments are added.
 *
 * A segment stands in every cell that it comes within `margin` of (and perhaps in a few more, never in fewer). Only cells with
 * something in them take memory, so a speck far away costs nothing.
 *
 *     dt_grid grid;
 *     dt_grid_init(&grid, cell, margin);
 *     if (!dt_grid_add(&grid, a, b, item)) goto done;                            // no memory
 *     for (dt_nearby n = dt_grid_nearby(&grid, p, q, 0.0); dt_nearby_next(&n);)  // everything near the segment p - q
 *         look_at(n.item);                                                       // may come up once for each cell
 *     dt_grid_free(&grid);
 */
#ifndef DOVETELL_GEOM_GRID_INDEX_H
#define DOVETELL_GEOM_GRID_INDEX_H

#include "base/array.h"
#include <dovetell/geom.h>

typedef struct dt_grid_entry {
    uint32_t item, next; /* next entry of the same bucket, or DT_GRID_END; the last added comes first */
    uint32_t hash;       /* of the cell */
} dt_grid_entry;

#define DT_GRID_END UINT32_MAX

typedef struct dt_grid {
    double cell, margin;            /* in the units of the segments */
    uint32_t *heads;                /* first entry of each bucket */
    uint32_t buckets;               /* a power of two, or 0 */
    DT_ARRAY(dt_grid_entry) entries;
} dt_grid;

/* The cells that a segment comes near, one after the other: x, y of the present one. */
typedef struct dt_cells {
    double x1, y1, x2, y2, slope;   /* of the segment, y1 <= y2 */
    double cell, per_cell, margin;  /* per_cell = 1 / cell */
    int32_t x, y, last_x, last_y;
} dt_cells;

/* What stands in those cells, one after the other. */
typedef struct dt_nearby {
    const dt_grid *grid;
    dt_cells cells;
    uint32_t hash, next;
    uint32_t item;
} dt_nearby;

/* cell > 0; coordinates must stay below 2^31 cells. A good cell is the mean length of the segments, or a few margins. */
void dt_grid_init(dt_grid *grid, double cell, double margin);
void dt_grid_free(dt_grid *grid);

/* False: no memory. O(cells that the segment meets). */
bool dt_grid_add(dt_grid *grid, dt_point a, dt_point b, uint32_t item);

/* Takes out what was added last, until `entries` entries are left (as entries.count once said). */
void dt_grid_take_back(dt_grid *grid, size_t entries);

/* Everything that stands in a cell that a - b comes within `margin` of; in two cells whose hashes agree (seldom) too. The grid may grow
 * meanwhile: what is added to the present cell does not come up. */
dt_nearby dt_grid_nearby(const dt_grid *grid, dt_point a, dt_point b, double margin);
bool dt_nearby_cell(dt_nearby *nearby); /* on to the next cell; false: there is none */

static inline bool dt_nearby_next(dt_nearby *nearby) {
    do {
        while (nearby->next != DT_GRID_END) {
            const dt_grid_entry *entry = &nearby->grid->entries.items[nearby->next];
            nearby->next = entry->next;
            nearby->item = entry->item;
            if (entry->hash == nearby->hash) return true;
        }
    } while (dt_nearby_cell(nearby));
    return false;
}

/* For callers that look at what stands in a cell and enter it in the same walk. */
dt_cells dt_grid_cells(const dt_grid *grid, dt_point a, dt_point b, double margin);
bool dt_cells_next(dt_cells *cells);
dt_nearby dt_grid_in_cell(const dt_grid *grid, const dt_cells *cells);
/* Enters item in the present cell alone. False: no memory. */
bool dt_grid_enter(dt_grid *grid, const dt_cells *cells, uint32_t item);

#endif
