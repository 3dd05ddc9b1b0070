/* Doubled lines. The strokes are laid down one after the other; each cut of a stroke looks up what lies there already,
 * in a grid that grows as strokes are laid. The part of a cut that lies within a distance r of another cut is one
 * interval (the distance to a convex set is convex), found exactly. Intervals that join up to more than two kerfs are a
 * doubled stretch and are not laid. Invariant: what is laid was compared with all that was laid before, so no stretch
 * stays doubled, and each stretch that is left out lies within a quarter kerf of one that stays (or of one that was
 * left out for the same reason).
 *
 * Where a line forks off at a slant the two stay within a quarter kerf for a while longer. So the intervals are kept
 * for several distances, and where both lines go on a stretch ends where it ends for the least of them that still
 * covers most of it. Where one of the two stops, the stretch ends there. */
#include "doubles.h"

#include "geom/beside.h"
#include "geom/keys.h"
#include "geom/grid_index.h"
#include "single.h"
#include <math.h>
#include <string.h>

/* "Within a quarter kerf": then the two burns overlap by three quarters. At least the flatness of curves, so that the
 * same curve cut up in two ways is found for any kerf. */
#define NEAR_KERFS 0.25
#define LEAST_NEAR_MM 0.01
/* "For longer than two kerfs": lines that cross at 15 degrees or more run together for less. */
#define LONG_KERFS 2.0
#define LEAST_LONG_MM 0.1
/* Lines at a greater angle than 30 degrees cross; stubs shorter than the distance have no direction worth the name. */
#define GREATEST_SINE 0.5
#define LEVELS 4
static const double LEVEL_SHARE[LEVELS] = {0.04, 0.2, 0.5,
                                           1.0}; /* of the distance: 2, 10, 25, 50 micrometres for 0.2 mm kerf */
#define MOST_OF_IT 0.8
/* Pairs of cuts compared, in all and for each cut: a knobbed sheet needs 2 a cut, drawn as whole outlines 50. A stretch
 * found beside another costs some pairs more, as it is sorted. */
#define MOST_PAIRS 20000000u
#define MOST_PAIRS_A_CUT 60u
#define PAIRS_A_STRETCH 3
/* Of one stroke: they lie in memory together. A stroke of 100,000 cuts that is doubled from end to end has this many.
 */
#define MOST_INTERVALS 2000000u

typedef struct laid {
    dt_point a, b;
    double start; /* arc length of a on its stroke */
    double length;
    uint32_t stroke;
    uint32_t compared; /* with this of the stroke's cuts last, counted from 1 through all strokes */
} laid;

typedef struct interval {
    double from, to; /* arc length on the stroke at hand */
    uint32_t stroke; /* that it runs along */
    int level;
    uint32_t item; /* the very cut, in laid */
} interval;

/* All of a run beside one stroke, at the widest level. */
typedef struct span {
    double from, to;
    uint32_t stroke;
} span;

typedef struct stretch {
    double from, to;
    uint32_t stroke; /* that it runs along for longest */
} stretch;

typedef struct layer {
    double near_mm, long_mm;
    double least_arc, greatest_arc; /* where the stroke at hand begins and ends; infinite for a closed one */
    dt_cuts *cuts;
    dt_ghosts *ghosts;
    dt_faults *faults;
    dt_grid grid;
    DT_ARRAY(laid) laid;
    DT_ARRAY(laid) own; /* the cuts of the stroke at hand */
    DT_ARRAY(interval) intervals;
    DT_ARRAY(stretch) stretches;
    DT_ARRAY(span) spans;
    DT_ARRAY(dt_cut) links;    /* see lead_over */
    dt_keys keys;              /* of the strokes so far, by their points */
    DT_ARRAY(uint32_t) firsts; /* of each key, the first such stroke; DT_NO_INDEX: it was not laid whole */
    uint32_t turn;             /* the cut at hand, so counted */
    uint64_t pairs, most_pairs;
} layer;

