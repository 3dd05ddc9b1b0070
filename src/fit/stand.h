/* stand.h - do several sides of a place stand on one outline in one and the same pose?
 *
 * Vocabulary: a SHOWN side is one whose neighbour lies, so that its course is to be seen. Shown sides STAND on a loop
 * at a pose of it when the deviation (stretch.h) of each is at most the eye. PROBES are a few points of a side, looked
 * at before anything else.
 */
#ifndef DOVETELL_FIT_STAND_H
#define DOVETELL_FIT_STAND_H

#include "fit/store.h"

enum { DT_PROBES = 6, DT_MOST_SHOWN = 16 };

typedef struct dt_shown {
    const dt_side_entry *entry;
    const dt_point *probes; /* DT_PROBES points evenly along the side, both ends among them */
    dt_course course;       /* laid when it is first needed: most outlines are refused by the probes alone */
    bool laid;
} dt_shown;

typedef struct dt_question {
    const dt_fit *fit;
    dt_fitter *fitter;
    dt_arena *arena;
    dt_shown sides[DT_MOST_SHOWN];
    size_t count;
} dt_question;

/* The course of a shown side. */
dt_status dt_question_course(dt_question *question, size_t index, const dt_course **out);

/* Whether there is a pose near this one (of the loop) at which the first `count` sides stand. The sides that are not
 * the first are looked at first, since a pose mostly comes from the ways of side 0. DT_NO_MEMORY. O(samples) a step of
 * the fit. */
dt_status dt_question_stands(dt_question *question, size_t count, const dt_loop *loop, dt_pose pose, bool *out);

#endif
