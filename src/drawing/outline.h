/* outline.h - the curves of drawn elements before they are flattened.
 *
 * An outline is a list of verbs, each with its points:
 *     MOVE 1 (where)   LINE 1 (to)   CUBIC 3 (control, control, to)   ARC 5 (centre, u, v, (from, sweep), to)   CLOSE 0
 * Invariants: every subpath begins with MOVE, and CLOSE ends it; one that holds nothing else is a dot. A
 * RANGE is a stretch of an outline that begins with MOVE.
 */
#ifndef DOVETELL_DRAWING_OUTLINE_H
#define DOVETELL_DRAWING_OUTLINE_H

#include "drawing/affine.h"
#include "geom/flatten.h"

enum { VERB_MOVE, VERB_LINE, VERB_CUBIC, VERB_ARC, VERB_CLOSE };

typedef struct outline {
    DT_ARRAY(unsigned char) verbs;
    dt_points points;
    bool failed; /* no memory: nothing is added any more */
} outline;

typedef struct range {
    size_t verb, verb_end, point;
} range;

void outline_free(outline *o);
void outline_move(outline *o, dt_point p);
void outline_line(outline *o, dt_point p);
void outline_cubic(outline *o, dt_point c1, dt_point c2, dt_point p);
void outline_arc(outline *o, const dt_arc *arc);
void outline_close(outline *o);

range outline_mark(const outline *o);              /* an empty range at the end */
range outline_since(const outline *o, range mark); /* from the mark to the end */
void outline_drop(outline *o, range mark);         /* forgets what came after the mark */
void outline_transform(outline *o, range part, affine map);
dt_box outline_box(const outline *o, range part);
/* Is every number of the part at most `most` in size (and none of them NaN)? Angles do not count. */
bool outline_is_within(const outline *o, range part, double most);

/* One subpath flattened; closed as dt_stroke says. */
typedef struct subpath {
    size_t first, count; /* in the points */
    bool closed;
} subpath;
typedef DT_ARRAY(subpath) subpaths;

/* Appends the subpaths of the part that have a length, flattened to tolerance; a closed one does not repeat its first
 * point, and no point repeats the one before it. Ends nearer than `same` close a subpath; one that is no larger than
 * `same` has no length. *dots grows by the number of subpaths without length. DT_NO_MEMORY, or DT_TOO_LARGE when there
 * would be more than `most` points in all. */
typedef struct flattening {
    double tolerance, same;
    size_t most;
} flattening;
dt_status outline_flatten(const outline *o, range part, const flattening *how, dt_points *points, subpaths *out,
                          size_t *dots);

#endif
