/* Pieces, seams, sides, numbering, edges and corners on drafts whose answers follow from how they were drawn. */
#include "draft.h"
#include "pieces/hull.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef struct fixture {
    draft *d;
    dt_net *net;
    dt_pieces *pieces;
} fixture;

static dt_pieces *begin(fixture *f, draft *d) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    *f = (fixture){.d = d};
    f->pieces = draft_pieces(d, &settings, &f->net);
    const char *wrong = dt_pieces_check(f->pieces);
    ck_assert_msg(!wrong, "%s", wrong);
    return f->pieces;
}

static void end(fixture *f) {
    dt_pieces_free(f->pieces);
    dt_net_free(f->net);
    draft_free(f->d);
}

static const dt_piece *piece(const dt_pieces *pieces, uint32_t i) {
    return dt_pieces_get(pieces, (dt_piece_id){i});
}

typedef struct tally {
    size_t edges, corners, inner_seams, closed_seams;
} tally;

static tally count_all(const dt_pieces *pieces) {
    tally t = {0};
    for (uint32_t i = 0; i < dt_pieces_count(pieces); i++) {
        t.edges += piece(pieces, i)->edge;
        t.corners += piece(pieces, i)->corner;
    }
    for (uint32_t i = 0; i < dt_pieces_seam_count(pieces); i++) {
        const dt_seam *seam = dt_pieces_seam(pieces, (dt_seam_id){i});
        t.inner_seams += DT_IS_PIECE(seam->b);
        t.closed_seams += seam->closed;
    }
    return t;
}

START_TEST(a_straight_sheet) {
    draft *d = draft_new();
    draft_straight_sheet(d, 3, 4, 30, 20);
    fixture f;
    dt_pieces *pieces = begin(&f, d);
    ck_assert_uint_eq(dt_pieces_count(pieces), 12);
    tally t = count_all(pieces);
    ck_assert_uint_eq(t.edges, 10);
    ck_assert_uint_eq(t.corners, 4);
    ck_assert_uint_eq(t.inner_seams, 3 * 3 + 2 * 4);
    ck_assert_uint_eq(dt_pieces_puzzle_count(pieces), 1);
    for (uint32_t i = 0; i < 12; i++) {
        const dt_piece *p = piece(pieces, i);
        ck_assert_double_eq_tol(p->inside.x, 15 + 30 * (i % 4), 5.1); /* row by row; the circle may lie along the middle */
        ck_assert_double_eq_tol(p->inside.y, 10 + 20 * (i / 4), 0.2);
        ck_assert_double_eq_tol(p->inradius_mm, 10, 0.1);
        ck_assert_double_eq_tol(p->area_mm2, 600, 1e-9);
        ck_assert_double_eq_tol(p->perimeter_mm, 100, 1e-9);
        ck_assert_double_eq_tol(p->length_mm, 30, 1e-9);
        ck_assert_double_eq_tol(p->width_mm, 20, 1e-9);
        ck_assert(p->neck.width_mm == INFINITY);
    }
    end(&f);
}
END_TEST

START_TEST(sides_lead_to_the_neighbours) {
    draft *d = draft_new();
    draft_straight_sheet(d, 3, 3, 20, 20);
    fixture f;
    dt_pieces *pieces = begin(&f, d);
    const dt_piece *middle = piece(pieces, 4);
    const uint32_t clockwise[] = {1, 5, 7, 3};
    ck_assert_uint_eq(middle->side_count, 4);
    for (size_t i = 0; i < 4; i++)
        ck_assert_uint_eq(dt_pieces_across(pieces, (dt_piece_id){4}, &middle->sides[i]).v, clockwise[i]);
    end(&f);
}
END_TEST

