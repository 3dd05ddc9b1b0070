/* What a maker reads: one screen, the verdict first, true sentences, nothing from the draft that a terminal could obey.
 */
#include "draft.h"

#include "report/words.h"

#include <check.h>
#include <dovetell/report.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const dt_settings usual = DT_SETTINGS_DEFAULT;

static dt_analysis *analyse_text(const char *name, const char *bytes, size_t count, const dt_settings *settings) {
    dt_analysis *analysis = NULL;
    dt_error error = {0};
    dt_status status = dt_analyse_memory(name, bytes, count, settings, NULL, &analysis, &error);
    ck_assert_msg(status == DT_OK, "%s", error.message);
    return analysis;
}

static dt_analysis *analyse(draft *d, const dt_settings *settings) {
    dt_text svg = DT_TEXT_EMPTY;
    draft_svg(d, 5.0, &svg);
    dt_analysis *analysis = analyse_text("reed.svg", svg.bytes, svg.length, settings);
    dt_text_free(&svg);
    return analysis;
}

#define CHECK_WORDS(expected, call)                                                                                    \
    do {                                                                                                               \
        dt_text text = DT_TEXT_EMPTY;                                                                                  \
        dt_text *out = &text;                                                                                          \
        call;                                                                                                          \
        ck_assert_str_eq(text.bytes, expected);                                                                        \
        dt_text_free(&text);                                                                                           \
    } while (0)

START_TEST(values_read_well) {
    CHECK_WORDS("1 gap", words_count(out, 1, "gap", "gaps"));
    CHECK_WORDS("0 gaps", words_count(out, 0, "gap", "gaps"));
    CHECK_WORDS("1,234,567 gaps", words_count(out, 1234567, "gap", "gaps"));
    CHECK_WORDS("0.18 mm", words_mm(out, 0.1834));
    CHECK_WORDS("9.99 mm", words_mm(out, 9.994));
    CHECK_WORDS("10.0 mm", words_mm(out, 9.996));
    CHECK_WORDS("1234 mm", words_mm(out, 1234.4));
    CHECK_WORDS("(84.1, -0.5)", words_point(out, (dt_point){84.06, -0.46}));
    CHECK_WORDS("(0.0, -0.1)", words_point(out, (dt_point){-0.04, -0.06}));
    CHECK_WORDS("1 min", words_minutes(out, 0.2));
    CHECK_WORDS("59 min", words_minutes(out, 59.4));
    CHECK_WORDS("1 h", words_minutes(out, 59.6));
    CHECK_WORDS("1 h 10 min", words_minutes(out, 71));
    CHECK_WORDS("4 h 55 min", words_minutes(out, 297.4));
    CHECK_WORDS("5 h", words_minutes(out, 297.6));
    CHECK_WORDS("98 h", words_minutes(out, 98 * 60));
    CHECK_WORDS("1,230 h", words_minutes(out, 1234 * 60));
    CHECK_WORDS("turned by 180 degrees", words_pose(out, 180, false));
    CHECK_WORDS("turned by 22.5 degrees clockwise and turned over", words_pose(out, -22.5, true));
    CHECK_WORDS("turned by 90 degrees anticlockwise", words_pose(out, 90, false));
    CHECK_WORDS("turned over", words_pose(out, 0, true));
    CHECK_WORDS("as it lies", words_pose(out, 0, false));
    CHECK_WORDS("at any turn", words_pose(out, NAN, false));
}
END_TEST

/* At most 24 lines of at most 100 columns, and no control characters but line ends. */
static void check_screen(const char *text) {
    size_t lines = 0, columns = 0;
    for (const char *c = text; *c; c++) {
        if (*c == '\n') {
            ck_assert_uint_le(columns, 100);
            columns = 0;
            lines++;
            continue;
        }
        ck_assert_msg((unsigned char)*c >= 0x20 && *c != 0x7F, "control character in: %s", text);
        columns += ((unsigned char)*c & 0xC0) != 0x80;
    }
    ck_assert_uint_le(lines, 24);
}

