/* Blocking by brute force: see brute_blocking.h. */
#include "brute_blocking.h"

#include "base/array.h"
#include "draft.h"
#include "geos_piece.h"
#include <math.h>
#include <stdlib.h>

typedef struct segment {
    dt_point a, b;
} segment;
typedef DT_ARRAY(segment) segments;

struct brute {
    segments *pieces, *turned; /* turned: x along the direction, y across it; a.y <= b.y */
    uint32_t count;
};

static void demand(bool holds) {
    if (!holds) abort();
}

static void add_ring(GEOSContextHandle_t geos, const GEOSGeometry *ring, segments *out) {
    const GEOSCoordSequence *points = GEOSGeom_getCoordSeq_r(geos, ring);
    unsigned count;
    GEOSCoordSeq_getSize_r(geos, points, &count);
    dt_point last = {0, 0};
    for (unsigned i = 0; i < count; i++) {
        dt_point p;
        GEOSCoordSeq_getXY_r(geos, points, i, &p.x, &p.y);
        if (i) demand(dt_array_push(out, (segment){last, p}));
        last = p;
    }
}

static void add_polygons(GEOSContextHandle_t geos, const GEOSGeometry *reduced, segments *out) {
    for (int i = 0; i < GEOSGetNumGeometries_r(geos, reduced); i++) {
        const GEOSGeometry *part = GEOSGetGeometryN_r(geos, reduced, i);
        if (GEOSisEmpty_r(geos, part)) continue;
        add_ring(geos, GEOSGetExteriorRing_r(geos, part), out);
        for (int k = 0; k < GEOSGetNumInteriorRings_r(geos, part); k++)
            add_ring(geos, GEOSGetInteriorRingN_r(geos, part, k), out);
    }
}

brute *brute_new(const dt_pieces *pieces, double r) {
    GEOSContextHandle_t geos = GEOS_init_r();
    brute *b = calloc(1, sizeof *b);
    demand(b != NULL);
    b->count = (uint32_t)dt_pieces_count(pieces);
    b->pieces = calloc(b->count, sizeof *b->pieces);
    b->turned = calloc(b->count, sizeof *b->turned);
    demand(b->pieces && b->turned);
    for (uint32_t i = 0; i < b->count; i++) {
        GEOSGeometry *whole = geos_piece(geos, dt_pieces_get(pieces, (dt_piece_id){i}));
        GEOSGeometry *reduced = GEOSBuffer_r(geos, whole, -r, 16);
        demand(reduced != NULL);
        add_polygons(geos, reduced, &b->pieces[i]);
        GEOSGeom_destroy_r(geos, reduced);
        GEOSGeom_destroy_r(geos, whole);
    }
    GEOS_finish_r(geos);
    return b;
}

void brute_free(brute *b) {
    for (uint32_t i = 0; i < b->count; i++) {
        dt_array_free(&b->pieces[i]);
        dt_array_free(&b->turned[i]);
    }
    free(b->pieces);
    free(b->turned);
    free(b);
}

static dt_point turned(dt_point p, double c, double n) {
    return (dt_point){c * p.x - n * p.y, n * p.x + c * p.y};
}

void brute_turn(brute *b, double degrees) {
    double angle = degrees * 3.14159265358979323846 / 180, c = cos(angle),
           n = sin(angle); /* y runs down: (c, -n) -> (1, 0) */
    for (uint32_t i = 0; i < b->count; i++) {
        b->turned[i].count = 0;
        for (size_t k = 0; k < b->pieces[i].count; k++) {
            dt_point from = turned(b->pieces[i].items[k].a, c, n), to = turned(b->pieces[i].items[k].b, c, n);
            demand(dt_array_push(&b->turned[i], from.y <= to.y ? (segment){from, to} : (segment){to, from}));
        }
    }
}

static double x_at(const segment *s, double y) {
    return s->a.x + (s->b.x - s->a.x) * (y - s->a.y) / (s->b.y - s->a.y);
}

