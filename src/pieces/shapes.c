/* Faces of the net to shapes: rings of points, areas, boxes, inside points. Invariant: a ring starts where stage.h says,
 * whatever order the net has its halves in, so that results do not depend on the order of strokes. */
#include "border.h"
#include "stage.h"

#include <math.h>

static bool above_or_left(dt_point a, dt_point b) {
    return a.y < b.y || (a.y == b.y && a.x < b.x);
}

static dt_point half_second_point(const dt_net *net, uint32_t half) {
    dt_path path = dt_net_arc(net, half / 2)->path;
    return half % 2 == 0 ? path.points[1] : path.points[path.count - 2];
}

/* Where a ring should start: index of a half that leaves a junction, or SIZE_MAX. A pinched ring may pass the same junction
 * twice: then the second point decides. */
static size_t first_junction_half(const stage *s, const dt_ring *ring) {
    size_t best = SIZE_MAX;
    for (size_t i = 0; i < ring->count; i++) {
        uint32_t node = half_start(s->net, ring->halves[i]);
        if (s->degree[node] < 3) continue;
        if (best == SIZE_MAX) {
            best = i;
            continue;
        }
        uint32_t best_node = half_start(s->net, ring->halves[best]);
        bool better = node == best_node ? above_or_left(half_second_point(s->net, ring->halves[i]),
                                                        half_second_point(s->net, ring->halves[best]))
                                        : above_or_left(dt_net_node(s->net, node).at, dt_net_node(s->net, best_node).at);
        if (better) best = i;
    }
    return best;
}

/* Appends a half's points but its last one. */
static dt_point *put_half(const dt_net *net, uint32_t half, dt_point *to) {
    dt_path path = dt_net_arc(net, half / 2)->path;
    for (size_t i = 0; i + 1 < path.count; i++)
        *to++ = half % 2 == 0 ? path.points[i] : path.points[path.count - 1 - i];
    return to;
}

static void rotate_points(dt_point *points, size_t count, size_t first, dt_point *spare) {
    for (size_t i = 0; i < count; i++) spare[i] = points[(first + i) % count];
    for (size_t i = 0; i < count; i++) points[i] = spare[i];
}

static size_t topmost_point(const dt_point *points, size_t count) {
    size_t best = 0;
    for (size_t i = 1; i < count; i++)
        if (above_or_left(points[i], points[best])) best = i;
    return best;
}

static bool make_ring(stage *s, const dt_ring *ring, shape_ring *out) {
    size_t count = 0;
    for (size_t i = 0; i < ring->count; i++) count += dt_net_arc(s->net, ring->halves[i] / 2)->path.count - 1;
    dt_point *points = DT_TAKE(&s->result->arena, count + 1, dt_point);
    out->halves = DT_TAKE(&s->scratch, ring->count, uint32_t);
    if (!points || !out->halves) return false;
    size_t start = first_junction_half(s, ring);
    out->has_junction = start != SIZE_MAX;
    dt_point *end = points;
    for (size_t i = 0; i < ring->count; i++) {
        out->halves[i] = ring->halves[((out->has_junction ? start : 0) + i) % ring->count];
        end = put_half(s->net, out->halves[i], end);
    }
    if (!out->has_junction) {
        dt_point *spare = DT_TAKE(&s->scratch, count, dt_point);
        if (!spare) return false;
        rotate_points(points, count, topmost_point(points, count), spare);
    }
    points[count] = points[0];
    out->half_count = ring->count;
    out->path = (dt_path){points, count};
    return true;
}

/* Holes by their first point (two that touch there: by area), so that their order does not come from the net. */
static int compare_holes(const void *left, const void *right) {
    const shape_ring *a = left, *b = right;
    if (above_or_left(a->path.points[0], b->path.points[0])) return -1;
    if (above_or_left(b->path.points[0], a->path.points[0])) return 1;
    double difference = dt_path_area(a->path) - dt_path_area(b->path);
    return (difference > 0) - (difference < 0);
}

static bool make_rings(stage *s, const dt_face *face, face_shape *out) {
    out->ring_count = 1 + face->hole_count;
    out->rings = DT_TAKE(&s->scratch, out->ring_count, shape_ring);
    out->holes = DT_TAKE(&s->result->arena, face->hole_count, dt_path);
    if (!out->rings || !out->holes || !make_ring(s, &face->outer, &out->rings[0])) return false;
    for (size_t h = 0; h < face->hole_count; h++)
        if (!make_ring(s, &face->holes[h], &out->rings[h + 1])) return false;
    qsort(out->rings + 1, face->hole_count, sizeof *out->rings, compare_holes);
    for (size_t h = 0; h < face->hole_count; h++) out->holes[h] = out->rings[h + 1].path;
    return true;
}

static dt_status measure_shape(stage *s, size_t item, uint64_t *work) {
    face_shape *out = &s->shapes[item];
    dt_path outline = out->rings[0].path;
    out->box = dt_box_of(outline);
    out->centroid = dt_path_centroid(outline);
    for (size_t r = 0; r < out->ring_count; r++) {
        out->area += dt_path_area(out->rings[r].path);
        out->perimeter += dt_path_perimeter(out->rings[r].path);
    }
    border *edge = NULL;
    dt_status status = border_new(outline, out->holes, out->ring_count - 1, &edge);
    if (status != DT_OK) return status;
    disc largest;
    status = border_largest_disc(edge, work, &largest);
    border_free(edge);
    if (status != DT_OK) return status;
    out->inside = largest.centre;
    out->inradius = largest.radius;
    return DT_OK;
}

static bool count_degrees(stage *s) {
    s->degree = DT_TAKE(&s->scratch, dt_net_node_count(s->net), uint32_t);
    if (!s->degree) return false;
    for (size_t a = 0; a < dt_net_arc_count(s->net); a++) {
        s->degree[dt_net_arc(s->net, a)->from]++;
        s->degree[dt_net_arc(s->net, a)->to]++;
    }
    return true;
}

dt_status stage_shapes(stage *s) {
    s->shape_count = dt_net_face_count(s->net);
    s->shapes = DT_TAKE(&s->scratch, s->shape_count, face_shape);
    if (!s->shapes || !count_degrees(s)) return DT_NO_MEMORY;
    for (size_t f = 0; f < s->shape_count; f++) {
        s->shapes[f].piece = DT_NO_INDEX;
        if (!make_rings(s, dt_net_face(s->net, f), &s->shapes[f])) return DT_NO_MEMORY;
    }
    size_t first = 0;
    dt_status status = stage_measure_all(s, measure_shape, s->shape_count, &first);
    if (status == DT_TOO_LARGE) {
        dt_point at = s->shapes[first].rings[0].path.points[0];
        dt_fail(s->error, status, "the lines run side by side for very long, as at (%.1f, %.1f), and leave strips too long and narrow to "
                "measure: leave out what is no cut with --skip", at.x, at.y);
    }
    return status;
}
