/* Laws: the same lines in another form, place, order or direction give the same faces. */
#include "draft.h"
#include "stroke_list.h"

#include <check.h>
#include <math.h>

static const dt_settings SETTINGS = DT_SETTINGS_DEFAULT;
static const double AREA_SHARE = 1e-3;
/* Outlines up to 0.04 mm from each other round a piece of about 18 mm: each seam is one of the two. */
static const double SHIFTED_SHARE = 5e-3;
/* Points move by up to 0.7 micrometres when they are rounded anew. */
static const double ROUNDING_MM2 = 0.05; /* 0.7 micrometres along the 70 mm round a piece */

static int compare_areas(const void *left, const void *right) {
    double a = *(const double *)left, b = *(const double *)right;
    return (a > b) - (a < b);
}

static double *sorted_areas(const dt_net *net) {
    double *areas = malloc((dt_net_face_count(net) + 1) * sizeof *areas);
    for (size_t f = 0; f < dt_net_face_count(net); f++) areas[f] = dt_net_face(net, f)->area;
    qsort(areas, dt_net_face_count(net), sizeof *areas, compare_areas);
    return areas;
}

static size_t faults_but(const dt_net *net, dt_fault_kind kind) {
    size_t count = 0;
    for (size_t i = 0; i < dt_net_fault_count(net); i++) count += dt_net_fault(net, i)->kind != kind;
    return count;
}

static void assert_same(const dt_net *a, const dt_net *b, double share, const char *what) {
    ck_assert_msg(dt_net_face_count(a) == dt_net_face_count(b), "%s: %zu faces, not %zu", what, dt_net_face_count(b), dt_net_face_count(a));
    ck_assert_msg(dt_net_arc_count(a) == dt_net_arc_count(b), "%s: %zu arcs, not %zu", what, dt_net_arc_count(b), dt_net_arc_count(a));
    ck_assert_msg(fabs(dt_net_cut_length(a) / dt_net_cut_length(b) - 1.0) < share, "%s: cut length", what);
    double *p = sorted_areas(a), *q = sorted_areas(b);
    for (size_t f = 0; f < dt_net_face_count(a); f++) ck_assert_msg(fabs(p[f] - q[f]) <= share * p[f] + ROUNDING_MM2, "%s: area %f, not %f", what, q[f], p[f]);
    free(p);
    free(q);
}

static dt_pose random_pose(uint64_t *state) {
    dt_point from = {100 * draft_random(state), 100 * draft_random(state)}, to = {300 * draft_random(state), 300 * draft_random(state)};
    return dt_pose_about(360 * draft_random(state), draft_random(state) < 0.5, from, to);
}

static dt_net *sheet_net(uint64_t seed) {
    draft *d = draft_new();
    if (seed % 3) draft_knobbed_sheet(d, 4, 5, 20, (unsigned)seed, seed % 4 == 0);
    else draft_straight_sheet(d, 4, 5, 20, 17);
    draft_circle(d, 30, 29, 2.5); /* an island, so that holes are placed too */
    dt_net *net = checked_net(draft_strokes(d, 0.01), &SETTINGS);
    ck_assert_uint_eq(dt_net_fault_count(net), 0);
    draft_free(d);
    return net;
}

static void try_form(const dt_net *plain, const stroke_list *list, double share, const char *what) {
    dt_net *net = stroke_list_net(list, &SETTINGS);
    assert_same(plain, net, share, what);
    ck_assert_uint_eq(faults_but(net, DT_FAULT_DOUBLED), 0);
    dt_net_free(net);
}

START_TEST(each_seam_its_own_stroke_in_any_order_direction_and_place) {
    for (uint64_t seed = 1; seed <= 12; seed++) {
        uint64_t state = seed;
        dt_net *plain = sheet_net(seed);
        stroke_list list = {0};
        stroke_list_arcs(&list, plain);
        stroke_list_shuffle(&list, &state);
        stroke_list_reverse(&list, &state);
        stroke_list_move(&list, random_pose(&state));
        dt_net *net = stroke_list_net(&list, &SETTINGS);
        assert_same(plain, net, 1e-5, "seams");
        ck_assert_uint_eq(dt_net_fault_count(net), 0);
        dt_net_free(net);
        stroke_list_split(&list, &state);
        stroke_list_split(&list, &state);
        try_form(plain, &list, AREA_SHARE, "seams split");
        stroke_list_free(&list);
        dt_net_free(plain);
    }
}
END_TEST

