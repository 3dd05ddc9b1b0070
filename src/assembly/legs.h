/* legs.h - an index of tips: whose legs could follow the lines of a gap?
 *
 * Vocabulary: the LEGS of a tip are the two stretches of its line up to where that turns sharply again: leg 0 arrives at
 * the tip, leg 1 leaves it. A gap has legs as well, the lines that would be followed. A MEASURE is the largest or the
 * least distance between a point and a stretch of a leg, or between two stretches. A SHELF holds the tips whose legs are
 * of about the same two lengths, with their measures as keys of a tree.
 *
 *          point o . . . . least   Where one leg follows another to within the room, points at the same arc lie the room
 *               |    \   ___       apart and a SLIP along the line, which grows with the turns that the line takes. So
 *          leg 0 \    \_/   \      the measures of a follower lie between bounds that the gap's legs give, and a box
 *                 \__ largest \    of the tree holds all followers. Bulges and bays tell most: no slip moves those.
 *
 * Invariants: 1. every tip stands on one shelf; 2. a tip that is not found cannot follow (see the comments in legs.c);
 * one that is found need not.
 */
#ifndef DOVETELL_ASSEMBLY_LEGS_H
#define DOVETELL_ASSEMBLY_LEGS_H

#include "assembly/line.h"
#include "geom/kdtree.h"
#include <dovetell/status.h>

enum { DT_LEG_SAMPLES = 121, DT_LEG_CLASSES = 10, DT_LEG_SHELVES = DT_LEG_CLASSES * DT_LEG_CLASSES };
#define DT_LEG_STEP_MM 0.25 /* between samples */

typedef struct dt_owned_line {
    dt_line line;
    uint32_t piece;
    bool over; /* the line of the piece turned over (x -> -x) */
} dt_owned_line;

typedef struct dt_entry {
    uint32_t line, tip;
    double angle; /* radians that the tip fills */
} dt_entry;

typedef struct dt_leg_samples {
    dt_point leg[2][DT_LEG_SAMPLES]; /* from the tip on, DT_LEG_STEP_MM apart */
} dt_leg_samples;

/* The legs of a gap. */
typedef struct dt_gap_legs {
    dt_leg_samples samples;
    double slip[2][DT_LEG_SAMPLES];     /* mm by which a follower's arcs may differ there */
    double followed[2];                 /* mm that a follower is sure to be held to, as far as the gap goes */
    double tip_room, room;              /* mm that the follower's tip and all other points may lie off */
    double least_angle, most_angle;     /* radians that a follower's tip may fill */
} dt_gap_legs;

typedef struct dt_leg_shelf {
    int classes[2]; /* of the legs' lengths, the longest first; the last: too short for any measure */
    uint32_t *items;
    float *keys;
    size_t count;
    dt_kdtree tree;
} dt_leg_shelf;

/* Which of its legs is a tip looked up by? */
typedef enum dt_by_legs { DT_BY_ARRIVING, DT_BY_LEAVING, DT_BY_BOTH } dt_by_legs;

typedef struct dt_leg_index {
    dt_by_legs by;
    dt_leg_shelf shelves[DT_LEG_SHELVES];
} dt_leg_index;

typedef struct dt_leg_plan {
    const dt_owned_line *lines;
    const dt_entry *entries;
    size_t count;
    dt_by_legs by;
    size_t workers;
} dt_leg_plan;

/* DT_NO_MEMORY. O(n log n) for n entries. */
dt_status dt_leg_index_new(const dt_leg_plan *plan, dt_arena *arena, dt_leg_index *out);

/* Calls found(context, entry) for every entry that could follow, in an order that depends on the entries alone; stops
 * when it returns false. */
void dt_leg_index_find(const dt_leg_index *index, const dt_gap_legs *legs,
                       bool (*found)(void *context, uint32_t entry), void *context);

#endif