static dt_point between(dt_point a, dt_point b, double t) {
    return dt_point_add(a, dt_point_scale(dt_point_sub(b, a), t));
}

static bool nearly_parallel(const layer *l, const laid *c, const laid *d) {
    if (c->length <= l->near_mm || d->length <= l->near_mm) return true;
    double cross = dt_point_cross(dt_point_sub(c->b, c->a), dt_point_sub(d->b, d->a));
    return fabs(cross) <= GREATEST_SINE * c->length * d->length;
}

/* On its own stroke a cut is compared with what came so long before that the line must have turned back. */
static bool is_own_neighbour(const layer *l, const laid *cut, const laid *other, double perimeter) {
    if (cut->stroke != other->stroke) return false;
    double behind = cut->start - (other->start + other->length),
           ahead = other->start + perimeter - (cut->start + cut->length);
    return behind < 4 * l->near_mm || ahead < 4 * l->near_mm;
}

static inline bool lie_apart(double a, double b, double c, double d, double reach) {
    return (a > b ? a : b) + reach < (c < d ? c : d) || (c > d ? c : d) + reach < (a < b ? a : b);
}

static inline bool are_apart(const laid *c, const laid *d, double reach) {
    return lie_apart(c->a.x, c->b.x, d->a.x, d->b.x, reach) || lie_apart(c->a.y, c->b.y, d->a.y, d->b.y, reach);
}

static bool compare_cuts(layer *l, const laid *cut, uint32_t item, double perimeter) {
    laid *other = &l->laid.items[item];
    l->pairs++;
    if (other->compared == l->turn) return true;
    other->compared = l->turn;
    if (is_own_neighbour(l, cut, other, perimeter) || are_apart(cut, other, l->near_mm) ||
        !nearly_parallel(l, cut, other))
        return true;
    for (int level = LEVELS - 1; level >= 0; level--) {
        double from, to;
        if (!dt_part_beside(cut->a, cut->b, other->a, other->b, l->near_mm * LEVEL_SHARE[level], &from, &to)) break;
        interval found = {cut->start + from * cut->length, cut->start + to * cut->length, other->stroke, level, item};
        if (l->intervals.count == MOST_INTERVALS) l->pairs = l->most_pairs;
        l->pairs += PAIRS_A_STRETCH;
        if (l->pairs > l->most_pairs || !dt_array_push(&l->intervals, found)) return false;
    }
    return true;
}

/* A cut may come up in several cells. */
static bool compare_with_laid(layer *l, const laid *cut, double perimeter) {
    l->turn++;
    for (dt_nearby n = dt_grid_nearby(&l->grid, cut->a, cut->b, 0.0); dt_nearby_next(&n);)
        if (l->pairs > l->most_pairs || !compare_cuts(l, cut, n.item, perimeter)) return false;
    return true;
}

static int compare_intervals(const void *left, const void *right) {
    const interval *a = left, *b = right;
    if (a->from != b->from) return a->from < b->from ? -1 : 1;
    if (a->to != b->to) return a->to < b->to ? -1 : 1;
    if (a->stroke != b->stroke) return a->stroke < b->stroke ? -1 : 1;
    if (a->level != b->level) return a->level - b->level;
    return (a->item > b->item) - (a->item < b->item);
}

/* Length of a run that is covered at a level, and its outermost covered places. */
static double covered(const layer *l, size_t first, size_t end, int level, stretch *out) {
    double sum = 0.0, reached = -INFINITY;
    *out = (stretch){INFINITY, -INFINITY, DT_NO_INDEX};
    for (size_t i = first; i < end; i++) {
        const interval *in = &l->intervals.items[i];
        if (in->level != level) continue;
        out->from = fmin(out->from, in->from);
        out->to = fmax(out->to, in->to);
        sum += fmax(0.0, in->to - fmax(in->from, reached));
        reached = fmax(reached, in->to);
    }
    return sum;
}

