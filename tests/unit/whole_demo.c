/* What the README shows of the demo's drafts: the twins of the first, the proof of the third. Organic outlines have hardly
 * a sharp corner to begin at, so this also guards that the search finds its way there: with the kerf's whole play it
 * takes some 2,700 steps, and so the page that follows each save tells it at its first look. */
#include <dovetell/analysis.h>

#include <check.h>

static dt_analysis *analyse(const char *path) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_analysis *a = NULL;
    dt_error error = {0};
    settings.steps = 4000; /* those of the first look */
    ck_assert_msg(dt_analyse(path, &settings, NULL, &a, &error) == DT_OK, "%s", error.message);
    return a;
}

START_TEST(the_first_draft_has_twins) {
    dt_analysis *a = analyse("corpus/demo/heron-1.svg");
    ck_assert_int_eq(dt_analysis_assembly(a)->verdict, DT_SEVERAL);
    ck_assert(dt_analysis_finds_wrong(a));
    dt_analysis_free(a);
}
END_TEST

START_TEST(the_third_draft_is_proved) {
    dt_analysis *a = analyse("corpus/demo/heron-3.svg");
    ck_assert_int_eq(dt_analysis_assembly(a)->verdict, DT_ONE);
    ck_assert(dt_analysis_verdict(a).ok);
    dt_analysis_free(a);
}
END_TEST

Suite *suite_whole_demo(void);
Suite *suite_whole_demo(void) {
    Suite *suite = suite_create("whole_demo");
    TCase *cases = tcase_create("whole_demo");
    tcase_add_test(cases, the_first_draft_has_twins);
    tcase_add_test(cases, the_third_draft_is_proved);
    suite_add_tcase(suite, cases);
    return suite;
}
