/* Twins, near twins and turners found in drafts. */
#include "draft.h"
#include "fit_brute.h"
#include <check.h>
#include <dovetell/drawing.h>
#include <dovetell/fit.h>
#include <math.h>
#include <stdlib.h>

typedef struct sheet {
    draft *d;
    dt_net *net;
    dt_pieces *pieces;
    dt_fit *fit;
} sheet;

static sheet analyse(draft *d, double kerf, double eye) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.kerf_mm = kerf;
    settings.eye_mm = eye;
    sheet s = {.d = d};
    s.pieces = draft_pieces(d, &settings, &s.net);
    dt_error error = {0};
    ck_assert_msg(dt_fit_new(s.pieces, &settings, NULL, &s.fit, &error) == DT_OK, "%s", error.message);
    return s;
}

static void discard(sheet *s) {
    dt_fit_free(s->fit);
    dt_pieces_free(s->pieces);
    dt_net_free(s->net);
    draft_free(s->d);
}

static const double PI = 3.14159265358979323846;

static void regular(draft *d, int corners, double radius, double inner, double x, double y) {
    dt_point points[64];
    int count = inner > 0 ? 2 * corners : corners;
    for (int i = 0; i < count; i++) {
        double r = inner > 0 && i % 2 ? inner : radius, w = 0.3 + 2 * PI * i / count;
        points[i] = (dt_point){x + r * cos(w), y + r * sin(w)};
    }
    draft_polyline(d, points, (size_t)count, true);
}

static size_t count_ways(const dt_fit *fit, bool flipped) {
    size_t count = 0;
    for (size_t i = 0; i < dt_fit_turner_count(fit); i++) count += dt_fit_turner(fit, i)->only_flipped == flipped;
    return count;
}

/* Symmetry group of the regular n-gon: n turns (n - 1 of them not the drawn one) and n reflections. */
START_TEST(regular_figures_turn_as_geometry_says) {
    for (int n = 3; n <= 8; n++)
        for (int star = 0; star < 2; star++) {
            draft *d = draft_new();
            regular(d, n, 12, star ? 6 : 0, 20, 20);
            sheet s = analyse(d, 0.2, 0.7);
            ck_assert_uint_eq(count_ways(s.fit, false), (size_t)n - 1);
            ck_assert_uint_eq(count_ways(s.fit, true), (size_t)n);
            for (size_t i = 0; i < (size_t)n - 1; i++) {
                double steps = dt_fit_turner(s.fit, i)->turn * n / 360.0;
                ck_assert_double_eq_tol(steps, round(steps), 0.02);
            }
            discard(&s);
        }
}
END_TEST

START_TEST(a_disc_has_any_turn) {
    draft *d = draft_new();
    draft_circle(d, 20, 20, 10);
    sheet s = analyse(d, 0.2, 0.7);
    ck_assert_uint_eq(dt_fit_turner_count(s.fit), 1);
    ck_assert(isnan(dt_fit_turner(s.fit, 0)->turn));
    ck_assert_double_le(dt_fit_turner(s.fit, 0)->mismatch_mm, 0.02);
    discard(&s);
}
END_TEST

static void ellipse(draft *d, double x, double y, double rx, double ry) {
    dt_point points[120];
    for (int i = 0; i < 120; i++) points[i] = (dt_point){x + rx * cos(2 * PI * i / 120), y + ry * sin(2 * PI * i / 120)};
    draft_polyline(d, points, 120, true);
}

START_TEST(an_ellipse_and_a_rectangle_turn_once) {
    for (int which = 0; which < 2; which++) {
        draft *d = draft_new();
        if (which) draft_rectangle(d, 3, 3, 20, 12);
        else ellipse(d, 20, 20, 14, 9);
        sheet s = analyse(d, 0.2, 0.7);
        ck_assert_uint_eq(count_ways(s.fit, false), 1);
        ck_assert_double_eq_tol(fabs(dt_fit_turner(s.fit, 0)->turn), 180.0, 0.5);
        ck_assert_uint_eq(count_ways(s.fit, true), 2);
        discard(&s);
    }
}
END_TEST

/* A rectangle longer than wide by d fits its place when turned a quarter, off by d / 2. */
START_TEST(the_kerf_decides_on_turners) {
    const double differ[] = {0.05, 0.1, 0.15, 0.25, 0.4, 0.8}, kerfs[] = {0.08, 0.2, 0.45};
    for (int i = 0; i < 6; i++)
        for (int k = 0; k < 3; k++) {
            draft *d = draft_new();
            draft_rectangle(d, 3, 3, 20 + 2 * differ[i], 20);
            sheet s = analyse(d, kerfs[k], 0.7);
            ck_assert_uint_eq(count_ways(s.fit, false), differ[i] <= kerfs[k] ? 3 : 1);
            discard(&s);
        }
}
END_TEST

