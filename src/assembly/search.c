/* The search: see search.h. Always the gap with the fewest candidates; none = dead end. Alike pieces are one kind, so each filling is
 * met once. The whole's turns and mirror images are not searched: the candidates of the first gap get RANKS, and a filling counts only
 * where no image of it under a symmetry of the outline would put a candidate of lower rank there. In a disc, any corner on the rim
 * may be turned to the first spot. */
#include "search.h"

#include "bars.h"
#include "blame.h"
#include "smooth.h"
#include "tally.h"

#include <math.h>

static const uint32_t RANK_NONE = UINT32_MAX - 1;
enum { WATCH_EVERY = 256 };

/* One level of the search: the candidates of a gap, in `candidates` from first to first + count. */
typedef struct frame {
    size_t first, count, next;
    bool laid, filled;     /* filled: a filling was met that ends here */
    uint32_t spot;         /* DT_NONE: no gap, but a line without corners */
    dt_gap gap;
    dt_way way;
} frame;

typedef struct search {
    const dt_problem *problem;
    const dt_search_options *options;
    dt_search_result *result;
    dt_state state;
    uint64_t laid_steps;   /* placements tried */
    DT_ARRAY(frame) frames;
    DT_ARRAY(uint32_t) candidates;
    dt_blame blame;        /* per frame: what its dead ends are due to, as far as it has been tried; then one set more */
    dt_tally tally;
    dt_smooth smooth;
    uint32_t root_spot;    /* in a disc: the spot on the rim where the search starts */
    bool failed;           /* no memory */
} search;

/* ---- ranks ---- */

static bool lies_near(const search *s, uint32_t placement, uint32_t body, dt_pose pose) {
    const dt_placement *p = &s->state.board.placements.items[placement];
    dt_point centre = dt_pose_apply(pose, s->problem->bodies[body].centre);
    return p->body == body && dt_point_distance(p->centre, centre) <= s->problem->seat &&
           dt_board_covers_same(&s->state.board, body, pose, p->pose, s->problem->seat);
}

/* From 1 by the place among the candidates of the first gap; lines that nearly meet make an image lie near a candidate, not upon it. */
static uint32_t root_rank(const search *s, uint32_t body, dt_pose pose) {
    const frame *root = &s->frames.items[0];
    for (uint32_t i = 0; i < root->count; i++)
        if (lies_near(s, s->candidates.items[root->first + i], body, pose)) return i + 1;
    return RANK_NONE;
}

static uint32_t rank_by_symmetries(const search *s, uint32_t placement) {
    uint32_t best = RANK_NONE;
    for (uint32_t h = 0; h < s->problem->symmetry_count; h++) {
        uint32_t body;
        dt_pose pose = dt_image_of(&s->state, placement, h, &body);
        uint32_t rank = root_rank(s, body, pose);
        if (rank < best) best = rank;
    }
    return best;
}

/* The turn of the disc that brings a point of the rim to the first spot, mirrored there or not. */
static dt_pose rim_turn(const search *s, dt_point at, bool mirrored) {
    dt_point centre = s->problem->container.centre, spot = s->state.board.spots.items[s->root_spot].at;
    dt_point u = dt_point_sub(at, centre), v = dt_point_sub(spot, centre);
    if (mirrored) u.x = -u.x;
    double turn = atan2(v.y, v.x) - atan2(u.y, u.x);
    dt_pose pose = {cos(turn), sin(turn), {0.0, 0.0}, mirrored};
    pose.shift = dt_point_sub(centre, dt_pose_apply(pose, centre));
    return pose;
}

static bool is_on_rim(const search *s, dt_point at) {
    const dt_body *disc = &s->problem->container;
    return fabs(dt_point_distance(at, disc->centre) - disc->radius) <= 2.0 * s->problem->seat;
}

