/* Halos and cores: see halo.h. Each segment marks, row by row, the cells beside that part of it which comes near the row. */
#include "halo.h"

#include <math.h>
#include <stdlib.h>

/* Cells of a third of the distance: a bitmap that is neither coarse nor large. */
static const double CELLS_PER_WITHIN = 3.0;
static const double MOST_CELLS = 1 << 24;

static uint32_t cell_index(double position, uint32_t count) {
    if (!(position > 0.0)) return 0;
    return position >= count ? count - 1 : (uint32_t)position;
}

static void mark(dt_bitmap *map, uint32_t row, uint32_t from, uint32_t to) {
    for (uint32_t c = from; c < to; c++) {
        size_t cell = (size_t)row * map->columns + c;
        map->bits[cell / 64] |= (uint64_t)1 << (cell % 64);
    }
}

static void mark_segment(dt_bitmap *map, dt_point a, dt_point b, double within) {
    double low = fmin(a.y, b.y) - within, high = fmax(a.y, b.y) + within, step = 1.0 / map->cells_per_mm;
    uint32_t first = cell_index((low - map->low.y) * map->cells_per_mm, map->rows);
    uint32_t last = cell_index((high - map->low.y) * map->cells_per_mm, map->rows);
    double rise = b.y - a.y;
    for (uint32_t r = first; r <= last; r++) {
        double y0 = map->low.y + r * step - within, y1 = map->low.y + (r + 1) * step + within;
        double t0 = 0.0, t1 = 1.0;
        if (rise != 0.0) {
            t0 = fmin(fmax(((rise > 0.0 ? y0 : y1) - a.y) / rise, 0.0), 1.0);
            t1 = fmin(fmax(((rise > 0.0 ? y1 : y0) - a.y) / rise, 0.0), 1.0);
        }
        double x0 = a.x + t0 * (b.x - a.x), x1 = a.x + t1 * (b.x - a.x);
        mark(map, r, cell_index((fmin(x0, x1) - within - map->low.x) * map->cells_per_mm, map->columns),
             cell_index((fmax(x0, x1) + within - map->low.x) * map->cells_per_mm, map->columns) + 1);
    }
}

bool dt_halo_make(const dt_body *body, double within, dt_bitmap *out) {
    dt_box box = dt_box_grown(body->box, within);
    double width = box.high.x - box.low.x, height = box.high.y - box.low.y;
    double cell = fmax(within / CELLS_PER_WITHIN, sqrt(width * height / MOST_CELLS));
    dt_bitmap map = {.low = box.low, .cells_per_mm = 1.0 / cell};
    map.columns = (uint32_t)(width / cell) + 1;
    map.rows = (uint32_t)(height / cell) + 1;
    map.bits = calloc((size_t)map.columns * map.rows / 64 + 1, sizeof *map.bits);
    if (!map.bits) return false;
    for (uint32_t i = 0; i < body->point_count; i++) mark_segment(&map, body->points[i], body->points[body->next[i]], within);
    *out = map;
    return true;
}

/* Turns a halo into the core: of the cells that are not in the halo, those on the solid side. Between two cells of the halo in a row all
 * others lie on one side, so one question answers for all. */
static void keep_core(const dt_body *body, dt_bitmap *map) {
    double step = 1.0 / map->cells_per_mm;
    for (uint32_t r = 0; r < map->rows; r++) {
        bool known = false, solid = false;
        for (uint32_t c = 0; c < map->columns; c++) {
            size_t cell = (size_t)r * map->columns + c;
            uint64_t bit = (uint64_t)1 << (cell % 64);
            bool is_halo = map->bits[cell / 64] & bit;
            if (is_halo) known = false;
            else if (!known) {
                solid = dt_body_holds(body, (dt_point){map->low.x + (c + 0.5) * step, map->low.y + (r + 0.5) * step}, 0.0);
                known = true;
            }
            if (!is_halo && solid) map->bits[cell / 64] |= bit;
            else map->bits[cell / 64] &= ~bit;
        }
    }
}

bool dt_core_make(const dt_body *body, double within, dt_bitmap *out) {
    if (!dt_halo_make(body, within, out)) return false;
    keep_core(body, out);
    out->beyond = body->field.beyond;
    return true;
}

void dt_bitmap_free(dt_bitmap *map) {
    free(map->bits);
    *map = (dt_bitmap){0};
}