static dt_point turned(dt_point p, double x, double y, double degrees, bool flipped) {
    return dt_pose_apply(dt_pose_about(degrees, flipped, (dt_point){10, 10}, (dt_point){x, y}), p);
}

/* A house with a bump; `bulge` moves its tip out. */
static void house(draft *d, double x, double y, double degrees, bool flipped, double bulge) {
    const dt_point corners[] = {{0, 0}, {14, 0}, {14, 5}, {18 + bulge, 7}, {14, 9}, {14, 20}, {6, 26}, {0, 20}};
    dt_point points[8];
    for (int i = 0; i < 8; i++) points[i] = turned(corners[i], x, y, degrees, flipped);
    draft_polyline(d, points, 8, true);
}

/* Moving the tip of a sharp bump by 2 d makes a mismatch near d (the rest can share), so brackets are wide: the value itself is
 * compared with dt_shape_mismatch, and its side of the kerf with the lists. */
START_TEST(planted_differences_fall_on_the_right_side_of_any_kerf) {
    const double differ[] = {0.05, 0.1, 0.15, 0.25, 0.4, 0.8}, kerfs[] = {0.08, 0.12, 0.2, 0.3, 0.45};
    for (int i = 0; i < 6; i++)
        for (int k = 0; k < 5; k++) {
            draft *d = draft_new();
            house(d, 30, 30, 0, false, 0);
            draft_rectangle(d, 100, 0, 20 + 2 * differ[i], 31);
            draft_rectangle(d, 130, 0, 20, 31);
            house(d, 70, 40, 131, false, 0);
            sheet s = analyse(d, kerfs[k], 2.0);
            bool twin = differ[i] <= kerfs[k];
            ck_assert_uint_eq(dt_fit_twin_count(s.fit), twin ? 2 : 1);
            ck_assert_uint_eq(dt_fit_near_twin_count(s.fit), twin ? 0 : 1);
            const dt_match *m = twin ? dt_fit_twin(s.fit, 1) : dt_fit_near_twin(s.fit, 0);
            if (m->mismatch_mm < 0.01) m = dt_fit_twin(s.fit, 0);
            ck_assert_double_eq_tol(m->mismatch_mm, differ[i], 0.005);
            discard(&s);
        }
}
END_TEST

/* A piece with a knob on the right and a bay below; longer by `more` than 20 mm. */
static void knobbed_slip(draft *d, double x, double more) {
    const double knob[6] = {0.4, 0.6, 0.5, 0.6, 0.3, 0.5}, bay[6] = {0.6, 0.4, 0.6, 0.5, 0.5, 0.4};
    double right = x + 20.0 + more;
    draft_move(d, (dt_point){x, 0});
    draft_line(d, (dt_point){right, 0});
    draft_knob(d, (dt_point){right, 0}, (dt_point){right, 24}, -1, knob);
    draft_line(d, (dt_point){x + 20, 24});
    draft_knob(d, (dt_point){x + 20, 24}, (dt_point){x, 24}, 1, bay);
    draft_close(d);
}

/* Two pieces of a knobbed sheet, alike but that one is longer by 2 d: the best fit shares that. */
START_TEST(planted_differences_of_knobbed_pieces_fall_on_the_right_side_too) {
    const double differ[] = {0.05, 0.1, 0.15, 0.25, 0.4, 0.8}, kerfs[] = {0.08, 0.12, 0.2, 0.3, 0.45};
    for (int i = 0; i < 6; i++)
        for (int k = 0; k < 5; k++) {
            draft *d = draft_new(), *other = draft_new();
            draft_knobbed_sheet(d, 2, 3, 24, 7, false);
            knobbed_slip(other, 100, 0);
            knobbed_slip(other, 150, 2 * differ[i]);
            draft_append(d, other);
            sheet s = analyse(d, kerfs[k], 2.0);
            bool twin = differ[i] <= kerfs[k];
            ck_assert_uint_eq(dt_fit_twin_count(s.fit), twin);
            double least = twin ? dt_fit_twin(s.fit, 0)->mismatch_mm : INFINITY;
            for (size_t n = 0; n < dt_fit_near_twin_count(s.fit); n++) least = fmin(least, dt_fit_near_twin(s.fit, n)->mismatch_mm);
            ck_assert_double_eq_tol(least, differ[i], 0.005);
            draft_free(other);
            discard(&s);
        }
}
END_TEST