START_TEST(knobbed_rows_are_numbered_row_by_row) {
    draft *d = draft_new();
    draft_knobbed_sheet(d, 6, 9, 20, 3, false);
    fixture f;
    dt_pieces *pieces = begin(&f, d);
    ck_assert_uint_eq(dt_pieces_count(pieces), 54);
    tally t = count_all(pieces);
    ck_assert_uint_eq(t.edges, 54 - 28);
    ck_assert_uint_eq(t.corners, 4);
    ck_assert_uint_eq(t.inner_seams, 6 * 8 + 5 * 9);
    for (uint32_t i = 0; i < 54; i++) {
        ck_assert_double_eq_tol(piece(pieces, i)->inside.x, 10 + 20 * (i % 9), 6);
        ck_assert_double_eq_tol(piece(pieces, i)->inside.y, 10 + 20 * (i / 9), 6);
    }
    end(&f);
}
END_TEST

START_TEST(an_island_in_a_piece) {
    draft *d = draft_new();
    draft_rectangle(d, 0, 0, 60, 40);
    draft_circle(d, 20, 20, 8);
    draft_segment(d, 40, 0, 40, 40);
    fixture f;
    dt_pieces *pieces = begin(&f, d);
    ck_assert_uint_eq(dt_pieces_count(pieces), 3);
    ck_assert_uint_eq(dt_pieces_tray_count(pieces), 0);
    tally t = count_all(pieces);
    ck_assert_uint_eq(t.closed_seams, 1);
    ck_assert_uint_eq(t.edges, 2);
    ck_assert_uint_eq(t.corners, 2);
    ck_assert_uint_eq(dt_pieces_puzzle_count(pieces), 1);
    ck_assert_uint_eq(piece(pieces, 0)->hole_count, 1);
    ck_assert_uint_eq(piece(pieces, 0)->side_count, 3);
    end(&f);
}
END_TEST

START_TEST(a_lone_piece) {
    draft *d = draft_new();
    draft_circle(d, 20, 20, 8);
    fixture f;
    dt_pieces *pieces = begin(&f, d);
    ck_assert_uint_eq(dt_pieces_count(pieces), 1);
    ck_assert(piece(pieces, 0)->edge && !piece(pieces, 0)->corner);
    ck_assert_uint_eq(dt_pieces_seam_count(pieces), 1);
    ck_assert_double_eq_tol(piece(pieces, 0)->inradius_mm, 8, 0.03);
    end(&f);
}
END_TEST

/* Points on a straight side, right where the largest circle touches it: the cell that the search begins with is not outside for that. */
START_TEST(points_on_straight_sides) {
    static const dt_point corners[] = {{12, 0}, {24, 0}, {24, 12}, {24, 24}, {24, 36}, {12, 36}, {12, 24}, {0, 24}, {0, 12}, {0, 0}};
    for (int turn = 0; turn < 4; turn++) {
        draft *d = draft_new();
        draft_polyline(d, corners, 10, true);
        draft_transform(d, dt_pose_about(90.0 * turn, false, (dt_point){0, 0}, (dt_point){50, 50}), 1.0);
        fixture f;
        dt_pieces *pieces = begin(&f, d);
        ck_assert_double_eq_tol(piece(pieces, 0)->inradius_mm, 12, 0.12); /* border.h: one in a hundred where it is even */
        end(&f);
    }
}
END_TEST

START_TEST(a_tray_is_no_piece) {
    draft *d = draft_new();
    draft_straight_sheet(d, 2, 2, 20, 20);
    draft_rectangle(d, -10, -10, 60, 60);
    fixture f;
    dt_pieces *pieces = begin(&f, d);
    ck_assert_uint_eq(dt_pieces_tray_count(pieces), 1);
    ck_assert_uint_eq(dt_pieces_count(pieces), 4);
    tally t = count_all(pieces);
    ck_assert_uint_eq(t.edges, 4);
    ck_assert_uint_eq(t.corners, 4);
    ck_assert_double_eq(dt_pieces_box(pieces).low.x, 0);
    end(&f);
}
END_TEST

