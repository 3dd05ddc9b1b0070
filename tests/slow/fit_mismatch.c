/* Mismatch against brute force on hundreds of seeded shapes: straight and curved, with holes, alike and quite unlike. */
#include "draft.h"
#include "fit_brute.h"
#include <check.h>
#include <math.h>

/* How far the best pose of the brute force may itself be from the best there is: its grid closes in to 0.0004 mm, but it tries three
 * turns only, so a smaller value from the library is right as long as the pose really has it. */
static void compare(dt_shape a, dt_shape b, double share) {
    dt_match match;
    ck_assert_int_eq(dt_shape_mismatch(a, b, false, INFINITY, &match), DT_OK);
    ck_assert_double_le(match.mismatch_mm, (1.0 + share) * brute_mismatch(a, b) + 0.005);
    ck_assert_double_eq_tol(brute_hausdorff(a, b, match.pose), match.mismatch_mm, 0.005);
}

static dt_path shaken(uint64_t *state, dt_path path, double reach, dt_point *points) {
    for (size_t i = 0; i < path.count; i++)
        points[i] = (dt_point){path.points[i].x + reach * (draft_random(state) - 0.5), path.points[i].y + reach * (draft_random(state) - 0.5)};
    return (dt_path){points, path.count};
}

START_TEST(near_matches) {
    uint64_t state = 101;
    for (int i = 0; i < 240; i++) {
        dt_point p[400], q[400], r[400], hole_a[400], hole_b[400];
        dt_path a = brute_blob(&state, 12, i % 2, p), b = {r, a.count}, ha = brute_blob(&state, 3, i % 4 > 1, hole_a), hb = {hole_b, ha.count};
        dt_pose pose = brute_random_pose(&state, false);
        double reach = 0.2 * (i % 6);
        brute_move(shaken(&state, a, reach, q), pose, r);
        brute_move(shaken(&state, ha, reach, q), pose, hole_b);
        size_t holes = i % 3 == 0;
        compare((dt_shape){a, &ha, holes}, (dt_shape){b, &hb, holes}, 0.0);
    }
}
END_TEST

/* Here fit.h promises an upper bound only: 2 of the first 24 were found to be 1 and 4 per cent above the best. */
START_TEST(unlike_shapes) {
    uint64_t state = 103;
    for (int i = 0; i < 60; i++) {
        dt_point p[400], q[400];
        dt_path a = brute_blob(&state, 12, i % 2, p), b = brute_blob(&state, 12, i % 3, q);
        compare((dt_shape){a, NULL, 0}, (dt_shape){b, NULL, 0}, 0.1);
    }
}
END_TEST

Suite *suite_fit_mismatch(void);
Suite *suite_fit_mismatch(void) {
    Suite *suite = suite_create("fit_mismatch");
    TCase *cases = tcase_create("fit_mismatch");
    tcase_add_test(cases, near_matches);
    tcase_add_test(cases, unlike_shapes);
    suite_add_tcase(suite, cases);
    return suite;
}
