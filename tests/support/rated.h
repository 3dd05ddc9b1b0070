/* rated.h - from a draft in memory to its points, through all the stages that the rating rests on. */
#ifndef DOVETELL_TESTS_RATED_H
#define DOVETELL_TESTS_RATED_H

#include "draft.h"
#include <dovetell/rating.h>

typedef struct rated {
    dt_net *net;
    dt_pieces *pieces;
    dt_graph *graph;
    dt_fit *fit;
    dt_rating *rating;
} rated;

/* Fails the test when a stage fails. The draft is freed. */
rated rate_draft(draft *d, const dt_settings *settings);
void rated_free(rated *r);
/* Points alone. */
double points_of_draft(draft *d, const dt_settings *settings);

#endif
