/* Borders: the box tree, nearest places. Invariants: border.h. The tree is a heap of boxes over runs of consecutive
 * segments, which lie near each other because they follow the line; no sorting is needed. */
#include "border.h"

#include <math.h>
#include <stdlib.h>

static void add_ring(border *b, dt_path path, uint32_t ring, size_t start) {
    for (size_t i = 0; i < path.count; i++) {
        b->at[start + i] = path.points[i];
        b->next[start + i] = (uint32_t)(start + (i + 1) % path.count);
        b->previous[start + i] = (uint32_t)(start + (i + path.count - 1) % path.count);
        b->ring[start + i] = ring;
    }
}

/* Written out, here and below: fmin, fmax and calls into geom took half of the stage's time. */
static inline void stretch_box(dt_box *box, dt_point p) {
    if (p.x < box->low.x) box->low.x = p.x;
    if (p.y < box->low.y) box->low.y = p.y;
    if (p.x > box->high.x) box->high.x = p.x;
    if (p.y > box->high.y) box->high.y = p.y;
}

static void fill_tree(border *b) {
    for (size_t i = b->leaves; i < 2 * b->leaves; i++) b->boxes[i] = DT_BOX_EMPTY;
    for (size_t k = 0; k < b->count; k++) {
        dt_box *box = &b->boxes[b->leaves + k / BORDER_LEAF];
        stretch_box(box, b->at[k]);
        stretch_box(box, b->at[b->next[k]]);
    }
    for (size_t i = b->leaves - 1; i > 0; i--) {
        b->boxes[i] = b->boxes[2 * i];
        if (dt_box_is_empty(b->boxes[2 * i + 1])) continue;
        stretch_box(&b->boxes[i], b->boxes[2 * i + 1].low);
        stretch_box(&b->boxes[i], b->boxes[2 * i + 1].high);
    }
}

static bool allocate(border *b, size_t count, size_t rings) {
    b->count = count;
    for (b->leaves = 1; b->leaves * BORDER_LEAF < count;) b->leaves *= 2;
    b->at = calloc(count, sizeof *b->at);
    b->next = calloc(count, sizeof *b->next);
    b->previous = calloc(count, sizeof *b->previous);
    b->ring = calloc(count, sizeof *b->ring);
    b->ring_start = calloc(rings + 1, sizeof *b->ring_start);
    b->reflex = calloc(count, sizeof *b->reflex);
    b->boxes = calloc(2 * b->leaves, sizeof *b->boxes);
    return b->at && b->next && b->previous && b->ring && b->ring_start && b->reflex && b->boxes;
}

dt_status border_new(dt_path outline, const dt_path *holes, size_t hole_count, border **out) {
    size_t count = outline.count;
    for (size_t h = 0; h < hole_count; h++) count += holes[h].count;
    border *b = calloc(1, sizeof *b);
    if (!b || !allocate(b, count, hole_count + 1)) {
        border_free(b);
        return DT_NO_MEMORY;
    }
    add_ring(b, outline, 0, 0);
    size_t start = outline.count;
    for (size_t h = 0; h < hole_count; h++) {
        b->ring_start[h + 1] = (uint32_t)start;
        add_ring(b, holes[h], (uint32_t)h + 1, start);
        start += holes[h].count;
    }
    b->ring_start[hole_count + 1] = (uint32_t)start;
    for (size_t k = 0; k < count; k++)
        b->reflex[k] = dt_orientation(b->at[b->previous[k]], b->at[k], b->at[b->next[k]]) < 0;
    fill_tree(b);
    *out = b;
    return DT_OK;
}

void border_free(border *b) {
    if (!b) return;
    free(b->at);
    free(b->next);
    free(b->previous);
    free(b->ring);
    free(b->ring_start);
    free(b->reflex);
    free(b->boxes);
    free(b);
}

static inline double box_distance2(const dt_box *box, dt_point p) {
    double dx = p.x < box->low.x ? box->low.x - p.x : p.x > box->high.x ? p.x - box->high.x : 0.0;
    double dy = p.y < box->low.y ? box->low.y - p.y : p.y > box->high.y ? p.y - box->high.y : 0.0;
    return dx * dx + dy * dy;
}

typedef struct nearest_search {
    const border *b;
    dt_point p;
    double distance2;
    double enough2;      /* nothing nearer than this need be looked for */
    contact best;
} nearest_search;

static inline void try_segment(nearest_search *s, uint32_t k) {
    dt_point a = s->b->at[k], b = s->b->at[s->b->next[k]];
    double ux = b.x - a.x, uy = b.y - a.y, px = s->p.x - a.x, py = s->p.y - a.y;
    double along = px * ux + py * uy, length2 = ux * ux + uy * uy;
    double t = along <= 0.0 ? 0.0 : along >= length2 ? 1.0 : along / length2;
    double dx = px - t * ux, dy = py - t * uy, d2 = dx * dx + dy * dy;
    if (d2 >= s->distance2) return;
    s->distance2 = d2;
    s->best.segment = k;
    s->best.t = t;
}

