/* Laws: moving, turning, mirroring and scaling the draft, shuffling, reversing and splitting its strokes leave the pieces what
 * they are; areas and inscribed circles against GEOS; Euler's formula over seams; noise does not renumber. */
#include "draft.h"
#include "geos_piece.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PI 3.14159265358979323846

typedef struct result {
    dt_net *net;
    dt_pieces *pieces;
} result;

static result pieces_of(dt_strokes strokes) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_error error = {0};
    result r = {NULL, NULL};
    ck_assert_msg(dt_net_new(strokes, &settings, &r.net, &error) == DT_OK, "%s", error.message);
    ck_assert_msg(dt_pieces_new(r.net, strokes, &settings, &r.pieces, &error) == DT_OK, "%s", error.message);
    const char *wrong = dt_pieces_check(r.pieces);
    ck_assert_msg(!wrong, "%s", wrong);
    return r;
}

static void end(result r) {
    dt_pieces_free(r.pieces);
    dt_net_free(r.net);
}

static const dt_piece *piece(const dt_pieces *pieces, uint32_t i) {
    return dt_pieces_get(pieces, (dt_piece_id){i});
}

/* A knobbed sheet with a figure on a junction, an islet in a piece, a void and, beside it, a second puzzle. */
static draft *rich_draft(unsigned seed, bool alike) {
    draft *d = draft_new();
    draft_knobbed_sheet(d, 4, 5, 24, seed, alike);
    draft_circle(d, 24, 24, 4.5);
    draft_circle(d, 60, 60, 3);
    draft_layer(d, "void", DT_ROLE_VOID);
    draft_circle(d, 96, 48, 4);
    draft_layer(d, NULL, DT_ROLE_CUT);
    draft_rectangle(d, 140, 3, 30, 50);
    draft_knob(d, (dt_point){140, 25}, (dt_point){170, 29}, 1, (const double[]){0.4, 0.5, 0.6, 0.5, 0.3, 0.7});
    return d;
}

/* ---- what must stay ---- */

typedef struct figure {
    double area, perimeter, inradius, length, width, neck;
    int flags;
} figure;

static int compare_areas(const void *left, const void *right) {
    const figure *a = left, *b = right;
    return (a->area > b->area) - (a->area < b->area);
}

static figure *figures_of(const dt_pieces *pieces) {
    size_t count = dt_pieces_count(pieces);
    figure *list = calloc(count, sizeof *list);
    for (uint32_t i = 0; i < count; i++) {
        const dt_piece *p = piece(pieces, i);
        list[i] = (figure){p->area_mm2, p->perimeter_mm, p->inradius_mm, p->length_mm, p->width_mm, p->neck.width_mm,
                           p->edge + 2 * p->corner + 4 * p->whimsy + 8 * (int)p->hole_count + 64 * (int)p->side_count};
    }
    return list;
}

static void assert_close(double a, double b, double tolerance) {
    if (a == b) return; /* both infinite */
    ck_assert_double_eq_tol(a, b, tolerance);
}

/* b is a drawn `scale` times as large; lengths agree within tolerance mm. */
static void assert_same(const dt_pieces *a, const dt_pieces *b, double scale, double tolerance, bool in_order) {
    ck_assert_uint_eq(dt_pieces_count(a), dt_pieces_count(b));
    ck_assert_uint_eq(dt_pieces_seam_count(a), dt_pieces_seam_count(b));
    ck_assert_uint_eq(dt_pieces_void_count(a), dt_pieces_void_count(b));
    ck_assert_uint_eq(dt_pieces_puzzle_count(a), dt_pieces_puzzle_count(b));
    ck_assert_uint_eq(dt_pieces_whimsy_count(a), dt_pieces_whimsy_count(b));
    ck_assert_uint_eq(dt_pieces_tray_count(a), dt_pieces_tray_count(b));
    size_t count = dt_pieces_count(a);
    figure *x = figures_of(a), *y = figures_of(b);
    if (!in_order) {
        qsort(x, count, sizeof *x, compare_areas);
        qsort(y, count, sizeof *y, compare_areas);
    }
    for (size_t i = 0; i < count; i++) {
        assert_close(x[i].area * scale * scale, y[i].area, tolerance * y[i].perimeter);
        assert_close(x[i].perimeter * scale, y[i].perimeter, 20 * tolerance);
        /* Of two rectangles with nearly the same area either may be the least. */
        assert_close(x[i].length * x[i].width * scale * scale, y[i].length * y[i].width, tolerance * y[i].perimeter);
        assert_close(x[i].neck * scale, y[i].neck, 4 * tolerance);
        assert_close(x[i].inradius * scale, y[i].inradius, 2 * tolerance + 0.012 * y[i].inradius);
        ck_assert_int_eq(x[i].flags, y[i].flags);
    }
    free(x);
    free(y);
}

