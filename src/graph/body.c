/* The border of a piece reduced by r. It consists of stretches of the piece's own border moved inwards by r, and of
 * arcs of radius r round its reflex corners. A point moved inwards belongs to it exactly when no other part of the
 * border is nearer than r, and the points of a moved stretch that are nearer than r to one edge form one interval (the
 * capsule round an edge is convex). So each moved edge, less the intervals of the edges near it, is exact. Arcs become
 * chords of at most ARC_STEP whose ends are exact: they dip r (1 - cos(ARC_STEP / 2)) < 0.009 r into the arc's disc. As
 * a reflex corner is never what touches first, that shifts no critical direction, save where two arcs of one neck
 * thinner than 2r meet. Source: own; the trimmed offset curve is described in Held, On the computational geometry of
 * pocket machining, 1991. */
#include "graph/body.h"

#include "base/array.h"
#include <math.h>
#include <stdlib.h>

#define ARC_STEP 0.2617993877991494 /* 15 degrees */
/* mm. Coordinates of 1 m have an ulp of 1e-13: what is this near to r counts as r away. */
#define ROUNDING_MM 1e-11
/* mm. A corner is found from both its edges: two points that are this near are one. Far below the least r, 2e-6. */
#define SAME_POINT_MM 1e-9
/* In units of r: points of the reduced border that follow each other farther apart lie on parts that the kerf has cut
 * apart. */
#define WIDEST_STEP 4.0
/* Edges that look together for what lies near them, and the most edges that they heed there: a border that crowds more
 * of them into the width of the kerf is no cut line, and must not cost n^2. */
#define BATCH 8
#define MOST_NEAR 4096u

/* fmin and fmax take a call, as they care for NaN. */
static inline double smaller(double a, double b) {
    return a < b ? a : b;
}

static inline double larger(double a, double b) {
    return a > b ? a : b;
}

static inline dt_point minus(dt_point a, dt_point b) {
    return (dt_point){a.x - b.x, a.y - b.y};
}

static inline double dot(dt_point a, dt_point b) {
    return a.x * b.x + a.y * b.y;
}

static inline double cross(dt_point a, dt_point b) {
    return a.x * b.y - a.y * b.x;
}

static inline double length_of(dt_point a) {
    return sqrt(dot(a, a));
}

static inline dt_box box_with(dt_box box, dt_point p) {
    return (dt_box){{smaller(box.low.x, p.x), smaller(box.low.y, p.y)},
                    {larger(box.high.x, p.x), larger(box.high.y, p.y)}};
}

static inline dt_box box_of_both(dt_box a, dt_box b) {
    return box_with(box_with(a, b.low), b.high);
}

static inline bool boxes_meet(const dt_box *a, const dt_box *b) {
    return a->low.x <= b->high.x && b->low.x <= a->high.x && a->low.y <= b->high.y && b->low.y <= a->high.y;
}

static dt_box box_of(const dt_point *points, size_t count) {
    dt_box box = {points[0], points[0]};
    for (size_t i = 1; i < count; i++) box = box_with(box, points[i]);
    return box;
}

typedef DT_ARRAY(dt_point) points_array;
typedef DT_ARRAY(body_leaf) leaves_array;

/* ---- chains and their boxes ---- */

typedef struct chains {
    points_array points;
    leaves_array leaves;
    size_t start; /* first point of the chain that is being made */
} chains;

static bool end_chain(chains *c) {
    size_t count = c->points.count - c->start;
    if (count == 1) { /* a lone point is a stretch of no length */
        if (!dt_array_push(&c->points, c->points.items[c->start])) return false;
        count = 2;
    }
    for (size_t i = 0; i + 1 < count; i += BODY_LEAF) {
        size_t rest = count - i, take = rest < BODY_LEAF + 1 ? rest : BODY_LEAF + 1;
        if (!dt_array_push(&c->leaves, (body_leaf){(uint32_t)(c->start + i), (uint32_t)take})) return false;
    }
    c->start = c->points.count;
    return true;
}

