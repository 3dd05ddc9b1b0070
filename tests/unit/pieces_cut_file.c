/* Cut files of single pieces: read back as drafts they give the same pieces; grown they are larger by what was asked. */
#include "draft.h"

#include <check.h>
#include <dovetell/drawing.h>
#include <dovetell/report.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct fixture {
    draft *d;
    dt_net *net;
    dt_pieces *pieces;
    uint32_t holed; /* the piece with a hole in it */
} fixture;

static fixture begin(double radius) {
    fixture f = {.d = draft_new()};
    draft_knobbed_sheet(f.d, 3, 4, 30, 5, false);
    draft_circle(f.d, 15, 15, radius);
    dt_settings settings = DT_SETTINGS_DEFAULT;
    f.pieces = draft_pieces(f.d, &settings, &f.net);
    for (uint32_t i = 0; i < dt_pieces_count(f.pieces); i++)
        if (dt_pieces_get(f.pieces, (dt_piece_id){i})->hole_count == 1) f.holed = i;
    return f;
}

static void end(fixture *f) {
    dt_pieces_free(f->pieces);
    dt_net_free(f->net);
    draft_free(f->d);
}

static const dt_piece *piece(const fixture *f, uint32_t i) {
    return dt_pieces_get(f->pieces, (dt_piece_id){i});
}

/* The cut file of some pieces, read as a draft. The drawing must outlive the names. */
static fixture read_back(const fixture *f, const dt_piece_id *ids, size_t count, double grow, dt_drawing **drawing) {
    dt_text text = DT_TEXT_EMPTY;
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_error error = {0};
    fixture back = {0};
    ck_assert_int_eq(dt_report_cut_file(f->pieces, ids, count, grow, &text, &error), DT_OK);
    ck_assert_msg(dt_drawing_read_memory("cut.svg", text.bytes, text.length, &settings, drawing, &error) == DT_OK, "%s", error.message);
    ck_assert_int_eq(dt_drawing_unit_source(*drawing), DT_UNITS_PHYSICAL);
    ck_assert_uint_eq(dt_drawing_note_count(*drawing), 0);
    dt_strokes strokes = dt_drawing_strokes(*drawing);
    ck_assert_msg(dt_net_new(strokes, &settings, &back.net, &error) == DT_OK, "%s", error.message);
    for (size_t i = 0; i < dt_net_fault_count(back.net); i++)
        ck_abort_msg("%s of %.3f mm", dt_fault_text(dt_net_fault(back.net, i)->kind), dt_net_fault(back.net, i)->size_mm);
    ck_assert_msg(dt_pieces_new(back.net, strokes, &settings, &back.pieces, &error) == DT_OK, "%s", error.message);
    ck_assert_ptr_null(dt_pieces_check(back.pieces));
    dt_text_free(&text);
    return back;
}

static const dt_piece *named(const fixture *f, const char *name) {
    for (uint32_t i = 0; i < dt_pieces_count(f->pieces); i++)
        if (strcmp(piece(f, i)->name, name) == 0) return piece(f, i);
    ck_abort_msg("no piece is called %s", name);
    return NULL;
}

START_TEST(read_back_they_are_the_same) {
    fixture f = begin(3);
    const dt_piece_id ids[] = {{f.holed}, {9}, {3}, {7}, {9}};
    dt_drawing *drawing = NULL;
    fixture back = read_back(&f, ids, 5, 0, &drawing);
    ck_assert_uint_eq(dt_pieces_count(back.pieces), 5);
    ck_assert_uint_eq(dt_pieces_puzzle_count(back.pieces), 5); /* none touches another */
    ck_assert_uint_eq(dt_pieces_void_count(back.pieces), 1);
    for (size_t i = 0; i < 5; i++) {
        char name[40];
        snprintf(name, sizeof name, i == 4 ? "piece-%u-copy-2" : "piece-%u", ids[i].v + 1);
        const dt_piece *was = piece(&f, ids[i].v), *is = named(&back, name);
        ck_assert_double_eq_tol(is->area_mm2, was->area_mm2, 1e-3 * was->perimeter_mm);
        ck_assert_double_eq_tol(is->perimeter_mm, was->perimeter_mm, 0.01);
        ck_assert_double_eq_tol(is->length_mm, was->length_mm, 0.005);
        ck_assert_uint_eq(is->hole_count, was->hole_count);
    }
    end(&back);
    dt_drawing_free(drawing);
    end(&f);
}
END_TEST

