/* Inscribed circles by best-first search over square cells. A cell with centre c and half width h holds no inscribed circle's
 * centre of radius above d(c) + h sqrt 2, d the signed distance to the border; the cell with the best bound is split next. */
#include "base/array.h"
#include "border.h"

#include <math.h>

typedef struct cell {
    dt_point centre;
    double half, bound;
    uint32_t nearest; /* segment */
} cell;

typedef struct cells {
    DT_ARRAY(cell) heap; /* largest bound first */
} cells;

/* The search of a long even strip would split on and on for the last hundredth: after this many cells it may stop at 1 %. */
enum { PATIENT_CELLS = 64, MOST_CELLS = 1 << 20, MOST_START_CELLS = 16 };
/* Looking for the wall across costs a look more at each cell, which only long strips repay. */
enum { STRIP_CELLS = 160 };
/* Pieces as a rule need a hundred cells, rings of 1 mm some thousand, and these are free; beyond them cells are counted, and more where
 * the outline is so long that looking in it takes longer. A sheet of 250 such rings needs 3 million. */
enum { FREE_CELLS = 256, POINTS_A_CELL = 1024, MOST_WORK = 200000, MOST_WORK_IN_ALL = 4000000 };
/* A needle some micrometres wide may hold none of the first centres: after so many cells one of its corners must do. */
enum { MOST_CELLS_OUTSIDE = 20000 };
#define COARSE 1.01
/* Where the wall across is looked for, in radii of the best circle from the nearest wall. */
#define ACROSS 1.2

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

/* One search, two questions: the largest circle of a piece, or (part given) any circle that counts for a part. A circle that
 * crosses the chord counts for `handicap` less; best.radius is then what one clear of the chord must exceed. What a circle counts
 * for changes by at most the distance moved, as the distance to the border does. */
typedef struct disc_search {
    const border *b;
    const border_part *part;
    dt_point chord[2];
    double handicap;
    cells cells;
    disc best;
    bool found;
    size_t seen, most;
} disc_search;

/* What a circle round p counts for, that lies d from the border (negative = outside the piece), `beyond` the chord (negative = not in
 * the part). */
static double worth(const disc_search *s, double d, double beyond) {
    return fmax(d - s->handicap, fmin(d, beyond));
}

/* The same for the centre of a cell that goes `reach` to each side. -INFINITY when no point of the cell lies in the part: the centre
 * is inside the piece, but not in the part, and any straight way into the part leads over the border or over the chord. */
static double worth_in_part(const disc_search *s, dt_point p, double d, double reach, bool *in_part) {
    *in_part = d > 0.0 && border_part_contains(s->b, *s->part, p);
    double from_chord = dt_segment_distance(p, s->chord[0], s->chord[1], NULL);
    if (d <= 0.0 || *in_part) return worth(s, d, from_chord);
    return fmin(d, from_chord) > reach ? -INFINITY : worth(s, d, -from_chord);
}

/* Takes the circle round p for the best if it is larger and counts. */
static void try_centre(disc_search *s, dt_point p, uint32_t hint) {
    contact nearest;
    if (!border_nearest_beyond(s->b, p, hint, s->best.radius, &nearest) || !border_is_inside(s->b, p, nearest)) return;
    bool counts = true;
    double d = s->part ? worth_in_part(s, p, nearest.distance, 0.0, &counts) : nearest.distance;
    if (!counts || d <= s->best.radius) return;
    s->best = (disc){p, d};
    s->found = true;
}

static double wall_distance(const border *b, dt_point p, uint32_t segment) {
    return dt_segment_distance(p, b->at[segment], b->at[b->next[segment]], NULL);
}

/* Between two walls: no circle in the cell is larger than the mean of the distances of its centre to both, which is convex, so that one
 * of the cell's corners has the largest. In an even strip that is half its width, as soon as the cell lies in it. The wall across
 * is what is nearest to a place a little farther from the near wall than the best radius. */
static double bound_between_walls(disc_search *s, dt_point centre, double half, contact nearest) {
    dt_point q = border_point_at(s->b, nearest), away = dt_point_sub(centre, q);
    dt_point there = dt_point_add(q, dt_point_scale(away, ACROSS * s->best.radius / nearest.distance));
    contact across = border_nearest(s->b, there, nearest.segment);
    dt_point r = border_point_at(s->b, across);
    if (dt_point_distance(q, r) / 2 > s->best.radius) try_centre(s, dt_point_scale(dt_point_add(q, r), 0.5), nearest.segment);
    double bound = 0.0;
    for (int i = 0; i < 4; i++) {
        dt_point p = {centre.x + (i & 1 ? half : -half), centre.y + (i & 2 ? half : -half)};
        bound = fmax(bound, (wall_distance(s->b, p, nearest.segment) + wall_distance(s->b, p, across.segment)) / 2);
    }
    return bound;
}