/* The stroke of the longest interval: good enough to name, and the lowest of equals. */
static uint32_t longest_beside(const layer *l, size_t first, size_t end) {
    const interval *best = NULL;
    for (size_t i = first; i < end; i++) {
        const interval *in = &l->intervals.items[i];
        double length = in->to - in->from;
        if (!best || length > best->to - best->from || (length == best->to - best->from && in->stroke < best->stroke))
            best = in;
    }
    return best->stroke;
}

static dt_point place_at(const layer *l, double arc) {
    size_t low = 0, high = l->own.count - 1; /* the cut that holds the arc length */
    while (low < high) {
        size_t middle = (low + high) / 2;
        if (l->own.items[middle].start + l->own.items[middle].length < arc)
            low = middle + 1;
        else
            high = middle;
    }
    const laid *cut = &l->own.items[low];
    return between(cut->a, cut->b, fmin(fmax((arc - cut->start) / cut->length, 0.0), 1.0));
}

/* Where stroke `along` runs beside the stroke at hand at this arc length. */
static dt_point beside_at(const layer *l, size_t first, size_t end, uint32_t along, double arc) {
    dt_point p = place_at(l, arc), best = p;
    double least = INFINITY;
    for (size_t i = first; i < end; i++) {
        const interval *in = &l->intervals.items[i];
        if (in->stroke != along || in->level != LEVELS - 1 || in->from > arc + l->near_mm || in->to < arc - l->near_mm)
            continue;
        const laid *cut = &l->laid.items[in->item];
        dt_point near;
        double distance = dt_segment_distance(p, cut->a, cut->b, &near);
        if (distance >= least) continue;
        least = distance;
        best = near;
    }
    return best;
}

static bool add_link(layer *l, dt_point a, dt_point b) {
    dt_cut link = {dt_gp_of(a), dt_gp_of(b), l->own.items[0].stroke};
    return dt_gp_same(link.a, link.b) || dt_array_push(&l->links, link);
}

static bool find_spans(layer *l, size_t first, size_t end) {
    l->spans.count = 0;
    for (size_t i = first; i < end; i++) {
        const interval *in = &l->intervals.items[i];
        if (in->level != LEVELS - 1) continue;
        size_t k = 0;
        while (k < l->spans.count &&
               (l->spans.items[k].stroke != in->stroke || in->from > l->spans.items[k].to + DT_GRID_MM))
            k++;
        l->pairs += k;
        if (k == l->spans.count && !dt_array_push(&l->spans, ((span){in->from, in->to, in->stroke}))) return false;
        l->spans.items[k].to = fmax(l->spans.items[k].to, in->to);
    }
    return true;
}

/* Of the spans that begin before `at`, the one that goes on for longest. */
static const span *span_beyond(const layer *l, double at) {
    const span *best = NULL;
    for (size_t k = 0; k < l->spans.count; k++) {
        const span *s = &l->spans.items[k];
        if (s->from <= at + DT_GRID_MM && (!best || s->to > best->to)) best = s;
    }
    return best;
}

/* From one stroke to the next, where the two are nearest to each other while both run beside. */
static bool link_spans(layer *l, size_t first, size_t end, const span *a, const span *b) {
    enum { PLACES = 8 };
    double from = fmax(a->from, b->from), to = fmin(a->to, b->to), least = INFINITY;
    dt_point p = {0, 0}, q = {0, 0};
    for (int k = 0; k <= PLACES; k++) {
        double arc = from + (to - from) * k / PLACES;
        dt_point on_a = beside_at(l, first, end, a->stroke, arc), on_b = beside_at(l, first, end, b->stroke, arc);
        if (dt_point_distance(on_a, on_b) >= least) continue;
        least = dt_point_distance(on_a, on_b);
        p = on_a;
        q = on_b;
    }
    return add_link(l, p, q);
}

/* A stretch that is left out must not tear its stroke: where it begins and ends, a link leads over to the line that
 * takes its place; and where that is another line from some place on, from the one to the other. So a closed outline
 * stays closed, and no two faces run together through a hole between lines that do not quite meet. */
