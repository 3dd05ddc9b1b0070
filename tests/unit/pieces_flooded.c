/* Pieces are the white regions between the drawn lines: two drafts, as librsvg renders them. */
#include "flooded.h"

#include <check.h>

static const flooded_sheet sheets[] = {
    {"corpus/demo/heron-3.svg", 12, 0.2, 0.0, 0.3, 1},
    {"corpus/knobbed-500.svg", 6, 0.2, 0.0, 0.3, 0},
};

START_TEST(flooded_pixels_are_the_pieces) {
    flooded_compare(&sheets[_i]);
}
END_TEST

Suite *suite_pieces_flooded(void);
Suite *suite_pieces_flooded(void) {
    Suite *suite = suite_create("pieces_flooded");
    TCase *cases = tcase_create("pieces_flooded");
    tcase_add_loop_test(cases, flooded_pixels_are_the_pieces, 0, (int)(sizeof sheets / sizeof *sheets));
    suite_add_tcase(suite, cases);
    return suite;
}
