/* Blocked directions of two bodies. With A and B reduced (body.h), the blocked directions are those of the differences
 * a - b. Four facts make the search exact and short:
 *  1. A straight move meets A first on A's border and leaves B last on B's, so stretches of the two borders suffice.
 *  2. The differences of two stretches form a parallelogram without the origin (reduced pieces keep a kerf apart): its
 *     directions are an arc of less than half a circle between two differences of ends. The same holds for two runs of
 *     stretches where the hull of their differences leaves out the origin.
 *  3. The boxes' difference bounds that arc: where it lies in what is known to be blocked, the runs need no look.
 *  4. All differences of two connected bodies are connected, so what is free is one arc, or nothing.
 * Runs whose boxes meet come first: along a shared border two opposite stretches block almost half a circle by
 * themselves, and the rest mostly falls to fact 3.
 * Outlines that are not reduced touch. Then every arc is open: moved along its end, the stretches only graze each
 * other, and whatever is really in the way (inside a and b) is met by a stretch across the direction too. The
 * parallelogram of two stretches that share a corner has the origin for a corner; what a stretch blocks that belongs to
 * both is the half plane on a's side. */
#include "graph/blocking.h"

#include "base/array.h"
#include <math.h>

typedef struct search {
    const body *a, *b;
    directions *blocked;
    bool touching;
    DT_ARRAY(blocking_pair) stack;
    DT_ARRAY(blocking_pair) later;
} search;

static bool is_leaf(const body *of, uint32_t node) {
    return node >= of->leaf_count;
}

static bool apart(dt_box d) {
    return d.low.x > 0 || d.high.x < 0 || d.low.y > 0 || d.high.y < 0;
}

bool blocking_bound(dt_box a, dt_box b, arc *out) {
    dt_box d = {dt_point_sub(a.low, b.high), dt_point_sub(a.high, b.low)};
    const dt_point corners[] = {d.low, {d.high.x, d.low.y}, d.high, {d.low.x, d.high.y}};
    return apart(d) && arc_of(corners, 4, out);
}

/* The directions of all differences of two runs of points; false where their hull holds the origin. */
static bool arc_of_runs(dt_path a, dt_path b, arc *out) {
    dt_point differences[(BODY_LEAF + 1) * (BODY_LEAF + 1)];
    size_t count = 0;
    for (size_t i = 0; i < a.count; i++)
        for (size_t j = 0; j < b.count; j++)
            differences[count++] = (dt_point){a.points[i].x - b.points[j].x, a.points[i].y - b.points[j].y};
    return arc_of(differences, count, out);
}

static bool add_arc(search *s, arc found) {
    return directions_cover(s->blocked, found) || directions_add(s->blocked, found);
}

/* Adds what two runs block: as a whole where the hull of their differences leaves out the origin, else by halves of the
 * longer one. Two stretches whose hull does not (outlines that overlap in spite of lines.h) block everything. */
static bool add_runs(search *s, dt_path a, dt_path b) {
    arc found;
    if (arc_of_runs(a, b, &found)) return add_arc(s, found);
    if (a.count == 2 && b.count == 2) return add_arc(s, (arc){0, 4});
    dt_path *longer = a.count >= b.count ? &a : &b, whole = *longer;
    size_t half = whole.count / 2;
    *longer = (dt_path){whole.points, half + 1};
    if (!add_runs(s, a, b)) return false;
    *longer = (dt_path){whole.points + half, whole.count - half};
    return add_runs(s, a, b);
}

static dt_path leaf_path(const body *b, uint32_t node) {
    body_leaf leaf = b->leaves[node - b->leaf_count];
    return (dt_path){b->points + leaf.start, leaf.count};
}

static void sort_turns(double *turns, size_t count) {
    for (size_t i = 1; i < count; i++)
        for (size_t k = i; k > 0 && turns[k - 1] > turns[k]; k--) {
            double larger = turns[k - 1];
            turns[k - 1] = turns[k];
            turns[k] = larger;
        }
}

/* What is left of the circle without the widest gap between the turns (ascending). */
static arc without_widest_gap(const double *turns, size_t count) {
    arc best = {turns[0], turns[count - 1]};
    for (size_t i = 1; i < count; i++)
        if (best.to - best.from > 4 - (turns[i] - turns[i - 1])) best = (arc){turns[i], turns[i - 1] + 4};
    return best;
}

