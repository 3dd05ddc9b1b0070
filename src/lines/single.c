/* Whether lines are drawn once: all cuts are compared at once, by strands, instead of stroke after stroke. Invariant:
 * where this says single, doubles.c finds nothing to leave out; it looks at the same pairs of cuts, and runs can only
 * come out longer here, as a closed stroke counts as beside itself where it closes. */
#include "single.h"

#include "geom/beside.h"
#include "geom/strands.h"
#include <math.h>

/* More places than this where lines come near each other are no drawing of single lines: one for so many cuts, and some
 * more. */
enum { CUTS_A_PLACE = 8, PLACES = 1000 };
/* Boxes and cuts compared for each cut: a knobbed sheet needs 10. */
enum { WORK_A_CUT = 100 };

typedef struct run {
    uint32_t stroke;
    double from, to; /* arc length on it */
} run;

typedef struct finder {
    const dt_doubled *doubled;
    dt_strands strands;
    DT_ARRAY(run) starts; /* of each cut: its stroke, and where it lies on it */
    DT_ARRAY(run) runs;
    size_t most_runs;
    bool no_memory;
} finder;

static bool enter_stroke(finder *f, const dt_stroke *stroke, uint32_t index) {
    dt_path path = stroke->path;
    double arc = 0.0;
    for (size_t i = 1; i < path.count + (stroke->closed ? 1 : 0); i++) {
        dt_point a = path.points[i - 1], b = path.points[i < path.count ? i : 0];
        double end = arc + dt_point_distance(a, b);
        if (end == arc) continue;
        if (!dt_strands_add(&f->strands, a, b, index, true) || !dt_array_push(&f->starts, ((run){index, arc, end})))
            return false;
        arc = end;
    }
    return true;
}

static bool are_parallel(const finder *f, const dt_strand_segment *c, const dt_strand_segment *d) {
    dt_point along_c = dt_point_sub(c->b, c->a), along_d = dt_point_sub(d->b, d->a);
    double square_c = dt_point_dot(along_c, along_c), square_d = dt_point_dot(along_d, along_d);
    double near = f->doubled->near_mm, cross = dt_point_cross(along_c, along_d), sine = f->doubled->greatest_sine;
    if (fmin(square_c, square_d) <= near * near * 1.000001) return true;
    return cross * cross <= sine * sine * square_c * square_d * 1.000001;
}

static bool look(void *context, uint32_t i, uint32_t j) {
    finder *f = context;
    const dt_strand_segment *c = &f->strands.segments.items[i], *d = &f->strands.segments.items[j];
    const run *at = &f->starts.items[i], *other = &f->starts.items[j];
    double near = f->doubled->near_mm, from, to;
    if (at->stroke == other->stroke && at->from - other->to < 4.0 * near)
        return true; /* the line goes on from the one to the other */
    if (!are_parallel(f, c, d) || !dt_part_beside(c->a, c->b, d->a, d->b, near, &from, &to)) return true;
    double length = at->to - at->from;
    run found = {at->stroke, at->from + from * length, at->from + to * length};
    if (f->runs.count >= f->most_runs) return false;
    f->no_memory = !dt_array_push(&f->runs, found);
    return !f->no_memory;
}

static int compare_runs(const void *left, const void *right) {
    const run *a = left, *b = right;
    if (a->stroke != b->stroke) return a->stroke < b->stroke ? -1 : 1;
    return (a->from > b->from) - (a->from < b->from);
}

static bool are_short(finder *f) {
    const run *runs = f->runs.items;
    if (f->runs.count) qsort(f->runs.items, f->runs.count, sizeof *f->runs.items, compare_runs);
    for (size_t first = 0, end; first < f->runs.count; first = end) {
        double to = runs[first].to;
        for (end = first + 1;
             end < f->runs.count && runs[end].stroke == runs[first].stroke && runs[end].from <= to + 2 * DT_GRID_MM;
             end++)
            to = fmax(to, runs[end].to);
        if (to - runs[first].from > f->doubled->long_mm) return false;
    }
    return true;
}

dt_status dt_single_check(dt_strokes strokes, const dt_doubled *doubled, bool *single) {
    finder f = {.doubled = doubled};
    dt_status status = DT_NO_MEMORY;
    for (uint32_t i = 0; i < strokes.count; i++)
        if (!enter_stroke(&f, &strokes.strokes[i], i)) goto done;
    if (!dt_strands_close(&f.strands)) goto done;
    size_t cuts = f.strands.segments.count;
    f.most_runs = PLACES + cuts / CUTS_A_PLACE;
    bool whole = dt_strands_join(&f.strands, doubled->near_mm, PLACES + WORK_A_CUT * cuts, look, &f);
    if (f.no_memory) goto done;
    *single = whole && are_short(&f);
    status = DT_OK;
done:
    dt_strands_free(&f.strands);
    dt_array_free(&f.starts);
    dt_array_free(&f.runs);
    return status;
}
