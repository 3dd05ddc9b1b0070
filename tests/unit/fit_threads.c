/* Whatever the number of threads, places are the same to the last bit. */
#include "draft.h"
#include "base/workers.h"
#include "fit/store.h"
#include <check.h>
#include <stdatomic.h>
#include <string.h>

/* ---- the loop itself ---- */

enum { ITEMS = 1000 };

typedef struct tallies {
    atomic_uint done[ITEMS];
    size_t fails_at, fails_too;
} tallies;

static dt_status count_round(void *context, size_t worker, size_t item) {
    tallies *t = context;
    ck_assert_uint_lt(worker, 4);
    atomic_fetch_add(&t->done[item], 1);
    return item == t->fails_at ? DT_TOO_LARGE : item == t->fails_too ? DT_STOPPED : DT_OK;
}

START_TEST(each_round_runs_once) {
    static tallies t;
    t.fails_at = t.fails_too = SIZE_MAX;
    ck_assert_int_eq(dt_workers_run(4, ITEMS, count_round, &t), DT_OK);
    for (size_t i = 0; i < ITEMS; i++) ck_assert_uint_eq(t.done[i], 1);
}
END_TEST

START_TEST(the_first_failure_is_told_and_ends_the_loop) {
    for (size_t workers = 1; workers <= 4; workers++) {
        static tallies t;
        memset(&t, 0, sizeof t);
        t.fails_at = 10;
        t.fails_too = 11;
        ck_assert_int_eq(dt_workers_run(workers, ITEMS, count_round, &t), DT_TOO_LARGE);
        for (size_t i = 0; i <= 10; i++) ck_assert_uint_eq(t.done[i], 1);
        if (workers == 1) ck_assert_uint_eq(t.done[11], 0);
    }
}
END_TEST

START_TEST(no_more_workers_than_rounds_and_never_none) {
    ck_assert_uint_eq(dt_workers_count(3, 100), 3);
    ck_assert_uint_eq(dt_workers_count(3, 2), 2);
    ck_assert_uint_eq(dt_workers_count(3, 0), 1);
    ck_assert_uint_ge(dt_workers_count(0, 100), 1);
    ck_assert_uint_eq(dt_workers_count(1000, 1000), DT_MOST_WORKERS);
}
END_TEST

/* ---- places ---- */

static bool same_pose(dt_pose a, dt_pose b) {
    return a.c == b.c && a.s == b.s && a.shift.x == b.shift.x && a.shift.y == b.shift.y && a.flipped == b.flipped;
}

static void compare_matches(const dt_matches *a, const dt_matches *b) {
    ck_assert_uint_eq(a->count, b->count);
    for (size_t i = 0; i < a->count; i++) {
        const dt_match *p = &a->items[i], *q = &b->items[i];
        ck_assert(p->a.v == q->a.v && p->b.v == q->b.v && same_pose(p->pose, q->pose));
        ck_assert(p->mismatch_mm == q->mismatch_mm && p->only_flipped == q->only_flipped);
    }
}

static void compare_sides(const dt_fit *a, const dt_fit *b) {
    ck_assert_uint_eq(a->candidates.count, b->candidates.count);
    for (size_t i = 0; i < a->side_count; i++) ck_assert_uint_eq(a->sides[i].k, b->sides[i].k);
    for (size_t i = 0; i < a->candidates.count; i++) {
        const dt_candidate *p = &a->candidates.items[i], *q = &b->candidates.items[i];
        ck_assert(p->piece.v == q->piece.v && p->deviation_mm == q->deviation_mm && same_pose(p->pose, q->pose));
    }
    ck_assert_uint_eq(a->side_classes.count, b->side_classes.count);
    for (size_t i = 0; i < a->side_classes.count; i++)
        ck_assert(a->side_classes.items[i].crowd == b->side_classes.items[i].crowd);
}

static void compare_mates(const dt_fit *a, const dt_fit *b) {
    ck_assert_uint_eq(a->mates.count, b->mates.count);
    for (size_t i = 0; i < a->mates.count; i++) {
        const dt_false_mate *p = &a->mates.items[i], *q = &b->mates.items[i];
        ck_assert(p->a.v == q->a.v && p->b.v == q->b.v && p->instead_of.v == q->instead_of.v && same_pose(p->pose, q->pose));
    }
}

static void compare_threads(draft *d, dt_settings settings, bool has_double) {
    dt_net *net;
    dt_fit *one, *many;
    dt_pieces *pieces = draft_pieces(d, &settings, &net);
    settings.threads = 1;
    ck_assert_int_eq(dt_fit_new(pieces, &settings, NULL, &one, NULL), DT_OK);
    ck_assert_uint_gt(one->candidates.count, one->count);
    ck_assert(!has_double || one->twins.count + one->near_twins.count > 0);
    for (settings.threads = 2; settings.threads <= 5; settings.threads += 3) {
        ck_assert_int_eq(dt_fit_new(pieces, &settings, NULL, &many, NULL), DT_OK);
        compare_matches(&one->twins, &many->twins);
        compare_matches(&one->near_twins, &many->near_twins);
        compare_matches(&one->turners, &many->turners);
        compare_sides(one, many);
        compare_mates(one, many);
        ck_assert_int_eq(one->whole, many->whole);
        dt_fit_free(many);
    }
    dt_fit_free(one);
    dt_pieces_free(pieces);
    dt_net_free(net);
    draft_free(d);
}

START_TEST(places_are_the_same_on_any_number_of_threads) {
    const dt_settings plain = DT_SETTINGS_DEFAULT;
    dt_settings two_sided = plain;
    draft *distinct = draft_new(), *alike = draft_new(), *small = draft_new();
    two_sided.two_sided = true;
    draft_knobbed_sheet(distinct, 12, 12, 20, 7, false);
    draft_knobbed_sheet(alike, 6, 7, 20, 7, true);
    draft_knobbed_sheet(small, 4, 5, 20, 7, false);
    compare_threads(distinct, plain, false);
    compare_threads(alike, plain, true);
    compare_threads(small, two_sided, false);
}
END_TEST

Suite *suite_fit_threads(void);
Suite *suite_fit_threads(void) {
    Suite *suite = suite_create("fit_threads");
    TCase *cases = tcase_create("fit_threads");
    tcase_add_test(cases, each_round_runs_once);
    tcase_add_test(cases, the_first_failure_is_told_and_ends_the_loop);
    tcase_add_test(cases, no_more_workers_than_rounds_and_never_none);
    tcase_add_test(cases, places_are_the_same_on_any_number_of_threads);
    suite_add_tcase(suite, cases);
    return suite;
}