/* Steiner's formula for an outline moved outwards by g: the perimeter times g and a bit of round corner; reflex corners and holes
 * give some back, so g^2 2 pi bounds what is left. The circle of radius 3 in the piece becomes one of 3 - g. */
START_TEST(grown_they_are_larger_all_round) {
    fixture f = begin(3);
    const dt_piece_id ids[] = {{f.holed}};
    const double g = 0.1;
    dt_drawing *drawing = NULL;
    fixture back = read_back(&f, ids, 1, g, &drawing);
    ck_assert_uint_eq(dt_pieces_count(back.pieces), 1);
    const dt_piece *was = piece(&f, f.holed), *is = piece(&back, 0);
    ck_assert_double_eq_tol(is->area_mm2 - was->area_mm2, g * was->perimeter_mm, 2 * 3.1416 * g * g);
    ck_assert_double_eq_tol(is->holes[0].count ? -dt_path_area(is->holes[0]) : 0, 3.14159265 * (3 - g) * (3 - g), 0.1);
    ck_assert_double_eq_tol((is->box.high.x - is->box.low.x) - (was->box.high.x - was->box.low.x), 2 * g, 0.005);
    ck_assert_double_eq_tol((is->box.high.y - is->box.low.y) - (was->box.high.y - was->box.low.y), 2 * g, 0.005);
    end(&back);
    dt_drawing_free(drawing);
    end(&f);
}
END_TEST

START_TEST(an_opening_closes_when_grown_over) {
    fixture f = begin(0.3);
    const dt_piece_id ids[] = {{f.holed}};
    dt_drawing *drawing = NULL;
    fixture back = read_back(&f, ids, 1, 0.35, &drawing);
    ck_assert_uint_eq(piece(&back, 0)->hole_count, 0);
    ck_assert_uint_eq(dt_pieces_void_count(back.pieces), 0);
    end(&back);
    dt_drawing_free(drawing);
    end(&f);
}
END_TEST

START_TEST(only_cut_lines_are_in_it) {
    fixture f = begin(3);
    const dt_piece_id ids[] = {{f.holed}, {2}};
    dt_text text = DT_TEXT_EMPTY;
    ck_assert_int_eq(dt_report_cut_file(f.pieces, ids, 2, 0.1, &text, NULL), DT_OK);
    ck_assert(strstr(text.bytes, "fill=\"none\"") && !strstr(text.bytes, "<text") && !strstr(text.bytes, "<rect"));
    size_t paths = 0;
    for (const char *at = text.bytes; (at = strstr(at, "<path")); at++) paths++;
    ck_assert_uint_eq(paths, 3);
    dt_text_free(&text);
    end(&f);
}
END_TEST

START_TEST(bad_requests_are_refused_in_words) {
    fixture f = begin(3);
    const dt_piece_id none[] = {{99}}, one[] = {{0}};
    dt_text text = DT_TEXT_EMPTY;
    dt_error error = {0};
    ck_assert_int_eq(dt_report_cut_file(f.pieces, none, 1, 0, &text, &error), DT_BAD_ARGUMENT);
    ck_assert(strstr(error.message, "no piece 100") && strstr(error.message, "1 to 13"));
    ck_assert_int_eq(dt_report_cut_file(f.pieces, one, 0, 0, &text, &error), DT_BAD_ARGUMENT);
    ck_assert_int_eq(dt_report_cut_file(f.pieces, one, 1, -1, &text, &error), DT_BAD_ARGUMENT);
    ck_assert_int_eq(dt_report_cut_file(f.pieces, one, 1, NAN, &text, &error), DT_BAD_ARGUMENT);
    ck_assert_uint_eq(text.length, 0);
    end(&f);
}
END_TEST

Suite *suite_pieces_cut_file(void);
Suite *suite_pieces_cut_file(void) {
    Suite *suite = suite_create("pieces_cut_file");
    TCase *cases = tcase_create("pieces_cut_file");
    tcase_add_test(cases, read_back_they_are_the_same);
    tcase_add_test(cases, grown_they_are_larger_all_round);
    tcase_add_test(cases, an_opening_closes_when_grown_over);
    tcase_add_test(cases, only_cut_lines_are_in_it);
    tcase_add_test(cases, bad_requests_are_refused_in_words);
    suite_add_tcase(suite, cases);
    return suite;
}
