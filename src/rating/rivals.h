/* rivals.h - which pieces look as if they belonged on a place, as src/fit finds them for the sides that show. */
#ifndef DOVETELL_RATING_RIVALS_H
#define DOVETELL_RATING_RIVALS_H

#include "rating/model.h"
#include <dovetell/fit.h>

typedef struct rival_finder rival_finder;

/* In the arena, but for what rival_finder_free releases; borrows pieces and fit. NULL: no memory. */
rival_finder *rival_finder_new(const dt_pieces *pieces, const dt_fit *fit, const dt_settings *settings,
                               dt_arena *arena);
void rival_finder_free(rival_finder *finder);

/* Sorts the places of the model, which have their looks and colours, into kinds. False: no memory. */
bool rival_finder_kinds(rival_finder *finder, model *m, dt_arena *arena);

/* model.rivals with a rival_finder as the context. */
void rivals_of_place(const model *m, uint32_t place, const uint32_t *turn, model_rivals *out);

#endif
