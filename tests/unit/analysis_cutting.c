/* Time at the laser on drawings with known lengths and ways; travel at 200 mm/s (common practice: 200 to 500). */
#include <dovetell/analysis.h>

#include <check.h>
#include <string.h>

static dt_cutting_time time_of(const char *lines, double speed) {
    char svg[600] = "<svg xmlns='http://www.w3.org/2000/svg' width='200mm' height='200mm' viewBox='0 0 200 200'>";
    strncat(svg, lines, sizeof svg - strlen(svg) - 1);
    strncat(svg, "</svg>", sizeof svg - strlen(svg) - 1);
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.speed_mm_per_s = speed;
    dt_analysis *a = NULL;
    dt_error error = {0};
    ck_assert_msg(dt_analyse_memory("a.svg", svg, strlen(svg), &settings, NULL, &a, &error) == DT_OK, "%s",
                  error.message);
    dt_cutting_time time;
    ck_assert(dt_analysis_cutting(a, &time));
    dt_analysis_free(a);
    return time;
}

/* From the corner of the sheet 50 mm (3-4-5) to the first square, 60 mm on to the second; each closes where it began.
 */
START_TEST(squares_one_below_the_other) {
    dt_cutting_time time =
        time_of("<rect x='30' y='100' width='20' height='20'/><rect x='30' y='40' width='10' height='10'/>", 10);
    ck_assert_double_eq_tol(time.cut_min * 60, (80 + 40) / 10.0, 1e-9);
    ck_assert_double_eq_tol(time.travel_min * 60, (50 + 60) / 200.0, 1e-9);
}
END_TEST

/* A line is begun at its nearer end: after the square at (30, 40) the upper end of the cut through it is 5 mm away. The
 * cut is drawn twice but counts once; the head goes its 10 mm back for the second line, which begins where the first
 * ended. */
START_TEST(a_line_begins_at_its_nearer_end) {
    dt_cutting_time once = time_of("<rect x='30' y='40' width='10' height='10'/><path d='M35 50V40'/>", 20);
    ck_assert_double_eq_tol(once.cut_min * 60, 50 / 20.0, 1e-9);
    ck_assert_double_eq_tol(once.travel_min * 60, (50 + 5) / 200.0, 1e-9);
    dt_cutting_time twice = time_of("<rect x='30' y='40' width='10' height='10'/><path d='M35 50V40M35 40V50'/>", 20);
    ck_assert_double_eq_tol(twice.cut_min * 60, 50 / 20.0, 1e-9);
    ck_assert_double_eq_tol(twice.travel_min * 60, (50 + 5) / 200.0, 1e-9);
}
END_TEST

Suite *suite_analysis_cutting(void);
Suite *suite_analysis_cutting(void) {
    Suite *suite = suite_create("analysis_cutting");
    TCase *cases = tcase_create("analysis_cutting");
    tcase_add_test(cases, squares_one_below_the_other);
    tcase_add_test(cases, a_line_begins_at_its_nearer_end);
    suite_add_tcase(suite, cases);
    return suite;
}
