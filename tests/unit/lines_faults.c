/* Single faults with their place and size, and the sentences where nothing closes. */
#include "draft.h"
#include "stroke_list.h"

#include <check.h>
#include <math.h>
#include <string.h>

static const dt_settings SETTINGS = DT_SETTINGS_DEFAULT;

static draft *sheet(void) {
    draft *d = draft_new();
    draft_straight_sheet(d, 3, 3, 20, 20);
    return d;
}

static dt_net *net_of(draft *d, size_t faces, size_t faults) {
    dt_net *net = checked_net(draft_strokes(d, 0.01), &SETTINGS);
    draft_free(d);
    ck_assert_uint_eq(dt_net_face_count(net), faces);
    ck_assert_uint_eq(dt_net_fault_count(net), faults);
    return net;
}

static void expect_one(draft *d, size_t faces, dt_fault_kind kind, double size) {
    dt_net *net = net_of(d, faces, 1);
    ck_assert_int_eq(dt_net_fault(net, 0)->kind, kind);
    ck_assert_double_eq_tol(dt_net_fault(net, 0)->size_mm, size, 2e-3);
    dt_net_free(net);
}

static draft *with_segment(double x1, double y1, double x2, double y2) {
    draft *d = sheet();
    draft_segment(d, x1, y1, x2, y2);
    return d;
}

START_TEST(one_fault_each) {
    expect_one(with_segment(20, 10, 25, 10), 9, DT_FAULT_STRAY, 5);
    expect_one(with_segment(20, 10, 22, 10), 9, DT_FAULT_TAIL, 2);
    expect_one(with_segment(20.03, 5, 20.03, 13), 9, DT_FAULT_DOUBLED, 8);
    expect_one(with_segment(20.1, 0, 20.1, 20), 9, DT_FAULT_SLIVER, 0.1);
    expect_one(with_segment(20.3, 0, 20.3, 20), 10, DT_FAULT_CLOSE_CUTS, 0.3);
    expect_one(with_segment(10, 0, 10, 19.9), 10, DT_FAULT_GAP, 0.1);
    expect_one(with_segment(10, 0, 10, 19.98), 10, DT_FAULT_GAP, 0.02);
}
END_TEST

/* A copy of part of a circle, shifted so that it lies 27 micrometres off where it begins and 25 or less along most of its way. It is doubled
 * from end to end, and neither end is a gap. */
START_TEST(a_copy_that_drifts_is_doubled_to_its_ends) {
    enum { STEPS = 73 };
    dt_point copy[STEPS + 1];
    for (int i = 0; i <= STEPS; i++) {
        double turn = (47 + i) * 3.14159265358979323846 / 180;
        copy[i] = (dt_point){20.04 + 20 * cos(turn), 20 + 20 * sin(turn)};
    }
    for (int order = 0; order < 2; order++) {
        draft *d = draft_new();
        if (order) draft_circle(d, 20, 20, 20);
        draft_polyline(d, copy, STEPS + 1, false);
        if (!order) draft_circle(d, 20, 20, 20);
        dt_net *net = net_of(d, 1, 1);
        ck_assert_int_eq(dt_net_fault(net, 0)->kind, DT_FAULT_DOUBLED);
        ck_assert_double_eq_tol(dt_net_fault(net, 0)->size_mm, 20 * STEPS * 3.14159265358979323846 / 180, 0.1);
        dt_net_free(net);
    }
}
END_TEST

/* Exactly the join distance, at slants at which rounding makes it a little wider. */
START_TEST(a_gap_as_wide_as_the_join_distance) {
    for (int i = 0; i < 90; i++) {
        double turn = i * 3.14159265358979323846 / 180, c = cos(turn), s = sin(turn);
        draft *d = draft_new();
        draft_segment(d, 10 - 0.15 * c, 10 - 0.15 * s, 10 - 8 * c, 10 - 8 * s);
        draft_segment(d, 10 + 0.15 * c, 10 + 0.15 * s, 10 + 8 * c, 10 + 8 * s);
        draft_circle(d, 10, 10, 8);
        dt_net_free(net_of(d, 2, 1));
    }
}
END_TEST

