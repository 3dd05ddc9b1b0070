/* Faces that are known from outside, and twins: our noding against GEOS's snap rounding, indexes against looking at everything. */
#include "draft.h"
#include "geom/beside.h"
#include "geom/grid_index.h"
#include "geom/strands.h"
#include "lines/node.h"
#include "lines/sweep.h"
#include "stroke_list.h"
#include <dovetell/drawing.h>
#include <dovetell/text.h>

#include <check.h>
#include <geos_c.h>
#include <math.h>
#include <string.h>

static const dt_settings SETTINGS = DT_SETTINGS_DEFAULT;
static const double PI = 3.14159265358979323846;

static size_t faces_of(draft *d, size_t *faults) {
    dt_net *net = checked_net(draft_strokes(d, 0.01), &SETTINGS);
    size_t faces = dt_net_face_count(net);
    *faults = dt_net_fault_count(net);
    dt_net_free(net);
    draft_free(d);
    return faces;
}

/* Poonen and Rubinstein, The number of intersection points made by the diagonals of a regular polygon, 1998; OEIS A007678. */
START_TEST(regular_polygons_with_all_diagonals) {
    static const size_t known[] = {4, 11, 24, 50, 80, 154, 220, 375, 444}; /* n = 4 .. 12; 11 from memory of A007678 */
    for (int n = 4; n <= 12; n++)
        for (int turn = 0; turn < 4; turn++) {
            draft *d = draft_new();
            size_t faults;
            for (int i = 0; i < n; i++)
                for (int j = i + 1; j < n; j++) {
                    double a = 2 * PI * i / n + turn * 0.37, b = 2 * PI * j / n + turn * 0.37;
                    draft_segment(d, 50 * cos(a), 50 * sin(a), 50 * cos(b), 50 * sin(b));
                }
            ck_assert_uint_eq(faces_of(d, &faults), known[n - 4]);
            ck_assert_uint_eq(faults, 0);
        }
}
END_TEST

/* n circles, each two crossing twice, no three in a point: n^2 - n + 1 faces without the outside (textbook). */
START_TEST(crossing_circles) {
    for (int n = 1; n <= 12; n++) {
        draft *d = draft_new();
        dt_settings settings = SETTINGS;
        settings.kerf_mm = 0.0; /* the faces in the middle are slivers for small kerfs too */
        for (int i = 0; i < n; i++) draft_circle(d, 100 + 31 * cos(2 * PI * i / n + 0.1), 100 + 37 * sin(2 * PI * i / n + 0.1), 55 + 0.7 * i);
        dt_net *net = checked_net(draft_strokes(d, 0.01), &settings);
        ck_assert_uint_eq(dt_net_face_count(net), (size_t)(n * n - n + 1));
        dt_net_free(net);
        draft_free(d);
    }
}
END_TEST

/* Each of few long lines crosses a hundred others: after the first pass the cuts are a hundredth as long. */
START_TEST(a_square_grid_of_long_lines) {
    draft *d = draft_new();
    size_t faults;
    for (int i = 0; i <= 100; i++) {
        draft_segment(d, 10 * i, 0, 10 * i, 1000);
        draft_segment(d, 0, 10 * i, 1000, 10 * i);
    }
    ck_assert_uint_eq(faces_of(d, &faults), 10000);
    ck_assert_uint_eq(faults, 0);
}
END_TEST

/* The same through the reader: circle elements, and paths of two SVG arcs each. */
static size_t faces_of_svg(int n, bool arcs) {
    dt_text svg = DT_TEXT_EMPTY;
    dt_text_add(&svg, "<svg xmlns='http://www.w3.org/2000/svg' width='200mm' height='200mm' viewBox='0 0 200 200'><g fill='none' stroke='red'>");
    for (int i = 0; i < n; i++) {
        double x = 100 + 31 * cos(2 * PI * i / n + 0.1), y = 100 + 37 * sin(2 * PI * i / n + 0.1), r = 55 + 0.7 * i;
        if (arcs) dt_text_addf(&svg, "<path d='M%.17g %.17gA%.17g %.17g 30 0 1 %.17g %.17gA%.17g %.17g 0 1 1 %.17g %.17gZ'/>", x - r, y, r, r, x, y - r, r, r, x - r, y);
        else dt_text_addf(&svg, "<circle cx='%.17g' cy='%.17g' r='%.17g'/>", x, y, r);
    }
    dt_text_add(&svg, "</g></svg>");
    dt_settings settings = SETTINGS;
    settings.kerf_mm = 0.0;
    dt_drawing *drawing = NULL;
    ck_assert_int_eq(dt_drawing_read_memory("circles", svg.bytes, svg.length, &settings, &drawing, NULL), DT_OK);
    dt_net *net = checked_net(dt_drawing_strokes(drawing), &settings);
    size_t faces = dt_net_face_count(net);
    dt_net_free(net);
    dt_drawing_free(drawing);
    dt_text_free(&svg);
    return faces;
}

