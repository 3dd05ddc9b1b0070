/* Path data: numbers, commands, errors. Sources beside the checks. */
#include <check.h>
#include <dovetell/drawing.h>
#include "drawing/scan.h"
#include "geom/flatten.h"

#include <locale.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static dt_strokes read_path(const char *d, double tolerance, size_t *error_at) {
    dt_strokes s = {0};
    ck_assert_int_eq(dt_path_data_read(d, tolerance, &s, error_at), DT_OK);
    return s;
}

/* The points of the only stroke are these. */
static void expect(const char *d, const double *xy, size_t count, bool closed) {
    size_t error_at = 0;
    dt_strokes s = read_path(d, 1e-3, &error_at);
    ck_assert_msg(error_at == SIZE_MAX, "%s: error at %zu", d, error_at);
    ck_assert_uint_eq(s.count, 1);
    ck_assert_msg(s.strokes[0].path.count == count, "%s: %zu points", d, s.strokes[0].path.count);
    ck_assert_int_eq(s.strokes[0].closed, closed);
    for (size_t i = 0; i < count; i++) {
        ck_assert_double_eq_tol(s.strokes[0].path.points[i].x, xy[2 * i], 1e-12);
        ck_assert_double_eq_tol(s.strokes[0].path.points[i].y, xy[2 * i + 1], 1e-12);
    }
    dt_strokes_free(&s);
}
#define EXPECT(d, closed, ...) \
    expect((d), (const double[]){__VA_ARGS__}, sizeof((const double[]){__VA_ARGS__}) / (2 * sizeof(double)), (closed))

/* SVG 2, 9.3: the shortest ways of writing numbers. */
START_TEST(compact_numbers) {
    EXPECT("M100-200L0 0", false, 100, -200, 0, 0);
    EXPECT("M 0.6.5 1 1", false, 0.6, 0.5, 1, 1);
    EXPECT("M.5.5.25-.25", false, 0.5, 0.5, 0.25, -0.25);
    EXPECT("M1e1+1E-1 2,3", false, 10, 0.1, 2, 3);
    EXPECT(" \t\n\rM1.,2.L3.5e0 4", false, 1, 2, 3.5, 4);
    EXPECT("m1 1 2 0 0 2z", true, 1, 1, 3, 1, 3, 3);
    EXPECT("M0 0h1 2v3", false, 0, 0, 1, 0, 3, 0, 3, 3);
}
END_TEST

/* facts.md: `a1 1 0 0110 10` holds the flags 0 and 1, then (10,10). */
START_TEST(arc_flags_without_gaps) {
    dt_strokes s = read_path("M0 0a1 1 0 0110 10", 1e-3, NULL), t = read_path("M0 0a1,1 0 0,1 10,10", 1e-3, NULL);
    ck_assert_uint_eq(s.count, 1);
    ck_assert_uint_eq(s.strokes[0].path.count, t.strokes[0].path.count);
    dt_point end = s.strokes[0].path.points[s.strokes[0].path.count - 1];
    ck_assert_double_eq(end.x, 10.0);
    ck_assert_double_eq(end.y, 10.0);
    /* The radii grow until the chord is a diameter: a half circle of radius sqrt(50), clockwise as seen. */
    ck_assert_double_eq_tol(fabs(dt_path_area(s.strokes[0].path)), 25.0 * acos(-1.0), 0.02);
    dt_strokes_free(&s);
    dt_strokes_free(&t);
}
END_TEST

/* The SVG specification's own example of an arc: 3/4 of a circle of radius 150, area 53014.376. */
START_TEST(arc_area) {
    dt_strokes s = read_path("M300,200 h-150 a150,150 0 1,0 150,-150 z", 1e-6, NULL);
    ck_assert_uint_eq(s.count, 1);
    ck_assert(s.strokes[0].closed);
    ck_assert_double_eq_tol(fabs(dt_path_area(s.strokes[0].path)), 53014.376, 1e-3);
    dt_strokes_free(&s);
}
END_TEST

/* facts.md, own derivation: the cubic (0,0)(0,1)(1,1)(1,0) has length 2 and encloses 3/5 with its chord. */
START_TEST(cubic_length_and_area) {
    dt_strokes s = read_path("M0 0C0 1 1 1 1 0", 1e-7, NULL);
    ck_assert_double_eq_tol(dt_path_length(s.strokes[0].path), 2.0, 1e-5);
    ck_assert_double_eq_tol(fabs(dt_path_area(s.strokes[0].path)), 0.6, 1e-6);
    dt_strokes_free(&s);
}
END_TEST

