/* Mismatch of two shapes: against brute force, symmetric, and the same however the shapes are drawn and however they lie. */
#include "draft.h"
#include "fit_brute.h"
#include <check.h>
#include <math.h>

static dt_shape plain(dt_path path) {
    return (dt_shape){path, NULL, 0};
}

static double mismatch(dt_shape a, dt_shape b, bool may_flip) {
    dt_match match;
    ck_assert_int_eq(dt_shape_mismatch(a, b, may_flip, INFINITY, &match), DT_OK);
    return match.mismatch_mm;
}

static dt_path shaken(uint64_t *state, dt_path path, double reach, dt_point *points) {
    for (size_t i = 0; i < path.count; i++)
        points[i] = (dt_point){path.points[i].x + reach * (draft_random(state) - 0.5), path.points[i].y + reach * (draft_random(state) - 0.5)};
    return (dt_path){points, path.count};
}

/* tests/slow/fit_mismatch.c does this for hundreds. */
START_TEST(agrees_with_brute_force) {
    uint64_t state = 5;
    for (int i = 1; i < 3; i++) {
        dt_point p[400], q[400], r[400];
        dt_path a = brute_blob(&state, 12, i % 2, p), b = {r, a.count};
        brute_move(shaken(&state, a, 0.3 * i, q), brute_random_pose(&state, false), r);
        ck_assert_double_eq_tol(mismatch(plain(a), plain(b), false), brute_mismatch(plain(a), plain(b)), 0.005);
    }
}
END_TEST

/* Polygons of which the first fit stopped at 0.431 mm, found by tests/slow; the brute force says 0.4219. */
START_TEST(a_fit_does_not_stop_at_a_corner_of_the_problem) {
    uint64_t state = 101;
    dt_point p[400], q[400], r[400], unused[400];
    dt_path a, b;
    for (int i = 0; i <= 166; i++) {
        a = brute_blob(&state, 12, i % 2, p);
        dt_path hole = brute_blob(&state, 3, i % 4 > 1, unused);
        dt_pose pose = brute_random_pose(&state, false);
        b = (dt_path){r, a.count};
        brute_move(shaken(&state, a, 0.2 * (i % 6), q), pose, r);
        shaken(&state, hole, 0.2 * (i % 6), q);
    }
    ck_assert_double_le(mismatch(plain(a), plain(b), false), 0.4219 + 0.005);
}
END_TEST

START_TEST(the_pose_and_the_place_are_where_the_value_is) {
    uint64_t state = 17;
    for (int i = 0; i < 20; i++) {
        dt_point p[400], q[400], r[400];
        dt_path a = brute_blob(&state, 12, i % 2, p), b = {r, a.count};
        brute_move(shaken(&state, a, 0.5, q), brute_random_pose(&state, i % 4 > 1), r);
        dt_match match;
        ck_assert_int_eq(dt_shape_mismatch(plain(a), plain(b), true, INFINITY, &match), DT_OK);
        ck_assert_double_eq_tol(brute_hausdorff(plain(a), plain(b), match.pose), match.mismatch_mm, 0.005);
        ck_assert_int_eq(match.only_flipped, match.pose.flipped);
        dt_point back = dt_pose_apply(dt_pose_inverse(match.pose), match.differ_at);
        double off = fmax(dt_path_distance(b, true, match.differ_at), dt_path_distance(a, true, back));
        ck_assert_double_eq_tol(off, match.mismatch_mm, 0.002);
    }
}
END_TEST

START_TEST(is_symmetric_and_blind_to_drawing) {
    uint64_t state = 23;
    for (int i = 0; i < 12; i++) {
        dt_point p[400], q[400], r[400], fine[800];
        dt_path a = brute_blob(&state, 12, i % 2, p), b = shaken(&state, a, 0.6, q);
        double value = mismatch(plain(a), plain(b), false);
        ck_assert_double_eq_tol(mismatch(plain(b), plain(a), false), value, 1e-4);
        for (size_t k = 0; k < b.count; k++) { /* starts elsewhere, twice as many points */
            dt_point from = b.points[(k + 3) % b.count], to = b.points[(k + 4) % b.count];
            fine[2 * k] = from;
            fine[2 * k + 1] = (dt_point){0.3 * from.x + 0.7 * to.x, 0.3 * from.y + 0.7 * to.y};
        }
        ck_assert_double_eq_tol(mismatch(plain(a), plain((dt_path){fine, 2 * b.count}), false), value, 0.005);
        dt_path moved = {r, a.count};
        brute_move(a, brute_random_pose(&state, false), r);
        ck_assert_double_eq_tol(mismatch(plain(moved), plain(b), false), value, 0.005);
    }
}
END_TEST