static bool add_cell(disc_search *s, dt_point centre, double half, uint32_t hint) {
    double reach = half * sqrt(2.0);
    contact nearest;
    s->seen++;
    if (!border_nearest_beyond(s->b, centre, hint, s->best.radius - reach, &nearest)) return true;
    bool inside = border_is_inside(s->b, centre, nearest), counts = inside;
    double d = inside ? nearest.distance : -nearest.distance;
    if (d + reach <= s->best.radius) return true;
    if (s->part) d = worth_in_part(s, centre, d, reach, &counts);
    if (counts && d > s->best.radius) {
        s->best = (disc){centre, d};
        s->found = true;
    }
    double bound = d + reach;
    if (bound <= s->best.radius) return true;
    if (inside && s->seen > STRIP_CELLS && nearest.distance > 0.0 && s->best.radius > 0.0)
        bound = fmin(bound, bound_between_walls(s, centre, half, nearest));
    return bound <= s->best.radius || push(&s->cells, (cell){centre, half, bound, nearest.segment});
}

static bool add_grid(disc_search *s, dt_box box) {
    double width = box.high.x - box.low.x, height = box.high.y - box.low.y;
    double size = fmax(fmin(width, height), fmax(width, height) / MOST_START_CELLS);
    size_t columns = (size_t)ceil(width / size), rows = (size_t)ceil(height / size);
    for (size_t r = 0; r < rows; r++)
        for (size_t c = 0; c < columns; c++) {
            dt_point centre = {box.low.x + ((double)c + 0.5) * size, box.low.y + ((double)r + 0.5) * size};
            if (!add_cell(s, centre, size / 2, 0)) return false;
        }
    return true;
}

static bool is_good_enough(const disc_search *s) {
    double bound = s->cells.heap.items[0].bound;
    if (s->part && s->found) return true;
    if (!s->part && !s->found && s->seen < MOST_CELLS_OUTSIDE) return false;
    if (bound <= s->best.radius + (s->part ? 0.0 : DISC_TOLERANCE_MM) || s->seen > s->most) return true;
    return !s->part && s->seen > PATIENT_CELLS && bound <= s->best.radius * COARSE;
}

static bool split(disc_search *s, cell top) {
    double h = top.half / 2;
    if (s->part && h < DISC_TOLERANCE_MM / 4) return true;
    for (int i = 0; i < 4; i++) {
        dt_point centre = {top.centre.x + (i & 1 ? h : -h), top.centre.y + (i & 2 ? h : -h)};
        if (!add_cell(s, centre, h, top.nearest)) return false;
    }
    return true;
}

static dt_status search(disc_search *s, dt_box box) {
    bool enough_memory = add_grid(s, box);
    while (enough_memory && s->cells.heap.count > 0 && !is_good_enough(s)) enough_memory = split(s, pop(&s->cells));
    dt_array_free(&s->cells.heap);
    return enough_memory ? DT_OK : DT_NO_MEMORY;
}

dt_status border_largest_disc(const border *b, uint64_t *work, disc *out) {
    uint64_t cost = 1 + b->count / POINTS_A_CELL, left = *work < MOST_WORK_IN_ALL ? MOST_WORK_IN_ALL - *work : 0;
    if (left > MOST_WORK) left = MOST_WORK;
    disc_search s = {.b = b, .best = {b->at[0], 0.0}, .most = FREE_CELLS + left / cost};
    dt_status status = search(&s, b->boxes[1]);
    if (status == DT_OK && s.seen > s.most) status = DT_TOO_LARGE;
    if (status != DT_OK) return status;
    if (s.seen > FREE_CELLS) *work += (s.seen - FREE_CELLS) * cost;
    *out = s.best;
    return DT_OK;
}

/* Each place is looked for in the tree, and along the stretch of the part. */
#define CORNERS_A_LOOK 64

dt_status border_part_holds(const border *b, const border_question *question, uint64_t *work, bool *out) {
    const border_part *part = &question->part;
    disc_search s = {.b = b, .part = part, .handicap = question->radius - question->clear_radius,
                     .best = {b->at[0], question->clear_radius}, .most = MOST_CELLS};
    s.chord[0] = border_point_at(b, part->from);
    s.chord[1] = border_point_at(b, part->to);
    dt_box box = dt_box_of((dt_path){s.chord, 2});
    for (uint32_t k = part->from.segment; k != part->to.segment;) {
        k = b->next[k];
        box = dt_box_join(box, (dt_box){b->at[k], b->at[k]});
    }
    dt_status status = search(&s, box);
    *work += s.seen * (1 + border_part_corners(b, *part) / CORNERS_A_LOOK);
    if (status == DT_OK) *out = s.found;
    return status;
}
