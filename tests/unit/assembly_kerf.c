/* Groups of pieces that fit each other's places only by using the play that the laser leaves: none of them may be called "one way".
 * Whether they fit is told by fit, not by the search: with the pieces of each group drawn as one piece, the two are twins or they
 * are not. */
#include "assembling.h"
#include "knobbed.h"

#include <check.h>

static const double SIZE_MM = 20.0;

typedef struct planted_pair {
    const char *name;
    grid_carry carry;
    double nudge; /* of one knob on the border of the carried pair, mm */
    bool fits;
} planted_pair;

static const planted_pair PAIRS[] = {
    {"moved", {false, 0, {3, 2}}, 0.2, true},
    {"moved by nearly the kerf", {false, 0, {3, 2}}, 0.35, true},
    {"turned by a quarter", {false, 3, {2, 3}}, 0.3, true},
    {"turned over", {true, 0, {3, 2}}, 0.3, true},
    {"moved by more than the kerf", {false, 0, {3, 2}}, 0.6, false},
};
enum { PAIR_COUNT = sizeof PAIRS / sizeof *PAIRS };

static assembling assemble_pair(const planted_pair *p, bool as_one_piece, uint64_t steps) {
    static const grid_group pair = {{{1, 1}, {1, 2}}, 2};
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.two_sided = p->carry.flipped;
    settings.steps = steps;
    knobbed *k = knobbed_new(5, 5, SIZE_MM, 2);
    grid_group to = knobbed_carry(k, &pair, p->carry);
    knobbed_nudge(k, to.cells[0], 3, p->nudge);
    if (as_one_piece) knobbed_merge(k, pair.cells[0], pair.cells[1]);
    if (as_one_piece) knobbed_merge(k, to.cells[0], to.cells[1]);
    draft *d = draft_new();
    knobbed_draw(d, k);
    knobbed_free(k);
    return assemble(d, settings); /* checks the witness */
}

START_TEST(groups_within_the_kerf) {
    const planted_pair *p = &PAIRS[_i];
    assembling one_piece = assemble_pair(p, true, 2000000);
    ck_assert_msg((dt_fit_twin_count(one_piece.fit) > 0) == p->fits, "%s", p->name);
    assembling a = assemble_pair(p, false, 2000000);
    ck_assert_uint_eq(dt_fit_twin_count(a.fit), 0);
    ck_assert_msg(a.assembly->verdict == (p->fits ? DT_SEVERAL : DT_ONE), "%s: %s", p->name, a.assembly->why);
    assembling_free(&one_piece);
    assembling_free(&a);
}
END_TEST

/* Where the steps last neither for forced places nor for the search, nothing is proved. */
START_TEST(few_steps_prove_nothing) {
    const planted_pair *p = &PAIRS[PAIR_COUNT - 1];
    assembling a = assemble_pair(p, false, 20);
    ck_assert_int_eq(a.assembly->verdict, DT_UNDECIDED);
    ck_assert(!a.assembly->exact);
    assembling_free(&a);
}
END_TEST

Suite *suite_assembly_kerf(void);
Suite *suite_assembly_kerf(void) {
    Suite *suite = suite_create("assembly_kerf");
    TCase *all = tcase_create("all");
    tcase_add_loop_test(all, groups_within_the_kerf, 0, PAIR_COUNT);
    tcase_add_test(all, few_steps_prove_nothing);
    suite_add_tcase(suite, all);
    return suite;
}
