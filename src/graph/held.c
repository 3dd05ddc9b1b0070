/* A piece is held when its neighbours, and whatever else lies ahead of it across voids and bays, block every direction.
 * Most pieces of a puzzle that locks are settled by the first locked neighbour. */
#include "graph/held.h"

/* Degrees. Pieces whose freedom differs by less are equally loose; far above rounding, so that moving a draft changes
 * nothing. */
#define EQUALLY_LOOSE 1e-6

static arc blocked_part(const freedom *f, bool for_b) {
    arc widest = for_b ? f->widest : arc_opposite(f->widest);
    return widest.to < 4 ? (arc){widest.to, widest.from + 4} : (arc){widest.to - 4, widest.from};
}

static dt_status add_neighbours(const neighbours *n, const freedom *freedoms, uint32_t p, directions *blocked) {
    for (size_t i = n->start[p]; i < n->start[p + 1]; i++)
        if (!freedoms[n->pair[i]].any) return directions_add(blocked, (arc){0, 4}) ? DT_OK : DT_NO_MEMORY;
    for (size_t i = n->start[p]; i < n->start[p + 1]; i++) {
        const freedom *f = &freedoms[n->pair[i]];
        if (!directions_add(blocked, blocked_part(f, f->b == p))) return DT_NO_MEMORY;
    }
    return DT_OK;
}

static void note_loose(loosest_piece *loosest, uint32_t p, const directions *blocked) {
    loosest_piece found = {.any = true, .piece = p, .degrees = directions_gap_degrees(blocked)};
    if (loosest->any && found.degrees <= loosest->degrees + EQUALLY_LOOSE) return;
    directions_widest_gap(blocked, &found.widest);
    *loosest = found;
}

static dt_status look_at_piece(const solids *s, solids_scratch *scratch, const neighbours *n, const freedom *freedoms, uint32_t p) {
    directions *blocked = &scratch->set;
    directions_clear(blocked);
    dt_status status = add_neighbours(n, freedoms, p, blocked);
    if (status == DT_OK && !directions_are_all(blocked)) status = solids_add_blocked(s, scratch, p, blocked);
    return status;
}

dt_status held_find(const solids *s, solids_scratch *scratch, const neighbours *n, const freedom *freedoms, bool *held,
                    loosest_piece *loosest) {
    loosest_piece best = {0};
    for (uint32_t p = 0; p < s->count; p++) {
        held[p] = false;
        if (solids_puzzle_size(s, s->puzzle[p]) == 1) continue;
        dt_status status = look_at_piece(s, scratch, n, freedoms, p);
        if (status != DT_OK) return status;
        held[p] = directions_are_all(&scratch->set);
        if (!held[p]) note_loose(&best, p, &scratch->set);
    }
    *loosest = best;
    return DT_OK;
}
