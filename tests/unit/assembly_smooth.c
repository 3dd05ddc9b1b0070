/* Outlines and holes without corners: round, oval, rounded, of free curves. What is planted in them is found; the rest has one assembly, also
 * where a piece may be turned in its own place. */
#include "assembling.h"
#include "perturbed.h"

#include <check.h>
#include <math.h>

#ifndef SMOOTH_SEEDS
#define SMOOTH_SEEDS 3
#define SMOOTH_SUITE suite_assembly_smooth
#define SMOOTH_NAME "assembly_smooth"
#endif

static const double QUARTER = 0.5522847498307936; /* handles of a quarter circle */

static void draw_oval(draft *d, double cx, double cy, double rx, double ry) {
    double kx = QUARTER * rx, ky = QUARTER * ry;
    draft_move(d, (dt_point){cx + rx, cy});
    draft_cubic(d, (dt_point){cx + rx, cy + ky}, (dt_point){cx + kx, cy + ry}, (dt_point){cx, cy + ry});
    draft_cubic(d, (dt_point){cx - kx, cy + ry}, (dt_point){cx - rx, cy + ky}, (dt_point){cx - rx, cy});
    draft_cubic(d, (dt_point){cx - rx, cy - ky}, (dt_point){cx - kx, cy - ry}, (dt_point){cx, cy - ry});
    draft_cubic(d, (dt_point){cx + kx, cy - ry}, (dt_point){cx + rx, cy - ky}, (dt_point){cx + rx, cy});
    draft_close(d);
}

static void draw_rounded(draft *d, double width, double height, double r) {
    double k = r * (1.0 - QUARTER);
    draft_move(d, (dt_point){r, 0});
    draft_line(d, (dt_point){width - r, 0});
    draft_cubic(d, (dt_point){width - k, 0}, (dt_point){width, k}, (dt_point){width, r});
    draft_line(d, (dt_point){width, height - r});
    draft_cubic(d, (dt_point){width, height - k}, (dt_point){width - k, height}, (dt_point){width - r, height});
    draft_line(d, (dt_point){r, height});
    draft_cubic(d, (dt_point){k, height}, (dt_point){0, height - k}, (dt_point){0, height - r});
    draft_line(d, (dt_point){0, r});
    draft_cubic(d, (dt_point){0, k}, (dt_point){k, 0}, (dt_point){r, 0});
    draft_close(d);
}

/* A closed line of free curves, without a corner and without a symmetry. */
static void draw_pebble(draft *d, double x, double y, double a, double b) {
    draft_move(d, (dt_point){x - a, y});
    draft_cubic(d, (dt_point){x - a, y - 1.3 * b}, (dt_point){x + 0.4 * a, y - b}, (dt_point){x + a, y - 0.4 * b});
    draft_cubic(d, (dt_point){x + 1.5 * a, y + 0.1 * b}, (dt_point){x + 0.6 * a, y + b}, (dt_point){x, y + b});
    draft_cubic(d, (dt_point){x - 0.6 * a, y + b}, (dt_point){x - a, y + 0.7 * b}, (dt_point){x - a, y});
    draft_close(d);
}

/* Four pieces, none like another, in what lies between 0 and 80, 0 and 60. */
static void draw_cuts(draft *d) {
    static const dt_point across[] = {{30, 0}, {34, 22}, {28, 38}, {27, 60}};
    draft_polyline(d, across, 4, false);
    draft_segment(d, 0, 25, 14, 20);
    draft_segment(d, 14, 20, 31, 30);
    draft_segment(d, 31, 30, 55, 27);
    draft_segment(d, 55, 27, 80, 36);
}

static void in_a_rectangle(draft *d) {
    draft_rectangle(d, 0, 0, 80, 60);
    draw_cuts(d);
}

static void round_figure(draft *d) {
    in_a_rectangle(d);
    draft_circle(d, 56, 47, 7);
}

static void oval_figure(draft *d) {
    in_a_rectangle(d);
    draw_oval(d, 56, 47, 9, 5);
}

static void pebble_figure(draft *d) {
    in_a_rectangle(d);
    draw_pebble(d, 55, 46, 8, 6);
}

static void figures_in_two_pieces(draft *d) {
    in_a_rectangle(d);
    draft_circle(d, 57, 46, 6);
    draft_circle(d, 57, 14, 5);
    draw_pebble(d, 12, 44, 6, 5);
}

static void disc_in_a_ring(draft *d) {
    in_a_rectangle(d);
    draft_circle(d, 57, 46, 9);
    draft_circle(d, 57, 46, 4);
}

static void square_figure(draft *d) {
    in_a_rectangle(d);
    draft_rectangle(d, 45, 40, 12, 12);
}