START_TEST(the_summary_fits_one_screen) {
    draft *d = draft_new();
    draft_straight_sheet(d, 12, 12, 9, 9);
    for (int i = 0; i < 11; i++) draft_segment(d, 4 + 9 * i, 0, 4 + 9 * i, 9.5);   /* tails, slim pieces */
    for (int i = 0; i < 11; i++) draft_segment(d, 3 + 9 * i, 30, 5 + 9 * i, 30.5); /* strays */
    dt_settings settings = usual;
    settings.speed_mm_per_s = 12;
    settings.colours = 3;
    settings.picture = DT_PICTURE_FULL;
    settings.two_sided = true;
    dt_analysis *analysis = analyse(d, &settings);
    dt_text text = DT_TEXT_EMPTY;
    dt_report_summary(analysis, &text);
    check_screen(text.bytes);
    ck_assert_int_eq(strncmp(text.bytes, "reed.svg: Not ready to cut: ", 28), 0);
    ck_assert_ptr_nonnull(strstr(text.bytes, " more (see --json or dovetell check)"));
    ck_assert_ptr_nonnull(strstr(text.bytes, "fits the place of piece")); /* twins are not hidden by the faults */
    ck_assert_ptr_nonnull(strstr(text.bytes, "estimate"));
    dt_text_free(&text);
    dt_analysis_free(analysis);
    draft_free(d);
}
END_TEST

START_TEST(a_gap_is_told_with_stroke_layer_size_and_remedy) {
    draft *d = draft_new();
    draft_rectangle(d, 0, 0, 60, 40);
    draft_layer(d, "cut lines", DT_ROLE_CUT);
    draft_name(d, "wing-3");
    draft_segment(d, 25, 0.18, 25, 40);
    dt_analysis *analysis = analyse(d, &usual);
    dt_text text = DT_TEXT_EMPTY;
    dt_report_check(analysis, &text);
    ck_assert_ptr_nonnull(strstr(text.bytes, "reed.svg: Not ready to cut: 1 gap."));
    ck_assert_ptr_nonnull(strstr(text.bytes, "  - Gap of 0.18 mm at (30.0, 5."));
    ck_assert_ptr_nonnull(strstr(text.bytes, "\"wing-3\" in layer \"cut lines\" ends short of "));
    ck_assert_ptr_nonnull(strstr(text.bytes, "draw the end on to the line."));
    dt_text_free(&text);
    dt_analysis_free(analysis);
    draft_free(d);
}
END_TEST

/* Wider than the join distance: it is left open, and what two pieces became is larger than its fellows. */
START_TEST(a_wide_gap_names_the_piece_that_two_became) {
    draft *d = draft_new();
    draft_rectangle(d, 0, 0, 100, 20);
    for (int x = 20; x < 100; x += 20) {
        if (x != 60) draft_segment(d, x, 0, x, 20);
    }
    draft_segment(d, 60, 0, 60, 9);
    draft_name(d, "reed-7");
    draft_segment(d, 60, 9.8, 60, 20);
    dt_analysis *analysis = analyse(d, &usual);
    dt_text text = DT_TEXT_EMPTY;
    dt_report_check(analysis, &text);
    ck_assert_msg(strstr(text.bytes, "  - Gap of 0.80 mm at (65.0, 14."), "%s", text.bytes);
    ck_assert_ptr_nonnull(strstr(text.bytes, "\"reed-7\""));
    ck_assert_ptr_nonnull(strstr(text.bytes,
                                 "Left open, so two pieces may have run together as piece 3 (next to 2 and 4); draw "
                                 "the end on to the line.\n"));
    dt_text_free(&text);
    dt_analysis_free(analysis);
    draft_free(d);
}
END_TEST

START_TEST(a_gap_between_parts_of_one_path_says_so) {
    static const char svg[] =
        "<svg xmlns='http://www.w3.org/2000/svg' width='100mm' height='40mm' viewBox='0 0 100 40' stroke='red'>"
        "<rect width='100' height='40'/><path id='reed-7' d='M30 0V20M30 20.2V40M0 20H30'/></svg>";
    dt_analysis *analysis = analyse_text("reed.svg", svg, sizeof svg - 1, &usual);
    dt_text text = DT_TEXT_EMPTY;
    dt_report_check(analysis, &text);
    ck_assert_msg(strstr(text.bytes, ": \"reed-7\" ends short of another part of the same path. Joined here;"), "%s",
                  text.bytes);
    dt_text_free(&text);
    dt_analysis_free(analysis);
}
END_TEST

static void expect_in_check(const char *svg, const char *sentence) {
    dt_analysis *analysis = analyse_text("reed.svg", svg, strlen(svg), &usual);
    dt_text text = DT_TEXT_EMPTY;
    dt_report_check(analysis, &text);
    ck_assert_msg(strstr(text.bytes, sentence) != NULL, "%s", text.bytes);
    ck_assert(dt_analysis_finds_wrong(analysis) && !dt_analysis_verdict(analysis).ok);
    dt_text_free(&text);
    dt_analysis_free(analysis);
}

