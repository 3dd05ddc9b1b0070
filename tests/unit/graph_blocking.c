/* Free directions of two pieces by themselves: the cases of "Pulling apart" with known answers. */
#include "graph/blocking.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>

#define NEARLY_NO_KERF 2e-6 /* mm, half of it: what graph.c takes for a kerf of 0 */

#define PATH(array) ((dt_path){(array), sizeof(array) / sizeof *(array)})

/* Points with y up, as in the tables, become a path of the drawing (y down) of positive area. */
static dt_path drawn(const double (*points)[2], size_t count, dt_point *out) {
    for (size_t i = 0; i < count; i++) out[i] = (dt_point){points[count - 1 - i][0], -points[count - 1 - i][1]};
    dt_path path = {out, count};
    ck_assert_double_gt(dt_path_area(path), 0);
    return path;
}

typedef struct freedom {
    bool any;
    double from, to, sum;
} freedom;

static freedom freedom_of(dt_path a, dt_path b, double r) {
    body one, two;
    ck_assert_int_eq(body_new(a, NULL, 0, r, a.points[0], &one), DT_OK);
    ck_assert_int_eq(body_new(b, NULL, 0, r, b.points[0], &two), DT_OK);
    blocking_scratch scratch = {0};
    directions blocked = {0};
    ck_assert_int_eq(blocking_add(&one, &two, &scratch, &blocked), DT_OK);
    arc gap;
    freedom f = {directions_widest_gap(&blocked, &gap), NAN, NAN, directions_gap_degrees(&blocked)};
    if (f.any) f.from = turn_to_degrees(gap.from), f.to = turn_to_degrees(gap.to);
    blocking_scratch_free(&scratch);
    directions_free(&blocked);
    body_free(&one);
    body_free(&two);
    return f;
}

/* A 7 x 7 square in two: the lower piece is given up to its upper border, from (7, 3) to (0, 3); the rest lies above
 * it. The freedom of the lower piece. */
static freedom lower_of_square(const double (*lower)[2], size_t count, double r) {
    dt_point below[16], above[16];
    double upper[16][2] = {{0, 7}};
    size_t n = 1;
    for (size_t i = count; i-- > 2;) upper[n][0] = lower[i][0], upper[n++][1] = lower[i][1];
    upper[n][0] = 7, upper[n++][1] = 7;
    dt_path a = drawn(lower, count, below), b = drawn((const double(*)[2])upper, n, above);
    return freedom_of(b, a, r);
}

#define LOWER(...)                                                                                                     \
    lower_of_square((const double[][2]){__VA_ARGS__}, sizeof((const double[][2]){__VA_ARGS__}) / (2 * sizeof(double)), \
                    r)

/* Own derivation: see the table "Pulling apart" of the outside answers. 270 degrees is straight down as seen. */
START_TEST(one_cut_through_a_square) {
    double r = NEARLY_NO_KERF;
    freedom straight = LOWER({0, 0}, {7, 0}, {7, 3}, {0, 3});
    ck_assert_double_eq_tol(straight.from, 180, 1e-3);
    ck_assert_double_eq_tol(straight.to, 360, 1e-3);
    freedom tab = LOWER({0, 0}, {7, 0}, {7, 3}, {4, 3}, {4, 5}, {3, 5}, {3, 3}, {0, 3});
    ck_assert_double_eq_tol(tab.from, 270, 1e-3);
    ck_assert_double_eq_tol(tab.to, 270, 1e-3);
    ck_assert(
        tab.any &&
        !LOWER({0, 0}, {7, 0}, {7, 3}, {4, 3}, {4, 4}, {5, 4}, {5, 5}, {2, 5}, {2, 4}, {3, 4}, {3, 3}, {0, 3}).any);
    freedom taper = LOWER({0, 0}, {7, 0}, {7, 3}, {5, 3}, {4, 5}, {3, 5}, {2, 3}, {0, 3});
    ck_assert_double_eq_tol(taper.from, 270 - 26.565, 1e-3);
    ck_assert_double_eq_tol(taper.to, 270 + 26.565, 1e-3);
    ck_assert(!LOWER({0, 0}, {7, 0}, {7, 3}, {4, 3}, {5, 5}, {2, 5}, {3, 3}, {0, 3}).any);
}
END_TEST

/* A head that overhangs its stem by u on each side is 1 + 2 u - kerf wide once cut, its mouth 1 + kerf: it comes out
 * straight when u is below the kerf. Own derivation. */
START_TEST(an_undercut_below_the_kerf_does_not_lock) {
    for (double undercut = 0.05; undercut < 0.4; undercut += 0.05) {
        double r = 0.1;
        freedom f = LOWER({0, 0}, {7, 0}, {7, 3}, {4, 3}, {4, 4}, {4 + undercut, 4}, {4 + undercut, 5},
                          {3 - undercut, 5}, {3 - undercut, 4}, {3, 4}, {3, 3}, {0, 3});
        ck_assert_msg(f.any == (undercut < 2 * r - 1e-9), "undercut %g", undercut);
    }
}
END_TEST

/* A straight tab 2 long has the play of a kerf on each side. Once cut, its head's corner stands at (4 - r, 5 - r) and
 * the mouth's at (4 + r, 3 + r): it may leave along the line through both. Own derivation. */
START_TEST(a_tab_may_tilt_within_its_play) {
    double r = 0.1;
    freedom tab = LOWER({0, 0}, {7, 0}, {7, 3}, {4, 3}, {4, 5}, {3, 5}, {3, 3}, {0, 3});
    double tilt = atan(2 * r / (2 - 2 * r)) * 180 / 3.14159265358979323846;
    ck_assert_double_eq_tol(tab.from, 270 - tilt, 1e-7);
    ck_assert_double_eq_tol(tab.to, 270 + tilt, 1e-7);
}
END_TEST

Suite *suite_graph_blocking(void);
Suite *suite_graph_blocking(void) {
    Suite *suite = suite_create("graph_blocking");
    TCase *cases = tcase_create("graph_blocking");
    tcase_add_test(cases, one_cut_through_a_square);
    tcase_add_test(cases, an_undercut_below_the_kerf_does_not_lock);
    tcase_add_test(cases, a_tab_may_tilt_within_its_play);
    suite_add_tcase(suite, cases);
    return suite;
}
