/* What can be told of a piece at sight: rims that show and rims that hide. */
#include "draft.h"
#include "rating/looks.h"
#include <check.h>
#include <math.h>
#include <stdlib.h>

typedef struct seen {
    draft *d;
    dt_net *net;
    dt_pieces *pieces;
    dt_arena arena;
    const looks *looks;
} seen;

static seen look(draft *d, double eye) {
    seen s = {.d = d, .arena = DT_ARENA((size_t)1 << 26)};
    dt_settings settings = DT_SETTINGS_DEFAULT;
    s.pieces = draft_pieces(d, &settings, &s.net);
    ck_assert_int_eq(looks_of_pieces(s.pieces, eye, &s.arena, &s.looks), DT_OK);
    return s;
}

static void done(seen *s) {
    dt_arena_free(&s->arena);
    dt_pieces_free(s->pieces);
    dt_net_free(s->net);
    draft_free(s->d);
}

typedef struct tally {
    size_t edge, inner;
    size_t plain_rims, corner_rims, hidden_rims; /* of edge pieces */
    size_t false_edges, false_corners;           /* of inner pieces */
} tally;

static tally count(const seen *s) {
    tally t = {0};
    for (uint32_t i = 0; i < dt_pieces_count(s->pieces); i++) {
        looks l = s->looks[i];
        bool edge = dt_pieces_get(s->pieces, (dt_piece_id){i})->edge;
        ck_assert_uint_eq(edge, l.asks != 0);
        ck_assert_uint_eq(l.asks & ~l.shows, 0);
        t.edge += edge;
        t.inner += !edge;
        t.plain_rims += edge && (l.asks & ~LOOK_CORNER) == LOOK_PLAIN;
        t.corner_rims += (l.asks & LOOK_CORNER) != 0;
        t.hidden_rims += edge && !(l.asks & LOOK_PLAIN);
        t.false_edges += !edge && (l.shows & LOOK_PLAIN);
        t.false_corners += !edge && (l.shows & LOOK_CORNER);
    }
    return t;
}

START_TEST(a_straight_rim_shows_among_knobs) {
    draft *d = draft_new();
    draft_knobbed_sheet(d, 8, 10, 20.0, (unsigned)_i, false);
    seen s = look(d, 0.7);
    tally t = count(&s);
    ck_assert_uint_eq(t.edge, 32);
    ck_assert_uint_eq(t.plain_rims, 32);
    ck_assert_uint_eq(t.corner_rims, 4);
    ck_assert_uint_eq(t.false_edges, 0);
    done(&s);
}
END_TEST

START_TEST(straight_cuts_hide_a_straight_rim) {
    draft *d = draft_new();
    draft_straight_sheet(d, 6, 7, 18.0, 15.0);
    seen s = look(d, 0.7);
    tally t = count(&s);
    ck_assert_uint_eq(t.inner, 20);
    ck_assert_uint_eq(t.false_edges, 20);
    ck_assert_uint_eq(t.false_corners, 20);
    ck_assert_uint_eq(t.corner_rims, 4);
    done(&s);
}
END_TEST

/* A sine of this amplitude and two waves to a cell, as one path. */
static void wavy_line(draft *d, dt_point a, dt_point b, double amplitude, int cells) {
    enum { STEPS = 24 };
    dt_point along = dt_point_sub(b, a),
             across = dt_point_scale((dt_point){-along.y, along.x}, amplitude / hypot(along.x, along.y));
    draft_move(d, a);
    for (int i = 1; i <= cells * STEPS; i++) {
        double t = (double)i / (cells * STEPS), h = sin(4 * 3.14159265358979323846 * cells * t);
        if (i == cells * STEPS) h = 0;
        draft_line(d, (dt_point){a.x + t * along.x + h * across.x, a.y + t * along.y + h * across.y});
    }
}

