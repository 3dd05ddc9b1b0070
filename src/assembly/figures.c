/* Figures: see figures.h. */
#include "figures.h"

#include "assembly/vector.h"

static const double PI = 3.14159265358979323846;
/* A line drawn less exactly is still straight, mm. */
static const double STRAIGHT_MM = 0.03;
static const double SHARPEST = 20.0 / 180.0 * 3.14159265358979323846;

/* A right angle drawn less exactly, radians. */
static const double SQUARE = 3.0 / 180.0 * 3.14159265358979323846;

static dt_point unit_from(dt_point a, dt_point b) {
    dt_point along = dt_point_sub(b, a);
    double length = sqrt(dt_point_dot(along, along));
    return length > 0.0 ? dt_point_scale(along, 1.0 / length) : (dt_point){1.0, 0.0};
}

static bool is_straight(const dt_body *body, const dt_break *from, const dt_break *to) {
    uint32_t last = to->point;
    for (uint32_t i = body->next[from->point]; i != last; i = body->next[i])
        if (dt_segment_distance(body->points[i], from->at, to->at, NULL) > STRAIGHT_MM) return false;
    return true;
}

/* The break after one of a body's, round its ring; breaks of a ring stand together. */
static uint32_t next_break(const dt_body *body, uint32_t k) {
    uint32_t ring = body->breaks[k].ring;
    if (k + 1 < body->break_count && body->breaks[k + 1].ring == ring) return k + 1;
    while (k > 0 && body->breaks[k - 1].ring == ring) k--;
    return k;
}

bool dt_body_is_square(const dt_body *body) {
    uint32_t rings = 0;
    for (uint32_t k = 0; k < body->break_count; k++) {
        uint32_t next = next_break(body, k);
        if (next == k || !is_straight(body, &body->breaks[k], &body->breaks[next])) return false;
        if (fabs(fabs(body->breaks[k].angle - PI) - PI / 2.0) > SQUARE) return false;
        rings += next <= k; /* the last of a ring */
    }
    return rings == body->ring_count;
}

/* The vertices of a ring, whose breaks are count from `first` on. */
static bool add_ring(const dt_body *body, uint32_t first, uint32_t count, dt_figure *f) {
    if (count < 3) return false;
    for (uint32_t k = 0; k < count; k++) {
        const dt_break *here = &body->breaks[first + k], *next = &body->breaks[first + (k + 1) % count],
                       *before = &body->breaks[first + (k + count - 1) % count];
        if (!here->corner || !here->sharp || here->angle < SHARPEST || here->angle > 2.0 * PI - SHARPEST) return false;
        if (!is_straight(body, here, next)) return false;
        f->vertices[f->count++] = (dt_vertex){here->at, unit_from(here->at, next->at), unit_from(here->at, before->at),
                                              first + (k + 1) % count, here->angle < PI};
    }
    return true;
}

static bool add_vertices(const dt_body *body, dt_figure *f) {
    uint32_t used = 0;
    for (uint32_t r = 0; r < body->ring_count; r++) {
        uint32_t first = used;
        while (used < body->break_count && body->breaks[used].ring == r) used++;
        if (!add_ring(body, first, used - first, f)) return false;
    }
    return true;
}

/* The deepest of a few points: so that a figure that lies exactly upon another is seen to overlap it. */
static void add_inside(dt_figure *f) {
    enum { ACROSS = 12 };
    dt_box box = f->body->box;
    double best = 0.0;
    if (f->body->field.beyond) return;
    for (int i = 0; i < ACROSS * ACROSS; i++) {
        dt_point p = {box.low.x + (box.high.x - box.low.x) * (i % ACROSS + 0.5) / ACROSS,
                      box.low.y + (box.high.y - box.low.y) * (i / ACROSS + 0.5) / ACROSS};
        double depth = dt_figure_depth(f, p);
        if (depth <= best) continue;
        best = depth;
        f->probes[0] = p;
        f->probe_count = 1;
    }
}

static bool add_probes(dt_figure *f, double step, dt_arena *arena) {
    size_t most = 1 + 2 * (size_t)f->count + (size_t)(f->body->perimeter / step);
    f->probes = DT_TAKE(arena, most, dt_point);
    if (!f->probes) return false;
    add_inside(f);
    for (uint32_t k = 0; k < f->count; k++) {
        dt_point from = f->vertices[k].at, along = dt_point_sub(f->vertices[f->vertices[k].next].at, from);
        uint32_t parts = 1 + (uint32_t)(sqrt(dt_point_dot(along, along)) / step);
        for (uint32_t i = 0; i < parts && f->probe_count < most; i++)
            f->probes[f->probe_count++] = dt_point_add(from, dt_point_scale(along, (double)i / parts));
    }
    return true;
}

bool dt_figure_make(const dt_body *body, double step, dt_arena *arena, dt_figure *out, bool *straight) {
    dt_figure f = {.body = body, .vertices = DT_TAKE(arena, body->break_count, dt_vertex)};
    if (!f.vertices) return false;
    *straight = body->break_count <= DT_MOST_VERTICES && add_vertices(body, &f);
    if (*straight && !add_probes(&f, step, arena)) return false;
    *out = f;
    return true;
}

double dt_figure_depth(const dt_figure *f, dt_point p) {
    double best = INFINITY;
    bool solid = f->body->field.beyond;
    for (uint32_t k = 0; k < f->count; k++) {
        const dt_vertex *v = &f->vertices[k];
        dt_point a = v->at, b = f->vertices[v->next].at, ap = dt_point_sub(p, a), ab = dt_point_sub(b, a);
        double t = dt_point_dot(ap, v->out), across = dt_point_cross(v->out, ap), length2 = dt_point_dot(ab, ab);
        dt_point bp = dt_point_sub(p, b);
        double square = t <= 0.0 ? dt_point_dot(ap, ap) : t * t >= length2 ? dt_point_dot(bp, bp) : across * across;
        if (square < best) best = square;
        if ((a.y > p.y) != (b.y > p.y) && (across > 0.0) == (b.y > a.y)) solid = !solid;
    }
    return solid ? sqrt(best) : -sqrt(best);
}

double dt_figure_sinks(const dt_figure *figure, dt_pose there, const dt_figure *other, double enough) {
    double most = -INFINITY;
    dt_box box = other->body->box;
    bool is_bounded = !other->body->field.beyond;
    for (uint32_t i = 0; i < figure->probe_count && most <= enough; i++) {
        dt_point p = carry(there, figure->probes[i]);
        bool is_off = p.x < box.low.x || p.y < box.low.y || p.x > box.high.x || p.y > box.high.y;
        if (is_off && is_bounded) continue;
        double depth = dt_figure_depth(other, p);
        if (depth > most) most = depth;
    }
    return most;
}
