/* Voids, whimsies, names and colours: what strokes say of the pieces that they bound. */
#include "draft.h"

#include <check.h>
#include <math.h>
#include <string.h>

static dt_net *net;

static dt_pieces *pieces_of(draft *d) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_pieces *pieces = draft_pieces(d, &settings, &net);
    const char *wrong = dt_pieces_check(pieces);
    ck_assert_msg(!wrong, "%s", wrong);
    return pieces;
}

static void end(draft *d, dt_pieces *pieces) {
    dt_pieces_free(pieces);
    dt_net_free(net);
    draft_free(d);
}

static const dt_piece *piece(const dt_pieces *pieces, uint32_t i) {
    return dt_pieces_get(pieces, (dt_piece_id){i});
}

static size_t whimsy_pieces(const dt_pieces *pieces) {
    size_t count = 0;
    for (uint32_t i = 0; i < dt_pieces_count(pieces); i++) count += piece(pieces, i)->whimsy;
    return count;
}

/* A sheet 100 x 60 with a circle in its middle and four lines that lead to it. */
static draft *sheet_with_circle(void) {
    draft *d = draft_new();
    draft_rectangle(d, 0, 0, 100, 60);
    draft_segment(d, 0, 30, 40, 30);
    draft_segment(d, 60, 30, 100, 30);
    draft_segment(d, 50, 0, 50, 20);
    draft_segment(d, 50, 40, 50, 60);
    return d;
}

START_TEST(a_closed_line_of_its_own_is_a_whimsy) {
    draft *d = sheet_with_circle();
    draft_name(d, "boat");
    draft_circle(d, 50, 30, 10);
    dt_pieces *pieces = pieces_of(d);
    ck_assert_uint_eq(dt_pieces_count(pieces), 5);
    ck_assert_uint_eq(dt_pieces_whimsy_count(pieces), 1);
    ck_assert_uint_eq(whimsy_pieces(pieces), 1);
    for (uint32_t i = 0; i < 5; i++) ck_assert_str_eq(piece(pieces, i)->name, piece(pieces, i)->whimsy ? "boat" : "");
    end(d, pieces);
}
END_TEST

START_TEST(a_figure_of_two_pieces_counts_once) {
    draft *d = sheet_with_circle();
    draft_circle(d, 50, 30, 10);
    draft_segment(d, 40, 30, 60, 30);
    draft_circle(d, 50, 35, 2); /* and a figure within the figure */
    dt_pieces *pieces = pieces_of(d);
    ck_assert_uint_eq(dt_pieces_count(pieces), 7);
    ck_assert_uint_eq(whimsy_pieces(pieces), 3);
    ck_assert_uint_eq(dt_pieces_whimsy_count(pieces), 1);
    end(d, pieces);
}
END_TEST

START_TEST(borders_and_closed_outlines_are_no_whimsies) {
    draft *d = draft_new();
    draft_circle(d, -40, 20, 15);
    for (int i = 0; i < 9; i++) {
        draft_name(d, i == 4 ? "middle" : NULL);
        draft_rectangle(d, 20 * (i % 3), 20 * (i / 3), 20, 20);
    }
    dt_pieces *pieces = pieces_of(d);
    ck_assert_uint_eq(dt_pieces_count(pieces), 10);
    ck_assert_uint_eq(whimsy_pieces(pieces), 0);
    size_t named = 0;
    for (uint32_t i = 0; i < 10; i++)
        if (strcmp(piece(pieces, i)->name, "middle") == 0) {
            named++;
            ck_assert_double_lt(dt_point_distance(piece(pieces, i)->inside, (dt_point){30, 30}), 1);
        }
    ck_assert_uint_eq(named, 1);
    end(d, pieces);
}
END_TEST

START_TEST(a_pattern_of_circles_is_no_whimsy) {
    draft *d = sheet_with_circle();
    draft_circle(d, 50, 30, 25); /* holds 5 of 9 pieces */
    draft_circle(d, 50, 30, 10);
    dt_pieces *pieces = pieces_of(d);
    ck_assert_uint_eq(dt_pieces_count(pieces), 9);
    ck_assert_uint_eq(whimsy_pieces(pieces), 1);
    end(d, pieces);
}
END_TEST

START_TEST(a_whimsy_layer_makes_figures_of_open_lines_too) {
    draft *d = sheet_with_circle();
    draft_layer(d, "whimsy heron", DT_ROLE_WHIMSY);
    draft_segment(d, 40, 30, 50, 20);
    draft_segment(d, 50, 20, 60, 30);
    draft_segment(d, 60, 30, 50, 40);
    draft_segment(d, 50, 40, 40, 30);
    draft_segment(d, 40, 30, 60, 30);
    dt_pieces *pieces = pieces_of(d);
    ck_assert_uint_eq(dt_pieces_count(pieces), 6);
    ck_assert_uint_eq(whimsy_pieces(pieces), 2);
    ck_assert_uint_eq(dt_pieces_whimsy_count(pieces), 1);
    end(d, pieces);
}
END_TEST

