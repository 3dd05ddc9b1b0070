/* The effort model on places of given likeness: closed forms, order, and the laws by construction. */
#include "draft.h"
#include "lattice.h"
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const factor_set LIKENESS = FACTOR_BIT(DT_FACTOR_LOOK_ALIKES);
static const factor_set ALL = FACTOR_BIT(DT_FACTOR_LOOK_ALIKES) | FACTOR_BIT(DT_FACTOR_EDGE) |
                              FACTOR_BIT(DT_FACTOR_WHIMSIES) | FACTOR_BIT(DT_FACTOR_COLOURS) |
                              FACTOR_BIT(DT_FACTOR_PICTURE) | FACTOR_BIT(DT_FACTOR_TWO_SIDED);

/* A published table leaves out the sorting, which is one second a piece. */
static double hours_without_sorting(double seconds, uint32_t pieces) {
    return (seconds - pieces * dt_effort_default().sort_s) / 3600.0;
}

typedef struct closed_form {
    uint32_t rows, columns;
    double distinct, six, alike, picture; /* hours; 0 = not in the table */
} closed_form;

/* Source: own arithmetic from the formula, in facts "How long people take"; the rounding of the table is allowed for.
 */
static const closed_form CLOSED_FORMS[] = {
    {7, 7, 0.17, 0.24, 0.70, 0.14},   {10, 10, 0.44, 0.77, 2.64, 0.29}, {10, 25, 1.75, 3.97, 15.6, 0.84},
    {20, 25, 5.68, 14.7, 61.1, 2.02}, {25, 40, 0, 0, 0, 5.45},
};

static void check_hours(double hours, double expected, double last_digit) {
    if (expected > 0.0) ck_assert_double_le(fabs(hours - expected), 0.02 * expected + last_digit / 2.0);
}

START_TEST(closed_forms_are_reproduced) {
    const closed_form *f = &CLOSED_FORMS[_i];
    uint32_t n = f->rows * f->columns;
    lattice *distinct = lattice_new(f->rows, f->columns, 0, 1), *same = lattice_new(f->rows, f->columns, 1, 1);
    effort_case c = lattice_case(distinct, 1, DT_PICTURE_FULL);
    dt_effort effort = dt_effort_default();
    check_hours(hours_without_sorting(effort_of(&c, &effort, 0).total_s, n), f->distinct, 0.01);
    check_hours(hours_without_sorting(effort_of(&c, &effort, FACTOR_BIT(DT_FACTOR_PICTURE)).total_s, n), f->picture,
                0.01);
    same->even_classes = 1.0;
    check_hours(hours_without_sorting(lattice_seconds(same, LIKENESS), n), f->alike, f->alike < 10 ? 0.01 : 0.1);
    same->even_classes = 6.0;
    check_hours(hours_without_sorting(lattice_seconds(same, LIKENESS), n), f->six, f->six < 10 ? 0.01 : 0.1);
    lattice_free(distinct);
    lattice_free(same);
}
END_TEST

/* With all inner sides of one kind, an inner place has every loose inner piece as a rival: k is known exactly. */
START_TEST(alike_pieces_are_counted_among_the_loose) {
    lattice *l = lattice_new(6, 6, 1, 1);
    dt_arena arena = DT_ARENA((size_t)1 << 24);
    model_run run;
    ck_assert_int_eq(model_play(&l->m, (model_view){0}, false, &arena, &run), DT_OK);
    for (uint32_t p = 0; p < 36; p++) {
        double loose_inner = 0;
        for (uint32_t q = 0; q < 36; q++)
            loose_inner += l->places[q].neighbour_count == 4 && run.turn[q] >= run.turn[p];
        ck_assert_double_eq(run.looked_over[p], 36.0 - run.turn[p]);
        if (l->places[p].neighbour_count == 4) ck_assert_double_ge(run.alike[p], loose_inner);
        ck_assert_double_le(run.alike[p], run.looked_over[p]);
    }
    ck_assert_uint_eq(run.order[0], 0); /* a corner */
    dt_arena_free(&arena);
    lattice_free(l);
}
END_TEST

