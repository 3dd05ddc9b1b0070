/* store.h - what the stage keeps: the forms of all pieces, and the lists of fit.h.
 *
 * Vocabulary: a CLASS is a group of pieces of the same shape (to DT_SAME_MM); its LEADER is the first of them. Everything that
 * depends on shape alone is worked out for leaders and handed to the rest through `to_leader`.
 * Invariants: class_of[p] <= p, class_of[class_of[p]] = class_of[p]; to_leader of a leader is the identity.
 */
#ifndef DOVETELL_FIT_STORE_H
#define DOVETELL_FIT_STORE_H

#include "base/array.h"
#include "base/workers.h"
#include "fit/windows.h"

#define DT_SAME_MM 0.002   /* below the 0.005 mm to which mismatch is promised, above the 0.001 mm grid of the drawing */

typedef DT_ARRAY(dt_match) dt_matches;

/* A way in which a class of pieces looks right on a class of sides. */
typedef struct dt_found {
    uint32_t walker;
    dt_pose pose;        /* from the walker's loop to the leading side of the class */
    double deviation;    /* at this pose */
    dt_pose seat;        /* brought within the kerf */
    double seat_off;     /* the deviation there; INFINITY: that cannot be, or was not asked */
} dt_found;

/* Sides of one shape: found once, for the first of them. Items [first, first + count) of dt_fit.found, by deviation. */
typedef struct dt_side_class {
    uint32_t leader;     /* side */
    uint32_t first, count, k;
    bool whole;          /* every way was looked at: k is right, else at least k */
    double crowd;        /* not whole: how many more pieces are estimated to match */
    bool closed;         /* a whole ring: an island or the hole around it */
    bool everywhere;     /* too short to tell anything: every piece matches, nothing is listed */
} dt_side_class;

typedef struct dt_side_entry {
    uint32_t piece, index;
    uint32_t class_id;   /* UINT32_MAX: not a piece-to-piece side */
    dt_pose to_class;    /* carries the side onto the leading side of its class */
    uint32_t first, listed, k;
} dt_side_entry;

struct dt_fit {
    dt_arena arena;
    dt_arena kept[DT_MOST_WORKERS]; /* what the workers of the steps leave behind, each in its own */
    unsigned threads;           /* as in dt_settings */
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
    uint32_t *member_start, *members; /* pieces by leader: members[member_start[l] .. member_start[l + 1]) */
    dt_matches twins, near_twins, turners;
    uint32_t *side_start;       /* by piece: its first entry in sides */
    dt_side_entry *sides;
    size_t side_count;          /* all sides, outside ones too */
    dt_walker *walkers;
    size_t walker_count;
    DT_ARRAY(dt_side_class) side_classes;
    DT_ARRAY(dt_found) found;
    struct dt_crowd *crowd;     /* NULL where every list is whole */
    DT_ARRAY(dt_candidate) candidates;
    DT_ARRAY(dt_false_mate) mates;
    bool left_out[DT_FIT_LISTS]; /* of which lists something may be missing */
    bool whole;                  /* of none */
    bool near_sought;
    size_t work;                 /* nearest points that classes, twins, turners, closed sides and false mates asked for */
};

/* Something may be missing in a list. */
static inline void dt_fit_leave_out(dt_fit *fit, dt_fit_list list) {
    fit->left_out[list] = true;
    fit->whole = false;
}

/* Steps of dt_fit_new, in this order; each leaves the store freeable whatever it returns. */
dt_status dt_fit_measure(dt_fit *fit);                          /* forms, classes */
dt_status dt_fit_find_twins(dt_fit *fit, const dt_watch *watch);
dt_status dt_fit_find_turners(dt_fit *fit, const dt_watch *watch);
dt_status dt_fit_sort_sides(dt_fit *fit);                       /* sides, their classes */
dt_status dt_fit_find_candidates(dt_fit *fit, const dt_watch *watch);
dt_status dt_fit_find_closed(dt_fit *fit);                      /* candidates for closed sides */
dt_status dt_fit_list_candidates(dt_fit *fit);
dt_status dt_fit_estimate_crowds(dt_fit *fit);
dt_status dt_fit_find_mates(dt_fit *fit, const dt_watch *watch);

/* How many workers share `items` rounds: no thread for a few of them. */
size_t dt_fit_workers(const dt_fit *fit, size_t items);
/* mm between samples of sides and outlines. */
double dt_fit_step(const dt_fit *fit);
/* The points of a side in the piece's walking direction. */
dt_status dt_fit_side_path(const dt_fit *fit, uint32_t piece, uint32_t index, dt_arena *arena, dt_path *out);
/* From the drawn piece to the walker's loop: members of the leader's class, turned over where the walker is. */
dt_pose dt_fit_to_walker(const dt_fit *fit, uint32_t piece, uint32_t walker);

#endif