static uint32_t rank_on_rim(const search *s, uint32_t placement) {
    const dt_placement *p = &s->state.board.placements.items[placement];
    const dt_body *body = &s->problem->bodies[p->body];
    uint32_t best = RANK_NONE;
    for (uint32_t k = 0; k < body->break_count; k++) {
        dt_point at = dt_pose_apply(p->pose, body->breaks[k].at);
        if (!is_on_rim(s, at)) continue;
        for (int flip = 0; flip <= (s->problem->two_sided ? 1 : 0); flip++) {
            uint32_t there;
            dt_pose pose = dt_turned_image(&s->state, placement, rim_turn(s, at, flip), &there);
            uint32_t rank = root_rank(s, there, pose);
            if (rank < best) best = rank;
        }
    }
    return best;
}

static uint32_t rank_of(void *context, uint32_t placement) {
    search *s = context;
    uint32_t *rank = &s->state.board.placements.items[placement].rank;
    if (*rank == DT_NONE) *rank = s->problem->round ? rank_on_rim(s, placement) : rank_by_symmetries(s, placement);
    return *rank;
}

/* ---- what a filling counts ---- */

static size_t laid_count(const search *s) {
    return s->state.laid.count - 1; /* the first is the container */
}

static bool note_laid(search *s, bool *is_new) {
    dt_tally_begin(&s->tally);
    for (size_t i = 1; i < s->state.laid.count; i++)
        if (!dt_tally_placement(&s->tally, s->state.laid.items[i].placement)) return false;
    return dt_tally_note(&s->tally, is_new);
}

static bool note_image(search *s, uint32_t symmetry, bool *is_new) {
    dt_tally_begin(&s->tally);
    for (size_t i = 1; i < s->state.laid.count; i++) {
        uint32_t body;
        dt_pose pose = dt_image_of(&s->state, s->state.laid.items[i].placement, symmetry, &body);
        if (!dt_tally_body(&s->tally, body, pose)) return false;
    }
    return dt_tally_note(&s->tally, is_new);
}

static bool note_turned(search *s, dt_pose turn) {
    bool is_new;
    dt_tally_begin(&s->tally);
    for (size_t i = 1; i < s->state.laid.count; i++) {
        uint32_t body;
        dt_pose pose = dt_turned_image(&s->state, s->state.laid.items[i].placement, turn, &body);
        if (!dt_tally_body(&s->tally, body, pose)) return false;
    }
    return dt_tally_note(&s->tally, &is_new);
}

static bool note_rim_turns(search *s, uint32_t placement) {
    dt_placement p = s->state.board.placements.items[placement];
    const dt_body *body = &s->problem->bodies[p.body];
    for (uint32_t k = 0; k < body->break_count; k++) {
        dt_point at = dt_pose_apply(p.pose, body->breaks[k].at);
        if (!is_on_rim(s, at)) continue;
        for (int flip = 0; flip <= (s->problem->two_sided ? 1 : 0); flip++)
            if (!note_turned(s, rim_turn(s, at, flip))) return false;
    }
    return true;
}

/* A filling not met before counts with all its images; in a disc, where they are without number, as one. */
static bool count_filling(search *s) {
    bool is_new;
    if (!note_laid(s, &is_new)) return false;
    if (!is_new) return true;
    s->result->distinct += 1.0;
    s->result->fillings += 1.0;
    for (size_t i = 1; s->problem->round && i < s->state.laid.count; i++)
        if (!note_rim_turns(s, s->state.laid.items[i].placement)) return false;
    for (uint32_t h = 1; !s->problem->round && h < s->problem->symmetry_count; h++) {
        if (!note_image(s, h, &is_new)) return false;
        s->result->fillings += is_new;
    }
    return true;
}

static bool keep_other(search *s) {
    dt_pose *poses = malloc(s->problem->tile_count * sizeof *poses);
    if (!poses) return false;
    dt_read_poses(&s->state, poses);
    dt_acceptance accepted = s->options->accept ? s->options->accept(s->options->context, poses) : DT_FITS;
    if (accepted != DT_FITS) {
        s->result->blind = s->result->blind || accepted == DT_FITS_PERHAPS;
        free(poses);
        return true;
    }
    s->result->found_other = true;
    s->result->other = poses;
    return true;
}

