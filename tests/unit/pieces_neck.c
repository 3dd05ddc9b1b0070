/* Necks: known shapes to 0.02 mm, and GEOS as the twin on random pieces: the erosion that takes two parts asunder, or the cut along
 * the chord and the largest circle in each part. */
#include "draft.h"
#include "geos_piece.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_POINTS = 4096 };
#define PI 3.14159265358979323846

typedef struct outline {
    dt_point points[MOST_POINTS];
    size_t count;
} outline;

static void put(outline *o, double x, double y) {
    ck_assert_uint_lt(o->count, MOST_POINTS);
    o->points[o->count++] = (dt_point){x, y};
}

/* Points of an arc, both ends included, angles in degrees. */
static void put_arc(outline *o, double cx, double cy, double r, double from, double to) {
    int steps = (int)ceil(fabs(to - from) / 2.0);
    for (int i = 0; i <= steps; i++) {
        double a = (from + (to - from) * i / steps) * PI / 180;
        put(o, cx + r * cos(a), cy + r * sin(a));
    }
}

static dt_path path_of(const outline *o) {
    return (dt_path){o->points, o->count};
}

static dt_neck neck_of(dt_path outside, const dt_path *holes, size_t hole_count) {
    ck_assert_double_gt(dt_path_area(outside), 0);
    dt_piece piece = {.outline = outside, .holes = holes, .hole_count = hole_count};
    dt_neck neck;
    ck_assert_int_eq(dt_piece_neck(&piece, &neck), DT_OK);
    return neck;
}

START_TEST(a_dumb_bell) {
    outline o = {.count = 0};
    double a = asin(1.5 / 10) * 180 / PI;
    put_arc(&o, 0, 0, 10, a, 360 - a);
    put_arc(&o, 40, 0, 10, 180 + a, 540 - a);
    dt_neck neck = neck_of(path_of(&o), NULL, 0);
    ck_assert_double_eq_tol(neck.width_mm, 3, 0.02);
    ck_assert_double_eq_tol(neck.at.y, 0, 0.01);
    ck_assert(neck.at.x > 9 && neck.at.x < 31);
}
END_TEST

START_TEST(an_hour_glass) {
    outline o = {.count = 0};
    put_arc(&o, 0, -12, 10, 180, 0); /* bays of radius 10 whose lowest points are 4 mm apart */
    put(&o, 25, -12);
    put(&o, 25, 12);
    put_arc(&o, 0, 12, 10, 0, -180);
    put(&o, -25, 12);
    put(&o, -25, -12);
    dt_neck neck = neck_of(path_of(&o), NULL, 0);
    ck_assert_double_eq_tol(neck.width_mm, 4, 0.02);
    ck_assert_double_lt(dt_point_distance(neck.at, (dt_point){0, 0}), 0.5);
}
END_TEST

START_TEST(a_knob_with_a_stem) {
    outline o = {.count = 0};
    put(&o, 0, 0);
    put(&o, 20, 0);
    put(&o, 20, 20);
    put(&o, 12, 20);
    put_arc(&o, 10, 26, 4, 90 - 150, 90 + 150); /* head of radius 4; its mouth is 4 wide, the stem runs from 4 to 4 */
    put(&o, 8, 20);
    put(&o, 0, 20);
    dt_neck neck = neck_of(path_of(&o), NULL, 0);
    ck_assert_double_eq_tol(neck.width_mm, 4, 0.02);
    ck_assert_double_eq_tol(neck.at.x, 10, 0.01);
    ck_assert(neck.at.y > 19.99 && neck.at.y < 22.6);
}
END_TEST