START_TEST(crossing_circles_as_svg_arcs) {
    for (int n = 1; n <= 12; n++) {
        ck_assert_uint_eq(faces_of_svg(n, false), (size_t)(n * n - n + 1));
        ck_assert_uint_eq(faces_of_svg(n, true), (size_t)(n * n - n + 1));
    }
}
END_TEST

static dt_gp random_point(uint64_t *state, int range) {
    return (dt_gp){(int32_t)(range * draft_random(state)), (int32_t)(range * draft_random(state))};
}

static GEOSGeometry *geos_lines(GEOSContextHandle_t geos, const dt_cuts *cuts) {
    GEOSGeometry **lines = calloc(cuts->count, sizeof *lines);
    for (size_t i = 0; i < cuts->count; i++) {
        GEOSCoordSequence *points = GEOSCoordSeq_create_r(geos, 2, 2);
        GEOSCoordSeq_setXY_r(geos, points, 0, cuts->items[i].a.x, cuts->items[i].a.y);
        GEOSCoordSeq_setXY_r(geos, points, 1, cuts->items[i].b.x, cuts->items[i].b.y);
        lines[i] = GEOSGeom_createLineString_r(geos, points);
    }
    GEOSGeometry *all = GEOSGeom_createCollection_r(geos, GEOS_MULTILINESTRING, lines, (unsigned)cuts->count);
    free(lines);
    return all;
}

static double geos_length(GEOSContextHandle_t geos, const GEOSGeometry *lines, int *faces) {
    double length = 0.0;
    GEOSLength_r(geos, lines, &length);
    GEOSGeometry *polygons = GEOSPolygonize_r(geos, &lines, 1);
    *faces = GEOSGetNumGeometries_r(geos, polygons);
    GEOSGeom_destroy_r(geos, polygons);
    return length;
}

/* GEOS (GEOSUnaryUnionPrec: its own snap rounding) as the twin: same total length, same faces. */
START_TEST(noding_agrees_with_geos) {
    GEOSContextHandle_t geos = GEOS_init_r();
    for (uint64_t seed = 1; seed <= 150; seed++) {
        uint64_t state = seed;
        dt_cuts cuts = {0};
        int range = seed % 2 ? 3000 : 100000; /* on a smaller field the two conventions for the borders of pixels show */
        for (int i = 0; i < 25; i++) {
            dt_cut cut = {random_point(&state, range), random_point(&state, range), 0};
            if (!dt_gp_same(cut.a, cut.b)) ck_assert(dt_array_push(&cuts, cut));
        }
        GEOSGeometry *raw = geos_lines(geos, &cuts), *theirs = GEOSUnaryUnionPrec_r(geos, raw, 1.0);
        ck_assert_int_eq(dt_node_cuts(&cuts, NULL), DT_OK);
        GEOSGeometry *noded = geos_lines(geos, &cuts), *ours = GEOSUnaryUnion_r(geos, noded);
        int our_faces, their_faces;
        double our_length = geos_length(geos, ours, &our_faces), their_length = geos_length(geos, theirs, &their_faces);
        ck_assert_double_eq_tol(our_length, their_length, 1e-3 * their_length);
        ck_assert_int_le(abs(our_faces - their_faces), range > 3000 ? 0 : 2); /* faces of a few square micrometres */
        GEOSGeom_destroy_r(geos, raw);
        GEOSGeom_destroy_r(geos, theirs);
        GEOSGeom_destroy_r(geos, noded);
        GEOSGeom_destroy_r(geos, ours);
        dt_array_free(&cuts);
    }
    GEOS_finish_r(geos);
}
END_TEST

/* After noding no two cuts may meet but at ends of both. By looking at all pairs. */
START_TEST(noded_cuts_meet_at_their_ends_only) {
    for (uint64_t seed = 1; seed <= 200; seed++) {
        uint64_t state = seed * 77;
        dt_cuts cuts = {0};
        int range = 4 + (int)(seed % 40);
        for (int i = 0; i < 20; i++)
            ck_assert(dt_array_push(&cuts, ((dt_cut){random_point(&state, range), random_point(&state, range), 0})));
        ck_assert_int_eq(dt_node_cuts(&cuts, NULL), DT_OK);
        for (size_t i = 0; i < cuts.count; i++)
            for (size_t j = 0; j < cuts.count; j++) {
                dt_cut c = cuts.items[i], e = cuts.items[j];
                if (dt_gp_same(c.a, c.b) || dt_gp_same(e.a, e.b)) continue;
                int64_t p = dt_gp_cross(c.a, c.b, e.a), q = dt_gp_cross(c.a, c.b, e.b);
                int64_t r = dt_gp_cross(e.a, e.b, c.a), s = dt_gp_cross(e.a, e.b, c.b);
                ck_assert(!((p > 0) != (q > 0) && p && q && (r > 0) != (s > 0) && r && s));
                double along = ((double)e.a.x - c.a.x) * ((double)c.b.x - c.a.x) + ((double)e.a.y - c.a.y) * ((double)c.b.y - c.a.y);
                double whole = pow((double)c.b.x - c.a.x, 2) + pow((double)c.b.y - c.a.y, 2);
                ck_assert(!(p == 0 && along > 0 && along < whole)); /* an end inside another cut */
            }
        dt_array_free(&cuts);
    }
}
END_TEST

