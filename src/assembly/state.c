/* The state of the search: see state.h. */
#include "state.h"

#include "assembly/bars.h"
#include "assembly/vector.h"
#include <string.h>

static const double PI = 3.14159265358979323846;
/* Gaps that are branched on: the piece that fills one must turn by at least 20 degrees there, well above CORNER_TURN of body.c. */
static const double GAP_LIMIT = 160.0 / 180.0 * 3.14159265358979323846;
/* A bend that leaves less is as good as a corner: the lines beside it say where it lies, and what fits there turns as much. */
static const double TIGHT_GAP = 90.0 / 180.0 * 3.14159265358979323846;
/* Narrower gaps are left to their neighbours: where so sharp a tip ends is more than drawing errors tell. */
static const double LEAST_GAP = 10.0 / 180.0 * 3.14159265358979323846;
/* A gap counts only where a point in its middle, this far out, mm, is bare for certain. */
static const double LEAST_LOOK_MM = 1.0, MOST_LOOK_MM = 6.0;
/* A list is made at once where the table gives few entries: few enough that all lists of a small puzzle are, but in a large one
 * only those that a line of its own makes short. */
enum { LEAST_RAW = 32, RAW_TIMES_TILES = 1000, MOST_GRID_CELLS = 1 << 20, MOST_SECTORS = 32 };
/* Up to so many tiles, all gaps are asked for before a list that is not short is made; in larger puzzles none of more
 * entries than is worth while, as long as there is something to try. */
enum { ASKS_ALL = 100, SHORT_LIST = 40, WORTH_MAKING = 64 };
/* In large puzzles the table is asked at once for narrow gaps only: the narrower, the fewer corners fit. */
static const double EAGER_GAP = 130.0 / 180.0 * 3.14159265358979323846;

bool dt_state_make(const dt_problem *problem, dt_state *state) {
    *state = (dt_state){.problem = problem};
    if (!dt_board_make(problem, &state->board) || !dt_lists_make(&state->board, &state->lists)) return false;
    state->taken = malloc(state->board.mesh_words * sizeof *state->taken);
    state->left = malloc(problem->kind_count * sizeof *state->left);
    dt_box box = problem->container.box;
    double width = box.high.x - box.low.x, height = box.high.y - box.low.y;
    state->grid_step = fmax(sqrt(problem->area / problem->tile_count), sqrt(width * height / MOST_GRID_CELLS));
    state->grid_low = box.low;
    state->grid_columns = (uint32_t)(width / state->grid_step) + 1;
    state->grid_rows = (uint32_t)(height / state->grid_step) + 1;
    size_t cells = (size_t)state->grid_columns * state->grid_rows;
    state->laid_head = malloc(cells * sizeof *state->laid_head);
    state->spot_head = malloc(cells * sizeof *state->spot_head);
    if (!state->taken || !state->left || !state->laid_head || !state->spot_head) return false;
    memcpy(state->taken, state->board.taken, state->board.mesh_words * sizeof *state->taken);
    for (uint32_t k = 0; k < problem->kind_count; k++) state->left[k] = problem->kinds[k].count;
    for (size_t i = 0; i < cells; i++) state->laid_head[i] = state->spot_head[i] = DT_NONE;
    state->most_raw = RAW_TIMES_TILES / problem->tile_count;
    if (state->most_raw < LEAST_RAW) state->most_raw = LEAST_RAW;
    state->most_worth = problem->tile_count <= ASKS_ALL ? SHORT_LIST : DT_NONE - 1;
    state->eager = problem->tile_count <= DT_FEW_TILES ? PI : EAGER_GAP;
    for (uint32_t b = 0; b < problem->body_count; b++) state->widest = fmax(state->widest, 2.0 * problem->bodies[b].radius);
    return true;
}

void dt_state_free(dt_state *state) {
    dt_lists_free(&state->lists);
    dt_board_free(&state->board);
    free(state->taken);
    free(state->left);
    free(state->laid_head);
    free(state->spot_head);
    dt_array_free(&state->spots);
    dt_array_free(&state->open);
    dt_array_free(&state->undo);
    dt_array_free(&state->laid);
    dt_array_free(&state->laid_as);
    dt_array_free(&state->clear);
    dt_array_free(&state->laid_links);
    dt_array_free(&state->spot_links);
    dt_array_free(&state->near);
    dt_array_free(&state->near_spots);
    dt_array_free(&state->seen);
}