/* Each puzzle has its own tray, or one tray holds them all; a frame with one figure in each opening is a piece. */
START_TEST(trays_of_several_puzzles) {
    static const size_t trays[] = {2, 1, 0}, count[] = {4, 4, 3};
    for (int way = 0; way < 3; way++) {
        draft *d = draft_new();
        for (int i = 0; i < 2; i++) {
            double x = 100 * i;
            draft_rectangle(d, x, 0, 40, 30);
            if (way < 2) draft_segment(d, x + 15 + 5 * i, 0, x + 20, 30);
            if (way == 0) draft_rectangle(d, x - 8, -8, 56, 46);
        }
        if (way > 0) draft_rectangle(d, -20, -20, 180, 80);
        fixture f;
        dt_pieces *pieces = begin(&f, d);
        ck_assert_uint_eq(dt_pieces_tray_count(pieces), trays[way]);
        ck_assert_uint_eq(dt_pieces_count(pieces), count[way]);
        ck_assert_uint_eq(dt_pieces_puzzle_count(pieces), way < 2 ? 2 : 1);
        end(&f);
    }
}
END_TEST

START_TEST(two_puzzles_on_a_sheet) {
    draft *d = draft_new();
    draft_straight_sheet(d, 2, 2, 20, 20);
    draft_rectangle(d, 60, 0, 40, 40);
    draft_segment(d, 60, 20, 100, 20);
    fixture f;
    dt_pieces *pieces = begin(&f, d);
    ck_assert_uint_eq(dt_pieces_count(pieces), 6);
    ck_assert_uint_eq(dt_pieces_puzzle_count(pieces), 2);
    ck_assert_uint_eq(piece(pieces, 0)->puzzle, 0);
    ck_assert_uint_eq(piece(pieces, 2)->puzzle, 1);
    ck_assert_uint_eq(count_all(pieces).corners, 4 + 2);
    end(&f);
}
END_TEST

START_TEST(pieces_that_touch_in_a_point) {
    draft *d = draft_new();
    const dt_point left[] = {{0, 0}, {20, 10}, {0, 20}}, right[] = {{20, 10}, {40, 0}, {40, 20}};
    draft_polyline(d, left, 3, true);
    draft_polyline(d, right, 3, true);
    fixture f;
    dt_pieces *pieces = begin(&f, d);
    ck_assert_uint_eq(dt_pieces_count(pieces), 2);
    ck_assert_uint_eq(count_all(pieces).inner_seams, 0);
    ck_assert_uint_eq(dt_pieces_puzzle_count(pieces), 2);
    end(&f);
}
END_TEST

START_TEST(rounded_corners_are_corners) {
    draft *d = draft_new();
    const double k = 0.5522847498307936; /* corners of 1 mm radius turn within 1.57 mm; those of 6 mm do not within 2 mm */
    for (int i = 0; i < 2; i++) {
        double r = i ? 6 : 1, x = 100 * i, b = r * (1 - k), w = 40;
        draft_move(d, (dt_point){x + r, 0});
        draft_line(d, (dt_point){x + w - r, 0});
        draft_cubic(d, (dt_point){x + w - b, 0}, (dt_point){x + w, b}, (dt_point){x + w, r});
        draft_line(d, (dt_point){x + w, w - r});
        draft_cubic(d, (dt_point){x + w, w - b}, (dt_point){x + w - b, w}, (dt_point){x + w - r, w});
        draft_line(d, (dt_point){x + r, w});
        draft_cubic(d, (dt_point){x + b, w}, (dt_point){x, w - b}, (dt_point){x, w - r});
        draft_line(d, (dt_point){x, r});
        draft_cubic(d, (dt_point){x, b}, (dt_point){x + b, 0}, (dt_point){x + r, 0});
        draft_segment(d, x + 20, 0, x + 20, w);
    }
    fixture f;
    dt_pieces *pieces = begin(&f, d);
    ck_assert_uint_eq(dt_pieces_count(pieces), 4);
    for (uint32_t i = 0; i < 4; i++) ck_assert_int_eq(piece(pieces, i)->corner, piece(pieces, i)->inside.x < 60);
    end(&f);
}
END_TEST