/* SVG 2, 9.5.4: what comes before the first error is drawn. {text, points kept, offset of the error}. */
static const struct wrong {
    const char *d;
    size_t points, at;
} wrongs[] = {
    {"M 10,10 L 20,20,30", 2, 18}, {"M10 10L20 20 L30,,4", 2, 17}, {"L10 10", 0, 0},        {"10 10", 0, 0},
    {"M10 10 20 20 X 5 5", 2, 13}, {"M10 10L20 20 L", 2, 14},      {"M0 0L1 1,", 2, 9},     {"M0 0,L1 1", 0, 5},
    {"M0 0L1 1 L1e999 0", 2, 10},  {"M0 0L1 1Lnan 0", 2, 9},       {"M0 0L1 1Linf 0", 2, 9}, {"M0 0L0x10 0", 0, 6},
    {"M0 0h1a1 1 0 2 1 3 3", 2, 13}, {"M0 0 l1 1 1e300 0", 2, 10},  {"M0 0L5 5z5 5", 2, 9}, {"M", 0, 1},
    {"M0 0h1 A1e-9 9e9 0 0 0 9e9 0", 2, 7},
};

START_TEST(errors_keep_the_start) {
    const struct wrong *w = &wrongs[_i];
    size_t error_at = 0;
    dt_strokes s = read_path(w->d, 1e-3, &error_at);
    ck_assert_msg(error_at == w->at, "%s: error at %zu, not %zu", w->d, error_at, w->at);
    size_t points = s.count ? s.strokes[0].path.count : 0;
    ck_assert_msg(points == w->points, "%s: %zu points", w->d, points);
    dt_strokes_free(&s);
}
END_TEST

START_TEST(subpaths) {
    dt_strokes s = read_path("M0 0h1zm5 5h1v1M9 9zM8 8 8 8 9 9 8 8", 1e-3, NULL);
    ck_assert_uint_eq(s.count, 3);
    ck_assert(s.strokes[0].closed && !s.strokes[1].closed && s.strokes[2].closed);
    ck_assert(!s.strokes[0].lone);
    ck_assert_double_eq(s.strokes[1].path.points[0].x, 5.0); /* relative to the start of the one before */
    ck_assert_uint_eq(s.strokes[2].path.count, 2);
    dt_strokes_free(&s);
    s = read_path("none", 1e-3, NULL);
    ck_assert_uint_eq(s.count, 0);
    dt_strokes_free(&s);
}
END_TEST

/* Every number that C prints comes back to the bit, whatever the locale (the C library's printf and strtod are the judges). */
START_TEST(numbers_are_exact) {
    const char *comma = setlocale(LC_NUMERIC, "de_DE.UTF-8"); /* where it is installed: a decimal comma */
    static const char *const texts[] = {"0.1", "1e23", "8.5e-324", "2.2250738585072011e-308", "1.7976931348623157e308", "5e-324",
        "9007199254740993", "0.500000000000000166533453693773481063544750213623046875", "179769313486231580793728971405301e275",
        "123456789012345678901234567890", "1e-400", "3.518437208883201171875e13", "00000000000000000000000.00000000000000000001"};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        const char *at = texts[i];
        double found = 0.0;
        ck_assert(scan_number(&at, &found));
        ck_assert_int_eq(*at, '\0');
        setlocale(LC_NUMERIC, "C");
        ck_assert_msg(found == strtod(texts[i], NULL), "%s -> %.17g", texts[i], found);
        if (comma) setlocale(LC_NUMERIC, "de_DE.UTF-8");
    }
    setlocale(LC_NUMERIC, "C");
}
END_TEST

START_TEST(random_numbers_are_exact) {
    uint64_t state = 12345;
    for (int i = 0; i < 20000; i++) {
        state = state * 6364136223846793005u + 1442695040888963407u;
        double value;
        uint64_t bits = state ^ state >> 29;
        memcpy(&value, &bits, sizeof value);
        if (!isfinite(value)) continue;
        char text[64];
        snprintf(text, sizeof text, "%.*e", (int)(state >> 60) + 4, value);
        const char *at = text;
        double found = 0.0;
        ck_assert(scan_number(&at, &found));
        ck_assert_msg(found == strtod(text, NULL), "%s -> %.17g", text, found);
    }
}
END_TEST

/* Half way between 1 and the next double, told apart only by the 800th digit. */
START_TEST(rounding_sees_the_last_digit) {
    char text[1024] = "1.00000000000000011102230246251565404236316680908203125";
    size_t length = strlen(text);
    memset(text + length, '0', 800);
    text[length + 800] = '\0';
    const char *at = text;
    double even = 0.0, above = 0.0;
    ck_assert(scan_number(&at, &even));
    ck_assert_double_eq(even, 1.0);
    text[length + 799] = '1';
    at = text;
    ck_assert(scan_number(&at, &above));
    ck_assert_double_eq(above, nextafter(1.0, 2.0));
}
END_TEST

/* ---- flattening ---- */

static dt_point cubic_at(const dt_point p[4], double t) {
    double u = 1.0 - t;
    double a = u * u * u, b = 3 * u * u * t, c = 3 * u * t * t, d = t * t * t;
    return (dt_point){a * p[0].x + b * p[1].x + c * p[2].x + d * p[3].x, a * p[0].y + b * p[1].y + c * p[2].y + d * p[3].y};
}

