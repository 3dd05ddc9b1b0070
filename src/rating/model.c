/* One run of the model: the places in their order, m from counters of what lies loose, k from the rivals that are still
 * loose. Invariant: the counters hold exactly the pieces whose turn has not come. See model.h. */
#include "rating/model.h"

typedef struct counters {
    uint32_t all, rim;
    uint32_t shows[MODEL_LOOK_SETS]; /* by the exact set of looks */
} counters;

typedef struct play {
    const model *m;
    model_view view;
    counters total, *by_colour;
    bool asked[MODEL_LOOK_SETS]; /* some rim place asks for this set */
    bool *starts;
    uint32_t *loose; /* by kind */
    model_rivals rivals;
    model_run *run;
} play;

static bool holds(unsigned set, unsigned wanted) {
    return (wanted & ~set) == 0;
}

/* Could the piece be taken for an edge piece at sight? */
static bool passes_for_rim(const play *g, const model_place *p) {
    for (unsigned set = 1; set < MODEL_LOOK_SETS; set++)
        if (g->asked[set] && holds(p->shows, set)) return true;
    return false;
}

/* At sight, with the rim known: may the piece of place c belong on place p? A rim place asks for looks; an inner place
 * is not searched among edge pieces, unless its own piece was laid among them because it looks like one. */
static bool in_question(const model_place *p, bool p_passes, const model_place *c) {
    if (p->asks) return holds(c->shows, p->asks);
    return p_passes || !c->asks;
}

static void count_piece(counters *c, const model_place *p, int step) {
    c->all = (uint32_t)((int64_t)c->all + step);
    if (p->asks) c->rim = (uint32_t)((int64_t)c->rim + step);
    c->shows[p->shows] = (uint32_t)((int64_t)c->shows[p->shows] + step);
}

static uint32_t loose_in_question(const counters *c, const model_place *p, bool p_passes) {
    if (!p->asks) return p_passes ? c->all : c->all - c->rim;
    uint32_t sum = 0;
    for (unsigned set = 0; set < MODEL_LOOK_SETS; set++)
        if (holds(set, p->asks)) sum += c->shows[set];
    return sum;
}

static void look_over(play *g, const model_place *p, bool passes, double m[2][2]) {
    const counters *colour = &g->by_colour[p->colour];
    m[0][0] = g->total.all;
    m[0][1] = colour->all;
    m[1][0] = loose_in_question(&g->total, p, passes);
    m[1][1] = loose_in_question(colour, p, passes);
    for (int e = 0; e < 2; e++)
        for (int c = 0; c < 2; c++) g->run->sums.looked[e][c] += m[e][c] - 1.0;
}

/* Adds `weight` rivals that count under these switches. */
static void add_rival(double k[2][2][2], bool needs_edge_off, bool needs_colours_off, bool needs_flip, double weight) {
    for (int e = 0; e < 2; e++)
        for (int c = 0; c < 2; c++)
            for (int f = 0; f < 2; f++)
                if (!(e && needs_edge_off) && !(c && needs_colours_off) && !(!f && needs_flip)) k[e][c][f] += weight;
}

/* Rivals that are not listed: each other piece is one with the same chance. */
static void add_hidden(const play *g, double m[2][2], double k[2][2][2]) {
    double others = g->m->count - 1.0, straight = 1.0 - g->rivals.hidden_flipped;
    for (int e = 0; e < 2; e++)
        for (int c = 0; c < 2; c++)
            for (int f = 0; f < 2; f++)
                k[e][c][f] += g->rivals.hidden * (f ? 1.0 : straight) * (m[e][c] - 1.0) / others;
}

static void find_rivals(play *g, uint32_t place, bool passes, double m[2][2]) {
    const model_place *p = &g->m->places[place];
    double k[2][2][2] = {0};
    g->rivals.count = g->rivals.kind_count = 0;
    g->rivals.hidden = g->rivals.hidden_flipped = 0.0;
    g->m->rivals(g->m, place, g->starts[place] ? NULL : g->run->turn, &g->rivals);
    for (size_t i = 0; i < g->rivals.count; i++) {
        model_rival r = g->rivals.items[i];
        const model_place *c = &g->m->places[r.piece];
        if (g->run->turn[r.piece] <= g->run->turn[place]) continue;
        add_rival(k, !in_question(p, passes, c), c->colour != p->colour, r.only_flipped, 1.0);
    }
    for (size_t i = 0; i < g->rivals.kind_count; i++) {
        model_rival r = g->rivals.kinds[i];
        const model_place *c = &g->m->places[g->m->kind_piece[r.piece]];
        add_rival(k, !in_question(p, passes, c), c->colour != p->colour, r.only_flipped, g->loose[r.piece]);
    }
    if (g->rivals.hidden > 0.0) add_hidden(g, m, k);
    for (int e = 0; e < 2; e++)
        for (int c = 0; c < 2; c++)
            for (int f = 0; f < 2; f++) g->run->sums.alike[e][c][f] += k[e][c][f];
    g->run->alike[place] = 1.0 + k[g->view.edge][g->view.colours][g->view.two_sided];
}

