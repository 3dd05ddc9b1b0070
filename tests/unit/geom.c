/* Units of src/geom: poses form a group, areas and turns have the signs that geom.h says, orientation is exact. */
#include <check.h>
#include <dovetell/faults.h>
#include <math.h>
#include <stdlib.h>

static double uniform(unsigned *seed) {
    *seed = *seed * 1664525u + 1013904223u;
    return (double)(*seed >> 8) / (double)(1u << 24) * 200.0 - 100.0;
}

static dt_pose random_pose(unsigned *seed) {
    double angle = uniform(seed);
    return (dt_pose){cos(angle), sin(angle), {uniform(seed), uniform(seed)}, uniform(seed) > 0.0};
}

static void assert_near(dt_point a, dt_point b) {
    ck_assert_double_lt(dt_point_distance(a, b), 1e-9);
}

START_TEST(poses_compose_and_invert) {
    unsigned seed = 7;
    for (int i = 0; i < 200; i++) {
        dt_pose a = random_pose(&seed), b = random_pose(&seed);
        dt_point p = {uniform(&seed), uniform(&seed)};
        assert_near(dt_pose_apply(dt_pose_compose(a, b), p), dt_pose_apply(a, dt_pose_apply(b, p)));
        assert_near(dt_pose_apply(dt_pose_inverse(a), dt_pose_apply(a, p)), p);
        assert_near(dt_pose_apply(a, dt_pose_apply(dt_pose_inverse(a), p)), p);
    }
}
END_TEST

START_TEST(a_positive_turn_is_counter_clockwise_as_seen) {
    dt_pose pose = dt_pose_about(90.0, false, (dt_point){0, 0}, (dt_point){5, 5});
    assert_near(dt_pose_apply(pose, (dt_point){1, 0}), (dt_point){5, 4}); /* right becomes up, and y runs down */
    ck_assert_double_eq_tol(dt_pose_turn(pose), 90.0, 1e-12);
    ck_assert_double_eq_tol(dt_pose_turn(dt_pose_about(-180.0, true, (dt_point){1, 2}, (dt_point){3, 4})), 180.0, 1e-12);
}
END_TEST

START_TEST(areas_lengths_and_centroids) {
    const dt_point corners[] = {{0, 0}, {4, 0}, {4, 2}, {0, 2}};
    dt_path square = {corners, 4};
    ck_assert_double_eq(dt_path_area(square), 8.0);
    ck_assert_double_eq(dt_path_perimeter(square), 12.0);
    ck_assert_double_eq(dt_path_length(square), 10.0);
    assert_near(dt_path_centroid(square), (dt_point){2, 1});
    ck_assert(dt_path_contains(square, (dt_point){1, 1}) && !dt_path_contains(square, (dt_point){5, 1}));
    ck_assert_double_eq(dt_path_distance(square, false, (dt_point){-1, 1}), sqrt(2.0));
    ck_assert_double_eq(dt_path_distance(square, true, (dt_point){-1, 1}), 1.0);
    ck_assert(dt_box_is_empty(dt_box_of((dt_path){NULL, 0})));
}
END_TEST

/* Long double has 64 bits of mantissa here: products of 24-bit integers are exact in it. */
START_TEST(orientation_is_exact_near_a_line) {
    unsigned seed = 11;
    int zeros = 0;
    for (int i = 0; i < 20000; i++) {
        double step = ldexp(1.0, -20);
        dt_point a = {0.5 + (double)(rand_r(&seed) % 64) * step, 0.5 + (double)(rand_r(&seed) % 64) * step};
        dt_point b = {12.0, 12.0}, c = {24.0, 24.0};
        long double det = ((long double)a.x - (long double)c.x) * ((long double)b.y - (long double)c.y) -
                          ((long double)a.y - (long double)c.y) * ((long double)b.x - (long double)c.x);
        int sign = (det > 0) - (det < 0);
        ck_assert_int_eq(dt_orientation(a, b, c), sign);
        ck_assert_int_eq(dt_orientation(b, a, c), -sign);
        ck_assert_int_eq(dt_orientation(b, c, a), sign);
        zeros += sign == 0;
    }
    ck_assert_int_gt(zeros, 0);
    ck_assert_int_eq(dt_orientation((dt_point){0, 0}, (dt_point){1, 0}, (dt_point){0, 1}), 1);
}
END_TEST

START_TEST(faults_are_sorted_worst_first) {
    dt_fault faults[] = {{.kind = DT_FAULT_TAIL, .size_mm = 2}, {.kind = DT_FAULT_THIN_NECK, .size_mm = 1.5},
                         {.kind = DT_FAULT_GAP, .size_mm = 0.1}, {.kind = DT_FAULT_THIN_NECK, .size_mm = 0.5},
                         {.kind = DT_FAULT_GAP, .size_mm = 0.2}};
    qsort(faults, 5, sizeof *faults, dt_fault_compare);
    const double sizes[] = {0.2, 0.1, 0.5, 1.5, 2};
    for (int i = 0; i < 5; i++) ck_assert_double_eq(faults[i].size_mm, sizes[i]);
    ck_assert_str_eq(dt_fault_key(DT_FAULT_CLOSE_CUTS), "close_cuts");
}
END_TEST

Suite *suite_geom(void);
Suite *suite_geom(void) {
    Suite *suite = suite_create("geom");
    TCase *cases = tcase_create("geom");
    tcase_add_test(cases, poses_compose_and_invert);
    tcase_add_test(cases, a_positive_turn_is_counter_clockwise_as_seen);
    tcase_add_test(cases, areas_lengths_and_centroids);
    tcase_add_test(cases, orientation_is_exact_near_a_line);
    tcase_add_test(cases, faults_are_sorted_worst_first);
    suite_add_tcase(suite, cases);
    return suite;
}
