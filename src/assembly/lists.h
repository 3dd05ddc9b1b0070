/* lists.h - for each line that leaves a spot: the placements that could lie along it. They depend on nothing but that line, so a list
 * is made once and kept.
 *
 * At a gap that starts where placement B's sector ends, whatever covers the ground just after B's line has a corner at the spot and
 * its line AHEAD lies along B's, walked BEHIND from the spot; at the gap's end it is the other way round. So either list names every
 * placement that can fill the gap next to that line. */
#ifndef DOVETELL_ASSEMBLY_LISTS_H
#define DOVETELL_ASSEMBLY_LISTS_H

#include "assembly/berths.h"
#include "assembly/soundings.h"
#include "assembly/wedge.h"

/* In puzzles of at most so many tiles lists are made of berths; in larger ones the same bodies seldom meet twice. */
enum { DT_FEW_TILES = 40 };

typedef struct dt_listed {
    uint32_t placement;      /* DT_NONE: it has not been worked out; DT_REFUSED: there is none */
    uint32_t berth;          /* DT_NONE in large puzzles */
    uint32_t body;
    uint32_t bar;            /* in small puzzles: see bars.h */
    float slack;             /* of the berth: see dt_placement */
} dt_listed;
#define DT_REFUSED (UINT32_MAX - 1)
#define DT_BAR_CELL 0x80000000u /* with it a bar is a cell of the mesh, without it a placement */

typedef struct dt_list {
    uint32_t first, count;   /* in `pool` */
    uint32_t first_end, raw; /* in `ends`: those that the table gave */
    uint32_t along, quay;    /* where berths are used */
    bool blunt;              /* the line is too short to tell who may lie along it: nothing is listed */
    bool asked, made;        /* has the table been asked; have the ends been laid along the line */
} dt_list;

typedef struct dt_lists {
    dt_board *board;
    dt_lookup *lookup[2];    /* by dt_way: the way of the piece's line */
    dt_grounds grounds;
    dt_wedges wedges;
    dt_berths berths;
    dt_soundings soundings;
    bool few;                /* use berths */
    dt_map pairs, index;
    DT_ARRAY(dt_list) lists;
    DT_ARRAY(dt_listed) pool;
    DT_ARRAY(uint32_t) ends;
    uint64_t tried;          /* table entries laid along a line, and poses of berths that had not been looked at before, so far */
} dt_lists;

bool dt_lists_make(dt_board *board, dt_lists *lists);
void dt_lists_free(dt_lists *lists);

/* A gap at a spot, as seen from one of the two lines that bound it. */
typedef struct dt_bay {
    uint32_t spot;
    uint32_t along, across;  /* placements; across may be DT_NONE */
    dt_way way;              /* of the piece's line that lies along `along` */
} dt_bay;

/* What is known of the list for a bay. NULL: no memory. Good until the next call. */
const dt_list *dt_lists_known(dt_lists *lists, dt_bay bay);

/* The way on which a gap's line tells more: bay is the gap seen ahead. false: no memory. */
bool dt_lists_way(dt_lists *lists, dt_bay bay, dt_way *way);

/* Is the bay's gap, seen ahead, open and yet too narrow for any corner? false: no memory. */
bool dt_lists_is_shut(dt_lists *lists, dt_bay bay, bool *shut);

/* The list for a bay. Where the table gives more than `most` ends the list is left unmade. NULL: no memory. Good until the next call. */
const dt_list *dt_lists_get(dt_lists *lists, dt_bay bay, uint32_t most);

/* The i-th candidate of a list, on ground taken as told: *placement is DT_NONE where it cannot lie there, for good or as long as that is
 * taken. false: no memory. */
bool dt_lists_candidate(dt_lists *lists, const dt_list *list, uint32_t i, const uint64_t *taken, uint32_t *placement);

#endif
