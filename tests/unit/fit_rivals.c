/* Pieces that match several sides of a place at one pose: the fit of all sides at once, and the estimates where lists
 * are cut short. */
#include "draft.h"
#include "rivals_brute.h"
#include <check.h>
#include <math.h>

typedef struct sheet {
    draft *d;
    dt_net *net;
    dt_pieces *pieces;
    dt_fit *fit;
} sheet;

static sheet knobbed(unsigned rows, unsigned columns, unsigned seed, bool alike) {
    const dt_settings settings = DT_SETTINGS_DEFAULT;
    sheet s = {.d = draft_new()};
    dt_error error = {0};
    draft_knobbed_sheet(s.d, rows, columns, 20, seed, alike);
    s.pieces = draft_pieces(s.d, &settings, &s.net);
    ck_assert_msg(dt_fit_new(s.pieces, &settings, NULL, &s.fit, &error) == DT_OK, "%s", error.message);
    return s;
}

static void discard(sheet *s) {
    dt_fit_free(s->fit);
    dt_pieces_free(s->pieces);
    dt_net_free(s->net);
    draft_free(s->d);
}

static const dt_walker *outline_of(const dt_fit *fit, uint32_t piece) {
    for (size_t w = 0; w < fit->walker_count; w++)
        if (fit->walkers[w].leader == piece && fit->walkers[w].ring == 0 && !fit->walkers[w].over)
            return &fit->walkers[w];
    ck_abort_msg("piece %u leads no class", piece);
    return NULL;
}

static dt_pose nudge(dt_point about, double eye, uint64_t *state) {
    double w = 0.05 * (2.0 * draft_random(state) - 1.0), x = eye * (2.0 * draft_random(state) - 1.0),
           y = eye * (2.0 * draft_random(state) - 1.0);
    dt_pose turn = {cos(w), sin(w), {0.0, 0.0}, false};
    dt_point kept = dt_pose_apply(turn, about);
    turn.shift = (dt_point){about.x - kept.x + x, about.y - kept.y + y};
    return turn;
}

/* Up to an eye each way and 3 degrees: where the ways of one side would lay it. */
START_TEST(a_piece_pushed_out_of_its_place_stands_there) {
    sheet s = knobbed(4, 4, 5, false);
    const bool known[16] = {true, true, true, true, true, true, true, true,
                            true, true, true, true, true, true, true, true};
    uint64_t state = 3;
    for (uint32_t p = 0; p < 16; p++) {
        dt_arena arena = DT_ARENA((size_t)64 << 20);
        dt_question q;
        brute_question(s.fit, p, known, &arena, &q);
        for (int i = 0; i < 10; i++) {
            bool stands = false;
            dt_pose pose =
                nudge(dt_path_centroid(dt_pieces_get(s.pieces, (dt_piece_id){p})->outline), s.fit->eye, &state);
            ck_assert_int_eq(dt_question_stands(&q, q.count, &outline_of(s.fit, p)->loop, pose, &stands), DT_OK);
            ck_assert_msg(stands, "piece %u, nudge %d", p, i);
        }
        dt_arena_free(&arena);
    }
    discard(&s);
}
END_TEST

/* What no pose of a grid comes near to must not be said to stand. tests/slow/fit_rivals.c does this for many more. */
START_TEST(what_stands_is_near_a_pose_of_the_grid) {
    sheet s = knobbed(3, 3, 2, false);
    const bool known[16] = {true, true};
    size_t standing = 0;
    for (uint32_t p = 0; p < 9; p++) {
        dt_arena arena = DT_ARENA((size_t)64 << 20);
        dt_question q;
        brute_question(s.fit, p, known, &arena, &q);
        for (uint32_t other = 0; other < 9 && q.count == 2; other++) {
            const dt_loop *loop = &outline_of(s.fit, other)->loop;
            const dt_course *leading;
            double rms;
            bool stands = false;
            ck_assert_int_eq(dt_question_course(&q, 0, &leading), DT_OK);
            const dt_piece *piece = dt_pieces_get(s.pieces, (dt_piece_id){other});
            dt_pose pose = dt_stretch_align(leading, loop, loop->at[piece->sides[0].start], &rms);
            ck_assert_int_eq(dt_question_stands(&q, 2, loop, pose, &stands), DT_OK);
            if (!stands) continue;
            standing++;
            ck_assert_double_le(brute_best_on_grid(&q, loop, pose), 1.9 * s.fit->eye);
        }
        dt_arena_free(&arena);
    }
    ck_assert_uint_gt(standing, 0);
    discard(&s);
}
END_TEST

typedef struct sums {
    double estimated, counted;
    size_t asked;
} sums;

/* Two sides that meet show, as they mostly do when a puzzle grows. */
static void ask_and_count(const sheet *s, dt_rivals *finder, uint32_t p, sums *out) {
    dt_arena arena = DT_ARENA((size_t)64 << 20);
    dt_question q;
    dt_rival list[169];
    bool known[4] = {false};
    size_t listed;
    double hidden;
    known[p % 4] = known[(p + 1) % 4] = true;
    ck_assert_int_eq(dt_rivals_of(finder, (dt_piece_id){p}, known, list, &listed, &hidden), DT_OK);
    brute_question(s->fit, p, known, &arena, &q);
    out->estimated += (double)listed + hidden;
    out->counted += (double)brute_rivals(&q);
    out->asked++;
    dt_arena_free(&arena);
}

/* The lists of a large sheet are cut short: listed and estimated rivals together against all sides of all pieces. */
START_TEST(estimates_hold_against_looking_at_every_piece) {
    sums sum = {0.0, 0.0, 0};
    for (unsigned seed = 4; seed <= 5; seed++) {
        sheet s = knobbed(13, 13, seed, false);
        dt_rivals *finder;
        ck_assert(!dt_fit_is_whole(s.fit));
        ck_assert_int_eq(dt_rivals_new(s.fit, &finder), DT_OK);
        for (uint32_t p = 0; p < 169; p++) {
            const dt_piece *place = dt_pieces_get(s.pieces, (dt_piece_id){p});
            if (place->side_count == 4 && !place->edge) ask_and_count(&s, finder, p, &sum);
        }
        dt_rivals_free(finder);
        discard(&s);
    }
    ck_assert_uint_gt(sum.asked, 200);
    ck_assert_msg(fabs(sum.estimated - sum.counted) < 0.2 * sum.counted, "%g estimated, %g counted", sum.estimated,
                  sum.counted);
}
END_TEST

Suite *suite_fit_rivals(void);
Suite *suite_fit_rivals(void) {
    Suite *suite = suite_create("fit_rivals");
    TCase *cases = tcase_create("fit_rivals");
    tcase_add_test(cases, a_piece_pushed_out_of_its_place_stands_there);
    tcase_add_test(cases, what_stands_is_near_a_pose_of_the_grid);
    tcase_add_test(cases, estimates_hold_against_looking_at_every_piece);
    suite_add_tcase(suite, cases);
    return suite;
}
