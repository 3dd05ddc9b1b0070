/* The laws of the rating on whole drafts, through lines, pieces, neighbours and places; and what a rating always holds.
 */
#include "rated.h"
#include <check.h>
#include <math.h>
#include <stdlib.h>

/* Turning and scaling move every point on the 1 micrometre grid, so a look-alike whose deviation is the eye's to within
 * that may come or go: half a try more or less. In points, at this many points. */
static double one_look_alike(double points) {
    return 10.0 * log2(1.0 + dt_effort_default().alike_s / 2.0 / (60.0 * exp2(points / 10.0)));
}

static draft *knobbed(unsigned rows, unsigned columns, unsigned seed, bool alike) {
    draft *d = draft_new();
    draft_knobbed_sheet(d, rows, columns, 20.0, seed, alike);
    return d;
}

START_TEST(a_rating_is_whole) {
    const dt_settings settings = DT_SETTINGS_DEFAULT;
    rated r = rate_draft(knobbed(4, 5, (unsigned)_i, _i % 2), &settings);
    const dt_rating *q = r.rating;
    double sum = 0.0, minutes = 0.0, parts = q->work.handling_min + q->work.scanning_min + q->work.trying_min;
    bool turns[20] = {false};
    for (int i = 0; i < DT_FACTORS; i++) sum += q->factors[i];
    ck_assert_double_eq_tol(sum, q->points, 1e-9);
    ck_assert_int_eq(q->band, dt_band_of(q->points));
    ck_assert_uint_eq(q->place_count, 20);
    for (size_t i = 0; i < 20; i++) {
        minutes += q->places[i].minutes;
        ck_assert(!turns[q->places[i].turn]);
        turns[q->places[i].turn] = true;
        ck_assert_double_ge(q->places[i].alike, 1.0);
        ck_assert_double_le(q->places[i].alike, q->places[i].looked_over + 1e-9);
    }
    ck_assert_double_eq_tol(minutes, q->median_min, 1e-9 * q->median_min);
    ck_assert_double_eq_tol(parts, q->median_min, 1e-9 * q->median_min);
    ck_assert_double_eq_tol(q->points, fmax(0.0, 10 * log2(q->median_min)), 1e-9);
    ck_assert(q->low_min < q->median_min && q->median_min < q->high_min);
    ck_assert(q->tell_tale_edge);
    rated_free(&r);
}
END_TEST

START_TEST(alike_knobs_are_never_easier) {
    const dt_settings settings = DT_SETTINGS_DEFAULT;
    unsigned rows = 3 + (unsigned)_i % 3, columns = 3 + (unsigned)_i % 4;
    double distinct = points_of_draft(knobbed(rows, columns, (unsigned)_i, false), &settings);
    ck_assert_double_ge(points_of_draft(knobbed(rows, columns, (unsigned)_i, true), &settings), distinct);
}
END_TEST

/* A sheet whose knobs differ by less than the eye sees is nearly as hard as one whose knobs do not differ at all, also
 * where there are too many look-alikes to list. (Without the estimate of src/fit/crowd.c it was rated like one of
 * distinct knobs.) */
static draft *nearly_alike(unsigned seed, double differ) {
    enum { N = 10 };
    const double size = 20.0;
    uint64_t state = seed;
    draft *d = draft_new();
    draft_rectangle(d, 0, 0, N * size, N * size);
    for (int line = 1; line < N; line++)
        for (int i = 0; i < N; i++)
            for (int down = 0; down < 2; down++) {
                double shape[6], u = i * size, v = line * size;
                for (int k = 0; k < 6; k++) shape[k] = 0.5 + differ * (draft_random(&state) - 0.5);
                dt_point a = down ? (dt_point){v, u} : (dt_point){u, v},
                         b = down ? (dt_point){v, u + size} : (dt_point){u + size, v};
                draft_move(d, a);
                draft_knob(d, a, b, down ? -1 : 1, shape);
            }
    return d;
}

START_TEST(differences_that_no_one_sees_make_nothing_easier) {
    const dt_settings settings = DT_SETTINGS_DEFAULT;
    rated alike = rate_draft(nearly_alike(3, 0.0), &settings), nearly = rate_draft(nearly_alike(3, 0.1), &settings);
    ck_assert_double_ge(alike.rating->factors[DT_FACTOR_LOOK_ALIKES], 15.0);
    ck_assert_double_eq_tol(nearly.rating->points, alike.rating->points, 3.0);
    rated_free(&alike);
    rated_free(&nearly);
}
END_TEST

