/* Forced places: all of a sheet of distinct seams, none of a group that has another place. That no other assembly is
 * lost is also what the planted drafts of assembly_knobbed, assembly_planted and assembly_perturbed ask for: their
 * verdicts come from here first. */
#include "assembly/forced.h"
#include "assembly/outline.h"
#include "knobbed.h"
#include "perturbed.h"

#include <check.h>
#include <dovetell/drawing.h>

static const double ROOM_MM = 0.13; /* half the usual kerf and a drawing error */

typedef struct forcing {
    dt_net *net;
    dt_pieces *pieces;
    dt_arena arena;
    dt_forced forced;
} forcing;

static void find_forced(forcing *f, dt_settings settings, double room) {
    dt_region *regions;
    size_t count;
    ck_assert(dt_outline_regions(f->pieces, &f->arena, &regions, &count));
    ck_assert(dt_forced_find(f->pieces, &regions[0], &settings, room, NULL, &f->arena, &f->forced));
}

static forcing force(draft *d, dt_settings settings) {
    forcing f = {.arena = DT_ARENA((size_t)1 << 30)};
    f.pieces = draft_pieces(d, &settings, &f.net);
    draft_free(d);
    find_forced(&f, settings, ROOM_MM);
    return f;
}

static void forcing_free(forcing *f) {
    dt_arena_free(&f->arena);
    dt_pieces_free(f->pieces);
    dt_net_free(f->net);
}

static draft *knobbed_draft(unsigned rows, unsigned columns, uint64_t seed) {
    knobbed *k = knobbed_new(rows, columns, 20.0, seed);
    draft *d = draft_new();
    knobbed_draw(d, k);
    knobbed_free(k);
    return d;
}

/* Square and oblong. */
START_TEST(distinct_seams_force_every_piece) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    draft *d = draft_new();
    draft_knobbed_sheet(d, 8 + (unsigned)_i % 3, 10, 20.0, 1 + (unsigned)_i, false);
    forcing f = force(d, settings);
    ck_assert(f.forced.all);
    forcing_free(&f);
}
END_TEST

/* With the kerf's whole play a piece drawn at the edge would fill each corner of this sheet by itself, as written to a
 * file with six digits; but what it forces there sticks out. */
START_TEST(a_stray_piece_leaves_the_corners_to_the_others) {
    static const double WHOLE_PLAY_MM = 0.23;
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_drawing *drawing;
    dt_error error = {0};
    dt_text svg = DT_TEXT_EMPTY;
    draft *d = draft_new();
    draft_knobbed_sheet(d, 10, 10, 20.0, 1015, false);
    draft_svg(d, 5.0, &svg);
    draft_free(d);
    ck_assert_int_eq(dt_drawing_read_memory("sheet", svg.bytes, svg.length, &settings, &drawing, &error), DT_OK);
    forcing f = {.arena = DT_ARENA((size_t)1 << 30)};
    dt_strokes strokes = dt_drawing_strokes(drawing);
    ck_assert_int_eq(dt_net_new(strokes, &settings, &f.net, &error), DT_OK);
    ck_assert_int_eq(dt_pieces_new(f.net, strokes, &settings, &f.pieces, &error), DT_OK);
    find_forced(&f, settings, WHOLE_PLAY_MM);
    ck_assert(f.forced.all);
    forcing_free(&f);
    dt_drawing_free(drawing);
    dt_text_free(&svg);
}
END_TEST

/* A piece drawn at the edge would fill each corner of this sheet, and what it forces there is not refuted: of five pieces
 * four lie in corners, so of any two one does, and each of two that are drawn there forces all others. */
START_TEST(one_piece_more_than_corners) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    forcing f = force(knobbed_draft(25, 30, 305), settings);
    ck_assert(f.forced.all);
    forcing_free(&f);
}
END_TEST

/* A thousand pieces, with fewer comparisons than are allowed unless a maker says otherwise. */
START_TEST(large_sheets_are_forced) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    draft *d = draft_new();
    draft_knobbed_sheet(d, 25, 40, 20.0, 1, false);
    forcing f = force(d, settings);
    ck_assert(f.forced.all);
    ck_assert_uint_eq(f.forced.count, 1000);
    ck_assert_uint_lt(f.forced.steps, 250000);
    forcing_free(&f);
}
END_TEST

/* Too few steps: nothing is said to be forced. */
START_TEST(too_few_steps_force_nothing) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.steps = 20;
    forcing f = force(knobbed_draft(8, 8, 3), settings);
    ck_assert(!f.forced.all);
    forcing_free(&f);
}
END_TEST