/* On some line along the direction, does a point of `ahead` lie farther on than a point of `s`? */
static bool is_ahead(const segment *s, const segment *ahead) {
    double low = s->a.y > ahead->a.y ? s->a.y : ahead->a.y, high = s->b.y < ahead->b.y ? s->b.y : ahead->b.y;
    if (high - low < 1e-9) return false;
    return x_at(ahead, 0.5 * (low + high)) > x_at(s, 0.5 * (low + high));
}

bool brute_blocks(const brute *b, uint32_t mover, uint32_t other) {
    const segments *m = &b->turned[mover], *o = &b->turned[other];
    for (size_t i = 0; i < m->count; i++)
        for (size_t k = 0; k < o->count; k++)
            if (is_ahead(&m->items[i], &o->items[k])) return true;
    return false;
}

uint32_t brute_smallest_group(const bool *blocks, const uint32_t *whole, uint32_t count) {
    uint64_t reach[64];
    demand(count <= 64);
    for (uint32_t u = 0; u < count; u++) {
        reach[u] = (uint64_t)1 << u;
        for (uint32_t v = 0; v < count; v++) reach[u] |= (uint64_t)blocks[u * count + v] << v;
    }
    for (uint32_t k = 0; k < count; k++)
        for (uint32_t u = 0; u < count; u++)
            if (reach[u] >> k & 1) reach[u] |= reach[k];
    uint32_t best = 0;
    for (uint32_t u = 0; u < count; u++) { /* all that u drags along is a group that no link leaves */
        uint32_t size = (uint32_t)__builtin_popcountll(reach[u]);
        if (size < whole[u] && (best == 0 || size < best)) best = size;
    }
    return best;
}

/* ---- random sheets of cells ---- */

typedef struct grid {
    const cells *c;
    dt_point *corners;
    unsigned *labels;
} grid;

static dt_point corner(const grid *g, unsigned row, unsigned column) {
    return g->corners[row * (g->c->columns + 1) + column];
}

#define EMPTY UINT32_MAX /* label of what lies outside */

/* Rows and columns from -1 to one too many: the rim is empty. */
static unsigned label(const grid *g, int row, int column) {
    bool inside = row >= 0 && column >= 0 && row < (int)g->c->rows && column < (int)g->c->columns;
    return inside ? g->labels[(unsigned)row * g->c->columns + (unsigned)column] : EMPTY;
}

static bool empty_once(grid *g) {
    bool changed = false;
    for (int r = 0; r < (int)g->c->rows; r++)
        for (int k = 0; k < (int)g->c->columns; k++) {
            bool open = label(g, r - 1, k) == EMPTY || label(g, r + 1, k) == EMPTY || label(g, r, k - 1) == EMPTY ||
                        label(g, r, k + 1) == EMPTY;
            if (!open || label(g, r, k) != 0) continue;
            g->labels[(unsigned)r * g->c->columns + (unsigned)k] = EMPTY;
            changed = true;
        }
    return changed;
}

static void make_grid(grid *g) {
    const cells *c = g->c;
    uint64_t state = c->seed;
    for (int i = 0; i < 8; i++) draft_random(&state);
    g->corners = calloc((size_t)(c->rows + 1) * (c->columns + 1), sizeof *g->corners);
    g->labels = calloc((size_t)c->rows * c->columns, sizeof *g->labels);
    demand(g->corners && g->labels);
    for (unsigned r = 0; r <= c->rows; r++)
        for (unsigned k = 0; k <= c->columns; k++) {
            double dx = c->jitter * (2 * draft_random(&state) - 1), dy = c->jitter * (2 * draft_random(&state) - 1);
            g->corners[r * (c->columns + 1) + k] = (dt_point){k * c->size + dx, r * c->size + dy};
        }
    for (unsigned i = 0; i < c->rows * c->columns; i++) g->labels[i] = (unsigned)(draft_random(&state) * c->labels);
    while (c->bays && empty_once(g)) {
    }
}

