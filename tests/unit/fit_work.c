/* Sheets on which fits would cost minutes: the work is counted, what is left out is told, and the largest pieces come first. */
#include "draft.h"
#include "fit/store.h"

#include <check.h>
#include <math.h>

static const dt_settings SETTINGS = DT_SETTINGS_DEFAULT;
static const double PI = 3.14159265358979323846;

typedef struct sheet {
    dt_net *net;
    dt_pieces *pieces;
    dt_fit *fit;
} sheet;

static sheet fit_sheet(draft *d) {
    sheet s = {NULL, NULL, NULL};
    dt_error error = {0};
    s.pieces = draft_pieces(d, &SETTINGS, &s.net);
    ck_assert_msg(dt_fit_new(s.pieces, &SETTINGS, NULL, &s.fit, &error) == DT_OK, "%s", error.message);
    draft_free(d);
    return s;
}

static void sheet_free(sheet *s) {
    dt_fit_free(s->fit);
    dt_pieces_free(s->pieces);
    dt_net_free(s->net);
}

/* Nearest points: what one comparison of two circles as they lie asks for, and some for the first. */
START_TEST(copies_are_joined_without_a_search) {
    enum { COPIES = 400 };
    draft *d = draft_new();
    for (int i = 0; i < COPIES; i++) draft_circle(d, 20 + 20 * (i % 20), 20 + 20 * (i / 20), 8);
    sheet s = fit_sheet(d);
    size_t points = dt_pieces_get(s.pieces, (dt_piece_id){0})->outline.count;
    for (uint32_t i = 0; i < COPIES; i++) ck_assert_uint_eq(s.fit->class_of[i], 0);
    ck_assert_uint_eq(dt_fit_twin_count(s.fit), COPIES * (COPIES - 1) / 2);
    ck_assert(!dt_fit_leaves_out(s.fit, DT_LIST_TWINS));
    ck_assert_uint_lt(s.fit->work, 2 * points * COPIES + 200000);
    sheet_free(&s);
}
END_TEST

static void draw_speck(draft *d, dt_point at, double radius, uint64_t *state) {
    enum { POINTS = 7 };
    dt_point points[POINTS];
    for (int k = 0; k < POINTS; k++) {
        double turn = 2.0 * PI * k / POINTS, r = radius * (0.85 + 0.3 * draft_random(state));
        points[k] = (dt_point){at.x + r * cos(turn), at.y + r * sin(turn)};
    }
    draft_polyline(d, points, POINTS, true);
}

static void draw_corner(draft *d, double x, double y) {
    const dt_point points[] = {{x, y}, {x + 40, y}, {x + 40, y + 11}, {x + 13, y + 11}, {x + 13, y + 30}, {x, y + 30}};
    draft_polyline(d, points, sizeof points / sizeof *points, true);
}

/* Specks a few kerfs wide fit each other, and themselves, at nearly any turn. Two angles and a disc come after them in the drawing,
 * and still the angles are twins and the disc has any turn. */
START_TEST(thousands_of_specks) {
    enum { SPECKS = 3000, MOST = 30000000 }; /* of hundreds of millions */
    uint64_t state = 7;
    draft *d = draft_new();
    for (int i = 0; i < SPECKS; i++) draw_speck(d, (dt_point){5 + 5 * (i % 60), 5 + 5 * (i / 60)}, 0.5 + 0.5 * draft_random(&state), &state);
    draw_corner(d, 10, 300);
    draw_corner(d, 70, 310);
    draft_circle(d, 200, 320, 15);
    sheet s = fit_sheet(d);
    size_t angles = 0, turning = 0;
    ck_assert_uint_eq(dt_pieces_count(s.pieces), SPECKS + 3);
    for (size_t i = 0; i < dt_fit_twin_count(s.fit); i++)
        angles += dt_pieces_get(s.pieces, dt_fit_twin(s.fit, i)->a)->area_mm2 > 600.0;
    for (size_t i = 0; i < dt_fit_turner_count(s.fit); i++)
        turning += isnan(dt_fit_turner(s.fit, i)->turn) && dt_pieces_get(s.pieces, dt_fit_turner(s.fit, i)->a)->area_mm2 > 600.0;
    ck_assert_uint_eq(angles, 1);
    ck_assert_uint_eq(turning, 1);
    ck_assert(dt_fit_leaves_out(s.fit, DT_LIST_TWINS) && dt_fit_leaves_out(s.fit, DT_LIST_TURNERS));
    ck_assert_uint_lt(s.fit->work, MOST);
    ck_assert(!dt_fit_sought_near_twins(s.fit)); /* and that is told, too */
    sheet_free(&s);
}
END_TEST

static size_t k_of_side(const dt_fit *fit, uint32_t piece) {
    return fit->sides[fit->side_start[piece]].k;
}