START_TEST(a_flip_counts_only_where_allowed) {
    uint64_t state = 29;
    dt_point p[400], r[400];
    dt_path a = brute_blob(&state, 12, true, p), b = {r, a.count};
    brute_move(a, brute_random_pose(&state, true), r);
    ck_assert_double_gt(mismatch(plain(a), plain(b), false), 0.3);
    ck_assert_double_lt(mismatch(plain(a), plain(b), true), 0.001);
}
END_TEST

START_TEST(holes_count) {
    const dt_point square[] = {{0, 0}, {20, 0}, {20, 20}, {0, 20}};
    dt_point near_hole[] = {{5, 5}, {5, 8}, {8, 8}, {8, 5}}, far_hole[] = {{5.5, 5}, {5.5, 8}, {8.5, 8}, {8.5, 5}};
    dt_path first = {near_hole, 4}, second = {far_hole, 4};
    dt_shape whole = plain((dt_path){square, 4}), a = {whole.outline, &first, 1}, b = {whole.outline, &second, 1};
    /* outlines and holes can share the shift of 0.5 mm: half each */
    ck_assert_double_eq_tol(mismatch(a, b, false), 0.25, 0.005);
    ck_assert(isinf(mismatch(a, whole, false)));
}
END_TEST

START_TEST(beyond_the_limit_is_infinite) {
    uint64_t state = 31;
    for (int i = 0; i < 30; i++) {
        dt_point p[400], q[400];
        dt_path a = brute_blob(&state, 12, i % 2, p), b = shaken(&state, a, 0.1 + 0.1 * i, q);
        double value = mismatch(plain(a), plain(b), false);
        dt_match match;
        ck_assert_int_eq(dt_shape_mismatch(plain(a), plain(b), false, value - 0.005, &match), DT_OK);
        ck_assert(isinf(match.mismatch_mm));
        ck_assert_int_eq(dt_shape_mismatch(plain(a), plain(b), false, value + 0.005, &match), DT_OK);
        ck_assert_double_eq_tol(match.mismatch_mm, value, 0.005);
    }
}
END_TEST

/* A band round the rim of a disc lies close to the disc's outline everywhere, and yet is no disc. */
START_TEST(a_thin_band_is_no_disc) {
    dt_point disc[180], band[358];
    for (int i = 0; i < 180; i++) {
        double w = 2 * 3.14159265358979323846 * i / 180;
        disc[i] = (dt_point){10 * cos(w), 10 * sin(w)};
        if (i < 179) band[i] = disc[i];
        if (i < 179) band[357 - i] = (dt_point){9.8 * cos(w), 9.8 * sin(w)};
    }
    dt_match match;
    ck_assert_int_eq(dt_shape_mismatch(plain((dt_path){disc, 180}), plain((dt_path){band, 358}), false, 1.0, &match), DT_OK);
    ck_assert(isinf(match.mismatch_mm));
}
END_TEST

START_TEST(bad_shapes_are_refused) {
    const dt_point line[] = {{0, 0}, {1, 0}};
    dt_match match;
    dt_shape shape = plain((dt_path){line, 2});
    ck_assert_int_eq(dt_shape_mismatch(shape, shape, false, 1.0, &match), DT_BAD_ARGUMENT);
    const dt_point square[] = {{0, 0}, {20, 0}, {20, 20}, {0, 20}};
    ck_assert_int_eq(dt_shape_mismatch(plain((dt_path){square, 4}), plain((dt_path){square, 4}), false, NAN, &match), DT_BAD_ARGUMENT);
}
END_TEST

Suite *suite_fit_mismatch(void);
Suite *suite_fit_mismatch(void) {
    Suite *suite = suite_create("fit_mismatch");
    TCase *cases = tcase_create("fit_mismatch");
    tcase_add_test(cases, agrees_with_brute_force);
    tcase_add_test(cases, a_fit_does_not_stop_at_a_corner_of_the_problem);
    tcase_add_test(cases, the_pose_and_the_place_are_where_the_value_is);
    tcase_add_test(cases, is_symmetric_and_blind_to_drawing);
    tcase_add_test(cases, a_flip_counts_only_where_allowed);
    tcase_add_test(cases, holes_count);
    tcase_add_test(cases, beyond_the_limit_is_infinite);
    tcase_add_test(cases, a_thin_band_is_no_disc);
    tcase_add_test(cases, bad_shapes_are_refused);
    suite_add_tcase(suite, cases);
    return suite;
}