static bool lead_over(layer *l, size_t first, size_t end, const stretch *s) {
    if (!find_spans(l, first, end)) return false;
    const span *now = span_beyond(l, s->from);
    if (!now) return true;
    if (s->from > l->least_arc && !add_link(l, place_at(l, s->from), beside_at(l, first, end, now->stroke, s->from)))
        return false;
    while (now->to < s->to && l->pairs <= l->most_pairs) {
        l->pairs += 10 * (end - first);
        const span *next = span_beyond(l, now->to);
        if (next->to <= now->to) break;
        if (next->stroke != now->stroke && !link_spans(l, first, end, now, next)) return false;
        now = next;
    }
    return s->to >= l->greatest_arc || add_link(l, place_at(l, s->to), beside_at(l, first, end, now->stroke, s->to));
}

/* Does the stroke of this laid cut go on beyond q, one of the cut's ends? */
static bool goes_on(const layer *l, uint32_t item, dt_point q) {
    const laid *cut = &l->laid.items[item];
    for (dt_nearby n = dt_grid_nearby(&l->grid, q, q, 0.0); dt_nearby_next(&n);) {
        const laid *other = &l->laid.items[n.item];
        if (n.item == item || other->stroke != cut->stroke) continue;
        if (dt_point_distance(other->a, q) < DT_GRID_MM || dt_point_distance(other->b, q) < DT_GRID_MM) return true;
    }
    return false;
}

/* Where the run ends because the line beside it stops: abreast of that stop. `tight` where both lines go on. */
static double stop_abreast(const layer *l, size_t first, size_t end, double edge, double tight) {
    for (size_t i = first; i < end; i++) {
        const interval *in = &l->intervals.items[i];
        if (in->level != LEVELS - 1 || (in->from != edge && in->to != edge)) continue;
        const laid *cut = &l->laid.items[in->item];
        dt_point p = place_at(l, edge), q;
        dt_segment_distance(p, cut->a, cut->b, &q);
        bool at_end = dt_point_distance(q, cut->a) < DT_GRID_MM || dt_point_distance(q, cut->b) < DT_GRID_MM;
        if (!at_end || goes_on(l, in->item, q)) continue;
        dt_point way = dt_point_sub(cut->b, cut->a);
        double beyond = fabs(dt_point_dot(dt_point_sub(p, q), way)) / cut->length;
        return edge + (in->to == edge ? -beyond : beyond);
    }
    return tight;
}

static bool take_run(layer *l, size_t first, size_t end) {
    stretch whole, tight;
    if (covered(l, first, end, LEVELS - 1, &whole) <= l->long_mm) return true;
    int level = 0;
    while (covered(l, first, end, level, &tight) < MOST_OF_IT * (whole.to - whole.from)) level++;
    if (whole.from <= l->least_arc)
        tight.from = whole.from;
    else
        tight.from = fmin(tight.from, stop_abreast(l, first, end, whole.from, tight.from));
    if (whole.to >= l->greatest_arc)
        tight.to = whole.to;
    else
        tight.to = fmax(tight.to, stop_abreast(l, first, end, whole.to, tight.to));
    tight.stroke = longest_beside(l, first, end);
    return lead_over(l, first, end, &tight) && dt_array_push(&l->stretches, tight);
}

/* Intervals that follow on each other to within the step of the grid are one run. */
static bool find_stretches(layer *l) {
    l->stretches.count = 0;
    if (l->intervals.count)
        qsort(l->intervals.items, l->intervals.count, sizeof *l->intervals.items, compare_intervals);
    for (size_t first = 0, end; first < l->intervals.count; first = end) {
        double reached = l->intervals.items[first].to;
        for (end = first + 1; end < l->intervals.count && l->intervals.items[end].from <= reached + DT_GRID_MM; end++)
            reached = fmax(reached, l->intervals.items[end].to);
        if (!take_run(l, first, end)) return false;
    }
    return true;
}