START_TEST(more_pieces_are_never_easier) {
    const dt_settings settings = DT_SETTINGS_DEFAULT;
    bool alike = _i % 2;
    double few = points_of_draft(knobbed(3, 4, (unsigned)_i, alike), &settings);
    double more = points_of_draft(knobbed(4, 4, (unsigned)_i, alike), &settings);
    ck_assert_double_ge(more, few);
    ck_assert_double_ge(points_of_draft(knobbed(4, 5, (unsigned)_i, alike), &settings), more);
}
END_TEST

START_TEST(two_sides_are_never_easier) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    double one = points_of_draft(knobbed(3, 4, (unsigned)_i, _i % 2), &settings);
    settings.two_sided = true;
    rated two = rate_draft(knobbed(3, 4, (unsigned)_i, _i % 2), &settings);
    ck_assert_double_ge(two.rating->points, one);
    ck_assert_double_ge(two.rating->factors[DT_FACTOR_TWO_SIDED], 0.0);
    rated_free(&two);
}
END_TEST

START_TEST(colours_and_pictures_never_make_it_harder) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    double before = INFINITY;
    for (unsigned colours = 1; colours <= 6; colours++) {
        settings.colours = colours;
        double points = points_of_draft(knobbed(3, 4, (unsigned)_i, _i % 2), &settings);
        ck_assert_double_le(points, before);
        before = points;
    }
    for (int picture = DT_PICTURE_NONE; picture <= DT_PICTURE_FULL; picture++) {
        settings.picture = (dt_picture)picture;
        double points = points_of_draft(knobbed(3, 4, (unsigned)_i, _i % 2), &settings);
        ck_assert_double_le(points, before);
        before = points;
    }
}
END_TEST

/* Bricks: widths and heights drawn at random, all different, no height like a width, so that making two rows alike (and
 * so pairs of pieces) undoes no other likeness. */
static draft *bricks(unsigned seed, bool twins) {
    uint64_t state = seed * 977u + 3;
    double x[5] = {0}, y[5] = {0}, w[4], h[4];
    draft *d = draft_new();
    for (int i = 0; i < 4; i++) {
        w[i] = 40.0 + 3.0 * i + 2.0 * draft_random(&state);
        h[i] = 13.5 + 3.0 * i + 2.0 * draft_random(&state);
    }
    if (twins) h[2] = h[1];
    for (int i = 0; i < 4; i++) {
        x[i + 1] = x[i] + w[i];
        y[i + 1] = y[i] + h[i];
    }
    draft_rectangle(d, 0, 0, x[4], y[4]);
    for (int i = 1; i < 4; i++) {
        draft_segment(d, x[i], 0, x[i], y[4]);
        draft_segment(d, 0, y[i], x[4], y[i]);
    }
    return d;
}

START_TEST(twins_are_never_easier) {
    const dt_settings settings = DT_SETTINGS_DEFAULT;
    rated with = rate_draft(bricks((unsigned)_i, true), &settings);
    ck_assert_uint_ge(dt_fit_twin_count(with.fit), 4);
    ck_assert_double_ge(with.rating->points, points_of_draft(bricks((unsigned)_i, false), &settings));
    rated_free(&with);
}
END_TEST

static draft *with_figure(unsigned seed, dt_role role) {
    draft *d = knobbed(4, 4, seed, seed % 2);
    draft_layer(d, role == DT_ROLE_WHIMSY ? "whimsy" : "cut", role);
    draft_circle(d, 50.0, 50.0, 3.0);
    return d;
}

START_TEST(a_figure_never_makes_it_harder) {
    const dt_settings settings = DT_SETTINGS_DEFAULT;
    rated figure = rate_draft(with_figure((unsigned)_i, DT_ROLE_WHIMSY), &settings);
    ck_assert_uint_eq(dt_pieces_whimsy_count(figure.pieces), 1);
    ck_assert_double_lt(figure.rating->factors[DT_FACTOR_WHIMSIES], 0.0);
    rated_free(&figure);
}
END_TEST

/* Each piece drawn round, so many of them as figures: every seventh first, so that they lie scattered. */
static draft *with_figures(draft *plain, uint32_t figures, const dt_settings *settings) {
    dt_net *net = NULL;
    dt_pieces *pieces = draft_pieces(plain, settings, &net);
    draft *d = draft_new();
    uint32_t count = (uint32_t)dt_pieces_count(pieces);
    for (uint32_t i = 0; i < count; i++) {
        bool figure = i < figures;
        dt_path outline = dt_pieces_get(pieces, (dt_piece_id){7 * i % count})->outline;
        draft_layer(d, figure ? "whimsy" : "cut", figure ? DT_ROLE_WHIMSY : DT_ROLE_CUT);
        draft_polyline(d, outline.points, outline.count, true);
    }
    dt_pieces_free(pieces);
    dt_net_free(net);
    draft_free(plain);
    return d;
}

