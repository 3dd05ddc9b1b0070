/* Drafts of one outline for each piece, drawn inside (or outside) the true border: the pieces are those of the same draft drawn as single
 * lines, and one fault says how far the outlines lie apart. */
#include "perturbed.h"
#include "puzzle.h"

#include <check.h>
#include <dovetell/analysis.h>
#include <dovetell/text.h>
#include <math.h>

static draft *sheet(void) {
    draft *d = draft_new();
    draft_knobbed_sheet(d, 4, 5, 24, 7, false);
    return d;
}

static draft *sheet_with_figure(void) { /* a figure inside one piece: its outline, and the hole of the piece round it */
    draft *d = sheet();
    draft_circle(d, 12, 12, 3);
    return d;
}

static const dt_piece *piece_at(const dt_pieces *pieces, dt_point p) {
    for (uint32_t i = 0; i < dt_pieces_count(pieces); i++) {
        const dt_piece *piece = dt_pieces_get(pieces, (dt_piece_id){i});
        bool inside = dt_path_contains(piece->outline, p);
        for (size_t h = 0; h < piece->hole_count; h++) inside = inside && !dt_path_contains(piece->holes[h], p);
        if (inside) return piece;
    }
    return NULL;
}

static void expect_same_pieces(const puzzle *plain, const puzzle *inset) {
    ck_assert_uint_eq(plain->count, inset->count);
    ck_assert_uint_eq(dt_graph_pair_count(plain->graph), dt_graph_pair_count(inset->graph));
    ck_assert_uint_eq(dt_graph_interlock(plain->graph)->locked_joints, dt_graph_interlock(inset->graph)->locked_joints);
    for (uint32_t i = 0; i < plain->count; i++) {
        const dt_piece *a = dt_pieces_get(plain->pieces, (dt_piece_id){i}), *b = piece_at(inset->pieces, a->inside);
        ck_assert_ptr_nonnull(b);
        ck_assert_double_eq_tol(b->area_mm2 / a->area_mm2, 1.0, 0.001);
    }
}

static void expect_one_fault(const puzzle *p, double apart) {
    ck_assert_uint_eq(dt_net_fault_count(p->net), 1);
    const dt_fault *fault = dt_net_fault(p->net, 0);
    ck_assert_int_eq(fault->kind, DT_FAULT_DOUBLED);
    ck_assert(fault->mended && fault->times > 1);
    ck_assert_double_eq_tol(fault->apart_mm, apart, 0.011);
}

/* Up to 0.28 mm apart, below the join distance of 0.3; the last is drawn outside, so that neighbours overlap. */
static const double insets[] = {0.015, 0.025, 0.03, 0.05, 0.1, 0.14, -0.1};
enum { INSETS = sizeof insets / sizeof *insets };

START_TEST(inset_outlines_are_the_same_pieces) {
    for (int which = 0; which < 2; which++) {
        draft *d = which ? sheet_with_figure() : sheet();
        puzzle plain = puzzle_of(which ? sheet_with_figure() : sheet(), 0.2);
        puzzle inset = puzzle_of(draft_of_outlines(d, insets[_i]), 0.2);
        expect_same_pieces(&plain, &inset);
        expect_one_fault(&inset, fabs(2 * insets[_i]));
        ck_assert_double_eq_tol(dt_net_looser(inset.net), insets[_i] > 0.0 ? dt_net_fault(inset.net, 0)->apart_mm : 0.0, 1e-12);
        ck_assert(dt_net_looser(plain.net) == 0.0);
        puzzle_free(&inset);
        puzzle_free(&plain);
    }
}
END_TEST

START_TEST(drawn_once_nothing_is_moved) {
    puzzle p = puzzle_of(sheet(), 0.2);
    ck_assert_uint_eq(dt_net_fault_count(p.net), 0);
    puzzle_free(&p);
    p = puzzle_of(draft_of_outlines(sheet(), 0), 0.2);
    expect_one_fault(&p, 0);
    ck_assert_double_eq(dt_net_fault(p.net, 0)->apart_mm, 0);
    puzzle_free(&p);
}
END_TEST

