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
/* A turn of a body onto itself is exact where no point is off by more than this, mm: the drawing's grid and rounding. */
static const double EXACT_MM = 1e-4;

typedef struct keyed {
    double chord;
    uint32_t end;
} keyed;

typedef DT_ARRAY(keyed) keyed_list;

struct dt_lookup {
    DT_ARRAY(dt_end) ends;
    keyed_list reaching[DT_CURVE_LEVELS], last[DT_CURVE_LEVELS], tiny;
};

double dt_level_arc(uint32_t level) {
    return FIRST_LEVEL_MM * pow(LEVEL_RATIO, level);
}

double dt_rail_arc(uint32_t sample) {
    static const double STEP_MM = 0.5, RATIO = 1.25;
    enum { EVEN = 24 };
    return sample < EVEN ? STEP_MM * (sample + 1) : STEP_MM * EVEN * pow(RATIO, sample + 1 - EVEN);
}

double dt_rail_gap(uint32_t sample) {
    return (dt_rail_arc(sample + 1) - dt_rail_arc(sample)) / 2.0;
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
    dt_point a = dt_point_sub(at, before), b = dt_point_sub(after, at);
    return fabs(atan2(dt_point_cross(a, b), dt_point_dot(a, b)));
}

static void measure_levels(const dt_body *body, uint32_t ring, double s, dt_way way, dt_curve *curve) {
    enum { PARTS = 4 }; /* the bend is measured in quarters of a level */
    double sign = way == DT_AHEAD ? 1.0 : -1.0, from = 0.0;
    dt_point origin = dt_body_at(body, ring, s), before = origin, at = origin;
    double bend = 0.0;
    for (uint32_t level = 0; level < DT_CURVE_LEVELS && dt_level_arc(level) <= curve->length; level++) {
        double step = (dt_level_arc(level) - from) / PARTS;
        for (int i = 1; i <= PARTS; i++) {
            dt_point next = dt_body_at(body, ring, s + sign * (from + i * step));
            if (before.x != at.x || before.y != at.y) bend += bend_between(before, at, next);
            before = at;
            at = next;
        }
        from = dt_level_arc(level);
        curve->bend[level] = bend;
        curve->at[level] = dt_point_sub(at, origin);
        curve->levels = level + 1;
    }
}