/* Out over the border on both sides, shortly and far: where it leaves, and how far it goes. */
START_TEST(a_line_that_crosses_the_outline) {
    dt_net *net = net_of(with_segment(10, -1.5, 10, 67), 12, 2);
    const dt_fault *far = dt_net_fault(net, 0), *near = dt_net_fault(net, 1);
    ck_assert(far->outside && near->outside);
    ck_assert_int_eq(far->kind, DT_FAULT_STRAY);
    ck_assert_int_eq(near->kind, DT_FAULT_TAIL);
    ck_assert_double_eq_tol(far->size_mm, 7, 1e-6);
    ck_assert_double_eq_tol(near->size_mm, 1.5, 1e-6);
    ck_assert_double_eq_tol(dt_point_distance(far->at, (dt_point){10, 60}), 0, 1e-6);
    ck_assert_double_eq_tol(dt_point_distance(near->at, (dt_point){10, 0}), 0, 1e-6);
    ck_assert_double_eq_tol(dt_point_distance(near->other, (dt_point){10, -1.5}), 0, 1e-6);
    dt_net_free(net);
}
END_TEST

/* Two lines end in one point beside a third: no end is loose, and yet two faces would run together. */
static draft *with_corner_beside(double gap) {
    draft *d = draft_new();
    draft_rectangle(d, 0, 0, 40, 30);
    draft_segment(d, 0, 10, 40, 10);
    draft_segment(d, 12, 30, 20, 10 + gap);
    draft_segment(d, 20, 10 + gap, 31, 30);
    return d;
}

START_TEST(a_corner_beside_a_line_is_joined_with_it) {
    const double nothing[] = {0.001, 0.003, 0.008, 0.019};
    for (int i = 0; i < 4; i++) dt_net_free(net_of(with_corner_beside(nothing[i]), 4, 0));
    expect_one(with_corner_beside(0.03), 4, DT_FAULT_GAP, 0.03);
    expect_one(with_corner_beside(0.07), 3, DT_FAULT_CLOSE_CUTS, 0.07);
    draft *d = draft_new();
    const dt_point inner[] = {{20, 0.004}, {39.997, 15}, {20, 29.996}, {0.003, 15}};
    draft_rectangle(d, 0, 0, 40, 30);
    draft_polyline(d, inner, 4, true);
    dt_net_free(net_of(d, 5, 0));
}
END_TEST

static double rounded(double value, double step) {
    return round(value / step) * step;
}

/* The lines of a tangram, turned, and written with two decimals: its corners miss its lines by up to 0.014 mm. */
START_TEST(a_turned_tangram_with_rounded_corners_has_seven_pieces) {
    static const double lines[][4] = {{0, 0, 4, 0}, {4, 0, 4, 4}, {4, 4, 0, 4}, {0, 4, 0, 0}, {4, 0, 0, 4},
                                      {0, 0, 3, 3}, {4, 2, 2, 4}, {3, 1, 4, 2}, {1, 3, 3, 3}};
    for (int turn = 0; turn < 180; turn++) {
        double c = 20 * cos(turn * 0.0349), s = 20 * sin(turn * 0.0349);
        draft *d = draft_new();
        for (int i = 0; i < 9; i++) {
            const double *l = lines[i];
            draft_segment(d, rounded(c * l[0] - s * l[1], 0.01), rounded(s * l[0] + c * l[1], 0.01),
                          rounded(c * l[2] - s * l[3], 0.01), rounded(s * l[2] + c * l[3], 0.01));
        }
        dt_net_free(net_of(d, 7, 0));
    }
}
END_TEST

START_TEST(below_a_fiftieth_of_a_millimetre_nothing_is_said) {
    dt_net_free(net_of(with_segment(10, 0.015, 10.1, 20.015), 10, 0));
}
END_TEST

/* Short and bent: its other end is nearer to the target than the line is long, and yet it is no tail. */
START_TEST(a_short_seam_that_stops_short_is_joined) {
    draft *d = sheet();
    draft_move(d, (dt_point){20, 1});
    draft_cubic(d, (dt_point){20.2, 0.6}, (dt_point){20.2, 0.3}, (dt_point){20.6, 0.012});
    dt_net_free(net_of(d, 10, 0));
}
END_TEST

START_TEST(a_wide_gap_names_the_face_that_two_pieces_became) {
    draft *d = draft_new();
    draft_rectangle(d, 0, 0, 60, 20);
    draft_segment(d, 20, 0, 20, 20);
    draft_segment(d, 40, 0, 40, 9.6);
    draft_segment(d, 40, 10.4, 40, 20);
    dt_net *net = net_of(d, 2, 1);
    const dt_fault *fault = dt_net_fault(net, 0);
    ck_assert_int_eq(fault->kind, DT_FAULT_GAP);
    ck_assert(!fault->mended);
    ck_assert_double_eq_tol(fault->size_mm, 0.8, 1e-9);
    ck_assert_double_eq_tol(dt_net_face(net, fault->pieces[0])->area, 800, 1e-6);
    dt_net_free(net);
}
END_TEST

