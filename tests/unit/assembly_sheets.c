/* Sheets with an answer that is known from how they are made. Every witness is checked by dt_assembly_verify (in assemble). */
#include "assembling.h"
#include "assembly/outline.h"
#include "assembly/problem.h"
#include "counts.h"

#include <check.h>
#include <math.h>

static assembling assemble_sheet(unsigned rows, unsigned columns, unsigned seed, bool alike, double turn) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    draft *d = draft_new();
    draft_knobbed_sheet(d, rows, columns, 20.0, seed, alike);
    draft_transform(d, dt_pose_about(turn, false, (dt_point){0, 0}, (dt_point){300, 200}), 1.0);
    return assemble(d, settings);
}

START_TEST(distinct_seams_have_one_assembly) {
    static const double turns[] = {0.0, 33.0};
    for (int i = 0; i < 2; i++) { /* a square, and a rectangle that is turned */
        assembling a = assemble_sheet(5, i ? 4 : 5, 1, false, turns[i]);
        ck_assert_msg(a.assembly->verdict == DT_ONE, "%s", a.assembly->why);
        ck_assert(a.assembly->exact);
        ck_assert_uint_eq(a.assembly->distinct, 1);
        assembling_free(&a);
    }
}
END_TEST

START_TEST(a_hundred_pieces) {
    assembling a = assemble_sheet(10, 10, 1, false, 0.0);
    ck_assert_msg(a.assembly->verdict == DT_ONE, "%s", a.assembly->why);
    assembling_free(&a);
}
END_TEST

START_TEST(alike_knobs_are_several_at_once) {
    assembling a = assemble_sheet(6, 6, 1, true, 0.0);
    ck_assert_int_eq(a.assembly->verdict, DT_SEVERAL);
    ck_assert_uint_eq(a.assembly->steps, 0);
    assembling_free(&a);
}
END_TEST

/* A block of two pieces is a square of 30 mm: it may be turned in its place though neither piece fits the other's, and the other block
 * is no square. */
START_TEST(a_block_of_two_that_turns) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    draft *d = draft_new();
    draft_rectangle(d, 0, 0, 70, 30);
    draft_segment(d, 30, 0, 30, 30);
    draft_segment(d, 30, 12, 70, 16);
    draft_segment(d, 0, 9, 30, 13);
    assembling a = assemble(d, settings);
    ck_assert_int_eq(a.assembly->verdict, DT_SEVERAL);
    ck_assert_uint_eq(a.assembly->other_count, 2);
    assembling_free(&a);
}
END_TEST

/* A round puzzle beside others may be turned by any angle: nothing is proved, and nothing breaks. */
START_TEST(a_disc_beside_other_puzzles) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    draft *d = draft_new();
    draft_rectangle(d, 0, 0, 30, 20);
    draft_segment(d, 12, 0, 17, 20);
    draft_circle(d, 60, 20, 14);
    if (_i) draft_circle(d, 100, 20, 11);
    draft_segment(d, 60, 6, 64, 33.416);
    assembling a = assemble(d, settings);
    ck_assert_int_ne(a.assembly->verdict, DT_ONE);
    assembling_free(&a);
}
END_TEST

static double noise(uint64_t *state) {
    return 0.02 * (draft_random(state) - 0.5);
}

/* The same block with every line end off by up to 0.01 mm each way: found, or not decided, but never called the only one. */
START_TEST(noise_hides_no_other_assembly) {
    for (uint64_t seed = 1; seed <= 12; seed++) {
        uint64_t state = seed;
        double n[9];
        for (int i = 0; i < 9; i++) n[i] = noise(&state);
        dt_settings settings = DT_SETTINGS_DEFAULT;
        draft *d = draft_new();
        draft_rectangle(d, n[0], n[1], 70 + n[2], 30 + n[3]);
        draft_segment(d, 30 + n[4], n[5], 30 + n[6], 30 + n[7]);
        draft_segment(d, 30 + n[8], 12 + n[1], 70 + n[2], 16 + n[3]);
        draft_segment(d, n[0], 9 + n[4], 30 + n[5], 13 + n[6]);
        assembling a = assemble(d, settings);
        ck_assert_int_ne(a.assembly->verdict, DT_ONE);
        assembling_free(&a);
    }
}
END_TEST