/* A sheet of nothing but figures is no trivial puzzle: none of them stands out. */
START_TEST(a_sheet_of_figures_is_no_trifle) {
    const dt_settings settings = DT_SETTINGS_DEFAULT;
    draft *figures = with_figures(knobbed(6, 6, (unsigned)_i, false), 36, &settings);
    rated all = rate_draft(figures, &settings), none = rate_draft(knobbed(6, 6, (unsigned)_i, false), &settings);
    double sum = 0.0;
    ck_assert_uint_eq(dt_pieces_whimsy_count(all.pieces), 36);
    ck_assert_double_lt(all.rating->factors[DT_FACTOR_WHIMSIES], 0.0);
    ck_assert_double_ge(all.rating->looks - 36.0, (none.rating->looks - 36.0) / 2.0 - 1e-9);
    for (size_t i = 0; i < 36; i++) sum += all.rating->places[i].minutes;
    ck_assert_double_eq_tol(sum, all.rating->median_min, 1e-9 * sum);
    rated_free(&all);
    rated_free(&none);
}
END_TEST

START_TEST(figures_more_never_make_it_harder) {
    const dt_settings settings = DT_SETTINGS_DEFAULT;
    double before = INFINITY;
    for (uint32_t figures = 0; figures <= 25; figures += 5) {
        draft *d = with_figures(knobbed(5, 5, (unsigned)_i, _i % 2), figures, &settings);
        rated r = rate_draft(d, &settings);
        ck_assert_uint_ge(dt_pieces_whimsy_count(r.pieces), figures);
        ck_assert_double_le(r.rating->points, before);
        before = r.rating->points;
        rated_free(&r);
    }
}
END_TEST

/* Scaling everything that has a length. */
START_TEST(scale_says_nothing) {
    const double scale = 0.6 + 0.3 * (_i % 5);
    dt_settings settings = DT_SETTINGS_DEFAULT;
    double before = points_of_draft(knobbed(4, 4, (unsigned)_i, _i % 2), &settings);
    draft *d = knobbed(4, 4, (unsigned)_i, _i % 2);
    draft_transform(d, DT_POSE_IDENTITY, scale);
    settings.kerf_mm *= scale;
    settings.eye_mm *= scale;
    settings.join_mm *= scale;
    double after = points_of_draft(d, &settings);
    ck_assert_double_eq_tol(after, before, 1.01 * one_look_alike(before));
}
END_TEST

/* A deviation is known to about this: lines walked the other way round have their samples elsewhere (step^2 / 16 over
 * the radius, see fit/stretch.h, on knobs of 0.8 mm). */
static const double SAMPLED_MM = 0.01;

/* Turned, mirrored, moved: the order of places follows who borders on whom, not where a piece lies on the sheet.
 * Look-alikes whose deviation is the eye's to within the samples may come or go: no more of them than a keener and a
 * duller eye tell apart, and one. */
START_TEST(where_it_lies_says_nothing) {
    dt_settings settings = DT_SETTINGS_DEFAULT, keener = settings, duller = settings;
    const dt_point origin = {0, 0};
    const dt_pose poses[] = {dt_pose_about(90, false, origin, origin),
                             dt_pose_about(180, false, origin, (dt_point){3, 4}),
                             dt_pose_about(0, true, origin, origin), dt_pose_about(27, true, origin, origin)};
    keener.eye_mm -= SAMPLED_MM;
    duller.eye_mm += SAMPLED_MM;
    double before = points_of_draft(knobbed(4, 5, (unsigned)_i, _i % 2), &settings),
           one = 1.01 * one_look_alike(before);
    double least = fmin(before, points_of_draft(knobbed(4, 5, (unsigned)_i, _i % 2), &keener)) - one;
    double most = fmax(before, points_of_draft(knobbed(4, 5, (unsigned)_i, _i % 2), &duller)) + one;
    for (int i = 0; i < 4; i++) {
        draft *d = knobbed(4, 5, (unsigned)_i, _i % 2);
        draft_transform(d, poses[i], 1.0);
        double after = points_of_draft(d, &settings);
        ck_assert_double_ge(after, least);
        ck_assert_double_le(after, most);
    }
}
END_TEST