/* What has slid is met many times over, a little way off each time: it is counted once as the drawn one, once as another. */
static bool take_slid(search *s) {
    bool is_drawn = dt_is_drawn_slid(&s->state);
    if (is_drawn ? s->result->found_drawn : s->result->found_other) return true;
    if (!count_filling(s)) return false;
    if (!is_drawn) return keep_other(s);
    s->result->found_drawn = true;
    return true;
}

static bool take_filling(search *s) {
    if (s->smooth.slid) return take_slid(s);
    if (!count_filling(s)) return false;
    if (s->result->found_other && !s->options->all) return true;
    if (s->result->found_drawn && s->result->found_other) return true;
    if (dt_is_drawn(&s->state)) s->result->found_drawn = true;
    else if (!s->result->found_other) return keep_other(s);
    return true;
}

/* ---- moving ---- */

static bool fits_near(search *s, uint32_t placement, dt_pair *all) {
    *all = (dt_pair){.clash = !dt_state_allows(&s->state, placement)};
    const dt_placement *p = &s->state.board.placements.items[placement];
    dt_box box = dt_box_grown(p->box, s->problem->loose + p->slack);
    if (!all->clash && !dt_state_near(&s->state, box, true)) return false;
    for (size_t i = 0; i < s->state.near.count && !all->clash; i++) {
        dt_pair pair;
        if (!dt_board_pair(&s->state.board, placement, s->state.near.items[i], &pair)) return false;
        *all = (dt_pair){pair.clash, all->tight || pair.tight, all->rough || pair.rough};
    }
    return true;
}

/* Lines that do not quite meet: lays the candidate anew against all that lies around it. */
static bool settle_candidate(search *s, uint32_t *placement, dt_pair *all) {
    dt_stand stand = dt_board_settled(&s->state.board, *placement, s->state.near.items, s->state.near.count);
    uint32_t better;
    dt_pair settled = {.clash = true};
    if (!dt_board_place(&s->state.board, s->state.board.placements.items[*placement].body, stand, &better)) return false;
    if (better != DT_NONE && better != *placement && !fits_near(s, better, &settled)) return false;
    if (settled.clash || settled.tight) return true;
    *placement = better;
    *all = settled;
    return true;
}

static bool was_tried(const search *s, const frame *f, uint32_t placement) {
    for (size_t i = f->first; i + 1 < f->first + f->next; i++)
        if (s->candidates.items[i] == placement) return true;
    return false;
}

/* Tries the next candidate of the top frame; *laid tells whether it lies now. */
static bool try_next(search *s, bool *laid) {
    frame *f = &s->frames.items[s->frames.count - 1];
    uint32_t *candidate = &s->candidates.items[f->first + f->next++];
    dt_pair all;
    s->laid_steps++;
    *laid = false;
    if (s->frames.count == 1 && s->problem->symmetry_count + s->problem->round > 1) {
        s->state.rank = rank_of;
        s->state.rank_context = s;
        s->state.least_rank = (uint32_t)f->next; /* ranks begin at 1 */
    }
    if (!fits_near(s, *candidate, &all)) return false;
    if (all.clash) return true;
    if (all.rough || all.tight) dt_blame_near(&s->state, dt_blame_set(&s->blame, s->frames.count - 1)); /* another pose beside others */
    if ((all.rough || all.tight) && s->frames.count > 1 && !settle_candidate(s, candidate, &all)) return false;
    if (all.tight || was_tried(s, f, *candidate)) return true;
    *laid = f->laid = true;
    return dt_state_lay(&s->state, *candidate);
}

static bool push_empty(search *s) {
    frame f = {.first = s->candidates.count, .spot = DT_NONE};
    return dt_array_push(&s->frames, f) && dt_blame_push(&s->blame);
}

