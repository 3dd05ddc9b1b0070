/* crowd.h - sides of a sample of pieces, for estimates where a list of look-alikes was cut short. */
#ifndef DOVETELL_FIT_CROWD_H
#define DOVETELL_FIT_CROWD_H

#include "fit/store.h"

typedef struct dt_crowd_side {
    uint32_t leader, walker;
    double start, length;   /* mm along the walker's loop, and of the side */
} dt_crowd_side;

typedef struct dt_crowd_find {
    const dt_crowd_side *side;
    float square;           /* of the distance of the two keys */
} dt_crowd_find;

/* Sampled sides that may look like this one, of other classes of pieces, nearest first; none where no list was cut short. */
size_t dt_crowd_near(const dt_fit *fit, const dt_side_entry *entry, dt_arena *scratch, dt_crowd_find *found, size_t room);

#endif
