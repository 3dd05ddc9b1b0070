/* Strokes to faces: counts that are known. */
#include "draft.h"

#include <check.h>
#include <math.h>

static dt_net *net_of(draft *d) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_net *net = NULL;
    dt_error error = {0};
    dt_status status = dt_net_new(draft_strokes(d, 0.01), &settings, &net, &error);
    ck_assert_msg(status == DT_OK, "%s", error.message);
    const char *broken = dt_net_check(net);
    ck_assert_msg(broken == NULL, "%s", broken);
    return net;
}

static void expect_faces(draft *d, size_t faces) {
    dt_net *net = net_of(d);
    ck_assert_uint_eq(dt_net_face_count(net), faces);
    dt_net_free(net);
    draft_free(d);
}

START_TEST(a_straight_sheet_has_its_faces) {
    draft *d = draft_new();
    draft_straight_sheet(d, 3, 4, 10, 20);
    dt_net *net = net_of(d);
    ck_assert_uint_eq(dt_net_face_count(net), 12);
    ck_assert_uint_eq(dt_net_node_count(net), 16); /* 2 + 3 + 2 + 3 on the border, 6 inside: the four corners are no nodes */
    for (size_t f = 0; f < 12; f++) ck_assert_double_eq_tol(dt_net_face(net, f)->area, 200.0, 1e-9);
    ck_assert_double_eq_tol(dt_net_cut_length(net), 2 * (40 + 60) + 2 * 40 + 3 * 60, 1e-9);
    dt_net_free(net);
    draft_free(d);
}
END_TEST

START_TEST(a_knobbed_sheet_has_its_faces) {
    draft *d = draft_new();
    draft_knobbed_sheet(d, 7, 9, 20, 3, false);
    expect_faces(d, 63);
}
END_TEST

START_TEST(rings_lie_in_the_face_around_them) {
    draft *d = draft_new();
    draft_rectangle(d, 0, 0, 50, 50);
    draft_circle(d, 25, 25, 20);
    draft_circle(d, 25, 25, 10);
    draft_circle(d, 80, 25, 10);
    dt_net *net = net_of(d);
    ck_assert_uint_eq(dt_net_face_count(net), 4);
    double sum = 0.0;
    size_t holes = 0;
    for (size_t f = 0; f < 4; f++) {
        sum += dt_net_face(net, f)->area;
        holes += dt_net_face(net, f)->hole_count;
    }
    ck_assert_uint_eq(holes, 2);
    ck_assert_double_eq_tol(sum, 2500 + 3.14159265 * 100, 0.5);
    dt_net_free(net);
    draft_free(d);
}
END_TEST

START_TEST(dangles_and_bridges_bound_nothing) {
    draft *d = draft_new();
    draft_rectangle(d, 0, 0, 50, 50);
    draft_rectangle(d, 20, 20, 10, 10);
    draft_segment(d, 0, 25, 20, 25);
    draft_segment(d, 40, 40, 60, 60);
    expect_faces(d, 2);
}
END_TEST

/* Lines that share points halfway between two grid points: a line must not come apart there because its two stretches round the point
 * differently (it did: a crossing of corpus/knobbed-5000.svg was lost). */
START_TEST(points_between_grid_points_stay_one) {
    enum { LINES = 60 };
    draft *d = draft_new();
    uint64_t state = 9;
    dt_point at[LINES + 2][LINES + 2];
    for (int r = 0; r < LINES + 2; r++)
        for (int c = 0; c < LINES + 2; c++) {
            bool inner = r > 0 && c > 0 && r <= LINES && c <= LINES;
            double dx = inner ? floor(3000 * draft_random(&state)) / 1000 + 0.0005 : 0.0;
            double dy = inner ? floor(3000 * draft_random(&state)) / 1000 + 0.0005 : 0.0;
            at[r][c] = (dt_point){17.0 * c + dx, 17.0 * r + dy};
        }
    draft_rectangle(d, 0, 0, 17.0 * (LINES + 1), 17.0 * (LINES + 1));
    for (int i = 1; i <= LINES; i++) {
        dt_point down[LINES + 2];
        for (int j = 0; j < LINES + 2; j++) down[j] = at[j][i];
        draft_polyline(d, at[i], LINES + 2, false);
        draft_polyline(d, down, LINES + 2, false);
    }
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_net *net = NULL;
    ck_assert_int_eq(dt_net_new(draft_strokes(d, 0.01), &settings, &net, NULL), DT_OK);
    ck_assert_ptr_null(dt_net_check(net));
    ck_assert_uint_eq(dt_net_face_count(net), (LINES + 1) * (LINES + 1));
    ck_assert_uint_eq(dt_net_fault_count(net), 0);
    dt_net_free(net);
    draft_free(d);
}
END_TEST

Suite *suite_lines_faces(void);
Suite *suite_lines_faces(void) {
    Suite *suite = suite_create("lines_faces");
    TCase *tests = tcase_create("all");
    tcase_add_test(tests, a_straight_sheet_has_its_faces);
    tcase_add_test(tests, a_knobbed_sheet_has_its_faces);
    tcase_add_test(tests, rings_lie_in_the_face_around_them);
    tcase_add_test(tests, dangles_and_bridges_bound_nothing);
    tcase_add_test(tests, points_between_grid_points_stay_one);
    suite_add_tcase(suite, tests);
    return suite;
}
