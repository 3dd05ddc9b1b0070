/* Pieces, seams, sides, numbering, edges and corners on drafts whose answers follow from how they were drawn. */
#include "draft.h"

#include <check.h>
#include <math.h>

typedef struct fixture {
    draft *d;
    dt_net *net;
    dt_pieces *pieces;
} fixture;

static dt_pieces *begin(fixture *f, draft *d) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    *f = (fixture){.d = d};
    f->pieces = draft_pieces(d, &settings, &f->net);
    const char *wrong = dt_pieces_check(f->pieces);
    ck_assert_msg(!wrong, "%s", wrong);
    return f->pieces;
}

static void end(fixture *f) {
    dt_pieces_free(f->pieces);
    dt_net_free(f->net);
    draft_free(f->d);
}

static const dt_piece *piece(const dt_pieces *pieces, uint32_t i) {
    return dt_pieces_get(pieces, (dt_piece_id){i});
}

typedef struct tally {
    size_t edges, corners, inner_seams, closed_seams;
} tally;

static tally count_all(const dt_pieces *pieces) {
    tally t = {0};
    for (uint32_t i = 0; i < dt_pieces_count(pieces); i++) {
        t.edges += piece(pieces, i)->edge;
        t.corners += piece(pieces, i)->corner;
    }
    for (uint32_t i = 0; i < dt_pieces_seam_count(pieces); i++) {
        const dt_seam *seam = dt_pieces_seam(pieces, (dt_seam_id){i});
        t.inner_seams += DT_IS_PIECE(seam->b);
        t.closed_seams += seam->closed;
    }
    return t;
}

START_TEST(a_straight_sheet) {
    draft *d = draft_new();
    draft_straight_sheet(d, 3, 4, 30, 20);
    fixture f;
    dt_pieces *pieces = begin(&f, d);
    ck_assert_uint_eq(dt_pieces_count(pieces), 12);
    tally t = count_all(pieces);
    ck_assert_uint_eq(t.edges, 10);
    ck_assert_uint_eq(t.corners, 4);
    ck_assert_uint_eq(t.inner_seams, 3 * 3 + 2 * 4);
    ck_assert_uint_eq(dt_pieces_puzzle_count(pieces), 1);
    for (uint32_t i = 0; i < 12; i++) {
        const dt_piece *p = piece(pieces, i);
        ck_assert_double_eq_tol(p->inside.x, 15 + 30 * (i % 4), 5.1); /* row by row; the circle may lie along the middle */
        ck_assert_double_eq_tol(p->inside.y, 10 + 20 * (i / 4), 0.2);
        ck_assert_double_eq_tol(p->inradius_mm, 10, 0.1);
        ck_assert_double_eq_tol(p->area_mm2, 600, 1e-9);
        ck_assert_double_eq_tol(p->perimeter_mm, 100, 1e-9);
        ck_assert_double_eq_tol(p->length_mm, 30, 1e-9);
        ck_assert_double_eq_tol(p->width_mm, 20, 1e-9);
        ck_assert(p->neck.width_mm == INFINITY);
    }
    end(&f);
}
END_TEST

START_TEST(sides_lead_to_the_neighbours) {
    draft *d = draft_new();
    draft_straight_sheet(d, 3, 3, 20, 20);
    fixture f;
    dt_pieces *pieces = begin(&f, d);
    const dt_piece *middle = piece(pieces, 4);
    const uint32_t clockwise[] = {1, 5, 7, 3};
    ck_assert_uint_eq(middle->side_count, 4);
    for (size_t i = 0; i < 4; i++)
        ck_assert_uint_eq(dt_pieces_across(pieces, (dt_piece_id){4}, &middle->sides[i]).v, clockwise[i]);
    end(&f);
}
END_TEST

START_TEST(knobbed_rows_are_numbered_row_by_row) {
    draft *d = draft_new();
    draft_knobbed_sheet(d, 6, 9, 20, 3, false);
    fixture f;
    dt_pieces *pieces = begin(&f, d);
    ck_assert_uint_eq(dt_pieces_count(pieces), 54);
    tally t = count_all(pieces);
    ck_assert_uint_eq(t.edges, 54 - 28);
    ck_assert_uint_eq(t.corners, 4);
    ck_assert_uint_eq(t.inner_seams, 6 * 8 + 5 * 9);
    for (uint32_t i = 0; i < 54; i++) {
        ck_assert_double_eq_tol(piece(pieces, i)->inside.x, 10 + 20 * (i % 9), 6);
        ck_assert_double_eq_tol(piece(pieces, i)->inside.y, 10 + 20 * (i / 9), 6);
    }
    end(&f);
}
END_TEST

START_TEST(an_island_in_a_piece) {
    draft *d = draft_new();
    draft_rectangle(d, 0, 0, 60, 40);
    draft_circle(d, 20, 20, 8);
    draft_segment(d, 40, 0, 40, 40);
    fixture f;
    dt_pieces *pieces = begin(&f, d);
    ck_assert_uint_eq(dt_pieces_count(pieces), 3);
    ck_assert(!dt_pieces_has_tray(pieces));
    tally t = count_all(pieces);
    ck_assert_uint_eq(t.closed_seams, 1);
    ck_assert_uint_eq(t.edges, 2);
    ck_assert_uint_eq(t.corners, 2);
    ck_assert_uint_eq(dt_pieces_puzzle_count(pieces), 1);
    ck_assert_uint_eq(piece(pieces, 0)->hole_count, 1);
    ck_assert_uint_eq(piece(pieces, 0)->side_count, 3);
    end(&f);
}
END_TEST

