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

#include "assembly/line.h"
#include "base/array.h"
#include "geom/kdtree.h"

typedef struct dt_owned_line {
    dt_line line;
    uint32_t piece;
    bool over; /* the line of the piece turned over (x -> -x) */
} dt_owned_line;

enum { DT_LEG_POINTS = 32 };

typedef struct dt_entry {
    uint32_t line, tip;
    double angle; /* radians that the tip fills */
    const dt_point
        *legs; /* points of the leg that arrives, from the tip on, then of the one that leaves; DT_LEG_POINTS each */
} dt_entry;

typedef struct dt_fillers {
    const dt_owned_line *lines;
    size_t line_count;
    double room;         /* mm: how far a follower may lie off */
    double window;       /* mm of both legs by which most tips are looked up */
    double narrowest;    /* radians: of all pieces' corners */
    double shortest;     /* mm from one sharp stretch to the next, of all pieces */
    double widest_sharp; /* radians: a gap wider than this might be filled by a tip that is not sharp, */
    double widest;       /* and wider than this by a bend that is no tip */
    dt_entry *entries;   /* sharp tips with legs as long as the window */
    dt_entry *shorts;    /* other sharp tips, looked at one by one */
    dt_entry *knees;     /* tips that are not sharp, looked at one by one in wide gaps only */
    dt_entry *narrow;    /* entries and shorts, the narrowest corners first */
    size_t entry_count, short_count, knee_count, narrow_count;
    float *keys, *leg_keys; /* of the entries' windows; of the legs that arrive */
    dt_kdtree tree, leg_tree;
    dt_arena arena;
    uint64_t compared;     /* entries that were compared point by point so far */
} dt_fillers;

/* A laid line and the place of a point on it. */
typedef struct dt_edge {
    const dt_line *line;
    dt_pose pose; /* never flipped */
    double at;
} dt_edge;

typedef struct dt_gap_lines {
    dt_edge onward, back;
    double angle; /* radians that are to be filled */
} dt_gap_lines;

typedef struct dt_filler {
    const dt_owned_line *owner;
    const dt_tip *tip;
    dt_pose pose; /* of the owner's line */
} dt_filler;

enum { DT_MOST_FILLERS = 64 };

typedef struct dt_filling {
    dt_filler alone[DT_MOST_FILLERS]; /* entries that fill the gap by themselves */
    dt_filler
        first[DT_MOST_FILLERS]; /* entries that follow ONWARD and leave room for another beside them, which is there */
    size_t count, first_count;
    bool unknown; /* the gap cannot be judged here, or there were too many */
} dt_filling;

/* lines: borrowed, all of one scale and knee; room: mm. The answers are complete only where dt_fillers_judge says so.
 * DT_NO_MEMORY. */
dt_status dt_fillers_new(const dt_owned_line *lines, size_t count, double knee, double room, dt_fillers *out);
void dt_fillers_free(dt_fillers *fillers);
/* Are the pieces' corners wide enough for the lines' scale? */
bool dt_fillers_judge(const dt_fillers *fillers);

/* The angle between the lines of a gap, measured over `scale` mm. */
double dt_gap_angle(const dt_gap_lines *gap, double scale);

/* used: by piece; those are not asked. */
void dt_fillers_find(dt_fillers *fillers, const dt_gap_lines *gap, const bool *used, dt_filling *out);

#endif