static void visit(nearest_search *s, size_t node) {
    const border *b = s->b;
    if (node >= b->leaves) {
        size_t first = (node - b->leaves) * BORDER_LEAF;
        for (size_t k = first; k < first + BORDER_LEAF && k < b->count; k++) try_segment(s, (uint32_t)k);
        return;
    }
    double left = box_distance2(&b->boxes[2 * node], s->p), right = box_distance2(&b->boxes[2 * node + 1], s->p);
    bool right_first = right < left;
    if ((right_first ? right : left) < s->distance2) visit(s, 2 * node + right_first);
    if (s->distance2 <= s->enough2) return;
    if ((right_first ? left : right) < s->distance2) visit(s, 2 * node + !right_first);
}

contact border_nearest(const border *b, dt_point p, uint32_t hint) {
    nearest_search s = {b, p, INFINITY, 0.0, {INFINITY, 0, 0.0}};
    try_segment(&s, hint);
    visit(&s, 1);
    s.best.distance = sqrt(s.distance2);
    return s.best;
}

bool border_nearest_beyond(const border *b, dt_point p, uint32_t hint, double enough, contact *out) {
    nearest_search s = {b, p, INFINITY, enough > 0.0 ? enough * enough : 0.0, {INFINITY, 0, 0.0}};
    try_segment(&s, hint);
    if (s.distance2 > s.enough2) visit(&s, 1);
    s.best.distance = sqrt(s.distance2);
    if (s.best.distance <= enough) return false;
    *out = s.best;
    return true;
}

bool border_nearest_within(const border *b, dt_point p, double distance, contact *out) {
    nearest_search s = {b, p, distance * distance, 0.0, {INFINITY, 0, 0.0}};
    visit(&s, 1);
    if (s.distance2 >= distance * distance) return false;
    s.best.distance = sqrt(s.distance2);
    *out = s.best;
    return true;
}

static bool is_beside(const border *b, uint32_t segment, dt_point p) {
    return dt_orientation(b->at[segment], b->at[b->next[segment]], p) > 0;
}

/* At a corner both its segments are asked: it may be a point on a straight side. */
bool border_is_inside(const border *b, dt_point p, contact nearest) {
    uint32_t k = nearest.t == 1.0 ? b->next[nearest.segment] : nearest.segment;
    bool after = is_beside(b, k, p);
    if (nearest.t > 0.0 && nearest.t < 1.0) return after;
    bool before = is_beside(b, b->previous[k], p);
    return b->reflex[k] ? before || after : before && after;
}

dt_point border_point_at(const border *b, contact place) {
    dt_point from = b->at[place.segment], to = b->at[b->next[place.segment]];
    return dt_point_add(from, dt_point_scale(dt_point_sub(to, from), place.t));
}

size_t border_part_corners(const border *b, border_part part) {
    uint32_t ring = b->ring[part.from.segment], size = b->ring_start[ring + 1] - b->ring_start[ring];
    uint32_t steps = (part.to.segment + size - part.from.segment) % size;
    return steps == 0 && part.from.t > part.to.t ? size : steps;
}

/* Parts with more corners are seldom narrow. */
enum { MOST_NARROW = 16 };

bool border_part_is_narrower(const border *b, border_part part, double width) {
    dt_point points[MOST_NARROW + 2];
    size_t corners = border_part_corners(b, part), count = 0;
    if (corners > MOST_NARROW) return false;
    points[count++] = border_point_at(b, part.from);
    for (uint32_t k = part.from.segment; count <= corners; points[count++] = b->at[k]) k = b->next[k];
    points[count++] = border_point_at(b, part.to);
    for (size_t i = 0; i < count; i++) {
        dt_point along = dt_point_sub(points[(i + 1) % count], points[i]);
        double low = 0.0, high = 0.0;
        for (size_t j = 0; j < count; j++) {
            double across = dt_point_cross(along, dt_point_sub(points[j], points[i]));
            low = fmin(low, across);
            high = fmax(high, across);
        }
        if (high - low < width * hypot(along.x, along.y)) return true;
    }
    return false;
}

/* Does the ray from p to the right cross the segment a-b? */
static bool crosses(dt_point a, dt_point b, dt_point p) {
    return (a.y > p.y) != (b.y > p.y) && p.x < a.x + (b.x - a.x) * (p.y - a.y) / (b.y - a.y);
}

bool border_part_contains(const border *b, border_part part, dt_point p) {
    dt_point start = border_point_at(b, part.from), end = border_point_at(b, part.to), at = start;
    bool inside = crosses(end, start, p);
    bool whole_turn = part.from.segment == part.to.segment && part.from.t > part.to.t;
    for (uint32_t k = part.from.segment; k != part.to.segment || whole_turn; k = b->next[k]) {
        dt_point corner = b->at[b->next[k]];
        inside ^= crosses(at, corner, p);
        at = corner;
        whole_turn = false;
    }
    return inside ^ crosses(at, end, p);
}