dt_curve dt_curve_of(const dt_body *body, uint32_t ring, double s, dt_way way) {
    dt_curve curve = {.length = distance_to_parting(body, ring, s, way)};
    measure_levels(body, ring, s, way, &curve);
    double sign = way == DT_AHEAD ? 1.0 : -1.0;
    double chord = dt_point_distance(dt_body_at(body, ring, s), dt_body_at(body, ring, s + sign * curve.length));
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

static void sample_end(const dt_body *body, const dt_break *corner, dt_way way, dt_end *end) {
    double step = (way == DT_AHEAD ? 1.0 : -1.0) * end->curve.length / DT_END_SAMPLES;
    for (int i = 0; i < DT_END_SAMPLES; i++)
        end->samples[i] = dt_point_sub(dt_body_at(body, corner->ring, corner->arc + (i + 1) * step), corner->at);
    double sign = way == DT_AHEAD ? 1.0 : -1.0;
    for (uint32_t i = 0; i < DT_RAIL_SAMPLES && dt_rail_arc(i) <= end->curve.length; i++) {
        end->rail[i] = dt_point_sub(dt_body_at(body, corner->ring, corner->arc + sign * dt_rail_arc(i)), corner->at);
        end->rail_count = i + 1;
    }
    uint32_t last = end->rail_count;
    end->rail[last] = dt_point_sub(dt_body_at(body, corner->ring, corner->arc + sign * end->curve.length), corner->at);
    end->tip = last && end->curve.length - dt_rail_arc(last - 1) < dt_rail_arc(last) - end->curve.length ? last - 1 : last;
}

static bool lies_on_itself(const dt_body *body, dt_pose pose) {
    for (uint32_t i = 0; i < body->point_count; i++)
        if (!(fabs(dt_body_depth(body, carry(pose, body->points[i])).depth) <= EXACT_MM)) return false;
    return true;
}

/* Does a turn of the body onto itself carry an earlier corner here? Then the two are one end: but only where the turn is exact, since a
 * body that is not quite alike when turned may lie one way and not the other. */
static bool repeats_corner(const dt_body *body, const dt_turns *turns, uint32_t corner) {
    for (size_t t = 1; t < turns->count; t++)
        for (uint32_t k = 0; k < corner; k++) {
            dt_pose turn = turns->poses[t];
            if (dt_point_distance(carry(turn, body->breaks[k].at), body->breaks[corner].at) > EXACT_MM) continue;
            if (lies_on_itself(body, turn) && lies_on_itself(body, dt_pose_inverse(turn))) return true;
        }
    return false;
}

static bool add_body(dt_lookup *lookup, const dt_problem *problem, uint32_t body, dt_way way) {
    const dt_body *b = &problem->bodies[body];
    for (uint32_t k = 0; k < b->break_count; k++) {
        const dt_break *corner = &b->breaks[k];
        if (!corner->corner || corner->angle >= PI || repeats_corner(b, &problem->turns[body], k)) continue;
        dt_end end = {body, k, corner->angle, dt_curve_of(b, corner->ring, corner->arc, way), {{0.0, 0.0}}, 0, 0, {{0.0, 0.0}}};
        sample_end(b, corner, way, &end);
        if (!add_end(lookup, end)) return false;
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

uint32_t dt_lookup_count(const dt_lookup *lookup) {
    return (uint32_t)lookup->ends.count;
}

const dt_end *dt_lookup_end(const dt_lookup *lookup, uint32_t index) {
    return &lookup->ends.items[index];
}

/* ---- asking ---- */

/* How far the points at a level may lie apart: both ends of the chord may be off by the tolerance, and along a bent line arc lengths
 * differ by the offset times the bend; lines laid as well as they fit are off by half the tolerance on the whole. */
double dt_lookup_allowance(const dt_curve *curve, uint32_t level, double tolerance) {
    return tolerance * (2.0 + 0.5 * curve->bend[level]);
}

static bool curves_agree(const dt_curve *a, const dt_curve *b, uint32_t levels, double tolerance) {
    dt_point u = a->at[levels - 1], v = b->at[levels - 1];
    double c = dt_point_dot(u, v), s = dt_point_cross(u, v), scale = sqrt(dt_point_dot(u, u) * dt_point_dot(v, v));
    if (!(scale > 0.0)) return true;
    for (uint32_t level = levels - 1; level-- > 0;) {
        dt_point p = a->at[level], turned = {(c * p.x - s * p.y) / scale, (s * p.x + c * p.y) / scale};
        dt_point d = dt_point_sub(turned, b->at[level]);
        double off = dt_lookup_allowance(b, level, tolerance);
        if (dt_point_dot(d, d) > off * off) return false;
    }
    return true;
}

bool dt_lookup_spans(const dt_end *end, const dt_curve *other_way, const dt_curve *along, const dt_curve *across, double tolerance) {
    const dt_curve *a = &end->curve, *b = other_way;
    uint32_t levels = a->levels < along->levels ? a->levels : along->levels;
    uint32_t others = b->levels < across->levels ? b->levels : across->levels;
    if (!levels || !others) return true;
    dt_point u = a->at[levels - 1], v = along->at[levels - 1];
    double c = dt_point_dot(u, v), s = dt_point_cross(u, v), reach = sqrt(dt_point_dot(v, v)), scale = reach * sqrt(dt_point_dot(u, u));
    if (!(scale > 0.0)) return true;
    double turn = dt_lookup_allowance(along, levels - 1, tolerance) / reach; /* radians that the first line leaves open */
    for (uint32_t level = others; level-- > 0;) {
        dt_point p = b->at[level], turned = {(c * p.x - s * p.y) / scale, (s * p.x + c * p.y) / scale};
        double off = dt_lookup_allowance(across, level, tolerance) + turn * sqrt(dt_point_dot(p, p));
        dt_point d = dt_point_sub(turned, across->at[level]);
        if (dt_point_dot(d, d) > off * off) return false;
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
    double chord = chord_of(q->curve, level), off = dt_lookup_allowance(q->curve, level, q->tolerance);
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
