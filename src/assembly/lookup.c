/* The table of corners: see lookup.h. For each level two lists sorted by the chord at that level: LONG holds every end that reaches
 * it, LAST those that reach no farther. A curve with n levels meets longer ends in LONG[n - 1], and shorter ones in LAST[0 .. n - 2];
 * ends or curves below the first level cannot be told apart and are always found. */
#include "lookup.h"

#include "base/array.h"
#include "assembly/vector.h"

static const double PI = 3.14159265358979323846;
static const double FIRST_LEVEL_MM = 1.5, LEVEL_RATIO = 1.5;
/* A line is straight where it is no more than this longer than its chord, mm: 0.01 mm off over 100 mm are 2e-6. */
static const double STRAIGHT_MM = 1e-6;

typedef struct keyed {
    double chord;
    uint32_t end;
} keyed;

typedef DT_ARRAY(keyed) keyed_list;

struct dt_lookup {
    DT_ARRAY(dt_end) ends;
    keyed_list reaching[DT_CURVE_LEVELS], last[DT_CURVE_LEVELS], tiny;
};

static double level_arc(uint32_t level) {
    return FIRST_LEVEL_MM * pow(LEVEL_RATIO, level);
}

static double distance_to_parting(const dt_body *body, uint32_t ring, double s, dt_way way) {
    double length = body->ring_length[ring], best = length;
    for (uint32_t k = 0; k < body->break_count; k++) {
        if (body->breaks[k].ring != ring || !body->breaks[k].parts[way]) continue;
        double off = way == DT_AHEAD ? body->breaks[k].arc - s : s - body->breaks[k].arc;
        off = fmod(off, length);
        if (off < 0.0) off += length;
        if (off > 1e-6 && off < best) best = off;
    }
    return best;
}

static double bend_between(dt_point before, dt_point at, dt_point after) {
    dt_point a = minus(at, before), b = minus(after, at);
    return fabs(atan2(cross(a, b), dot(a, b)));
}

static void measure_levels(const dt_body *body, uint32_t ring, double s, dt_way way, dt_curve *curve) {
    enum { PARTS = 4 }; /* the bend is measured in quarters of a level */
    double sign = way == DT_AHEAD ? 1.0 : -1.0, from = 0.0;
    dt_point origin = dt_body_at(body, ring, s), before = origin, at = origin;
    double bend = 0.0;
    for (uint32_t level = 0; level < DT_CURVE_LEVELS && level_arc(level) <= curve->length; level++) {
        double step = (level_arc(level) - from) / PARTS;
        for (int i = 1; i <= PARTS; i++) {
            dt_point next = dt_body_at(body, ring, s + sign * (from + i * step));
            if (before.x != at.x || before.y != at.y) bend += bend_between(before, at, next);
            before = at;
            at = next;
        }
        from = level_arc(level);
        curve->bend[level] = bend;
        curve->at[level] = minus(at, origin);
        curve->levels = level + 1;
    }
}

dt_curve dt_curve_of(const dt_body *body, uint32_t ring, double s, dt_way way) {
    dt_curve curve = {.length = distance_to_parting(body, ring, s, way)};
    measure_levels(body, ring, s, way, &curve);
    double sign = way == DT_AHEAD ? 1.0 : -1.0;
    double chord = apart(dt_body_at(body, ring, s), dt_body_at(body, ring, s + sign * curve.length));
    curve.straight = curve.length - chord < STRAIGHT_MM;
    return curve;
}

/* ---- building ---- */

static double chord_of(const dt_curve *curve, uint32_t level) {
    return hypot(curve->at[level].x, curve->at[level].y);
}

static int compare_keyed(const void *a, const void *b) {
    const keyed *x = a, *y = b;
    if (x->chord != y->chord) return x->chord < y->chord ? -1 : 1;
    return (x->end > y->end) - (x->end < y->end);
}

static void sort_list(keyed_list *list) {
    if (list->count) qsort(list->items, list->count, sizeof *list->items, compare_keyed);
}

static bool add_end(dt_lookup *lookup, dt_end end) {
    uint32_t index = (uint32_t)lookup->ends.count, levels = end.curve.levels;
    if (!dt_array_push(&lookup->ends, end)) return false;
    if (levels == 0) return dt_array_push(&lookup->tiny, ((keyed){0.0, index}));
    for (uint32_t level = 0; level < levels; level++)
        if (!dt_array_push(&lookup->reaching[level], ((keyed){chord_of(&end.curve, level), index}))) return false;
    return dt_array_push(&lookup->last[levels - 1], ((keyed){chord_of(&end.curve, levels - 1), index}));
}