static bool make_boxes(body *b) {
    size_t n = b->leaf_count;
    b->boxes = malloc(2 * n * sizeof(dt_box));
    if (!b->boxes) return false;
    b->boxes[0] = DT_BOX_EMPTY;
    for (size_t i = 0; i < n; i++) b->boxes[n + i] = box_of(b->points + b->leaves[i].start, b->leaves[i].count);
    for (size_t i = n - 1; i > 0; i--) b->boxes[i] = box_of_both(b->boxes[2 * i], b->boxes[2 * i + 1]);
    return true;
}

/* The chains become a body, which owns them from now on. */
static bool chains_to_body(chains *c, body *out) {
    *out = (body){c->points.items, c->leaves.items, NULL, (uint32_t)c->points.count, (uint32_t)c->leaves.count};
    *c = (chains){0};
    if (make_boxes(out)) return true;
    body_free(out);
    return false;
}

static void chains_free(chains *c) {
    dt_array_free(&c->points);
    dt_array_free(&c->leaves);
}

static bool add_ring(chains *c, dt_path ring) {
    for (size_t i = 0; i <= ring.count; i++)
        if (!dt_array_push(&c->points, ring.points[i % ring.count])) return false;
    return end_chain(c);
}

/* ---- what the edges near a moved stretch take away from it ---- */

typedef struct interval {
    double from, to; /* empty when from > to */
} interval;

typedef struct edge {
    dt_point a, b;
    dt_box box;
} edge;

typedef struct reducer {
    body border; /* all rings of the piece, not reduced */
    double r;
    DT_ARRAY(uint32_t) stack;
    DT_ARRAY(edge) near; /* edges near the batch that is being moved */
    DT_ARRAY(interval) cuts;
    chains reduced;
} reducer;

/* A stretch p + t u, 0 <= t <= 1. */
typedef struct stretch {
    dt_point p, u;
} stretch;

static dt_point along(stretch s, double t) {
    return (dt_point){s.p.x + t * s.u.x, s.p.y + t * s.u.y};
}

static void widen(interval *s, double from, double to) {
    if (!(from < to)) return;
    s->from = smaller(s->from, from);
    s->to = larger(s->to, to);
}

/* Widens *near by the part of s that lies within rho of c. */
static void near_point(stretch s, dt_point c, double rho, interval *near) {
    dt_point from_c = minus(s.p, c);
    double a = dot(s.u, s.u), b = dot(s.u, from_c), d = dot(from_c, from_c) - rho * rho;
    if (a == 0) {
        if (d < 0) widen(near, 0, 1);
        return;
    }
    double square = b * b - a * d;
    if (square <= 0) return;
    double root = sqrt(square);
    widen(near, larger(0, (-b - root) / a), smaller(1, (-b + root) / a));
}

/* Cuts *part to where low < at + t slope < high. */
static void clip(interval *part, double at, double slope, double low, double high) {
    if (slope == 0) {
        if (at <= low || at >= high) part->to = -INFINITY;
        return;
    }
    double t1 = (low - at) / slope, t2 = (high - at) / slope;
    part->from = larger(part->from, smaller(t1, t2));
    part->to = smaller(part->to, larger(t1, t2));
}

/* Widens *near by the part of s that lies within rho of a-b, sideways. */
static void near_band(stretch s, dt_point a, dt_point b, double rho, interval *near) {
    dt_point ab = minus(b, a), from_a = minus(s.p, a);
    double length = length_of(ab);
    if (length == 0) return;
    interval part = {0, 1};
    clip(&part, dot(ab, from_a), dot(ab, s.u), 0, length * length);
    clip(&part, cross(ab, from_a), cross(ab, s.u), -rho * length, rho * length);
    widen(near, part.from, part.to);
}

/* The intervals of s that lie nearer than r to one of the edges that were found near. s is an edge moved along `normal`
 * by r: an edge that does not rise above the line of that edge keeps r away from s. */
