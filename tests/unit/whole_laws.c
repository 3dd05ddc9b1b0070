/* Laws of the whole chain: drawing the same puzzle otherwise (moved, turned, mirrored, scaled with its kerf and eye, strokes
 * shuffled, reversed, split, other units) changes no count, no twin, no joint, no verdict, and the points by no more than
 * POINTS_TOLERANCE. The drafts are the first demo draft and a knobbed sheet. */
#include "draft.h"
#include <check.h>
#include <dovetell/analysis.h>
#include <math.h>
#include <stdlib.h>

/* Turning and scaling move every point on the 0.001 mm grid, and a look-alike whose deviation is the eye's 0.7 mm to within
 * that may come or go; one of the demo's some 250 sides is worth less than this. */
static const double POINTS_TOLERANCE = 0.05;

/* Curves are flattened to 0.01 mm at any size, so at twice the size a knob is a little nearer to its true length. */
static const double LENGTH_TOLERANCE = 5e-4;

typedef struct summary {
    size_t pieces, edges, corners, whimsies, voids, puzzles, seams, pairs, joints[3], twins, faults;
    double area, border, points, cut;
    dt_assembly_verdict verdict;
    bool holds;
} summary;

static summary summarise(const dt_analysis *a) {
    const dt_pieces *p = dt_analysis_pieces(a);
    const dt_graph *g = dt_analysis_graph(a);
    summary s = {.pieces = dt_pieces_count(p), .whimsies = dt_pieces_whimsy_count(p), .voids = dt_pieces_void_count(p),
                 .puzzles = dt_pieces_puzzle_count(p), .pairs = dt_graph_pair_count(g),
                 .twins = dt_fit_twin_count(dt_analysis_fit(a)), .faults = dt_pieces_fault_count(p),
                 .points = dt_analysis_rating(a)->points, .cut = dt_net_cut_length(dt_analysis_net(a)),
                 .verdict = dt_analysis_assembly(a)->verdict, .holds = dt_graph_interlock(g)->holds_together};
    for (uint32_t i = 0; i < s.pieces; i++) {
        const dt_piece *piece = dt_pieces_get(p, (dt_piece_id){i});
        s.edges += piece->edge;
        s.corners += piece->corner;
        s.area += piece->area_mm2;
    }
    for (uint32_t i = 0; i < dt_pieces_seam_count(p); i++) s.seams += DT_IS_PIECE(dt_pieces_seam(p, (dt_seam_id){i})->b);
    for (size_t i = 0; i < s.pairs; i++) {
        s.joints[dt_graph_pair(g, i)->joint]++;
        s.border += dt_graph_pair(g, i)->border_mm;
    }
    ck_assert_ptr_null(dt_net_check(dt_analysis_net(a)));
    ck_assert_ptr_null(dt_pieces_check(p));
    return s;
}

static summary analyse_svg(const char *svg, size_t length, dt_settings settings) {
    dt_analysis *a = NULL;
    dt_error error = {0};
    ck_assert_msg(dt_analyse_memory("draft", svg, length, &settings, NULL, &a, &error) == DT_OK, "%s", error.message);
    summary s = summarise(a);
    dt_analysis_free(a);
    return s;
}

static summary analyse_draft(draft *d, dt_settings settings) {
    dt_text svg = DT_TEXT_EMPTY;
    draft_svg(d, 5.0, &svg);
    summary s = analyse_svg(svg.bytes, svg.length, settings);
    dt_text_free(&svg);
    return s;
}

static void assert_same(summary a, summary b, double scale) {
    ck_assert_uint_eq(a.pieces, b.pieces);
    ck_assert_uint_eq(a.edges, b.edges);
    ck_assert_uint_eq(a.corners, b.corners);
    ck_assert_uint_eq(a.whimsies, b.whimsies);
    ck_assert_uint_eq(a.voids, b.voids);
    ck_assert_uint_eq(a.puzzles, b.puzzles);
    ck_assert_uint_eq(a.seams, b.seams);
    ck_assert_uint_eq(a.pairs, b.pairs);
    ck_assert_uint_eq(a.twins, b.twins);
    ck_assert_uint_eq(a.faults, b.faults);
    for (int i = 0; i < 3; i++) ck_assert_uint_eq(a.joints[i], b.joints[i]);
    ck_assert_int_eq(a.verdict, b.verdict);
    ck_assert_int_eq(a.holds, b.holds);
    ck_assert_double_eq_tol(b.area / a.area, scale * scale, 1e-4 * scale * scale);
    ck_assert_double_eq_tol(b.border / a.border, scale, LENGTH_TOLERANCE * scale);
    ck_assert_double_eq_tol(b.cut / a.cut, scale, LENGTH_TOLERANCE * scale);
    ck_assert_double_eq_tol(a.points, b.points, POINTS_TOLERANCE);
}

