/* grid_index.h - which segments lie near a place: a hashed grid of square cells that grows as segments are added.
 *
 * A segment stands in every cell that it comes within `margin` of (and perhaps in a few more, never in fewer). Only cells with
 * something in them take memory, so a speck far away costs nothing.
 *
 *     dt_grid grid;
 *     dt_grid_init(&grid, cell, margin);
 *     if (!dt_grid_add(&grid, a, b, item)) goto done;                            // no memory
 *     for (dt_cells c = dt_grid_cells(&grid, p, q, 0.0); dt_cells_next(&c);)     // everything near the segment p - q
 *         for (uint32_t e = dt_grid_head(&grid, &c); e != DT_NO_KEY; e = grid.entries.items[e].next)
 *             look_at(grid.entries.items[e].item);                               // may come up once for each cell
 *     dt_grid_free(&grid);
 */
#ifndef DOVETELL_GEOM_GRID_INDEX_H
#define DOVETELL_GEOM_GRID_INDEX_H

#include "base/array.h"
#include "keys.h"
#include <dovetell/geom.h>

typedef struct dt_grid_entry {
    uint32_t item, next; /* next entry of the same cell, or DT_NO_KEY; the last added comes first */
    uint32_t cell;       /* number of the cell */
} dt_grid_entry;

typedef struct dt_grid {
    double cell, margin;            /* in the units of the segments */
    dt_keys cells;
    DT_ARRAY(uint32_t) heads;       /* first entry of each numbered cell */
    DT_ARRAY(dt_grid_entry) entries;
} dt_grid;

/* The cells that a segment comes near, one after the other: x, y of the present one. */
typedef struct dt_cells {
    dt_point a, b;
    double cell, margin;
    int32_t x, y, last_x, last_y;
} dt_cells;

/* cell > 0; coordinates must stay below 2^31 cells. A good cell is the mean length of the segments, or a few margins. */
void dt_grid_init(dt_grid *grid, double cell, double margin);
void dt_grid_free(dt_grid *grid);

/* False: no memory. O(cells that the segment meets). */
bool dt_grid_add(dt_grid *grid, dt_point a, dt_point b, uint32_t item);

/* Takes out what was added last, until `entries` entries are left (as entries.count once said). */
void dt_grid_take_back(dt_grid *grid, size_t entries);

dt_cells dt_grid_cells(const dt_grid *grid, dt_point a, dt_point b, double margin);
bool dt_cells_next(dt_cells *cells);
/* First entry of the present cell, or DT_NO_KEY. */
uint32_t dt_grid_head(const dt_grid *grid, const dt_cells *cells);
/* Enters item in the present cell alone: for callers that look at what stands there in the same walk. False: no memory. */
bool dt_grid_enter(dt_grid *grid, const dt_cells *cells, uint32_t item);

#endif