static bool report(layer *l) {
    for (size_t i = 0; i < l->stretches.count; i++) {
        const stretch *s = &l->stretches.items[i];
        dt_fault fault = {.kind = DT_FAULT_DOUBLED,
                          .at = place_at(l, s->from),
                          .other = place_at(l, s->to),
                          .size_mm = s->to - s->from,
                          .mended = true,
                          .stroke = l->own.items[0].stroke,
                          .other_stroke = s->stroke,
                          .pieces = {DT_NO_INDEX, DT_NO_INDEX},
                          .times = 1};
        if (!dt_array_push(l->faults, fault)) return false;
    }
    return true;
}

/* The ends of the cut exactly, however arc lengths round: the cuts before and after it must keep them in common. */
static laid part_of(const laid *cut, double from, double to) {
    dt_point a = cut->a, b = cut->b;
    if (from > cut->start) a = between(cut->a, cut->b, (from - cut->start) / cut->length);
    if (to < cut->start + cut->length) b = between(cut->a, cut->b, (to - cut->start) / cut->length);
    return (laid){a, b, from, to - from, cut->stroke, 0};
}

static bool lay_part(layer *l, const laid *cut, double from, double to) {
    if (to <= from) return true;
    laid part = part_of(cut, from, to);
    uint32_t item = (uint32_t)l->laid.count;
    return dt_array_push(&l->laid, part) && dt_grid_add(&l->grid, part.a, part.b, item);
}

static bool leave_part(layer *l, const laid *cut, double from, double to) {
    if (to <= from) return true;
    laid part = part_of(cut, from, to);
    return dt_array_push(l->ghosts, ((dt_ghost){part.a, part.b, part.stroke}));
}

/* Walks the cuts of the stroke and its stretches, both in the order of arc length. */
static bool divide(layer *l) {
    size_t s = 0;
    for (size_t i = 0; i < l->own.count; i++) {
        const laid *cut = &l->own.items[i];
        double at = cut->start, stop = cut->start + cut->length;
        while (s < l->stretches.count && l->stretches.items[s].from < stop) {
            double out = fmax(at, l->stretches.items[s].from), back = fmin(stop, l->stretches.items[s].to);
            if (!lay_part(l, cut, at, out) || !leave_part(l, cut, out, back)) return false;
            at = fmax(at, back);
            if (l->stretches.items[s].to > stop) break;
            s++;
        }
        if (!lay_part(l, cut, at, stop)) return false;
    }
    return true;
}

static bool list_own(layer *l, const dt_stroke *stroke, uint32_t index, double *perimeter) {
    dt_path path = stroke->path;
    double arc = 0.0;
    l->own.count = 0;
    for (size_t i = 1; i < path.count + (stroke->closed ? 1 : 0); i++) {
        dt_point a = path.points[i - 1], b = path.points[i % path.count];
        double length = dt_point_distance(a, b);
        if (length == 0.0) continue;
        if (!dt_array_push(&l->own, ((laid){a, b, arc, length, index, 0}))) return false;
        arc += length;
    }
    *perimeter = stroke->closed ? arc : INFINITY;
    l->least_arc = stroke->closed ? -INFINITY : 1e-9;
    l->greatest_arc = stroke->closed ? INFINITY : arc - 1e-9;
    return true;
}

/* ---- copies ---- */

static uint64_t hash_of(dt_path path) {
    uint64_t hash = path.count;
    for (size_t i = 0; i < path.count; i++) {
        uint64_t bits[2];
        memcpy(bits, &path.points[i], sizeof bits);
        for (int k = 0; k < 2; k++) hash = (hash ^ bits[k]) * 0x9e3779b97f4a7c15u, hash ^= hash >> 29;
    }
    return hash;
}

static bool are_same(const dt_stroke *a, const dt_stroke *b) {
    return a->closed == b->closed && a->path.count == b->path.count &&
           memcmp(a->path.points, b->path.points, a->path.count * sizeof *a->path.points) == 0;
}