/* Curves are written anew after each motion, on a grid of 0.001 mm, within 0.01 mm when the size changes. */
#define REGRID_MM 0.002
#define REFLATTEN_MM 0.012

START_TEST(motions_change_nothing) {
    unsigned seed = (unsigned)_i;
    draft *still = rich_draft(seed, false), *moved = rich_draft(seed, false);
    uint64_t state = seed + 50;
    double turn = 360 * draft_random(&state) - 180;
    double scale = _i % 3 == 0 ? 1.0 : 0.8 + 1.5 * draft_random(&state);
    dt_pose pose = dt_pose_about(turn, _i % 2, (dt_point){10, 20}, (dt_point){200 * draft_random(&state), -75.3});
    draft_transform(moved, pose, scale);
    result a = pieces_of(draft_strokes(still, 0.01)), b = pieces_of(draft_strokes(moved, 0.01));
    assert_same(a.pieces, b.pieces, scale, scale == 1.0 ? REGRID_MM : REFLATTEN_MM * scale, false);
    end(a);
    end(b);
    draft_free(still);
    draft_free(moved);
}
END_TEST

/* ---- strokes in another order, direction, number ---- */

typedef struct scrambled {
    dt_stroke *strokes;
    size_t count;
    dt_point *points;
    size_t used;
} scrambled;

static void add_part(scrambled *s, const dt_stroke *from, size_t first, size_t count, bool closed, bool reversed) {
    dt_point *to = s->points + s->used;
    for (size_t i = 0; i < count; i++)
        to[i] = from->path.points[(first + (reversed ? count - 1 - i : i)) % from->path.count];
    dt_stroke stroke = *from;
    stroke.path = (dt_path){to, count};
    stroke.closed = closed;
    s->strokes[s->count++] = stroke;
    s->used += count;
}

/* Every closed stroke starts elsewhere and every other one of the border's kind is cut in two; open ones are cut in two; all in random
 * order, half of them reversed. Whimsies and voids stay closed, or they would be none. */
static scrambled scramble(dt_strokes strokes, uint64_t *state) {
    size_t points = 0;
    for (size_t i = 0; i < strokes.count; i++) points += strokes.strokes[i].path.count;
    scrambled s = {calloc(2 * strokes.count, sizeof(dt_stroke)), 0, calloc(2 * points + 2 * strokes.count, sizeof(dt_point)), 0};
    for (size_t i = 0; i < strokes.count; i++) {
        const dt_stroke *from = &strokes.strokes[i];
        size_t n = from->path.count, cut = 1 + (size_t)(draft_random(state) * (double)(n - 2));
        bool reversed = draft_random(state) < 0.5;
        if (from->closed) {
            add_part(&s, from, cut, n, true, reversed);
            continue;
        }
        add_part(&s, from, 0, cut + 1, false, reversed);
        add_part(&s, from, cut, n - cut, false, !reversed);
    }
    for (size_t i = s.count; i > 1; i--) {
        size_t k = (size_t)(draft_random(state) * (double)i);
        dt_stroke moved = s.strokes[i - 1];
        s.strokes[i - 1] = s.strokes[k];
        s.strokes[k] = moved;
    }
    return s;
}

START_TEST(strokes_in_any_order_direction_and_number) {
    draft *d = rich_draft((unsigned)_i, _i % 2);
    uint64_t state = (uint64_t)_i + 9;
    dt_strokes strokes = draft_strokes(d, 0.01);
    scrambled s = scramble(strokes, &state);
    result a = pieces_of(strokes), b = pieces_of((dt_strokes){s.strokes, s.count, NULL, 0});
    assert_same(a.pieces, b.pieces, 1.0, REGRID_MM, true); /* numbers too */
    end(a);
    end(b);
    free(s.strokes);
    free(s.points);
    draft_free(d);
}
END_TEST

