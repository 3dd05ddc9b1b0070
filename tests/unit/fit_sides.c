/* Look-alike sides, places and false mates: the index against brute force, and small drafts whose answer is plain. */
#include "draft.h"
#include "fit_sides_brute.h"
#include <check.h>
#include <stdlib.h>

typedef struct sheet {
    draft *d;
    dt_net *net;
    dt_pieces *pieces;
    dt_fit *fit;
} sheet;

static sheet analyse(draft *d, dt_settings settings) {
    sheet s = {.d = d};
    s.pieces = draft_pieces(d, &settings, &s.net);
    dt_error error = {0};
    ck_assert_msg(dt_fit_new(s.pieces, &settings, NULL, &s.fit, &error) == DT_OK, "%s", error.message);
    return s;
}

static sheet knobbed(unsigned rows, unsigned columns, double size, unsigned seed, bool alike) {
    draft *d = draft_new();
    draft_knobbed_sheet(d, rows, columns, size, seed, alike);
    return analyse(d, (dt_settings)DT_SETTINGS_DEFAULT);
}

static void discard(sheet *s) {
    dt_fit_free(s->fit);
    dt_pieces_free(s->pieces);
    dt_net_free(s->net);
    draft_free(s->d);
}

/* tests/slow/fit_sides.c does this for hundreds of drafts. */
START_TEST(the_index_counts_as_brute_force_does) {
    for (unsigned seed = 1; seed <= 1; seed++) {
        sheet s = knobbed(2, 3, 24, seed, false);
        ck_assert(dt_fit_is_whole(s.fit));
        ck_assert_uint_eq(brute_check_sides(s.pieces, s.fit, 0.7, 0.02), dt_fit_side_count(s.fit));
        discard(&s);
    }
}
END_TEST

/* Between two windows of the index: trying every start each 0.5 mm, only those within 1 mm of the best lead to its fit, 0.656 mm off. */
START_TEST(a_fit_between_two_windows_is_found) {
    sheet s = knobbed(2, 2, 48, 134, false);
    ck_assert(dt_fit_is_whole(s.fit));
    ck_assert_uint_eq(dt_fit_side_k(s.fit, (dt_piece_id){0}, 0), 2);
    for (uint32_t p = 0; p < 4; p++)
        for (size_t i = 0; i < dt_pieces_get(s.pieces, (dt_piece_id){p})->side_count; i++) {
            size_t listed;
            const dt_candidate *candidates = dt_fit_side_candidates(s.fit, (dt_piece_id){p}, i, &listed);
            for (size_t c = 0; c < listed; c++) ck_assert_double_le(candidates[c].deviation_mm, 0.7);
        }
    discard(&s);
}
END_TEST

static dt_piece_id piece_at(const dt_pieces *pieces, double x, double y) {
    for (uint32_t i = 0; i < dt_pieces_count(pieces); i++)
        if (dt_path_contains(dt_pieces_get(pieces, (dt_piece_id){i})->outline, (dt_point){x, y})) return (dt_piece_id){i};
    ck_abort_msg("no piece at %g, %g", x, y);
    return (dt_piece_id){0};
}

/* In a sheet all alike every inner side is every inner piece's, and the lists are shared and cut, not the counts. */
START_TEST(alike_sheets_count_everyone) {
    sheet s = knobbed(10, 12, 20, 1, true);
    dt_piece_id middle = piece_at(s.pieces, 110, 110);
    ck_assert_uint_eq(dt_pieces_get(s.pieces, middle)->side_count, 4);
    const bool all[4] = {true, true, true, true};
    for (size_t i = 0; i < 4; i++) ck_assert_uint_ge(dt_fit_side_k(s.fit, middle, i), 80);
    /* 8 x 10 inner pieces and no others have knobs and bays on all four sides */
    ck_assert_uint_eq(dt_fit_place_k(s.fit, middle, all, NULL), 80);
    bool *loose = calloc(dt_pieces_count(s.pieces), sizeof *loose);
    ck_assert_ptr_nonnull(loose);
    loose[piece_at(s.pieces, 50, 50).v] = loose[piece_at(s.pieces, 5, 50).v] = true;
    ck_assert_uint_eq(dt_fit_place_k(s.fit, middle, all, loose), 2); /* the true one and the one inner piece on the table */
    free(loose);
    const bool none[4] = {false};
    ck_assert_uint_eq(dt_fit_place_k(s.fit, middle, none, NULL), 120);
    discard(&s);
}
END_TEST

START_TEST(more_known_sides_never_leave_more_candidates) {
    sheet s = knobbed(4, 4, 24, 3, false);
    for (uint32_t p = 0; p < 16; p++) {
        size_t sides = dt_pieces_get(s.pieces, (dt_piece_id){p})->side_count, before = dt_pieces_count(s.pieces);
        bool known[16] = {false};
        for (size_t i = 0; i < sides; i++) {
            known[i] = true;
            size_t k = dt_fit_place_k(s.fit, (dt_piece_id){p}, known, NULL);
            ck_assert_uint_ge(k, 1);
            ck_assert_uint_le(k, before);
            if (dt_fit_side_k(s.fit, (dt_piece_id){p}, i)) ck_assert_uint_le(k, dt_fit_side_k(s.fit, (dt_piece_id){p}, i));
            before = k;
        }
    }
    discard(&s);
}
END_TEST

static void zigzag(draft *d, double x, double y, double tip) {
    const dt_point points[] = {{x, y}, {x + 8, y}, {x + 13, y + tip}, {x + 16, y - 4}, {x + 20, y}, {x + 30, y}};
    draft_polyline(d, points, 6, false);
}