START_TEST(a_sheet_too_large_for_the_steps_is_undecided) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.steps = 10;
    draft *d = draft_new();
    draft_knobbed_sheet(d, 3, 3, 20.0, 1, false);
    assembling a = assemble(d, settings);
    ck_assert_int_eq(a.assembly->verdict, DT_UNDECIDED);
    ck_assert(!a.assembly->counted);
    assembling_free(&a);
}
END_TEST

typedef struct stopper {
    int calls, reports;
} stopper;

static bool stop_after_a_while(void *context) {
    stopper *s = context;
    return ++s->calls > 2;
}

static void note_progress(void *context, const char *stage, double fraction) {
    stopper *s = context;
    s->reports++;
    ck_assert(stage[0] && fraction >= 0.0 && fraction <= 1.0);
}

/* Stopped by the watch: what has been found so far is given, and nothing is called exact. */
START_TEST(a_search_that_is_stopped) {
    stopper s = {0, 0};
    dt_watch watch = {note_progress, stop_after_a_while, &s};
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.count = true;
    settings.two_sided = true;
    draft *d = draft_new();
    counted_draft_named("pentominoes-3x20")->draw(d);
    assembling a = assemble_watched(d, settings, &watch);
    ck_assert_int_gt(s.reports, 0);
    ck_assert(!a.assembly->exact);
    ck_assert_int_ne(a.assembly->verdict, DT_ONE);
    ck_assert_uint_ge(a.assembly->fillings, 1);
    ck_assert_uint_lt(a.assembly->steps, 100000);
    assembling_free(&a);
}
END_TEST

/* A tip of 4 degrees: where it ends is more than drawing errors tell, so nothing is proved. */
START_TEST(a_needle_is_not_decided) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    draft *d = draft_new();
    draft_rectangle(d, 0, 0, 60, 30);
    draft_segment(d, 0, 0, 60, 4.2);
    assembling a = assemble(d, settings);
    ck_assert_int_eq(a.assembly->verdict, DT_UNDECIDED);
    ck_assert(!a.assembly->exact);
    assembling_free(&a);
}
END_TEST

static void draw_disc(draft *d, const double *turns, int count) {
    draft_circle(d, 50, 50, 40);
    for (int i = 0; i < count; i++) draft_segment(d, 50, 50, 50 + 40 * cos(turns[i]), 50 + 40 * sin(turns[i]));
}

/* Sectors of different widths may lie in any order: (n - 1)! assemblies, since turning the disc makes no other one; half as many where
 * it may be turned over. Three lie in one order only, seen from above, but two-sided they have one assembly. */
START_TEST(sectors_of_a_disc) {
    static const double turns[] = {0.1, 0.9, 2.0, 3.4, 4.4};
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.count = true;
    draft *d = draft_new();
    draw_disc(d, turns, 5);
    assembling a = assemble(d, settings);
    ck_assert_int_eq(a.assembly->verdict, DT_SEVERAL);
    ck_assert_uint_eq(a.assembly->distinct, 24);
    assembling_free(&a);
    settings.two_sided = true;
    d = draft_new();
    draw_disc(d, turns, 3);
    a = assemble(d, settings);
    ck_assert_msg(a.assembly->verdict == DT_ONE, "%s", a.assembly->why);
    ck_assert_uint_eq(a.assembly->distinct, 1);
    assembling_free(&a);
}
END_TEST

/* A disc in a round hole fits at any turn, an ellipse has no corner to start from: what cannot be tried is not called settled. */
START_TEST(smooth_outlines_are_never_one_unproved) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    draft *d = draft_new();
    draft_rectangle(d, 0, 0, 70, 40);
    draft_segment(d, 30, 0, 26, 40);
    draft_circle(d, 50, 20, 9);
    assembling a = assemble(d, settings);
    ck_assert_int_ne(a.assembly->verdict, DT_SEVERAL); /* a turner in its own place is no other assembly */
    assembling_free(&a);
    d = draft_new();
    draft_circle(d, 0, 0, 30);
    draft_circle(d, 0, 0, 12); /* a ring and a disc: no corner anywhere */
    a = assemble(d, settings);
    ck_assert_int_ne(a.assembly->verdict, DT_SEVERAL);
    assembling_free(&a);
}
END_TEST

static assembling two_puzzles(double apart) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    draft *d = draft_new();
    settings.count = true;
    draft_rectangle(d, 0, 0, 50, 50);
    draft_segment(d, 20, 0, 24, 50);
    draft_rectangle(d, 50 + apart, 50 + apart, 40, 60);
    draft_segment(d, 50 + apart, 75 + apart, 90 + apart, 70 + apart);
    return assemble(d, settings);
}

