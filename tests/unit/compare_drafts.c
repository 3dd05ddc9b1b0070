/* Drafts side by side: what is the same, what went, what came, and the words for it. */
#include "draft.h"
#include <check.h>
#include <dovetell/report.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static dt_analysis *analyse(draft *d, const char *name, double margin) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_analysis *analysis = NULL;
    dt_text svg = DT_TEXT_EMPTY;
    dt_error error = {0};
    settings.steps = 0;
    draft_svg(d, margin, &svg);
    ck_assert_msg(dt_analyse_memory(name, svg.bytes, svg.length, &settings, NULL, &analysis, &error) == DT_OK, "%s",
                  error.message);
    dt_text_free(&svg);
    draft_free(d);
    return analysis;
}

/* Columns of 20, 25 and 31 mm; rows as given. */
static draft *bricks(double row1, double row2, double row3) {
    const double x[] = {0, 20, 45, 76}, y[] = {0, row1, row1 + row2, row1 + row2 + row3};
    draft *d = draft_new();
    draft_rectangle(d, 0, 0, x[3], y[3]);
    for (int i = 1; i < 3; i++) {
        draft_segment(d, x[i], 0, x[i], y[3]);
        draft_segment(d, 0, y[i], x[3], y[i]);
    }
    return d;
}

typedef struct two {
    dt_analysis *old, *now;
    dt_comparison *c;
} two;

static two compare(dt_analysis *old, dt_analysis *now) {
    two t = {old, now, NULL};
    ck_assert_int_eq(dt_compare_new(old, now, &t.c, NULL), DT_OK);
    return t;
}

static void done(two *t) {
    dt_compare_free(t->c);
    dt_analysis_free(t->old);
    dt_analysis_free(t->now);
}

static void check_sentence(const two *t, size_t number, const char *expected) {
    dt_text text = DT_TEXT_EMPTY;
    dt_report_compare_verdict(t->c, number, &text);
    ck_assert_str_eq(text.bytes, expected);
    dt_text_free(&text);
}

START_TEST(a_draft_is_like_itself_wherever_it_lies) {
    for (int moved = 0; moved < 2; moved++) {
        draft *a = draft_new(), *b = draft_new();
        draft_knobbed_sheet(a, 4, 5, 20.0, 3, false);
        draft_knobbed_sheet(b, 4, 5, 20.0, 3, false);
        two t = compare(analyse(a, "old.svg", 5.0), analyse(b, "now.svg", moved ? 25.0 : 5.0));
        size_t went, came;
        ck_assert_uint_eq(dt_compare_same_count(t.c), 20);
        ck_assert_uint_eq(dt_compare_changed_count(t.c), 0);
        ck_assert_double_eq_tol(dt_compare_shift(t.c).x, moved ? 20.0 : 0.0, 1e-9);
        for (uint32_t i = 0; i < 20; i++) ck_assert_uint_eq(dt_compare_became(t.c, (dt_piece_id){i}, NULL).v, i);
        dt_compare_faults_went(t.c, &went);
        dt_compare_faults_came(t.c, &came);
        ck_assert_uint_eq(went + came, 0);
        check_sentence(&t, 2, "The second draft is as hard as the one before.\n");
        done(&t);
    }
}
END_TEST

START_TEST(twins_that_come_and_go_are_named) {
    two t = compare(analyse(bricks(15, 18, 22), "old.svg", 5), analyse(bricks(15, 15, 25), "now.svg", 5));
    size_t count;
    const dt_pair *pairs = dt_compare_twins_came(t.c, &count);
    ck_assert_uint_eq(count, 3);
    for (uint32_t i = 0; i < 3; i++) {
        ck_assert_uint_eq(pairs[i].a.v, i);
        ck_assert_uint_eq(pairs[i].b.v, i + 3);
    }
    dt_compare_twins_went(t.c, &count);
    ck_assert_uint_eq(count, 0);
    done(&t);
    t = compare(analyse(bricks(15, 15, 25), "old.svg", 5), analyse(bricks(15, 18, 22), "now.svg", 5));
    dt_compare_twins_went(t.c, &count);
    ck_assert_uint_eq(count, 3);
    ck_assert_uint_eq(dt_compare_same_count(t.c), 3);
    ck_assert_uint_eq(dt_compare_changed_count(t.c), 6);
    done(&t);
}
END_TEST

START_TEST(a_piece_that_was_cut_off_is_new) {
    draft *d = bricks(15, 18, 22);
    draft_segment(d, 0, 5, 20, 5);
    two t = compare(analyse(bricks(15, 18, 22), "old.svg", 5), analyse(d, "now.svg", 5));
    double differ;
    ck_assert_uint_eq(dt_compare_same_count(t.c), 8);
    ck_assert_uint_eq(dt_compare_changed_count(t.c), 1);
    dt_piece_id now = dt_compare_became(t.c, (dt_piece_id){0}, &differ);
    ck_assert(DT_IS_PIECE(now));
    ck_assert_double_eq_tol(differ, 5.0, 0.02);
    size_t lone = 0;
    for (uint32_t i = 0; i < 10; i++) lone += !DT_IS_PIECE(dt_compare_was(t.c, (dt_piece_id){i}));
    ck_assert_uint_eq(lone, 1);
    done(&t);
}
END_TEST