/* Tiles with gaps between the columns, each as wide as `gaps` says in turn. */
static draft *tiles(const double *gaps, size_t count) {
    draft *d = draft_new();
    double x = 0;
    for (size_t i = 0; i < 12; i++) {
        for (int row = 0; row < 3; row++) draft_rectangle(d, x, row * 25, 20, 20);
        x += 20 + gaps[i % count];
    }
    return d;
}

START_TEST(tiles_laid_side_by_side_are_not_joined) {
    static const double wide[] = {0.5}, uneven[] = {0.1, 0.2, 0.25};
    puzzle p = puzzle_of(tiles(wide, 1), 0.2);
    ck_assert_uint_eq(dt_graph_pair_count(p.graph), 0);
    ck_assert_uint_eq(dt_net_fault_count(p.net), 0);
    ck_assert_double_eq_tol(dt_net_outlines_apart(p.net), 0.5, 1e-6);
    puzzle_free(&p);
    p = puzzle_of(tiles(uneven, 3), 0.2);
    ck_assert_uint_eq(dt_graph_pair_count(p.graph), 0);
    ck_assert_double_eq(dt_net_outlines_apart(p.net), 0);
    puzzle_free(&p);
}
END_TEST

/* Three columns 20, 20.7 and 27 mm wide, rows of three heights, each piece a rectangle of its own that is smaller by `inset` all round. */
static size_t twins_of_rectangles(double inset, double *play) {
    static const double x[] = {0, 20, 40.7, 67.7}, y[] = {0, 30, 68, 115};
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_text svg = DT_TEXT_EMPTY;
    dt_analysis *analysis = NULL;
    dt_text_add(&svg, "<svg xmlns='http://www.w3.org/2000/svg' width='80mm' height='120mm' viewBox='0 0 80 120' stroke='red'>");
    for (int i = 0; i < 9; i++)
        dt_text_addf(&svg, "<rect x='%g' y='%g' width='%g' height='%g'/>", x[i % 3] + inset, y[i / 3] + inset,
                     x[i % 3 + 1] - x[i % 3] - 2 * inset, y[i / 3 + 1] - y[i / 3] - 2 * inset);
    dt_text_add(&svg, "</svg>");
    ck_assert_int_eq(dt_analyse_memory("nine", svg.bytes, svg.length, &settings, NULL, &analysis, NULL), DT_OK);
    ck_assert_uint_eq(dt_pieces_count(dt_analysis_pieces(analysis)), 9);
    size_t twins = dt_analysis_twin_count(analysis);
    *play = dt_analysis_play_mm(analysis);
    ck_assert(twins == 0 || dt_analysis_assembly(analysis)->verdict != DT_ONE);
    dt_analysis_free(analysis);
    dt_text_free(&svg);
    return twins;
}

/* A piece of 20 mm and one of 20.7 differ by 0.35 mm where they fit best: more than the laser burns away, less than it and the 0.2 mm
 * between the outlines together. */
START_TEST(what_lies_between_outlines_is_play) {
    double play;
    ck_assert_uint_eq(twins_of_rectangles(0.0, &play), 0);
    ck_assert_double_eq_tol(play, 0.2, 1e-9);
    ck_assert_uint_eq(twins_of_rectangles(0.1, &play), 3);
    ck_assert_double_eq_tol(play, 0.4, 1e-3);
    ck_assert_uint_eq(twins_of_rectangles(-0.1, &play), 0);
    ck_assert_double_eq_tol(play, 0.2, 1e-9);
}
END_TEST

Suite *suite_lines_insets(void);
Suite *suite_lines_insets(void) {
    Suite *suite = suite_create("lines_insets");
    TCase *cases = tcase_create("all");
    tcase_add_loop_test(cases, inset_outlines_are_the_same_pieces, 0, INSETS);
    tcase_add_test(cases, drawn_once_nothing_is_moved);
    tcase_add_test(cases, tiles_laid_side_by_side_are_not_joined);
    tcase_add_test(cases, what_lies_between_outlines_is_play);
    suite_add_tcase(suite, cases);
    return suite;
}
