/* The picture of a draft: the words below it stay within it. */
#include "ink.h"
#include <check.h>
#include <dovetell/analysis.h>
#include <dovetell/report.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static double attribute(const char *svg, const char *name) {
    const char *at = strstr(svg, name);
    ck_assert_ptr_nonnull(at);
    return strtod(at + strlen(name), NULL);
}

/* A narrow draft, whose verdict is longer than one line: the last letter's width at the right stays white all the way
 * down. */
START_TEST(words_stay_off_the_right_border) {
    static const double PX_PER_MM = 96.0 / 25.4;
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_analysis *analysis = NULL;
    dt_error error = {0};
    dt_text svg = DT_TEXT_EMPTY;
    settings.two_sided = true;
    ck_assert_int_eq(dt_analyse("corpus/counts/pentominoes-3x20.svg", &settings, NULL, &analysis, &error), DT_OK);
    ck_assert_int_eq(dt_report_svg(analysis, &svg), DT_OK);
    double width = attribute(svg.bytes, "width=\"") * PX_PER_MM, height = attribute(svg.bytes, "height=\"") * PX_PER_MM;
    cairo_surface_t *surface = ink_render(&svg, (raster_size){width, height, 1.0});
    int right = cairo_image_surface_get_width(surface) - 1, letter = (int)ceil(2.4 * PX_PER_MM);
    ck_assert(ink_is_plain(surface, right - letter, 1, right, cairo_image_surface_get_height(surface) - 1));
    ck_assert(!ink_is_plain(surface, 0, 1, right, cairo_image_surface_get_height(surface) - 1));
    cairo_surface_destroy(surface);
    dt_text_free(&svg);
    dt_analysis_free(analysis);
}
END_TEST

Suite *suite_report_picture(void);
Suite *suite_report_picture(void) {
    Suite *suite = suite_create("report_picture");
    TCase *words = tcase_create("words");
    tcase_add_test(words, words_stay_off_the_right_border);
    suite_add_tcase(suite, words);
    return suite;
}