static bool find_cuts(reducer *m, stretch s, dt_point normal) {
    double rho = m->r - ROUNDING_MM, line = dot(normal, s.p) - m->r;
    dt_point end = along(s, 1);
    dt_box reach = box_with((dt_box){s.p, s.p}, end);
    reach = (dt_box){{reach.low.x - m->r, reach.low.y - m->r}, {reach.high.x + m->r, reach.high.y + m->r}};
    m->cuts.count = 0;
    for (size_t i = 0; i < m->near.count; i++) {
        const edge *e = &m->near.items[i];
        if (!boxes_meet(&reach, &e->box) || larger(dot(normal, e->a), dot(normal, e->b)) <= line + ROUNDING_MM)
            continue;
        interval near = {INFINITY, -INFINITY};
        near_point(s, e->a, rho, &near);
        near_point(s, e->b, rho, &near);
        near_band(s, e->a, e->b, rho, &near);
        if (near.from < near.to && !dt_array_push(&m->cuts, near)) return false;
        if (near.from <= 0 && near.to >= 1) return true; /* nothing is left of it */
    }
    return true;
}

static bool add_near_edges(reducer *m, const dt_box *reach, body_leaf leaf) {
    const dt_point *p = m->border.points + leaf.start;
    for (uint32_t i = 0; i + 1 < leaf.count; i++) {
        edge e = {p[i], p[i + 1], box_of(p + i, 2)};
        if (boxes_meet(reach, &e.box) && !dt_array_push(&m->near, e)) return false;
    }
    return true;
}

/* Finds the edges that come within r of any of these edges of the outline moved by r. */
static bool find_near(reducer *m, const dt_point *points, size_t count) {
    dt_box reach = dt_box_grown(box_of(points, count), 2 * m->r);
    m->near.count = m->stack.count = 0;
    if (!dt_array_push(&m->stack, 1)) return false;
    while (m->stack.count && m->near.count < MOST_NEAR) {
        uint32_t node = m->stack.items[--m->stack.count];
        if (!boxes_meet(&reach, &m->border.boxes[node])) continue;
        if (node >= m->border.leaf_count) {
            if (!add_near_edges(m, &reach, m->border.leaves[node - m->border.leaf_count])) return false;
        } else if (!dt_array_push(&m->stack, 2 * node) || !dt_array_push(&m->stack, 2 * node + 1)) {
            return false;
        }
    }
    return true;
}

/* ---- the reduced border, point by point ---- */

static bool add_point(chains *c, dt_point p) {
    bool same = c->points.count > c->start && length_of(minus(c->points.items[c->points.count - 1], p)) < SAME_POINT_MM;
    return same || dt_array_push(&c->points, p);
}

/* Goes on at p: in the same chain if p is near its last point. */
static bool step_to(reducer *m, dt_point p) {
    chains *c = &m->reduced;
    if (c->points.count > c->start && length_of(minus(c->points.items[c->points.count - 1], p)) > WIDEST_STEP * m->r &&
        !end_chain(c))
        return false;
    return add_point(c, p);
}

static bool add_rest(reducer *m, stretch s, double from, double to) {
    return from >= to || (step_to(m, along(s, from)) && add_point(&m->reduced, along(s, to)));
}

static int by_start(const void *a, const void *b) {
    const interval *x = a, *y = b;
    return (x->from > y->from) - (x->from < y->from);
}

/* Mostly two: one at each end. */
static void sort_cuts(reducer *m) {
    interval *cuts = m->cuts.items;
    if (m->cuts.count > 2) qsort(cuts, m->cuts.count, sizeof *cuts, by_start);
    if (m->cuts.count != 2 || cuts[0].from <= cuts[1].from) return;
    interval first = cuts[1];
    cuts[1] = cuts[0];
    cuts[0] = first;
}

static bool add_stretch(reducer *m, stretch s, dt_point normal) {
    if (!find_cuts(m, s, normal)) return false;
    sort_cuts(m);
    double from = 0;
    for (size_t i = 0; i < m->cuts.count; i++) {
        if (!add_rest(m, s, from, m->cuts.items[i].from)) return false;
        from = larger(from, m->cuts.items[i].to);
    }
    return add_rest(m, s, from, 1);
}