/* A line in the open whose one end points at another is no seam: closing that gap would close nothing. With both ends it would. */
START_TEST(a_stray_that_points_at_a_line_stays_a_stray) {
    expect_one(with_segment(62, 30, 90, 30), 9, DT_FAULT_STRAY, 28);
    expect_one(with_segment(25, 30, 39.3, 30), 9, DT_FAULT_STRAY, 14.3);
    draft *d = draft_new();
    draft_rectangle(d, 0, 0, 60, 20);
    draft_segment(d, 20, 0, 20, 20);
    draft_segment(d, 40, 0.6, 40, 19.2);
    dt_net *net = net_of(d, 2, 2);
    for (size_t i = 0; i < 2; i++) ck_assert(dt_net_fault(net, i)->kind == DT_FAULT_GAP && !dt_net_fault(net, i)->mended);
    ck_assert_uint_eq(dt_net_loose_count(net), 1);
    ck_assert_double_eq_tol(dt_path_length(dt_net_loose(net, 0)), 18.6, 1e-9);
    dt_net_free(net);
}
END_TEST

START_TEST(an_open_outline_round_closed_figures) {
    const dt_point outline[] = {{0, 0}, {50, 0}, {50, 50}, {0, 50}, {0, 1.3}};
    draft *d = draft_new();
    draft_polyline(d, outline, 5, false);
    draft_circle(d, 25, 25, 8);
    expect_one(d, 1, DT_FAULT_OPEN_OUTLINE, 1.3);
}
END_TEST

static void expect_sentence(draft *d, dt_status status, const char *part) {
    dt_net *net = NULL;
    dt_error error = {0};
    ck_assert_int_eq(dt_net_new(draft_strokes(d, 0.01), &SETTINGS, &net, &error), status);
    ck_assert_ptr_null(net);
    ck_assert_msg(strstr(error.message, part) != NULL, "%s", error.message);
    draft_free(d);
}

START_TEST(sentences_where_nothing_closes) {
    const dt_point outline[] = {{0, 0}, {50, 0}, {50, 50}, {0, 50}, {0, 1.3}};
    draft *d = draft_new();
    draft_polyline(d, outline, 5, false);
    expect_sentence(d, DT_NO_PIECES, "the nearest loose ends are at (0.0, 0.0) and (0.0, 1.3), 1.3 mm apart");
    d = draft_new();
    draft_polyline(d, outline, 4, false);
    draft_segment(d, 0, 50, 0, 49);
    draft_transform(d, DT_POSE_IDENTITY, 3.0);
    expect_sentence(d, DT_NO_PIECES, "147.0 mm apart");
    expect_sentence(draft_new(), DT_NO_PIECES, "no closed pieces here");
    d = draft_new();
    draft_segment(d, 0, 0, 1e7, 0);
    expect_sentence(d, DT_TOO_LARGE, "farther than any laser");
    d = draft_new();
    for (int i = 0; i < 1100; i++) {
        draft_segment(d, 0, i, 1100, i);
        draft_segment(d, i, 0, i, 1100);
    }
    expect_sentence(d, DT_TOO_LARGE, "more than 100000 times");
    d = draft_new();
    draft_straight_sheet(d, 200, 200, 1000, 1000);
    expect_sentence(d, DT_TOO_LARGE, "close round 40000 faces");
}
END_TEST

Suite *suite_lines_faults(void);
Suite *suite_lines_faults(void) {
    Suite *suite = suite_create("lines_faults");
    TCase *tests = tcase_create("all");
    tcase_add_test(tests, one_fault_each);
    tcase_add_test(tests, a_copy_that_drifts_is_doubled_to_its_ends);
    tcase_add_test(tests, a_gap_as_wide_as_the_join_distance);
    tcase_add_test(tests, a_line_that_crosses_the_outline);
    tcase_add_test(tests, a_corner_beside_a_line_is_joined_with_it);
    tcase_add_test(tests, a_turned_tangram_with_rounded_corners_has_seven_pieces);
    tcase_add_test(tests, below_a_fiftieth_of_a_millimetre_nothing_is_said);
    tcase_add_test(tests, a_short_seam_that_stops_short_is_joined);
    tcase_add_test(tests, a_wide_gap_names_the_face_that_two_pieces_became);
    tcase_add_test(tests, a_stray_that_points_at_a_line_stays_a_stray);
    tcase_add_test(tests, an_open_outline_round_closed_figures);
    tcase_add_test(tests, sentences_where_nothing_closes);
    suite_add_tcase(suite, tests);
    return suite;
}