/* The outline of each is walked by itself, also through a point where two of them touch. */
START_TEST(puzzles_that_touch_in_a_point) {
    assembling apart = two_puzzles(5), touching = two_puzzles(0);
    ck_assert_uint_eq(dt_pieces_puzzle_count(touching.pieces), 2);
    ck_assert_int_eq(touching.assembly->verdict, apart.assembly->verdict);
    ck_assert_uint_eq(touching.assembly->distinct, apart.assembly->distinct);
    ck_assert_uint_ge(touching.assembly->distinct, 1);
    assembling_free(&apart);
    assembling_free(&touching);
}
END_TEST

/* Puzzles of one shape may be exchanged in more ways than can be listed: the attempt is not made. */
START_TEST(many_puzzles_of_one_shape) {
    enum { PUZZLES = 7 };
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_net *net;
    dt_arena arena = DT_ARENA((size_t)1 << 26);
    dt_region *regions;
    dt_problem *problem;
    draft *d = draft_new();
    for (int i = 0; i < PUZZLES; i++) draft_polyline(d, (dt_point[]){{20 * i, 0}, {20 * i + 15, 2}, {20 * i + 4, 9}}, 3, true);
    dt_pieces *pieces = draft_pieces(d, &settings, &net);
    dt_tile tiles[PUZZLES];
    dt_task task = {.tiles = tiles, .tile_count = PUZZLES, .play_mm = settings.kerf_mm};
    for (uint32_t i = 0; i < PUZZLES; i++) tiles[i] = (dt_tile){dt_pieces_get(pieces, (dt_piece_id){i})->outline, NULL, 0};
    ck_assert(dt_outline_regions(pieces, &arena, &regions, &task.region_count));
    task.regions = regions;
    ck_assert_int_eq(dt_problem_new(&task, &problem), DT_OK);
    ck_assert(problem->symmetries_cut);
    ck_assert_uint_eq(problem->symmetry_count, 1);
    dt_problem_free(problem);
    dt_arena_free(&arena);
    dt_pieces_free(pieces);
    dt_net_free(net);
    draft_free(d);
}
END_TEST

/* Order, direction and place of the strokes, and cutting them up, change neither the answer nor the count. */
START_TEST(however_it_is_drawn) {
    for (int i = 0; i < 5; i++) {
        dt_settings settings = DT_SETTINGS_DEFAULT;
        settings.count = settings.two_sided = true;
        draft *d = draft_new();
        counted_draft_named("tangram")->draw(d);
        if (i == 1) draft_shuffle(d, 7);
        if (i == 2) draft_reverse(d);
        if (i == 3) draft_split(d);
        if (i == 4) draft_transform(d, dt_pose_about(127.3, false, (dt_point){0, 0}, (dt_point){-400, 90}), 1.0);
        assembling a = assemble(d, settings);
        ck_assert(a.assembly->exact);
        ck_assert_uint_eq(a.assembly->fillings, 8);
        ck_assert_uint_eq(a.assembly->distinct, 1);
        assembling_free(&a);
    }
}
END_TEST

Suite *suite_assembly_sheets(void);
Suite *suite_assembly_sheets(void) {
    Suite *suite = suite_create("assembly_sheets");
    TCase *all = tcase_create("all");
    tcase_add_loop_test(all, a_disc_beside_other_puzzles, 0, 2);
    tcase_add_test(all, puzzles_that_touch_in_a_point);
    tcase_add_test(all, many_puzzles_of_one_shape);
    tcase_add_test(all, distinct_seams_have_one_assembly);
    tcase_add_test(all, a_hundred_pieces);
    tcase_add_test(all, alike_knobs_are_several_at_once);
    tcase_add_test(all, a_block_of_two_that_turns);
    tcase_add_test(all, noise_hides_no_other_assembly);
    tcase_add_test(all, a_sheet_too_large_for_the_steps_is_undecided);
    tcase_add_test(all, a_search_that_is_stopped);
    tcase_add_test(all, a_needle_is_not_decided);
    tcase_add_test(all, sectors_of_a_disc);
    tcase_add_test(all, smooth_outlines_are_never_one_unproved);
    tcase_add_test(all, however_it_is_drawn);
    suite_add_tcase(suite, all);
    return suite;
}
