/* follow.h - does a piece's line follow the lines of a gap about one of its tips?
 *
 * Vocabulary: see fillers.h for GAP, ONWARD and BACK, legs.h for TIP and LEG. A TARGET is a gap by points: those of its
 * lines at equal lengths from the gap on, as far as they run without turning sharply.
 */
#ifndef DOVETELL_ASSEMBLY_FOLLOW_H
#define DOVETELL_ASSEMBLY_FOLLOW_H

#include "assembly/legs.h"

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

/* The angle between the lines of a gap, measured over `scale` mm. */
double dt_gap_angle(const dt_gap_lines *gap, double scale);

enum { DT_LEG_POINTS = 32 };

typedef struct dt_target {
    const dt_gap_lines *gap; /* borrowed */
    double onward, back;     /* mm of each line before it turns sharply */
    /* Of ONWARD, then of BACK, from the gap on; at the arcs of a follower's legs. */
    size_t count[2];
    dt_point points[2][DT_LEG_POINTS], normals[2][DT_LEG_POINTS];
    double room, turned[2]; /* mm; radians that each line turns altogether */
} dt_target;

/* room: mm that a follower may lie off. O(log points). */
dt_target dt_target_make(const dt_gap_lines *gap, double room);

/* The gap as the index of tips sees it; the angles of `out` are the caller's. describe_leg: one leg alone, whose
 * follower's tip is loose along it. */
void dt_target_describe(const dt_target *t, dt_gap_legs *out);
void dt_target_describe_leg(const dt_target *t, int leg, dt_gap_legs *out);

/* Points of a tip's legs at the same arcs as a target's. */
typedef struct dt_leg_points {
    dt_point leg[2][DT_LEG_POINTS];
} dt_leg_points;

void dt_leg_points_take(const dt_line *line, uint32_t tip, dt_leg_points *out);

typedef struct dt_follower {
    const dt_line *line;
    uint32_t tip;
    const dt_leg_points *points; /* of the tip */
} dt_follower;

/* Which of a gap's lines are followed; the first two are the numbers of their legs. */
typedef enum dt_along { DT_ALONG_ONWARD, DT_ALONG_BACK, DT_ALONG_BOTH } dt_along;

/* Does the line follow about its tip? Where too little of it is to be followed it does, at the identity. *compared goes up
 * where all points were looked at. */
bool dt_follows(const dt_target *t, dt_follower follower, dt_along along, uint64_t *compared, dt_pose *pose);

#endif