static void take_up(play *g, uint32_t place) {
    if (g->m->kind_of) g->loose[g->m->kind_of[place]]--;
}

/* A figure is laid down as soon as the eye falls on it: there is nothing to look over and nothing like it. (Counting
 * the other figures as looked over would break a law: one more figure in a pile of many would make the puzzle harder.
 * What bounds how much figures can save is in effort.h.) */
static void play_figure(play *g, uint32_t place) {
    take_up(g, place);
    g->run->looked_over[place] = g->run->alike[place] = 1.0;
}

static void play_place(play *g, uint32_t place) {
    const model_place *p = &g->m->places[place];
    double m[2][2];
    bool passes = passes_for_rim(g, p);
    take_up(g, place);
    look_over(g, p, passes, m);
    g->run->looked_over[place] = m[g->view.edge][g->view.colours];
    find_rivals(g, place, passes, m);
    count_piece(&g->total, p, -1);
    count_piece(&g->by_colour[p->colour], p, -1);
}

/* Figures to the front, all else in the order it had. Returns how many figures there are. */
static uint32_t figures_first(const model *m, const uint32_t *from, uint32_t *to) {
    uint32_t figures = 0, at = 0;
    for (uint32_t t = 0; t < m->count; t++)
        if (m->places[from[t]].whimsy) to[figures++] = from[t];
    at = figures;
    for (uint32_t t = 0; t < m->count; t++)
        if (!m->places[from[t]].whimsy) to[at++] = from[t];
    return figures;
}

static bool prepare(play *g, dt_arena *arena) {
    uint32_t n = g->m->count;
    *g->run = (model_run){.order = DT_TAKE(arena, n, uint32_t),
                          .turn = DT_TAKE(arena, n, uint32_t),
                          .looked_over = DT_TAKE(arena, n, double),
                          .alike = DT_TAKE(arena, n, double)};
    g->starts = DT_TAKE(arena, n, bool);
    g->rivals.items = DT_TAKE(arena, n, model_rival);
    g->by_colour = DT_TAKE(arena, g->m->colours, counters);
    g->loose = DT_TAKE(arena, g->m->kinds, uint32_t);
    g->rivals.kinds = DT_TAKE(arena, g->m->kinds, model_rival);
    for (uint32_t i = 0; i < n && g->loose && g->m->kind_of; i++) g->loose[g->m->kind_of[i]]++;
    return g->run->order && g->run->turn && g->run->looked_over && g->run->alike && g->starts && g->rivals.items &&
           g->by_colour && g->loose && g->rivals.kinds;
}

/* Turns, looks that the rim asks for, and all but the figures on the table. */
static void lay_out(play *g, uint32_t figures) {
    for (uint32_t t = 0; t < g->m->count; t++) {
        uint32_t place = g->run->order[t];
        const model_place *p = &g->m->places[place];
        g->run->turn[place] = t;
        g->asked[p->asks] = true;
        if (t < figures) continue;
        count_piece(&g->total, p, 1);
        count_piece(&g->by_colour[p->colour], p, 1);
    }
}

dt_status model_play(const model *m, model_view view, bool backwards, dt_arena *arena, model_run *out) {
    model_run run;
    play g = {.m = m, .view = view, .run = &run};
    uint32_t *grown = DT_TAKE(arena, m->count, uint32_t), figures = 0;
    if (!grown || !prepare(&g, arena)) return DT_NO_MEMORY;
    dt_status status = model_order(m, backwards, arena, view.whimsies ? grown : run.order, g.starts);
    if (status != DT_OK) return status;
    if (view.whimsies) figures = figures_first(m, grown, run.order);
    lay_out(&g, figures);
    for (uint32_t t = 0; t < figures; t++) play_figure(&g, run.order[t]);
    for (uint32_t t = figures; t < m->count; t++) play_place(&g, run.order[t]);
    if (g.rivals.failed) return DT_NO_MEMORY;
    *out = run;
    return DT_OK;
}

void model_mean(const model *m, model_run *run, const model_run *other) {
    for (int e = 0; e < 2; e++)
        for (int c = 0; c < 2; c++) {
            run->sums.looked[e][c] = (run->sums.looked[e][c] + other->sums.looked[e][c]) / 2.0;
            for (int f = 0; f < 2; f++)
                run->sums.alike[e][c][f] = (run->sums.alike[e][c][f] + other->sums.alike[e][c][f]) / 2.0;
        }
    for (uint32_t p = 0; p < m->count; p++) {
        run->looked_over[p] = (run->looked_over[p] + other->looked_over[p]) / 2.0;
        run->alike[p] = (run->alike[p] + other->alike[p]) / 2.0;
    }
}