START_TEST(figures_that_cross_are_named) {
    expect_in_check("<svg xmlns='http://www.w3.org/2000/svg' width='120mm' height='90mm' viewBox='0 0 120 90' stroke='red'>"
                    "<rect width='110' height='80'/><g id='whimsy'><circle id='boat' cx='95' cy='65' r='8'/>"
                    "<circle id='moon' cx='104' cy='65' r='6'/></g></svg>",
                    "(101.1, 59.8): \"boat\" in layer \"whimsy\" and \"moon\" in layer \"whimsy\". Move one of them.\n");
}
END_TEST

/* A cut that was read in part may lack lines, so nothing is ready; of what is not cut nothing can be missing. */
START_TEST(a_cut_that_cannot_be_read_is_never_ready) {
    static const char sheet[] = "<svg xmlns='http://www.w3.org/2000/svg' width='50mm' height='50mm' viewBox='0 0 50 50' stroke='red'>"
                                "<rect width='40' height='30'/>%s</svg>";
    static const char *const lost[] = {"<path id='reed' d='M20 40 x'/>", "<rect width='1e999' height='4'/>",
                                       "<g transform='turn(3)'/>", "<use href='#gone'/>"};
    static const char *const kept[] = {"<g id='engrave'><path d='M5 5L9 9 x'/></g>", "<path display='none' d='M1 1L y'/>"};
    char svg[400];
    for (size_t i = 0; i < sizeof lost / sizeof *lost; i++) {
        snprintf(svg, sizeof svg, sheet, lost[i]);
        expect_in_check(svg, "Not ready to cut: 1 line that cannot be read as drawn.\n  - Not read as drawn: ");
    }
    for (size_t i = 0; i < sizeof kept / sizeof *kept; i++) {
        snprintf(svg, sizeof svg, sheet, kept[i]);
        dt_analysis *analysis = analyse_text("reed.svg", svg, strlen(svg), &usual);
        ck_assert(dt_analysis_verdict(analysis).clean_lines);
        dt_analysis_free(analysis);
    }
}
END_TEST

/* Outlines of their own, half a kerf inside: one sentence, and the pieces are those of single lines. */
START_TEST(inset_outlines_are_told_in_one_sentence) {
    draft *d = draft_new();
    for (int i = 0; i < 6; i++) draft_rectangle(d, 20 * (i % 3) + 0.1, 30 * (i / 3) + 0.1, 19.8, 29.8);
    dt_analysis *analysis = analyse(d, &usual);
    dt_text text = DT_TEXT_EMPTY;
    dt_report_check(analysis, &text);
    ck_assert_msg(strstr(text.bytes, "  - Each piece has an outline of its own, 0.20 mm from the next: "), "%s",
                  text.bytes);
    ck_assert_ptr_nonnull(strstr(text.bytes, "so draw one line there.\n"));
    ck_assert_uint_eq(dt_graph_pair_count(dt_analysis_graph(analysis)), 7);
    dt_text_free(&text);
    dt_analysis_free(analysis);
    draft_free(d);
}
END_TEST

/* A corner that all but meets a line, too short for a strip between two lines: the piece is named. */
START_TEST(a_strip_of_a_piece_names_the_piece) {
    draft *d = draft_new();
    draft_rectangle(d, 0, 0, 80, 60);
    draft_segment(d, 0, 20, 80, 20);
    const dt_point corner[] = {{20, 60}, {40, 20.25}, {70, 60}};
    draft_polyline(d, corner, 3, false);
    dt_analysis *analysis = analyse(d, &usual);
    dt_text text = DT_TEXT_EMPTY;
    dt_report_check(analysis, &text);
    ck_assert_msg(
        strstr(text.bytes,
               "  - Cuts only 0.25 mm apart at (45.0, 25.1): what is left of piece 2 between them burns away.") != NULL,
        "%s", text.bytes);
    ck_assert_ptr_null(strstr(text.bytes, "itself"));
    dt_text_free(&text);
    dt_analysis_free(analysis);
    draft_free(d);
}
END_TEST

/* Lists that nobody reads to their end say how much they leave out, for each kind of fault and for the twins. */
START_TEST(long_lists_are_cut_off_and_say_so) {
    draft *d = draft_new();
    draft_straight_sheet(d, 12, 12, 9, 9);
    for (int i = 0; i < 108; i++)
        draft_segment(d, 4.5 + 9 * (i % 12), 9 * (i / 12), 4.5 + 9 * (i % 12), 9 * (i / 12) + 2);
    draft_segment(d, 12, 102, 16, 104);
    dt_analysis *analysis = analyse(d, &usual);
    dt_text text = DT_TEXT_EMPTY;
    dt_report_check(analysis, &text);
    ck_assert_ptr_nonnull(strstr(text.bytes, "Stray line of 4.47 mm"));
    ck_assert_ptr_nonnull(strstr(text.bytes, "\n  - and 8 more tails: --json lists them all.\n"));
    ck_assert_ptr_nonnull(strstr(text.bytes, "\n  - and 10,196 more pairs of twins: --json lists them all.\n"));
    size_t lines = 0;
    for (const char *c = text.bytes; *c; c++) lines += *c == '\n';
    ck_assert_uint_lt(lines, 210);
    dt_text_free(&text);
    dt_analysis_free(analysis);
    draft_free(d);
}
END_TEST

