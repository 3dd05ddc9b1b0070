/* Knobbed sheets in which another assembly is planted, group for group; what each witness moves is known. Every witness is checked with
 * GEOS (dt_assembly_verify, in assemble). More seeds in tests/slow/assembly_knobbed_many.c. */
#include "assembling.h"
#include "knobbed.h"
#include "perturbed.h"

#ifndef KNOBBED_SEEDS
#define KNOBBED_SEEDS 1
#define KNOBBED_SUITE suite_assembly_knobbed
#define KNOBBED_NAME "assembly_knobbed"
#endif

#include <check.h>
#include <math.h>

static const double SIZE_MM = 20.0;

typedef struct planted_group {
    const char *name;
    grid_group group;
    grid_carry carry;
    bool needs_two_sides;
    grid_cell merges[4][2]; /* cells side by side that are one piece */
    unsigned merge_count;
} planted_group;

static const planted_group GROUPS[] = {
    {"twins", {{{1, 1}}, 1}, {false, 0, {3, 3}}, false, {{{0, 0}}}, 0},
    {"twins, a quarter turned", {{{1, 1}}, 1}, {false, 1, {2, 3}}, false, {{{0, 0}}}, 0},
    {"twins, one turned over", {{{1, 1}}, 1}, {true, 1, {3, 2}}, true, {{{0, 0}}}, 0},
    {"two for two", {{{1, 1}, {1, 2}}, 2}, {false, 0, {3, 2}}, false, {{{0, 0}}}, 0},
    {"two for two, a quarter turned", {{{1, 1}, {1, 2}}, 2}, {false, 3, {2, 4}}, false, {{{0, 0}}}, 0},
    {"two for two, turned over", {{{1, 1}, {1, 2}}, 2}, {true, 0, {3, 2}}, true, {{{0, 0}}}, 0},
    {"three for three", {{{1, 1}, {1, 2}, {1, 3}}, 3}, {false, 2, {3, 2}}, false, {{{0, 0}}}, 0},
    {"three in a corner for three", {{{1, 1}, {1, 2}, {2, 1}}, 3}, {false, 2, {3, 3}}, false, {{{0, 0}}}, 0},
    {"two turned in their place", {{{2, 1}, {2, 2}}, 2}, {false, 2, {2, 1}}, false, {{{0, 0}}}, 0},
    {"two turned over in their place", {{{2, 1}, {2, 2}}, 2}, {true, 0, {2, 1}}, true, {{{0, 0}}}, 0},
    {"three turned over in their place", {{{1, 2}, {2, 2}, {3, 2}}, 3}, {true, 2, {1, 2}}, true, {{{0, 0}}}, 0},
    {"two lying for two upright", {{{1, 1}, {1, 2}, {2, 1}, {2, 2}}, 4}, {false, 0, {3, 3}}, false,
     {{{1, 1}, {1, 2}}, {{2, 1}, {2, 2}}, {{3, 3}, {4, 3}}, {{3, 4}, {4, 4}}}, 4},
    {"three for four", {{{1, 1}, {1, 2}, {2, 1}, {2, 2}}, 4}, {false, 0, {3, 3}}, false, {{{1, 1}, {1, 2}}}, 1},
};
enum { GROUP_COUNT = sizeof GROUPS / sizeof *GROUPS, ROWS = 6, COLUMNS = 6, SEEDS = KNOBBED_SEEDS };

typedef struct sheet {
    assembling a;
    grid_group from, to;
} sheet;

static sheet assemble_planted(const planted_group *p, bool two_sided, uint64_t seed) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.two_sided = two_sided;
    knobbed *k = knobbed_new(ROWS, COLUMNS, SIZE_MM, seed);
    sheet s = {.from = p->group, .to = knobbed_carry(k, &p->group, p->carry)};
    for (unsigned i = 0; i < p->merge_count; i++) knobbed_merge(k, p->merges[i][0], p->merges[i][1]);
    draft *d = draft_new();
    knobbed_draw(d, k);
    knobbed_free(k);
    s.a = assemble(d, settings);
    return s;
}

