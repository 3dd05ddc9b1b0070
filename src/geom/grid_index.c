/* A hashed uniform grid over segments: see grid_index.h. A segment is entered row by row of cells, each time with the range of
 * columns that it covers there, so a long diagonal stands in the cells along it and not in its whole box. */
#include "grid_index.h"

#include <math.h>

void dt_grid_init(dt_grid *grid, double cell, double margin) {
    *grid = (dt_grid){.cell = cell, .margin = margin};
}

void dt_grid_free(dt_grid *grid) {
    dt_keys_free(&grid->cells);
    dt_array_free(&grid->heads);
    dt_array_free(&grid->entries);
}

static int32_t cell_at(double value, double cell) {
    return (int32_t)floor(value / cell);
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
    dt_point a = cells->a, b = cells->b;
    double x1 = a.x, x2 = b.x, slack = cells->margin + 1e-6 * cells->cell;
    if (least(a.y, b.y) < low || most(a.y, b.y) > high) {
        double t1 = (low - a.y) / (b.y - a.y), t2 = (high - a.y) / (b.y - a.y);
        x1 = a.x + most(least(t1, t2), 0.0) * (b.x - a.x);
        x2 = a.x + least(most(t1, t2), 1.0) * (b.x - a.x);
    }
    cells->x = cell_at(least(x1, x2) - slack, cells->cell);
    cells->last_x = cell_at(most(x1, x2) + slack, cells->cell);
}

dt_cells dt_grid_cells(const dt_grid *grid, dt_point a, dt_point b, double margin) {
    dt_cells cells = {.a = a, .b = b, .cell = grid->cell, .margin = margin};
    cells.y = cell_at(least(a.y, b.y) - margin, grid->cell);
    cells.last_y = cell_at(most(a.y, b.y) + margin, grid->cell);
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

static uint64_t key_of(const dt_cells *cells) {
    return (uint64_t)(uint32_t)cells->x << 32 | (uint32_t)cells->y;
}

uint32_t dt_grid_head(const dt_grid *grid, const dt_cells *cells) {
    uint32_t number = dt_keys_find(&grid->cells, key_of(cells));
    return number == DT_NO_KEY ? DT_NO_KEY : grid->heads.items[number];
}

bool dt_grid_enter(dt_grid *grid, const dt_cells *cells, uint32_t item) {
    uint32_t number = dt_keys_number(&grid->cells, key_of(cells));
    if (number == DT_NO_KEY) return false;
    if (number == grid->heads.count && !dt_array_push(&grid->heads, DT_NO_KEY)) return false;
    dt_grid_entry entry = {item, grid->heads.items[number], number};
    if (!dt_array_push(&grid->entries, entry)) return false;
    grid->heads.items[number] = (uint32_t)grid->entries.count - 1;
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
        grid->heads.items[last.cell] = last.next;
    }
}
