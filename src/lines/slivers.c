/* Slivers. Every point of a face lies within its inscribed radius r of the border, so area <= r * perimeter: a face
 * whose area over perimeter is at least half a kerf is none, and only the few others are measured (GEOS,
 * MaximumInscribedCircle). */
#include "slivers.h"

#include <geos_c.h>
#include <math.h>

/* The width of a sliver is told to a hundredth of a kerf, but no finer than a thousandth of its length: GEOS looks at
 * about as many cells as the one goes into the other (a sliver half a metre long took seconds). Never coarser than a
 * tenth of a kerf. */
#define WIDTH_STEPS 100.0
#define LENGTH_STEPS 1000.0
#define COARSEST_STEPS 10.0
/* Steps along all slivers, some microseconds each. Beyond the first number they are half a kerf wide, beyond the second
 * the drawing is a hatch: a sheet of 500 pieces with every seam drawn twice, 0.15 mm apart, has 20 m of slivers and
 * needs 270,000. */
#define MOST_FINE_STEPS 50000.0
#define MOST_STEPS 250000.0

typedef struct merger {
    const dt_net *net;
    double kerf_mm;
    GEOSContextHandle_t geos;
    uint32_t *above; /* union-find over faces; the outside is face_count */
    double *shared;  /* scratch: border with each face */
    DT_ARRAY(uint32_t) touched;
    double steps; /* so far */
} merger;

static void be_silent(const char *message, void *context) {
    (void)message;
    (void)context;
}

static uint32_t leader(uint32_t *above, uint32_t f) {
    while (above[f] != f) f = above[f] = above[above[f]];
    return f;
}

static double ring_length(const dt_net *net, dt_ring ring) {
    double length = 0.0;
    for (size_t i = 0; i < ring.count; i++) length += net->arcs[ring.halves[i] / 2].length;
    return length;
}

static double face_perimeter(const dt_net *net, const dt_face *face) {
    double length = ring_length(net, face->outer);
    for (size_t h = 0; h < face->hole_count; h++) length += ring_length(net, face->holes[h]);
    return length;
}

static size_t ring_points(const dt_net *net, dt_ring ring) {
    size_t count = 1;
    for (size_t i = 0; i < ring.count; i++) count += net->arcs[ring.halves[i] / 2].path.count - 1;
    return count;
}

static GEOSGeometry *linear_ring(const merger *m, dt_ring ring) {
    GEOSCoordSequence *points = GEOSCoordSeq_create_r(m->geos, (unsigned)ring_points(m->net, ring), 2);
    if (!points) return NULL;
    unsigned filled = 0;
    dt_point first = {0, 0};
    for (size_t i = 0; i < ring.count; i++) {
        dt_path path = m->net->arcs[ring.halves[i] / 2].path;
        for (size_t k = 0; k + 1 < path.count; k++) {
            dt_point p = path.points[ring.halves[i] & 1 ? path.count - 1 - k : k];
            if (filled == 0) first = p;
            GEOSCoordSeq_setXY_r(m->geos, points, filled++, p.x, p.y);
        }
    }
    GEOSCoordSeq_setXY_r(m->geos, points, filled, first.x, first.y);
    return GEOSGeom_createLinearRing_r(m->geos, points);
}

static GEOSGeometry *polygon(const merger *m, const dt_face *face) {
    GEOSGeometry *result = NULL, *outer = linear_ring(m, face->outer);
    GEOSGeometry **holes = calloc(face->hole_count + 1, sizeof *holes);
    bool all = outer && holes;
    for (size_t h = 0; all && h < face->hole_count; h++) all = (holes[h] = linear_ring(m, face->holes[h])) != NULL;
    if (all) result = GEOSGeom_createPolygon_r(m->geos, outer, holes, (unsigned)face->hole_count);
    if (!all && outer) GEOSGeom_destroy_r(m->geos, outer);
    for (size_t h = 0; !all && holes && h < face->hole_count; h++)
        if (holes[h]) GEOSGeom_destroy_r(m->geos, holes[h]);
    free(holes);
    return result;
}

/* The widest circle inside: its middle and diameter. */
static bool widest_circle(merger *m, const dt_face *face, dt_point *at, double *width) {
    bool found = false;
    double length = face_perimeter(m->net, face) / 2, step = fmax(m->kerf_mm / WIDTH_STEPS, length / LENGTH_STEPS);
    step = m->steps < MOST_FINE_STEPS ? fmin(step, m->kerf_mm / COARSEST_STEPS) : m->kerf_mm / 2;
    m->steps += length / step;
    GEOSGeometry *shape = polygon(m, face);
    GEOSGeometry *radius = shape ? GEOSMaximumInscribedCircle_r(m->geos, shape, step) : NULL;
    const GEOSCoordSequence *ends = radius ? GEOSGeom_getCoordSeq_r(m->geos, radius) : NULL;
    dt_point rim;
    if (ends && GEOSCoordSeq_getXY_r(m->geos, ends, 0, &at->x, &at->y) &&
        GEOSCoordSeq_getXY_r(m->geos, ends, 1, &rim.x, &rim.y)) {
        *width = 2 * dt_point_distance(*at, rim);
        found = true;
    }
    if (radius) GEOSGeom_destroy_r(m->geos, radius);
    if (shape) GEOSGeom_destroy_r(m->geos, shape);
    return found;
}