/* A sheet of distinct knobs has no fault; whatever is not proved, the verdict must not claim. */
START_TEST(the_verdict_claims_no_more_than_is_known) {
    draft *d = draft_new();
    draft_knobbed_sheet(d, 4, 4, 30, 11, false);
    dt_analysis *analysis = analyse(d, &usual);
    dt_verdict verdict = dt_analysis_verdict(analysis);
    dt_text text = DT_TEXT_EMPTY;
    words_verdict(&text, analysis);
    ck_assert_int_eq(strstr(text.bytes, "Ready to cut") != NULL, verdict.ok);
    ck_assert_int_eq(strstr(text.bytes, "has one place only") != NULL, verdict.one_place);
    ck_assert_ptr_null(strstr(text.bytes, "Not ready"));
    dt_text_free(&text);
    dt_report_check(analysis, &text);
    ck_assert_ptr_eq(strchr(text.bytes, '\n'), text.bytes + text.length - 1); /* one line */
    dt_text_free(&text);
    dt_analysis_free(analysis);
    draft_free(d);
}
END_TEST

/* Two slips, the second longer by `more`; a knob stands on the right of each, that of the second `aside` farther down.
 */
static dt_analysis *two_slips(double more, bool knobs, double aside) {
    const double plain[6] = {0.5, 0.5, 0.5, 0.5, 0.5, 0.5};
    draft *d = draft_new();
    for (int i = 0; i < 2; i++) {
        double x = 60.0 * i, right = x + 20.0 + (i ? more : 0.0), low = i ? aside : 0.0;
        draft_move(d, (dt_point){right, 31});
        draft_line(d, (dt_point){x, 31});
        draft_line(d, (dt_point){x, 0});
        draft_line(d, (dt_point){right, 0});
        draft_line(d, (dt_point){right, 4 + low});
        if (knobs) draft_knob(d, (dt_point){right, 4 + low}, (dt_point){right, 27 + low}, 1, plain);
        draft_line(d, (dt_point){right, 31});
        draft_close(d);
    }
    dt_analysis *analysis = analyse(d, &usual);
    draft_free(d);
    return analysis;
}

static double told_move(const dt_analysis *analysis) {
    dt_text text = DT_TEXT_EMPTY;
    const dt_fit *fit = dt_analysis_fit(analysis);
    ck_assert_uint_eq(dt_fit_twin_count(fit), 1);
    words_twin(&text, analysis, dt_fit_twin(fit, 0));
    const char *by = strstr(text.bytes, " by about ");
    ck_assert_ptr_nonnull(by);
    double move = atof(by + strlen(" by about "));
    dt_text_free(&text);
    return move;
}

/* Really moved by as much as the sentence says, the line or the knob does tell them apart, and half of it would not. */
START_TEST(the_move_that_is_told_is_enough_and_not_much_more) {
    const double more[] = {0.0, 0.1, 0.16, 0.3};
    for (int i = 0; i < 4; i++) {
        dt_analysis *before = two_slips(more[i], false, 0.0);
        double move = told_move(before);
        for (int whole = 0; whole < 2; whole++) {
            dt_analysis *after = two_slips(more[i] + (whole ? move : 0.5 * (move - 0.15)), false, 0.0);
            ck_assert_uint_eq(dt_fit_twin_count(dt_analysis_fit(after)), !whole);
            dt_analysis_free(after);
        }
        dt_analysis_free(before);
    }
    dt_analysis *before = two_slips(0.0, true, 0.0), *after = two_slips(0.0, true, told_move(before));
    ck_assert_uint_eq(dt_fit_twin_count(dt_analysis_fit(after)), 0);
    dt_analysis_free(before);
    dt_analysis_free(after);
}
END_TEST

static void cut_across(draft *d, double y, double tip) {
    const dt_point points[] = {{0, y}, {8, y}, {13, y + tip}, {16, y - tip}, {20, y}, {30, y}};
    draft_polyline(d, points, 6, false);
}

