/* Sets of directions: see directions.h. A set seldom holds more than four arcs, so they lie in one sorted array. */
#include "graph/directions.h"

#include "base/array.h"
#include <math.h>
#include <string.h>

static const double quarter = 90.0, degrees_to_radians = 3.14159265358979323846 / 180.0;

double turn_of(dt_point v) {
    double x = v.x, y = -v.y, sum = fabs(x) + fabs(y);
    if (y >= 0) return x >= 0 ? y / sum : 1 - x / sum;
    return x < 0 ? 2 - y / sum : fmin(3 + x / sum, nextafter(4, 0));
}

double turn_to_degrees(double turn) {
    double whole = floor(turn), part = turn - whole;
    return whole * quarter + atan2(part, 1 - part) / degrees_to_radians;
}

double turn_from_degrees(double degrees) {
    double angle = degrees * degrees_to_radians;
    return turn_of((dt_point){cos(angle), -sin(angle)});
}

static inline double cross(dt_point a, dt_point b) {
    return a.x * b.y - a.y * b.x;
}

bool arc_of(const dt_point *vectors, size_t count, arc *out) {
    dt_point low = vectors[0], high = vectors[0];
    for (size_t i = 1; i < count; i++) { /* counter-clockwise as seen is a negative cross product: y runs down */
        if (cross(low, vectors[i]) > 0) low = vectors[i];
        if (cross(high, vectors[i]) < 0) high = vectors[i];
    }
    for (size_t i = 0; i < count; i++) {
        if (cross(low, vectors[i]) > 0 || cross(high, vectors[i]) < 0) return false;
        if (vectors[i].x == 0 && vectors[i].y == 0) return false;
    }
    *out = (arc){turn_of(low), turn_of(high)};
    if (out->to < out->from) out->to += 4;
    return true;
}

arc arc_opposite(arc a) {
    return a.from < 2 ? (arc){a.from + 2, a.to + 2} : (arc){a.from - 2, a.to - 2};
}

bool arc_holds(arc a, double turn) {
    return (a.from <= turn && turn <= a.to) || turn + 4 <= a.to;
}

double arc_degrees(arc a) {
    return turn_to_degrees(a.to) - turn_to_degrees(a.from);
}

/* How near two arcs must come to be one; negative: how far they must overlap. */
static double seal_of(const directions *set) {
    return set->open ? -DIRECTIONS_SEAL : DIRECTIONS_SEAL;
}

/* Adds [from, to] within [0, 4]: everything it meets, or nearly meets, becomes one arc. */
static bool add_straight(directions *set, double from, double to) {
    double seal = seal_of(set);
    if (to - from < -2 * seal) return true; /* an open arc of no width is nothing */
    size_t first = 0;
    while (first < set->count && set->items[first].to < from - seal) first++;
    size_t last = first;
    for (; last < set->count && set->items[last].from <= to + seal; last++) {
        from = fmin(from, set->items[last].from);
        to = fmax(to, set->items[last].to);
    }
    if (first == last && !dt_array_reserve(set, 1)) return false;
    size_t kept = set->count - last;
    if (first != last || kept) memmove(set->items + first + 1, set->items + last, kept * sizeof(arc));
    set->items[first] = (arc){from, to};
    set->count = first + 1 + kept;
    return true;
}

bool directions_add(directions *set, arc a) {
    if (a.to <= 4) return add_straight(set, a.from, a.to);
    set->over_zero = set->over_zero || (a.from < 4 - DIRECTIONS_SEAL && a.to > 4 + DIRECTIONS_SEAL);
    return add_straight(set, a.from, 4) && add_straight(set, 0, fmin(a.to - 4, 4));
}

static bool cover_straight(const directions *set, double from, double to) {
    for (size_t i = 0; i < set->count && set->items[i].from <= from; i++)
        if (to <= set->items[i].to) return true;
    return false;
}

bool directions_cover(const directions *set, arc a) {
    if (a.to <= 4) return cover_straight(set, a.from, a.to);
    return cover_straight(set, a.from, 4) && cover_straight(set, 0, a.to - 4);
}

/* Gap number i of count, counted after arc i; the last one runs round past 4 to the first arc. */
static arc gap_after(const directions *set, size_t i) {
    if (i + 1 < set->count) return (arc){set->items[i].to, set->items[i + 1].from};
    arc gap = {set->items[i].to, 4 + set->items[0].from};
    return gap.from >= 4 ? (arc){gap.from - 4, gap.to - 4} : gap;
}

/* Is there a direction between arc i and the next? Where arcs of an open set end at 0 because they were cut there, there is none. */
static bool is_gap(const directions *set, size_t i, arc gap) {
    if (!set->open) return gap.to - gap.from > DIRECTIONS_SEAL;
    return i + 1 < set->count || !set->over_zero || gap.to - gap.from > DIRECTIONS_SEAL;
}

bool directions_are_all(const directions *set) {
    return set->count == 1 && !is_gap(set, 0, gap_after(set, 0));
}

bool directions_widest_gap(const directions *set, arc *out) {
    arc best = {0, 4};
    bool found = set->count == 0;
    for (size_t i = 0; i < set->count; i++) {
        arc gap = gap_after(set, i);
        if (!is_gap(set, i, gap) || (found && gap.to - gap.from <= best.to - best.from + DIRECTIONS_SEAL)) continue;
        best = (arc){gap.from, fmax(gap.from, gap.to)};
        found = true;
    }
    if (found) *out = best;
    return found;
}

double directions_gap_degrees(const directions *set) {
    if (set->count == 0) return 4 * quarter;
    double sum = 0;
    for (size_t i = 0; i < set->count; i++) {
        arc gap = gap_after(set, i);
        if (gap.to - gap.from > DIRECTIONS_SEAL) sum += arc_degrees(gap);
    }
    return sum;
}

void directions_clear(directions *set) {
    set->count = 0;
    set->over_zero = false;
}

void directions_free(directions *set) {
    dt_array_free(set);
}