START_TEST(noise_does_not_renumber) {
    for (int straight = 0; straight < 2; straight++) {
        draft *d = draft_new();
        if (straight) draft_straight_sheet(d, 6, 7, 20, 10);
        else draft_knobbed_sheet(d, 6, 7, 20, (unsigned)_i, _i % 2);
        dt_strokes strokes = draft_strokes(d, 0.01);
        uint64_t state = (uint64_t)_i;
        scrambled s = {calloc(strokes.count, sizeof(dt_stroke)), strokes.count, NULL, 0};
        size_t points = 0;
        for (size_t i = 0; i < strokes.count; i++) points += strokes.strokes[i].path.count;
        s.points = calloc(points, sizeof(dt_point));
        for (size_t i = 0; i < strokes.count; i++) {
            s.strokes[i] = strokes.strokes[i];
            s.strokes[i].path.points = s.points + s.used;
            for (size_t k = 0; k < s.strokes[i].path.count; k++) {
                dt_point p = strokes.strokes[i].path.points[k];
                s.points[s.used++] = (dt_point){p.x + 2e-3 * (draft_random(&state) - 0.5), p.y + 2e-3 * (draft_random(&state) - 0.5)};
            }
        }
        result a = pieces_of(strokes), b = pieces_of((dt_strokes){s.strokes, s.count, NULL, 0});
        ck_assert_uint_eq(dt_pieces_count(a.pieces), dt_pieces_count(b.pieces));
        for (uint32_t i = 0; i < dt_pieces_count(a.pieces); i++)
            ck_assert_double_lt(dt_point_distance(dt_path_centroid(piece(a.pieces, i)->outline),
                                                  dt_path_centroid(piece(b.pieces, i)->outline)), 0.1);
        end(a);
        end(b);
        free(s.strokes);
        free(s.points);
        draft_free(d);
    }
}
END_TEST

/* ---- against GEOS ---- */

START_TEST(geos_finds_the_same_areas_lengths_and_circles) {
    draft *d = rich_draft((unsigned)_i, _i % 2);
    result a = pieces_of(draft_strokes(d, 0.01));
    GEOSContextHandle_t g = geos_quiet();
    for (uint32_t i = 0; i < dt_pieces_count(a.pieces); i++) {
        const dt_piece *p = piece(a.pieces, i);
        GEOSGeometry *polygon = geos_piece(g, p);
        ck_assert_int_eq(GEOSisValid_r(g, polygon), 1);
        double area = 0, length = 0, radius = 0;
        GEOSArea_r(g, polygon, &area);
        GEOSLength_r(g, polygon, &length);
        ck_assert_double_eq_tol(p->area_mm2, area, 1e-9 * area);
        ck_assert_double_eq_tol(p->perimeter_mm, length, 1e-9 * length);
        GEOSGeometry *circle = GEOSMaximumInscribedCircle_r(g, polygon, 0.005); /* a line from its centre to its rim */
        GEOSLength_r(g, circle, &radius);
        ck_assert_double_eq_tol(p->inradius_mm, radius, fmax(0.015, 0.01 * radius));
        GEOSGeometry *inside = GEOSGeom_createPointFromXY_r(g, p->inside.x, p->inside.y);
        ck_assert_int_eq(GEOSContains_r(g, polygon, inside), 1);
        GEOSGeom_destroy_r(g, inside);
        GEOSGeom_destroy_r(g, circle);
        GEOSGeom_destroy_r(g, polygon);
    }
    GEOS_finish_r(g);
    end(a);
    draft_free(d);
}
END_TEST

/* ---- Euler ---- */

static uint32_t root_of(uint32_t *parent, uint32_t i) {
    while (parent[i] != i) i = parent[i];
    return i;
}