START_TEST(none_in_a_disc_a_square_or_a_stub) {
    outline o = {.count = 0};
    put_arc(&o, 0, 0, 10, 0, 359);
    ck_assert(neck_of(path_of(&o), NULL, 0).width_mm == INFINITY);
    const dt_point square[] = {{0, 0}, {20, 0}, {20, 20}, {0, 20}}, brick[] = {{0, 0}, {39, 0}, {39, 20}, {0, 20}};
    ck_assert(neck_of((dt_path){square, 4}, NULL, 0).width_mm == INFINITY);
    ck_assert(neck_of((dt_path){brick, 4}, NULL, 0).width_mm == INFINITY); /* neither half holds a circle of 20 mm */
    const dt_point stub[] = {{0, 0}, {20, 0}, {20, 10}, {12, 10}, {12, 13.5}, {8, 13.5}, {8, 10}, {0, 10}};
    ck_assert(neck_of((dt_path){stub, 8}, NULL, 0).width_mm == INFINITY); /* wider than long: holds no circle of 4 mm */
}
END_TEST

/* A tab of even width and this length on a body of 20 x 10 mm, turned as a whole. */
static dt_neck neck_of_tab(double width, double length, double turn) {
    double half = width / 2, c = cos(turn), s = sin(turn);
    dt_point tab[] = {{0, 0}, {20, 0}, {20, 10}, {10 + half, 10}, {10 + half, 10 + length}, {10 - half, 10 + length}, {10 - half, 10}, {0, 10}};
    for (int i = 0; i < 8; i++) tab[i] = (dt_point){c * tab[i].x - s * tab[i].y, s * tab[i].x + c * tab[i].y};
    return neck_of((dt_path){tab, 8}, NULL, 0);
}

/* An even tab as long as it is wide holds a circle of its width: it snaps off at its root like a knob from its stem. */
START_TEST(an_even_tab_is_a_neck) {
    for (int k = 0; k < 8; k++) {
        double width = 1 + 0.5 * k, turn = 0.7 * k;
        dt_neck neck = neck_of_tab(width, 1.1 * width, turn);
        ck_assert_double_eq_tol(neck.width_mm, width, 0.02);
        double root = -sin(turn) * neck.at.x + cos(turn) * neck.at.y;
        ck_assert_double_eq_tol(root, 10, 0.01);
        ck_assert(neck_of_tab(width, 0.9 * width, turn).width_mm == INFINITY);
        ck_assert_double_eq_tol(neck_of_tab(width, 12, turn).width_mm, width, 0.02);
    }
}
END_TEST

/* Bars need no reflex corner: the shank of an L, a plain strip, a strip with round ends. */
START_TEST(an_even_bar_is_a_neck) {
    const dt_point strip[] = {{0, 0}, {60, 0}, {60, 1.5}, {0, 1.5}};
    dt_neck neck = neck_of((dt_path){strip, 4}, NULL, 0);
    ck_assert_double_eq_tol(neck.width_mm, 1.5, 0.02);
    ck_assert_double_eq_tol(neck.at.x, 30, 1);
    outline round = {.count = 0};
    put_arc(&round, 0, 0, 0.9, 90, 270);
    put_arc(&round, 30, 0, 0.9, -90, 90);
    ck_assert_double_eq_tol(neck_of(path_of(&round), NULL, 0).width_mm, 1.8, 0.02);
    const dt_point bent[] = {{0, 0}, {30, 0}, {30, 2.2}, {1.7, 2.2}, {1.7, 25}, {0, 25}};
    ck_assert_double_eq_tol(neck_of((dt_path){bent, 6}, NULL, 0).width_mm, 1.7, 0.02);
}
END_TEST

START_TEST(the_bridge_between_a_hole_and_the_outline) {
    const dt_point square[] = {{0, 0}, {40, 0}, {40, 40}, {0, 40}};
    outline hole = {.count = 0};
    put_arc(&hole, 11.5, 20, 10, 360, 2); /* negative area */
    dt_path holes[] = {path_of(&hole)};
    ck_assert_double_lt(dt_path_area(holes[0]), 0);
    dt_neck neck = neck_of((dt_path){square, 4}, holes, 1);
    ck_assert_double_eq_tol(neck.width_mm, 1.5, 0.02);
    ck_assert_double_eq_tol(neck.at.x, 0.75, 0.05);
}
END_TEST

