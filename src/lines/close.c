/* Close cuts. As for doubled lines, the part of one cut within half a millimetre of another is one interval, and intervals that follow
 * on each other are a stretch. Each pair of arcs is looked at once, from the arc with the lower number. */
#include "close.h"

#include "geom/beside.h"
#include "geom/grid_index.h"
#include <math.h>

/* Lines nearer than this burn away between them (common practice of the workshop). */
#define CLOSE_MM 0.5
/* A strip shorter than this is a corner, not a strip: twice as long as wide. */
#define LEAST_LENGTH_MM 1.0
/* Two arcs that leave a node at 10 degrees or more are 0.5 mm apart after 3 mm. */
#define CORNER_MM 3.0
/* Holes in a stretch up to this do not end it. */
#define HOLE_MM 0.5
/* A knobbed sheet of 5,000 pieces needs 30 million, nearly all of them of one and the same bend. */
#define MOST_PAIRS 150000000u

typedef struct cut {
    dt_point a, b;
    double start, length; /* arc length of a on its arc; of the cut */
    uint32_t arc;
} cut;

typedef struct interval {
    uint32_t other;       /* arc */
    double from, to;      /* arc length on the arc at hand */
    double least;         /* distance */
    dt_point at, across;  /* where it is that */
} interval;

typedef struct finder {
    const dt_net *net;
    double least_length;
    dt_faults *faults;
    DT_ARRAY(cut) cuts;
    DT_ARRAY(interval) intervals;
    dt_grid grid;
    uint64_t pairs;
} finder;

static uint32_t common_face(const dt_arc *a, const dt_arc *b) {
    if (a->left != DT_OUTSIDE_FACE && (a->left == b->left || a->left == b->right)) return a->left;
    if (a->right != DT_OUTSIDE_FACE && (a->right == b->left || a->right == b->right)) return a->right;
    return DT_OUTSIDE_FACE;
}

static bool boxes_near(const cut *s, const cut *t) {
    if ((s->a.x < s->b.x ? s->b.x : s->a.x) + CLOSE_MM < (t->a.x < t->b.x ? t->a.x : t->b.x)) return false;
    if ((t->a.x < t->b.x ? t->b.x : t->a.x) + CLOSE_MM < (s->a.x < s->b.x ? s->a.x : s->b.x)) return false;
    if ((s->a.y < s->b.y ? s->b.y : s->a.y) + CLOSE_MM < (t->a.y < t->b.y ? t->a.y : t->b.y)) return false;
    return (t->a.y < t->b.y ? t->b.y : t->a.y) + CLOSE_MM >= (s->a.y < s->b.y ? s->a.y : s->b.y);
}

/* On one arc: the way between the two along it. */
static bool is_same_stretch(const finder *f, const cut *s, const cut *t) {
    if (s->arc != t->arc) return false;
    const dt_arc *arc = &f->net->arcs[s->arc];
    double between = s->start > t->start ? s->start - t->start - t->length : t->start - s->start - s->length;
    double round = arc->from == arc->to ? arc->length - between - s->length - t->length : INFINITY;
    return between < 2 * CORNER_MM || round < 2 * CORNER_MM;
}

/* What lies within CORNER_MM of a node that both arcs share is their corner. */
static void leave_corners(const dt_arc *a, const dt_arc *b, double *from, double *to) {
    if (a == b) return;
    if (a->from == b->from || a->from == b->to) *from = fmax(*from, CORNER_MM);
    if (a->to == b->from || a->to == b->to) *to = fmin(*to, a->length - CORNER_MM);
}

static void least_distance(const cut *s, const cut *t, interval *out) {
    const dt_point own[2] = {dt_point_add(s->a, dt_point_scale(dt_point_sub(s->b, s->a), (out->from - s->start) / s->length)),
                             dt_point_add(s->a, dt_point_scale(dt_point_sub(s->b, s->a), (out->to - s->start) / s->length))};
    const dt_point others[2] = {t->a, t->b};
    out->least = INFINITY;
    for (int k = 0; k < 4; k++) {
        dt_point near, p = k < 2 ? own[k] : others[k - 2];
        double distance = k < 2 ? dt_segment_distance(p, t->a, t->b, &near) : dt_segment_distance(p, own[0], own[1], &near);
        if (distance >= out->least) continue;
        out->least = distance;
        out->at = k < 2 ? p : near;
        out->across = k < 2 ? near : p;
    }
}

