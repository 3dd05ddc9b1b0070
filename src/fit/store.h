/* store.h - what the stage keeps: the forms of all pieces, and the lists of fit.h.
 *
 * Vocabulary: a CLASS is a group of pieces of the same shape (to DT_SAME_MM); its LEADER is the first of them. Everything that
 * depends on shape alone is worked out for leaders and handed to the rest through `to_leader`.
 * Invariants: class_of[p] <= p, class_of[class_of[p]] = class_of[p]; to_leader of a leader is the identity.
 */
#ifndef DOVETELL_FIT_STORE_H
#define DOVETELL_FIT_STORE_H

#include "base/array.h"
#include "fit/mismatch.h"
#include "geom/kdtree.h"

#define DT_SAME_MM 0.002   /* below the 0.005 mm to which mismatch is promised, above the 0.001 mm grid of the drawing */

typedef DT_ARRAY(dt_match) dt_matches;

struct dt_fit {
    dt_arena arena;
    const dt_pieces *pieces;
    double kerf, eye;
    bool two_sided;
    size_t count;
    dt_form *forms;             /* by piece */
    float *keys;                /* by piece, DT_FORM_KEYS each */
    dt_kdtree tree;             /* of the keys */
    uint32_t *class_of;         /* by piece: its leader */
    dt_pose *to_leader;         /* by piece: carries it onto its leader */
    double *off_leader;         /* by piece: mismatch with its leader */
    dt_matches twins, near_twins, turners;
    bool whole;
};

/* Steps of dt_fit_new, in this order; each leaves the store freeable whatever it returns. */
dt_status dt_fit_measure(dt_fit *fit);                          /* forms, classes */
dt_status dt_fit_find_twins(dt_fit *fit, const dt_watch *watch);
dt_status dt_fit_find_turners(dt_fit *fit, const dt_watch *watch);

#endif
