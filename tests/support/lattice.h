/* lattice.h - puzzles for tests of src/rating alone: a rows x columns grid of places whose likeness is given, not
 * measured. */
#ifndef DOVETELL_TESTS_LATTICE_H
#define DOVETELL_TESTS_LATTICE_H

#include "rating/effort.h"

typedef struct lattice {
    model m;
    model_place *places;
    uint32_t (*neighbours)[4];
    uint32_t (*sides)[4];   /* right, down, left, up: kind of each side; 0 = the rim */
    double even_classes;    /* > 0: instead of sides, m / even_classes pieces are alike at any time */
    unsigned flipped_pairs; /* kinds (3, 4), (5, 6) ... so many pairs, are each other turned over */
} lattice;

/* Kinds of the inner sides are drawn from 1 .. kinds with the seed; 0 kinds: every side its own. No looks, colours or
 * figures. */
lattice *lattice_new(uint32_t rows, uint32_t columns, uint32_t kinds, uint64_t seed);
void lattice_free(lattice *l);
/* The rim asks for a look that only edge pieces show, corners for another. */
void lattice_tell_tale(lattice *l);

/* Sums of both runs, ready for effort_of. Fails the test when it cannot be done. */
effort_case lattice_case(const lattice *l, unsigned unknown_colours, dt_picture picture);
double lattice_seconds(const lattice *l, factor_set on);

#endif