static double extent(dt_path path, double x, double y) {
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < path.count; i++) {
        double d = x * path.points[i].x + y * path.points[i].y;
        low = fmin(low, d);
        high = fmax(high, d);
    }
    return high - low;
}

/* The twin of the calipers: every side of the hull against every point. Points on a coarse grid give parallel sides and points in line. */
START_TEST(the_smallest_rectangle_by_looking_at_all_sides) {
    uint64_t state = (uint64_t)_i + 1;
    dt_point points[60], *hull = NULL;
    size_t count = 3 + (size_t)(57 * draft_random(&state)), corners = 0;
    double grid = _i % 2 ? 0.001 : 5.0;
    for (size_t i = 0; i < count; i++) points[i] = (dt_point){grid * floor(40 / grid * draft_random(&state)), grid * floor(30 / grid * draft_random(&state))};
    points[0] = (dt_point){-1, -1}; /* never all in line */
    points[1] = (dt_point){42, -2};
    points[2] = (dt_point){3, 35};
    ck_assert_int_eq(hull_of((dt_path){points, count}, &hull, &corners), DT_OK);
    rectangle found = hull_rectangle((dt_path){hull, corners});
    double least = INFINITY;
    for (size_t i = 0; i < corners; i++) {
        dt_point along = dt_point_sub(hull[(i + 1) % corners], hull[i]);
        double norm = hypot(along.x, along.y);
        dt_path all = {points, count};
        least = fmin(least, extent(all, along.x / norm, along.y / norm) * extent(all, -along.y / norm, along.x / norm));
    }
    ck_assert_double_eq_tol(found.length * found.width, least, 1e-6);
    free(hull);
}
END_TEST

START_TEST(an_outline_of_too_many_points_is_refused) {
    enum { COUNT = 25000 };
    draft *d = draft_new();
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_net *net = NULL;
    dt_pieces *pieces = NULL;
    dt_error error = {0};
    for (int i = 0; i < COUNT; i++) {
        double turn = 2 * 3.14159265358979323846 * i / COUNT, r = 1000 + (i % 2 ? 0.4 : 0.0);
        dt_point p = {r * cos(turn), r * sin(turn)};
        if (i == 0) draft_move(d, p);
        else draft_line(d, p);
    }
    draft_close(d);
    dt_strokes strokes = draft_strokes(d, 0.01);
    ck_assert_int_eq(dt_net_new(strokes, &settings, &net, &error), DT_OK);
    ck_assert_int_eq(dt_pieces_new(net, strokes, &settings, &pieces, &error), DT_TOO_LARGE);
    ck_assert_ptr_nonnull(strstr(error.message, "25000 points along its outline"));
    dt_net_free(net);
    draft_free(d);
}
END_TEST

Suite *suite_pieces_basics(void);
Suite *suite_pieces_basics(void) {
    Suite *suite = suite_create("pieces_basics");
    TCase *cases = tcase_create("pieces_basics");
    tcase_add_test(cases, a_straight_sheet);
    tcase_add_test(cases, sides_lead_to_the_neighbours);
    tcase_add_test(cases, knobbed_rows_are_numbered_row_by_row);
    tcase_add_test(cases, an_island_in_a_piece);
    tcase_add_test(cases, a_lone_piece);
    tcase_add_test(cases, points_on_straight_sides);
    tcase_add_test(cases, a_tray_is_no_piece);
    tcase_add_test(cases, trays_of_several_puzzles);
    tcase_add_test(cases, two_puzzles_on_a_sheet);
    tcase_add_test(cases, pieces_that_touch_in_a_point);
    tcase_add_test(cases, rounded_corners_are_corners);
    tcase_add_loop_test(cases, the_smallest_rectangle_by_looking_at_all_sides, 0, 200);
    tcase_add_test(cases, an_outline_of_too_many_points_is_refused);
    suite_add_tcase(suite, cases);
    return suite;
}