START_TEST(an_even_ring_opens_at_its_width) {
    outline rim = {.count = 0}, hole = {.count = 0};
    put_arc(&rim, 0, 0, 20, 0, 358);
    put_arc(&hole, 0, 0, 15, 359, 1); /* its corners do not face the rim's */
    dt_path holes[] = {path_of(&hole)};
    ck_assert_double_eq_tol(neck_of(path_of(&rim), holes, 1).width_mm, 5, 0.02);
}
END_TEST

START_TEST(a_crumb_is_no_part) {
    outline o = {.count = 0}; /* a pimple of 0.4 mm on a neck of 0.2 burns away */
    put(&o, 0, 0);
    put(&o, 20, 0);
    put(&o, 20, 20);
    put_arc(&o, 10, 20.17, 0.2, -60, 240);
    put(&o, 0, 20);
    ck_assert(neck_of(path_of(&o), NULL, 0).width_mm == INFINITY);
}
END_TEST

/* ---- the twin ---- */

/* Parts of the piece eroded by w / 2 that hold the larger circle, and holes left in them. */
static bool is_split(GEOSContextHandle_t g, const GEOSGeometry *polygon, int hole_count, double w) {
    GEOSGeometry *parts = GEOSBuffer_r(g, polygon, -w / 2, 64);
    GEOSGeometry *cores = GEOSBuffer_r(g, polygon, -fmax(w + 0.05, 0.5) / 2, 64);
    int count = 0, holes = 0;
    for (int i = 0; i < GEOSGetNumGeometries_r(g, parts); i++) {
        const GEOSGeometry *part = GEOSGetGeometryN_r(g, parts, i);
        if (GEOSisEmpty_r(g, part) || !GEOSIntersects_r(g, part, cores)) continue;
        count++;
        holes += GEOSGetNumInteriorRings_r(g, part);
    }
    GEOSGeom_destroy_r(g, parts);
    GEOSGeom_destroy_r(g, cores);
    return count > 1 || (count == 1 && holes < hole_count);
}

static GEOSGeometry *strip_along(GEOSContextHandle_t g, dt_point a, dt_point b) {
    GEOSCoordSequence *c = GEOSCoordSeq_create_r(g, 2, 2);
    GEOSCoordSeq_setXY_r(g, c, 0, a.x, a.y);
    GEOSCoordSeq_setXY_r(g, c, 1, b.x, b.y);
    GEOSGeometry *line = GEOSGeom_createLineString_r(g, c), *strip = GEOSBuffer_r(g, line, 1e-4, 2);
    GEOSGeom_destroy_r(g, line);
    return strip;
}

/* Parts of the piece, cut along the chord of the neck, that hold a circle as wide as the neck, to 0.05 mm. */
static int equal_parts(GEOSContextHandle_t g, const GEOSGeometry *polygon, const dt_piece *piece, dt_neck neck) {
    dt_path rim = piece->outline;
    dt_point nearest = {0, 0}, at;
    double distance = INFINITY;
    for (size_t i = 0; i < rim.count; i++) {
        double d = dt_segment_distance(neck.at, rim.points[i], rim.points[(i + 1) % rim.count], &at);
        if (d < distance) distance = d, nearest = at;
    }
    GEOSGeometry *strip = strip_along(g, nearest, dt_point_sub(dt_point_scale(neck.at, 2), nearest));
    GEOSGeometry *parts = GEOSDifference_r(g, polygon, strip);
    int count = 0;
    for (int i = 0; i < GEOSGetNumGeometries_r(g, parts); i++) {
        GEOSGeometry *radius = GEOSMaximumInscribedCircle_r(g, GEOSGetGeometryN_r(g, parts, i), 0.001);
        double length = 0;
        ck_assert(GEOSGeomGetLength_r(g, radius, &length) == 1);
        count += 2 * length > neck.width_mm - 0.05 - 0.004;
        GEOSGeom_destroy_r(g, radius);
    }
    GEOSGeom_destroy_r(g, parts);
    GEOSGeom_destroy_r(g, strip);
    return count;
}

/* The erosion must split the piece just above the neck's width, or the parts at its chord must hold circles of that width; and
 * nowhere below it, in steps, may the erosion split it. */