static bool add_body(dt_lookup *lookup, const dt_problem *problem, uint32_t body, dt_way way) {
    const dt_body *b = &problem->bodies[body];
    for (uint32_t k = 0; k < b->break_count; k++) {
        const dt_break *corner = &b->breaks[k];
        if (!corner->corner || corner->angle >= PI) continue;
        if (!add_end(lookup, (dt_end){body, k, dt_curve_of(b, corner->ring, corner->arc, way)})) return false;
    }
    return true;
}

dt_lookup *dt_lookup_new(const dt_problem *problem, dt_way way) {
    dt_lookup *lookup = calloc(1, sizeof *lookup);
    if (!lookup) return NULL;
    for (uint32_t b = 0; b < problem->body_count; b++)
        if (!add_body(lookup, problem, b, way)) {
            dt_lookup_free(lookup);
            return NULL;
        }
    for (uint32_t level = 0; level < DT_CURVE_LEVELS; level++) {
        sort_list(&lookup->reaching[level]);
        sort_list(&lookup->last[level]);
    }
    return lookup;
}

void dt_lookup_free(dt_lookup *lookup) {
    if (!lookup) return;
    for (uint32_t level = 0; level < DT_CURVE_LEVELS; level++) {
        dt_array_free(&lookup->reaching[level]);
        dt_array_free(&lookup->last[level]);
    }
    dt_array_free(&lookup->tiny);
    dt_array_free(&lookup->ends);
    free(lookup);
}

const dt_end *dt_lookup_end(const dt_lookup *lookup, uint32_t index) {
    return &lookup->ends.items[index];
}

/* ---- asking ---- */

/* How far the points at a level may lie apart: both ends of the chord may be off by the tolerance, and along a bent line arc lengths
 * differ by the offset times the bend; lines laid as well as they fit are off by half the tolerance on the whole. */
static double allowance(const dt_curve *curve, uint32_t level, double tolerance) {
    return tolerance * (2.0 + 0.5 * curve->bend[level]);
}

static bool curves_agree(const dt_curve *a, const dt_curve *b, uint32_t levels, double tolerance) {
    dt_point u = a->at[levels - 1], v = b->at[levels - 1];
    double c = dot(u, v), s = cross(u, v), scale = hypot(c, s);
    if (!(scale > 0.0)) return true;
    c /= scale;
    s /= scale;
    for (uint32_t level = 0; level + 1 < levels; level++) {
        dt_point p = a->at[level], turned = {c * p.x - s * p.y, s * p.x + c * p.y};
        if (apart(turned, b->at[level]) > allowance(b, level, tolerance)) return false;
    }
    return true;
}

typedef struct question {
    const dt_lookup *lookup;
    const dt_curve *curve;
    double tolerance;
    bool (*found)(void *context, uint32_t index);
    void *context;
} question;

static size_t lower_bound(const keyed_list *list, double chord) {
    size_t low = 0, high = list->count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (list->items[middle].chord < chord) low = middle + 1;
        else high = middle;
    }
    return low;
}

static bool ask_list(const question *q, const keyed_list *list, uint32_t level) {
    double chord = chord_of(q->curve, level), off = allowance(q->curve, level, q->tolerance);
    for (size_t i = lower_bound(list, chord - off); i < list->count && list->items[i].chord <= chord + off; i++) {
        uint32_t end = list->items[i].end;
        if (!curves_agree(&q->lookup->ends.items[end].curve, q->curve, level + 1, q->tolerance)) continue;
        if (!q->found(q->context, end)) return false;
    }
    return true;
}

static bool tell_all(const question *q, const keyed_list *list) {
    for (size_t i = 0; i < list->count; i++)
        if (!q->found(q->context, list->items[i].end)) return false;
    return true;
}

bool dt_lookup_find(const dt_lookup *lookup, const dt_curve *curve, double tolerance,
                    bool (*found)(void *context, uint32_t index), void *context) {
    question q = {lookup, curve, tolerance, found, context};
    if (!tell_all(&q, &lookup->tiny)) return false;
    if (curve->levels == 0) return tell_all(&q, &lookup->reaching[0]);
    for (uint32_t level = 0; level + 1 < curve->levels; level++)
        if (!ask_list(&q, &lookup->last[level], level)) return false;
    return ask_list(&q, &lookup->reaching[curve->levels - 1], curve->levels - 1);
}

/* ---- where lines may part ---- */

