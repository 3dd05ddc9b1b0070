/* board.h - placements, the spots where their corners lie, and how they lie to each other. Nothing here depends on what is laid at
 * the moment, so all of it is worked out once and kept.
 *
 * Vocabulary: a PLACEMENT is a body in a pose; two placements of one kind that cover the same ground are one. Placement 0 is the
 * container. A SPOT is a point where corners lie. A placement's SECTOR at a spot is the span of directions that it takes up there: the
 * angle of its corner, or half a turn where a smooth line of it passes. A GAP is a span that nobody takes up.
 *
 *        \  B         sector of A: from A's line that leaves the spot to the one that arrives, directions growing;
 *     A   \/          the gap between A and B starts where A's sector ends and ends where B's starts.
 *     -----*--gap     The MESH is a grid of sample points: the cells of a placement are those well inside it, so two placements
 *                     that share one certainly overlap.
 */
#ifndef DOVETELL_ASSEMBLY_BOARD_H
#define DOVETELL_ASSEMBLY_BOARD_H

#include "assembly/lookup.h"
#include "assembly/map.h"
#include "base/array.h"

#define DT_CONTAINER 0u
/* Poses nearer than this are one placement, mm: well below ROUGH_MM of board.c, so that settling can leave a pose that is a little off. */
#define DT_SAME_MM 2e-5

typedef struct dt_cells {
    uint32_t word;
    uint64_t mask;
} dt_cells;

typedef struct dt_placement {
    uint32_t body;            /* DT_NONE: the container */
    dt_pose pose;
    dt_box box;
    dt_point centre;
    uint32_t first_cells, cells_count;
    uint32_t first_spot;      /* per break of the body: spots.items[first_spot + k], DT_NONE where it is no corner */
    uint32_t chain;           /* the next placement in its hash cell */
    double slack;             /* mm: how far its farthest point may lie from where it comes to rest among others: short lines leave its turn open */
    bool refused;             /* it would leave the outline: kept so that it is not looked at again */
    uint32_t rank;            /* for telling mirror images and turns apart: see search.c */
} dt_placement;

typedef enum dt_sector_kind { DT_AWAY, DT_CORNER, DT_PASSING, DT_COVERING, DT_UNSURE } dt_sector_kind;

typedef struct dt_sector {
    dt_sector_kind kind;
    bool sharp;               /* DT_CORNER: the line turns in a point; see dt_break */
    double from, to;          /* radians, from < to; from in [0, 2 pi) */
    uint32_t ring;
    double arc;               /* where on the ring of the body the spot lies */
} dt_sector;

typedef struct dt_spot {
    dt_point at;
    uint32_t chain;
} dt_spot;

typedef struct dt_board {
    const dt_problem *problem;
    DT_ARRAY(dt_placement) placements;
    DT_ARRAY(dt_cells) cells;
    DT_ARRAY(uint32_t) corner_spots;
    DT_ARRAY(dt_spot) spots;
    DT_ARRAY(dt_sector) sectors;
    dt_map by_centre, by_point, pairs, sector_of;
    dt_point **probes;        /* per body: points along its rings, for overlaps and contacts */
    dt_point **probe_normals; /* into the solid */
    uint32_t *probe_count;
    dt_point mesh_low;
    double mesh_step;
    uint32_t mesh_columns, mesh_rows, mesh_words;
    uint64_t *taken;          /* by the container */
    bool keeps_refused;       /* the same poses come up again and again */
    uint64_t looked;          /* poses looked at so far */
} dt_board;

/* false: no memory; the board can be freed in any case. */
bool dt_board_make(const dt_problem *problem, dt_board *board);
void dt_board_free(dt_board *board);

static inline const dt_body *dt_board_body(const dt_board *board, uint32_t placement) {
    uint32_t body = board->placements.items[placement].body;
    return body == DT_NONE ? &board->problem->container : &board->problem->bodies[body];
}
dt_laid dt_board_laid(const dt_board *board, uint32_t placement);

typedef struct dt_stand {
    dt_pose pose;
    double slack;             /* see dt_placement */
} dt_stand;

/* The slack of a body whose line lies along another over `span` mm: what errors of both lines turn the body's far end by. */
double dt_board_slack(const dt_body *body, double span);

/* The placement of a body: an old one in the same pose (DT_SAME_MM), else a new one.
 * *out = DT_NONE where it would leave the outline. false: no memory. A pose that has been looked at before costs next to
 * nothing. */
bool dt_board_place(dt_board *board, uint32_t body, dt_stand stand, uint32_t *out);
/* An old placement of that kind which covers the same ground within same_mm, or DT_NONE. */
uint32_t dt_board_find(const dt_board *board, uint32_t body, dt_pose pose, double same_mm);

/* Do poses p and q of a body, whose centres lie together, cover the same ground? */
bool dt_board_covers_same(const dt_board *board, uint32_t body, dt_pose p, dt_pose q, double same_mm);

typedef struct dt_pair {
    bool clash;               /* they cannot lie together: they overlap by more than their slack explains */
    bool tight;               /* as they lie now, they overlap */
    bool rough;               /* lines that run along each other are farther apart than drawing errors explain: settling might help */
} dt_pair;

/* How two placements lie to each other. false: no memory. */
bool dt_board_pair(dt_board *board, uint32_t a, uint32_t b, dt_pair *out);

/* The same for two bodies on their own, with the slack of both; slot: the body's index, body_count for the container. */
dt_pair dt_board_bodies(const dt_board *board, dt_laid a, uint32_t slot_a, dt_laid b, uint32_t slot_b, double slack);
/* Notes what is known of a pair, so that it is not asked again. false: no memory. */
bool dt_board_note_pair(dt_board *board, uint32_t a, uint32_t b, dt_pair facts);

/* The cell of the mesh that a point lies in; DT_NONE outside the container's box. */
uint32_t dt_board_cell(const dt_board *board, dt_point p);

/* The sector of a placement at a spot; good until the next call. NULL: no memory. */
const dt_sector *dt_board_sector(dt_board *board, uint32_t placement, uint32_t spot);
bool dt_board_spot(dt_board *board, dt_point at, uint32_t *out);

/* Lays a placement anew so that it fits the others best. */
dt_stand dt_board_settled(const dt_board *board, uint32_t placement, const uint32_t *others, size_t count);

#endif