/* A wavy rim like the inner lines hides the edge; the same inner lines in a straight rim do not. */
static void wave(draft *d, dt_point a, dt_point b, double amplitude, int cells, uint64_t *state) {
    enum { STEPS = 24 };
    const double phase_change = 0.4;
    dt_point along = dt_point_sub(b, a),
             across = dt_point_scale((dt_point){-along.y, along.x}, 1.0 / hypot(along.x, along.y));
    draft_move(d, a);
    for (int cell = 0; cell < cells; cell++) {
        double own = amplitude * (1.0 + phase_change * (draft_random(state) - 0.5));
        for (int i = 1; i <= STEPS; i++) {
            double u = (double)i / STEPS, t = (cell + u) / cells,
                   h = i == STEPS ? 0.0 : own * sin(4 * 3.14159265358979323846 * u);
            draft_line(d, (dt_point){a.x + t * along.x + h * across.x, a.y + t * along.y + h * across.y});
        }
    }
}

static draft *waves(unsigned seed, bool straight_rim) {
    enum { N = 4 };
    const double size = 20.0;
    draft *d = draft_new();
    for (int line = 0; line <= N; line++) {
        bool rim = line % N == 0;
        uint64_t state = seed * 131u + (unsigned)line; /* each line its own shapes, whatever the rim is */
        double amplitude = rim && straight_rim ? 0.0 : 2.5;
        wave(d, (dt_point){0, line * size}, (dt_point){N * size, line * size}, amplitude, N, &state);
        wave(d, (dt_point){line * size, 0}, (dt_point){line * size, N * size}, amplitude, N, &state);
    }
    return d;
}

START_TEST(a_rim_that_shows_never_makes_it_harder) {
    const dt_settings settings = DT_SETTINGS_DEFAULT;
    rated hidden = rate_draft(waves((unsigned)_i, false), &settings),
          plain = rate_draft(waves((unsigned)_i, true), &settings);
    ck_assert(plain.rating->tell_tale_edge);
    ck_assert(!hidden.rating->tell_tale_edge);
    ck_assert_double_lt(plain.rating->factors[DT_FACTOR_EDGE], hidden.rating->factors[DT_FACTOR_EDGE]);
    ck_assert_double_le(plain.rating->points, hidden.rating->points);
    rated_free(&hidden);
    rated_free(&plain);
}
END_TEST

#ifndef RATING_DRAFT_SEEDS
#define RATING_DRAFT_SEEDS 6 /* tests/slow runs the same laws on many more */
#define RATING_DRAFT_SUITE suite_rating_drafts
#define RATING_DRAFT_NAME "rating_drafts"
#endif

Suite *RATING_DRAFT_SUITE(void);
Suite *RATING_DRAFT_SUITE(void) {
    Suite *suite = suite_create(RATING_DRAFT_NAME);
    TCase *cases = tcase_create(RATING_DRAFT_NAME);
    tcase_add_loop_test(cases, a_rating_is_whole, 0, RATING_DRAFT_SEEDS);
    tcase_add_loop_test(cases, alike_knobs_are_never_easier, 0, RATING_DRAFT_SEEDS);
    tcase_add_test(cases, differences_that_no_one_sees_make_nothing_easier);
    tcase_add_loop_test(cases, more_pieces_are_never_easier, 0, RATING_DRAFT_SEEDS);
    tcase_add_loop_test(cases, two_sides_are_never_easier, 0, RATING_DRAFT_SEEDS);
    tcase_add_loop_test(cases, colours_and_pictures_never_make_it_harder, 0, RATING_DRAFT_SEEDS);
    tcase_add_loop_test(cases, twins_are_never_easier, 0, RATING_DRAFT_SEEDS);
    tcase_add_loop_test(cases, a_figure_never_makes_it_harder, 0, RATING_DRAFT_SEEDS);
    tcase_add_loop_test(cases, a_sheet_of_figures_is_no_trifle, 0, RATING_DRAFT_SEEDS);
    tcase_add_loop_test(cases, figures_more_never_make_it_harder, 0, RATING_DRAFT_SEEDS);
    tcase_add_loop_test(cases, scale_says_nothing, 0, RATING_DRAFT_SEEDS);
    tcase_add_loop_test(cases, where_it_lies_says_nothing, 0, RATING_DRAFT_SEEDS);
    tcase_add_loop_test(cases, a_rim_that_shows_never_makes_it_harder, 0, RATING_DRAFT_SEEDS);
    suite_add_tcase(suite, cases);
    return suite;
}
