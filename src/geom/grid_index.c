/* A hashed uniform grid over segments: see grid_index.h. A segment is entered row by row of cells, each time with the range of
 * columns that it covers there, so a long diagonal stands in the cells along it and not in its whole box. Cells are not stored:
 * an entry keeps its cell's hash, and a bucket is a list of the entries whose hash ends in its number. Cells side by side have
 * buckets side by side, which lie in memory together. */
#include "grid_index.h"

#include <math.h>

enum { FIRST_BUCKETS = 64, ENTRIES_PER_BUCKET = 2 };

void dt_grid_init(dt_grid *grid, double cell, double margin) {
    *grid = (dt_grid){.cell = cell, .margin = margin};
}

void dt_grid_free(dt_grid *grid) {
    free(grid->heads);
    grid->heads = NULL;
    grid->buckets = 0;
    dt_array_free(&grid->entries);
}

/* The floor of a number of less than 2^31, without a call. */
static int32_t below(double value) {
    int32_t whole = (int32_t)value;
    return whole - (value < whole);
}

static double least(double a, double b) {
    return a < b ? a : b;
}

static double most(double a, double b) {
    return a > b ? a : b;
}

/* The range of columns in row y: the stretch of the segment between the row's borders, widened by the margin. Rounding is
 * covered by a widening of a millionth of a cell. */
static void columns_of_row(dt_cells *cells) {
    double low = cells->y * cells->cell - cells->margin, high = (cells->y + 1.0) * cells->cell + cells->margin;
    double x1 = cells->x1, x2 = cells->x2, slack = cells->margin + 1e-6 * cells->cell;
    if (cells->y1 < low) x1 = cells->x1 + (low - cells->y1) * cells->slope;
    if (cells->y2 > high) x2 = cells->x1 + (high - cells->y1) * cells->slope;
    cells->x = below((least(x1, x2) - slack) * cells->per_cell);
    cells->last_x = below((most(x1, x2) + slack) * cells->per_cell);
}

dt_cells dt_grid_cells(const dt_grid *grid, dt_point a, dt_point b, double margin) {
    bool down = a.y <= b.y;
    dt_point top = down ? a : b, bottom = down ? b : a;
    dt_cells cells = {.x1 = top.x, .y1 = top.y, .x2 = bottom.x, .y2 = bottom.y, .cell = grid->cell, .per_cell = 1.0 / grid->cell,
                      .margin = margin};
    double slack = margin + 1e-6 * grid->cell;
    cells.y = below((top.y - slack) * cells.per_cell);
    cells.last_y = below((bottom.y + slack) * cells.per_cell);
    cells.slope = cells.y < cells.last_y && top.y < bottom.y ? (bottom.x - top.x) / (bottom.y - top.y) : 0.0;
    columns_of_row(&cells);
    cells.x--;
    return cells;
}

bool dt_cells_next(dt_cells *cells) {
    if (cells->x < cells->last_x) {
        cells->x++;
        return true;
    }
    if (cells->y >= cells->last_y) return false;
    cells->y++;
    columns_of_row(cells);
    return true;
}

/* Rows lie a large odd number apart (2^32 divided by the golden ratio), so that they overlap seldom. */
static uint32_t hash_of(const dt_cells *cells) {
    return (uint32_t)cells->x + (uint32_t)cells->y * 0x9e3779b1u;
}

static uint32_t bucket_of(const dt_grid *grid, uint32_t hash) {
    return (hash ^ hash >> 15) & (grid->buckets - 1);
}

static bool add_buckets(dt_grid *grid) {
    uint32_t buckets = grid->buckets ? grid->buckets * 2 : FIRST_BUCKETS;
    uint32_t *heads = realloc(grid->heads, buckets * sizeof *heads);
    if (!heads) return false;
    grid->heads = heads;
    grid->buckets = buckets;
    for (uint32_t i = 0; i < buckets; i++) heads[i] = DT_GRID_END;
    for (uint32_t e = 0; e < grid->entries.count; e++) {
        uint32_t *head = &heads[bucket_of(grid, grid->entries.items[e].hash)];
        grid->entries.items[e].next = *head;
        *head = e;
    }
    return true;
}

bool dt_grid_enter(dt_grid *grid, const dt_cells *cells, uint32_t item) {
    if (grid->entries.count >= (size_t)grid->buckets * ENTRIES_PER_BUCKET && !add_buckets(grid)) return false;
    uint32_t hash = hash_of(cells), *head = &grid->heads[bucket_of(grid, hash)];
    dt_grid_entry entry = {item, *head, hash};
    if (grid->entries.count >= DT_GRID_END || !dt_array_push(&grid->entries, entry)) return false;
    *head = (uint32_t)grid->entries.count - 1;
    return true;
}

bool dt_grid_add(dt_grid *grid, dt_point a, dt_point b, uint32_t item) {
    for (dt_cells cells = dt_grid_cells(grid, a, b, grid->margin); dt_cells_next(&cells);)
        if (!dt_grid_enter(grid, &cells, item)) return false;
    return true;
}

void dt_grid_take_back(dt_grid *grid, size_t entries) {
    while (grid->entries.count > entries) {
        dt_grid_entry last = grid->entries.items[--grid->entries.count];
        grid->heads[bucket_of(grid, last.hash)] = last.next;
    }
}

static void open_cell(dt_nearby *nearby) {
    nearby->hash = hash_of(&nearby->cells);
    nearby->next = nearby->grid->buckets ? nearby->grid->heads[bucket_of(nearby->grid, nearby->hash)] : DT_GRID_END;
}

dt_nearby dt_grid_nearby(const dt_grid *grid, dt_point a, dt_point b, double margin) {
    return (dt_nearby){.grid = grid, .cells = dt_grid_cells(grid, a, b, margin), .next = DT_GRID_END};
}

dt_nearby dt_grid_in_cell(const dt_grid *grid, const dt_cells *cells) {
    dt_nearby nearby = {.grid = grid, .cells = *cells};
    open_cell(&nearby);
    nearby.cells.last_x = nearby.cells.x;
    nearby.cells.last_y = nearby.cells.y;
    return nearby;
}

bool dt_nearby_cell(dt_nearby *nearby) {
    if (!dt_cells_next(&nearby->cells)) return false;
    open_cell(nearby);
    return true;
}
