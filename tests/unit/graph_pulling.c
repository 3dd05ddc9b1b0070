/* What holds together and what falls apart: known answers from outside, and laws. Sources beside each check. */
#include "brute_blocking.h"
#include "graph/blocking.h"
#include "puzzle.h"

#include <check.h>
#include <math.h>

static void draw_lines(draft *d, const double (*lines)[4], size_t count, double scale) {
    for (size_t i = 0; i < count; i++)
        draft_segment(d, lines[i][0] * scale, -lines[i][1] * scale, lines[i][2] * scale, -lines[i][3] * scale);
}

#define DRAW(d, scale, ...)                                                                                            \
    draw_lines(d, (const double[][4]){__VA_ARGS__}, sizeof((const double[][4]){__VA_ARGS__}) / (4 * sizeof(double)),   \
               scale)

/* Does u, moved in this direction, run into its neighbour? */
static bool runs_into(const dt_neighbours *n, bool a_moves, double degrees) {
    return puzzle_depth(n, a_moves ? degrees + 180 : degrees) < 0;
}

/* Takes away, again and again, the pieces that run into none of the others; how many stay. */
static uint32_t left_over(const puzzle *p, double degrees) {
    bool gone[64] = {false};
    uint32_t left = p->count;
    for (uint32_t before = left + 1; left < before;) {
        before = left;
        bool stuck[64] = {false};
        for (size_t i = 0; i < dt_graph_pair_count(p->graph); i++) {
            const dt_neighbours *n = dt_graph_pair(p->graph, i);
            if (gone[n->a.v] || gone[n->b.v]) continue;
            stuck[n->a.v] |= runs_into(n, true, degrees);
            stuck[n->b.v] |= runs_into(n, false, degrees);
        }
        for (uint32_t u = 0; u < p->count; u++)
            if (!gone[u] && !stuck[u]) gone[u] = true, left--;
    }
    return left;
}

/* Guibas and Yao, On translating a set of rectangles, 1983: convex pieces can be taken away one at a time in any
 * direction, so no blocking graph has a circle, and the whole never holds together. */
static void check_convex(draft *d, uint32_t pieces, double kerf_mm) {
    puzzle p = puzzle_of(d, kerf_mm);
    ck_assert_uint_eq(p.count, pieces);
    const dt_interlock *whole = dt_graph_interlock(p.graph);
    ck_assert_uint_eq(whole->locked_joints, 0);
    ck_assert(!whole->holds_together && whole->loose_count == 1);
    for (int k = 0; k < 360; k++) ck_assert_uint_eq(left_over(&p, k + 0.3), 0);
    puzzle_free(&p);
}

static draft *stomachion(void) {
    draft *d = draft_new();
    draft_rectangle(d, 0, -120, 120, 120);
    DRAW(d, 10, {0, 6, 12, 0}, {0, 6, 12, 6}, {0, 6, 12, 12}, {0, 12, 12, 0}, {2, 10, 12, 12}, {4, 0, 6, 3},
         {6, 0, 6, 3}, {6, 3, 12, 6}, {6, 9, 12, 9}, {8, 10, 12, 9});
    return d;
}

static draft *tangram(void) {
    draft *d = draft_new();
    draft_rectangle(d, 0, -80, 80, 80);
    DRAW(d, 20, {0, 0, 3, 3}, {4, 0, 0, 4}, {4, 2, 2, 4}, {3, 1, 4, 2}, {1, 3, 2, 4});
    return d;
}

/* Squares laid one by one into the highest, leftmost gap, as the table in the outside answers says. */
static draft *squared_square(void) {
    static const int sides[] = {50, 35, 27, 8, 19, 15, 17, 11, 6, 24, 29, 25, 9, 2, 7, 18, 16, 42, 4, 37, 33};
    int depth[112] = {0};
    draft *d = draft_new();
    for (size_t i = 0; i < sizeof sides / sizeof *sides; i++) {
        int at = 0;
        for (int x = 1; x < 112; x++)
            if (depth[x] < depth[at]) at = x;
        draft_rectangle(d, 2 * at, 2 * depth[at], 2 * sides[i], 2 * sides[i]);
        for (int x = at, level = depth[at]; x < at + sides[i]; x++) {
            ck_assert_int_eq(depth[x], level);
            depth[x] += sides[i];
        }
    }
    return d;
}