static bool compare_cuts(finder *f, const cut *s, const cut *t) {
    f->pairs++;
    if (t->arc < s->arc || !boxes_near(s, t) || is_same_stretch(f, s, t) || (t->arc == s->arc && t->start < s->start)) return true;
    const dt_arc *a = &f->net->arcs[s->arc], *b = &f->net->arcs[t->arc];
    if (common_face(a, b) == DT_OUTSIDE_FACE) return true;
    interval in = {.other = t->arc};
    if (!dt_part_beside(s->a, s->b, t->a, t->b, CLOSE_MM, &in.from, &in.to)) return true;
    in.from = s->start + in.from * s->length;
    in.to = s->start + in.to * s->length;
    leave_corners(a, b, &in.from, &in.to);
    if (in.from >= in.to) return true;
    least_distance(s, t, &in);
    return dt_array_push(&f->intervals, in);
}

static bool compare_with_all(finder *f, const cut *s) {
    for (dt_nearby n = dt_grid_nearby(&f->grid, s->a, s->b, CLOSE_MM); dt_nearby_next(&n);)
        if (!compare_cuts(f, s, &f->cuts.items[n.item])) return false;
    return true;
}

static int compare_intervals(const void *left, const void *right) {
    const interval *a = left, *b = right;
    if (a->other != b->other) return a->other < b->other ? -1 : 1;
    if (a->from != b->from) return a->from < b->from ? -1 : 1;
    if (a->to != b->to) return a->to < b->to ? -1 : 1;
    return (a->least > b->least) - (a->least < b->least);
}

static uint32_t stroke_of(const dt_arc *arc) {
    return arc->stroke_count ? arc->strokes[0] : DT_NO_INDEX;
}

static bool report_runs(finder *f, uint32_t which) {
    const dt_arc *arc = &f->net->arcs[which];
    if (f->intervals.count) qsort(f->intervals.items, f->intervals.count, sizeof *f->intervals.items, compare_intervals);
    for (size_t first = 0, end; first < f->intervals.count; first = end) {
        interval run = f->intervals.items[first];
        for (end = first + 1; end < f->intervals.count; end++) {
            const interval *in = &f->intervals.items[end];
            if (in->other != run.other || in->from > run.to + HOLE_MM) break;
            if (in->least < run.least) {
                run.least = in->least;
                run.at = in->at;
                run.across = in->across;
            }
            run.to = fmax(run.to, in->to);
        }
        if (run.to - run.from <= f->least_length) continue;
        const dt_arc *other = &f->net->arcs[run.other];
        dt_fault fault = {.kind = DT_FAULT_CLOSE_CUTS, .at = run.at, .other = run.across, .size_mm = run.least,
                          .stroke = stroke_of(arc), .other_stroke = stroke_of(other),
                          .pieces = {common_face(arc, other), DT_NO_INDEX}, .times = 1};
        if (!dt_array_push(f->faults, fault)) return false;
    }
    return true;
}

static bool enter_arc(finder *f, uint32_t which) {
    dt_path path = f->net->arcs[which].path;
    double start = 0.0;
    for (size_t i = 1; i < path.count; i++) {
        cut c = {path.points[i - 1], path.points[i], start, dt_point_distance(path.points[i - 1], path.points[i]), which};
        if (!dt_grid_add(&f->grid, c.a, c.b, (uint32_t)f->cuts.count) || !dt_array_push(&f->cuts, c)) return false;
        start += c.length;
    }
    return true;
}

static dt_status report_all(finder *f, dt_error *error) {
    size_t next = 0;
    for (uint32_t a = 0; a < f->net->arc_count; a++)
        if (!enter_arc(f, a)) return DT_NO_MEMORY;
    for (uint32_t a = 0; a < f->net->arc_count; a++) {
        f->intervals.count = 0;
        for (; next < f->cuts.count && f->cuts.items[next].arc == a; next++)
            if (!compare_with_all(f, &f->cuts.items[next])) return DT_NO_MEMORY;
        if (!report_runs(f, a)) return DT_NO_MEMORY;
        if (f->pairs > MOST_PAIRS)
            return dt_fail(error, DT_TOO_LARGE, "millions of lines lie within half a millimetre of each other: leave out what is no cut "
                           "with --skip, or check the drawing's size");
    }
    return DT_OK;
}

dt_status dt_close_report(const dt_net *net, double kerf_mm, dt_faults *faults, dt_error *error) {
    finder f = {.net = net, .least_length = fmax(2 * kerf_mm, LEAST_LENGTH_MM), .faults = faults};
    dt_grid_init(&f.grid, 2 * CLOSE_MM, 0.0);
    dt_status status = report_all(&f, error);
    dt_array_free(&f.cuts);
    dt_array_free(&f.intervals);
    dt_grid_free(&f.grid);
    return status;
}
