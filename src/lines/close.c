/* Close cuts. As for doubled lines, the part of one cut within half a millimetre of another is one interval, and
 * intervals that follow on each other are a stretch. Each pair of arcs is looked at once, from the arc with the lower
 * number. */
#include "close.h"

#include "geom/beside.h"
#include "geom/strands.h"
#include <math.h>

/* Lines nearer than this burn away between them (common practice of the workshop). */
#define CLOSE_MM 0.5
/* A strip shorter than this is a corner, not a strip: twice as long as wide. */
#define LEAST_LENGTH_MM 1.0
/* Two arcs that leave a node at 10 degrees or more are 0.5 mm apart after 3 mm. */
#define CORNER_MM 3.0
/* Holes in a stretch up to this do not end it. */
#define HOLE_MM 0.5
/* Pairs of cuts so near that they are looked at, and boxes and cuts compared on the way there: a knobbed sheet of 5,000
 * pieces needs 2 and 20 million, nearly all of them of one and the same bend. */
#define MOST_PAIRS 30000000u
#define MOST_WORK 150000000u
/* They lie in memory together. */
#define MOST_INTERVALS 2000000u

typedef struct cut {
    dt_point a, b;
    double start, length; /* arc length of a on its arc; of the cut */
    uint32_t arc;
} cut;

typedef struct interval {
    uint32_t arc, other;
    double from, to;     /* arc length on the arc at hand */
    double least;        /* distance */
    dt_point at, across; /* where it is that */
} interval;

typedef struct finder {
    const dt_net *net;
    double least_length;
    dt_faults *faults;
    DT_ARRAY(cut) cuts;
    DT_ARRAY(interval) intervals;
    dt_strands strands; /* on one of them no two places are apart along it and near each other */
    uint64_t pairs;
    bool no_memory;
} finder;

static uint32_t common_face(const dt_arc *a, const dt_arc *b) {
    if (a->left != DT_OUTSIDE_FACE && (a->left == b->left || a->left == b->right)) return a->left;
    if (a->right != DT_OUTSIDE_FACE && (a->right == b->left || a->right == b->right)) return a->right;
    return DT_OUTSIDE_FACE;
}

/* On one arc: the way along it from the one to the other, and on round a closed one. */
static void ways_between(const finder *f, const cut *s, const cut *t, double *between, double *round) {
    const dt_arc *arc = &f->net->arcs[s->arc];
    *between = s->start > t->start ? s->start - t->start - t->length : t->start - s->start - s->length;
    *round = arc->from == arc->to ? arc->length - *between - s->length - t->length : INFINITY;
}

static bool is_same_stretch(const finder *f, const cut *s, const cut *t) {
    double between, round;
    if (s->arc != t->arc) return false;
    ways_between(f, s, t, &between, &round);
    return between < 2 * CORNER_MM || round < 2 * CORNER_MM;
}

/* What lies within CORNER_MM of a node that both arcs share is their corner. */
static void leave_corners(const dt_arc *a, const dt_arc *b, double *from, double *to) {
    if (a == b) return;
    if (a->from == b->from || a->from == b->to) *from = fmax(*from, CORNER_MM);
    if (a->to == b->from || a->to == b->to) *to = fmin(*to, a->length - CORNER_MM);
}

/* The arc lengths on s between which it runs beside t. */
static bool runs_beside(const finder *f, const cut *s, const cut *t, interval *out) {
    double from, to;
    if (!dt_part_beside(s->a, s->b, t->a, t->b, CLOSE_MM, &from, &to)) return false;
    *out = (interval){
        .arc = s->arc, .other = t->arc, .from = s->start + from * s->length, .to = s->start + to * s->length};
    leave_corners(&f->net->arcs[s->arc], &f->net->arcs[t->arc], &out->from, &out->to);
    return out->from < out->to;
}

static bool have_common_face(const finder *f, const cut *s, const cut *t) {
    return common_face(&f->net->arcs[s->arc], &f->net->arcs[t->arc]) != DT_OUTSIDE_FACE;
}

/* ---- pairs of cuts ---- */

static void least_distance(const cut *s, const cut *t, interval *out) {
    const dt_point own[2] = {
        dt_point_add(s->a, dt_point_scale(dt_point_sub(s->b, s->a), (out->from - s->start) / s->length)),
        dt_point_add(s->a, dt_point_scale(dt_point_sub(s->b, s->a), (out->to - s->start) / s->length))};
    const dt_point others[2] = {t->a, t->b};
    out->least = INFINITY;
    for (int k = 0; k < 4; k++) {
        dt_point near, p = k < 2 ? own[k] : others[k - 2];
        double distance =
            k < 2 ? dt_segment_distance(p, t->a, t->b, &near) : dt_segment_distance(p, own[0], own[1], &near);
        if (distance >= out->least) continue;
        out->least = distance;
        out->at = k < 2 ? p : near;
        out->across = k < 2 ? near : p;
    }
}