static uint32_t beside_by_looking(const dt_cuts *edges, dt_gp p) {
    double best = -INFINITY, y = p.y - 1e-4;
    uint32_t found = DT_NO_INDEX;
    for (uint32_t i = 0; i < edges->count; i++) {
        dt_cut e = edges->items[i];
        if ((e.a.y > y) == (e.b.y > y)) continue;
        double x = e.a.x + (y - e.a.y) / ((double)e.b.y - e.a.y) * ((double)e.b.x - e.a.x);
        if (x > p.x || x <= best) continue;
        best = x;
        found = i;
    }
    return found;
}

static bool is_on_an_edge(const dt_cuts *edges, dt_gp p) {
    for (size_t i = 0; i < edges->count; i++) {
        dt_point a = {edges->items[i].a.x, edges->items[i].a.y}, b = {edges->items[i].b.x, edges->items[i].b.y};
        if (dt_segment_distance((dt_point){p.x, p.y}, a, b, NULL) < 0.01) return true;
    }
    return false;
}

START_TEST(the_sweep_finds_the_edge_beside_each_point) {
    for (uint64_t seed = 1; seed <= 100; seed++) {
        uint64_t state = seed * 5;
        dt_cuts edges = {0};
        dt_gp points[60];
        uint32_t found[60];
        for (int i = 0; i < 15; i++) ck_assert(dt_array_push(&edges, ((dt_cut){random_point(&state, 1000), random_point(&state, 1000), 0})));
        ck_assert_int_eq(dt_node_cuts(&edges, NULL), DT_OK);
        for (int i = 0; i < 60; i++) points[i] = random_point(&state, 1000);
        ck_assert_int_eq(dt_sweep_beside(edges.items, edges.count, points, 60, found), DT_OK);
        for (int i = 0; i < 60; i++) {
            uint32_t expected = beside_by_looking(&edges, points[i]);
            if (found[i] == expected || is_on_an_edge(&edges, points[i])) continue;
            ck_assert(found[i] != DT_NO_INDEX && expected != DT_NO_INDEX); /* equal cuts may both be there */
            dt_cut a = edges.items[found[i]], b = edges.items[expected];
            ck_assert((dt_gp_same(a.a, b.a) && dt_gp_same(a.b, b.b)) || (dt_gp_same(a.a, b.b) && dt_gp_same(a.b, b.a)));
        }
        dt_array_free(&edges);
    }
}
END_TEST

static dt_point random_real(uint64_t *state, double range) {
    return (dt_point){range * (draft_random(state) - 0.5), range * (draft_random(state) - 0.5)};
}

START_TEST(the_grid_misses_nothing_near) {
    uint64_t state = 3;
    for (int round = 0; round < 40; round++) {
        dt_point a[50], b[50];
        double cell = 0.2 + 5 * draft_random(&state), margin = draft_random(&state);
        dt_grid grid;
        dt_grid_init(&grid, cell, margin);
        for (uint32_t i = 0; i < 50; i++) {
            a[i] = random_real(&state, 30);
            b[i] = dt_point_add(a[i], random_real(&state, round % 2 ? 2 : 30));
            ck_assert(dt_grid_add(&grid, a[i], b[i], i));
        }
        for (int k = 0; k < 50; k++) {
            dt_point p = random_real(&state, 30);
            bool seen[50] = {false};
            for (dt_nearby n = dt_grid_nearby(&grid, p, p, 0.0); dt_nearby_next(&n);) seen[n.item] = true;
            for (int i = 0; i < 50; i++) ck_assert(seen[i] || dt_segment_distance(p, a[i], b[i], NULL) > margin);
        }
        dt_grid_take_back(&grid, 0);
        dt_nearby left = dt_grid_nearby(&grid, a[0], b[0], 0.0);
        ck_assert(!dt_nearby_next(&left));
        dt_grid_free(&grid);
    }
}
END_TEST

enum { WANDERING = 120 };

