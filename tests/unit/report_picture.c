/* The picture of a draft: the words below it stay within it, and pieces that trade places can be told apart. */
#include "ink.h"
#include <check.h>
#include <dovetell/analysis.h>
#include <dovetell/report.h>
#include <math.h>
#include <stdio.h>
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

/* How the next piece that trades places looks: its colour and the marks over it, as classes; NULL after the last. */
static const char *next_look(const char *at, char look[8]) {
    const char *path = strstr(at, "<path class=\"m");
    if (!path) return NULL;
    const char *end = strchr(path, '\n');
    ck_assert_ptr_nonnull(end);
    const char *over = strstr(path, "<path class=\"over-");
    snprintf(look, 8, "%c%c", path[14], over && over < end ? over[18] : '-');
    return end;
}

/* More pieces trade places than there are colours: none looks like another, and each looks alike in both assemblies. */
START_TEST(pieces_that_trade_places_look_different) {
    enum { MOST = 18 };
    static const char *const DRAFT = "corpus/counts/pentominoes-6x10.svg";
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_analysis *analysis = NULL;
    dt_error error = {0};
    dt_text svg = DT_TEXT_EMPTY;
    char looks[2 * MOST][8];
    settings.two_sided = true;
    ck_assert_int_eq(dt_analyse(DRAFT, &settings, NULL, &analysis, &error), DT_OK);
    ck_assert_int_eq(dt_report_svg(analysis, &svg), DT_OK);
    size_t moved = dt_analysis_assembly(analysis)->other_count, count = 0;
    ck_assert_uint_gt(moved, 6);
    ck_assert_uint_le(moved, MOST);
    for (const char *at = svg.bytes; count < 2 * moved && (at = next_look(at, looks[count])); count++) continue;
    ck_assert_uint_eq(count, 2 * moved);
    for (size_t i = 0; i < moved; i++) {
        ck_assert_str_eq(looks[i], looks[moved + i]);
        for (size_t k = 0; k < i; k++) ck_assert_str_ne(looks[i], looks[k]);
    }
    dt_text_free(&svg);
    dt_analysis_free(analysis);
}
END_TEST

Suite *suite_report_picture(void);
Suite *suite_report_picture(void) {
    Suite *suite = suite_create("report_picture");
    TCase *words = tcase_create("words");
    TCase *moved = tcase_create("moved");
    tcase_add_test(words, words_stay_off_the_right_border);
    tcase_add_test(moved, pieces_that_trade_places_look_different);
    suite_add_tcase(suite, words);
    suite_add_tcase(suite, moved);
    return suite;
}