START_TEST(convex_pieces_never_hold_together) {
    check_convex(stomachion(), 14, 0.2);
    check_convex(stomachion(), 14, 0);
    check_convex(tangram(), 7, 0.2);
    check_convex(squared_square(), 21, 0.2);
}
END_TEST

/* The outside answers: 20 neighbour pairs, and pairs that touch in a point only are none. */
START_TEST(stomachion_has_20_pairs) {
    puzzle p = puzzle_of(stomachion(), 0.2);
    ck_assert_uint_eq(dt_graph_pair_count(p.graph), 20);
    ck_assert_uint_eq(dt_graph_components(p.graph), 1);
    puzzle_free(&p);
}
END_TEST

/* ---- the 7 x 7 square of the outside answers (own derivation), in mm, y up ---- */

static draft *square_with(const double (*cut)[2], size_t count) {
    draft *d = draft_new();
    draft_rectangle(d, 0, -7, 7, 7);
    for (size_t i = 0; i + 1 < count; i++) draft_segment(d, cut[i][0], -cut[i][1], cut[i + 1][0], -cut[i + 1][1]);
    return d;
}

#define SQUARE(...)                                                                                                    \
    square_with((const double[][2]){__VA_ARGS__}, sizeof((const double[][2]){__VA_ARGS__}) / (2 * sizeof(double)))

static draft *mushroom(void) {
    return SQUARE({7, 3}, {4, 3}, {4, 4}, {5, 4}, {5, 5}, {2, 5}, {2, 4}, {3, 4}, {3, 3}, {0, 3});
}

START_TEST(mushroom_and_dovetail_hold_a_tab_slides_a_straight_cut_is_free) {
    puzzle p = puzzle_of(mushroom(), 0.2);
    ck_assert_int_eq(dt_graph_pair(p.graph, 0)->joint, DT_LOCKED);
    ck_assert(dt_graph_interlock(p.graph)->holds_together);
    ck_assert(dt_graph_is_held(p.graph, (dt_piece_id){0}) && dt_graph_is_held(p.graph, (dt_piece_id){1}));
    puzzle_free(&p);
    p = puzzle_of(SQUARE({7, 3}, {4, 3}, {5, 5}, {2, 5}, {3, 3}, {0, 3}), 0.2);
    ck_assert_int_eq(dt_graph_pair(p.graph, 0)->joint, DT_LOCKED);
    puzzle_free(&p);
    p = puzzle_of(SQUARE({7, 3}, {5, 3}, {4, 5}, {3, 5}, {2, 3}, {0, 3}), 0);
    const dt_neighbours *taper = dt_graph_pair(p.graph, 0); /* b is the lower piece */
    ck_assert_int_eq(taper->joint, DT_SLIDES);
    ck_assert_double_eq_tol(taper->slide_from, 270 - 26.565, 1e-3);
    ck_assert_double_eq_tol(taper->slide_to, 270 + 26.565, 1e-3);
    puzzle_free(&p);
    p = puzzle_of(SQUARE({7, 3}, {4, 3}, {4, 5}, {3, 5}, {3, 3}, {0, 3}), 0);
    const dt_neighbours *tab = dt_graph_pair(p.graph, 0);
    ck_assert_int_eq(tab->joint, DT_SLIDES);
    ck_assert_double_eq_tol(tab->slide_from, 270, 1e-3);
    ck_assert_double_eq_tol(tab->slide_to, 270, 1e-3);
    puzzle_free(&p);
    p = puzzle_of(SQUARE({7, 3}, {0, 3}), 0);
    ck_assert_int_eq(dt_graph_pair(p.graph, 0)->joint, DT_FREE);
    ck_assert_double_eq_tol(dt_graph_pair(p.graph, 0)->free_degrees, 180, 1e-3);
    puzzle_free(&p);
}
END_TEST

/* ---- the same without kerf: exact ---- */

typedef struct square_case {
    size_t count;
    double cut[12][2];
    bool locks;
    double half; /* degrees, on both sides of straight down */
} square_case;