START_TEST(crossing_figures_are_a_fault) {
    draft *d = sheet_with_circle();
    draft_layer(d, "whimsy", DT_ROLE_WHIMSY);
    draft_circle(d, 47, 30, 10);
    draft_circle(d, 53, 30, 10);
    dt_pieces *pieces = pieces_of(d);
    size_t crossings = 0;
    for (size_t i = 0; i < dt_pieces_fault_count(pieces); i++) {
        const dt_fault *fault = dt_pieces_fault(pieces, i);
        if (fault->kind != DT_FAULT_CROSSING) continue;
        crossings++;
        ck_assert_double_lt(dt_point_distance(fault->at, (dt_point){50, 30 - sqrt(91)}), 0.1);
    }
    ck_assert_uint_eq(crossings, 1);
    end(d, pieces);
}
END_TEST

START_TEST(a_void_is_no_piece) {
    draft *d = sheet_with_circle();
    draft_layer(d, "void", DT_ROLE_VOID);
    draft_circle(d, 50, 30, 10);
    draft_layer(d, NULL, DT_ROLE_CUT);
    draft_circle(d, 50, 30, 4);              /* an island in it is a piece of a puzzle of its own */
    dt_pieces *pieces = pieces_of(d);
    ck_assert_uint_eq(dt_pieces_count(pieces), 5);
    ck_assert_uint_eq(dt_pieces_void_count(pieces), 1);
    ck_assert_uint_eq(dt_pieces_puzzle_count(pieces), 2);
    ck_assert_double_eq_tol(dt_pieces_void(pieces, 0)->area_mm2, 3.14159265 * (100 - 16), 0.5);
    size_t at_void = 0, edges = 0;
    for (uint32_t i = 0; i < 5; i++) {
        edges += piece(pieces, i)->edge;
        for (size_t k = 0; k < piece(pieces, i)->side_count; k++)
            at_void += dt_pieces_across(pieces, (dt_piece_id){i}, &piece(pieces, i)->sides[k]).v == DT_IN_VOID.v;
    }
    ck_assert_uint_eq(at_void, 5);
    ck_assert_uint_eq(edges, 4);
    end(d, pieces);
}
END_TEST

START_TEST(a_void_with_a_line_through_it_falls_out_in_two) {
    draft *d = sheet_with_circle();
    draft_segment(d, 40, 30, 60, 30);
    draft_layer(d, "void", DT_ROLE_VOID);
    draft_circle(d, 50, 30, 10);
    dt_pieces *pieces = pieces_of(d);
    ck_assert_uint_eq(dt_pieces_count(pieces), 4);
    ck_assert_uint_eq(dt_pieces_void_count(pieces), 2);
    ck_assert_uint_eq(dt_pieces_puzzle_count(pieces), 1);
    end(d, pieces);
}
END_TEST

START_TEST(a_void_of_open_lines) {
    draft *d = sheet_with_circle();
    draft_layer(d, "void", DT_ROLE_VOID);
    const dt_point half[] = {{40, 30}, {50, 20}, {60, 30}}, other[] = {{60, 30}, {50, 40}, {40, 30}};
    draft_polyline(d, half, 3, false);
    draft_polyline(d, other, 3, false);
    dt_pieces *pieces = pieces_of(d);
    ck_assert_uint_eq(dt_pieces_count(pieces), 4);
    ck_assert_uint_eq(dt_pieces_void_count(pieces), 1);
    end(d, pieces);
}
END_TEST

START_TEST(only_voids_is_an_error_in_words) {
    draft *d = draft_new();
    draft_layer(d, "void", DT_ROLE_VOID);
    draft_circle(d, 50, 30, 10);
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_strokes strokes = draft_strokes(d, 0.01);
    dt_error error = {0};
    dt_pieces *pieces = NULL;
    ck_assert_int_eq(dt_net_new(strokes, &settings, &net, &error), DT_OK);
    ck_assert_int_eq(dt_pieces_new(net, strokes, &settings, &pieces, &error), DT_NO_PIECES);
    ck_assert_ptr_null(pieces);
    ck_assert(strstr(error.message, "void"));
    end(d, NULL);
}
END_TEST