/* At a corner as sharp as this lines may always part: all corners of straight cuts, and those between pieces, are kept. */
static const double SHARP_TURN = 60.0 / 180.0 * 3.14159265358979323846;

typedef struct filler {
    const dt_problem *problem;
    const dt_lookup *lookup;
    uint32_t kind;           /* of the body that turns away; it fills no gap of its own unless there are several */
    double widest;           /* corner that the room could take, radians */
    bool found;
} filler;

static bool note_filler(void *context, uint32_t index) {
    filler *f = context;
    const dt_end *end = &f->lookup->ends.items[index];
    uint32_t kind = f->problem->kind_of_body[end->body];
    if (kind == f->kind && f->problem->kinds[kind].count == 1) return true;
    f->found = f->problem->bodies[end->body].breaks[end->corner].angle <= f->widest;
    return !f->found;
}

static bool has_filler(const dt_problem *problem, const dt_lookup *lookup, const dt_body *body, uint32_t kind, uint32_t k, dt_way way) {
    const dt_break *at = &body->breaks[k];
    /* The other line may turn away as well, but by less than SHARP_TURN, or it would part on its own account; so what fills the room is
     * a piece, never the outside. */
    filler f = {problem, lookup, kind, PI - at->angle + SHARP_TURN, false};
    if (PI - at->angle >= SHARP_TURN) return true;
    dt_curve curve = dt_curve_of(body, at->ring, at->arc, way);
    dt_lookup_find(lookup, &curve, problem->loose, note_filler, &f);
    return f.found;
}

/* Both lines may turn away from each other where they part, so one of them does by half the narrowest corner at least. */
static void part_by_angle(const dt_problem *problem, dt_body *body) {
    static const double MARGIN = 0.8; /* for the measuring of angles */
    for (uint32_t k = 0; k < body->break_count; k++)
        body->breaks[k].parts[DT_AHEAD] = body->breaks[k].parts[DT_BEHIND] =
            PI - body->breaks[k].angle >= MARGIN * problem->narrowest / 2.0;
}

/* Notes in `keep` (two for each break) which partings have a filler. */
static void part_by_fillers(const dt_problem *problem, dt_lookup *const lookup[2], const dt_body *body, uint32_t kind, bool *keep) {
    for (uint32_t k = 0; k < body->break_count; k++)
        for (dt_way way = DT_AHEAD; way <= DT_BEHIND; way++)
            keep[2 * k + way] = body->breaks[k].parts[way] &&
                                has_filler(problem, lookup[way == DT_AHEAD ? DT_BEHIND : DT_AHEAD], body, kind, k, way);
}

static void keep_partings(dt_body *body, const bool *keep) {
    for (uint32_t k = 0; k < body->break_count; k++)
        for (int way = 0; way < 2; way++) body->breaks[k].parts[way] = keep[2 * k + (uint32_t)way];
}

/* One round: with fewer partings curves get longer, and fewer corners follow them. */
static bool drop_partings(dt_problem *problem, bool *keep) {
    dt_lookup *lookup[2] = {dt_lookup_new(problem, DT_AHEAD), dt_lookup_new(problem, DT_BEHIND)};
    bool ready = lookup[0] && lookup[1];
    size_t used = 0;
    for (uint32_t b = 0; ready && b < problem->body_count; used += problem->bodies[b++].break_count)
        part_by_fillers(problem, lookup, &problem->bodies[b], problem->kind_of_body[b], keep + 2 * used);
    used = 0;
    for (uint32_t b = 0; ready && b < problem->body_count; used += problem->bodies[b++].break_count)
        keep_partings(&problem->bodies[b], keep + 2 * used);
    dt_lookup_free(lookup[0]);
    dt_lookup_free(lookup[1]);
    return ready;
}

bool dt_find_partings(dt_problem *problem) {
    enum { ROUNDS = 3, MOST_BODIES = 2000 }; /* the work grows with the square of the bodies: beyond, all partings are kept */
    size_t breaks = 0;
    for (uint32_t b = 0; b < problem->body_count; b++) breaks += problem->bodies[b].break_count;
    bool *keep = DT_TAKE(&problem->arena, 2 * breaks, bool);
    part_by_angle(problem, &problem->container);
    for (uint32_t b = 0; b < problem->body_count; b++) part_by_angle(problem, &problem->bodies[b]);
    bool ready = keep != NULL;
    for (int round = 0; ready && round < ROUNDS && problem->body_count <= MOST_BODIES; round++) ready = drop_partings(problem, keep);
    return ready;
}
