/* likelihood.h - how likely a table of solves is under given constants, and the most likely constants (see learn.h). */
#ifndef DOVETELL_RATING_LIKELIHOOD_H
#define DOVETELL_RATING_LIKELIHOOD_H

#include <dovetell/learn.h>

/* One solve, with the parts of its median time in minutes. */
typedef struct timed {
    double handling, scanning, trying;
    double log_minutes;
    bool finished;
} timed;

/* The solves of one solver are the stretch [start[s], start[s + 1]) of `solves`. */
typedef struct evidence {
    const timed *solves;
    const size_t *start;
    size_t solvers;
    double *scratch; /* room for one number a solve */
} evidence;

/* What can be learnt, each as a natural logarithm: of the factor on all, on scanning, on trying, of the two spreads. */
enum { LN_PERSON, LN_SCAN, LN_TRY, LN_BETWEEN, LN_WITHIN, LN_COUNT };

/* ln of the chance of the evidence; solvers' own factors integrated out. */
double evidence_log_likelihood(const evidence *e, const double ln[LN_COUNT]);

/* The first `free` entries of ln (1 = person alone, LN_COUNT = all) are moved to where the likelihood with the priors
 * is largest. sd[i] is then the standard error of entry i (from the curvature there); entries that are not free keep
 * their value, sd 0. */
void evidence_fit(const evidence *e, int free, double ln[LN_COUNT], double sd[LN_COUNT]);

#endif
