/* Close cuts. As for doubled lines, the part of one cut within half a millimetre of another is one interval, and intervals that follow
 * on each other are a stretch. Each pair of arcs is looked at once, from the arc with the lower number.
 *
 * Few arcs come near another, so there are two rounds: the first, over thinned arcs and a little farther, only marks arcs; the second is
 * exact and looks at those that were marked. Invariant: what is near in the second round was near in the first. */
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
/* A thinned arc stays this near to its points; then nothing within CLOSE_MM is farther apart than NEAR_MM. */
#define THIN_MM 0.05
#define NEAR_MM (CLOSE_MM + 2 * THIN_MM)
/* The cuts of a thinned arc are short beside CORNER_MM (then most pairs of one bend need no look), of few points (or thinning is quadratic),
 * and their arc lengths are right to within SLACK_MM. */
#define THIN_LENGTH_MM 1.5
#define THIN_POINTS 16
#define SLACK_MM 0.5
/* A knobbed sheet of 5,000 pieces needs 5 million, nearly all of them of one and the same bend. */
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
    bool *marked;         /* of each arc: it comes near another, or itself */
    uint32_t *seen;       /* of each cut: the cut that it was compared with last; long ones share many cells */
    dt_grid grid;
    uint64_t pairs;
} finder;

static uint32_t common_face(const dt_arc *a, const dt_arc *b) {
    if (a->left != DT_OUTSIDE_FACE && (a->left == b->left || a->left == b->right)) return a->left;
    if (a->right != DT_OUTSIDE_FACE && (a->right == b->left || a->right == b->right)) return a->right;
    return DT_OUTSIDE_FACE;
}