/* *original: a stroke that was laid whole and is the same, point for point, or DT_NO_INDEX. */
static bool find_original(layer *l, dt_strokes strokes, uint32_t index, uint32_t *original) {
    uint32_t number = dt_keys_number(&l->keys, hash_of(strokes.strokes[index].path));
    *original = DT_NO_INDEX;
    if (number == DT_NO_KEY) return false;
    if (number == l->firsts.count) return dt_array_push(&l->firsts, index);
    uint32_t first = l->firsts.items[number];
    if (first != DT_NO_INDEX && are_same(&strokes.strokes[index], &strokes.strokes[first])) *original = first;
    return true;
}

/* The cuts of the stroke are laid one by one, so that it is compared with itself too; if part of it turns out to be
 * doubled, they are taken back and only the rest is laid. */
static bool lay_stroke(layer *l, const dt_stroke *stroke, uint32_t index) {
    size_t first = l->laid.count, entries = l->grid.entries.count;
    double perimeter;
    l->intervals.count = 0;
    if (!list_own(l, stroke, index, &perimeter)) return false;
    for (size_t i = 0; i < l->own.count; i++) {
        const laid *cut = &l->own.items[i];
        if (!compare_with_laid(l, cut, perimeter) || !lay_part(l, cut, cut->start, cut->start + cut->length))
            return false;
    }
    if (!find_stretches(l)) return false;
    if (l->stretches.count == 0) return true;
    if (l->firsts.count && l->firsts.items[l->firsts.count - 1] == index)
        l->firsts.items[l->firsts.count - 1] = DT_NO_INDEX; /* not whole */
    l->laid.count = first;
    dt_grid_take_back(&l->grid, entries);
    return report(l) && divide(l);
}

/* A copy is doubled from end to end, and need not be compared with anything. */
static bool lay_copy(layer *l, const dt_stroke *stroke, uint32_t index, uint32_t original) {
    double perimeter;
    if (!list_own(l, stroke, index, &perimeter)) return false;
    const laid *last = l->own.count ? &l->own.items[l->own.count - 1] : NULL;
    double length = last ? last->start + last->length : 0.0;
    if (length <= l->long_mm) return lay_stroke(l, stroke, index);
    l->stretches.count = 0;
    return dt_array_push(&l->stretches, ((stretch){0.0, length, original})) && report(l) && divide(l);
}

static bool cut_laid(const layer *l) {
    for (size_t i = 0; i < l->laid.count; i++) {
        dt_gp a = dt_gp_of(l->laid.items[i].a), b = dt_gp_of(l->laid.items[i].b);
        if (!dt_gp_same(a, b) && !dt_array_push(l->cuts, ((dt_cut){a, b, l->laid.items[i].stroke}))) return false;
    }
    for (size_t i = 0; i < l->links.count; i++)
        if (!dt_array_push(l->cuts, l->links.items[i])) return false;
    return true;
}

static size_t cut_count(dt_strokes strokes) {
    size_t count = 1;
    for (size_t i = 0; i < strokes.count; i++) count += strokes.strokes[i].path.count;
    return count;
}

static double mean_length(dt_strokes strokes) {
    double length = 0.0;
    for (size_t i = 0; i < strokes.count; i++) length += dt_path_length(strokes.strokes[i].path);
    return length / (double)cut_count(strokes);
}

static dt_status check_work(const layer *l, dt_error *error) {
    if (l->pairs <= l->most_pairs) return DT_OK;
    return dt_fail(error, DT_TOO_LARGE,
                   "millions of lines lie on top of each other or side by side, or one line has points every few "
                   "micrometres: leave out "
                   "what is no cut with --skip, or simplify the line");
}