/* Every place but the first shows a neighbour, and once a row is begun its places show two. */
START_TEST(the_assembly_grows_compactly) {
    lattice *l = lattice_new(8, 9, 0, 1);
    dt_arena arena = DT_ARENA((size_t)1 << 24);
    model_run run;
    unsigned with_one = 0;
    ck_assert_int_eq(model_play(&l->m, (model_view){0}, false, &arena, &run), DT_OK);
    for (uint32_t t = 1; t < l->m.count; t++) {
        const model_place *p = &l->places[run.order[t]];
        unsigned lying = 0;
        for (uint32_t i = 0; i < p->neighbour_count; i++) lying += run.turn[p->neighbours[i]] < t;
        ck_assert_uint_ge(lying, 1);
        with_one += lying == 1;
    }
    ck_assert_uint_eq(with_one, 8 + 9 - 2); /* the first row and column, as any growth from a corner needs */
    dt_arena_free(&arena);
    lattice_free(l);
}
END_TEST

static lattice *random_lattice(uint64_t seed) {
    uint64_t state = seed * 7919 + 1;
    uint32_t rows = 3 + (uint32_t)(5 * draft_random(&state)), columns = 3 + (uint32_t)(6 * draft_random(&state));
    lattice *l = lattice_new(rows, columns, 2 + (uint32_t)(8 * draft_random(&state)), seed);
    l->m.colours = 1 + (uint32_t)(4 * draft_random(&state));
    l->flipped_pairs = (unsigned)(4 * draft_random(&state));
    if (draft_random(&state) < 0.7) lattice_tell_tale(l);
    double figures = seed % 3 ? 0.1 : draft_random(&state); /* of every third, as many as may be */
    for (uint32_t p = 0; p < l->m.count; p++) {
        l->places[p].colour = (uint32_t)(l->m.colours * draft_random(&state));
        l->places[p].whimsy = draft_random(&state) < figures;
        if (draft_random(&state) < 0.2) l->places[p].shows |= 1; /* a false edge */
    }
    return l;
}

/* Switch by switch, from every subset of the others. */
START_TEST(helps_help_and_troubles_trouble) {
    static const dt_factor TROUBLES[] = {DT_FACTOR_LOOK_ALIKES, DT_FACTOR_TWO_SIDED};
    static const dt_factor HELPS[] = {DT_FACTOR_EDGE, DT_FACTOR_WHIMSIES, DT_FACTOR_COLOURS, DT_FACTOR_PICTURE};
    lattice *l = random_lattice((uint64_t)_i);
    effort_case c = lattice_case(l, l->m.colours > 1 ? 1 : 3, DT_PICTURE_FAINT);
    dt_effort effort = dt_effort_default();
    for (factor_set s = 0; s <= ALL; s++) {
        double here = effort_of(&c, &effort, s).total_s;
        for (int i = 0; i < 2; i++)
            ck_assert_double_ge(effort_of(&c, &effort, s | FACTOR_BIT(TROUBLES[i])).total_s, here);
        for (int i = 0; i < 4; i++) ck_assert_double_le(effort_of(&c, &effort, s | FACTOR_BIT(HELPS[i])).total_s, here);
    }
    lattice_free(l);
}
END_TEST

START_TEST(factors_add_up_and_have_their_signs) {
    lattice *l = random_lattice((uint64_t)_i);
    effort_case c = lattice_case(l, 1, _i % 2 ? DT_PICTURE_FULL : DT_PICTURE_NONE);
    dt_effort effort = dt_effort_default();
    double factors[DT_FACTORS], sum = 0.0;
    effort_factors(&c, &effort, ALL, factors);
    for (int i = 0; i < DT_FACTORS; i++) sum += factors[i];
    ck_assert_double_eq_tol(sum, effort_points(effort_of(&c, &effort, ALL).total_s), 1e-9);
    ck_assert_double_ge(factors[DT_FACTOR_LOOK_ALIKES], 0.0);
    ck_assert_double_ge(factors[DT_FACTOR_TWO_SIDED], 0.0);
    ck_assert_double_le(factors[DT_FACTOR_EDGE], 0.0);
    ck_assert_double_le(factors[DT_FACTOR_WHIMSIES], 0.0);
    ck_assert_double_le(factors[DT_FACTOR_COLOURS], 0.0);
    ck_assert_double_le(factors[DT_FACTOR_PICTURE], 0.0);
    if (_i % 2 == 0) ck_assert_double_eq(factors[DT_FACTOR_PICTURE], 0.0);
    lattice_free(l);
}
END_TEST

static double points_as_drawn(const lattice *l) {
    effort_case c = lattice_case(l, 1, DT_PICTURE_NONE);
    dt_effort effort = dt_effort_default();
    return effort_points(effort_of(&c, &effort, ALL).total_s);
}

