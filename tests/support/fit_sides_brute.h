/* fit_sides_brute.h - look-alike sides without an index: every start on every outline. */
#ifndef DOVETELL_TESTS_FIT_SIDES_BRUTE_H
#define DOVETELL_TESTS_FIT_SIDES_BRUTE_H

#include <dovetell/fit.h>

/* Compares every piece-to-piece side of the pieces with every outline; fails the test where brute force finds a
 * look-alike, `unsure_mm` within the eye, that k does not count, or where a listed pose does not have the deviation
 * that is listed. Returns the number of sides compared. */
size_t brute_check_sides(const dt_pieces *pieces, const dt_fit *fit, double eye, double unsure_mm);

#endif