/* The table "Pulling apart" (own derivation): atan(1 / 2) = 26.565 degrees for the taper. */
static const square_case square_cases[] = {
    {2, {{7, 3}, {0, 3}}, false, 90},
    {6, {{7, 3}, {4, 3}, {4, 5}, {3, 5}, {3, 3}, {0, 3}}, false, 0},
    {10, {{7, 3}, {4, 3}, {4, 4}, {5, 4}, {5, 5}, {2, 5}, {2, 4}, {3, 4}, {3, 3}, {0, 3}}, true, 0},
    {6, {{7, 3}, {5, 3}, {4, 5}, {3, 5}, {2, 3}, {0, 3}}, false, 26.56505117707799},
    {6, {{7, 3}, {4, 3}, {5, 5}, {2, 5}, {3, 3}, {0, 3}}, true, 0},
};
enum { SQUARE_CASES = sizeof square_cases / sizeof *square_cases };

/* The joint of a case, turned counter-clockwise as seen, without kerf; the freedom of the piece that begins below. */
static dt_neighbours turned_joint(const square_case *c, double degrees, dt_point *below, dt_interlock *whole) {
    draft *d = square_with(c->cut, c->count);
    draft_transform(d, dt_pose_about(degrees, false, (dt_point){0, 0}, (dt_point){50, 50}), 1);
    puzzle p = puzzle_of(d, 0);
    ck_assert_uint_eq(p.count, 2);
    dt_neighbours joint = *dt_graph_pair(p.graph, 0);
    *whole = *dt_graph_interlock(p.graph);
    *below = dt_point_sub(dt_pieces_get(p.pieces, (dt_piece_id){1})->inside, dt_pieces_get(p.pieces, (dt_piece_id){0})->inside);
    puzzle_free(&p);
    return joint;
}

/* Square to the axes the corners lie on the grid: all answers are exact to rounding. */
START_TEST(no_kerf_is_exact) {
    const square_case *c = &square_cases[_i];
    for (int quarter = 0; quarter < 4; quarter++) {
        dt_point to_b;
        dt_interlock whole;
        dt_neighbours joint = turned_joint(c, 90 * quarter, &to_b, &whole);
        ck_assert_int_eq(joint.joint, c->locks ? DT_LOCKED : c->half > 30 ? DT_FREE : DT_SLIDES);
        ck_assert(whole.holds_together == c->locks);
        if (c->locks) continue;
        ck_assert_double_eq_tol(joint.slide_to - joint.slide_from, 2 * c->half, 1e-9);
        ck_assert_double_eq_tol(joint.free_degrees, 2 * c->half, 1e-9);
        double middle = fmod((joint.slide_from + joint.slide_to) / 2, 360), away = atan2(-to_b.y, to_b.x) * 180 / 3.14159265358979323846;
        ck_assert_double_lt(fabs(remainder(middle, 90)), 1e-9);
        ck_assert_double_lt(fabs(remainder(middle - away, 360)), 45);
    }
}
END_TEST

/* Aslant, the grid of a micrometre moves corners: nothing may lock by that which slides, nor the other way round. A micrometre on a
 * side of 2 mm is 0.03 degrees. */
START_TEST(no_kerf_aslant_is_as_exact_as_the_grid) {
    for (int k = 0; k < SQUARE_CASES; k++) {
        const square_case *c = &square_cases[k];
        dt_point to_b;
        dt_interlock whole;
        double degrees = 3.7 + 11.3 * _i;
        dt_neighbours joint = turned_joint(c, degrees, &to_b, &whole);
        ck_assert_msg(joint.joint == (c->locks ? DT_LOCKED : c->half > 30 ? DT_FREE : DT_SLIDES), "case %d turned by %g", k, degrees);
        ck_assert(whole.holds_together == c->locks);
        if (c->locks) continue;
        ck_assert_double_eq_tol(joint.free_degrees, 2 * c->half, 0.1);
        double middle = (joint.slide_from + joint.slide_to) / 2;
        ck_assert_double_lt(fabs(remainder(middle - 270 - degrees, 180)), 0.1);
    }
}
END_TEST