static void void_without_corners(draft *d) {
    in_a_rectangle(d);
    draft_layer(d, "void", DT_ROLE_VOID);
    draw_oval(d, 56, 47, 9, 6);
    draft_layer(d, NULL, DT_ROLE_CUT);
}

static void oval_outline(draft *d) {
    draw_oval(d, 40, 30, 40, 28);
    draft_segment(d, 40, 2, 31, 25);
    draft_segment(d, 31, 25, 40, 58);
    draft_segment(d, 0, 30, 31, 25);
    draft_segment(d, 31, 25, 80, 30);
}

static void rounded_outline(draft *d) {
    draw_rounded(d, 80, 60, 8);
    draw_cuts(d);
}

static void stadium_outline(draft *d) {
    draw_rounded(d, 80, 60, 30);
    draft_segment(d, 30, 0, 34, 22);
    draft_segment(d, 34, 22, 27, 60);
    draft_segment(d, 0, 30, 34, 22);
    draft_segment(d, 34, 22, 80, 30);
}

static void pebble_outline(draft *d) {
    draw_pebble(d, 50, 45, 45, 40);
    draft_segment(d, 5, 45, 30, 38);
    draft_segment(d, 30, 38, 95, 29);
    draft_segment(d, 50, 85, 44, 36.0615384615);
}

static void band_with_a_hole(draft *d) {
    draw_oval(d, 45, 35, 45, 35);
    draft_segment(d, 42, 23, 45, 0);
    draft_segment(d, 56, 33, 90, 35);
    draft_segment(d, 42, 43, 45, 70);
    draft_layer(d, "void", DT_ROLE_VOID);
    draw_oval(d, 42, 33, 14, 10);
    draft_layer(d, NULL, DT_ROLE_CUT);
}

static void ring_and_disc(draft *d) {
    draft_circle(d, 40, 30, 30);
    draft_circle(d, 44, 31, 12);
}

typedef struct design {
    const char *name;
    void (*draw)(draft *d);
    unsigned pieces;
} design;

static const design UNIQUE[] = {
    {"round figure", round_figure, 5}, {"oval figure", oval_figure, 5}, {"pebble figure", pebble_figure, 5},
    {"figures in two pieces", figures_in_two_pieces, 7}, {"disc in a ring", disc_in_a_ring, 6}, {"square figure", square_figure, 5},
    {"void without corners", void_without_corners, 4}, {"oval outline", oval_outline, 4}, {"rounded outline", rounded_outline, 4},
    {"stadium", stadium_outline, 4}, {"pebble outline", pebble_outline, 3}, {"band with a hole", band_with_a_hole, 3},
    {"ring and disc", ring_and_disc, 2},
};
enum { UNIQUE_COUNT = sizeof UNIQUE / sizeof *UNIQUE };

static assembling assemble_turned(const design *what, bool two_sided, double turn) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.two_sided = two_sided;
    draft *d = draft_new();
    what->draw(d);
    draft_transform(d, dt_pose_about(turn, false, (dt_point){0, 0}, (dt_point){120, 90}), 1.0);
    assembling a = assemble(d, settings);
    ck_assert_msg(dt_pieces_count(a.pieces) == what->pieces, "%s: %zu pieces", what->name, dt_pieces_count(a.pieces));
    return a;
}

START_TEST(one_assembly) {
    const design *what = &UNIQUE[_i / 2];
    assembling a = assemble_turned(what, _i % 2, _i % 2 ? 17.0 : 0.0);
    ck_assert_msg(a.assembly->verdict == DT_ONE, "%s: %s", what->name, a.assembly->why);
    ck_assert_uint_eq(a.assembly->distinct, 1);
    assembling_free(&a);
}
END_TEST

/* Two pieces in a round hole may be turned there together, whatever their shapes; and so may a disc with a hole of its own, off its middle. */
static void two_in_a_round_hole(draft *d) {
    in_a_rectangle(d);
    draft_circle(d, 58, 47, 8);
    draft_segment(d, 50, 47, 60, 48);
    draft_segment(d, 60, 48, 58, 55);
}

static void disc_with_a_hole(draft *d) {
    static const dt_point figure[] = {{57, 42}, {62, 43}, {61, 47}, {58, 46}};
    in_a_rectangle(d);
    draft_circle(d, 57, 46, 9);
    draft_polyline(d, figure, 4, true);
}

START_TEST(what_a_round_hole_holds_turns) {
    static const design designs[] = {{"two in a round hole", two_in_a_round_hole, 6}, {"disc with a hole", disc_with_a_hole, 6}};
    assembling a = assemble_turned(&designs[_i], false, 0.0);
    ck_assert_msg(a.assembly->verdict == DT_SEVERAL, "%s: %s", designs[_i].name, a.assembly->why);
    ck_assert_uint_eq(a.assembly->other_count, 2);
    assembling_free(&a);
}
END_TEST

