/* Laws: order, direction and division of the strokes, the turn and the place of the drawing, its mirror image and its size with the kerf change
 * neither the verdict nor the counts, but that one drawing in twenty may be left undecided where another is not. On dissections of boards, planted dissections, knobbed sheets and outlines without corners. */
#include "assembling.h"
#include "cover.h"
#include "knobbed.h"
#include "planted.h"

#include <check.h>
#include <stdio.h>

#ifndef LAWS_SEEDS
#define LAWS_SEEDS 1
#define LAWS_SUITE suite_assembly_laws
#define LAWS_NAME "assembly_laws"
#endif

typedef struct answer {
    dt_assembly_verdict verdict;
    bool exact;
    uint64_t fillings, distinct, steps;
} answer;

typedef draft *maker(uint64_t seed);

static draft *board_draft(uint64_t seed) {
    draft *d = draft_new();
    dissection cells = dissect(4, 4, 3, (unsigned)(seed % 3), seed + 100);
    draw_dissection(d, &cells, 13.0);
    return d;
}

static draft *planted_draft(uint64_t seed) {
    draft *d = draft_new();
    draw_planted(d, HALF_TURN, seed % 2, seed + 1);
    return d;
}

static draft *turned_over_draft(uint64_t seed) {
    draft *d = draft_new();
    draw_planted(d, TURNED_OVER, seed % 2, seed);
    return d;
}

static draft *unplanted_draft(uint64_t seed) {
    draft *d = draft_new();
    draw_planted(d, NOT_PLANTED, seed % 2, seed);
    return d;
}

static draft *knobbed_draft(uint64_t seed) {
    static const grid_group pair = {{{1, 1}, {1, 2}}, 2};
    knobbed *k = knobbed_new(4, 4, 20.0, seed);
    if (seed % 2) knobbed_carry(k, &pair, (grid_carry){false, 2, {1, 1}});
    draft *d = draft_new();
    knobbed_draw(d, k);
    knobbed_free(k);
    return d;
}

static draft *alike_draft(uint64_t seed) {
    knobbed *k = knobbed_new(3, 3, 22.0, seed);
    knobbed_alike(k, 2, seed);
    draft *d = draft_new();
    knobbed_draw(d, k);
    knobbed_free(k);
    return d;
}

static draft *oval_draft(uint64_t seed) {
    draft *d = draft_new();
    uint64_t state = seed + 5;
    double x = 20.0 + 10.0 * draft_random(&state), y = 16.0 + 6.0 * draft_random(&state);
    draft_move(d, (dt_point){0, 20});
    draft_cubic(d, (dt_point){0, 5}, (dt_point){20, 0}, (dt_point){30, 0});
    draft_cubic(d, (dt_point){50, 0}, (dt_point){60, 8}, (dt_point){60, 24});
    draft_cubic(d, (dt_point){60, 40}, (dt_point){40, 44}, (dt_point){28, 44});
    draft_cubic(d, (dt_point){8, 44}, (dt_point){0, 34}, (dt_point){0, 20});
    draft_close(d);
    draft_segment(d, 30, 0, x, y);
    draft_segment(d, 0, 20, x, y);
    draft_segment(d, x, y, 60, 24);
    draft_circle(d, 30, 33, 4.0 + draft_random(&state));
    return d;
}

static const struct {
    const char *name;
    maker *make;
    bool count, two_sided;
} DRAFTS[] = {
    {"board, one-sided", board_draft, true, false},   {"board, two-sided", board_draft, true, true},
    {"half turn", planted_draft, false, false},       {"turned over", turned_over_draft, false, true},
    {"not planted", unplanted_draft, true, false},    {"knobbed", knobbed_draft, true, false},
    {"alike knobs", alike_draft, true, true},         {"oval", oval_draft, false, true},
};
enum { DRAFT_COUNT = sizeof DRAFTS / sizeof *DRAFTS, MOST_STEPS = 400000 };

typedef enum redrawing { PLAIN, SHUFFLED, REVERSED, SPLIT, TURNED, MIRRORED, LARGER, CHANGES } redrawing;
static const char *const CHANGE_NAMES[CHANGES] = {"plain", "shuffled", "reversed", "split", "turned", "mirrored", "larger"};

static answer answer_of(int which, uint64_t seed, redrawing change) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.count = DRAFTS[which].count;
    settings.steps = MOST_STEPS;
    settings.two_sided = DRAFTS[which].two_sided;
    draft *d = DRAFTS[which].make(seed);
    if (change == SHUFFLED) draft_shuffle(d, (unsigned)seed);
    if (change == REVERSED) draft_reverse(d);
    if (change == SPLIT) draft_split(d);
    if (change == TURNED) draft_transform(d, dt_pose_about(37.0 + 71.0 * (double)seed, false, (dt_point){0, 0}, (dt_point){310, -45}), 1.0);
    if (change == MIRRORED) draft_transform(d, (dt_pose){1.0, 0.0, {200, 0}, true}, 1.0);
    if (change == LARGER) {
        draft_transform(d, DT_POSE_IDENTITY, 1.5);
        settings.kerf_mm *= 1.5;
    }
    assembling a = assemble(d, settings);
    answer out = {a.assembly->verdict, a.assembly->exact, a.assembly->fillings, a.assembly->distinct, a.assembly->steps};
    assembling_free(&a);
    return out;
}

static void write_name(char *name, size_t room, int which, uint64_t seed, redrawing change) {
    snprintf(name, room, "%s, seed %u, %s", DRAFTS[which].name, (unsigned)seed, CHANGE_NAMES[change]);
}

/* Never "one" of the same design that is "several" in another drawing, nor another count; false where one of them is not decided. */
static bool agree(const answer *a, const answer *b, const char *name) {
    if (a->verdict == DT_UNDECIDED || b->verdict == DT_UNDECIDED) return a->verdict == b->verdict;
    ck_assert_msg(a->verdict == b->verdict, "%s: %d, not %d", name, b->verdict, a->verdict);
    if (!a->exact || !b->exact) return a->exact == b->exact;
    ck_assert_msg(a->fillings == b->fillings, "%s: %u fillings, not %u", name, (unsigned)b->fillings, (unsigned)a->fillings);
    ck_assert_msg(a->distinct == b->distinct, "%s: %u distinct, not %u", name, (unsigned)b->distinct, (unsigned)a->distinct);
    return true;
}

START_TEST(however_it_is_drawn) {
    unsigned compared = 0, undecided = 0;
    for (uint64_t seed = 1; seed <= LAWS_SEEDS; seed++) {
        answer plain = answer_of(_i, seed, PLAIN);
        if (plain.steps > MOST_STEPS / 4) continue; /* in another order of strokes it may be found later, beyond the steps */
        for (redrawing c = PLAIN + 1; c < CHANGES; c++, compared++) {
            char name[100];
            answer other = answer_of(_i, seed, c);
            write_name(name, sizeof name, _i, seed, c);
            if (agree(&plain, &other, name)) continue;
            printf("%s: decided in one drawing only\n", name);
            undecided++;
        }
    }
    ck_assert_msg(undecided <= compared / 20, "%u of %u are decided in one drawing only", undecided, compared);
}
END_TEST

Suite *LAWS_SUITE(void);
Suite *LAWS_SUITE(void) {
    Suite *suite = suite_create(LAWS_NAME);
    TCase *all = tcase_create("all");
    tcase_add_loop_test(all, however_it_is_drawn, 0, DRAFT_COUNT);
    suite_add_tcase(suite, all);
    return suite;
}
