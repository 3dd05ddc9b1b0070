/* perturbed.h - the same design drawn less exactly, in the ways that drawings go through on their way to the laser. */
#ifndef DOVETELL_TESTS_PERTURBED_H
#define DOVETELL_TESTS_PERTURBED_H

#include "draft.h"

typedef enum perturbing {
    AS_DRAWN,
    ROUNDED,      /* turned by a random angle, then every point rounded to 0.01 mm */
    FLATTENED,    /* curves anew: other points, chords up to 0.02 mm off */
    SHIFTED,      /* every line moved as a whole, by up to 0.03 mm */
    NOISY,        /* every point moved by up to 0.01 mm */
    INSET,        /* every piece a closed outline of its own, 0.03 mm inside the true one */
    TRACED,       /* every piece a closed outline of its own, every point moved by up to 0.01 mm */
    PERTURBINGS
} perturbing;

extern const char *const perturbing_names[PERTURBINGS];

/* Every piece a closed outline of its own, `inset` mm inside the true one (holes: outside), with sharp corners. Takes
 * the draft over. */
draft *draft_of_outlines(draft *d, double inset);

/* Takes the draft over and gives it back perturbed. The same seed gives the same drawing. */
draft *perturbed(draft *d, perturbing way, uint64_t seed);

#endif
