/* berths.h - what could lie along a line of a body, worked out once for the line, wherever the body lies. In a small puzzle the same
 * pieces meet at the same corners again and again, so most of the work of a list has been done before.
 *
 * Vocabulary: a QUAY is a point of a body's outline with one of the two lines that leave it. A BERTH is a corner of a piece set at that
 * point with its own line along the quay's, and the pose it has there in the axes of the quay's body.
 *
 *          quay of A       The berth of B at the quay is the same wherever A lies.
 *     A  |
 *        |___ B
 *        foot
 */
#ifndef DOVETELL_ASSEMBLY_BERTHS_H
#define DOVETELL_ASSEMBLY_BERTHS_H

#include "assembly/board.h"
#include "assembly/shore.h"

/* See dt_lie. */
typedef enum dt_berth_state { DT_BERTH_UNTRIED, DT_BERTH_STRAYS, DT_BERTH_DOUBTFUL, DT_BERTH_LIES } dt_berth_state;

typedef struct dt_berth {
    uint32_t end;            /* in the table of the quay's way */
    uint32_t body;
    dt_berth_state state;
    dt_pair pair;            /* of the two bodies, with the slack that was asked about last; below 0: none */
    double slack;
    dt_pose pose;            /* in the axes of the quay's body; where it lies */
} dt_berth;

typedef struct dt_quay {
    uint32_t body, ring;
    dt_way way;              /* of the piece's line */
    double arc;
    dt_point foot;           /* in the body's axes */
    uint32_t first, count;   /* in `berths`, by end */
    uint32_t chain;
} dt_quay;

typedef struct dt_berths {
    dt_board *board;
    dt_lookup *const *lookup; /* by way */
    dt_grounds *grounds;
    dt_map by_foot;
    DT_ARRAY(dt_quay) quays;
    DT_ARRAY(dt_berth) berths;
    uint32_t shore_of;       /* the quay that `shore` is of, or DT_NONE */
    dt_shore shore;
    uint64_t tried;          /* berths looked at closely so far */
} dt_berths;

void dt_berths_start(dt_board *board, dt_lookup *const *lookup, dt_grounds *grounds, dt_berths *berths);
void dt_berths_free(dt_berths *berths);

/* The quay that a shore is, for a piece's line that way: the shore's foot is its point. It is made when first asked for. false: no memory. */
bool dt_berths_quay(dt_berths *berths, const dt_shore *shore, dt_way way, uint32_t *quay);

/* The berth of an end at a quay, or DT_NONE where none could stand there. O(log berths of the quay). */
uint32_t dt_berths_find(const dt_berths *berths, uint32_t quay, uint32_t end);

/* A berth of a quay, tried: the end's line has been laid along the quay's. */
const dt_berth *dt_berths_get(dt_berths *berths, uint32_t quay, uint32_t berth);

/* How the bodies of a berth that lies are to each other, with the slack of both; beside: the body that it lies beside. */
dt_pair dt_berths_pair(dt_berths *berths, uint32_t beside, uint32_t berth, double slack);

/* Notes a pose, in the axes of the body that it is beside, as a berth that belongs to no quay. false: no memory. */
bool dt_berths_note(dt_berths *berths, uint32_t end, uint32_t body, dt_pose pose, uint32_t *berth);

#endif
