/* Inscribed circles by best-first search over square cells. A cell with centre c and half width h holds no inscribed circle's
 * centre of radius above d(c) + h sqrt 2, d the signed distance to the border; the cell with the best bound is split next. */
#include "base/array.h"
#include "border.h"

#include <math.h>

typedef struct cell {
    dt_point centre;
    double half, bound;
} cell;

typedef struct cells {
    DT_ARRAY(cell) heap; /* largest bound first */
} cells;

/* The search of a long even strip would split on and on for the last hundredth: after this many cells it may stop at 1 %. */
enum { PATIENT_CELLS = 256, MOST_CELLS = 1 << 20, MOST_START_CELLS = 16 };
#define COARSE 1.01

static void sink(cells *c, size_t i) {
    cell *heap = c->heap.items;
    for (size_t child; (child = 2 * i + 1) < c->heap.count; i = child) {
        if (child + 1 < c->heap.count && heap[child + 1].bound > heap[child].bound) child++;
        if (heap[i].bound >= heap[child].bound) return;
        cell moved = heap[i];
        heap[i] = heap[child];
        heap[child] = moved;
    }
}

static bool push(cells *c, cell added) {
    if (!dt_array_push(&c->heap, added)) return false;
    cell *heap = c->heap.items;
    for (size_t i = c->heap.count - 1; i > 0 && heap[(i - 1) / 2].bound < heap[i].bound; i = (i - 1) / 2) {
        cell moved = heap[i];
        heap[i] = heap[(i - 1) / 2];
        heap[(i - 1) / 2] = moved;
    }
    return true;
}

static cell pop(cells *c) {
    cell top = c->heap.items[0];
    c->heap.items[0] = c->heap.items[--c->heap.count];
    sink(c, 0);
    return top;
}

typedef struct disc_search {
    const border *b;
    cells cells;
    disc best;
    size_t seen;
} disc_search;

static bool add_cell(disc_search *s, dt_point centre, double half) {
    contact nearest = border_nearest(s->b, centre, INFINITY);
    double signed_distance = border_is_inside(s->b, centre, nearest) ? nearest.distance : -nearest.distance;
    if (signed_distance > s->best.radius) s->best = (disc){centre, signed_distance};
    s->seen++;
    cell added = {centre, half, signed_distance + half * sqrt(2.0)};
    return added.bound <= s->best.radius || push(&s->cells, added);
}

static bool add_grid(disc_search *s, dt_box box) {
    double width = box.high.x - box.low.x, height = box.high.y - box.low.y;
    double size = fmax(fmin(width, height), fmax(width, height) / MOST_START_CELLS);
    size_t columns = (size_t)ceil(width / size), rows = (size_t)ceil(height / size);
    for (size_t r = 0; r < rows; r++)
        for (size_t c = 0; c < columns; c++) {
            dt_point centre = {box.low.x + ((double)c + 0.5) * size, box.low.y + ((double)r + 0.5) * size};
            if (!add_cell(s, centre, size / 2)) return false;
        }
    return true;
}

static bool is_good_enough(const disc_search *s) {
    double bound = s->cells.heap.items[0].bound;
    if (bound <= s->best.radius + DISC_TOLERANCE_MM) return true;
    return s->seen > MOST_CELLS || (s->seen > PATIENT_CELLS && bound <= s->best.radius * COARSE);
}

static bool split(disc_search *s, cell top) {
    double h = top.half / 2;
    for (int i = 0; i < 4; i++)
        if (!add_cell(s, (dt_point){top.centre.x + (i & 1 ? h : -h), top.centre.y + (i & 2 ? h : -h)}, h)) return false;
    return true;
}

dt_status border_largest_disc(const border *b, disc *out) {
    disc_search s = {.b = b, .best = {b->at[0], 0.0}};
    bool enough_memory = add_grid(&s, b->boxes[1]);
    while (enough_memory && s.cells.heap.count > 0 && !is_good_enough(&s)) enough_memory = split(&s, pop(&s.cells));
    dt_array_free(&s.cells.heap);
    if (enough_memory) *out = s.best;
    return enough_memory ? DT_OK : DT_NO_MEMORY;
}