START_TEST(one_closed_outline_for_each_piece_is_one_summary_fault) {
    for (uint64_t seed = 1; seed <= 12; seed++) {
        uint64_t state = seed * 31;
        dt_net *plain = sheet_net(seed);
        stroke_list list = {0};
        stroke_list_outlines(&list, plain);
        stroke_list_shuffle(&list, &state);
        stroke_list_reverse(&list, &state);
        stroke_list_move(&list, random_pose(&state));
        dt_net *net = stroke_list_net(&list, &SETTINGS);
        assert_same(plain, net, AREA_SHARE, "outlines");
        ck_assert_uint_eq(dt_net_fault_count(net), 1);
        const dt_fault *fault = dt_net_fault(net, 0);
        ck_assert_int_eq(fault->kind, DT_FAULT_DOUBLED);
        ck_assert_uint_gt(fault->times, 10);
        double inner = 2 * dt_net_cut_length(plain), drawn = 0;
        for (size_t i = 0; i < list.strokes.count; i++) drawn += dt_path_perimeter(list.strokes.items[i].path);
        ck_assert_double_eq_tol(fault->size_mm, drawn - inner / 2, 0.5);
        dt_net_free(net);
        stroke_list_split(&list, &state);
        try_form(plain, &list, AREA_SHARE, "outlines split");
        stroke_list_free(&list);
        dt_net_free(plain);
    }
}
END_TEST

/* Each outline shifted a little: doubled lines up to a quarter kerf apart. */
START_TEST(outlines_that_do_not_quite_coincide) {
    for (uint64_t seed = 1; seed <= 12; seed++) {
        uint64_t state = seed * 17;
        dt_net *plain = sheet_net(seed);
        stroke_list list = {0};
        stroke_list_outlines(&list, plain);
        for (size_t i = 0; i < list.strokes.count; i++) {
            stroke_list one = {0};
            dt_strokes view = {&list.strokes.items[i], 1, NULL, 0};
            stroke_list_copy(&one, view);
            double turn = 6.28 * draft_random(&state), by = 0.02 * draft_random(&state);
            dt_pose pose = DT_POSE_IDENTITY;
            pose.shift = (dt_point){by * cos(turn), by * sin(turn)};
            stroke_list_move(&one, pose);
            dt_path moved = one.strokes.items[0].path;
            one.strokes.items[0].path = list.strokes.items[i].path;
            list.strokes.items[i].path = moved;
            stroke_list_free(&one);
        }
        try_form(plain, &list, SHIFTED_SHARE, "shifted outlines");
        stroke_list_free(&list);
        dt_net_free(plain);
    }
}
END_TEST

START_TEST(every_arc_knows_its_strokes) {
    dt_net *plain = sheet_net(5);
    stroke_list list = {0};
    stroke_list_outlines(&list, plain);
    dt_net *net = stroke_list_net(&list, &SETTINGS);
    size_t outlines = list.strokes.count;
    for (size_t a = 0; a < dt_net_arc_count(net); a++) {
        const dt_arc *arc = dt_net_arc(net, a);
        bool border = arc->left == DT_OUTSIDE_FACE || arc->right == DT_OUTSIDE_FACE;
        ck_assert_uint_eq(arc->stroke_count, border ? 1 : 2); /* the outline of the piece on each side */
        for (size_t s = 0; s < arc->stroke_count; s++) ck_assert_uint_lt(arc->strokes[s], outlines);
    }
    dt_net_free(net);
    stroke_list_free(&list);
    dt_net_free(plain);
}
END_TEST

Suite *suite_lines_laws(void);
Suite *suite_lines_laws(void) {
    Suite *suite = suite_create("lines_laws");
    TCase *tests = tcase_create("all");
    tcase_add_test(tests, each_seam_its_own_stroke_in_any_order_direction_and_place);
    tcase_add_test(tests, one_closed_outline_for_each_piece_is_one_summary_fault);
    tcase_add_test(tests, outlines_that_do_not_quite_coincide);
    tcase_add_test(tests, every_arc_knows_its_strokes);
    suite_add_tcase(suite, tests);
    return suite;
}