/* ---- the coarse grid ---- */

typedef struct cell_span {
    uint32_t c0, c1, r0, r1;
} cell_span;

static uint32_t grid_index(double position, uint32_t count) {
    if (!(position > 0.0)) return 0;
    return position >= count ? count - 1 : (uint32_t)position;
}

static cell_span span_of(const dt_state *state, dt_box box) {
    double step = state->grid_step;
    return (cell_span){grid_index((box.low.x - state->grid_low.x) / step, state->grid_columns),
                       grid_index((box.high.x - state->grid_low.x) / step, state->grid_columns),
                       grid_index((box.low.y - state->grid_low.y) / step, state->grid_rows),
                       grid_index((box.high.y - state->grid_low.y) / step, state->grid_rows)};
}

static bool link_laid(dt_state *state, uint32_t placement) {
    cell_span s = span_of(state, state->board.placements.items[placement].box);
    for (uint32_t r = s.r0; r <= s.r1; r++)
        for (uint32_t c = s.c0; c <= s.c1; c++) {
            uint32_t cell = r * state->grid_columns + c, link = (uint32_t)state->laid_links.count;
            if (!dt_array_push(&state->laid_links, ((dt_link){placement, state->laid_head[cell], cell}))) return false;
            state->laid_head[cell] = link;
        }
    return true;
}

static bool link_spot(dt_state *state, uint32_t spot) {
    dt_point at = state->board.spots.items[spot].at;
    cell_span s = span_of(state, (dt_box){at, at});
    uint32_t cell = s.r0 * state->grid_columns + s.c0, link = (uint32_t)state->spot_links.count;
    if (!dt_array_push(&state->spot_links, ((dt_link){spot, state->spot_head[cell], cell}))) return false;
    state->spot_head[cell] = link;
    return true;
}

bool dt_state_near(dt_state *state, dt_box box, bool with_container) {
    state->near.count = 0;
    while (state->seen.count < state->board.placements.count)
        if (!dt_array_push(&state->seen, 0)) return false;
    uint32_t question = ++state->question;
    if (with_container && !dt_array_push(&state->near, DT_CONTAINER)) return false;
    cell_span s = span_of(state, box);
    for (uint32_t r = s.r0; r <= s.r1; r++)
        for (uint32_t c = s.c0; c <= s.c1; c++)
            for (uint32_t l = state->laid_head[r * state->grid_columns + c]; l != DT_NONE; l = state->laid_links.items[l].next) {
                uint32_t p = state->laid_links.items[l].item;
                if (state->seen.items[p] == question) continue;
                state->seen.items[p] = question;
                if (!dt_box_meets(state->board.placements.items[p].box, box)) continue;
                if (!dt_array_push(&state->near, p)) return false;
            }
    return true;
}

static bool collect_spots(dt_state *state, dt_box box) {
    state->near_spots.count = 0;
    cell_span s = span_of(state, box);
    for (uint32_t r = s.r0; r <= s.r1; r++)
        for (uint32_t c = s.c0; c <= s.c1; c++)
            for (uint32_t l = state->spot_head[r * state->grid_columns + c]; l != DT_NONE; l = state->spot_links.items[l].next)
                if (!dt_array_push(&state->near_spots, state->spot_links.items[l].item)) return false;
    return true;
}

/* ---- gaps of a spot ---- */

typedef struct owned_sector {
    double from, to;
    uint32_t owner;
    bool sharp;
} owned_sector;

static void sort_sectors(owned_sector *sectors, size_t count) {
    for (size_t i = 1; i < count; i++) {
        owned_sector s = sectors[i];
        size_t j = i;
        for (; j > 0 && sectors[j - 1].from > s.from; j--) sectors[j] = sectors[j - 1];
        sectors[j] = s;
    }
}

static dt_box box_around(dt_point p, double margin) {
    return (dt_box){{p.x - margin, p.y - margin}, {p.x + margin, p.y + margin}};
}

/* Is there solid ground behind the line that bounds a gap? A slit between lines that nearly meet bounds nothing. edge: its direction;
 * inside: an angle from there into the sector, at most half of it. */