static bool lies_in(const grid_group *group, dt_point p) {
    for (unsigned i = 0; i < group->count; i++)
        if (floor(p.x / SIZE_MM) == group->cells[i].column && floor(p.y / SIZE_MM) == group->cells[i].row) return true;
    return false;
}

static dt_point middle(const sheet *s, dt_piece_id piece) {
    return dt_path_centroid(dt_pieces_get(s->a.pieces, piece)->outline);
}

/* Exactly the pieces of both groups move, each into the other group. */
static void check_witness(const planted_group *p, const sheet *s) {
    size_t planted = 0;
    bool in_place = lies_in(&s->from, (dt_point){(s->to.cells[0].column + 0.5) * SIZE_MM, (s->to.cells[0].row + 0.5) * SIZE_MM});
    for (uint32_t i = 0; i < dt_pieces_count(s->a.pieces); i++) {
        dt_point at = middle(s, (dt_piece_id){i});
        planted += lies_in(&s->from, at) || lies_in(&s->to, at);
    }
    ck_assert_msg(s->a.assembly->other_count == planted, "%s: %zu pieces moved, not %zu", p->name, s->a.assembly->other_count, planted);
    for (size_t i = 0; i < planted; i++) {
        const dt_move *m = &s->a.assembly->other[i];
        dt_point before = middle(s, m->piece), after = dt_pose_apply(m->pose, before);
        bool swapped = (lies_in(&s->from, before) && lies_in(&s->to, after)) || (lies_in(&s->to, before) && lies_in(&s->from, after));
        ck_assert_msg(swapped, "%s: piece %u goes elsewhere", p->name, m->piece.v + 1);
        ck_assert(m->pose.flipped == p->needs_two_sides);
        ck_assert(in_place || m->place_of.v != m->piece.v);
    }
}

START_TEST(planted_groups_are_found) {
    const planted_group *p = &GROUPS[_i / SEEDS];
    sheet s = assemble_planted(p, p->needs_two_sides, 1 + (uint64_t)_i % SEEDS);
    ck_assert_msg(s.a.assembly->verdict == DT_SEVERAL, "%s: %s", p->name, s.a.assembly->why);
    bool twins = p->group.count == 1;
    ck_assert_uint_eq(dt_fit_twin_count(s.a.fit), twins);
    check_witness(p, &s);
    assembling_free(&s.a);
}
END_TEST

/* What needs both sides is no other assembly where the pieces have a face. */
START_TEST(turned_over_groups_need_both_sides) {
    const planted_group *p = &GROUPS[_i / SEEDS];
    if (!p->needs_two_sides) return;
    sheet s = assemble_planted(p, false, 1 + (uint64_t)_i % SEEDS);
    ck_assert_msg(s.a.assembly->verdict == DT_ONE, "%s: %s", p->name, s.a.assembly->why);
    assembling_free(&s.a);
}
END_TEST

/* Twins whose outlines differ by nearly a kerf drop into each other's places all the same; those that differ by more do not. */
START_TEST(twins_within_the_kerf) {
    static const double NUDGES_MM[] = {0.1, 0.3, 0.5}; /* of one knob; the fit halves them, nearly */
    const planted_group *p = &GROUPS[0];
    for (size_t i = 0; i < sizeof NUDGES_MM / sizeof *NUDGES_MM; i++) {
        dt_settings settings = DT_SETTINGS_DEFAULT;
        knobbed *k = knobbed_new(5, 5, SIZE_MM, 1);
        grid_group to = knobbed_carry(k, &p->group, p->carry);
        knobbed_nudge(k, to.cells[0], 3, NUDGES_MM[i]);
        draft *d = draft_new();
        knobbed_draw(d, k);
        knobbed_free(k);
        assembling a = assemble(d, settings);
        bool twins = dt_fit_twin_count(a.fit) > 0;
        ck_assert_int_eq(twins, NUDGES_MM[i] < 0.4);
        ck_assert_msg(a.assembly->verdict == (twins ? DT_SEVERAL : DT_ONE), "knob moved by %g mm: %s", NUDGES_MM[i], a.assembly->why);
        assembling_free(&a);
    }
}
END_TEST