/* Wrong pieces that lie along straight cuts are counted apart from those along shaped ones. */
START_TEST(false_mates_on_straight_borders_are_told_apart) {
    for (int shaped = 0; shaped < 2; shaped++) {
        draft *d = draft_new();
        draft_rectangle(d, 0, 0, 30, 61);
        cut_across(d, 15, shaped ? 5 : 0);
        cut_across(d, 33, shaped ? 5 : 0);
        dt_analysis *analysis = analyse(d, &usual);
        size_t all = dt_fit_false_mate_count(dt_analysis_fit(analysis)), telling = words_telling_mate_count(analysis);
        ck_assert_uint_gt(all, 0);
        ck_assert_uint_eq(telling, shaped ? all : 0);
        dt_text text = DT_TEXT_EMPTY;
        dt_report_summary(analysis, &text);
        ck_assert_int_eq(strstr(text.bytes, "On nearly straight borders") != NULL, !shaped);
        ck_assert_int_eq(strstr(text.bytes, "false mate") != NULL, shaped);
        dt_text_free(&text);
        dt_analysis_free(analysis);
        draft_free(d);
    }
}
END_TEST

/* A twin's sentence names the larger piece's place, its turn, and by how much to move what. */
START_TEST(twins_are_told_as_a_maker_wants_it) {
    draft *d = draft_new();
    draft_straight_sheet(d, 1, 2, 30, 20);
    dt_analysis *analysis = analyse(d, &usual);
    const dt_fit *fit = dt_analysis_fit(analysis);
    ck_assert_uint_eq(dt_fit_twin_count(fit), 1);
    dt_text text = DT_TEXT_EMPTY;
    words_twin(&text, analysis, dt_fit_twin(fit, 0));
    ck_assert_ptr_nonnull(strstr(text.bytes, "Piece 1 also fits the place of piece 2, "));
    ck_assert_ptr_nonnull(strstr(text.bytes, ": outlines differ by 0.00 mm, the laser takes 0.20. Move the line at ("));
    ck_assert_ptr_nonnull(strstr(text.bytes, " by about 0.5 mm to tell them apart."));
    dt_text_free(&text);
    dt_analysis_free(analysis);
    draft_free(d);
}
END_TEST

START_TEST(a_terminal_is_safe_from_names) {
    const char svg[] = "<svg xmlns='http://www.w3.org/2000/svg' width='60mm' height='60mm' viewBox='0 0 60 60'><g "
                       "id='&#x9B;31m&#x202E;cut'>"
                       "<path d='M5,5H55V55H5Z'/><path id='&#x85;reed' d='M30,5V54.8'/></g></svg>";
    dt_analysis *analysis = analyse_text("\x1B]0;x\a.svg", svg, sizeof svg - 1, &usual);
    dt_text text = DT_TEXT_EMPTY;
    dt_report_summary(analysis, &text);
    check_screen(text.bytes);
    ck_assert_ptr_null(strstr(text.bytes, "\xC2\x9B"));
    ck_assert_ptr_null(strstr(text.bytes, "\xE2\x80\xAE"));
    ck_assert_ptr_nonnull(strstr(text.bytes, "reed"));
    dt_text_free(&text);
    dt_analysis_free(analysis);
}
END_TEST

Suite *suite_report_words(void);
Suite *suite_report_words(void) {
    Suite *suite = suite_create("report_words");
    TCase *cases = tcase_create("report_words");
    tcase_add_test(cases, values_read_well);
    tcase_add_test(cases, the_summary_fits_one_screen);
    tcase_add_test(cases, a_gap_is_told_with_stroke_layer_size_and_remedy);
    tcase_add_test(cases, a_wide_gap_names_the_piece_that_two_became);
    tcase_add_test(cases, a_gap_between_parts_of_one_path_says_so);
    tcase_add_test(cases, inset_outlines_are_told_in_one_sentence);
    tcase_add_test(cases, figures_that_cross_are_named);
    tcase_add_test(cases, a_cut_that_cannot_be_read_is_never_ready);
    tcase_add_test(cases, a_strip_of_a_piece_names_the_piece);
    tcase_add_test(cases, long_lists_are_cut_off_and_say_so);
    tcase_add_test(cases, the_verdict_claims_no_more_than_is_known);
    tcase_add_test(cases, twins_are_told_as_a_maker_wants_it);
    tcase_add_test(cases, the_move_that_is_told_is_enough_and_not_much_more);
    tcase_add_test(cases, false_mates_on_straight_borders_are_told_apart);
    tcase_add_test(cases, a_terminal_is_safe_from_names);
    suite_add_tcase(suite, cases);
    return suite;
}
