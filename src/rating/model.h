/* model.h - the person who solves the puzzle, as a run over its places.
 *
 * Vocabulary: a RIVAL of a place is a piece, not the true one, that looks as if it belonged there, given the neighbours
 * that lie. LOOKED OVER (m) counts the loose pieces that come into question at sight; ALIKE (k) is one more than the
 * loose rivals among them. A SWITCH is something that a person can make use of or is troubled by (the factors of
 * rating.h, without size).
 *
 * The ORDER in which the places are filled is the growth of the assembly: from a start (a corner, else an edge piece,
 * else any) always the open place with the largest share of its neighbours lying; figures, where they are known, before
 * all others.
 *
 *      lies  lies  lies         the place p shows 3 of its 4 neighbours, q only 1 of 4: p comes first
 *      lies   p     q
 *
 * Of two places that show the same share the one that opened first comes first; neighbours open one after the other as
 * the outline is walked from the rim, or from the neighbour that lay first. The puzzle is played twice, outlines walked
 * one way round and the other, and the mean taken, so that the work is a matter of who borders on whom and does not
 * change when the drawing is moved, turned, mirrored or drawn in another sequence.
 *
 * A person cannot know how many pieces look alike for a place before looking for them, but sees how much of its border
 * is there, and that is what the expected cost goes by. The order depends on the neighbours alone, on no switch and on
 * no likeness, and so the laws hold by construction: for any one order m and k of every place can only grow when pieces
 * become alike or a help is taken away, and moving the figures to the front only adds to what the other places show.
 * (Taking always the place with the fewest rivals breaks them by a hair: one more rival may drive that rule into a
 * luckier order.)
 *
 * The effort is linear in m and k, so a run keeps only their sums for each setting of the switches that m and k know
 * of, and every subset of switches is then a closed formula (effort.h).
 *
 * A KIND is a group of pieces that nothing here tells apart: as rivals they are counted together, by how many are loose.
 *
 * Invariants: turn[order[t]] == t; 1 <= k <= m; a sum never falls when a help is taken away.
 */
#ifndef DOVETELL_RATING_MODEL_H
#define DOVETELL_RATING_MODEL_H

#include "base/arena.h"
#include <dovetell/status.h>
#include <stdbool.h>
#include <stdint.h>

/* Looks that an outline can have, as bits: model_place.asks and .shows hold sets of them. */
#define MODEL_LOOKS 4
#define MODEL_LOOK_SETS (1u << MODEL_LOOKS)

typedef struct model_place {
    const uint32_t *neighbours; /* once each, in the order in which the outline is walked */
    uint32_t neighbour_count;
    uint32_t after_rim; /* index in neighbours of the first one behind the rim; 0 when it has no rim */
    double size;        /* to tell one start from another: its area */
    uint32_t colour;    /* group, 0 .. model.colours - 1 */
    uint8_t asks;       /* looks of the rim here; 0 = an inner place, or no rim to be seen */
    uint8_t shows;      /* looks found anywhere on the outline of its piece; includes asks */
    uint8_t start_rank; /* 0 = corner, 1 = edge, 2 = neither: what one starts with */
    bool whimsy;
} model_place;

typedef struct model_rival {
    uint32_t piece;
    bool only_flipped; /* looks right only when turned over */
} model_rival;

/* What model.rivals fills. `hidden` is the number of further rivals that are not listed; they are taken to be spread
 * evenly over all other pieces, loose or not. hidden_flipped is the share of them that is alike only when turned over.
 */
typedef struct model_rivals {
    model_rival *items; /* room for one entry a piece */
    size_t count;
    model_rival *kinds; /* `piece` is a kind: all its pieces but the true one. Room for one entry a kind */
    size_t kind_count;
    double hidden, hidden_flipped;
    bool failed; /* no memory: the run gives up */
} model_rivals;

typedef struct model {
    const model_place *places;
    uint32_t count;
    uint32_t colours;
    const uint32_t *kind_of;    /* by place; NULL: no kinds, and rivals are named one by one */
    const uint32_t *kind_piece; /* by kind: one of its pieces */
    uint32_t kinds;
    /* The rivals of a place when those neighbours lie that have turn[neighbour] < turn[place]; turn == NULL: of a
     * start, the pieces that look like it all round. Each piece at most once, by itself or by its kind, never the true one; loose or not
     * does not matter. */
    void (*rivals)(const struct model *model, uint32_t place, const uint32_t *turn, model_rivals *out);
    void *context;
} model;

/* Switches that m and k know of, as indices: off = 0, on = 1. */
typedef struct model_sums {
    double looked[2][2];   /* [edge][colours]: sum of m - 1 over all places */
    double alike[2][2][2]; /* [edge][colours][two-sided]: sum of k - 1 */
} model_sums;

typedef struct model_run {
    model_sums sums;
    uint32_t *order, *turn;      /* in the arena of the run */
    double *looked_over, *alike; /* m and k of each place for model_view */
} model_run;

/* The setting of the switches for which m and k of each place are kept. */
typedef struct model_view {
    bool whimsies, edge, colours, two_sided;
} model_view;

/* Means of two runs, into the first. */
void model_mean(const model *m, model_run *run, const model_run *other);

/* One run with figures known or not (view.whimsies), outlines walked backwards or not. Results live in the arena.
 * O((places + neighbours) log places + rivals). DT_NO_MEMORY. */
dt_status model_play(const model *m, model_view view, bool backwards, dt_arena *arena, model_run *out);

/* The order of growth alone, figures not told apart, into order[count]; starts[count], by place, says what was laid
 * with no neighbour lying. */
dt_status model_order(const model *m, bool backwards, dt_arena *arena, uint32_t *order, bool *starts);

#endif