static void wavy_sheet(draft *d, int rows, int columns, double size, double inner, double rim) {
    for (int r = 0; r <= rows; r++)
        wavy_line(d, (dt_point){0, r * size}, (dt_point){columns * size, r * size}, r % rows ? inner : rim, columns);
    for (int c = 0; c <= columns; c++)
        wavy_line(d, (dt_point){c * size, 0}, (dt_point){c * size, rows * size}, c % columns ? inner : rim, rows);
}

START_TEST(a_rim_as_wavy_as_the_inside_hides) {
    draft *d = draft_new();
    wavy_sheet(d, 6, 6, 20.0, 2.5, 2.5);
    seen s = look(d, 0.7);
    tally t = count(&s);
    ck_assert_uint_eq(t.edge, 20);
    ck_assert_uint_eq(t.hidden_rims, 20);
    for (uint32_t i = 0; i < 36; i++) ck_assert_uint_ne(s.looks[i].shows & LOOK_WAVY, 0);
    done(&s);
}
END_TEST

START_TEST(a_straight_rim_shows_among_waves_that_the_eye_sees) {
    draft *d = draft_new();
    wavy_sheet(d, 6, 6, 20.0, 2.5, 0.0);
    seen s = look(d, 0.7);
    tally t = count(&s);
    ck_assert_uint_eq(t.plain_rims, 20);
    ck_assert_uint_eq(t.corner_rims, 4);
    ck_assert_uint_eq(t.false_edges, 0);
    done(&s);
    d = draft_new();
    wavy_sheet(d, 6, 6, 20.0, 0.3, 0.0); /* waves below the eye are straight to a person */
    s = look(d, 0.7);
    ck_assert_uint_eq(count(&s).false_edges, 16);
    done(&s);
}
END_TEST

/* Every inner line is one shallow arc a cell, to either side in turn. */
static void arched_sheet(draft *d, int cells, double size, double sag) {
    draft_rectangle(d, 0, 0, cells * size, cells * size);
    for (int line = 1; line < cells; line++)
        for (int cell = 0; cell < cells; cell++) {
            double u = cell * size, v = line * size, bow = 4.0 / 3.0 * sag * ((line + cell) % 2 ? 1 : -1);
            draft_move(d, (dt_point){u, v});
            draft_cubic(d, (dt_point){u + size / 3, v + bow}, (dt_point){u + 2 * size / 3, v + bow},
                        (dt_point){u + size, v});
            draft_move(d, (dt_point){v, u});
            draft_cubic(d, (dt_point){v + bow, u + size / 3}, (dt_point){v + bow, u + 2 * size / 3},
                        (dt_point){v, u + size});
        }
}

/* Arcs that stray from a straight line by three times what the eye tells are no false edges, those that stray by less
 * are. */
START_TEST(a_straight_rim_shows_among_arcs_that_the_eye_sees) {
    draft *d = draft_new();
    arched_sheet(d, 5, 30.0, 2.1);
    seen s = look(d, 0.7);
    tally t = count(&s);
    ck_assert_uint_eq(t.plain_rims, 16);
    ck_assert_uint_eq(t.false_edges, 0);
    done(&s);
    d = draft_new();
    arched_sheet(d, 5, 30.0, 0.5);
    s = look(d, 0.7);
    ck_assert_uint_eq(count(&s).false_edges, 9);
    done(&s);
}
END_TEST

static void wavy_circle(draft *d, double radius, double amplitude) {
    enum { STEPS = 720 };
    for (int i = 0; i < STEPS; i++) {
        double angle = 2 * 3.14159265358979323846 * i / STEPS, r = radius + amplitude * sin(36 * angle);
        dt_point p = {r * cos(angle), r * sin(angle)};
        if (i == 0)
            draft_move(d, p);
        else
            draft_line(d, p);
    }
    draft_close(d);
}