static bool push_bay(search *s, dt_bay bay) {
    const dt_list *known = dt_lists_get(&s->state.lists, bay, DT_NONE - 1);
    bool few = s->state.lists.few;
    if (!known || !push_empty(s)) return false;
    dt_list list_copy = *known, *list = &list_copy; /* asking for candidates may move it */
    frame *f = &s->frames.items[s->frames.count - 1];
    for (uint32_t i = 0; i < list->count; i++) {
        uint32_t placement;
        if (!(few ? dt_bars_candidate : dt_state_candidate)(&s->state, list, i, &placement)) return false;
        if (placement == DT_NONE) continue;
        if (!dt_array_push(&s->candidates, placement)) return false;
        f->count++;
    }
    return true;
}

static bool take_seed(void *context, uint32_t placement) {
    search *s = context;
    if (!dt_state_allows(&s->state, placement)) return true;
    s->frames.items[s->frames.count - 1].count++;
    return dt_array_push(&s->candidates, placement);
}

/* No gap leads on: where lines without corners are left bare the search begins anew on one of them; else it is blind here. */
static bool push_smooth_frame(search *s) {
    dt_bare_ring bare;
    if (!push_empty(s) || !dt_smooth_find(&s->smooth, &bare)) return false;
    if (bare.placement != DT_NONE) return dt_smooth_seeds(&s->smooth, &bare, take_seed, s);
    s->result->blind = true;
    return true;
}

/* Opens the next gap. */
static bool push_frame(search *s) {
    uint32_t spot;
    if (!dt_state_choose(&s->state, &spot)) return false;
    if (spot == DT_NONE) return push_smooth_frame(s);
    dt_spot_state at = s->state.spots.items[spot];
    if (!push_bay(s, dt_bay_of(spot, &at.gaps[at.gap], at.way))) return false;
    frame *f = &s->frames.items[s->frames.count - 1];
    f->spot = spot;
    f->gap = at.gaps[at.gap];
    f->way = at.way;
    bool is_last = laid_count(s) + 1 == s->problem->tile_count; /* it lies where it fits, whatever it has for corners */
    if (f->gap.bend && !is_last) s->result->blind = true;
    return true;
}

/* In a disc some corner lies on the rim: turned to the first spot. */
static bool push_rim_frame(search *s) {
    const dt_body *disc = &s->problem->container;
    dt_point at = {disc->centre.x + disc->radius, disc->centre.y};
    if (!dt_board_spot(&s->state.board, at, &s->root_spot)) return false;
    if (!push_bay(s, (dt_bay){s->root_spot, DT_CONTAINER, DT_NONE, DT_AHEAD})) return false;
    dt_bare_ring rim = {.placement = DT_CONTAINER, .alone = true}; /* or one piece fills the disc, but for its holes */
    return dt_smooth_seeds(&s->smooth, &rim, take_seed, s);
}

static bool must_stop(search *s) {
    if (s->result->found_other && (!s->options->all || s->smooth.slid)) return true;
    s->result->steps = s->laid_steps + s->state.lists.tried + s->state.lists.berths.tried;
    if (s->result->steps >= s->options->steps) s->result->stopped = true;
    if (s->laid_steps % WATCH_EVERY == 0) {
        dt_watch_report(s->options->watch, "looking for other assemblies", (double)laid_count(s) / s->problem->tile_count);
        if (dt_watch_stopped(s->options->watch)) s->result->stopped = true;
    }
    return s->result->stopped;
}

/* ---- going back ---- */

static void pop_frame(search *s) {
    frame *f = &s->frames.items[s->frames.count - 1];
    if (f->laid) dt_state_undo(&s->state);
    s->candidates.count = f->first;
    s->frames.count--;
    s->blame.sets.count -= s->blame.words;
}