static dt_point random_point(uint64_t *state) {
    double v[2];
    for (int i = 0; i < 2; i++) {
        *state = *state * 6364136223846793005u + 1442695040888963407u;
        v[i] = (double)(*state >> 11) / 9007199254740992.0 * 100.0;
    }
    return (dt_point){v[0], v[1]};
}

/* Every point of the curve lies within the tolerance of its polyline, every corner of the polyline on the curve's box. */
START_TEST(cubics_stay_within_tolerance) {
    uint64_t state = (uint64_t)_i + 1;
    dt_point p[4];
    for (int i = 0; i < 4; i++) p[i] = random_point(&state);
    if (_i % 5 == 1) p[3] = p[0];
    if (_i % 5 == 2) p[1] = p[0];
    if (_i % 5 == 3) p[2] = dt_point_add(p[1], dt_point_scale(dt_point_sub(p[1], p[0]), 2.0)); /* nearly a cusp */
    dt_points points = {0};
    ck_assert(dt_array_push(&points, p[0]));
    ck_assert(dt_flatten_cubic(&points, p, 0.01));
    const dt_path path = {points.items, points.count};
    for (int i = 0; i <= 500; i++) ck_assert_double_le(dt_path_distance(path, false, cubic_at(p, i / 500.0)), 0.01 + 1e-9);
    dt_box tight = dt_cubic_box(p), found = dt_box_of(path);
    ck_assert_double_ge(found.low.x, tight.low.x - 1e-9);
    ck_assert_double_le(found.high.y, tight.high.y + 1e-9);
    ck_assert_double_le(fabs(found.low.x - tight.low.x), 0.01);
    ck_assert_double_le(fabs(found.high.y - tight.high.y), 0.01);
    dt_point back[4] = {p[3], p[2], p[1], p[0]};
    dt_points reverse = {0};
    ck_assert(dt_array_push(&reverse, p[3]));
    ck_assert(dt_flatten_cubic(&reverse, back, 0.01));
    ck_assert_uint_eq(reverse.count, points.count);
    for (size_t i = 0; i < points.count; i++)
        ck_assert_double_le(dt_point_distance(points.items[i], reverse.items[points.count - 1 - i]), 1e-12);
    dt_array_free(&points);
    dt_array_free(&reverse);
}
END_TEST

START_TEST(arcs_stay_within_tolerance) {
    uint64_t state = (uint64_t)_i + 77;
    dt_arc arc = {random_point(&state), random_point(&state), random_point(&state), random_point(&state).x, 0.0, {0, 0}};
    arc.sweep = random_point(&state).x * 0.12 - 6.0;
    arc.end = dt_arc_at(&arc, arc.from + arc.sweep);
    dt_points points = {0};
    ck_assert(dt_array_push(&points, dt_arc_at(&arc, arc.from)));
    ck_assert(dt_flatten_arc(&points, &arc, 0.01));
    const dt_path path = {points.items, points.count};
    dt_box tight = dt_arc_box(&arc), found = dt_box_of(path), sampled = DT_BOX_EMPTY;
    for (int i = 0; i <= 500; i++) {
        dt_point q = dt_arc_at(&arc, arc.from + arc.sweep * i / 500.0);
        ck_assert_double_le(dt_path_distance(path, false, q), 0.01 + 1e-9);
        sampled = dt_box_join(sampled, (dt_box){q, q});
    }
    ck_assert_double_le(fabs(found.low.y - tight.low.y), 0.01);
    ck_assert_double_le(fabs(found.high.x - tight.high.x), 0.01);
    ck_assert_double_ge(sampled.low.x, tight.low.x - 1e-9);
    ck_assert_double_le(sampled.high.y, tight.high.y + 1e-9);
    dt_array_free(&points);
}
END_TEST

Suite *suite_drawing_paths(void);
Suite *suite_drawing_paths(void) {
    Suite *suite = suite_create("drawing_paths");
    TCase *data = tcase_create("path data");
    tcase_add_test(data, compact_numbers);
    tcase_add_test(data, arc_flags_without_gaps);
    tcase_add_test(data, arc_area);
    tcase_add_test(data, cubic_length_and_area);
    tcase_add_loop_test(data, errors_keep_the_start, 0, sizeof wrongs / sizeof wrongs[0]);
    tcase_add_test(data, subpaths);
    suite_add_tcase(suite, data);
    TCase *numbers = tcase_create("numbers");
    tcase_add_test(numbers, numbers_are_exact);
    tcase_add_test(numbers, random_numbers_are_exact);
    tcase_add_test(numbers, rounding_sees_the_last_digit);
    suite_add_tcase(suite, numbers);
    TCase *curves = tcase_create("flattening");
    tcase_add_loop_test(curves, cubics_stay_within_tolerance, 0, 60);
    tcase_add_loop_test(curves, arcs_stay_within_tolerance, 0, 60);
    suite_add_tcase(suite, curves);
    return suite;
}