/* One kind of side becomes another everywhere: whatever looked alike still does. */
START_TEST(making_sides_alike_is_never_easier) {
    lattice *l = random_lattice((uint64_t)_i);
    double before = points_as_drawn(l);
    for (uint32_t p = 0; p < l->m.count; p++)
        for (int d = 0; d < 4; d++)
            if (l->sides[p][d] == 2) l->sides[p][d] = 1;
    ck_assert_double_ge(points_as_drawn(l), before);
    lattice_free(l);
}
END_TEST

/* A false edge more, a figure more, a colour less. */
START_TEST(one_piece_changed_obeys_the_laws) {
    lattice *l = random_lattice((uint64_t)_i);
    double before = points_as_drawn(l);
    uint64_t state = (uint64_t)_i + 5;
    uint32_t p = (uint32_t)(draft_random(&state) * l->m.count);
    model_place kept = l->places[p];
    l->places[p].shows |= 1;
    ck_assert_double_ge(points_as_drawn(l), before);
    l->places[p] = kept;
    l->places[p].whimsy = true;
    ck_assert_double_le(points_as_drawn(l), before);
    l->places[p] = kept;
    for (uint32_t q = 0; q < l->m.count; q++)
        if (l->places[q].colour + 1 == l->m.colours) l->places[q].colour = 0;
    ck_assert_double_ge(points_as_drawn(l), before);
    lattice_free(l);
}
END_TEST

/* Each figure more helps or changes nothing, and where all pieces are figures half of the looking is left: to part a
 * pile in two saves no more. */
START_TEST(figures_save_at_most_half_of_the_looking) {
    static const factor_set drawn = FACTOR_BIT(DT_FACTOR_LOOK_ALIKES) | FACTOR_BIT(DT_FACTOR_WHIMSIES);
    lattice *l = lattice_new(6, 7, (uint32_t)_i * 3, 9);
    const double looks = 42.0 + 41.0 * 42.0 / 4.0; /* sum of (m + 1) / 2 over all places */
    dt_effort effort = dt_effort_default();
    double before = INFINITY;
    for (uint32_t figures = 0; figures <= 42; figures++) {
        effort_case c = lattice_case(l, 1, DT_PICTURE_NONE);
        effort_work work = effort_of(&c, &effort, drawn);
        if (figures == 0) ck_assert_double_eq_tol(work.looks, looks, 1e-9);
        ck_assert_double_le(work.total_s, before);
        ck_assert_double_ge(work.looks, 42.0 + (looks - 42.0) / 2.0 - 1e-9);
        before = work.total_s;
        if (figures < 42) l->places[figures * 5 % 42].whimsy = true;
    }
    ck_assert_double_lt(before, lattice_seconds(l, FACTOR_BIT(DT_FACTOR_LOOK_ALIKES)));
    lattice_free(l);
}
END_TEST

/* ---- kinds ---- */

enum { KIND_PLACES = 40, KIND_CLASSES = 5, KIND_SETS = KIND_CLASSES * 8 };

/* Places in a row, each with a class; a place has two classes of rivals. Named one by one, or by kind. */
typedef struct herd {
    model m;
    model_place places[KIND_PLACES];
    uint32_t neighbours[KIND_PLACES][2], class_of[KIND_PLACES], kind_of[KIND_PLACES], kind_piece[KIND_SETS];
    bool by_kind;
} herd;

static bool is_rival_class(uint32_t place, uint32_t class_id) {
    return class_id == place % KIND_CLASSES || class_id == place / 3 % KIND_CLASSES;
}

static void rivals_in_herd(const model *m, uint32_t place, const uint32_t *turn, model_rivals *out) {
    const herd *h = m->context;
    (void)turn;
    for (uint32_t i = 0; i < (h->by_kind ? m->kinds : m->count); i++) {
        uint32_t piece = h->by_kind ? h->kind_piece[i] : i, class_id = h->class_of[piece];
        if (!is_rival_class(place, class_id) || (!h->by_kind && i == place)) continue;
        model_rival rival = {i, class_id % 2};
        if (h->by_kind) out->kinds[out->kind_count++] = rival;
        else out->items[out->count++] = rival;
    }
}

