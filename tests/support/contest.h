/* contest.h - joints, held pieces and interlock of src/graph against a brute force over sampled directions
 * (brute_blocking.h), on seeded random sheets whose pieces wrap round each other, enclose each other, slide and lock.
 * Each fails the test that calls it.
 */
#ifndef DOVETELL_TESTS_CONTEST_H
#define DOVETELL_TESTS_CONTEST_H

void contest_joints(int seed); /* the joints of a sheet of cells in 720 directions */
void contest_curves(int seed); /* the joints of a sheet of crossing curves in 80 directions */
void contest_cells(int seed);  /* held pieces and interlock of a sheet of cells in 60 directions */
void contest_tabs(int seed);   /* the same of a sheet of straight seams, tabs and mushrooms */

#endif