/* Goes back to the last frame that a set of placements blames, the set being the one after the frames' own; the frame gets the others. */
static void go_back(search *s) {
    uint64_t *set = dt_blame_set(&s->blame, s->frames.count);
    uint32_t last = dt_blame_last(&s->blame, set);
    size_t keep = last == DT_NONE ? 0 : (size_t)last + 1;
    s->blame.sets.count -= s->blame.words;
    while (s->frames.count > keep) pop_frame(s);
    if (!keep) return;
    uint64_t *own = dt_blame_set(&s->blame, last);
    for (size_t w = 0; w < s->blame.words; w++) own[w] |= set[w]; /* popping leaves its words where they are */
    own[last / 64] &= ~((uint64_t)1 << (last % 64));
    frame *f = &s->frames.items[last];
    if (f->laid) dt_state_undo(&s->state);
    f->laid = false;
}

/* A dead end at a gap: between it and the top frame nothing needs to be tried again that it is not due to. */
static bool leave_dead_end(search *s) {
    const dt_spot_state at = s->state.spots.items[s->state.dead_spot];
    if (!dt_blame_push(&s->blame)) return false;
    if (!dt_blame_gap(&s->state, s->state.dead_spot, &at.gaps[at.gap], at.way, dt_blame_set(&s->blame, s->frames.count))) return false;
    go_back(s);
    return true;
}

/* All that is laid has had its part: a filling, or a place that the search cannot judge. */
static bool leave_last(search *s) {
    if (!dt_blame_push(&s->blame)) return false;
    dt_blame_all(dt_blame_set(&s->blame, s->frames.count), laid_count(s));
    go_back(s);
    return true;
}

/* The top frame has been tried through. */
static bool leave_frame(search *s) {
    size_t top = s->frames.count - 1;
    frame f = s->frames.items[top];
    if (f.spot != DT_NONE && f.gap.bend && !f.filled) s->result->blind = true;
    bool ranked = s->problem->symmetry_count + s->problem->round > 1; /* some were refused for what the first frame holds */
    uint64_t *set = dt_blame_set(&s->blame, top);
    if (f.spot == DT_NONE) dt_blame_all(set, top);
    else if (!dt_blame_gap(&s->state, f.spot, &f.gap, f.way, set)) return false;
    if (ranked && top > 0) dt_blame_all(set, 1);
    s->candidates.count = f.first;
    s->frames.count--;
    go_back(s);
    return true;
}

static bool descend(search *s) {
    if (s->state.dead) return leave_dead_end(s);
    if (laid_count(s) < s->problem->tile_count) return push_frame(s);
    s->frames.items[s->frames.count - 1].filled = true;
    return take_filling(s) && leave_last(s);
}

static bool walk(search *s) {
    while (s->frames.count > 0 && !must_stop(s)) {
        frame *f = &s->frames.items[s->frames.count - 1];
        bool laid = false;
        if (f->next == f->count) {
            if (!leave_frame(s)) return false;
        } else if (!try_next(s, &laid) || (laid && !descend(s))) return false;
    }
    s->result->exhausted = s->frames.count == 0;
    s->result->counted = !s->tally.full && !(s->smooth.slid && s->result->found_other);
    return true;
}

static bool run(search *s) {
    if (!dt_state_make(s->problem, &s->state) || !dt_state_lay(&s->state, DT_CONTAINER)) return false;
    dt_tally_start(&s->state.board, s->problem->tile_count, &s->tally);
    dt_smooth_start(&s->state, &s->smooth);
    s->blame.words = s->problem->tile_count / 64 + 1;
    bool started = s->problem->round ? push_rim_frame(s) : push_frame(s);
    return started && walk(s);
}

dt_status dt_search_run(const dt_problem *problem, const dt_search_options *options, dt_search_result *out) {
    dt_search_result result = {0};
    search s = {.problem = problem, .options = options, .result = &result};
    bool done = run(&s);
    dt_state_free(&s.state);
    dt_array_free(&s.frames);
    dt_array_free(&s.candidates);
    dt_array_free(&s.blame.sets);
    dt_tally_free(&s.tally);
    dt_smooth_free(&s.smooth);
    if (!done) {
        free(result.other);
        return DT_NO_MEMORY;
    }
    *out = result;
    return DT_OK;
}
