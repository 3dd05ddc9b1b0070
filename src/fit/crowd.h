/* crowd.h - estimates where a list of look-alikes was cut short: sides of a sample of pieces.
 *
 * Vocabulary: a PICK of a class of sides is a sampled side, drawn at random among those near it, laid along it. It
 * stands for the pieces of the class's crowd when one asks how many of them match other sides as well.
 */
#ifndef DOVETELL_FIT_CROWD_H
#define DOVETELL_FIT_CROWD_H

#include "fit/store.h"

typedef struct dt_crowd_pick {
    uint32_t walker;
    dt_pose pose; /* from the walker's loop to the leading side of the class, by least squares */
} dt_crowd_pick;

/* The picks of a class whose list was cut short; *alike is how many of them look like the side, as far as is known. */
const dt_crowd_pick *dt_crowd_picks(const dt_fit *fit, uint32_t class_id, size_t *count, double *alike);

#endif
