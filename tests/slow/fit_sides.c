/* The index of look-alike sides against brute force on hundreds of seeded drafts. */
#include "draft.h"
#include "fit_sides_brute.h"
#include <check.h>

static size_t check_sheet(draft *d, bool two_sided) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_net *net;
    dt_fit *fit;
    dt_error error;
    settings.two_sided = two_sided;
    dt_pieces *pieces = draft_pieces(d, &settings, &net);
    ck_assert_int_eq(dt_fit_new(pieces, &settings, NULL, &fit, &error), DT_OK);
    size_t sides = dt_fit_is_whole(fit) ? brute_check_sides(pieces, fit, settings.eye_mm, 0.02) : 0;
    dt_fit_free(fit);
    dt_pieces_free(pieces);
    dt_net_free(net);
    draft_free(d);
    return sides;
}

/* A draft for each number, so that one that fails does not hide the others. */
START_TEST(knobbed_sheets) {
    unsigned seed = (unsigned)_i;
    draft *d = draft_new();
    draft_knobbed_sheet(d, 2, 2 + seed % 2, 16 + seed % 5 * 8, seed, false);
    ck_assert_uint_gt(check_sheet(d, false), 5);
}
END_TEST

/* Straight cuts that end on one another: T-junctions, sides of many lengths. */
START_TEST(straight_cuts) {
    draft *d = draft_new();
    uint64_t state = (uint64_t)_i;
    double x = 15 + 10 * draft_random(&state), y = 20 + 10 * draft_random(&state), z = 20 + 10 * draft_random(&state);
    draft_rectangle(d, 0, 0, 50, 60);
    draft_segment(d, 0, y, 50, y + 8 * draft_random(&state));
    draft_segment(d, x, 0, x + 5 * draft_random(&state), y + 1);
    draft_segment(d, z, y + 2, z - 5 * draft_random(&state), 60);
    ck_assert_uint_gt(check_sheet(d, false), 1); /* cuts that miss each other leave two pieces */
}
END_TEST

Suite *suite_fit_sides(void);
Suite *suite_fit_sides(void) {
    Suite *suite = suite_create("fit_sides");
    TCase *cases = tcase_create("fit_sides");
    tcase_add_loop_test(cases, knobbed_sheets, 1, 201);
    tcase_add_loop_test(cases, straight_cuts, 1, 61);
    suite_add_tcase(suite, cases);
    return suite;
}
