/* Bars: see bars.h. */
#include "bars.h"

static bool is_taken(const dt_state *state, uint32_t cell) {
    return state->taken[cell / 64] >> (cell % 64) & 1;
}

static bool is_barred(const dt_state *state, uint32_t bar) {
    if (bar == DT_NONE) return false;
    if (bar & DT_BAR_CELL) return is_taken(state, bar & ~DT_BAR_CELL);
    uint32_t laid = state->laid_as.items[bar];
    return laid < state->laid.count && state->laid.items[laid].placement == bar;
}

/* The first cell of a placement that is taken, or DT_NONE. */
static uint32_t taken_cell(const dt_state *state, const dt_placement *p) {
    const dt_cells *cells = state->board.cells.items + p->first_cells;
    for (uint32_t i = 0; i < p->cells_count; i++) {
        uint64_t both = state->taken[cells[i].word] & cells[i].mask;
        uint32_t bit = 0;
        while (both && !(both >> bit & 1)) bit++;
        if (both) return cells[i].word * 64 + bit;
    }
    return DT_NONE;
}

bool dt_bars_first(dt_state *state, uint32_t placement, uint32_t *laid) {
    dt_board *board = &state->board;
    const dt_box box = dt_box_grown(board->placements.items[placement].box, state->problem->loose);
    while (state->clear.count <= placement)
        if (!dt_array_push(&state->clear, ((dt_clear){0, 0}))) return false;
    dt_clear *clear = &state->clear.items[placement];
    bool known = clear->count && clear->count <= state->laid.count &&
                 state->laid.items[clear->count - 1].lay == clear->lay;
    uint32_t i = known ? clear->count : 1; /* the container has been asked when the placement was made */
    for (*laid = DT_NONE; i < state->laid.count; i++) {
        dt_pair pair;
        uint32_t other = state->laid.items[i].placement;
        if (!dt_box_meets(board->placements.items[other].box, box)) continue;
        if (!dt_board_pair(board, placement, other, &pair)) return false;
        if (!pair.clash) continue;
        *laid = i;
        break;
    }
    *clear = (dt_clear){state->laid.items[i - 1].lay, i};
    return true;
}

bool dt_bars_candidate(dt_state *state, const dt_list *list, uint32_t i, uint32_t *placement) {
    dt_listed *c = &state->lists.pool.items[list->first + i];
    *placement = DT_NONE;
    if (c->placement == DT_REFUSED || is_barred(state, c->bar)) return true;
    if (!state->left[state->problem->kind_of_body[c->body]]) return true;
    uint32_t found, laid;
    if (!dt_lists_candidate(&state->lists, list, i, state->taken, &found)) return false;
    if (found == DT_NONE) return true;
    uint32_t cell = taken_cell(state, &state->board.placements.items[found]);
    if (cell != DT_NONE) c->bar = cell | DT_BAR_CELL;
    if (cell != DT_NONE || (state->least_rank && state->rank(state->rank_context, found) < state->least_rank)) return true;
    if (!dt_bars_first(state, found, &laid)) return false;
    if (laid == DT_NONE) *placement = found;
    else c->bar = state->laid.items[laid].placement;
    return true;
}
