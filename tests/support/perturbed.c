/* Perturbed drafts: see perturbed.h. Everything is done on flattened strokes; insets are made by GEOS. */
#include "perturbed.h"

#include <check.h>
#include <geos_c.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double FINE_MM = 0.001, GRID_MM = 0.01, CHORD_MM = 0.02, SHIFT_MM = 0.03, NOISE_MM = 0.01, INSET_MM = 0.03;

const char *const perturbing_names[PERTURBINGS] = {"as drawn", "rounded", "flattened", "shifted",
                                                   "noisy",    "inset",   "traced"};

static double within(uint64_t *state, double most) {
    return most * (2.0 * draft_random(state) - 1.0);
}

static dt_point *copy_points(dt_path path) {
    dt_point *points = malloc(path.count * sizeof *points);
    ck_assert_ptr_nonnull(points);
    memcpy(points, path.points, path.count * sizeof *points);
    return points;
}

/* ---- what is done to one stroke ---- */

static double round_to_grid(double v) {
    return GRID_MM * floor(v / GRID_MM + 0.5);
}

static double chord_error(const dt_point *points, size_t from, size_t to) {
    double worst = 0.0;
    for (size_t i = from + 1; i < to; i++)
        worst = fmax(worst, dt_segment_distance(points[i], points[from], points[to], NULL));
    return worst;
}

static bool is_sharp(const dt_point *points, size_t i) {
    dt_point a = dt_point_sub(points[i], points[i - 1]), b = dt_point_sub(points[i + 1], points[i]);
    return fabs(atan2(a.x * b.y - a.y * b.x, a.x * b.x + a.y * b.y)) > 0.3;
}

/* Keeps corners and as few other points as chords of a random error allow. */
static size_t thin_out(dt_point *points, size_t count, uint64_t *state) {
    size_t kept = 1;
    for (size_t from = 0; from + 1 < count;) {
        double most = CHORD_MM * (0.1 + 0.9 * draft_random(state));
        size_t to = from + 1;
        while (to + 1 < count && !is_sharp(points, to) && chord_error(points, from, to + 1) <= most) to++;
        from = to;
        points[kept++] = points[from];
        /* Points before `from` are not read again, so they may be overwritten. */
    }
    return kept;
}

static size_t change_points(dt_point *points, size_t count, perturbing way, uint64_t *state) {
    dt_point by = {within(state, SHIFT_MM), within(state, SHIFT_MM)};
    if (way == FLATTENED) return thin_out(points, count, state);
    for (size_t i = 0; i < count; i++) {
        if (way == ROUNDED) points[i] = (dt_point){round_to_grid(points[i].x), round_to_grid(points[i].y)};
        if (way == SHIFTED) points[i] = dt_point_add(points[i], by);
        if (way == NOISY || way == TRACED)
            points[i] = dt_point_add(points[i], (dt_point){within(state, NOISE_MM), within(state, NOISE_MM)});
    }
    return count;
}

static draft *change_strokes(draft *d, perturbing way, uint64_t *state) {
    dt_strokes strokes = draft_strokes(d, way == FLATTENED ? FINE_MM : GRID_MM);
    dt_stroke *changed = calloc(strokes.count + 1, sizeof *changed);
    dt_point **kept = calloc(strokes.count + 1, sizeof *kept);
    ck_assert(changed && kept);
    for (size_t i = 0; i < strokes.count; i++) {
        changed[i] = strokes.strokes[i];
        kept[i] = copy_points(changed[i].path);
        changed[i].path = (dt_path){kept[i], change_points(kept[i], changed[i].path.count, way, state)};
    }
    draft *out = draft_of((dt_strokes){.strokes = changed, .count = strokes.count});
    for (size_t i = 0; i < strokes.count; i++) free(kept[i]);
    free(kept);
    free(changed);
    draft_free(d);
    return out;
}

/* ---- one closed outline for each piece ---- */

static void draw_inset(GEOSContextHandle_t geos, draft *out, dt_path ring, double by) {
    GEOSCoordSequence *points = GEOSCoordSeq_create_r(geos, (unsigned)ring.count + 1, 2);
    for (size_t i = 0; i <= ring.count; i++)
        GEOSCoordSeq_setXY_r(geos, points, (unsigned)i, ring.points[i % ring.count].x, ring.points[i % ring.count].y);
    GEOSGeometry *solid = GEOSGeom_createPolygon_r(geos, GEOSGeom_createLinearRing_r(geos, points), NULL, 0);
    GEOSGeometry *inner = GEOSBufferWithStyle_r(geos, solid, by, 8, GEOSBUF_CAP_ROUND, GEOSBUF_JOIN_MITRE, 5.0);
    ck_assert(inner && GEOSGeomTypeId_r(geos, inner) == GEOS_POLYGON);
    const GEOSCoordSequence *border = GEOSGeom_getCoordSeq_r(geos, GEOSGetExteriorRing_r(geos, inner));
    unsigned count = 0;
    GEOSCoordSeq_getSize_r(geos, border, &count);
    for (unsigned i = 0; i + 1 < count; i++) {
        dt_point p;
        GEOSCoordSeq_getXY_r(geos, border, i, &p.x, &p.y);
        if (i == 0) draft_move(out, p);
        else draft_line(out, p);
    }
    draft_close(out);
    GEOSGeom_destroy_r(geos, inner);
    GEOSGeom_destroy_r(geos, solid);
}

static void draw_ring(GEOSContextHandle_t geos, draft *out, dt_path ring, double inset) {
    if (inset == 0.0) draft_polyline(out, ring.points, ring.count, true);
    else draw_inset(geos, out, ring, dt_path_area(ring) > 0.0 ? -inset : inset);
}

static void draw_voids(draft *d, draft *out) {
    dt_strokes strokes = draft_strokes(d, GRID_MM);
    for (size_t i = 0; i < strokes.count; i++) {
        const dt_stroke *s = &strokes.strokes[i];
        if (s->role != DT_ROLE_VOID) continue;
        draft_layer(out, s->layer, s->role);
        draft_polyline(out, s->path.points, s->path.count, s->closed);
        draft_layer(out, NULL, DT_ROLE_CUT);
    }
}

draft *draft_of_outlines(draft *d, double inset) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_net *net;
    GEOSContextHandle_t geos = GEOS_init_r();
    draft *out = draft_new();
    dt_pieces *pieces = draft_pieces(d, &settings, &net);
    for (uint32_t i = 0; i < dt_pieces_count(pieces); i++) {
        const dt_piece *piece = dt_pieces_get(pieces, (dt_piece_id){i});
        draw_ring(geos, out, piece->outline, inset);
        for (size_t h = 0; h < piece->hole_count; h++) draw_ring(geos, out, piece->holes[h], inset);
    }
    draw_voids(d, out);
    dt_pieces_free(pieces);
    dt_net_free(net);
    GEOS_finish_r(geos);
    draft_free(d);
    return out;
}

draft *perturbed(draft *d, perturbing way, uint64_t seed) {
    uint64_t state = seed * 2654435761u + 12345;
    if (way == ROUNDED) {
        dt_pose turn = dt_pose_about(360.0 * draft_random(&state), false, (dt_point){0, 0}, (dt_point){500.0, 500.0});
        draft_transform(d, turn, 1.0);
    }
    if (way == INSET || way == TRACED) d = draft_of_outlines(d, way == INSET ? INSET_MM : 0.0);
    return way == AS_DRAWN || way == INSET ? d : change_strokes(d, way, &state);
}