/* Not worth a word: no longer than the burn is wide, so that nothing of it is left; or as narrow as lines that count as
 * one (see doubles.c), and short. Such faces come of lines that meet a hair's breadth apart; a long one is a line that
 * turns back on itself. */
#define SHORT_KERFS 5.0

static bool is_speck(const merger *m, const dt_face *face, double width) {
    dt_box box = DT_BOX_EMPTY;
    for (size_t i = 0; i < face->outer.count; i++)
        box = dt_box_join(box, dt_box_of(m->net->arcs[face->outer.halves[i] / 2].path));
    double length = hypot(box.high.x - box.low.x, box.high.y - box.low.y);
    return length <= (width < m->kerf_mm / 4 ? SHORT_KERFS : 1.0) * m->kerf_mm;
}

static uint32_t slot(const merger *m, uint32_t face) {
    return face == DT_OUTSIDE_FACE ? (uint32_t)m->net->face_count : face;
}

static bool add_border(merger *m, uint32_t face, dt_ring ring) {
    for (size_t i = 0; i < ring.count; i++) {
        const dt_arc *arc = &m->net->arcs[ring.halves[i] / 2];
        uint32_t across = leader(m->above, slot(m, ring.halves[i] & 1 ? arc->left : arc->right));
        if (across == leader(m->above, face)) continue;
        if (m->shared[across] == 0.0 && !dt_array_push(&m->touched, across)) return false;
        m->shared[across] += arc->length;
    }
    return true;
}

/* A face comes before the outside, a longer border before a shorter one, a lower number before a higher one. */
static uint32_t best_neighbour(const merger *m) {
    uint32_t outside = leader(m->above, (uint32_t)m->net->face_count), best = DT_NO_INDEX;
    for (size_t i = 0; i < m->touched.count; i++) {
        uint32_t f = m->touched.items[i];
        if (best == DT_NO_INDEX || (best == outside && f != outside))
            best = f;
        else if (f != outside && (m->shared[f] > m->shared[best] || (m->shared[f] == m->shared[best] && f < best)))
            best = f;
    }
    return best;
}

static bool give_away(merger *m, uint32_t face, uint32_t *taker) {
    const dt_face *sliver = &m->net->faces[face];
    m->touched.count = 0;
    bool done = add_border(m, face, sliver->outer);
    for (size_t h = 0; done && h < sliver->hole_count; h++) done = add_border(m, face, sliver->holes[h]);
    *taker = best_neighbour(m);
    for (size_t i = 0; i < m->touched.count; i++) m->shared[m->touched.items[i]] = 0.0;
    if (done && *taker != DT_NO_INDEX) m->above[leader(m->above, face)] = *taker;
    return done;
}

static dt_status merge_face(merger *m, uint32_t f, bool *any, dt_faults *faults) {
    const dt_face *face = &m->net->faces[f];
    dt_point at;
    double width;
    if (face->area >= face_perimeter(m->net, face) * m->kerf_mm / 2) return DT_OK;
    if (m->steps > MOST_STEPS) return DT_TOO_LARGE;
    if (!widest_circle(m, face, &at, &width)) return DT_LIBRARY;
    if (width >= m->kerf_mm) return DT_OK;
    uint32_t taker;
    if (!give_away(m, f, &taker)) return DT_NO_MEMORY;
    const dt_arc *arc = &m->net->arcs[face->outer.halves[0] / 2];
    dt_fault fault = {.kind = DT_FAULT_SLIVER,
                      .at = at,
                      .other = at,
                      .size_mm = width,
                      .mended = true,
                      .stroke = arc->stroke_count ? arc->strokes[0] : DT_NO_INDEX,
                      .other_stroke = DT_NO_INDEX,
                      .pieces = {DT_NO_INDEX, DT_NO_INDEX},
                      .times = 1};
    *any = true;
    if (is_speck(m, face, width)) return DT_OK;
    return dt_array_push(faults, fault) ? DT_OK : DT_NO_MEMORY;
}

static dt_status merge_all(merger *m, bool *keep, bool *any, dt_faults *faults) {
    size_t count = m->net->face_count + 1;
    m->above = malloc(count * sizeof *m->above);
    m->shared = calloc(count, sizeof *m->shared);
    if (!m->above || !m->shared || !m->geos) return DT_NO_MEMORY;
    for (uint32_t f = 0; f < count; f++) m->above[f] = f;
    for (uint32_t f = 0; f < m->net->face_count; f++) {
        dt_status status = merge_face(m, f, any, faults);
        if (status != DT_OK) return status;
    }
    for (size_t a = 0; a < m->net->arc_count; a++)
        keep[a] = leader(m->above, slot(m, m->net->arcs[a].left)) != leader(m->above, slot(m, m->net->arcs[a].right));
    return DT_OK;
}

dt_status dt_slivers_merge(const dt_net *net, double kerf_mm, bool *keep, bool *any, dt_faults *faults) {
    *any = false;
    if (!(kerf_mm > 0.0)) return DT_OK;
    merger m = {.net = net, .kerf_mm = kerf_mm, .geos = GEOS_init_r()};
    if (m.geos) GEOSContext_setErrorMessageHandler_r(m.geos, be_silent, NULL);
    dt_status status = merge_all(&m, keep, any, faults);
    free(m.above);
    free(m.shared);
    dt_array_free(&m.touched);
    if (m.geos) GEOS_finish_r(m.geos);
    return status;
}
