/* The SVG reader: what each construct gives, in millimetres. Unless a check says otherwise its values follow from the SVG
 * specifications by hand. */
#include <check.h>
#include <dovetell/drawing.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* A drawing of 100 x 100 mm whose user unit is a millimetre, around `content`. */
static char *framed(const char *content) {
    static char text[8192];
    snprintf(text, sizeof text,
             "<svg xmlns='http://www.w3.org/2000/svg' xmlns:xlink='http://www.w3.org/1999/xlink' width='100mm' height='100mm' "
             "viewBox='0 0 100 100' fill='none' stroke='#000'>%s</svg>",
             content);
    return text;
}

static dt_drawing *read_text(const char *text) {
    const dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_error error = {0};
    dt_drawing *drawing = NULL;
    dt_status status = dt_drawing_read_memory("test.svg", text, strlen(text), &settings, &drawing, &error);
    ck_assert_msg(status == DT_OK, "%s", error.message);
    return drawing;
}

static dt_status failure(const char *text, const dt_settings *settings, dt_error *error) {
    dt_drawing *drawing = NULL;
    dt_status status = dt_drawing_read_memory("test.svg", text, strlen(text), settings, &drawing, error);
    ck_assert_msg(status != DT_OK, "this must not be read: %.60s", text);
    ck_assert_ptr_null(drawing);
    ck_assert_int_eq(error->code, status);
    ck_assert_ptr_nonnull(strstr(error->message, "\"test.svg\""));
    return status;
}

static void expect_point(dt_path path, size_t index, double x, double y) {
    ck_assert_uint_lt(index, path.count);
    ck_assert_double_eq_tol(path.points[index].x, x, 1e-9);
    ck_assert_double_eq_tol(path.points[index].y, y, 1e-9);
}

static void expect_box(const dt_drawing *d, double x1, double y1, double x2, double y2) {
    dt_strokes s = dt_drawing_strokes(d);
    dt_box box = DT_BOX_EMPTY;
    for (size_t i = 0; i < s.count; i++) box = dt_box_join(box, dt_box_of(s.strokes[i].path));
    ck_assert_double_eq_tol(box.low.x, x1, 1e-9);
    ck_assert_double_eq_tol(box.low.y, y1, 1e-9);
    ck_assert_double_eq_tol(box.high.x, x2, 1e-9);
    ck_assert_double_eq_tol(box.high.y, y2, 1e-9);
}

static bool has_note(const dt_drawing *d, const char *part) {
    for (size_t i = 0; i < dt_drawing_note_count(d); i++)
        if (strstr(dt_drawing_note(d, i).text, part)) return true;
    return false;
}

START_TEST(lines_shapes_and_groups) {
    dt_drawing *d = read_text(framed("<g id='wing' transform='translate(10 20)'><path id='a' d='M0 0 h10 v5 z'/>"
                                     "<line x1='1' y1='2' x2='3' y2='4'/></g><rect x='5' y='6' width='7' height='8'/>"));
    dt_strokes s = dt_drawing_strokes(d);
    ck_assert_uint_eq(s.count, 3);
    ck_assert_uint_eq(s.strokes[0].path.count, 3);
    expect_point(s.strokes[0].path, 0, 10, 20);
    expect_point(s.strokes[0].path, 2, 20, 25);
    ck_assert(s.strokes[0].closed && s.strokes[0].lone);
    ck_assert_str_eq(s.strokes[0].name, "a");
    ck_assert_str_eq(s.strokes[0].layer, "wing");
    ck_assert_uint_eq(s.strokes[0].colour, 0);
    ck_assert_uint_eq(s.strokes[0].line, 1);
    expect_point(s.strokes[1].path, 1, 13, 24);
    ck_assert(!s.strokes[1].closed);
    ck_assert_uint_eq(s.strokes[2].path.count, 4);
    ck_assert_str_eq(s.strokes[2].layer, "");
    ck_assert_double_eq_tol(dt_drawing_width(d), 100.0, 1e-9);
    ck_assert_int_eq(dt_drawing_unit_source(d), DT_UNITS_PHYSICAL);
    dt_drawing_free(d);
}
END_TEST

START_TEST(nothing_to_cut_is_said) {
    const dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_error error = {0};
    ck_assert_int_eq(failure(framed(""), &settings, &error), DT_NO_LINES);
    ck_assert_int_eq(failure("", &settings, &error), DT_NOT_SVG);
    ck_assert_int_eq(failure("<html/>", &settings, &error), DT_NOT_SVG);
    ck_assert_int_eq(failure("<svg><g></svg>", &settings, &error), DT_NOT_SVG);
    ck_assert_int_eq(failure("no drawing", &settings, &error), DT_NOT_SVG);
}
END_TEST

START_TEST(width_scales_the_cut_lines) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.width_mm = 50.0;
    dt_drawing *d = NULL;
    const char *text = framed("<path d='M10 10 h20 v20'/>");
    ck_assert_int_eq(dt_drawing_read_memory("test.svg", text, strlen(text), &settings, &d, NULL), DT_OK);
    expect_box(d, 25, 25, 75, 75);
    ck_assert_int_eq(dt_drawing_unit_source(d), DT_UNITS_OPTION);
    dt_drawing_free(d);
}
END_TEST

START_TEST(fills_without_strokes_are_outlines) {
    dt_drawing *d = read_text("<svg xmlns='http://www.w3.org/2000/svg'><rect width='96' height='48' fill='#fa0'/></svg>");
    expect_box(d, 0, 0, 25.4, 12.7);
    dt_strokes s = dt_drawing_strokes(d);
    ck_assert_uint_eq(s.count, 1);
    ck_assert_uint_eq(s.fill_count, 1);
    ck_assert_uint_eq(s.fills[0].colour, 0xFFAA00);
    ck_assert(has_note(d, "outlines of the filled shapes"));
    ck_assert_int_eq(dt_drawing_unit_source(d), DT_UNITS_96DPI);
    dt_drawing_free(d);
}
END_TEST

Suite *suite_drawing_reader(void);
Suite *suite_drawing_reader(void) {
    Suite *suite = suite_create("drawing_reader");
    TCase *tests = tcase_create("reader");
    tcase_add_test(tests, lines_shapes_and_groups);
    tcase_add_test(tests, nothing_to_cut_is_said);
    tcase_add_test(tests, width_scales_the_cut_lines);
    tcase_add_test(tests, fills_without_strokes_are_outlines);
    suite_add_tcase(suite, tests);
    return suite;
}