static void line_between(draft *d, dt_point a, dt_point b) {
    draft_segment(d, a.x, a.y, b.x, b.y);
}

void draft_cells(draft *d, const cells *c) {
    grid g = {.c = c};
    make_grid(&g);
    for (int r = 0; r <= (int)c->rows; r++)
        for (int k = 0; k <= (int)c->columns; k++) {
            dt_point at = corner(&g, (unsigned)r, (unsigned)k);
            if (k < (int)c->columns && label(&g, r - 1, k) != label(&g, r, k))
                line_between(d, at, corner(&g, (unsigned)r, (unsigned)k + 1));
            if (r < (int)c->rows && label(&g, r, k - 1) != label(&g, r, k))
                line_between(d, at, corner(&g, (unsigned)r + 1, (unsigned)k));
        }
    free(g.corners);
    free(g.labels);
}

/* ---- sheets of tabs and mushrooms ---- */

/* Points along a seam of 20 mm, and across it. */
static const double tab_points[][2] = {{8, 0}, {8, 4}, {12, 4}, {12, 0}};
static const double mushroom_points[][2] = {{9, 0}, {9, 2}, {7, 2}, {7, 5}, {13, 5}, {13, 2}, {11, 2}, {11, 0}};

static void seam(draft *d, dt_point a, dt_point b, const tabs *t, uint64_t *state) {
    double kind = draft_random(state), sign = draft_random(state) < 0.5 ? -1 : 1;
    bool tab = kind < t->straight + t->tab;
    size_t count = kind < t->straight ? 0 : tab ? 4 : 8;
    dt_point along = dt_point_scale(dt_point_sub(b, a), 1.0 / 20), across = {-sign * along.y, sign * along.x};
    draft_move(d, a);
    for (size_t i = 0; i < count; i++) {
        const double *p = tab ? tab_points[i] : mushroom_points[i];
        draft_line(d, dt_point_add(a, dt_point_add(dt_point_scale(along, p[0]), dt_point_scale(across, p[1]))));
    }
    draft_line(d, b);
}

void draft_tabs(draft *d, const tabs *t) {
    uint64_t state = t->seed;
    for (int i = 0; i < 8; i++) draft_random(&state);
    draft_rectangle(d, 0, 0, t->columns * 20.0, t->rows * 20.0);
    for (unsigned r = 0; r < t->rows; r++)
        for (unsigned c = 0; c < t->columns; c++) {
            dt_point corner = {(c + 1) * 20.0, (r + 1) * 20.0};
            if (c + 1 < t->columns) seam(d, (dt_point){corner.x, corner.y - 20}, corner, t, &state);
            if (r + 1 < t->rows) seam(d, (dt_point){corner.x - 20, corner.y}, corner, t, &state);
        }
}

/* ---- sheets of curves ---- */

static dt_point anywhere(uint64_t *state) {
    double x = 80 * draft_random(state) - 10;
    return (dt_point){x, 70 * draft_random(state) - 10};
}

void draft_curves(draft *d, unsigned seed) {
    uint64_t state = (uint64_t)seed * 7919 + 3;
    draft_rectangle(d, 0, 0, 60, 50);
    for (int left = 2 + (int)(6 * draft_random(&state)); left > 0; left--) {
        dt_point p = anywhere(&state), q = anywhere(&state), end = anywhere(&state);
        if (draft_random(&state) < 0.35) {
            draft_circle(d, 8 + 0.5 * (p.x + 10), 8 + 0.4 * (p.y + 10),
                         4 + 10 * draft_random(&state) * draft_random(&state));
            continue;
        }
        draft_move(d, (dt_point){-5, 50 * draft_random(&state)});
        draft_cubic(d, p, q, end.y < 25 ? (dt_point){65, 2 * end.y} : (dt_point){end.x, 55});
    }
}