/* Without kerf is the limit of ever less kerf: whole sheets of tabs and of knobs. */
START_TEST(no_kerf_is_the_limit_of_little_kerf) {
    draft *d[2] = {draft_new(), draft_new()};
    for (int k = 0; k < 2; k++) {
        if (_i % 2) draft_knobbed_sheet(d[k], 3, 4, 24, (unsigned)_i, false);
        else draft_tabs(d[k], &(tabs){3, 4, (unsigned)_i, 0.05, 0.6});
    }
    puzzle none = puzzle_of(d[0], 0), little = puzzle_of(d[1], 0.002);
    for (size_t i = 0; i < dt_graph_pair_count(none.graph); i++) {
        const dt_neighbours *a = dt_graph_pair(none.graph, i), *b = dt_graph_pair(little.graph, i);
        ck_assert_int_eq(a->joint, b->joint);
        ck_assert_double_le(a->free_degrees, b->free_degrees + 1e-9);
        ck_assert_double_eq_tol(a->free_degrees, b->free_degrees, 0.5);
    }
    puzzle_free(&none);
    puzzle_free(&little);
}
END_TEST

/* Joints locked is not the same as holding together: the strip below falls off. */
START_TEST(a_locked_pair_may_still_fall_apart) {
    draft *d = mushroom();
    draft_segment(d, 0, -1, 7, -1);
    puzzle p = puzzle_of(d, 0.2);
    const dt_interlock *whole = dt_graph_interlock(p.graph);
    ck_assert_uint_eq(whole->locked_joints, 1);
    ck_assert_uint_eq(whole->free_joints, 1);
    ck_assert(!whole->holds_together && whole->loose_count == 1 && whole->loose[0].v == 2);
    ck_assert_double_eq_tol(whole->loose_direction, 270, 1e-6);
    ck_assert(whole->mend_a.v == 1 && whole->mend_b.v == 2);
    puzzle_free(&p);
}
END_TEST

/* Two locked pairs side by side come apart as groups of two, at the straight cut between them. */
START_TEST(a_group_comes_off_where_no_piece_does) {
    draft *d = mushroom();
    draft_segment(d, 7, 0, 7, -7);
    const double right[][2] = {{14, 3}, {11, 3}, {11, 4}, {12, 4}, {12, 5}, {9, 5}, {9, 4}, {10, 4}, {10, 3}, {7, 3}};
    for (int i = 0; i < 9; i++) draft_segment(d, right[i][0], -right[i][1], right[i + 1][0], -right[i + 1][1]);
    draft_rectangle(d, 7, -7, 7, 7);
    puzzle p = puzzle_of(d, 0.2);
    const dt_interlock *whole = dt_graph_interlock(p.graph);
    ck_assert_uint_eq(p.count, 4);
    ck_assert_uint_eq(whole->locked_joints, 2);
    ck_assert(!whole->holds_together && whole->loose_count == 2);
    for (uint32_t i = 0; i < 4; i++) ck_assert(dt_graph_is_held(p.graph, (dt_piece_id){i}));
    const dt_piece *loose = dt_pieces_get(p.pieces, whole->loose[0]);
    double away = loose->inside.x < 7 ? 180 : 0;
    ck_assert_double_lt(fabs(remainder(whole->loose_direction - away, 360)), 1e-6);
    puzzle_free(&p);
}
END_TEST

/* ---- across voids ---- */

/* A C-shaped piece and the piece that closes it, locked to each other above and below a void; a third piece, or two
 * that are locked, slides out of the C's back into the void, where the closing piece stops it. */
static draft *void_ring(bool closed, bool two) {
    draft *d = draft_new();
    draft_rectangle(d, 0, 0, 60, 60);
    for (int end = 0; end < 2; end++) { /* mushrooms at x = 40, from y = 0 to 20 and from 40 to 60 */
        double y = 40.0 * end;
        const dt_point seam[] = {{40, y},      {40, y + 9},  {44, y + 9},  {44, y + 6},  {48, y + 6},
                                 {48, y + 14}, {44, y + 14}, {44, y + 11}, {40, y + 11}, {40, y + 20}};
        if (closed) draft_polyline(d, seam, 10, false);
    }
    draft_segment(d, 10, 25, 20, 25);
    draft_segment(d, 10, 25, 10, 35);
    draft_segment(d, 10, 35, 20, 35);
    if (two) {
        const dt_point seam[] = {{10, 30}, {13, 30}, {13, 29}, {12, 29}, {12, 27},
                                 {16, 27}, {16, 29}, {15, 29}, {15, 30}, {20, 30}};
        draft_polyline(d, seam, 10, false);
    }
    draft_layer(d, "void", DT_ROLE_VOID);
    draft_rectangle(d, 20, 20, closed ? 30 : 40, 20);
    return d;
}

