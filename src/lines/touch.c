/* Corners beside a line. Where two lines come near each other without crossing, what comes nearest is a point where one of them
 * turns: gently, and then they run side by side for long enough to be a doubled line, or sharply, and then it is a corner. Corners
 * are few and lines many, so the corners stand in a grid and every cut looks up those near it. Invariant: a corner is joined with
 * the nearest place of a line only where none of the lines that meet in it goes on towards that place, or there would be a
 * crossing or a nearer corner farther on. */
#include "touch.h"

#include "geom/grid_index.h"
#include <math.h>

/* A turn of 15 degrees or more is sharp. Lines that come within 0.1 kerf of each other at a gentler one run within a quarter kerf for
 * more than two kerfs. */
#define SHARP_COSINE 0.9659
/* Sine of the angle at which a line may still go nearer: at a slant of one degree it is a doubled line. Rounding to the grid adds up to
 * ROUNDED_MM over the distance. */
#define NEARER_SINE 0.02
#define ROUNDED_MM 0.0015
/* On one chain the way along it must be so many times the way across: round a right angle it is at most 1.42. */
#define WAY_RATIO 3.0
/* Cells that hold a handful of cuts of a curve. */
#define CELL_MM 1.0
/* Most pairs of a cut and a corner that are looked at. */
#define MOST_PAIRS 12000000u

typedef struct corner {
    dt_point at;
    uint32_t chain, index; /* the point of a chain that it is; DT_NO_INDEX: a corner of the chains */
    double along;          /* arc length from the start of its chain */
} corner;

typedef struct touch {
    uint32_t corner, chain;
    double gap;
    dt_point at;
    bool vain;             /* a line goes nearer */
} touch;

typedef struct finder {
    const dt_chains *chains;
    const dt_gap_options *options;
    double reach;
    dt_grid grid;
    DT_ARRAY(corner) corners; /* those of the chains first, in their order */
    DT_ARRAY(touch) touches;
    uint64_t pairs;
} finder;

static dt_point point_of(const finder *f, const dt_chain *chain, uint32_t i) {
    return dt_gp_mm(dt_chain_point(f->chains, chain, i));
}

/* Loose ends are left to dt_gaps_close, but keep their number. */
static bool add_junctions(finder *f) {
    for (uint32_t i = 0; i < f->chains->corner_count; i++) {
        dt_point at = dt_gp_mm(f->chains->points[f->chains->corner_point[i]]);
        if (!dt_array_push(&f->corners, ((corner){at, DT_NO_INDEX, 0, 0.0}))) return false;
        if (f->chains->corner_degree[i] > 1 && !dt_grid_add(&f->grid, at, at, i)) return false;
    }
    return true;
}

static bool is_sharp(dt_point a, dt_point b, dt_point c) {
    dt_point in = dt_point_sub(b, a), on = dt_point_sub(c, b);
    double dot = dt_point_dot(in, on);
    return dot < 0.0 || dot * dot < SHARP_COSINE * SHARP_COSINE * dt_point_dot(in, in) * dt_point_dot(on, on);
}

static bool add_turns(finder *f, uint32_t which) {
    const dt_chain *chain = &f->chains->chains.items[which];
    double along = 0.0;
    dt_point a = point_of(f, chain, 0), b = point_of(f, chain, 1);
    for (uint32_t i = 1; i + 1 < chain->count; i++) {
        dt_point c = point_of(f, chain, i + 1);
        along += dt_point_distance(a, b);
        if (is_sharp(a, b, c)) {
            if (!dt_grid_add(&f->grid, b, b, (uint32_t)f->corners.count)) return false;
            if (!dt_array_push(&f->corners, ((corner){b, which, i, along}))) return false;
        }
        a = b;
        b = c;
    }
    return true;
}

/* Is the place at arc length `along` of a chain just round the corner? */
static bool is_round_the_corner(const finder *f, uint32_t number, uint32_t which, double along, double gap) {
    const corner *c = &f->corners.items[number];
    const dt_chain *chain = &f->chains->chains.items[which];
    if (c->chain != DT_NO_INDEX) return c->chain == which && fabs(along - c->along) <= WAY_RATIO * gap;
    if (chain->from == number && along <= WAY_RATIO * gap) return true;
    return chain->to == number && dt_chain_length(f->chains, chain) - along <= WAY_RATIO * gap;
}

static bool offer_cut(finder *f, uint32_t number, uint32_t which, const dt_point ab[2], double along) {
    dt_point at = f->corners.items[number].at, p;
    double gap = dt_segment_distance(at, ab[0], ab[1], &p);
    if (gap <= 0.0 || gap > f->reach) return true;
    if (is_round_the_corner(f, number, which, along + dt_point_distance(ab[0], p), gap)) return true;
    return dt_array_push(&f->touches, ((touch){number, which, gap, p, false}));
}

static dt_status offer_chain(finder *f, uint32_t which) {
    const dt_chain *chain = &f->chains->chains.items[which];
    double along = 0.0;
    dt_point a = point_of(f, chain, 0);
    for (uint32_t i = 1; i < chain->count; i++) {
        dt_point b = point_of(f, chain, i);
        for (dt_nearby n = dt_grid_nearby(&f->grid, a, b, 0.0); dt_nearby_next(&n);) {
            if (f->pairs++ > MOST_PAIRS) return DT_TOO_LARGE;
            if (!offer_cut(f, n.item, which, (const dt_point[2]){a, b}, along)) return DT_NO_MEMORY;
        }
        along += dt_point_distance(a, b);
        a = b;
    }
    return DT_OK;
}

