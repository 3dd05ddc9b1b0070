/* contest.h - joints, held pieces and interlock of src/graph against a brute force over sampled directions
 * (brute_blocking.h), on seeded random sheets whose pieces wrap round each other, enclose each other, slide and lock.
 */
#ifndef DOVETELL_TESTS_CONTEST_H
#define DOVETELL_TESTS_CONTEST_H

#include <check.h>

/* How many seeds of each. */
typedef struct contest_seeds {
    int joints; /* the joints of a sheet of cells in 720 directions */
    int curves; /* the joints of a sheet of crossing curves in 80 directions */
    int cells;  /* held pieces and interlock of a sheet of cells in 60 directions */
    int tabs;   /* the same of a sheet of straight seams, tabs and mushrooms */
} contest_seeds;

Suite *contest_suite(const char *name, contest_seeds seeds);

#endif