/* Turned so that a tight bend of one knob was flattened with a corner on one side and without on the other: nothing seemed to fit there. */
START_TEST(bends_are_no_corners) {
    static const grid_group pair = {{{1, 1}, {1, 2}}, 2};
    dt_settings settings = DT_SETTINGS_DEFAULT;
    knobbed *k = knobbed_new(4, 4, SIZE_MM, 11);
    knobbed_carry(k, &pair, (grid_carry){false, 2, {1, 1}});
    draft *d = draft_new();
    knobbed_draw(d, k);
    knobbed_free(k);
    draft_transform(d, dt_pose_about(818.0, false, (dt_point){0, 0}, (dt_point){310, -45}), 1.0);
    assembling a = assemble(d, settings);
    ck_assert_msg(a.assembly->verdict == DT_SEVERAL, "%s", a.assembly->why);
    assembling_free(&a);
}
END_TEST

/* Drawn less exactly: found, or not decided. Half of these were called "one" while bends were branched on. */
START_TEST(drawn_less_exactly) {
    static const grid_group pair = {{{1, 1}, {1, 2}}, 2};
    static const perturbing ways[] = {ROUNDED, FLATTENED, SHIFTED, NOISY, TRACED};
    enum { WAYS = sizeof ways / sizeof *ways };
    uint64_t seed = 1 + (uint64_t)_i / WAYS;
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.two_sided = seed % 3 == 0;
    knobbed *k = knobbed_new(4, 4, SIZE_MM, seed);
    knobbed_carry(k, &pair, (grid_carry){settings.two_sided, settings.two_sided ? 0 : 2, {1, 1}});
    draft *d = draft_new();
    knobbed_draw(d, k);
    knobbed_free(k);
    assembling a = assemble(perturbed(d, ways[_i % WAYS], seed), settings);
    bool whole = dt_pieces_count(a.pieces) == 16; /* noise may let lines of a tight bend cross */
    ck_assert_msg(!whole || a.assembly->verdict != DT_ONE, "%s, seed %u", perturbing_names[ways[_i % WAYS]], (unsigned)seed);
    assembling_free(&a);
}
END_TEST

/* The same sheets with nothing carried have one assembly: the planting is what makes the others. */
START_TEST(nothing_planted) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.two_sided = _i % 2;
    knobbed *k = knobbed_new(ROWS, COLUMNS, SIZE_MM, 1 + (uint64_t)_i / 2);
    draft *d = draft_new();
    knobbed_draw(d, k);
    knobbed_free(k);
    assembling a = assemble(d, settings);
    ck_assert_msg(a.assembly->verdict == DT_ONE, "%s", a.assembly->why);
    assembling_free(&a);
}
END_TEST

Suite *KNOBBED_SUITE(void);
Suite *KNOBBED_SUITE(void) {
    Suite *suite = suite_create(KNOBBED_NAME);
    TCase *all = tcase_create("all");
    tcase_add_loop_test(all, planted_groups_are_found, 0, GROUP_COUNT * SEEDS);
    tcase_add_loop_test(all, turned_over_groups_need_both_sides, 0, GROUP_COUNT * SEEDS);
    tcase_add_test(all, twins_within_the_kerf);
    tcase_add_test(all, bends_are_no_corners);
    tcase_add_loop_test(all, drawn_less_exactly, 0, 20 * SEEDS);
    tcase_add_loop_test(all, nothing_planted, 0, 2 * SEEDS);
    suite_add_tcase(suite, all);
    return suite;
}