static bool is_backed(dt_state *state, dt_point at, double edge, double inside) {
    static const double WIDTH_MM = 0.2, DEPTH_MM = 0.1;
    double look = fmax(LEAST_LOOK_MM, WIDTH_MM / sin(fabs(inside)));
    if (look > MOST_LOOK_MM) return false;
    dt_point p = {at.x + look * cos(edge + inside), at.y + look * sin(edge + inside)};
    if (!dt_state_near(state, box_around(p, 0.0), true)) return false;
    for (size_t i = 0; i < state->near.count; i++)
        if (dt_laid_depth(dt_board_laid(&state->board, state->near.items[i]), p).depth > DEPTH_MM) return true;
    return false;
}

static bool are_edges_backed(dt_state *state, dt_point at, const owned_sector *before, const owned_sector *after) {
    double back = fmin((before->to - before->from) / 2.0, PI / 6.0), on = fmin((after->to - after->from) / 2.0, PI / 6.0);
    return is_backed(state, at, before->to, -back) && is_backed(state, at, after->from, on);
}

/* Is the middle of the gap bare, farther out than the lines that bound it could reach by their errors? */
static bool is_certain(dt_state *state, dt_point at, double from, double to) {
    double half = (to - from) / 2.0, seat = state->problem->seat;
    double look = fmax(LEAST_LOOK_MM, 1.3 * seat / sin(fmin(half, PI / 2.0)));
    if (look > MOST_LOOK_MM) return false;
    dt_point p = {at.x + look * cos(from + half), at.y + look * sin(from + half)};
    if (!dt_state_near(state, box_around(p, seat), true)) return false;
    for (size_t i = 0; i < state->near.count; i++)
        if (dt_laid_depth(dt_board_laid(&state->board, state->near.items[i]), p).depth > -seat) return false;
    return true;
}

/* Reads the sectors of what is laid; *count = 0 where the spot is covered or cannot be told. false: no memory. */
static bool read_sectors(dt_state *state, uint32_t spot, owned_sector *sectors, size_t *count) {
    *count = 0;
    if (!dt_state_near(state, box_around(state->board.spots.items[spot].at, state->problem->seat), true)) return false;
    for (size_t i = 0; i < state->near.count; i++) {
        const dt_sector *sector = dt_board_sector(&state->board, state->near.items[i], spot);
        if (!sector) return false;
        if (sector->kind == DT_AWAY) continue;
        if (sector->kind == DT_COVERING || sector->kind == DT_UNSURE || *count == MOST_SECTORS) {
            *count = 0;
            return true;
        }
        sectors[(*count)++] = (owned_sector){sector->from, sector->to, state->near.items[i], sector->sharp};
    }
    return true;
}

dt_bay dt_bay_of(uint32_t spot, const dt_gap *gap, dt_way way) {
    bool ahead = way == DT_AHEAD;
    return (dt_bay){spot, ahead ? gap->start : gap->end, ahead ? gap->end : gap->start, way};
}

/* What lies between two neighbouring sectors, if the search is to know of it. */
static bool judge_gap(dt_state *state, uint32_t spot, const owned_sector *last, const owned_sector *next,
                      dt_spot_state *out) {
    dt_point at = state->board.spots.items[spot].at;
    double width = next->from - last->to;
    bool bend = last->owner == next->owner && !last->sharp && width > TIGHT_GAP;
    dt_gap gap = {last->owner, next->owner, (float)width, bend, false};
    if (!(width > 0.0 && width <= GAP_LIMIT) || out->gap_count == DT_GAPS_PER_SPOT) return true;
    if (!is_certain(state, at, last->to, next->from) || !are_edges_backed(state, at, last, next)) return true;
    dt_bay bay = dt_bay_of(spot, &gap, DT_AHEAD);
    if (width < LEAST_GAP && !dt_lists_is_shut(&state->lists, bay, &gap.shut)) return false;
    if (width >= LEAST_GAP || gap.shut) out->gaps[out->gap_count++] = gap;
    return true;
}

/* Has nothing been laid at a corner of the outline? Not before there is a choice of little else: pieces that lie apart tell nothing of each
 * other. In large puzzles lists have waited, so little is known of the others. */