/* Four figures of the demo fit their places turned over; the wide one at 0.05 mm was once lost to feet that were not the nearest. */
START_TEST(the_figures_of_the_demo_fit_turned_over) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_drawing *drawing;
    dt_error error = {0};
    dt_net *net;
    dt_pieces *pieces;
    dt_fit *fit;
    ck_assert_msg(dt_drawing_read("corpus/demo/heron-3.svg", &settings, &drawing, &error) == DT_OK, "%s", error.message);
    ck_assert_int_eq(dt_net_new(dt_drawing_strokes(drawing), &settings, &net, &error), DT_OK);
    ck_assert_int_eq(dt_pieces_new(net, dt_drawing_strokes(drawing), &settings, &pieces, &error), DT_OK);
    ck_assert_int_eq(dt_fit_new(pieces, &settings, NULL, &fit, &error), DT_OK);
    ck_assert_uint_eq(count_ways(fit, true), 4);
    dt_fit_free(fit);
    dt_pieces_free(pieces);
    dt_net_free(net);
    dt_drawing_free(drawing);
}
END_TEST

START_TEST(mirrored_pieces_fit_only_when_turned_over) {
    draft *d = draft_new();
    house(d, 30, 30, 20, false, 0);
    house(d, 80, 30, -75, true, 0);
    sheet s = analyse(d, 0.2, 0.7);
    ck_assert_uint_eq(dt_fit_twin_count(s.fit), 1);
    const dt_match *twin = dt_fit_twin(s.fit, 0);
    ck_assert(twin->only_flipped && twin->pose.flipped);
    ck_assert_double_lt(twin->mismatch_mm, 0.01);
    dt_path a = dt_pieces_get(s.pieces, twin->a)->outline, b = dt_pieces_get(s.pieces, twin->b)->outline;
    for (size_t i = 0; i < a.count; i++)
        ck_assert_double_lt(dt_path_distance(b, true, dt_pose_apply(twin->pose, a.points[i])), 0.02);
    discard(&s);
}
END_TEST

START_TEST(alike_sheets_are_all_twins) {
    draft *d = draft_new();
    draft_knobbed_sheet(d, 5, 6, 20, 1, true);
    sheet s = analyse(d, 0.2, 0.7);
    size_t inner = 3 * 4; /* corners differ from each other; each rim is a row of twins */
    ck_assert_uint_ge(dt_fit_twin_count(s.fit), inner * (inner - 1) / 2 + 2 * (4 * 3 / 2 + 3 * 2 / 2));
    for (size_t i = 0; i < dt_fit_twin_count(s.fit); i++) {
        const dt_match *twin = dt_fit_twin(s.fit, i);
        ck_assert_uint_lt(twin->a.v, twin->b.v);
        dt_path a = dt_pieces_get(s.pieces, twin->a)->outline, b = dt_pieces_get(s.pieces, twin->b)->outline;
        ck_assert_double_lt(dt_path_distance(b, true, dt_pose_apply(twin->pose, a.points[7])), 0.02);
    }
    discard(&s);
}
END_TEST

/* Each a little unlike the one before: pairs of all sorts round the eye. */
static void blob_like(draft *d, size_t index, uint64_t *state, const dt_point *shape, size_t count) {
    double middle_x = 60.0 * (double)(index % 6), middle_y = 60.0 * (double)(index / 6);
    dt_point moved[400];
    dt_pose pose = dt_pose_about(360.0 * draft_random(state), index % 3 == 2, (dt_point){0, 0}, (dt_point){middle_x, middle_y});
    double bump = 1.2 * draft_random(state), at = 2 * PI * draft_random(state);
    for (size_t i = 0; i < count; i++) {
        double w = atan2(shape[i].y, shape[i].x) - at, more = bump * (index % 2 ? exp(-8.0 * (1.0 - cos(w))) : cos(2 * w));
        double r = hypot(shape[i].x, shape[i].y);
        dt_point p = {shape[i].x * (1.0 + more / r), shape[i].y * (1.0 + more / r)};
        moved[i] = dt_pose_apply(pose, p);
    }
    draft_polyline(d, moved, count, true);
}

static size_t times_listed(const dt_fit *fit, uint32_t a, uint32_t b) {
    size_t times = 0;
    for (size_t i = 0; i < dt_fit_near_twin_count(fit); i++)
        times += dt_fit_near_twin(fit, i)->a.v == a && dt_fit_near_twin(fit, i)->b.v == b;
    return times;
}

