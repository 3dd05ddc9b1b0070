/* rivals_brute.h - which pieces match several sides of a place, without lists, samples or shortcuts. */
#ifndef DOVETELL_TESTS_RIVALS_BRUTE_H
#define DOVETELL_TESTS_RIVALS_BRUTE_H

#include "fit/stand.h"

/* A question about the sides of a place with known[index] true; memory in the arena. */
void brute_question(const dt_fit *fit, uint32_t place, const bool *known, dt_arena *arena, dt_question *out);

/* Pieces other than the place's own that stand on all sides of the question, each of their sides tried as the one that
 * meets side 0. */
size_t brute_rivals(dt_question *question);

/* The smallest largest deviation over all sides of the question among poses on a grid around one: 0.6 eyes apart, up
 * to 2.4 eyes each way and as much, at the rim of the sides, by turning. A pose within the eye cannot hide more than
 * 0.9 eyes from a pose of the grid. */
double brute_best_on_grid(dt_question *question, const dt_loop *loop, dt_pose pose);

#endif
