/* track.h - the foot of a point that walks beside a line, followed from step to step instead of sought anew.
 *
 * Vocabulary: a LEG is one straight stretch of the line: its start and its direction.
 * Invariant: `at` lies on leg `leg` of the line, and `foot` mm along it. A foot is taken where the way to it stands square on the
 * line (or at a vertex between two legs that both end there), so its distance is never too small; where it is beyond `enough`, the
 * nearest point of the whole line is sought instead. Hence "within enough" is always true, and "beyond enough" is exact.
 */
#ifndef DOVETELL_FIT_TRACK_H
#define DOVETELL_FIT_TRACK_H

#include "geom/nearest.h"
#include "geom/plane.h"

typedef struct dt_leg {
    dt_point a, u; /* u has length 1 */
} dt_leg;

/* A path made ready for walking. */
typedef struct dt_track_line {
    const dt_near *near;   /* of one path; leg i is its span i */
    const dt_leg *legs;
    const double *lengths; /* by vertex: mm walked up to there; one more than legs */
    const uint32_t *first; /* the line in as many equal parts as it has legs: the leg on which each begins */
    double per_mm;         /* such parts */
    bool closed;
} dt_track_line;

/* All but `near`, which the line may share. DT_BAD_ARGUMENT for a path without length. O(points). */
dt_status dt_track_line_new(dt_path path, bool closed, dt_arena *arena, dt_track_line *out);

/* A foot as it was found. */
typedef struct dt_foot {
    dt_point at;
    double foot, distance;
    uint32_t leg;
} dt_foot;

typedef struct dt_track {
    dt_track_line line;
    double enough;         /* mm; 0 = always the nearest point */
    dt_foot foot;
    dt_point toward;       /* unit vector from the foot to the point; across the line where they touch */
} dt_track;

/* Below this the direction between two points says nothing. */
#define DT_TOUCHING_MM 1e-7

static inline dt_point dt_track_across(dt_point u) {
    return (dt_point){u.y, -u.x};
}

/* The foot of p is `at`, on leg `leg`. */
static inline void dt_track_point_at(dt_track *t, dt_point p, dt_point at, uint32_t leg, double along) {
    dt_point off = dt_plane_sub(p, at);
    double distance = dt_plane_length(off), shrink = 1.0 / distance;
    t->foot = (dt_foot){at, t->line.lengths[leg] + along, distance, leg};
    t->toward = distance > DT_TOUCHING_MM ? (dt_point){off.x * shrink, off.y * shrink} : dt_track_across(t->line.legs[leg].u);
}

/* The foot stands on the inside of a leg, `along` it, and the point `aside` of it. */
static inline void dt_track_stand(dt_track *t, uint32_t at, double along, double aside) {
    dt_leg leg = t->line.legs[at];
    dt_point across = dt_track_across(leg.u);
    t->foot = (dt_foot){{leg.a.x + along * leg.u.x, leg.a.y + along * leg.u.y}, t->line.lengths[at] + along, fabs(aside), at};
    t->toward = aside < 0.0 ? (dt_point){-across.x, -across.y} : across;
}

static inline void dt_track_seek(dt_track *t, dt_point p, uint32_t hint) {
    dt_hit hit = dt_near_find(t->line.near, p, hint);
    double along = dt_plane_length(dt_plane_sub(hit.at, t->line.legs[hit.span].a));
    dt_track_point_at(t, p, hit.at, hit.span, along);
}

/* The nearest point to p, wherever it lies; about on leg `hint`, or anywhere. */
static inline void dt_track_start(dt_track *t, dt_point p, uint32_t hint) {
    dt_track_seek(t, p, hint);
}

/* From leg to leg while p projects beyond its ends; stops at a vertex when the next leg sends it back. */
void dt_track_settle(dt_track *t, dt_point p, uint32_t leg);

/* The leg on which the line has been walked for `due` mm. */
static inline uint32_t dt_track_leg(const dt_track_line *line, double due) {
    uint32_t last = (uint32_t)line->near->count - 1;
    double part = due * line->per_mm;
    uint32_t leg = line->first[part > 0.0 ? part < last ? (uint32_t)part : last : 0];
    while (leg < last && line->lengths[leg + 1] < due) leg++;
    return leg;
}

/* The foot of p, which lies about `ahead` mm of line after the point before it. */
static inline void dt_track_walk(dt_track *t, dt_point p, double ahead) {
    const double *lengths = t->line.lengths;
    double due = t->foot.foot + ahead, whole = lengths[t->line.near->count];
    if (t->line.closed && due >= whole) due -= whole;
    uint32_t at = dt_track_leg(&t->line, due);
    dt_leg leg = t->line.legs[at];
    dt_point v = dt_plane_sub(p, leg.a);
    double along = v.x * leg.u.x + v.y * leg.u.y, aside = v.x * leg.u.y - v.y * leg.u.x;
    if (along >= 0.0 && along <= lengths[at + 1] - lengths[at]) dt_track_stand(t, at, along, aside);
    else dt_track_settle(t, p, at);
    if (t->foot.distance > t->enough) dt_track_seek(t, p, t->foot.leg);
}

#endif