static dt_status find_touches(finder *f) {
    uint32_t count = (uint32_t)f->chains->chains.count;
    dt_status status = add_junctions(f) ? DT_OK : DT_NO_MEMORY;
    for (uint32_t i = 0; status == DT_OK && i < count; i++)
        if (!add_turns(f, i)) status = DT_NO_MEMORY;
    for (uint32_t i = 0; status == DT_OK && i < count; i++) status = offer_chain(f, i);
    return status;
}

static int compare_touches(const void *left, const void *right) {
    const touch *a = left, *b = right;
    if (a->corner != b->corner) return a->corner < b->corner ? -1 : 1;
    if (a->chain != b->chain) return a->chain < b->chain ? -1 : 1;
    if (a->gap != b->gap) return a->gap < b->gap ? -1 : 1;
    return a->at.y != b->at.y ? (a->at.y > b->at.y) - (a->at.y < b->at.y) : (a->at.x > b->at.x) - (a->at.x < b->at.x);
}

static size_t first_touch(const finder *f, uint32_t number) {
    size_t low = 0, high = f->touches.count;
    while (low < high) {
        size_t middle = (low + high) / 2;
        if (f->touches.items[middle].corner < number) low = middle + 1;
        else high = middle;
    }
    return low;
}

/* Where a chain leaves the corner: over the distance of the widest touch, since the very first cut may be a scrap. */
static dt_point leaves_for(const finder *f, dt_point at, const dt_chain *chain, uint32_t index, bool onward) {
    dt_point p = at;
    while (dt_point_distance(at, p) < f->reach && index != (onward ? chain->count - 1 : 0)) {
        index = onward ? index + 1 : index - 1;
        p = point_of(f, chain, index);
    }
    dt_point way = dt_point_sub(p, at);
    double length = hypot(way.x, way.y);
    return length > 0.0 ? dt_point_scale(way, 1.0 / length) : way;
}

/* Judges the touches of a corner by one of the lines that meet in it. */
static void judge(finder *f, uint32_t number, uint32_t which, uint32_t index, bool onward) {
    size_t i = first_touch(f, number);
    if (i == f->touches.count || f->touches.items[i].corner != number) return;
    dt_point at = f->corners.items[number].at, way = leaves_for(f, at, &f->chains->chains.items[which], index, onward);
    for (; i < f->touches.count && f->touches.items[i].corner == number; i++) {
        touch *t = &f->touches.items[i];
        double nearer = dt_point_dot(way, dt_point_sub(t->at, at));
        t->vain = t->vain || nearer > NEARER_SINE * t->gap + ROUNDED_MM;
    }
}

static void judge_all(finder *f) {
    for (uint32_t which = 0; which < f->chains->chains.count; which++) {
        const dt_chain *chain = &f->chains->chains.items[which];
        judge(f, chain->from, which, 0, true);
        judge(f, chain->to, which, chain->count - 1, false);
    }
    for (uint32_t i = f->chains->corner_count; i < f->corners.count; i++) {
        const corner *c = &f->corners.items[i];
        judge(f, i, c->chain, c->index, true);
        judge(f, i, c->chain, c->index, false);
    }
}

static uint32_t stroke_of(const finder *f, uint32_t which) {
    if (which == DT_NO_INDEX || f->chains->chains.items[which].stroke_count == 0) return DT_NO_INDEX;
    return f->chains->strokes.items[f->chains->chains.items[which].stroke_first];
}

/* What lies nearer than lines in the same place, or beside a line that was left out whatever its direction, is not worth a word. */
static bool join(const finder *f, const touch *t, dt_cuts *cuts, dt_faults *gaps) {
    const corner *c = &f->corners.items[t->corner];
    dt_cut cut = {dt_gp_of(c->at), dt_gp_of(t->at), DT_NO_INDEX};
    if (!dt_is_same_place(t->gap) && !dt_ghosts_explain(f->options->ghosts, c->at, (dt_point){0, 0})) {
        dt_fault fault = {.kind = DT_FAULT_GAP, .at = c->at, .other = t->at, .size_mm = t->gap, .mended = true,
                          .stroke = stroke_of(f, c->chain), .other_stroke = stroke_of(f, t->chain),
                          .pieces = {DT_NO_INDEX, DT_NO_INDEX}, .times = 1};
        cut.stroke = f->options->first_stroke + (uint32_t)gaps->count;
        if (!dt_array_push(gaps, fault)) return false;
    }
    return dt_gp_same(cut.a, cut.b) || dt_array_push(cuts, cut);
}

static dt_status join_all(finder *f, dt_cuts *cuts, dt_faults *gaps) {
    if (f->touches.count) qsort(f->touches.items, f->touches.count, sizeof *f->touches.items, compare_touches);
    judge_all(f);
    for (size_t i = 0; i < f->touches.count; i++) {
        const touch *t = &f->touches.items[i];
        bool again = i && t[-1].corner == t->corner && t[-1].chain == t->chain;
        if (!again && !t->vain && !join(f, t, cuts, gaps)) return DT_NO_MEMORY;
    }
    return DT_OK;
}

dt_status dt_touch_join(const dt_chains *chains, const dt_gap_options *options, dt_cuts *cuts, dt_faults *gaps, dt_error *error) {
    finder f = {.chains = chains, .options = options, .reach = fmax(options->ghosts->reach_mm, DT_SAME_MM)};
    dt_grid_init(&f.grid, CELL_MM, f.reach);
    dt_status status = find_touches(&f);
    if (status == DT_OK) status = join_all(&f, cuts, gaps);
    if (status == DT_TOO_LARGE)
        dt_fail(error, DT_TOO_LARGE, "millions of corners lie next to each other: leave out what is no cut with --skip");
    dt_grid_free(&f.grid);
    dt_array_free(&f.corners);
    dt_array_free(&f.touches);
    return status;
}