static bool is_bare(const dt_state *state, const dt_spot_state *s) {
    for (uint32_t g = 0; g < s->gap_count; g++)
        if (s->gaps[g].start != DT_CONTAINER || s->gaps[g].end != DT_CONTAINER) return false;
    return state->lists.few;
}

static bool find_gaps(dt_state *state, uint32_t spot, dt_spot_state *out) {
    owned_sector sectors[MOST_SECTORS];
    size_t count;
    out->gap_count = 0;
    if (!read_sectors(state, spot, sectors, &count)) return false;
    sort_sectors(sectors, count);
    owned_sector last = {0.0, -INFINITY, 0, false};
    for (size_t i = 0; i < count; i++)
        if (sectors[i].to - 2.0 * PI > last.to) {
            last = sectors[i];
            last.from -= 2.0 * PI;
            last.to -= 2.0 * PI;
        }
    out->at_border = false;
    for (size_t i = 0; i < count; i++) {
        out->at_border = out->at_border || sectors[i].owner == DT_CONTAINER;
        if (!judge_gap(state, spot, &last, &sectors[i], out)) return false;
        if (sectors[i].to > last.to) last = sectors[i];
    }
    out->is_bare = is_bare(state, out);
    return true;
}

/* ---- counting candidates ---- */

bool dt_state_allows(dt_state *state, uint32_t placement) {
    const dt_placement *p = &state->board.placements.items[placement];
    if (!state->left[state->problem->kind_of_body[p->body]]) return false;
    const dt_cells *cells = state->board.cells.items + p->first_cells;
    for (uint32_t i = 0; i < p->cells_count; i++)
        if (state->taken[cells[i].word] & cells[i].mask) return false;
    return !state->least_rank || state->rank(state->rank_context, placement) >= state->least_rank;
}

bool dt_state_candidate(dt_state *state, const dt_list *list, uint32_t i, uint32_t *placement) {
    *placement = DT_NONE;
    if (!state->left[state->problem->kind_of_body[state->lists.pool.items[list->first + i].body]]) return true;
    if (!dt_lists_candidate(&state->lists, list, i, state->taken, placement)) return false;
    if (*placement != DT_NONE && !dt_state_allows(state, *placement)) *placement = DT_NONE;
    return true;
}

/* Overlaps nothing that is laid near it, by the exact pair test. */
static bool is_free(dt_state *state, uint32_t placement, bool *is_free) {
    *is_free = true;
    dt_box box = dt_box_grown(state->board.placements.items[placement].box, 0.0);
    if (!dt_state_near(state, box, false)) return false;
    for (size_t i = 0; i < state->near.count && *is_free; i++) {
        dt_pair pair;
        if (!dt_board_pair(&state->board, placement, state->near.items[i], &pair)) return false;
        *is_free = !pair.clash;
    }
    return true;
}

/* In small puzzles: all that may be laid, as far as it matters whether there are fewer than enough. */
static bool count_clear(dt_state *state, const dt_list *list, uint32_t enough, uint32_t *out) {
    *out = 0;
    for (uint32_t i = 0; i < list->count && *out < enough; i++) {
        uint32_t placement;
        if (!dt_bars_candidate(state, list, i, &placement)) return false;
        *out += placement != DT_NONE;
    }
    return true;
}

/* Candidates that the mesh lets through; where these are few, the exact test has its say too. false: no memory. */
static bool count_allowed(dt_state *state, const dt_list *list, uint32_t enough, uint32_t *out) {
    enum { FEW = 4 };
    uint32_t few[FEW], count = 0, free_count = 0;
    for (uint32_t i = 0; i < list->count && (count <= FEW || count < enough); i++) {
        uint32_t placement;
        if (!dt_state_candidate(state, list, i, &placement)) return false;
        if (placement == DT_NONE) continue;
        if (count < FEW) few[count] = placement;
        count++;
    }
    *out = count;
    if (count > FEW) return true;
    for (uint32_t i = 0; i < count; i++) {
        bool is;
        if (!is_free(state, few[i], &is)) return false;
        free_count += is;
    }
    *out = free_count;
    return true;
}

/* What it would take to make a list, for comparing: entries of the table, or where it has not been asked the width of the gap. */
enum { UNASKED = 1 << 20, PER_RADIAN = 1 << 16, LONG_LIST = 1 << 22 };

