/* As tests/unit/pieces_flooded.c, finer, and with ragged coasts. */
#include "flooded.h"

#include <check.h>

static const flooded_sheet sheets[] = {
    {"corpus/demo/heron-3.svg", 14, 0.2, 0.0, 0.3, 1},
    {"corpus/knobbed-500.svg", 12, 0.2, 0.0, 0.3, 0},
    /* Lagoons close under the drawn line. */
    {"corpus/states-albers.svg", 6, 0.2, 0.002, 3.0, 0},
};

START_TEST(flooded_pixels_are_the_pieces) {
    flooded_compare(&sheets[_i]);
}
END_TEST

Suite *suite_pieces_flooded_finely(void);
Suite *suite_pieces_flooded_finely(void) {
    Suite *suite = suite_create("pieces_flooded_finely");
    TCase *cases = tcase_create("pieces_flooded_finely");
    tcase_add_loop_test(cases, flooded_pixels_are_the_pieces, 0, (int)(sizeof sheets / sizeof *sheets));
    suite_add_tcase(suite, cases);
    return suite;
}