static void compare_with_twin(const dt_piece *piece) {
    dt_neck neck;
    ck_assert_int_eq(dt_piece_neck(piece, &neck), DT_OK);
    GEOSContextHandle_t g = geos_quiet();
    GEOSGeometry *polygon = geos_piece(g, piece);
    double most = fmin(piece->width_mm, neck.width_mm), just = 0.004; /* GEOS writes round corners as 256-gons */
    for (double w = 0.1; w < most - just; w += 0.15)
        ck_assert_msg(!is_split(g, polygon, (int)piece->hole_count, w), "neck %.3f, split at %.3f", neck.width_mm, w);
    if (neck.width_mm < INFINITY) {
        ck_assert(!is_split(g, polygon, (int)piece->hole_count, neck.width_mm - just));
        ck_assert(is_split(g, polygon, (int)piece->hole_count, neck.width_mm + just) || equal_parts(g, polygon, piece, neck) == 2);
    }
    GEOSGeom_destroy_r(g, polygon);
    GEOS_finish_r(g);
}

START_TEST(necks_of_knobbed_pieces_are_what_erosion_says) {
    draft *d = draft_new();
    draft_knobbed_sheet(d, 3, 4, 20, (unsigned)_i + 1, false);
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_net *net = NULL;
    dt_pieces *pieces = draft_pieces(d, &settings, &net);
    for (uint32_t i = 0; i < dt_pieces_count(pieces); i += 3) compare_with_twin(dt_pieces_get(pieces, (dt_piece_id){i}));
    dt_pieces_free(pieces);
    dt_net_free(net);
    draft_free(d);
}
END_TEST

/* A wavy outline of three random harmonics around a circle: bays, waists and lobes of every width; every other one with a hole. */
static void wavy(outline *o, uint64_t *state, double r, double depth, int turns) {
    double size[3], phase[3];
    for (int k = 0; k < 3; k++) {
        size[k] = depth * draft_random(state);
        phase[k] = 2 * PI * draft_random(state);
    }
    for (int i = 0; i < 180; i++) {
        double a = turns * 2 * PI * i / 180, radius = r;
        for (int k = 0; k < 3; k++) radius += r * size[k] * cos((k + 2) * a + phase[k]);
        put(o, radius * cos(a), radius * sin(a));
    }
}

START_TEST(necks_of_wavy_pieces_are_what_erosion_says) {
    uint64_t state = (uint64_t)_i + 1;
    outline rim = {.count = 0}, hole = {.count = 0};
    wavy(&rim, &state, 20, 0.4, 1);
    wavy(&hole, &state, 3, 0.3, -1);
    dt_path holes[] = {path_of(&hole)};
    dt_piece piece = {.outline = path_of(&rim), .holes = holes, .hole_count = (size_t)_i % 2, .width_mm = 60};
    bool simple = true; /* the hole must lie within */
    for (size_t i = 0; i < rim.count; i++) simple = simple && hypot(rim.points[i].x, rim.points[i].y) > 8;
    if (simple) compare_with_twin(&piece);
}
END_TEST

/* A star with ten thousand rays: each valley faces others, and what lies between is too ragged to be searched. */
START_TEST(an_outline_too_ragged_ends_in_a_sentence) {
    enum { RAYS = 20000 };
    static dt_point points[RAYS];
    for (int i = 0; i < RAYS; i++) {
        double turn = i * 2 * PI / RAYS, r = i % 2 ? 190 : 150;
        points[i] = (dt_point){200 + r * cos(turn), 200 + r * sin(turn)};
    }
    draft *d = draft_new();
    draft_polyline(d, points, RAYS, true);
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.kerf_mm = 0.0;
    dt_net *net = NULL;
    dt_pieces *pieces = NULL;
    dt_error error = {0};
    dt_strokes strokes = draft_strokes(d, 0.01);
    ck_assert_int_eq(dt_net_new(strokes, &settings, &net, &error), DT_OK);
    ck_assert_int_eq(dt_pieces_new(net, strokes, &settings, &pieces, &error), DT_TOO_LARGE);
    ck_assert_msg(strstr(error.message, "too ragged") != NULL, "%s", error.message);
    dt_net_free(net);
    draft_free(d);
}
END_TEST