static dt_status lay_strokes(dt_strokes strokes, layer *l, dt_error *error) {
    dt_status status = DT_OK;
    dt_grid_init(&l->grid, fmax(mean_length(strokes), 4 * l->near_mm), l->near_mm);
    for (uint32_t i = 0; status == DT_OK && i < strokes.count; i++) {
        uint32_t original;
        bool laid_down = find_original(l, strokes, i, &original);
        if (laid_down && original == DT_NO_INDEX)
            laid_down = lay_stroke(l, &strokes.strokes[i], i);
        else if (laid_down)
            laid_down = lay_copy(l, &strokes.strokes[i], i, original);
        status = check_work(l, error);
        if (status == DT_OK && !laid_down) status = DT_NO_MEMORY;
    }
    dt_grid_free(&l->grid);
    if (status == DT_OK && !cut_laid(l)) status = DT_NO_MEMORY;
    dt_keys_free(&l->keys);
    dt_array_free(&l->firsts);
    dt_array_free(&l->laid);
    dt_array_free(&l->own);
    dt_array_free(&l->intervals);
    dt_array_free(&l->stretches);
    dt_array_free(&l->spans);
    dt_array_free(&l->links);
    return status;
}

static bool cut_stroke(const dt_stroke *stroke, uint32_t index, dt_cuts *cuts) {
    dt_path path = stroke->path;
    if (path.count < 2) return true;
    dt_gp last = dt_gp_of(path.points[0]);
    for (size_t i = 1; i < path.count + (stroke->closed ? 1 : 0); i++) {
        dt_gp next = dt_gp_of(path.points[i < path.count ? i : 0]);
        if (!dt_gp_same(last, next) && !dt_array_push(cuts, ((dt_cut){last, next, index}))) return false;
        last = next;
    }
    return true;
}

static dt_status cut_strokes(dt_strokes strokes, dt_cuts *cuts) {
    if (!dt_array_reserve(cuts, cut_count(strokes) + strokes.count)) return DT_NO_MEMORY;
    for (uint32_t i = 0; i < strokes.count; i++)
        if (!cut_stroke(&strokes.strokes[i], i, cuts)) return DT_NO_MEMORY;
    return DT_OK;
}

dt_status dt_doubles_leave_out(dt_strokes strokes, double kerf_mm, dt_cuts *cuts, dt_ghosts *ghosts, dt_faults *faults,
                               dt_error *error) {
    layer l = {.near_mm = fmax(NEAR_KERFS * kerf_mm, LEAST_NEAR_MM),
               .long_mm = fmax(LONG_KERFS * kerf_mm, LEAST_LONG_MM),
               .cuts = cuts,
               .ghosts = ghosts,
               .faults = faults,
               .most_pairs = MOST_PAIRS + MOST_PAIRS_A_CUT * (uint64_t)cut_count(strokes)};
    bool single;
    ghosts->reach_mm = l.near_mm;
    dt_status status = dt_single_check(strokes, &(dt_doubled){l.near_mm, l.long_mm, GREATEST_SINE}, &single);
    if (status != DT_OK) return status;
    return single ? cut_strokes(strokes, cuts) : lay_strokes(strokes, &l, error);
}

/* At least so many doubled stretches, and so much of the cut length: 24 stretches of a 5 x 5 sheet are 57 % of it. */
#define SUMMARY_COUNT 4
#define SUMMARY_SHARE 0.25

static void summarise_into(dt_faults *faults, double total, uint32_t count, double apart_mm) {
    size_t kept = 0;
    bool written = false;
    for (size_t i = 0; i < faults->count; i++) {
        dt_fault fault = faults->items[i];
        if (fault.kind == DT_FAULT_DOUBLED && written) continue;
        if (fault.kind == DT_FAULT_DOUBLED) {
            fault.size_mm = total;
            fault.times = count;
            fault.apart_mm = apart_mm;
            written = true;
        }
        faults->items[kept++] = fault;
    }
    faults->count = kept;
}

void dt_doubles_summarise(dt_faults *faults, double cut_length, double apart_mm) {
    double total = 0.0;
    uint32_t count = 0;
    for (size_t i = 0; i < faults->count; i++) {
        if (faults->items[i].kind != DT_FAULT_DOUBLED) continue;
        total += faults->items[i].size_mm;
        count++;
    }
    bool most = count >= SUMMARY_COUNT && total >= SUMMARY_SHARE * cut_length;
    if (most || (count && apart_mm > 0.0)) summarise_into(faults, total, count, apart_mm);
}