static bool boxes_near(const cut *s, const cut *t, double near) {
    if ((s->a.x < s->b.x ? s->b.x : s->a.x) + near < (t->a.x < t->b.x ? t->a.x : t->b.x)) return false;
    if ((t->a.x < t->b.x ? t->b.x : t->a.x) + near < (s->a.x < s->b.x ? s->a.x : s->b.x)) return false;
    if ((s->a.y < s->b.y ? s->b.y : s->a.y) + near < (t->a.y < t->b.y ? t->a.y : t->b.y)) return false;
    return (t->a.y < t->b.y ? t->b.y : t->a.y) + near >= (s->a.y < s->b.y ? s->a.y : s->b.y);
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

/* Is every part of the one on the same stretch as every part of the other? */
static bool are_same_stretch(const finder *f, const cut *s, const cut *t) {
    double between, round, both = s->length + t->length;
    if (s->arc != t->arc) return false;
    ways_between(f, s, t, &between, &round);
    return between + both < 2 * CORNER_MM || round + both < 2 * CORNER_MM;
}

/* What lies within `corner` of a node that both arcs share is their corner. */
static void leave_corners(const dt_arc *a, const dt_arc *b, double corner, double *from, double *to) {
    if (a == b) return;
    if (a->from == b->from || a->from == b->to) *from = fmax(*from, corner);
    if (a->to == b->from || a->to == b->to) *to = fmin(*to, a->length - corner);
}

/* The arc lengths on s between which it runs beside t. */
static bool runs_beside(const finder *f, const cut *s, const cut *t, double near, double corner, interval *out) {
    double from, to;
    if (!dt_part_beside(s->a, s->b, t->a, t->b, near, &from, &to)) return false;
    *out = (interval){.other = t->arc, .from = s->start + from * s->length, .to = s->start + to * s->length};
    leave_corners(&f->net->arcs[s->arc], &f->net->arcs[t->arc], corner, &out->from, &out->to);
    return out->from < out->to;
}

static bool have_common_face(const finder *f, const cut *s, const cut *t) {
    return common_face(&f->net->arcs[s->arc], &f->net->arcs[t->arc]) != DT_OUTSIDE_FACE;
}

/* ---- the first round ---- */

/* The farthest point after `first` to which a straight line stays near all points between. */
static size_t next_thinned(dt_path path, size_t first) {
    size_t last = first + 1;
    double length = 0.0;
    while (last + 1 < path.count && last - first < THIN_POINTS) {
        length += dt_point_distance(path.points[last - 1], path.points[last]);
        if (length + dt_point_distance(path.points[last], path.points[last + 1]) > THIN_LENGTH_MM) break;
        for (size_t i = first + 1; i <= last; i++)
            if (dt_segment_distance(path.points[i], path.points[first], path.points[last + 1], NULL) > THIN_MM) return last;
        last++;
    }
    return last;
}

static bool enter_cut(finder *f, cut c) {
    return dt_grid_add(&f->grid, c.a, c.b, (uint32_t)f->cuts.count) && dt_array_push(&f->cuts, c);
}

/* s is of an arc with a lower number than t, or of the same. */
static void mark_pair(finder *f, const cut *s, const cut *t) {
    interval unused;
    f->pairs++;
    if ((f->marked[s->arc] && f->marked[t->arc]) || !boxes_near(s, t, NEAR_MM)) return;
    if (are_same_stretch(f, s, t) || !have_common_face(f, s, t)) return;
    if (runs_beside(f, s, t, NEAR_MM, CORNER_MM - SLACK_MM, &unused)) f->marked[s->arc] = f->marked[t->arc] = true;
}

/* Each cut is compared with those that were entered before it. */
static bool mark_arc(finder *f, uint32_t which) {
    dt_path path = f->net->arcs[which].path;
    double start = 0.0;
    for (size_t i = 0, next; i + 1 < path.count && f->pairs <= MOST_PAIRS; i = next) {
        next = next_thinned(path, i);
        cut c = {path.points[i], path.points[next], start, dt_path_length((dt_path){path.points + i, next - i + 1}), which};
        for (dt_nearby n = dt_grid_nearby(&f->grid, c.a, c.b, NEAR_MM); dt_nearby_next(&n);) mark_pair(f, &f->cuts.items[n.item], &c);
        if (!enter_cut(f, c)) return false;
        start += c.length;
    }
    return true;
}

/* ---- the second round ---- */

static bool enter_exactly(finder *f, uint32_t which) {
    dt_path path = f->net->arcs[which].path;
    double start = 0.0;
    for (size_t i = 1; i < path.count; i++) {
        double length = dt_point_distance(path.points[i - 1], path.points[i]);
        if (!enter_cut(f, (cut){path.points[i - 1], path.points[i], start, length, which})) return false;
        start += length;
    }
    return true;
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

static bool compare_pair(finder *f, uint32_t i, uint32_t k) {
    const cut *s = &f->cuts.items[i], *t = &f->cuts.items[k];
    f->pairs++;
    if (f->seen[k] == i) return true;
    f->seen[k] = i;
    if (t->arc < s->arc || (t->arc == s->arc && t->start < s->start) || !boxes_near(s, t, CLOSE_MM)) return true;
    interval in;
    if (is_same_stretch(f, s, t) || !have_common_face(f, s, t) || !runs_beside(f, s, t, CLOSE_MM, CORNER_MM, &in)) return true;
    least_distance(s, t, &in);
    return dt_array_push(&f->intervals, in);
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

/* ---- both ---- */

static dt_status check_work(const finder *f, dt_error *error) {
    if (f->pairs <= MOST_PAIRS) return DT_OK;
    return dt_fail(error, DT_TOO_LARGE, "millions of lines lie within half a millimetre of each other: leave out what is no cut "
                   "with --skip, or check the drawing's size");
}

static void empty(finder *f) {
    dt_grid_free(&f->grid);
    dt_grid_init(&f->grid, 2 * CLOSE_MM, 0.0);
    f->cuts.count = 0;
}

static dt_status mark_arcs(finder *f, dt_error *error) {
    empty(f);
    for (uint32_t a = 0; a < f->net->arc_count; a++)
        if (!mark_arc(f, a)) return DT_NO_MEMORY;
    return check_work(f, error);
}

static dt_status report_all(finder *f, dt_error *error) {
    empty(f);
    for (uint32_t a = 0; a < f->net->arc_count; a++)
        if (f->marked[a] && !enter_exactly(f, a)) return DT_NO_MEMORY;
    f->seen = malloc((f->cuts.count + 1) * sizeof *f->seen);
    if (!f->seen) return DT_NO_MEMORY;
    for (size_t i = 0; i < f->cuts.count; i++) f->seen[i] = DT_NO_INDEX;
    for (size_t i = 0; i < f->cuts.count && f->pairs <= MOST_PAIRS;) {
        uint32_t arc = f->cuts.items[i].arc;
        f->intervals.count = 0;
        for (; i < f->cuts.count && f->cuts.items[i].arc == arc; i++) {
            const cut *s = &f->cuts.items[i];
            for (dt_nearby n = dt_grid_nearby(&f->grid, s->a, s->b, CLOSE_MM); dt_nearby_next(&n);)
                if (!compare_pair(f, (uint32_t)i, n.item)) return DT_NO_MEMORY;
        }
        if (!report_runs(f, arc)) return DT_NO_MEMORY;
    }
    return check_work(f, error);
}

dt_status dt_close_report(const dt_net *net, double kerf_mm, dt_faults *faults, dt_error *error) {
    finder f = {.net = net, .least_length = fmax(2 * kerf_mm, LEAST_LENGTH_MM), .faults = faults};
    f.marked = calloc(net->arc_count + 1, sizeof *f.marked);
    dt_status status = f.marked ? mark_arcs(&f, error) : DT_NO_MEMORY;
    if (status == DT_OK) status = report_all(&f, error);
    free(f.marked);
    free(f.seen);
    dt_array_free(&f.cuts);
    dt_array_free(&f.intervals);
    dt_grid_free(&f.grid);
    return status;
}