/* Two in a hole of free curves have one way only. */
static void two_in_a_pebble(draft *d) {
    in_a_rectangle(d);
    draw_pebble(d, 55, 46, 8, 6);
    draft_segment(d, 47, 46, 55, 47);
    draft_segment(d, 55, 47, 55, 52);
}

START_TEST(two_in_a_hole_of_curves) {
    static const design pair = {"two in a pebble", two_in_a_pebble, 6};
    assembling a = assemble_turned(&pair, false, 0.0);
    ck_assert_msg(a.assembly->verdict == DT_ONE, "%s", a.assembly->why);
    assembling_free(&a);
}
END_TEST

/* ---- bands ---- */

static double between(uint64_t *state, double low, double high) {
    return low + (high - low) * draft_random(state);
}

static void draw_wave(draft *d, double x, double height, const double by[4]) {
    draft_move(d, (dt_point){x, 0});
    draft_cubic(d, (dt_point){x + by[0], 0.2 * height}, (dt_point){x + by[1], 0.4 * height}, (dt_point){x, 0.55 * height});
    draft_cubic(d, (dt_point){x - by[1], 0.7 * height}, (dt_point){x + by[2], 0.8 * height}, (dt_point){x + by[3], height});
}

/* A point of the wave's first half, where a cut may end. */
static dt_point on_wave(double x, double height, const double by[4], double t) {
    double u = 1.0 - t, w1 = 3 * u * u * t, w2 = 3 * u * t * t, w3 = t * t * t;
    return (dt_point){x + w1 * by[0] + w2 * by[1], height * (0.2 * w1 + 0.4 * w2 + 0.55 * w3)};
}

/* A stadium, cut across by waves. Alike: three waves are one wave shifted, so the two blocks between them may be exchanged, and each is
 * cut in two differently. */
static void draw_band(draft *d, bool alike, uint64_t seed) {
    static const double HEIGHT = 44.0, XS[3] = {45.0, 72.0, 99.0};
    uint64_t state = seed * 48271 + 11;
    double by[3][4];
    for (int i = 0; i < 8; i++) draft_random(&state);
    for (int w = 0; w < 3; w++)
        for (int k = 0; k < 4; k++) by[w][k] = alike && w ? by[0][k] : between(&state, 1.0, 6.0) * (draft_random(&state) < 0.5 ? -1.0 : 1.0);
    draw_rounded(d, 140, HEIGHT, HEIGHT / 2);
    for (int w = 0; w < 3; w++) draw_wave(d, XS[w], HEIGHT, by[w]);
    for (int w = 0; w < 2; w++) {
        dt_point p = on_wave(XS[w], HEIGHT, by[w], between(&state, 0.4, 0.9)), q = on_wave(XS[w + 1], HEIGHT, by[w + 1], between(&state, 0.4, 0.9));
        draft_segment(d, p.x, p.y, q.x, q.y);
    }
    dt_point p = on_wave(XS[0], HEIGHT, by[0], 0.7);
    draft_segment(d, 0, HEIGHT / 2, p.x, p.y);
}

static dt_assembly_verdict verdict_of_band(bool alike, perturbing way, uint64_t seed, bool two_sided) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.two_sided = two_sided;
    draft *d = draft_new();
    draw_band(d, alike, seed);
    assembling a = assemble(perturbed(d, way, seed), settings);
    dt_assembly_verdict verdict = a.assembly->verdict;
    assembling_free(&a);
    return verdict;
}

START_TEST(blocks_of_a_band_trade_places) {
    uint64_t seed = 1 + (uint64_t)_i;
    ck_assert_int_eq(verdict_of_band(true, AS_DRAWN, seed, _i % 2), DT_SEVERAL);
    ck_assert_int_ne(verdict_of_band(true, NOISY, seed, false), DT_ONE);
    ck_assert_int_ne(verdict_of_band(true, ROUNDED, seed, false), DT_ONE);
}
END_TEST

START_TEST(bands_of_unlike_blocks) {
    ck_assert_int_eq(verdict_of_band(false, AS_DRAWN, 1 + (uint64_t)_i, false), DT_ONE);
}
END_TEST

Suite *SMOOTH_SUITE(void);
Suite *SMOOTH_SUITE(void) {
    Suite *suite = suite_create(SMOOTH_NAME);
    TCase *all = tcase_create("all");
    tcase_add_loop_test(all, one_assembly, 0, 2 * UNIQUE_COUNT);
    tcase_add_loop_test(all, what_a_round_hole_holds_turns, 0, 2);
    tcase_add_test(all, two_in_a_hole_of_curves);
    tcase_add_loop_test(all, blocks_of_a_band_trade_places, 0, SMOOTH_SEEDS);
    tcase_add_loop_test(all, bands_of_unlike_blocks, 0, SMOOTH_SEEDS);
    suite_add_tcase(suite, all);
    return suite;
}