START_TEST(a_lone_piece) {
    draft *d = draft_new();
    draft_circle(d, 20, 20, 8);
    fixture f;
    dt_pieces *pieces = begin(&f, d);
    ck_assert_uint_eq(dt_pieces_count(pieces), 1);
    ck_assert(piece(pieces, 0)->edge && !piece(pieces, 0)->corner);
    ck_assert_uint_eq(dt_pieces_seam_count(pieces), 1);
    ck_assert_double_eq_tol(piece(pieces, 0)->inradius_mm, 8, 0.03);
    end(&f);
}
END_TEST

START_TEST(a_tray_is_no_piece) {
    draft *d = draft_new();
    draft_straight_sheet(d, 2, 2, 20, 20);
    draft_rectangle(d, -10, -10, 60, 60);
    fixture f;
    dt_pieces *pieces = begin(&f, d);
    ck_assert(dt_pieces_has_tray(pieces));
    ck_assert_uint_eq(dt_pieces_count(pieces), 4);
    tally t = count_all(pieces);
    ck_assert_uint_eq(t.edges, 4);
    ck_assert_uint_eq(t.corners, 4);
    ck_assert_double_eq(dt_pieces_box(pieces).low.x, 0);
    end(&f);
}
END_TEST

START_TEST(two_puzzles_on_a_sheet) {
    draft *d = draft_new();
    draft_straight_sheet(d, 2, 2, 20, 20);
    draft_rectangle(d, 60, 0, 40, 40);
    draft_segment(d, 60, 20, 100, 20);
    fixture f;
    dt_pieces *pieces = begin(&f, d);
    ck_assert_uint_eq(dt_pieces_count(pieces), 6);
    ck_assert_uint_eq(dt_pieces_puzzle_count(pieces), 2);
    ck_assert_uint_eq(piece(pieces, 0)->puzzle, 0);
    ck_assert_uint_eq(piece(pieces, 2)->puzzle, 1);
    ck_assert_uint_eq(count_all(pieces).corners, 4 + 2);
    end(&f);
}
END_TEST

START_TEST(pieces_that_touch_in_a_point) {
    draft *d = draft_new();
    const dt_point left[] = {{0, 0}, {20, 10}, {0, 20}}, right[] = {{20, 10}, {40, 0}, {40, 20}};
    draft_polyline(d, left, 3, true);
    draft_polyline(d, right, 3, true);
    fixture f;
    dt_pieces *pieces = begin(&f, d);
    ck_assert_uint_eq(dt_pieces_count(pieces), 2);
    ck_assert_uint_eq(count_all(pieces).inner_seams, 0);
    ck_assert_uint_eq(dt_pieces_puzzle_count(pieces), 2);
    end(&f);
}
END_TEST

START_TEST(rounded_corners_are_corners) {
    draft *d = draft_new();
    const double k = 0.5522847498307936; /* corners of 1 mm radius turn within 1.57 mm; those of 6 mm do not within 2 mm */
    for (int i = 0; i < 2; i++) {
        double r = i ? 6 : 1, x = 100 * i, b = r * (1 - k), w = 40;
        draft_move(d, (dt_point){x + r, 0});
        draft_line(d, (dt_point){x + w - r, 0});
        draft_cubic(d, (dt_point){x + w - b, 0}, (dt_point){x + w, b}, (dt_point){x + w, r});
        draft_line(d, (dt_point){x + w, w - r});
        draft_cubic(d, (dt_point){x + w, w - b}, (dt_point){x + w - b, w}, (dt_point){x + w - r, w});
        draft_line(d, (dt_point){x + r, w});
        draft_cubic(d, (dt_point){x + b, w}, (dt_point){x, w - b}, (dt_point){x, w - r});
        draft_line(d, (dt_point){x, r});
        draft_cubic(d, (dt_point){x, b}, (dt_point){x + b, 0}, (dt_point){x + r, 0});
        draft_segment(d, x + 20, 0, x + 20, w);
    }
    fixture f;
    dt_pieces *pieces = begin(&f, d);
    ck_assert_uint_eq(dt_pieces_count(pieces), 4);
    for (uint32_t i = 0; i < 4; i++) ck_assert_int_eq(piece(pieces, i)->corner, piece(pieces, i)->inside.x < 60);
    end(&f);
}
END_TEST

Suite *suite_pieces_basics(void);
Suite *suite_pieces_basics(void) {
    Suite *suite = suite_create("pieces_basics");
    TCase *cases = tcase_create("pieces_basics");
    tcase_add_test(cases, a_straight_sheet);
    tcase_add_test(cases, sides_lead_to_the_neighbours);
    tcase_add_test(cases, knobbed_rows_are_numbered_row_by_row);
    tcase_add_test(cases, an_island_in_a_piece);
    tcase_add_test(cases, a_lone_piece);
    tcase_add_test(cases, a_tray_is_no_piece);
    tcase_add_test(cases, two_puzzles_on_a_sheet);
    tcase_add_test(cases, pieces_that_touch_in_a_point);
    tcase_add_test(cases, rounded_corners_are_corners);
    suite_add_tcase(suite, cases);
    return suite;
}
