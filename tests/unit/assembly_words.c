/* The sentence on a witness, and that nothing is named which can stay at home: knobbed sheets with planted groups, drawn and analysed whole. */
#include "counts.h"
#include "knobbed.h"
#include "report/words.h"

#include <check.h>

static void expect_sentence(draft *d, bool two_sided, const char *sentence) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.two_sided = two_sided;
    dt_text svg = DT_TEXT_EMPTY, text = DT_TEXT_EMPTY;
    dt_analysis *a = NULL;
    dt_error error = {0};
    draft_svg(d, 5.0, &svg);
    draft_free(d);
    ck_assert_msg(dt_analyse_memory("draft", svg.bytes, svg.length, &settings, NULL, &a, &error) == DT_OK, "%s", error.message);
    words_witness(&text, a);
    ck_assert(!text.failed);
    ck_assert_str_eq(text.length ? text.bytes : "", sentence);
    dt_analysis_free(a);
    dt_text_free(&text);
    dt_text_free(&svg);
}

static draft *planted_sheet(const grid_group *group, grid_carry carry) {
    knobbed *k = knobbed_new(5, 5, 20.0, 1);
    draft *d = draft_new();
    knobbed_carry(k, group, carry);
    knobbed_draw(d, k);
    knobbed_free(k);
    return d;
}

static const grid_group LYING = {{{1, 1}, {1, 2}}, 2}, MIDDLE = {{{2, 1}, {2, 2}}, 2};

START_TEST(blocks_that_trade_places) {
    expect_sentence(planted_sheet(&LYING, (grid_carry){false, 0, {3, 2}}), false,
                    "Pieces 7 and 8 together fit where pieces 18 and 19 lie, and the other way round.");
    expect_sentence(planted_sheet(&LYING, (grid_carry){true, 0, {3, 2}}), true,
                    "Pieces 7 and 8 together fit where pieces 18 and 19 lie, and the other way round, turned over.");
}
END_TEST

START_TEST(blocks_that_turn_in_their_place) {
    expect_sentence(planted_sheet(&MIDDLE, (grid_carry){false, 2, {2, 1}}), false,
                    "Pieces 12 and 13 can be turned together in their place.");
    expect_sentence(planted_sheet(&MIDDLE, (grid_carry){true, 0, {2, 1}}), true,
                    "Pieces 12 and 13 can be turned over together in their place.");
    expect_sentence(planted_sheet(&MIDDLE, (grid_carry){true, 0, {2, 1}}), false, "");
}
END_TEST

START_TEST(twins_trade_places) {
    grid_group lone = {{{1, 1}}, 1};
    expect_sentence(planted_sheet(&lone, (grid_carry){false, 1, {3, 3}}), false, "Pieces 7 and 19 can trade places.");
}
END_TEST

/* Nine squares in 33 x 32: the other way is the mirror image, in which none lies where it lay. */
START_TEST(where_all_move_all_are_named_at_once) {
    draft *d = draft_new();
    counted_draft_named("squares-33x32")->draw(d);
    expect_sentence(d, false, "All 9 pieces can trade places.");
}
END_TEST

static void draw_halves(draft *d, double x, double left, double right, double width) {
    double cut = x + width - 20;
    draft_rectangle(d, x, 0, width, 40);
    draft_segment(d, cut, 0, cut, 40);
    draft_segment(d, x, left, cut, left + 5);
    draft_segment(d, cut, right, x + width, right + 3);
}

/* Two puzzles, each with a block of 20 x 40 mm: each may be turned, and they may be exchanged. One turned block is enough to show. */
START_TEST(no_more_than_needed) {
    draft *d = draft_new();
    draw_halves(d, 0, 13, 11, 52);
    draw_halves(d, 60, 22, 17, 47);
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_text svg = DT_TEXT_EMPTY;
    dt_analysis *a = NULL;
    dt_error error = {0};
    draft_svg(d, 5.0, &svg);
    draft_free(d);
    ck_assert_msg(dt_analyse_memory("draft", svg.bytes, svg.length, &settings, NULL, &a, &error) == DT_OK, "%s", error.message);
    const dt_assembly *assembly = dt_analysis_assembly(a);
    ck_assert_int_eq(assembly->verdict, DT_SEVERAL);
    ck_assert_uint_eq(assembly->other_count, 2);
    dt_analysis_free(a);
    dt_text_free(&svg);
}
END_TEST

Suite *suite_assembly_words(void);
Suite *suite_assembly_words(void) {
    Suite *suite = suite_create("assembly_words");
    TCase *all = tcase_create("all");
    tcase_add_test(all, blocks_that_trade_places);
    tcase_add_test(all, blocks_that_turn_in_their_place);
    tcase_add_test(all, twins_trade_places);
    tcase_add_test(all, where_all_move_all_are_named_at_once);
    tcase_add_test(all, no_more_than_needed);
    suite_add_tcase(suite, all);
    return suite;
}
