/* Sheets too large for the search: what is forced lies still, and the rest is searched. Groups are planted that have
 * another place, so that the answer is known from how the sheets are made; witnesses pass dt_assembly_verify. */
#include "assembling.h"
#include "knobbed.h"

#include <check.h>
#include <stdio.h>

static const grid_group PAIR = {{{2, 3}, {2, 4}}, 2}, THREE = {{{4, 1}, {4, 2}, {4, 3}}, 3},
                        SQUARE = {{{5, 5}, {5, 6}, {6, 5}, {6, 6}}, 4};

/* A pair for a pair, three for three a half turn away, a pair turned over, four that turn half round in their own place. */
static const struct planting {
    const grid_group *group;
    grid_carry carry;
    size_t moves; /* pieces that lie elsewhere in the other assembly */
} PLANTINGS[] = {
    {&PAIR, {false, 0, {7, 7}}, 4},
    {&THREE, {false, 2, {8, 6}}, 6},
    {&PAIR, {true, 0, {7, 7}}, 4},
    {&SQUARE, {false, 2, {5, 5}}, 4},
};

/* Takes the sheet over. */
static draft *draw_sheet(knobbed *k) {
    draft *d = draft_new();
    knobbed_draw(d, k);
    knobbed_free(k);
    return d;
}

/* Asks for another assembly that moves so many pieces; takes the sheet over. */
static void expect_several(knobbed *k, bool two_sided, size_t moves) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.two_sided = two_sided;
    assembling a = assemble(draw_sheet(k), settings);
    ck_assert_msg(a.assembly->verdict == DT_SEVERAL, "%s", a.assembly->why);
    ck_assert_uint_eq(a.assembly->other_count, moves);
    assembling_free(&a);
}

static void expect_planted(unsigned rows, unsigned columns, const struct planting *p, uint64_t seed) {
    knobbed *k = knobbed_new(rows, columns, 20.0, seed);
    knobbed_carry(k, p->group, p->carry);
    expect_several(k, p->carry.flipped, p->moves);
}

START_TEST(a_planted_group_is_found) {
    expect_planted(11 + (unsigned)_i % 3, 12 + (unsigned)_i, &PLANTINGS[_i % 4], 201 + (uint64_t)_i);
}
END_TEST

START_TEST(a_planted_group_among_many) {
    expect_planted(25, 30, &PLANTINGS[0], 301);
}
END_TEST

/* Two groups have other places, far from each other: what is left to fill is in several parts. */
START_TEST(two_planted_groups) {
    static const grid_group second = {{{8, 1}, {9, 1}}, 2};
    knobbed *k = knobbed_new(11, 12, 20.0, 231 + (uint64_t)_i);
    knobbed_carry(k, &PAIR, (grid_carry){false, 0, {7, 7}});
    knobbed_carry(k, &second, (grid_carry){false, 0, {1, 9}});
    expect_several(k, false, 4);
}
END_TEST

/* Figures inside pieces touch no line at whose end a gap could open, so they are never forced: a square, a triangle and a
 * disc in pieces of a large sheet, each with one place. With a second square of the same size in another piece there are twins. */
START_TEST(figures_inside_pieces) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    draft *d = draw_sheet(knobbed_new(11, 12, 20.0, 241));
    draft_rectangle(d, 67, 68, 5, 5);
    draft_circle(d, 130, 110, 3);
    draft_segment(d, 166, 147, 173, 148);
    draft_segment(d, 173, 148, 168, 153);
    draft_segment(d, 168, 153, 166, 147);
    if (_i) draft_rectangle(d, 27, 128, 5, 5);
    assembling a = assemble(d, settings);
    ck_assert_uint_eq(dt_pieces_count(a.pieces), 132 + 3 + (size_t)_i);
    ck_assert_msg(a.assembly->verdict == (_i ? DT_SEVERAL : DT_ONE), "%s", a.assembly->why);
    if (!_i) ck_assert_uint_eq(a.assembly->distinct, 1);
    assembling_free(&a);
}
END_TEST

Suite *suite_assembly_held(void);
Suite *suite_assembly_held(void) {
    Suite *suite = suite_create("assembly_held");
    TCase *cases = tcase_create("assembly_held");
    tcase_add_loop_test(cases, a_planted_group_is_found, 0, 8);
    tcase_add_test(cases, a_planted_group_among_many);
    tcase_add_loop_test(cases, two_planted_groups, 0, 3);
    tcase_add_loop_test(cases, figures_inside_pieces, 0, 2);
    suite_add_tcase(suite, cases);
    return suite;
}