/* Three strips in a frame, cut by the same zigzag twice and by another: the first and second seam mate crosswise. The frame of
 * the second group is longer, so its seam runs past a T-junction. */
START_TEST(a_seam_drawn_twice_makes_false_mates) {
    draft *d = draft_new();
    draft_rectangle(d, 0, 0, 30, 60);
    zigzag(d, 0, 15, 6);
    zigzag(d, 0, 33, 6);
    zigzag(d, 0, 46, -5);
    sheet s = analyse(d, (dt_settings)DT_SETTINGS_DEFAULT);
    dt_piece_id top = piece_at(s.pieces, 5, 5), second = piece_at(s.pieces, 5, 25), third = piece_at(s.pieces, 5, 40);
    bool found = false;
    for (size_t i = 0; i < dt_fit_false_mate_count(s.fit); i++) {
        const dt_false_mate *mate = dt_fit_false_mate(s.fit, i);
        ck_assert_double_le(mate->mismatch_mm, 0.2);
        found |= mate->a.v == top.v && mate->b.v == third.v && mate->instead_of.v == second.v;
    }
    ck_assert(found);
    discard(&s);
}
END_TEST

START_TEST(a_T_junction_does_not_hide_a_look_alike) {
    draft *d = draft_new();
    draft_rectangle(d, 0, 0, 30, 60);
    zigzag(d, 0, 15, 6);
    zigzag(d, 0, 40, 6);
    draft_segment(d, 26, 40, 26, 60); /* ends on the second zigzag: its lower side is two seams */
    sheet s = analyse(d, (dt_settings)DT_SETTINGS_DEFAULT);
    dt_piece_id top = piece_at(s.pieces, 5, 5), middle = piece_at(s.pieces, 5, 30), low = piece_at(s.pieces, 5, 55);
    const dt_piece *place = dt_pieces_get(s.pieces, low);
    bool found = false;
    for (size_t i = 0; i < place->side_count; i++) {
        if (dt_pieces_across(s.pieces, low, &place->sides[i]).v != middle.v) continue;
        size_t listed;
        const dt_candidate *candidates = dt_fit_side_candidates(s.fit, low, i, &listed);
        for (size_t c = 0; c < listed; c++) found |= candidates[c].piece.v == middle.v && candidates[c].deviation_mm < 0.02;
    }
    ck_assert(found); /* the middle piece has that stretch as part of its upper side */
    ck_assert_uint_ne(top.v, middle.v);
    discard(&s);
}
END_TEST

/* The smallest outline round the point: an island lies inside the outline of what is around it. */
static dt_piece_id piece_at_inside(const dt_pieces *pieces, double x, double y) {
    dt_piece_id best = {0};
    double least = INFINITY;
    for (uint32_t i = 0; i < dt_pieces_count(pieces); i++) {
        dt_path outline = dt_pieces_get(pieces, (dt_piece_id){i})->outline;
        if (!dt_path_contains(outline, (dt_point){x, y}) || dt_path_area(outline) > least) continue;
        least = dt_path_area(outline);
        best.v = i;
    }
    return best;
}

/* Three discs of 6, 6.3 and 9 mm in holes of a plate, and a plate of its own with a hole of 6.2: at an eye of 0.7 the first two look alike,
 * and the hole of the other plate looks like theirs. */
START_TEST(an_island_looks_like_what_fits_its_hole) {
    draft *d = draft_new();
    draft_rectangle(d, 0, 0, 90, 40);
    draft_circle(d, 15, 20, 6);
    draft_circle(d, 40, 20, 6.3);
    draft_circle(d, 70, 20, 9);
    draft_rectangle(d, 100, 0, 40, 40);
    draft_circle(d, 120, 20, 6.2);
    sheet s = analyse(d, (dt_settings)DT_SETTINGS_DEFAULT);
    const double x[] = {15, 40, 70, 120}, k_island[] = {3, 3, 1, 3};
    const bool known[8] = {true, true, true, true, true, true, true, true};
    for (int i = 0; i < 4; i++) {
        dt_piece_id island = piece_at_inside(s.pieces, x[i], 20);
        size_t listed;
        const dt_candidate *candidates = dt_fit_side_candidates(s.fit, island, 0, &listed);
        ck_assert_uint_eq(dt_fit_side_k(s.fit, island, 0), (size_t)k_island[i]);
        ck_assert_uint_eq(listed, (size_t)k_island[i]);
        ck_assert_uint_eq(candidates[0].piece.v, island.v);
        if (i == 0) ck_assert_double_eq_tol(candidates[1].deviation_mm, 0.2, 0.02);
        ck_assert_uint_eq(dt_fit_place_k(s.fit, island, known, NULL), (size_t)k_island[i]);
    }
    dt_piece_id plate = piece_at_inside(s.pieces, 105, 5);
    ck_assert_uint_eq(dt_fit_place_k(s.fit, plate, known, NULL), 2); /* the other plate has such a hole too */
    discard(&s);
}
END_TEST

Suite *suite_fit_sides(void);
Suite *suite_fit_sides(void) {
    Suite *suite = suite_create("fit_sides");
    TCase *cases = tcase_create("fit_sides");
    tcase_add_test(cases, the_index_counts_as_brute_force_does);
    tcase_add_test(cases, a_fit_between_two_windows_is_found);
    tcase_add_test(cases, alike_sheets_count_everyone);
    tcase_add_test(cases, more_known_sides_never_leave_more_candidates);
    tcase_add_test(cases, a_seam_drawn_twice_makes_false_mates);
    tcase_add_test(cases, a_T_junction_does_not_hide_a_look_alike);
    tcase_add_test(cases, an_island_looks_like_what_fits_its_hole);
    suite_add_tcase(suite, cases);
    return suite;
}