START_TEST(a_mended_fault_went) {
    draft *d = bricks(15, 18, 22);
    draft_segment(d, 5, 15, 5, 40); /* runs on 7 mm past the line at 33: a stray end */
    draft *e = bricks(15, 18, 22);
    draft_segment(e, 5, 15, 5, 33);
    two t = compare(analyse(d, "old.svg", 5), analyse(e, "now.svg", 5));
    size_t went, came;
    const uint32_t *faults = dt_compare_faults_went(t.c, &went);
    dt_compare_faults_came(t.c, &came);
    ck_assert_uint_eq(went, 1);
    ck_assert_uint_eq(came, 0);
    ck_assert_int_eq(dt_pieces_fault(dt_analysis_pieces(t.old), faults[0])->kind, DT_FAULT_STRAY);
    done(&t);
}
END_TEST

START_TEST(the_change_in_points_is_split_whole) {
    draft *a = draft_new(), *b = draft_new();
    draft_knobbed_sheet(a, 5, 6, 20.0, 3, false);
    draft_knobbed_sheet(b, 6, 6, 20.0, 3, true);
    two t = compare(analyse(a, "old.svg", 5), analyse(b, "now.svg", 5));
    dt_figures old = dt_figures_of(t.old), now = dt_figures_of(t.now);
    double sum = 0.0;
    for (int i = 0; i < DT_FACTORS; i++) sum += now.factors[i] - old.factors[i];
    ck_assert_double_eq_tol(sum, now.points - old.points, 1e-9);
    dt_text text = DT_TEXT_EMPTY;
    dt_report_compare_verdict(t.c, 3, &text);
    ck_assert_ptr_nonnull(strstr(text.bytes, "The third draft is "));
    ck_assert_ptr_nonnull(strstr(text.bytes, " points harder ("));
    ck_assert_ptr_nonnull(strstr(text.bytes, "it has 6 more pieces ("));
    ck_assert_ptr_nonnull(strstr(text.bytes, "more pieces look alike ("));
    dt_text_free(&text);
    done(&t);
}
END_TEST

/* Numbers in the record are whole where they count, and the factors' changes add up there too. */
START_TEST(the_record_has_its_shape) {
    two t = compare(analyse(bricks(15, 18, 22), "old.svg", 5), analyse(bricks(16, 16, 23), "<now>.svg", 5));
    dt_text text = DT_TEXT_EMPTY;
    ck_assert_int_eq(dt_report_compare_json(t.c, 2, &text), DT_OK);
    ck_assert_ptr_nonnull(strstr(text.bytes, "\"pieces\":{\"old\":9,\"now\":9,\"change\":0}"));
    ck_assert_ptr_nonnull(strstr(text.bytes, "\"twins\":{\"went\":[],\"came\":[{\"a\":1,\"b\":4}"));
    ck_assert_ptr_nonnull(strstr(
        text.bytes, "\"narrowest_neck\":{\"old\":15.0,\"now\":null,\"change\":null}")); /* a brick 31 long is an even
                                                                                           bar when 15 wide */
    ck_assert_uint_eq(strcspn(text.bytes, "\n"), text.length - 1);
    dt_text_free(&text);
    done(&t);
}
END_TEST

START_TEST(the_table_names_drafts_by_the_ends_of_their_names) {
    dt_analysis *a = analyse(bricks(15, 18, 22), "a.svg", 5);
    dt_figures figures[3] = {dt_figures_of(a), dt_figures_of(a), dt_figures_of(a)};
    const char *files[] = {"shop/marsh/the-long-name-of-heron-1.svg", "the-long-name-of-h\xC3\xA9ron-2.svg",
                           "\x1B[31mred.svg"};
    dt_text text = DT_TEXT_EMPTY;
    dt_report_compare_table(figures, files, 3, &text);
    ck_assert_ptr_nonnull(strstr(text.bytes, "\xE2\x80\xA6-heron-1.svg"));
    ck_assert_ptr_nonnull(strstr(text.bytes, "\xE2\x80\xA6-h\xC3\xA9ron-2.svg"));
    ck_assert_ptr_null(strchr(text.bytes, '\x1B'));
    dt_text_free(&text);
    dt_analysis_free(a);
}
END_TEST

Suite *suite_compare_drafts(void);
Suite *suite_compare_drafts(void) {
    Suite *suite = suite_create("compare_drafts");
    TCase *cases = tcase_create("compare_drafts");
    tcase_add_test(cases, a_draft_is_like_itself_wherever_it_lies);
    tcase_add_test(cases, twins_that_come_and_go_are_named);
    tcase_add_test(cases, a_piece_that_was_cut_off_is_new);
    tcase_add_test(cases, a_mended_fault_went);
    tcase_add_test(cases, the_change_in_points_is_split_whole);
    tcase_add_test(cases, the_record_has_its_shape);
    tcase_add_test(cases, the_table_names_drafts_by_the_ends_of_their_names);
    suite_add_tcase(suite, cases);
    return suite;
}