START_TEST(without_strokes_there_are_still_pieces) {
    draft *d = sheet_with_circle();
    draft_layer(d, "void", DT_ROLE_VOID);
    draft_circle(d, 50, 30, 10);
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_pieces *pieces = NULL;
    ck_assert_int_eq(dt_net_new(draft_strokes(d, 0.01), &settings, &net, NULL), DT_OK);
    ck_assert_int_eq(dt_pieces_new(net, (dt_strokes){0}, &settings, &pieces, NULL), DT_OK);
    ck_assert_uint_eq(dt_pieces_count(pieces), 5);
    end(d, pieces);
}
END_TEST

/* A sheet of 2 x 2 squares of 20 mm: a background, a square over the right half, a frame (even-odd) over the lower left. */
START_TEST(colours_come_from_the_topmost_fill) {
    draft *d = draft_new();
    draft_straight_sheet(d, 2, 2, 20, 20);
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_strokes strokes = draft_strokes(d, 0.01);
    const dt_point all[] = {{0, 0}, {40, 0}, {40, 20}, {0, 20}}, right[] = {{20, 0}, {40, 0}, {40, 40}, {20, 40}};
    const dt_point frame[] = {{0, 20}, {20, 20}, {20, 40}, {0, 40}}, opening[] = {{5, 25}, {15, 25}, {15, 35}, {5, 35}};
    const dt_fill fills[] = {{{all, 4}, 0x112233, 1, false}, {{right, 4}, 0x445566, 2, false}, {{frame, 4}, 0x778899, 7, false}, {{opening, 4}, 0x778899, 7, false}};
    strokes.fills = fills;
    strokes.fill_count = 4;
    dt_pieces *pieces = NULL;
    ck_assert_int_eq(dt_net_new(strokes, &settings, &net, NULL), DT_OK);
    ck_assert_int_eq(dt_pieces_new(net, strokes, &settings, &pieces, NULL), DT_OK);
    const uint32_t expected[] = {0x112233, 0x445566, DT_NO_COLOUR, 0x445566};
    for (uint32_t i = 0; i < 4; i++) ck_assert_uint_eq(piece(pieces, i)->colour, expected[i]);
    end(d, pieces);
}
END_TEST

/* One element, two squares drawn the same way round, the inner one over a piece: filled by winding, open by even-odd. */
START_TEST(fills_go_by_their_rule) {
    for (int nonzero = 0; nonzero < 2; nonzero++) {
        draft *d = draft_new();
        draft_straight_sheet(d, 1, 3, 20, 20);
        dt_settings settings = DT_SETTINGS_DEFAULT;
        dt_strokes strokes = draft_strokes(d, 0.01);
        const dt_point outer[] = {{0, 0}, {60, 0}, {60, 20}, {0, 20}}, inner[] = {{20, 0}, {40, 0}, {40, 20}, {20, 20}};
        const dt_fill fills[] = {{{outer, 4}, 0x112233, 1, nonzero}, {{inner, 4}, 0x112233, 1, nonzero}};
        strokes.fills = fills;
        strokes.fill_count = 2;
        dt_pieces *pieces = NULL;
        ck_assert_int_eq(dt_net_new(strokes, &settings, &net, NULL), DT_OK);
        ck_assert_int_eq(dt_pieces_new(net, strokes, &settings, &pieces, NULL), DT_OK);
        ck_assert_uint_eq(dt_pieces_count(pieces), 3);
        const uint32_t middle = nonzero ? 0x112233 : DT_NO_COLOUR, expected[] = {0x112233, middle, 0x112233};
        for (uint32_t i = 0; i < 3; i++) ck_assert_uint_eq(piece(pieces, i)->colour, expected[i]);
        end(d, pieces);
    }
}
END_TEST

Suite *suite_pieces_figures(void);
Suite *suite_pieces_figures(void) {
    Suite *suite = suite_create("pieces_figures");
    TCase *cases = tcase_create("pieces_figures");
    tcase_add_test(cases, a_closed_line_of_its_own_is_a_whimsy);
    tcase_add_test(cases, a_figure_of_two_pieces_counts_once);
    tcase_add_test(cases, borders_and_closed_outlines_are_no_whimsies);
    tcase_add_test(cases, a_pattern_of_circles_is_no_whimsy);
    tcase_add_test(cases, a_whimsy_layer_makes_figures_of_open_lines_too);
    tcase_add_test(cases, crossing_figures_are_a_fault);
    tcase_add_test(cases, a_void_is_no_piece);
    tcase_add_test(cases, a_void_with_a_line_through_it_falls_out_in_two);
    tcase_add_test(cases, a_void_of_open_lines);
    tcase_add_test(cases, only_voids_is_an_error_in_words);
    tcase_add_test(cases, without_strokes_there_are_still_pieces);
    tcase_add_test(cases, colours_come_from_the_topmost_fill);
    tcase_add_test(cases, fills_go_by_their_rule);
    suite_add_tcase(suite, cases);
    return suite;
}