/* Returns the number of near twins. Pairs nearer to the border than the promised accuracy are left out. */
static size_t compare_near_twins(const sheet *s) {
    uint32_t count = (uint32_t)dt_pieces_count(s->pieces);
    size_t near = 0;
    for (uint32_t a = 0; a < count; a++)
        for (uint32_t b = a + 1; b < count; b++) {
            dt_match up, any;
            dt_shape p = dt_piece_shape(dt_pieces_get(s->pieces, (dt_piece_id){a})),
                     q = dt_piece_shape(dt_pieces_get(s->pieces, (dt_piece_id){b}));
            ck_assert_int_eq(dt_shape_mismatch(p, q, false, 2.0, &up), DT_OK);
            ck_assert_int_eq(dt_shape_mismatch(p, q, true, 2.0, &any), DT_OK);
            double value = fmin(up.mismatch_mm, any.mismatch_mm);
            if (fabs(value - 0.2) < 0.005 || fabs(value - 0.7) < 0.005) continue;
            bool is_near = value > 0.2 && value <= 0.7;
            ck_assert_msg(times_listed(s->fit, a, b) == is_near, "pieces %u and %u: %g mm", a, b, value);
            near += is_near;
        }
    return near;
}

/* Near twins come by way of laps (fit/lap.h), which prove nothing: here against the mismatch of every pair. */
START_TEST(near_twins_are_those_of_all_pairs) {
    size_t near = 0;
    for (uint64_t seed = 1; seed <= 4; seed++) {
        uint64_t state = seed;
        dt_point shape[400];
        draft *d = draft_new();
        dt_path path = brute_blob(&state, 16.0, seed % 2, shape);
        for (size_t i = 0; i < 12; i++) blob_like(d, i, &state, shape, path.count);
        sheet s = analyse(d, 0.2, 0.7);
        ck_assert_uint_eq(dt_pieces_count(s.pieces), 12);
        near += compare_near_twins(&s);
        discard(&s);
    }
    ck_assert_uint_gt(near, 40);
}
END_TEST

/* 160 specks of three sides, each hardly different: more pairs than the work that is allowed will fit. Every piece of a hostile file may be a twin of every other;
 * the work ends, and it is said that not all was told. */
START_TEST(thousands_of_twins_end) {
    draft *d = draft_new();
    uint64_t state = 5;
    for (int i = 0; i < 160; i++) {
        double x = 2.0 * (i % 16), y = 2.0 * (i / 16), a = 0.4 + 0.15 * draft_random(&state), b = 0.4 + 0.15 * draft_random(&state);
        draft_polyline(d, (const dt_point[]){{x, y}, {x + a, y}, {x, y + b}}, 3, true);
    }
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_net *net;
    dt_fit *fit;
    dt_pieces *pieces = draft_pieces(d, &settings, &net);
    ck_assert_uint_eq(dt_pieces_count(pieces), 160);
    ck_assert_int_eq(dt_fit_new(pieces, &settings, NULL, &fit, NULL), DT_OK);
    ck_assert_uint_ge(dt_fit_twin_count(fit), 2000);
    ck_assert(!dt_fit_is_whole(fit));
    ck_assert_uint_lt(dt_fit_twin_count(fit), 9000);
    dt_fit_free(fit);
    dt_pieces_free(pieces);
    dt_net_free(net);
    draft_free(d);
}
END_TEST

Suite *suite_fit_doubles(void);
Suite *suite_fit_doubles(void) {
    Suite *suite = suite_create("fit_doubles");
    TCase *cases = tcase_create("fit_doubles");
    tcase_add_test(cases, regular_figures_turn_as_geometry_says);
    tcase_add_test(cases, a_disc_has_any_turn);
    tcase_add_test(cases, an_ellipse_and_a_rectangle_turn_once);
    tcase_add_test(cases, the_kerf_decides_on_turners);
    tcase_add_test(cases, planted_differences_fall_on_the_right_side_of_any_kerf);
    tcase_add_test(cases, planted_differences_of_knobbed_pieces_fall_on_the_right_side_too);
    tcase_add_test(cases, the_figures_of_the_demo_fit_turned_over);
    tcase_add_test(cases, mirrored_pieces_fit_only_when_turned_over);
    tcase_add_test(cases, alike_sheets_are_all_twins);
    tcase_add_test(cases, near_twins_are_those_of_all_pairs);
    tcase_add_test(cases, thousands_of_twins_end);
    suite_add_tcase(suite, cases);
    return suite;
}
