/* state.h - what is laid at the moment, and which gaps that leaves.
 *
 * Invariants: 1. `taken` is the union of the container's cells and those of all laid placements, which are disjoint; 2. the gaps of
 * every spot that a laid corner (or one of the container) lies at are up to date, and so are their counts, except that a count may
 * be too high: never too low; 3. dt_state_undo restores all of it.
 */
#ifndef DOVETELL_ASSEMBLY_STATE_H
#define DOVETELL_ASSEMBLY_STATE_H

#include "assembly/lists.h"

enum { DT_GAPS_PER_SPOT = 4 };

typedef struct dt_gap {
    uint32_t start, end;     /* placements whose sectors bound it, directions growing */
    float width;             /* radians */
    bool bend;               /* within a tight bend of one body: what fits there need not have a corner, so it is a last resort */
    bool shut;               /* too narrow for any corner: a dead end */
} dt_gap;

typedef struct dt_spot_state {
    uint32_t corners;        /* laid corners here; 0 = the spot is not in use */
    uint32_t gap_count;
    dt_gap gaps[DT_GAPS_PER_SPOT];
    uint32_t fewest;         /* candidates of the gap that has the fewest, on the better way; DT_NONE: unknown */
    uint32_t waiting;        /* how long the shortest list is that has not been made: see weight_of; DT_NONE: none waits */
    uint32_t gap;            /* which gap */
    dt_way way;
    uint32_t touched;        /* how many were laid when it last changed */
    uint32_t open;           /* position in `open`, or DT_NONE */
    bool at_border;          /* the container is one of those around it */
    bool is_bare;            /* nothing else is */
    uint64_t noted;          /* the lay for which `before` has been noted */
} dt_spot_state;

typedef struct dt_undo {
    uint32_t spot;
    dt_spot_state before;
} dt_undo;

typedef struct dt_link {
    uint32_t item, next, cell;
} dt_link;

typedef struct dt_laid_mark {
    uint32_t placement;
    uint64_t lay;            /* the number of the lay */
    size_t undo, laid_links, spot_links;
} dt_laid_mark;

/* A placement clashes with none of the first `count` that are laid, as long as the last of these is of that lay: see bars.h. */
typedef struct dt_clear {
    uint64_t lay;
    uint32_t count;
} dt_clear;

typedef struct dt_state {
    const dt_problem *problem;
    dt_board board;
    dt_lists lists;
    uint64_t *taken;
    uint32_t *left;          /* per kind */
    DT_ARRAY(dt_spot_state) spots;
    DT_ARRAY(uint32_t) open; /* spots with gaps */
    DT_ARRAY(dt_undo) undo;
    DT_ARRAY(dt_laid_mark) laid;
    /* A coarse grid with chains of laid placements and of spots in use in each cell. */
    double grid_step;
    dt_point grid_low;
    uint32_t grid_columns, grid_rows;
    uint32_t *laid_head, *spot_head;
    DT_ARRAY(dt_link) laid_links, spot_links;
    DT_ARRAY(uint32_t) near, near_spots, seen; /* scratch; seen: per placement, the last question that met it */
    uint32_t question;
    uint64_t lays;
    DT_ARRAY(dt_clear) clear;   /* per placement */
    DT_ARRAY(uint32_t) laid_as; /* per placement that is laid: its place in `laid` */
    bool dead;               /* the last lay left a gap that nothing fills; what lies beyond it has not been looked at */
    uint32_t dead_spot;      /* where */
    double widest;           /* mm: no piece is wider */
    uint32_t most_raw;       /* lists from more table entries wait until nothing better is left */
    uint32_t most_worth;     /* a list of more is only made when all gaps have been asked for */
    double eager;            /* radians: for wider gaps the table is not asked before nothing better is left */
    uint32_t least_rank;     /* placements of a lower rank are mirror images or turns of what has been tried */
    uint32_t (*rank)(void *context, uint32_t placement);
    void *rank_context;
} dt_state;

/* The gap as seen from the line that a piece's line on that way would lie along. */
dt_bay dt_bay_of(uint32_t spot, const dt_gap *gap, dt_way way);

bool dt_state_make(const dt_problem *problem, dt_state *state);
void dt_state_free(dt_state *state);

/* Could the placement be laid, as far as kinds left and the mesh tell? */
bool dt_state_allows(dt_state *state, uint32_t placement);
/* The i-th candidate of a list, or DT_NONE where it may not be laid, as far as kinds left and the mesh tell. false: no memory. */
bool dt_state_candidate(dt_state *state, const dt_list *list, uint32_t i, uint32_t *placement);
/* Lays a placement. false: no memory. */
bool dt_state_lay(dt_state *state, uint32_t placement);
void dt_state_undo(dt_state *state);

/* The laid placements whose boxes come near a box, in `near`; with the container first where asked. */
bool dt_state_near(dt_state *state, dt_box box, bool with_container);

/* The open spot with the fewest candidates, or DT_NONE; its list is made. false: no memory. */
bool dt_state_choose(dt_state *state, uint32_t *spot);

#endif
