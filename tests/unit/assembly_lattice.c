/* Random dissections of boards of cells against a plain exact cover (tests/support/cover.c): as many fillings, as many distinct ones, the
 * same verdict. Hundreds more in tests/slow/assembly_lattice_many.c. */
#include "assembling.h"
#include "cover.h"
#include "knobbed.h"

#include <check.h>
#include <stdio.h>

#ifndef LATTICE_SEEDS
#define LATTICE_SEEDS 2
#define LATTICE_SUITE suite_assembly_lattice
#define LATTICE_NAME "assembly_lattice"
#endif

static const double CELL_MM = 12.0;

typedef struct board {
    unsigned columns, rows, size, holes;
} board;

static const board BOARDS[] = {{3, 3, 2, 0}, {4, 3, 3, 0}, {4, 4, 3, 0}, {5, 3, 4, 0}, {5, 4, 4, 0}, {5, 5, 4, 0}, {4, 4, 3, 2}, {5, 5, 4, 4}};
enum { BOARD_COUNT = sizeof BOARDS / sizeof *BOARDS };

static void write_name(char *name, size_t room, const board *b, bool two_sided, uint64_t seed) {
    snprintf(name, room, "%u x %u less %u, pieces of %u, %s, seed %u", b->columns, b->rows, b->holes, b->size,
             two_sided ? "two-sided" : "one-sided", (unsigned)seed);
}

/* Can some two alike pieces trade places so that this is not merely the whole turned? */
static bool twins_differ(const assembling *a) {
    for (size_t i = 0; i < dt_fit_twin_count(a->fit); i++) {
        const dt_match *twin = dt_fit_twin(a->fit, i);
        if (twin->only_flipped && !a->settings.two_sided) continue;
        dt_move moves[2] = {{twin->a, twin->b, twin->pose}, {twin->b, twin->a, dt_pose_inverse(twin->pose)}};
        const char *fault = dt_assembly_verify(a->pieces, &a->settings, moves, 2);
        ck_assert(!fault || fault == dt_assembly_turned);
        if (!fault) return true;
    }
    return false;
}

/* Does the search count what there is? What it does not call exact must be a lower bound. */
static bool counts_right(const board *b, bool two_sided, uint64_t seed) {
    char name[100];
    write_name(name, sizeof name, b, two_sided, seed);
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.count = true;
    settings.two_sided = two_sided;
    dissection cells = dissect(b->columns, b->rows, b->size, b->holes, seed);
    cover_count known = count_covers(&cells, two_sided);
    draft *d = draft_new();
    draw_dissection(d, &cells, CELL_MM);
    assembling a = assemble(d, settings);
    const dt_assembly *found = a.assembly;
    bool exact = found->exact;
    ck_assert_uint_eq(dt_pieces_count(a.pieces), cells.pieces);
    ck_assert_msg(found->fillings <= known.fillings && found->distinct <= known.distinct, "%s: too many", name);
    ck_assert_msg(!exact || found->fillings == known.fillings, "%s: %u fillings, not %u", name, (unsigned)found->fillings,
                  (unsigned)known.fillings);
    ck_assert_msg(!exact || found->distinct == known.distinct, "%s: %u distinct, not %u", name, (unsigned)found->distinct,
                  (unsigned)known.distinct);
    dt_assembly_verdict verdict = known.distinct > 1 || twins_differ(&a) ? DT_SEVERAL : DT_ONE;
    ck_assert_msg(found->verdict == verdict || found->verdict == DT_UNDECIDED, "%s: %s", name, found->why);
    if (!exact || found->verdict != verdict) printf("%s: %s\n", name, found->why);
    assembling_free(&a);
    return exact;
}

START_TEST(as_many_as_a_plain_exact_cover) {
    unsigned exact = 0;
    const board *b = &BOARDS[_i / 2];
    for (uint64_t seed = 1; seed <= LATTICE_SEEDS; seed++) exact += counts_right(b, _i % 2, seed);
    ck_assert_uint_eq(exact, LATTICE_SEEDS);
}
END_TEST

/* ---- alike knobs ---- */

typedef struct knobs {
    unsigned rows, columns, kinds;
} knobs;

static const knobs KNOBS[] = {{3, 3, 1}, {3, 3, 2}, {2, 4, 1}, {4, 4, 1}};
enum { KNOBS_COUNT = sizeof KNOBS / sizeof *KNOBS };

static bool counts_knobs(const knobs *n, bool two_sided, uint64_t seed) {
    uint64_t fillings, distinct;
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.count = true;
    settings.two_sided = two_sided;
    knobbed *k = knobbed_new(n->rows, n->columns, 20.0, seed);
    knobbed_alike(k, n->kinds, seed);
    knobbed_count(k, two_sided, &fillings, &distinct);
    draft *d = draft_new();
    knobbed_draw(d, k);
    knobbed_free(k);
    assembling a = assemble(d, settings);
    bool exact = a.assembly->exact;
    bool right = exact ? a.assembly->fillings == fillings && a.assembly->distinct == distinct : a.assembly->fillings <= fillings;
    ck_assert_msg(right, "%u x %u, %u kinds, %s, seed %u: %u / %u, not %u / %u", n->rows, n->columns, n->kinds,
                  two_sided ? "two-sided" : "one-sided", (unsigned)seed, (unsigned)a.assembly->fillings, (unsigned)a.assembly->distinct,
                  (unsigned)fillings, (unsigned)distinct);
    assembling_free(&a);
    return exact;
}

START_TEST(alike_knobs_as_many_as_by_trying_all) {
    unsigned exact = 0;
    for (uint64_t seed = 1; seed <= LATTICE_SEEDS / 2; seed++) exact += counts_knobs(&KNOBS[_i / 2], _i % 2, seed);
    ck_assert_uint_eq(exact, LATTICE_SEEDS / 2);
}
END_TEST

Suite *LATTICE_SUITE(void);
Suite *LATTICE_SUITE(void) {
    Suite *suite = suite_create(LATTICE_NAME);
    TCase *all = tcase_create("all");
    tcase_add_loop_test(all, as_many_as_a_plain_exact_cover, 0, 2 * BOARD_COUNT);
    tcase_add_loop_test(all, alike_knobs_as_many_as_by_trying_all, 0, 2 * KNOBS_COUNT);
    suite_add_tcase(suite, all);
    return suite;
}