/* Two dumb-bells beside each other, bars of 1.6 and 3 mm, and a strip of 0.4 mm. */
START_TEST(thin_necks_are_faults_and_say_how_wide_the_sheet_must_be) {
    draft *d = draft_new();
    for (int i = 0; i < 2; i++) {
        double half = i ? 1.5 : 0.8, y = 30 * i;
        const dt_point bell[] = {{0, y}, {10, y}, {10, y + 5 - half}, {20, y + 5 - half}, {20, y}, {30, y},
                                 {30, y + 10}, {20, y + 10}, {20, y + 5 + half}, {10, y + 5 + half}, {10, y + 10}, {0, y + 10}};
        draft_polyline(d, bell, 12, true);
    }
    draft_rectangle(d, 0, 60, 30, 0.4);
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.material = _i ? DT_ACRYLIC : DT_PLY;
    settings.width_mm = 0;
    dt_net *net = NULL;
    dt_pieces *pieces = draft_pieces(d, &settings, &net);
    size_t thin = 0, burnt = 0;
    for (size_t i = 0; i < dt_pieces_fault_count(pieces); i++) {
        const dt_fault *fault = dt_pieces_fault(pieces, i);
        thin += fault->kind == DT_FAULT_THIN_NECK;
        burnt += fault->kind == DT_FAULT_CLOSE_CUTS;
        if (fault->kind != DT_FAULT_THIN_NECK) continue;
        ck_assert_uint_eq(fault->pieces[0], 0);
        ck_assert_double_eq_tol(fault->size_mm, 1.6, 0.002);
        ck_assert_double_eq_tol(fault->at.y, 5, 0.01);
    }
    ck_assert_uint_eq(thin, 1);
    ck_assert_uint_eq(burnt, 1);
    dt_safe_width answer = dt_pieces_safe_width(pieces, 30, dt_neck_limit_mm(settings.material));
    ck_assert_uint_eq(answer.thin, 1);
    ck_assert_double_eq_tol(answer.width_mm, 30 * (_i ? 2.5 : 2.0) / 1.6, 0.05);
    draft_transform(d, DT_POSE_IDENTITY, answer.width_mm * 1.0001 / 30); /* and so it is */
    dt_pieces_free(pieces);
    dt_net_free(net);
    pieces = draft_pieces(d, &settings, &net);
    for (uint32_t i = 0; i < 2; i++) /* the third is the strip, which has become a bar */
        ck_assert_double_ge(dt_pieces_get(pieces, (dt_piece_id){i})->neck.width_mm, dt_neck_limit_mm(settings.material));
    dt_pieces_free(pieces);
    dt_net_free(net);
    draft_free(d);
}
END_TEST

/* A note, not a fault (common practice): narrower than the sheet is thick. Bars of 2.2, 2.4 and 4 mm between blocks. */
START_TEST(necks_narrower_than_the_sheet_is_thick_deserve_a_note) {
    static const double widths[] = {2.4, 2.2, 4};
    draft *d = draft_new();
    for (int i = 0; i < 3; i++) {
        double low = 5 - widths[i] / 2, high = 5 + widths[i] / 2, y = 30 * i;
        const dt_point bell[] = {{0, y}, {10, y}, {10, y + low}, {20, y + low}, {20, y}, {30, y},
                                 {30, y + 10}, {20, y + 10}, {20, y + high}, {10, y + high}, {10, y + 10}, {0, y + 10}};
        draft_polyline(d, bell, 12, true);
    }
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_net *net = NULL;
    dt_pieces *pieces = draft_pieces(d, &settings, &net);
    ck_assert_uint_eq(dt_pieces_fault_count(pieces), 0);
    dt_delicate_necks care = dt_pieces_delicate_necks(pieces, 3, dt_neck_limit_mm(DT_PLY));
    ck_assert(care.count == 2 && care.narrowest.v == 1);
    care = dt_pieces_delicate_necks(pieces, 3, dt_neck_limit_mm(DT_ACRYLIC)); /* the others are faults there */
    ck_assert(care.count == 0 && care.narrowest.v == DT_OUTSIDE.v);
    care = dt_pieces_delicate_necks(pieces, 6, dt_neck_limit_mm(DT_ACRYLIC));
    ck_assert(care.count == 1 && care.narrowest.v == 2);
    dt_pieces_free(pieces);
    dt_net_free(net);
    draft_free(d);
}
END_TEST

