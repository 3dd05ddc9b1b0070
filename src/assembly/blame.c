/* Blame: see blame.h. */
#include "blame.h"

#include "assembly/bars.h"

/* A spot's gaps are read from what lies this near, mm: see MOST_LOOK_MM of state.c. */
static const double LOOK_MM = 6.5;

bool dt_blame_push(dt_blame *blame) {
    for (size_t i = 0; i < blame->words; i++)
        if (!dt_array_push(&blame->sets, (uint64_t)0)) return false;
    return true;
}

static void add(uint64_t *set, uint32_t laid) {
    set[laid / 64] |= (uint64_t)1 << (laid % 64);
}

void dt_blame_all(uint64_t *set, size_t count) {
    for (uint32_t i = 0; i < count; i++) add(set, i);
}

static void add_placement(const dt_state *state, uint32_t placement, uint64_t *set) {
    if (placement != DT_CONTAINER) add(set, state->laid_as.items[placement] - 1);
}

void dt_blame_near(const dt_state *state, uint64_t *set) {
    for (size_t i = 0; i < state->near.count; i++) add_placement(state, state->near.items[i], set);
}

/* Its kind is used up: all that use it. */
static void blame_kind(const dt_state *state, uint32_t kind, uint64_t *set) {
    for (uint32_t i = 1; i < state->laid.count; i++) {
        const dt_placement *p = &state->board.placements.items[state->laid.items[i].placement];
        if (state->problem->kind_of_body[p->body] == kind) add(set, i - 1);
    }
}

/* The first laid of those in its way; where nothing near it is, all, for it was refused for another reason. */
static bool blame_candidate(dt_state *state, uint32_t placement, uint64_t *set) {
    uint32_t first;
    if (!dt_bars_first(state, placement, &first)) return false;
    if (first != DT_NONE) add(set, first - 1);
    return true;
}

bool dt_blame_gap(dt_state *state, uint32_t spot, const dt_gap *gap, dt_way way, uint64_t *set) {
    dt_point at = state->board.spots.items[spot].at;
    dt_box look = dt_box_grown((dt_box){at, at}, LOOK_MM);
    if (!dt_state_near(state, look, false)) return false;
    dt_blame_near(state, set);
    if (gap->shut) return true;
    const dt_list *found = dt_lists_get(&state->lists, dt_bay_of(spot, gap, way), DT_NONE - 1);
    if (!found) return false;
    dt_list list = *found;
    for (uint32_t i = 0; i < list.count; i++) {
        uint32_t placement, kind = state->problem->kind_of_body[state->lists.pool.items[list.first + i].body];
        if (!state->left[kind]) {
            blame_kind(state, kind, set);
            continue;
        }
        /* As if nothing were laid: what is in its way is to be found. */
        if (!dt_lists_candidate(&state->lists, &list, i, state->board.taken, &placement)) return false;
        if (placement != DT_NONE && !blame_candidate(state, placement, set)) return false;
    }
    return true;
}

uint32_t dt_blame_last(const dt_blame *blame, const uint64_t *set) {
    for (size_t w = blame->words; w-- > 0;)
        for (uint32_t bit = 64; set[w] && bit-- > 0;)
            if (set[w] >> bit & 1) return (uint32_t)(w * 64) + bit;
    return DT_NONE;
}