START_TEST(what_lies_across_a_void_holds_too) {
    for (int two = 0; two < 2; two++) {
        puzzle p = puzzle_of(void_ring(true, two), 0.2);
        ck_assert_uint_eq(p.count, 3 + (uint32_t)two);
        const dt_interlock *whole = dt_graph_interlock(p.graph);
        ck_assert_uint_ge(whole->sliding_joints, 1);
        ck_assert_msg(whole->holds_together, "%d", two);
        for (uint32_t i = 0; i < p.count; i++) ck_assert(dt_graph_is_held(p.graph, (dt_piece_id){i}));
        puzzle_free(&p);
    }
}
END_TEST

START_TEST(pieces_that_meet_at_a_void_only_are_no_neighbours) {
    draft *d = draft_new();
    draft_rectangle(d, 0, 0, 60, 40);
    draft_segment(d, 0, 30, 60, 30);
    draft_layer(d, "void", DT_ROLE_VOID);
    draft_rectangle(d, 25, 0, 10, 30);
    puzzle p = puzzle_of(d, 0.2);
    ck_assert_uint_eq(p.count, 3);
    ck_assert_uint_eq(dt_graph_pair_count(p.graph), 2);
    ck_assert_uint_eq(dt_graph_find(p.graph, (dt_piece_id){0}, (dt_piece_id){1}), SIZE_MAX);
    ck_assert(dt_graph_is_cut_piece(p.graph, (dt_piece_id){2}) && !dt_graph_is_cut_piece(p.graph, (dt_piece_id){0}));
    puzzle_free(&p);
}
END_TEST

START_TEST(a_touch_at_a_point_is_no_joint) {
    draft *d = draft_new();
    draft_rectangle(d, 0, 0, 20, 20);
    draft_rectangle(d, 20, 20, 20, 20);
    puzzle p = puzzle_of(d, 0.2);
    ck_assert_uint_eq(dt_graph_pair_count(p.graph), 0);
    ck_assert_uint_eq(dt_graph_components(p.graph), 2);
    puzzle_free(&p);
}
END_TEST

/* Two puzzles on one sheet: the one that holds together stays so beside one that does not, and neither is in the
 * other's way. */
START_TEST(puzzles_on_one_sheet_are_judged_alone) {
    draft *d = mushroom();
    draft_rectangle(d, 20, -7, 7, 7);
    draft_segment(d, 23, 0, 23, -7);
    puzzle p = puzzle_of(d, 0.2);
    const dt_interlock *whole = dt_graph_interlock(p.graph);
    ck_assert_uint_eq(p.count, 4);
    ck_assert_uint_eq(dt_pieces_puzzle_count(p.pieces), 2);
    ck_assert(!whole->holds_together && whole->loose_count == 1);
    ck_assert_double_gt(dt_pieces_get(p.pieces, whole->loose[0])->inside.x, 20);
    puzzle_free(&p);
    d = mushroom();
    draft_rectangle(d, 20, -7, 7, 7);
    p = puzzle_of(d, 0.2);
    ck_assert(dt_graph_interlock(p.graph)->holds_together);
    puzzle_free(&p);
}
END_TEST

/* ---- Dawson's law ---- */

#define CORNERS 12

/* Long and short rays by turns. */
static dt_path star(dt_point centre, uint64_t *state, dt_point *out) {
    for (int i = 0; i < CORNERS; i++) {
        double angle = 2 * 3.14159265358979323846 * (i + 0.8 * draft_random(state)) / CORNERS;
        double r = i % 2 ? 2 + 3 * draft_random(state) : 10 + 10 * draft_random(state);
        out[i] = (dt_point){centre.x + r * cos(angle), centre.y + r * sin(angle)};
    }
    return (dt_path){out, CORNERS};
}

