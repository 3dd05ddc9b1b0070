/* effort.h - from the sums of a run to seconds, points and factors.
 *
 *     T = N t_sort + sum over places [ b (t_look + t_try) + t_scan (m + 1)/2 + t_try (k - 1)/2 + t_flip ]
 *
 * t_scan is divided when there is a picture; t_flip stands for half of all tries when the pieces have two faces. With a
 * number of sheet colours but no layout, the loose pieces lie in that many piles of equal size: m - 1 and k - 1 are
 * divided by it.
 */
#ifndef DOVETELL_RATING_EFFORT_H
#define DOVETELL_RATING_EFFORT_H

#include "rating/model.h"
#include <dovetell/rating.h>

/* Subsets of the factors, as bits (1 << DT_FACTOR_EDGE). DT_FACTOR_SIZE is in every one and has no bit of its own that
 * counts. */
typedef unsigned factor_set;
#define FACTOR_BIT(factor) (1u << (factor))

typedef struct effort_case {
    uint32_t places;
    model_sums sums[2];       /* figures not told apart, told apart */
    unsigned unknown_colours; /* piles without a known layout; 1 = none */
    dt_picture picture;
} effort_case;

/* Expected number of looks and tries, and seconds by what they are spent on; total = the sum of the four. */
typedef struct effort_work {
    double looks, tries;
    double handling_s, scanning_s, trying_s, flipping_s, total_s;
} effort_work;

/* Which run counts, and what share of its m - 1 and k - 1. */
typedef struct effort_basis {
    bool told_apart; /* the run with figures told apart: sums[1] */
    double share;
} effort_basis;

/* Figures told apart, but never less than half of the looking and trying of the run in which they are not. The greater
 * of two works of which neither falls when a help is taken away or pieces become alike never falls then either. */
effort_basis effort_basis_of(const effort_case *c, const dt_effort *effort, factor_set on);
effort_work effort_of(const effort_case *c, const dt_effort *effort, factor_set on);

/* One place alone (m, k as drawn, undivided), seconds: adds up to effort_of over all places. */
double effort_of_place(const effort_case *c, const dt_effort *effort, factor_set on, double m, double k);

/* 10 log2 of the minutes, not below 0. */
double effort_points(double seconds);

/* Shapley value of each factor over all subsets of `drawn`; DT_FACTOR_SIZE gets the points with everything off. They
 * add up to the points of `drawn`. Source: Shapley, A value for n-person games, 1953. */
void effort_factors(const effort_case *c, const dt_effort *effort, factor_set drawn, double factors[DT_FACTORS]);

#endif