/* A board with islands of one shape: what fits one hole fits all. */
START_TEST(islands_of_one_shape_are_asked_for_once) {
    enum { ISLANDS = 400, SIDES = 2 * ISLANDS };
    draft *d = draft_new();
    draft_rectangle(d, 0, 0, 205, 205);
    for (int i = 0; i < ISLANDS; i++) {
        double x = 5 + 10 * (i % 20), y = 5 + 10 * (i / 20);
        draft_polyline(d, (dt_point[]){{x, y}, {x + 4, y + 1}, {x + 2, y + 5}}, 3, true);
    }
    sheet s = fit_sheet(d);
    size_t closed = 0;
    for (size_t i = 0; i < s.fit->side_classes.count; i++) closed += s.fit->side_classes.items[i].closed;
    ck_assert_uint_eq(closed, 2); /* holes, and islands */
    for (uint32_t i = 0; i < dt_pieces_count(s.pieces); i++)
        if (dt_pieces_get(s.pieces, (dt_piece_id){i})->area_mm2 < 100.0) ck_assert_uint_eq(k_of_side(s.fit, i), ISLANDS);
    ck_assert(!dt_fit_leaves_out(s.fit, DT_LIST_LOOK_ALIKES));
    ck_assert_uint_lt(s.fit->work, 500000);
    sheet_free(&s);
}
END_TEST

/* Candidates for an island's side lie there as drawn, whichever side of the class was asked. */
START_TEST(candidates_lie_on_the_islands_of_their_class) {
    draft *d = draft_new();
    draft_rectangle(d, 0, 0, 60, 60);
    for (int i = 0; i < 4; i++) {
        dt_pose pose = dt_pose_about(0.7 * i, false, (dt_point){0, 0}, (dt_point){15 + 30 * (i % 2), 15 + 30 * (i / 2)});
        dt_point corners[] = {{-4, -3}, {6, -2}, {0, 5}};
        for (int k = 0; k < 3; k++) corners[k] = dt_pose_apply(pose, corners[k]);
        draft_polyline(d, corners, 3, true);
    }
    sheet s = fit_sheet(d);
    for (uint32_t side = 0; side < s.fit->side_count; side++) {
        const dt_side_entry *entry = &s.fit->sides[side];
        dt_point hole = dt_pieces_get(s.pieces, (dt_piece_id){entry->piece})->inside;
        if (entry->class_id == UINT32_MAX || dt_pieces_get(s.pieces, (dt_piece_id){entry->piece})->hole_count) continue;
        ck_assert_uint_eq(entry->listed, 4);
        for (uint32_t i = 0; i < entry->listed; i++) {
            const dt_candidate *c = &s.fit->candidates.items[entry->first + i];
            dt_point lands = dt_pose_apply(c->pose, dt_pieces_get(s.pieces, c->piece)->inside);
            ck_assert_double_lt(dt_point_distance(lands, hole), 0.05);
        }
    }
    sheet_free(&s);
}
END_TEST

START_TEST(thousands_of_islands) {
    enum { SPECKS = 2500 };
    uint64_t state = 3;
    draft *d = draft_new();
    draft_rectangle(d, 0, 0, 260, 260);
    for (int i = 0; i < SPECKS; i++) draw_speck(d, (dt_point){5 + 5 * (i % 50), 5 + 5 * (i / 50)}, 1.0 + 0.2 * draft_random(&state), &state);
    sheet s = fit_sheet(d);
    ck_assert_uint_eq(dt_pieces_count(s.pieces), SPECKS + 1);
    ck_assert(dt_fit_leaves_out(s.fit, DT_LIST_LOOK_ALIKES));
    ck_assert_uint_lt(s.fit->work, 40000000); /* of billions */
    sheet_free(&s);
}
END_TEST

/* On a sheet of alike knobs nearly every piece is a twin of nearly every other: whether one that lies along a seam is a twin of
 * the right piece there is asked once for all that are alike, not for each of them (40 million nearest points). */
START_TEST(alike_knobs) {
    draft *d = draft_new();
    draft_knobbed_sheet(d, 20, 20, 20.0, 5, true);
    sheet s = fit_sheet(d);
    ck_assert_uint_gt(dt_fit_twin_count(s.fit), 10000);
    ck_assert_uint_lt(s.fit->work, 8000000);
    ck_assert(dt_fit_sought_near_twins(s.fit));
    sheet_free(&s);
}
END_TEST

Suite *suite_fit_work(void);
Suite *suite_fit_work(void) {
    Suite *suite = suite_create("fit_work");
    TCase *cases = tcase_create("all");
    tcase_add_test(cases, copies_are_joined_without_a_search);
    tcase_add_test(cases, thousands_of_specks);
    tcase_add_test(cases, islands_of_one_shape_are_asked_for_once);
    tcase_add_test(cases, candidates_lie_on_the_islands_of_their_class);
    tcase_add_test(cases, thousands_of_islands);
    tcase_add_test(cases, alike_knobs);
    suite_add_tcase(suite, cases);
    return suite;
}