static uint32_t weight_of(const dt_state *state, const dt_gap *gap, const dt_list *list) {
    if (!list->asked) return UNASKED + (uint32_t)(gap->width * PER_RADIAN);
    return list->raw <= state->most_worth ? list->raw : LONG_LIST + list->raw;
}

static bool count_way(dt_state *state, uint32_t spot, dt_spot_state *s, uint32_t gap, dt_way way) {
    dt_bay bay = dt_bay_of(spot, &s->gaps[gap], way);
    const dt_gap *g = &s->gaps[gap];
    bool hollow = g->start == g->end && g->start != DT_CONTAINER; /* of one piece: any corner that is wide enough may go there */
    bool ask = g->width <= state->eager && (!hollow || state->eager >= PI);
    const dt_list *list = ask ? dt_lists_get(&state->lists, bay, state->most_raw) : dt_lists_known(&state->lists, bay);
    if (!list) return false;
    if (list->blunt) return true;
    if (!list->made) {
        uint32_t weight = weight_of(state, &s->gaps[gap], list);
        if (weight < s->waiting) s->waiting = weight;
        return true;
    }
    dt_list copy = *list;
    uint32_t count;
    bool few = state->lists.few;
    if (!(few ? count_clear : count_allowed)(state, &copy, s->fewest, &count)) return false;
    if (count < s->fewest) {
        s->fewest = count;
        s->gap = gap;
        s->way = way;
    }
    return true;
}

/* Either way alone tells all that can fill a gap; in small puzzles both are tried, in large ones the line that tells more. */
static bool count_gap(dt_state *state, uint32_t spot, dt_spot_state *s, uint32_t gap) {
    if (state->eager < PI) {
        dt_way way;
        return dt_lists_way(&state->lists, dt_bay_of(spot, &s->gaps[gap], DT_AHEAD), &way) && count_way(state, spot, s, gap, way);
    }
    if (!count_way(state, spot, s, gap, DT_AHEAD)) return false;
    return s->fewest <= 1 || count_way(state, spot, s, gap, DT_BEHIND);
}

static bool count_gaps(dt_state *state, uint32_t spot, dt_spot_state *s) {
    s->fewest = s->waiting = DT_NONE;
    s->gap = 0;
    s->way = DT_AHEAD;
    for (uint32_t g = 0; g < s->gap_count && s->fewest > 0; g++) {
        if (s->gaps[g].shut) s->fewest = 0;
        if (s->gaps[g].shut) s->gap = g;
        else if (!s->gaps[g].bend && !count_gap(state, spot, s, g)) return false;
    }
    return true;
}

/* ---- changing what is known of a spot ---- */

static bool open_spot(dt_state *state, uint32_t spot) {
    state->spots.items[spot].open = (uint32_t)state->open.count;
    return dt_array_push(&state->open, spot);
}

static void close_spot(dt_state *state, uint32_t spot) {
    uint32_t at = state->spots.items[spot].open, last = state->open.items[--state->open.count];
    state->open.items[at] = last;
    state->spots.items[last].open = at;
    state->spots.items[spot].open = DT_NONE;
}

/* Replaces the state of a spot and keeps `open` right. */
static bool set_spot(dt_state *state, uint32_t spot, dt_spot_state now) {
    dt_spot_state *s = &state->spots.items[spot];
    now.open = s->open;
    *s = now;
    if (now.gap_count && now.open == DT_NONE) return open_spot(state, spot);
    if (!now.gap_count && now.open != DT_NONE) close_spot(state, spot);
    return true;
}

static bool note_spot(dt_state *state, uint32_t spot) {
    dt_spot_state *s = &state->spots.items[spot];
    if (s->noted == state->lays) return true;
    if (!dt_array_push(&state->undo, ((dt_undo){spot, *s}))) return false;
    s->noted = state->lays;
    return true;
}

static bool renew_spot(dt_state *state, uint32_t spot, bool with_gaps) {
    if (!note_spot(state, spot)) return false;
    dt_spot_state now = state->spots.items[spot];
    if (with_gaps && !find_gaps(state, spot, &now)) return false;
    if (with_gaps) now.touched = (uint32_t)state->laid.count;
    if (!count_gaps(state, spot, &now) || !set_spot(state, spot, now)) return false;
    if (now.gap_count && now.fewest == 0) {
        state->dead = true;
        state->dead_spot = spot;
    }
    return true;
}