static void gather_herd(herd *h, uint64_t *state) {
    *h = (herd){.m = {.places = h->places, .count = KIND_PLACES, .colours = 2, .rivals = rivals_in_herd, .context = h,
                      .kind_of = h->kind_of, .kind_piece = h->kind_piece}};
    for (uint32_t i = 0; i < KIND_PLACES; i++) {
        uint32_t set = (uint32_t)(draft_random(state) * KIND_SETS), known = 0;
        uint8_t asks = set / KIND_CLASSES % 2, shows = asks | (uint8_t)(set / KIND_CLASSES / 2 % 2 * 2);
        h->class_of[i] = set % KIND_CLASSES;
        h->neighbours[i][0] = i ? i - 1 : 1;
        h->neighbours[i][1] = i + 1;
        h->places[i] = (model_place){.neighbours = h->neighbours[i], .neighbour_count = i && i + 1 < KIND_PLACES ? 2 : 1, .asks = asks,
                                     .shows = shows, .colour = set / KIND_CLASSES / 4, .whimsy = draft_random(state) < 0.1};
        for (; known < i && h->kind_of[known] != UINT32_MAX; known++) {
            const model_place *p = &h->places[known], *q = &h->places[i];
            if (h->class_of[known] == h->class_of[i] && p->asks == q->asks && p->shows == q->shows && p->colour == q->colour) break;
        }
        h->kind_of[i] = known < i ? h->kind_of[known] : h->m.kinds;
        if (known == i) h->kind_piece[h->m.kinds++] = i;
    }
}

START_TEST(kinds_count_as_their_pieces_do) {
    uint64_t state = (uint64_t)_i + 1;
    herd h;
    dt_arena arena = DT_ARENA((size_t)1 << 24);
    model_run one_by_one, by_kind;
    gather_herd(&h, &state);
    ck_assert_uint_lt(h.m.kinds, KIND_PLACES);
    for (int view = 0; view < 2; view++) {
        model_view v = {.whimsies = view, .edge = true, .colours = true};
        h.by_kind = false;
        ck_assert_int_eq(model_play(&h.m, v, false, &arena, &one_by_one), DT_OK);
        h.by_kind = true;
        ck_assert_int_eq(model_play(&h.m, v, false, &arena, &by_kind), DT_OK);
        ck_assert_double_gt(one_by_one.sums.alike[0][0][1], 0.0);
        ck_assert_int_eq(memcmp(&one_by_one.sums, &by_kind.sums, sizeof by_kind.sums), 0);
        for (uint32_t i = 0; i < KIND_PLACES; i++) ck_assert_double_eq(one_by_one.alike[i], by_kind.alike[i]);
    }
    dt_arena_free(&arena);
}
END_TEST

START_TEST(bands_and_keys) {
    ck_assert_str_eq(dt_band_name(dt_band_of(0.0)), "breezy");
    ck_assert_str_eq(dt_band_name(dt_band_of(31.99)), "breezy");
    ck_assert_str_eq(dt_band_name(dt_band_of(32.0)), "easy-going");
    ck_assert_str_eq(dt_band_name(dt_band_of(96.0)), "fiendish");
    ck_assert_str_eq(dt_factor_key(DT_FACTOR_TWO_SIDED), "two_sided");
    ck_assert_double_eq(effort_points(60.0), 0.0);
    ck_assert_double_eq(effort_points(1.0), 0.0);
    ck_assert_double_eq_tol(effort_points(120.0), 10.0, 1e-12);
}
END_TEST

Suite *suite_rating_model(void);
Suite *suite_rating_model(void) {
    Suite *suite = suite_create("rating_model");
    TCase *cases = tcase_create("rating_model");
    tcase_add_loop_test(cases, closed_forms_are_reproduced, 0, (int)(sizeof CLOSED_FORMS / sizeof *CLOSED_FORMS));
    tcase_add_test(cases, alike_pieces_are_counted_among_the_loose);
    tcase_add_test(cases, the_assembly_grows_compactly);
    tcase_add_loop_test(cases, helps_help_and_troubles_trouble, 0, 100);
    tcase_add_loop_test(cases, factors_add_up_and_have_their_signs, 0, 100);
    tcase_add_loop_test(cases, making_sides_alike_is_never_easier, 0, 200);
    tcase_add_loop_test(cases, one_piece_changed_obeys_the_laws, 0, 200);
    tcase_add_loop_test(cases, figures_save_at_most_half_of_the_looking, 0, 3);
    tcase_add_loop_test(cases, kinds_count_as_their_pieces_do, 0, 20);
    tcase_add_test(cases, bands_and_keys);
    suite_add_tcase(suite, cases);
    return suite;
}