/* A round puzzle: rings and spokes of waves; its rim is bent, and only the rim is. */
START_TEST(a_round_rim_shows_too) {
    enum { SPOKES = 12 };
    const double turn = 2 * 3.14159265358979323846, radius = 60.0;
    draft *d = draft_new();
    wavy_circle(d, radius, 0.0);
    wavy_circle(d, 35.0, 2.5);
    wavy_circle(d, 6.0, 0.0);
    for (int i = 0; i < SPOKES; i++) {
        dt_point u = {cos(turn * i / SPOKES), sin(turn * i / SPOKES)};
        wavy_line(d, dt_point_scale(u, 6.0), dt_point_scale(u, radius), 2.0, 2);
    }
    seen s = look(d, 0.7);
    tally t = count(&s);
    ck_assert_uint_eq(t.edge, SPOKES);
    ck_assert_uint_eq(t.plain_rims, SPOKES);
    ck_assert_uint_eq(t.false_edges, 0);
    done(&s);
}
END_TEST

/* Straight runs inside are false edges: exactly the two pieces on each side of such a seam show one. */
START_TEST(false_edges_are_found_where_they_are) {
    const double size = 20.0, shape[6] = {.5, .5, .5, .5, .5, .5};
    draft *d = draft_new();
    draft_rectangle(d, 0, 0, 6 * size, 6 * size);
    for (int line = 1; line < 6; line++)
        for (int i = 0; i < 6; i++) {
            dt_point a = {i * size, line * size}, b = {(i + 1) * size, line * size};
            draft_move(d, a);
            if (line == 3 && i == 2)
                draft_line(d, b);
            else
                draft_knob(d, a, b, 1, shape);
            draft_move(d, (dt_point){a.y, a.x});
            draft_knob(d, (dt_point){a.y, a.x}, (dt_point){b.y, b.x}, 1, shape);
        }
    seen s = look(d, 0.7);
    ck_assert_uint_eq(count(&s).false_edges, 2);
    ck_assert_uint_ne(s.looks[2 * 6 + 2].shows & LOOK_PLAIN, 0);
    ck_assert_uint_ne(s.looks[3 * 6 + 2].shows & LOOK_PLAIN, 0);
    ck_assert_uint_eq(count(&s).plain_rims, 20);
    done(&s);
}
END_TEST

START_TEST(drawing_and_eye_scaled_together_look_the_same) {
    draft *d = draft_new(), *scaled = draft_new();
    draft_knobbed_sheet(d, 5, 6, 12.0, 3, false);
    draft_knobbed_sheet(scaled, 5, 6, 12.0, 3, false);
    draft_transform(scaled, DT_POSE_IDENTITY, 2.5);
    seen a = look(d, 0.7), b = look(scaled, 1.75);
    for (uint32_t i = 0; i < 30; i++) {
        ck_assert_uint_eq(a.looks[i].asks, b.looks[i].asks);
        ck_assert_uint_eq(a.looks[i].shows, b.looks[i].shows);
    }
    done(&a);
    done(&b);
}
END_TEST

Suite *suite_rating_looks(void);
Suite *suite_rating_looks(void) {
    Suite *suite = suite_create("rating_looks");
    TCase *cases = tcase_create("rating_looks");
    tcase_add_loop_test(cases, a_straight_rim_shows_among_knobs, 1, 21);
    tcase_add_test(cases, straight_cuts_hide_a_straight_rim);
    tcase_add_test(cases, a_rim_as_wavy_as_the_inside_hides);
    tcase_add_test(cases, a_straight_rim_shows_among_waves_that_the_eye_sees);
    tcase_add_test(cases, a_straight_rim_shows_among_arcs_that_the_eye_sees);
    tcase_add_test(cases, a_round_rim_shows_too);
    tcase_add_test(cases, false_edges_are_found_where_they_are);
    tcase_add_test(cases, drawing_and_eye_scaled_together_look_the_same);
    suite_add_tcase(suite, cases);
    return suite;
}