static dt_settings plain_settings(void) {
    return (dt_settings)DT_SETTINGS_DEFAULT;
}

/* The demo's first draft as polylines (its curves at the reader's own flatness). */
static draft *demo_draft(void) {
    static dt_drawing *drawing; /* names are borrowed from it */
    dt_settings settings = plain_settings();
    dt_error error = {0};
    if (!drawing)
        ck_assert_msg(dt_drawing_read("corpus/demo/heron-1.svg", &settings, &drawing, &error) == DT_OK, "%s", error.message);
    return draft_of(dt_drawing_strokes(drawing));
}

static draft *sheet_draft(void) {
    draft *d = draft_new();
    draft_knobbed_sheet(d, 4, 5, 22, 3, false);
    return d;
}

typedef draft *maker(void);
static maker *const MAKERS[] = {demo_draft, sheet_draft};

START_TEST(drawn_in_another_order_and_direction) {
    draft *plain = MAKERS[_i](), *other = MAKERS[_i]();
    summary before = analyse_draft(plain, plain_settings());
    draft_shuffle(other, 7);
    assert_same(before, analyse_draft(other, plain_settings()), 1.0);
    draft_reverse(other);
    assert_same(before, analyse_draft(other, plain_settings()), 1.0);
    draft_split(other);
    assert_same(before, analyse_draft(other, plain_settings()), 1.0);
    draft_free(plain);
    draft_free(other);
}
END_TEST

START_TEST(moved_turned_and_mirrored) {
    draft *plain = MAKERS[_i]();
    summary before = analyse_draft(plain, plain_settings());
    const dt_pose poses[] = {dt_pose_about(0, false, (dt_point){0, 0}, (dt_point){33.33, -7.125}),
                             dt_pose_about(90, false, (dt_point){0, 0}, (dt_point){0, 0}),
                             dt_pose_about(33, false, (dt_point){0, 0}, (dt_point){10, 10}),
                             dt_pose_about(0, true, (dt_point){0, 0}, (dt_point){0, 0})};
    for (size_t i = 0; i < sizeof poses / sizeof *poses; i++) {
        draft *other = MAKERS[_i]();
        draft_transform(other, poses[i], 1.0);
        assert_same(before, analyse_draft(other, plain_settings()), 1.0);
        draft_free(other);
    }
    draft_free(plain);
}
END_TEST

START_TEST(scaled_with_its_kerf_and_eye) {
    draft *plain = MAKERS[_i](), *other = MAKERS[_i]();
    dt_settings settings = plain_settings();
    summary before = analyse_draft(plain, settings);
    draft_transform(other, DT_POSE_IDENTITY, 2.0);
    settings.kerf_mm *= 2;
    settings.eye_mm *= 2;
    settings.join_mm *= 2;
    summary after = analyse_draft(other, settings);
    before.faults = after.faults;   /* limits of necks and strips are absolute: a larger puzzle has fewer faults */
    before.corners = after.corners; /* a corner is a turn within 2 mm at any size */
    assert_same(before, after, 2.0);
    draft_free(plain);
    draft_free(other);
}
END_TEST

START_TEST(in_other_units) {
    const char *const sizes[] = {"100mm", "10cm", "3.93700787in", "377.952756px", "283.464567pt", "23.6220472pc", "400Q", "377.952756"};
    summary first = {0};
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
        dt_text svg = DT_TEXT_EMPTY;
        dt_text_addf(&svg,
                     "<svg xmlns='http://www.w3.org/2000/svg' width='%s' height='%s' viewBox='0 0 50 50' fill='none' stroke='red'>"
                     "<path d='M5 5h40v40h-40zM5 20c20-9 9 9 40 0M24 5c-6 20 6 20 0 40'/></svg>",
                     sizes[i], sizes[i]);
        summary s = analyse_svg(svg.bytes, svg.length, plain_settings());
        if (i == 0) first = s;
        ck_assert_uint_eq(s.pieces, 4);
        assert_same(first, s, 1.0);
        dt_text_free(&svg);
    }
}
END_TEST

Suite *suite_whole_laws(void);
Suite *suite_whole_laws(void) {
    Suite *suite = suite_create("whole_laws");
    TCase *cases = tcase_create("laws");
    tcase_add_loop_test(cases, drawn_in_another_order_and_direction, 0, 2);
    tcase_add_loop_test(cases, moved_turned_and_mirrored, 0, 2);
    tcase_add_loop_test(cases, scaled_with_its_kerf_and_eye, 0, 2);
    tcase_add_test(cases, in_other_units);
    suite_add_tcase(suite, cases);
    return suite;
}
