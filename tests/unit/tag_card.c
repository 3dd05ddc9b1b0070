/* The tag: its phrases, and that the card stays legible and whole whatever the name. */
#include "ink.h"
#include "report/tag.h"
#include <check.h>
#include <dovetell/tag.h>
#include <string.h>

static const tag_facts HERON = {.name = "Heron among reeds",
                                .pieces = 61,
                                .whimsies = 3,
                                .small_parts = 12,
                                .corners = 4,
                                .width_mm = 210,
                                .height_mm = 148,
                                .thickness_mm = 3,
                                .colours = 1,
                                .tell_tale_edge = true,
                                .points = 57.3,
                                .low_min = 33,
                                .high_min = 86,
                                .band = DT_STEADY};

START_TEST(text_says_all_that_a_listing_needs) {
    dt_text text = DT_TEXT_EMPTY;
    tag_text(&HERON, &text);
    ck_assert_str_eq(
        text.bytes,
        "Heron among reeds\n61 pieces, 3 whimsies\nFinished size: 210 \xC3\x97 148 mm\nSheet: 3 mm plywood\n"
        "Edge: easy to spot, 4 corners\nFace: no picture\nDifficulty: steady (step 3 of 6, 57 points), 35 to 85 "
        "minutes "
        "for the middle half of people (an estimate)\nChoking hazard: small parts. Not for children under 3. The law "
        "decides: 16 CFR 1500.19 and 1501, EN 71-1 (text of 2026).\n");
    dt_text_free(&text);
}
END_TEST

START_TEST(the_seal_stands_only_where_it_was_proved) {
    tag_facts f = HERON;
    for (int proved = 0; proved < 2; proved++) {
        dt_text svg = DT_TEXT_EMPTY, text = DT_TEXT_EMPTY;
        f.one_place = proved;
        tag_svg(&f, &svg);
        tag_text(&f, &text);
        ck_assert_int_eq(strstr(svg.bytes, TAG_ONE_PLACE) != NULL, proved);
        ck_assert_int_eq(strstr(text.bytes, TAG_ONE_PLACE) != NULL, proved);
        dt_text_free(&svg);
        dt_text_free(&text);
    }
}
END_TEST

typedef struct span {
    double low, high;
    const char *words;
} span;

static const span SPANS[] = {
    {0.1, 0.4, "under a minute"},       {0.4, 1.1, "about 1 minute"},  {3.6, 9.4, "4 to 9 minutes"},
    {7.2, 18.9, "7 to 20 minutes"},     {38, 99, "40 to 100 minutes"}, {40, 101, "\xC2\xBD to 1\xC2\xBD hours"},
    {141, 370, "2\xC2\xBD to 6 hours"}, {620, 1590, "10 to 27 hours"}, {11110, 28500, "190 to 480 hours"},
};

START_TEST(hours_are_no_more_exact_than_they_are) {
    tag_facts f = HERON;
    dt_text text = DT_TEXT_EMPTY;
    f.low_min = SPANS[_i].low;
    f.high_min = SPANS[_i].high;
    tag_hours(&f, &text);
    ck_assert_str_eq(text.bytes, SPANS[_i].words);
    dt_text_free(&text);
}
END_TEST

static cairo_surface_t *render(const tag_facts *f) {
    dt_text svg = DT_TEXT_EMPTY;
    tag_svg(f, &svg);
    cairo_surface_t *surface = ink_render(&svg, (raster_size){TAG_WIDTH, TAG_HEIGHT, 1.0});
    ck_assert_int_eq(cairo_image_surface_get_width(surface), TAG_WIDTH);
    dt_text_free(&svg);
    return surface;
}

static const char *const NAMES[] = {
    "Boat",
    "Heron among reeds at first light",
    "WWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWW",
    "WWWWWWWWWWWWWWWWWW MMMMMMMMMMMMMMMMMMMMM @@@@@@@@@@@@@@@@@@@@@@@@@@ %%%%%%%%%%%%%%%%%%%%%%%%%%%%%%%%%",
    "iiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiiii",
    "\xC3\x84\xC3\x96\xC3\x9C\xC3\x84\xC3\x96\xC3\x9C\xC3\x84\xC3\x96\xC3\x9C\xC3\x84\xC3\x96\xC3\x9C\xC3\x84\xC3\x96"
    "\xC3\x9C\xC3\x84\xC3\x96\xC3\x9C\xC3\x84\xC3\x96\xC3\x9C\xC3\x84\xC3\x96\xC3\x9C",
    "</text><script>alert(1)</script>&amp;\"'",
};