/* Lines that wander about, with level and upright cuts among them; every tenth begins anew somewhere. */
static void enter_wandering(uint64_t *state, dt_strands *strands, const bool *fresh) {
    dt_point at = {0, 0};
    for (uint32_t i = 0; i < WANDERING; i++) {
        if (i % 10 == 0) at = random_real(state, 20);
        dt_point step = random_real(state, i % 30 < 10 ? 8 : 2);
        if (i % 7 == 0) step.x = 0;
        if (i % 11 == 0) step.y = 0;
        dt_point to = dt_point_add(at, step);
        ck_assert(dt_strands_add(strands, at, to, i / 10, fresh[i]));
        at = to;
    }
}

typedef struct seen_pairs {
    uint8_t times[WANDERING][WANDERING];
} seen_pairs;

static bool note_pair(void *context, uint32_t i, uint32_t j) {
    ck_assert_uint_gt(i, j);
    ((seen_pairs *)context)->times[i][j]++;
    return true;
}

static const dt_strand *strand_of(const dt_strands *strands, uint32_t item) {
    for (size_t k = 0; k < strands->strands.count; k++)
        if (item - strands->strands.items[k].first < strands->strands.items[k].count) return &strands->strands.items[k];
    return NULL;
}

static dt_box box_of_item(const dt_strands *strands, uint32_t item) {
    const dt_strand_segment *s = &strands->segments.items[item];
    return dt_box_of((dt_path){(const dt_point[2]){s->a, s->b}, 2});
}

static void check_pair(const dt_strands *strands, const seen_pairs *seen, uint32_t i, uint32_t j, double reach) {
    const dt_strand *one = strand_of(strands, i), *other = strand_of(strands, j);
    bool near = dt_box_meets(dt_box_grown(box_of_item(strands, i), reach), box_of_item(strands, j));
    bool wanted = near && one != other && (one->fresh || other->fresh);
    ck_assert_uint_eq(seen->times[i][j], wanted);
    if (one != other) return;
    double way = 0.0; /* between the two, along the strand */
    for (uint32_t k = j + 1; k < i; k++) way += dt_point_distance(strands->segments.items[k].a, strands->segments.items[k].b);
    double straight = dt_point_distance(strands->segments.items[j].b, strands->segments.items[i].a);
    ck_assert(way <= sqrt(2.0) * straight + 1e-9);
}

START_TEST(strands_meet_where_their_cuts_do) {
    uint64_t state = 21;
    for (int round = 0; round < 60; round++) {
        bool fresh[WANDERING];
        dt_strands strands = {0};
        seen_pairs seen = {0};
        double reach = round % 3 ? draft_random(&state) : 0.0;
        for (int i = 0; i < WANDERING; i++) fresh[i] = round % 2 || draft_random(&state) < 0.1;
        enter_wandering(&state, &strands, fresh);
        ck_assert(dt_strands_close(&strands));
        ck_assert(dt_strands_join(&strands, reach, UINT64_MAX, note_pair, &seen));
        for (uint32_t i = 0; i < WANDERING; i++)
            for (uint32_t j = 0; j < i; j++) check_pair(&strands, &seen, i, j, reach);
        ck_assert(!dt_strands_join(&strands, reach, 3, note_pair, &seen));
        dt_strands_free(&strands);
    }
}
END_TEST

START_TEST(the_part_beside_a_segment) {
    uint64_t state = 8;
    for (int round = 0; round < 3000; round++) {
        dt_point p = random_real(&state, 4), q = random_real(&state, 4), c = random_real(&state, 4), d = random_real(&state, 4);
        double r = draft_random(&state), from = 2, to = -1;
        bool any = dt_part_beside(p, q, c, d, r, &from, &to);
        for (int k = 0; k <= 40; k++) {
            double t = k / 40.0, distance = dt_segment_distance((dt_point){p.x + t * (q.x - p.x), p.y + t * (q.y - p.y)}, c, d, NULL);
            bool inside = any && t >= from && t <= to;
            ck_assert(inside ? distance <= r + 1e-9 : distance >= r - 1e-9);
        }
    }
}
END_TEST

Suite *suite_lines_known(void);
Suite *suite_lines_known(void) {
    Suite *suite = suite_create("lines_known");
    TCase *tests = tcase_create("all");
    tcase_add_test(tests, regular_polygons_with_all_diagonals);
    tcase_add_test(tests, crossing_circles);
    tcase_add_test(tests, crossing_circles_as_svg_arcs);
    tcase_add_test(tests, a_square_grid_of_long_lines);
    tcase_add_test(tests, noding_agrees_with_geos);
    tcase_add_test(tests, noded_cuts_meet_at_their_ends_only);
    tcase_add_test(tests, the_sweep_finds_the_edge_beside_each_point);
    tcase_add_test(tests, the_grid_misses_nothing_near);
    tcase_add_test(tests, strands_meet_where_their_cuts_do);
    tcase_add_test(tests, the_part_beside_a_segment);
    suite_add_tcase(suite, tests);
    return suite;
}