/* However many steps are allowed, asking ends when nothing more is forced. */
START_TEST(any_number_of_steps_ends) {
    static const grid_group group = {{{1, 1}, {1, 2}}, 2};
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.steps = UINT64_MAX;
    knobbed *k = knobbed_new(6, 6, 20.0, 1);
    knobbed_carry(k, &group, (grid_carry){false, 0, {3, 2}});
    draft *d = draft_new();
    knobbed_draw(d, k);
    knobbed_free(k);
    forcing f = force(d, settings);
    ck_assert(!f.forced.all);
    forcing_free(&f);
}
END_TEST

/* Two pieces that fit where two others lie: never is every piece forced, however the sheet is drawn. */
START_TEST(groups_with_two_places_are_not_forced) {
    static const grid_group group = {{{1, 1}, {1, 2}}, 2};
    static const perturbing ways[] = {AS_DRAWN, FLATTENED, SHIFTED, NOISY}; /* those that turn nothing */
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.two_sided = _i % 3 == 0;
    knobbed *k = knobbed_new(6, 6, 20.0, 1 + (uint64_t)_i);
    knobbed_carry(k, &group, (grid_carry){settings.two_sided, 0, {3, 2}});
    draft *d = draft_new();
    knobbed_draw(d, k);
    knobbed_free(k);
    forcing f = force(perturbed(d, ways[_i % 4], 1 + (uint64_t)_i), settings);
    bool whole = dt_pieces_count(f.pieces) == 36; /* noise may let lines of a tight bend cross */
    ck_assert(!whole || !f.forced.all);
    forcing_free(&f);
}
END_TEST

/* The same on larger sheets, where tips that fit nothing are looked up among many more: a pair for a pair, three for three
 * a half turn away, four in a square that are two lying and two upright elsewhere. */
START_TEST(groups_on_large_sheets_are_not_forced) {
    static const grid_group groups[] = {{{{2, 3}, {2, 4}}, 2}, {{{4, 1}, {4, 2}, {4, 3}}, 3},
                                        {{{1, 1}, {1, 2}, {2, 1}, {2, 2}}, 4}};
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.two_sided = _i % 4 == 3;
    const grid_group *group = &groups[_i % 3];
    knobbed *k = knobbed_new(10 + (unsigned)_i % 3, 13, 20.0, 101 + (uint64_t)_i);
    knobbed_carry(k, group, (grid_carry){settings.two_sided, _i % 3 == 1 ? 2 : 0, {6, 7}});
    if (_i % 3 == 2) {
        knobbed_merge(k, (grid_cell){1, 1}, (grid_cell){1, 2});
        knobbed_merge(k, (grid_cell){2, 1}, (grid_cell){2, 2});
        knobbed_merge(k, (grid_cell){6, 7}, (grid_cell){7, 7});
        knobbed_merge(k, (grid_cell){6, 8}, (grid_cell){7, 8});
    }
    draft *d = draft_new();
    knobbed_draw(d, k);
    knobbed_free(k);
    forcing f = force(d, settings);
    ck_assert(!f.forced.all);
    if (f.forced.count) ck_assert_uint_le(f.forced.count, dt_pieces_count(f.pieces) - (_i % 3 == 2 ? 4 : 2 * group->count));
    forcing_free(&f);
}
END_TEST

/* An oblong sheet that is moved a quarter turn sticks out of its outline, though at first by no more than knobs: but for two
 * pieces that fit where two others lie, all are forced. */
START_TEST(knobs_stick_out_of_an_outline) {
    static const grid_group group = {{{2, 3}, {2, 4}}, 2};
    dt_settings settings = DT_SETTINGS_DEFAULT;
    knobbed *k = knobbed_new(11, 12, 20.0, _i ? 409 : 404);
    knobbed_carry(k, &group, (grid_carry){false, 0, {7, 7}});
    draft *d = draft_new();
    knobbed_draw(d, k);
    knobbed_free(k);
    forcing f = force(d, settings);
    ck_assert_uint_eq(f.forced.count, 132 - 4);
    forcing_free(&f);
}
END_TEST

Suite *suite_assembly_forced(void);
Suite *suite_assembly_forced(void) {
    Suite *suite = suite_create("assembly_forced");
    TCase *all = tcase_create("all");
    tcase_add_loop_test(all, distinct_seams_force_every_piece, 0, 6);
    tcase_add_test(all, large_sheets_are_forced);
    tcase_add_test(all, one_piece_more_than_corners);
    tcase_add_test(all, a_stray_piece_leaves_the_corners_to_the_others);
    tcase_add_test(all, too_few_steps_force_nothing);
    tcase_add_test(all, any_number_of_steps_ends);
    tcase_add_loop_test(all, groups_with_two_places_are_not_forced, 0, 24);
    tcase_add_loop_test(all, groups_on_large_sheets_are_not_forced, 0, 12);
    tcase_add_loop_test(all, knobs_stick_out_of_an_outline, 0, 2);
    suite_add_tcase(suite, all);
    return suite;
}
