/* fillers.h - which pieces can fill a gap between two lines that meet in a point?
 *
 * Vocabulary: a GAP lies between the line that leaves its point (ONWARD: its solid lies before the gap, walking round
 * the point) and the line that arrives there (BACK). Whatever fills the gap alone has a tip at the point, its line
 * arrives along ONWARD and leaves along BACK:
 *
 *            ONWARD      the filler walks towards the point along ONWARD, turns at its tip, and leaves along BACK.
 *        solid /          A FOLLOWER of a line lies within `room` of it as far as neither of the two turns away
 * sharply. o  filler   An ENTRY is a tip of a piece, or of the piece turned over.
 *        solid \
 *             BACK
 *
 * The answers are complete: a piece that is not named cannot fill the gap within `room`. How that is kept is written
 * beside each step.
 */
#ifndef DOVETELL_ASSEMBLY_FILLERS_H
#define DOVETELL_ASSEMBLY_FILLERS_H

#include "assembly/follow.h"
#include "base/array.h"

typedef struct dt_fillers {
    const dt_owned_line *lines;
    size_t line_count;
    double room;         /* mm: how far a follower may lie off */
    double narrowest;    /* radians: of all pieces' corners */
    double widest_sharp; /* radians: a gap wider than this might be filled by a tip that is not sharp, */
    double widest;       /* and wider than this by a bend that is no tip */
    dt_leg_points *legs;     /* of all tips, line by line */
    size_t *first_leg;       /* by line */
    dt_entry *sharp, *knees; /* tips; those that are not sharp are asked in wide gaps only */
    size_t sharp_count, knee_count;
    dt_leg_index by_both, by_one[2], knees_by_both; /* all but the last: of the sharp ones; by_one: by leg */
    struct dt_beside *beside[2]; /* by leg and sharp tip: what is known of who fits beside its other leg (fillers.c) */
    bool plain; /* every tip is looked at: for tests of the index */
    dt_arena arena;
    uint64_t compared; /* tips that were compared with a gap by all their points so far */
    uint64_t patience; /* how many one question who could share a gap may cost; beyond, it is unknown */
} dt_fillers;

typedef struct dt_filler {
    const dt_owned_line *owner;
    const dt_tip *tip;
    dt_pose pose; /* of the owner's line */
} dt_filler;

enum { DT_MOST_FILLERS = 64 };

typedef struct dt_filling {
    dt_filler alone[DT_MOST_FILLERS]; /* entries that fill the gap by themselves */
    /* By leg: entries that follow that line, take no more than half of the gap, and leave room for another beside them,
     * which is there. Of several that share the gap the first along ONWARD or the last along BACK is among them. */
    dt_filler sharers[2][DT_MOST_FILLERS];
    size_t count, sharer_count[2];
    bool unknown; /* the gap cannot be judged here, or there were too many */
    bool cut;     /* it is unknown since it would cost more than the patience */
} dt_filling;

typedef struct dt_fillers_plan {
    const dt_owned_line *lines; /* borrowed, all of one scale and knee */
    size_t line_count;
    double knee, room; /* mm */
    size_t workers;
} dt_fillers_plan;

/* The answers are complete only where dt_fillers_judge says so. DT_NO_MEMORY. */
dt_status dt_fillers_new(const dt_fillers_plan *plan, dt_fillers *out);
void dt_fillers_free(dt_fillers *fillers);
/* Are the pieces' corners wide enough for the lines' scale? */
bool dt_fillers_judge(const dt_fillers *fillers);

/* Who fills the gap alone? used: by piece; those are not asked. */
void dt_fillers_find_alone(dt_fillers *fillers, const dt_gap_lines *gap, const bool *used, dt_filling *out);
/* Adds to what was found alone who could share the gap with others. */
void dt_fillers_find_sharers(dt_fillers *fillers, const dt_gap_lines *gap, const bool *used, dt_filling *filling);
bool dt_filling_is_shared(const dt_filling *filling);

#endif