static bool overlap(dt_path a, dt_path b) {
    for (size_t i = 0; i < a.count; i++)
        for (size_t k = 0; k < b.count; k++) {
            dt_point p = a.points[i], q = a.points[(i + 1) % a.count], s = b.points[k], t = b.points[(k + 1) % b.count];
            if (dt_orientation(p, q, s) * dt_orientation(p, q, t) <= 0 &&
                dt_orientation(s, t, p) * dt_orientation(s, t, q) <= 0)
                return true;
        }
    return dt_path_contains(a, b.points[0]) || dt_path_contains(b, a.points[0]);
}

static dt_path shifted(dt_path b, double angle, double by, dt_point *out) {
    for (size_t i = 0; i < b.count; i++)
        out[i] = dt_point_add(b.points[i], (dt_point){by * cos(angle), by * sin(angle)});
    return (dt_path){out, b.count};
}

/* b, brought as near to a as it goes without overlap on a straight way from afar, to within 50 mm / 2^40. */
static dt_path nestled(dt_path a, dt_path b, double angle, dt_point *out) {
    double near = 0, far = 50;
    for (int k = 0; k < 40; k++) {
        double middle = 0.5 * (near + far);
        *(overlap(a, shifted(b, angle, middle, out)) ? &near : &far) = middle;
    }
    return shifted(b, angle, far, out);
}

static double free_degrees(dt_path a, dt_path b) {
    body one, two;
    ck_assert_int_eq(body_new(a, NULL, 0, 1e-6, a.points[0], &one), DT_OK);
    ck_assert_int_eq(body_new(b, NULL, 0, 1e-6, b.points[0], &two), DT_OK);
    blocking_scratch scratch = {0};
    directions blocked = {0};
    ck_assert_int_eq(blocking_add(&one, &two, &scratch, &blocked), DT_OK);
    double degrees = directions_gap_degrees(&blocked);
    directions_free(&blocked);
    blocking_scratch_free(&scratch);
    body_free(&one);
    body_free(&two);
    return degrees;
}

/* Dawson, On removing a ball without disturbing the others, Mathematics Magazine 57, 1984: two star-shaped pieces can
 * always be parted by one straight move. */
START_TEST(star_shaped_pairs_always_part) {
    uint64_t state = (uint64_t)_i;
    int tight = 0;
    for (int n = 0; n < 300; n++) {
        dt_point one[CORNERS], two[CORNERS], moved[CORNERS];
        dt_path a = star((dt_point){0, 0}, &state, one), b = star((dt_point){0, 0}, &state, two);
        double degrees = free_degrees(a, nestled(a, b, 6.283 * draft_random(&state), moved));
        ck_assert_double_gt(degrees, 0);
        tight += degrees < 90;
    }
    ck_assert_int_gt(tight, 20); /* the law was put to the test */
}
END_TEST

Suite *suite_graph_pulling(void);
Suite *suite_graph_pulling(void) {
    Suite *suite = suite_create("graph_pulling");
    TCase *cases = tcase_create("graph_pulling");
    tcase_add_test(cases, convex_pieces_never_hold_together);
    tcase_add_test(cases, stomachion_has_20_pairs);
    tcase_add_test(cases, mushroom_and_dovetail_hold_a_tab_slides_a_straight_cut_is_free);
    tcase_add_loop_test(cases, no_kerf_is_exact, 0, SQUARE_CASES);
    tcase_add_loop_test(cases, no_kerf_aslant_is_as_exact_as_the_grid, 0, 16);
    tcase_add_loop_test(cases, no_kerf_is_the_limit_of_little_kerf, 0, 6);
    tcase_add_test(cases, a_locked_pair_may_still_fall_apart);
    tcase_add_test(cases, a_group_comes_off_where_no_piece_does);
    tcase_add_test(cases, what_lies_across_a_void_holds_too);
    tcase_add_test(cases, pieces_that_meet_at_a_void_only_are_no_neighbours);
    tcase_add_test(cases, a_touch_at_a_point_is_no_joint);
    tcase_add_test(cases, puzzles_on_one_sheet_are_judged_alone);
    tcase_add_loop_test(cases, star_shaped_pairs_always_part, 1, 4);
    suite_add_tcase(suite, cases);
    return suite;
}
