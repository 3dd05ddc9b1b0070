/* First slice: single pieces only. */
#include "graph/interlock.h"

#include <math.h>
#include <stdlib.h>

dt_status loose_group_single(const loosest_piece *loosest, loose_group *out) {
    dt_piece_id *pieces = malloc(sizeof *pieces);
    if (!pieces) return DT_NO_MEMORY;
    pieces[0].v = loosest->piece;
    double degrees = 0.5 * (turn_to_degrees(loosest->widest.from) + turn_to_degrees(loosest->widest.to));
    *out = (loose_group){pieces, 1, fmod(degrees, 360)};
    return DT_OK;
}

static bool in_group(const loose_group *group, dt_piece_id id) {
    for (size_t i = 0; i < group->count; i++)
        if (group->pieces[i].v == id.v) return true;
    return false;
}

void loose_group_mend(const loose_group *group, const neighbours *n, dt_piece_id *a, dt_piece_id *b) {
    const dt_neighbours *best = NULL;
    for (size_t i = 0; group->count && i < n->pair_count; i++) {
        const dt_neighbours *pair = &n->pairs[i];
        if (best && pair->border_mm <= best->border_mm) continue;
        if (in_group(group, pair->a) != in_group(group, pair->b)) best = pair;
    }
    *a = best ? best->a : DT_OUTSIDE;
    *b = best ? best->b : DT_OUTSIDE;
}

dt_status interlock_find(solids *s, const neighbours *n, const freedom *freedoms, loose_group *out) {
    (void)s, (void)n, (void)freedoms;
    *out = (loose_group){.direction = NAN};
    return DT_OK;
}
