/* track.h - the foot of a point that walks beside a line, followed from step to step instead of sought anew.
 *
 * Invariant: `at` lies on span `span` of the line, and `foot` mm along it. A foot is taken where the way to it stands square on the
 * line (or at a vertex between two spans that both end there), so its distance is never too small; where it is beyond `enough`, the
 * nearest point of the whole line is sought instead. Hence "within enough" is always true, and "beyond enough" is exact.
 */
#ifndef DOVETELL_FIT_TRACK_H
#define DOVETELL_FIT_TRACK_H

#include "geom/nearest.h"
#include "geom/plane.h"

typedef struct dt_track {
    const dt_near *near;   /* of one path */
    const double *lengths; /* by vertex: mm walked up to there; one more than spans */
    bool closed;
    double enough;         /* mm; 0 = always the nearest point */
    uint32_t span;
    dt_point at;
    double foot, distance;
} dt_track;

/* A foot as it was found. */
typedef struct dt_foot {
    dt_point at;
    double foot, distance;
    uint32_t span;
} dt_foot;

static inline dt_foot dt_track_foot(const dt_track *t) {
    return (dt_foot){t->at, t->foot, t->distance, t->span};
}

static inline void dt_track_take(dt_track *t, dt_hit hit) {
    t->span = hit.span;
    t->at = hit.at;
    t->distance = hit.distance;
    t->foot = t->lengths[hit.span] + dt_plane_length(dt_plane_sub(hit.at, t->near->spans[hit.span].a));
}

/* The nearest point to p, wherever it lies. */
static inline void dt_track_start(dt_track *t, dt_point p) {
    dt_track_take(t, dt_near_find(t->near, p, 0));
}

/* From span to span while p projects beyond its ends; stops at a vertex when the next span sends it back. */
static inline void dt_track_settle(dt_track *t, dt_point p) {
    uint32_t last = (uint32_t)t->near->count - 1;
    int way = 0;
    for (uint32_t steps = 0;; steps++) {
        dt_span span = t->near->spans[t->span];
        dt_point u = dt_plane_sub(span.b, span.a), v = dt_plane_sub(p, span.a);
        double square = u.x * u.x + u.y * u.y, along = v.x * u.x + v.y * u.y;
        int onward = along > square ? 1 : along < 0.0 ? -1 : 0;
        bool ends = !t->closed && t->span == (onward > 0 ? last : 0);
        if (onward == 0 || onward == -way || ends || steps > last) {
            double part = square > 0.0 ? dt_plane_smaller(dt_plane_larger(along / square, 0.0), 1.0) : 0.0;
            t->at = (dt_point){span.a.x + part * u.x, span.a.y + part * u.y};
            t->foot = t->lengths[t->span] + part * (t->lengths[t->span + 1] - t->lengths[t->span]);
            t->distance = dt_plane_length(dt_plane_sub(p, t->at));
            return;
        }
        way = onward;
        t->span = onward > 0 ? (t->span == last ? 0 : t->span + 1) : t->span == 0 ? last : t->span - 1;
    }
}

/* The foot of p, which lies about `ahead` mm of line after the point before it. */
static inline void dt_track_walk(dt_track *t, dt_point p, double ahead) {
    uint32_t last = (uint32_t)t->near->count - 1;
    double due = t->foot + ahead;
    if (t->closed && due >= t->lengths[last + 1]) {
        due -= t->lengths[last + 1];
        t->span = 0;
    }
    while (t->span < last && t->lengths[t->span + 1] < due) t->span++;
    dt_track_settle(t, p);
    if (t->distance > t->enough) dt_track_take(t, dt_near_find(t->near, p, t->span));
}

#endif