static bool use_corners(dt_state *state, const dt_body *body, uint32_t first_spot) {
    while (state->spots.count < state->board.spots.count)
        if (!dt_array_push(&state->spots, ((dt_spot_state){.open = DT_NONE}))) return false;
    for (uint32_t k = 0; k < body->break_count; k++) {
        uint32_t spot = state->board.corner_spots.items[first_spot + k];
        if (spot == DT_NONE) continue;
        if (!note_spot(state, spot)) return false;
        if (!state->spots.items[spot].corners++ && !link_spot(state, spot)) return false;
    }
    return true;
}

static bool is_within(dt_box box, dt_point p) {
    return p.x >= box.low.x && p.x <= box.high.x && p.y >= box.low.y && p.y <= box.high.y;
}

/* Spots that the placement touches get new gaps; those near enough for it to block a candidate, new counts. Ends at the first gap
 * that nothing fills. */
static bool renew_around(dt_state *state, dt_box box) {
    dt_box touch = dt_box_grown(box, state->problem->seat + MOST_LOOK_MM), reach = dt_box_grown(box, state->widest);
    if (!collect_spots(state, reach)) return false;
    for (int touched = 1; touched >= 0; touched--)
        for (size_t i = 0; i < state->near_spots.count && !state->dead; i++) {
            uint32_t spot = state->near_spots.items[i];
            if (is_within(touch, state->board.spots.items[spot].at) != touched) continue;
            if (!touched && !state->spots.items[spot].gap_count) continue;
            if (!renew_spot(state, spot, touched)) return false;
        }
    return true;
}

static void mark_cells(dt_state *state, const dt_placement *p) {
    const dt_cells *cells = state->board.cells.items + p->first_cells;
    for (uint32_t i = 0; i < p->cells_count; i++) state->taken[cells[i].word] ^= cells[i].mask;
}

bool dt_state_lay(dt_state *state, uint32_t placement) {
    dt_laid_mark mark = {placement, ++state->lays, state->undo.count, state->laid_links.count, state->spot_links.count};
    if (!dt_array_push(&state->laid, mark)) return false;
    while (state->laid_as.count <= placement)
        if (!dt_array_push(&state->laid_as, 0)) return false;
    state->laid_as.items[placement] = (uint32_t)state->laid.count - 1;
    state->dead = false;
    dt_placement p = state->board.placements.items[placement];
    const dt_body *body = dt_board_body(&state->board, placement);
    if (placement != DT_CONTAINER) {
        mark_cells(state, &p);
        state->left[state->problem->kind_of_body[p.body]]--;
        if (!link_laid(state, placement)) return false;
    }
    return use_corners(state, body, p.first_spot) && renew_around(state, p.box);
}

void dt_state_undo(dt_state *state) {
    dt_laid_mark mark = state->laid.items[--state->laid.count];
    const dt_placement *p = &state->board.placements.items[mark.placement];
    while (state->undo.count > mark.undo) {
        dt_undo *u = &state->undo.items[--state->undo.count];
        set_spot(state, u->spot, u->before); /* cannot fail: `open` had this much room before */
    }
    while (state->laid_links.count > mark.laid_links) {
        dt_link link = state->laid_links.items[--state->laid_links.count];
        state->laid_head[link.cell] = link.next;
    }
    while (state->spot_links.count > mark.spot_links) {
        dt_link link = state->spot_links.items[--state->spot_links.count];
        state->spot_head[link.cell] = link.next;
    }
    mark_cells(state, p);
    state->left[state->problem->kind_of_body[p->body]]++;
}

static bool is_better(const dt_spot_state *a, uint32_t spot_a, const dt_spot_state *b, uint32_t spot_b) {
    enum { FORCED = 2 };
    bool forced = a->fewest <= FORCED || b->fewest <= FORCED;
    if ((a->fewest == DT_NONE) != (b->fewest == DT_NONE)) return b->fewest == DT_NONE; /* there may be nothing but bends */
    if (!forced && a->is_bare != b->is_bare) return b->is_bare;
    if (a->fewest != b->fewest) return a->fewest < b->fewest;
    if (a->at_border != b->at_border) return a->at_border;
    if (a->fewest == DT_NONE && a->waiting != b->waiting) return a->waiting < b->waiting;
    if (a->touched != b->touched) return a->touched > b->touched;
    return spot_a < spot_b;
}