/* One stroke of two bows that meet in sharp points, lying in a plate. */
static draft *lens(double length, double width) {
    draft *d = draft_new();
    dt_point left = {50 - length / 2, 50}, right = {50 + length / 2, 50};
    double reach = 2 * width / 3; /* of the handles; the bow reaches 3/4 of it */
    draft_rectangle(d, 5, 5, 90, 90);
    draft_segment(d, 5, 50, left.x, 50);
    draft_segment(d, right.x, 50, 95, 50);
    draft_move(d, left);
    draft_cubic(d, (dt_point){left.x + length / 3, 50 - reach}, (dt_point){right.x - length / 3, 50 - reach}, right);
    draft_cubic(d, (dt_point){right.x - length / 3, 50 + reach}, (dt_point){left.x + length / 3, 50 + reach}, left);
    draft_close(d);
    return d;
}

static bool lens_is_faulty(double length, double width) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    draft *d = lens(length, width);
    dt_net *net = NULL;
    dt_pieces *pieces = draft_pieces(d, &settings, &net);
    bool faulty = dt_pieces_fault_count(pieces) > 0;
    dt_pieces_free(pieces);
    dt_net_free(net);
    draft_free(d);
    return faulty;
}

/* A lens has no neck, and its sharp points are corners of lines, not strips: however wide below the limit of 2 mm, it is told all the same. */
START_TEST(a_thin_lens_is_a_fault_whatever_its_width) {
    static const double lengths[] = {4, 10, 40}, widths[] = {0.03, 0.06, 0.15, 0.25, 0.45, 0.6, 0.9, 1.5, 1.9};
    for (size_t l = 0; l < sizeof lengths / sizeof *lengths; l++)
        for (size_t w = 0; w < sizeof widths / sizeof *widths; w++)
            ck_assert_msg(lens_is_faulty(lengths[l], widths[w]), "%g x %g mm", lengths[l], widths[w]);
    ck_assert(!lens_is_faulty(10, 2.2));
    ck_assert(!lens_is_faulty(2.5, 1.9)); /* nearly a disc: nothing to snap */
}
END_TEST

Suite *suite_pieces_neck(void);
Suite *suite_pieces_neck(void) {
    Suite *suite = suite_create("pieces_neck");
    TCase *cases = tcase_create("pieces_neck");
    tcase_add_test(cases, a_dumb_bell);
    tcase_add_test(cases, an_hour_glass);
    tcase_add_test(cases, a_knob_with_a_stem);
    tcase_add_test(cases, none_in_a_disc_a_square_or_a_stub);
    tcase_add_test(cases, an_even_tab_is_a_neck);
    tcase_add_test(cases, an_even_bar_is_a_neck);
    tcase_add_test(cases, the_bridge_between_a_hole_and_the_outline);
    tcase_add_test(cases, an_even_ring_opens_at_its_width);
    tcase_add_test(cases, a_crumb_is_no_part);
    tcase_add_loop_test(cases, necks_of_knobbed_pieces_are_what_erosion_says, 0, 4);
    tcase_add_loop_test(cases, necks_of_wavy_pieces_are_what_erosion_says, 0, 40);
    tcase_add_test(cases, an_outline_too_ragged_ends_in_a_sentence);
    tcase_add_loop_test(cases, thin_necks_are_faults_and_say_how_wide_the_sheet_must_be, 0, 2);
    tcase_add_test(cases, a_thin_lens_is_a_fault_whatever_its_width);
    tcase_add_test(cases, necks_narrower_than_the_sheet_is_thick_deserve_a_note);
    suite_add_tcase(suite, cases);
    return suite;
}