/* Between the words on the left and the panel on the right there is a margin; nothing touches the bottom. */
START_TEST(names_of_any_length_stay_on_their_side) {
    tag_facts f = HERON;
    f.name = NAMES[_i];
    f.pieces = 5000;
    f.whimsies = 1234;
    f.two_sided = true;
    f.material = DT_ACRYLIC;
    f.thickness_mm = 3.25;
    f.colours = 1000;
    f.picture = DT_PICTURE_FAINT;
    f.width_mm = 9999;
    f.height_mm = 9999;
    f.one_place = true;
    cairo_surface_t *surface = render(&f);
    ck_assert(ink_is_plain(surface, 384, 4, 391, 296));
    ck_assert(ink_is_plain(surface, 8, 286, 391, 296));
    ck_assert(!ink_is_plain(surface, 28, 20, 384, 100));
    cairo_surface_destroy(surface);
}
END_TEST

START_TEST(a_hostile_name_is_only_a_name) {
    tag_facts f = HERON;
    dt_text svg = DT_TEXT_EMPTY, page = DT_TEXT_EMPTY;
    f.name = "<script>alert(1)</script>";
    tag_svg(&f, &svg);
    tag_html(&f, &page);
    ck_assert_ptr_null(strstr(svg.bytes, "<script"));
    ck_assert_ptr_null(strstr(page.bytes, "<script"));
    ck_assert_ptr_nonnull(strstr(page.bytes, "default-src 'none'"));
    dt_text_free(&svg);
    dt_text_free(&page);
}
END_TEST

/* Higher water for more points, step by step. */
START_TEST(the_water_rises_with_the_points) {
    double before = TAG_HEIGHT;
    for (int points = 0; points <= 120; points += 8) {
        tag_facts f = HERON;
        f.points = points;
        f.band = dt_band_of(points);
        cairo_surface_t *surface = render(&f);
        int y = 0; /* first row of deep water in the staff */
        const unsigned char *data = cairo_image_surface_get_data(surface);
        int stride = cairo_image_surface_get_stride(surface);
        while (y < TAG_HEIGHT - 1 && data[y * stride + 4 * 434 + 2] != 0x2C) y++;
        ck_assert_int_gt(y, 40);
        ck_assert_double_le(y, before);
        before = y;
        cairo_surface_destroy(surface);
    }
    ck_assert_double_le(before, 56);
}
END_TEST

START_TEST(forms_by_ending) {
    dt_tag_form form;
    ck_assert(dt_tag_form_of("a/b.SVG", &form) && form == DT_TAG_SVG);
    ck_assert(dt_tag_form_of("tag.txt", &form) && form == DT_TAG_TEXT);
    ck_assert(!dt_tag_form_of("tag.jpg", &form) && !dt_tag_form_of("tag", &form));
}
END_TEST

START_TEST(a_pdf_is_the_same_each_time) {
    dt_text svg = DT_TEXT_EMPTY, one = DT_TEXT_EMPTY, two = DT_TEXT_EMPTY;
    tag_svg(&HERON, &svg);
    ck_assert_int_eq(raster_pdf(&svg, (raster_size){TAG_WIDTH, TAG_HEIGHT, 1.0}, &one), DT_OK);
    ck_assert_int_eq(raster_pdf(&svg, (raster_size){TAG_WIDTH, TAG_HEIGHT, 1.0}, &two), DT_OK);
    ck_assert_uint_gt(one.length, 1000);
    ck_assert_uint_eq(one.length, two.length);
    ck_assert_mem_eq(one.bytes, two.bytes, one.length);
    ck_assert_mem_eq(one.bytes, "%PDF-", 5);
    svg.length = 0;
    ck_assert_int_eq(raster_pdf(&svg, (raster_size){TAG_WIDTH, TAG_HEIGHT, 1.0}, &two), DT_LIBRARY);
    dt_text_free(&svg);
    dt_text_free(&one);
    dt_text_free(&two);
}
END_TEST

Suite *suite_tag_card(void);
Suite *suite_tag_card(void) {
    Suite *suite = suite_create("tag_card");
    TCase *cases = tcase_create("tag_card");
    tcase_add_test(cases, text_says_all_that_a_listing_needs);
    tcase_add_test(cases, the_seal_stands_only_where_it_was_proved);
    tcase_add_loop_test(cases, hours_are_no_more_exact_than_they_are, 0, (int)(sizeof SPANS / sizeof *SPANS));
    tcase_add_loop_test(cases, names_of_any_length_stay_on_their_side, 0, (int)(sizeof NAMES / sizeof *NAMES));
    tcase_add_test(cases, a_hostile_name_is_only_a_name);
    tcase_add_test(cases, the_water_rises_with_the_points);
    tcase_add_test(cases, forms_by_ending);
    tcase_add_test(cases, a_pdf_is_the_same_each_time);
    suite_add_tcase(suite, cases);
    return suite;
}