/* Goes on with the shortest list of a spot whose lists have waited: a table that has not been asked is asked, and a list made of what it
 * gives unless that is long. */
static bool force_list(dt_state *state, uint32_t spot) {
    uint32_t least = DT_NONE, best_gap = 0;
    dt_way best_way = DT_AHEAD;
    if (!note_spot(state, spot)) return false;
    dt_spot_state *s = &state->spots.items[spot];
    s->waiting = DT_NONE;
    for (uint32_t g = 0; g < s->gap_count; g++) {
        dt_way way;
        if (s->gaps[g].bend) continue;
        if (!dt_lists_way(&state->lists, dt_bay_of(spot, &s->gaps[g], DT_AHEAD), &way)) return false;
        const dt_list *list = dt_lists_known(&state->lists, dt_bay_of(spot, &s->gaps[g], way));
        if (!list) return false;
        uint32_t weight = list->made ? DT_NONE : weight_of(state, &s->gaps[g], list);
        if (weight >= least) continue;
        least = weight;
        best_gap = g;
        best_way = way;
    }
    if (least == DT_NONE) return true;
    uint32_t most = least >= UNASKED && least < LONG_LIST ? state->most_worth : DT_NONE - 1;
    if (!dt_lists_get(&state->lists, dt_bay_of(spot, &s->gaps[best_gap], best_way), most)) return false;
    return count_way(state, spot, s, best_gap, best_way);
}

static uint32_t best_open(const dt_state *state) {
    uint32_t best = DT_NONE;
    for (size_t i = 0; i < state->open.count; i++) {
        uint32_t here = state->open.items[i];
        if (best == DT_NONE || is_better(&state->spots.items[here], here, &state->spots.items[best], best)) best = here;
    }
    return best;
}

/* The spot without any list made whose lists would be the shortest. */
static uint32_t next_waiting(const dt_state *state) {
    uint32_t best = DT_NONE;
    for (size_t i = 0; i < state->open.count; i++) {
        uint32_t here = state->open.items[i];
        const dt_spot_state *s = &state->spots.items[here];
        if (s->fewest != DT_NONE || s->waiting == DT_NONE) continue;
        if (best == DT_NONE || is_better(s, here, &state->spots.items[best], best)) best = here;
    }
    return best;
}

/* No gap is left but within bends: the one at the spot that changed last. */
static bool choose_bend(dt_state *state, uint32_t *spot) {
    for (size_t i = 0; i < state->open.count; i++) {
        uint32_t here = state->open.items[i];
        const dt_spot_state *s = &state->spots.items[here];
        if (*spot == DT_NONE || s->touched > state->spots.items[*spot].touched) *spot = here;
    }
    if (*spot == DT_NONE) return true;
    if (!note_spot(state, *spot)) return false;
    dt_spot_state *s = &state->spots.items[*spot];
    for (s->gap = 0; s->gap + 1 < s->gap_count && !s->gaps[s->gap].bend;) s->gap++;
    return dt_lists_way(&state->lists, dt_bay_of(*spot, &s->gaps[s->gap], DT_AHEAD), &s->way);
}

bool dt_state_choose(dt_state *state, uint32_t *spot) {
    enum { MOST_FORCED = 6 };
    uint32_t best = best_open(state);
    for (int i = 0; best != DT_NONE && state->spots.items[best].fewest > 1; i++) {
        uint32_t waiting = next_waiting(state);
        if (waiting == DT_NONE || (i >= MOST_FORCED && state->spots.items[best].fewest != DT_NONE)) break;
        if (state->eager < PI && state->spots.items[best].fewest != DT_NONE && state->spots.items[waiting].waiting > WORTH_MAKING) break;
        if (!force_list(state, waiting)) return false;
        best = best_open(state);
    }
    *spot = best != DT_NONE && state->spots.items[best].fewest == DT_NONE ? DT_NONE : best; /* all that is left may be blunt */
    return *spot != DT_NONE || choose_bend(state, spot);
}