/* Adds what one stretch of a blocks of one of b, which may share an end or lie on each other. */
static bool add_touching(search *s, dt_path a, dt_path b) {
    double turns[4];
    size_t count = 0;
    for (int i = 0; i < 4; i++) {
        dt_point difference = dt_point_sub(a.points[i / 2], b.points[i % 2]);
        if (difference.x != 0 || difference.y != 0) turns[count++] = turn_of(difference);
    }
    if (count == 0) return true;
    sort_turns(turns, count);
    arc found = without_widest_gap(turns, count);
    bool in_line = true; /* with the first */
    for (size_t i = 1; i < count; i++) in_line = in_line && fabs(remainder(turns[i] - turns[0], 2)) < DIRECTIONS_SEAL;
    if (in_line && found.to - found.from < 1) return true; /* end to end, or one behind the other: nothing in between */
    if (in_line) {
        double back = turn_of(dt_point_sub(a.points[0], a.points[1]));
        found = (arc){back, back + 2};
    } else if (found.to - found.from > 2 + DIRECTIONS_SEAL) {
        found = (arc){0, 4}; /* they cross in spite of lines.h */
        s->blocked->over_zero = true;
    }
    return add_arc(s, found);
}

static bool add_touching_runs(search *s, dt_path a, dt_path b) {
    for (size_t i = 0; i + 1 < a.count; i++)
        for (size_t j = 0; j + 1 < b.count; j++)
            if (!add_touching(s, (dt_path){a.points + i, 2}, (dt_path){b.points + j, 2})) return false;
    return true;
}

static double girth(dt_box box) {
    return box.high.x - box.low.x + box.high.y - box.low.y;
}

/* Two pairs in place of one: the larger box that is no leaf is split. */
static bool split(search *s, blocking_pair p) {
    bool split_a = is_leaf(s->b, p.b) || (!is_leaf(s->a, p.a) && girth(s->a->boxes[p.a]) >= girth(s->b->boxes[p.b]));
    blocking_pair first = p, second = p;
    if (split_a)
        first.a = 2 * p.a, second.a = 2 * p.a + 1;
    else
        first.b = 2 * p.b, second.b = 2 * p.b + 1;
    return dt_array_push(&s->stack, first) && dt_array_push(&s->stack, second);
}

/* Looks at one pair of nodes; those that are apart wait when asked to. */
static bool visit(search *s, blocking_pair p, bool wait) {
    bool leaves = is_leaf(s->a, p.a) && is_leaf(s->b, p.b);
    arc bound;
    bool far = blocking_bound(s->a->boxes[p.a], s->b->boxes[p.b], &bound);
    if (far && directions_cover(s->blocked, bound)) return true;
    if (far && wait) return dt_array_push(&s->later, p);
    if (!leaves) return split(s, p);
    return (s->touching && !far ? add_touching_runs : add_runs)(s, leaf_path(s->a, p.a), leaf_path(s->b, p.b));
}

static bool empty_stack(search *s, bool wait) {
    while (s->stack.count && !directions_are_all(s->blocked))
        if (!visit(s, s->stack.items[--s->stack.count], wait)) return false;
    return true;
}

static bool look_at_all(search *s) {
    if (!dt_array_push(&s->stack, (blocking_pair){1, 1}) || !empty_stack(s, true)) return false;
    for (size_t i = 0; i < s->later.count && !directions_are_all(s->blocked); i++)
        if (!dt_array_push(&s->stack, s->later.items[i]) || !empty_stack(s, false)) return false;
    return true;
}

static dt_status add_blocked(search s, blocking_scratch *scratch) {
    s.stack.items = scratch->stack, s.stack.room = scratch->stack_room;
    s.later.items = scratch->later, s.later.room = scratch->later_room;
    bool done = look_at_all(&s);
    *scratch = (blocking_scratch){s.stack.items, s.later.items, s.stack.room, s.later.room};
    return done ? DT_OK : DT_NO_MEMORY;
}

dt_status blocking_add(const body *a, const body *b, blocking_scratch *scratch, directions *blocked) {
    return add_blocked((search){.a = a, .b = b, .blocked = blocked}, scratch);
}

dt_status blocking_add_touching(const body *a, const body *b, blocking_scratch *scratch, directions *blocked) {
    return add_blocked((search){.a = a, .b = b, .blocked = blocked, .touching = true}, scratch);
}

void blocking_scratch_free(blocking_scratch *scratch) {
    free(scratch->stack);
    free(scratch->later);
    *scratch = (blocking_scratch){0};
}