/* Of two arcs the one with the lower number is the arc at hand; of one arc, the part that comes first. */
static bool compare_pair(void *context, uint32_t i, uint32_t k) {
    finder *f = context;
    const cut *s = &f->cuts.items[k], *t = &f->cuts.items[i]; /* k < i: cuts are entered arc by arc */
    interval in;
    if (++f->pairs > MOST_PAIRS) return false;
    if (is_same_stretch(f, s, t) || !have_common_face(f, s, t) || !runs_beside(f, s, t, &in)) return true;
    least_distance(s, t, &in);
    if (f->intervals.count == MOST_INTERVALS) return false;
    f->no_memory = !dt_array_push(&f->intervals, in);
    return !f->no_memory;
}

static int compare_intervals(const void *left, const void *right) {
    const interval *a = left, *b = right;
    if (a->arc != b->arc) return a->arc < b->arc ? -1 : 1;
    if (a->other != b->other) return a->other < b->other ? -1 : 1;
    if (a->from != b->from) return a->from < b->from ? -1 : 1;
    if (a->to != b->to) return a->to < b->to ? -1 : 1;
    return (a->least > b->least) - (a->least < b->least);
}

static uint32_t stroke_of(const dt_arc *arc) {
    return arc->stroke_count ? arc->strokes[0] : DT_NO_INDEX;
}

static bool report_run(finder *f, const interval *run) {
    const dt_arc *arc = &f->net->arcs[run->arc], *other = &f->net->arcs[run->other];
    dt_fault fault = {.kind = DT_FAULT_CLOSE_CUTS,
                      .at = run->at,
                      .other = run->across,
                      .size_mm = run->least,
                      .stroke = stroke_of(arc),
                      .other_stroke = stroke_of(other),
                      .pieces = {common_face(arc, other), DT_NO_INDEX},
                      .times = 1};
    return run->to - run->from <= f->least_length || dt_array_push(f->faults, fault);
}

static bool report_runs(finder *f) {
    if (f->intervals.count)
        qsort(f->intervals.items, f->intervals.count, sizeof *f->intervals.items, compare_intervals);
    for (size_t first = 0, end; first < f->intervals.count; first = end) {
        interval run = f->intervals.items[first];
        for (end = first + 1; end < f->intervals.count; end++) {
            const interval *in = &f->intervals.items[end];
            if (in->arc != run.arc || in->other != run.other || in->from > run.to + HOLE_MM) break;
            if (in->least < run.least) {
                run.least = in->least;
                run.at = in->at;
                run.across = in->across;
            }
            run.to = fmax(run.to, in->to);
        }
        if (!report_run(f, &run)) return false;
    }
    return true;
}

static bool enter_arc(finder *f, uint32_t which) {
    dt_path path = f->net->arcs[which].path;
    double start = 0.0;
    for (size_t i = 1; i < path.count; i++) {
        dt_point a = path.points[i - 1], b = path.points[i];
        double length = dt_point_distance(a, b);
        if (!dt_strands_add(&f->strands, a, b, which, true) ||
            !dt_array_push(&f->cuts, ((cut){a, b, start, length, which})))
            return false;
        start += length;
    }
    return true;
}

static dt_status report_all(finder *f, dt_error *error) {
    for (uint32_t a = 0; a < f->net->arc_count; a++)
        if (!enter_arc(f, a)) return DT_NO_MEMORY;
    if (!dt_strands_close(&f->strands)) return DT_NO_MEMORY;
    if (!dt_strands_join(&f->strands, CLOSE_MM, MOST_WORK, compare_pair, f) && !f->no_memory)
        return dt_fail(error, DT_TOO_LARGE,
                       "millions of lines lie within half a millimetre of each other: leave out what is no cut "
                       "with --skip, or check the drawing's size");
    return !f->no_memory && report_runs(f) ? DT_OK : DT_NO_MEMORY;
}

dt_status dt_close_report(const dt_net *net, double kerf_mm, dt_faults *faults, dt_error *error) {
    finder f = {.net = net, .least_length = fmax(2 * kerf_mm, LEAST_LENGTH_MM), .faults = faults};
    dt_status status = report_all(&f, error);
    dt_strands_free(&f.strands);
    dt_array_free(&f.cuts);
    dt_array_free(&f.intervals);
    return status;
}