/* V - E + F = 1 + C over junctions, seams, pieces and the outside (no void here, whose border to the outside is no seam). */
START_TEST(eulers_formula_over_seams) {
    draft *d = draft_new();
    draft_knobbed_sheet(d, 3 + (unsigned)_i, 4, 20, (unsigned)_i, false);
    draft_circle(d, 30, 30, 3);
    draft_circle(d, -20, 5, 6);
    result a = pieces_of(draft_strokes(d, 0.01));
    size_t nodes = dt_net_node_count(a.net), vertices = 0, parts = 0;
    uint32_t *parent = calloc(nodes, sizeof *parent);
    bool *used = calloc(nodes, sizeof *used);
    for (uint32_t i = 0; i < nodes; i++) parent[i] = i;
    for (uint32_t i = 0; i < dt_pieces_seam_count(a.pieces); i++) {
        const dt_seam *seam = dt_pieces_seam(a.pieces, (dt_seam_id){i});
        used[seam->from] = used[seam->to] = true;
        parent[root_of(parent, seam->from)] = root_of(parent, seam->to);
    }
    for (uint32_t i = 0; i < nodes; i++) {
        vertices += used[i];
        parts += used[i] && root_of(parent, i) == i;
    }
    size_t faces = dt_pieces_count(a.pieces) + 1;
    ck_assert_uint_eq(vertices + faces, dt_pieces_seam_count(a.pieces) + 1 + parts);
    ck_assert_uint_ge(parts, 2);
    free(parent);
    free(used);
    end(a);
    draft_free(d);
}
END_TEST

/* The smallest rectangle over directions a hundredth of a degree apart is no smaller, and nearly as small. */
START_TEST(the_smallest_rectangle_is_the_smallest) {
    draft *d = draft_new();
    draft_knobbed_sheet(d, 1, 3, 20, (unsigned)_i, false);
    const dt_point triangle[] = {{80, 0}, {110, 3}, {93, 19}};
    draft_polyline(d, triangle, 3, true);
    result a = pieces_of(draft_strokes(d, 0.01));
    for (uint32_t i = 0; i < dt_pieces_count(a.pieces); i++) {
        const dt_piece *p = piece(a.pieces, i);
        double least = INFINITY;
        for (int k = 0; k < 9000; k++) {
            double c = cos(k * PI / 18000), s = sin(k * PI / 18000);
            dt_box box = DT_BOX_EMPTY;
            for (size_t j = 0; j < p->outline.count; j++) {
                dt_point q = p->outline.points[j], r = {c * q.x + s * q.y, c * q.y - s * q.x};
                box = dt_box_join(box, (dt_box){r, r});
            }
            least = fmin(least, (box.high.x - box.low.x) * (box.high.y - box.low.y));
        }
        double area = p->length_mm * p->width_mm;
        ck_assert_double_le(area, least * (1 + 2e-4));
        ck_assert_double_ge(area, least * (1 - 2e-3));
    }
    end(a);
    draft_free(d);
}
END_TEST

/* 100 pieces repay several threads. */
START_TEST(threads_change_nothing) {
    draft *d = draft_new();
    draft_knobbed_sheet(d, 10, 10, 22, 3, false);
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_net *nets[2];
    dt_pieces *drawn[2];
    for (int i = 0; i < 2; i++) {
        settings.threads = i ? 3 : 1;
        drawn[i] = draft_pieces(d, &settings, &nets[i]);
    }
    ck_assert_uint_eq(dt_pieces_count(drawn[0]), 100);
    for (uint32_t p = 0; p < 100; p++) {
        const dt_piece *one = dt_pieces_get(drawn[0], (dt_piece_id){p}), *three = dt_pieces_get(drawn[1], (dt_piece_id){p});
        ck_assert_double_eq(one->neck.width_mm, three->neck.width_mm);
        ck_assert_double_eq(one->inradius_mm, three->inradius_mm);
        ck_assert_double_eq(one->length_mm, three->length_mm);
        ck_assert(one->inside.x == three->inside.x && one->inside.y == three->inside.y && one->small_part == three->small_part);
    }
    for (int i = 0; i < 2; i++) {
        dt_pieces_free(drawn[i]);
        dt_net_free(nets[i]);
    }
    draft_free(d);
}
END_TEST

Suite *suite_pieces_laws(void);
Suite *suite_pieces_laws(void) {
    Suite *suite = suite_create("pieces_laws");
    TCase *cases = tcase_create("pieces_laws");
    tcase_add_loop_test(cases, motions_change_nothing, 0, 12);
    tcase_add_loop_test(cases, strokes_in_any_order_direction_and_number, 0, 8);
    tcase_add_loop_test(cases, noise_does_not_renumber, 0, 6);
    tcase_add_loop_test(cases, geos_finds_the_same_areas_lengths_and_circles, 0, 2);
    tcase_add_loop_test(cases, eulers_formula_over_seams, 0, 4);
    tcase_add_loop_test(cases, the_smallest_rectangle_is_the_smallest, 0, 1);
    tcase_add_test(cases, threads_change_nothing);
    suite_add_tcase(suite, cases);
    return suite;
}