/* The points between the ends of the arc round a reflex corner, where no other edge is nearer than r. */
static bool add_arc(reducer *m, dt_point corner, dt_point before, dt_point after) {
    double turn = cross(before, after), same = dot(before, after);
    if (turn >= 0 || same > cos(ARC_STEP)) return true;
    double angle = atan2(turn, same);
    int steps = (int)ceil(-angle / ARC_STEP);
    for (int i = 1; i < steps; i++) {
        double c = cos(angle * i / steps), s = sin(angle * i / steps);
        dt_point normal = {c * before.x - s * before.y, s * before.x + c * before.y};
        stretch point = {dt_point_add(corner, dt_point_scale(normal, m->r)), {0, 0}};
        if (!find_cuts(m, point, normal)) return false;
        if (m->cuts.count == 0 && !step_to(m, point.p)) return false;
    }
    return true;
}

static dt_point inward(dt_point a, dt_point b) {
    dt_point ab = minus(b, a);
    double scale = 1 / length_of(ab);
    return (dt_point){-ab.y * scale, ab.x * scale};
}

/* Moves edges first .. last of a closed ring that repeats its first point, each after the arc at its start. */
static bool reduce_batch(reducer *m, const dt_point *ring, size_t first, size_t last, dt_point *before) {
    if (!find_near(m, ring + first, last - first + 2)) return false;
    for (size_t i = first; i <= last; i++) {
        dt_point normal = inward(ring[i], ring[i + 1]);
        stretch moved = {{ring[i].x + m->r * normal.x, ring[i].y + m->r * normal.y}, minus(ring[i + 1], ring[i])};
        if (!add_arc(m, ring[i], *before, normal) || !add_stretch(m, moved, normal)) return false;
        *before = normal;
    }
    return true;
}

/* The outline is the first ring of the border. */
static bool reduce(reducer *m, size_t count) {
    const dt_point *ring = m->border.points;
    dt_point before = inward(ring[count - 1], ring[0]);
    for (size_t i = 0; i < count; i += BATCH)
        if (!reduce_batch(m, ring, i, (i + BATCH < count ? i + BATCH : count) - 1, &before)) return false;
    return true;
}

static bool close_up(reducer *m, dt_point inside) {
    chains *c = &m->reduced;
    if (c->points.count == 0) return add_point(c, inside) && end_chain(c);
    dt_point first = c->points.items[0], last = c->points.items[c->points.count - 1];
    if (length_of(minus(first, last)) <= WIDEST_STEP * m->r && !add_point(c, first)) return false;
    return end_chain(c);
}

static bool border_of(dt_path outline, const dt_path *holes, size_t hole_count, body *out) {
    chains c = {0};
    bool made = add_ring(&c, outline);
    for (size_t i = 0; made && i < hole_count; i++) made = add_ring(&c, holes[i]);
    made = made && chains_to_body(&c, out);
    chains_free(&c);
    return made;
}

dt_status body_new(dt_path outline, const dt_path *holes, size_t hole_count, double r, dt_point inside, body *out) {
    reducer m = {.r = r};
    body made;
    dt_status status = DT_NO_MEMORY;
    if (!border_of(outline, holes, hole_count, &m.border)) goto done;
    if (!reduce(&m, outline.count) || !close_up(&m, inside) || !chains_to_body(&m.reduced, &made)) goto done;
    *out = made;
    status = DT_OK;
done:
    chains_free(&m.reduced);
    body_free(&m.border);
    dt_array_free(&m.stack);
    dt_array_free(&m.near);
    dt_array_free(&m.cuts);
    return status;
}

dt_status body_of_outline(dt_path outline, body *out) {
    return border_of(outline, NULL, 0, out) ? DT_OK : DT_NO_MEMORY;
}

dt_status body_of_piece(const dt_piece *piece, double r, body *out) {
    return body_new(piece->outline, piece->holes, piece->hole_count, r, piece->inside, out);
}

void body_free(body *b) {
    free(b->points);
    free(b->leaves);
    free(b->boxes);
    *b = (body){0};
}
