/* fit.h - where else a piece would go: twins, turners, look-alikes, false mates.
 *
 * Vocabulary: a PLACE is the hole that a piece leaves in the finished puzzle. MISMATCH of a piece and a place: over all
 * turns, shifts and (where allowed) flips, the smallest possible largest distance between the two outlines, in mm. A
 * pose always carries the drawn piece to where it would lie.
 */
#ifndef DOVETELL_FIT_H
#define DOVETELL_FIT_H

#include <dovetell/pieces.h>

typedef struct dt_match {
    dt_piece_id a, b;      /* twins: a < b, pose carries a into b's place. Turners: a == b */
    dt_pose pose;
    double turn;           /* degrees, counter-clockwise as seen; NAN = any turn (a disc) */
    double mismatch_mm;
    dt_point differ_at;    /* where, in b's place, the outlines are farthest apart */
    bool only_flipped; /* fits only when turned over (pose.flipped); with a one-faced sheet it is no real double fit */
} dt_match;

/* b's outline seats along a whole seam of a that belongs to instead_of, and b and a do not overlap there by more than
 * the kerf. Twins of instead_of are left out: they are listed as twins. */
typedef struct dt_false_mate {
    dt_piece_id a, b, instead_of;
    dt_seam_id seam;
    dt_pose pose;          /* carries b there */
    double length_mm, mismatch_mm;
} dt_false_mate;

/* A piece that looks as if it belonged on a side of a place. */
typedef struct dt_candidate {
    dt_piece_id piece;
    dt_pose pose;          /* carries it there; the identity for the true piece */
    double
        deviation_mm; /* largest distance, both ways, between the side and the stretch of b's outline at this pose; the
                         first few of a side are at their best pose on small drafts, the others at one within the eye */
} dt_candidate;

typedef struct dt_fit dt_fit;

typedef enum dt_fit_list {
    DT_LIST_TWINS,
    DT_LIST_NEAR_TWINS,
    DT_LIST_TURNERS,
    DT_LIST_LOOK_ALIKES,
    DT_LIST_FALSE_MATES,
    DT_FIT_LISTS
} dt_fit_list;

/* Uses kerf_mm, eye_mm, two_sided, and threads, which changes no result. Memory is bounded by limits in the source.
 * Where something was left out dt_fit_is_whole says false: on a large sheet of much alike sides only the nearest
 * stretches are looked at, and then k is "at least"; near twins are sought on sheets of up to 2,500 pieces, from 250 on
 * with a small chance of missing some that are only just alike. */
dt_status dt_fit_new(const dt_pieces *pieces, const dt_settings *settings, const dt_watch *watch, dt_fit **out,
                     dt_error *error);
void dt_fit_free(dt_fit *fit);

/* Twins (mismatch <= kerf), near twins (kerf < mismatch <= eye): sorted by (a, b). Turners sorted by piece, then turn:
 * one entry for each other way; ways that are the same to within the kerf are one. */
size_t dt_fit_twin_count(const dt_fit *fit);
const dt_match *dt_fit_twin(const dt_fit *fit, size_t index);
size_t dt_fit_near_twin_count(const dt_fit *fit);
const dt_match *dt_fit_near_twin(const dt_fit *fit, size_t index);
size_t dt_fit_turner_count(const dt_fit *fit);
const dt_match *dt_fit_turner(const dt_fit *fit, size_t index);
size_t dt_fit_false_mate_count(const dt_fit *fit);
const dt_false_mate *dt_fit_false_mate(const dt_fit *fit, size_t index);

/* The piece-to-piece sides, looked at from the place: side `index` of piece `place` as in dt_piece.sides. count
 * includes the true piece; 0 for sides to the outside or a void. Candidates are sorted by deviation, then piece;
 * *listed may be below the count when a list was cut short. */
size_t dt_fit_side_k(const dt_fit *fit, dt_piece_id place, size_t index);
const dt_candidate *dt_fit_side_candidates(const dt_fit *fit, dt_piece_id place, size_t index, size_t *listed);
/* Pieces that match all sides of `place` with known[index] true at one pose (the true piece included). known has
 * side_count entries. With none known: all pieces. `loose` (NULL = all) tells which pieces are still on the table. */
size_t dt_fit_place_k(const dt_fit *fit, dt_piece_id place, const bool *known, const bool *loose);
typedef struct dt_rival {
    dt_piece_id piece;
    bool only_flipped;     /* matches only when turned over */
} dt_rival;
/* Asks the same of many places, with scratch that is kept between them; borrows the fit. One thread at a time.
 * DT_NO_MEMORY. */
typedef struct dt_rivals dt_rivals;
dt_status dt_rivals_new(const dt_fit *fit, dt_rivals **out);
void dt_rivals_free(dt_rivals *rivals);
/* The pieces of dt_fit_place_k, loose or not and without the true one, each once, into list (room for as many as there
 * are pieces). *hidden is the estimated number of further ones, where lists were cut short: who they are is not known.
 * DT_NO_MEMORY. */
dt_status dt_rivals_of(dt_rivals *rivals, dt_piece_id place, const bool *known, dt_rival *list, size_t *count,
                       double *hidden);
/* The same by classes of pieces alike, so that a sheet of a few shapes is answered at once: all members of each class,
 * but the true piece. Classes are numbered below the count of pieces. */
typedef struct dt_rival_class {
    uint32_t class_id;
    bool only_flipped[2];  /* members that lie as the class's first one; members that lie turned over */
} dt_rival_class;
/* list has room for as many as there are pieces. DT_NO_MEMORY. */
dt_status dt_rivals_by_class(dt_rivals *rivals, dt_piece_id place, const bool *known, dt_rival_class *list,
                             size_t *count, double *hidden);
uint32_t dt_fit_class(const dt_fit *fit, dt_piece_id piece);
bool dt_fit_lies_over(const dt_fit *fit, dt_piece_id piece); /* turned over against the first of its class */
size_t dt_fit_alike_side_count(const dt_fit *fit);    /* sides with k > 1 */
size_t dt_fit_side_count(const dt_fit *fit);          /* piece-to-piece sides */
double dt_fit_mean_candidates(const dt_fit *fit);
bool dt_fit_is_whole(const dt_fit *fit); /* no list leaves out anything */
/* May something be missing in the list? Then its count is "at least". */
bool dt_fit_leaves_out(const dt_fit *fit, dt_fit_list list);
bool dt_fit_sought_near_twins(const dt_fit *fit); /* false on sheets of very many pieces */

/* ---- mismatch of two shapes, alone ---- */

typedef struct dt_shape {
    dt_path outline;       /* closed, positive area */
    const dt_path *holes;  /* closed, negative area */
    size_t hole_count;
} dt_shape;

dt_shape dt_piece_shape(const dt_piece *piece);
/* The best fit of a onto b, over all turns and shifts, and flips where allowed. Symmetric in its arguments, to 0.005
 * mm. For shapes quite unlike (a mismatch of a tenth of their size and more) it may be a few per cent above the best
 * there is. Where the two cannot match within `limit_mm`, out->mismatch_mm is INFINITY (and found much faster). */
dt_status dt_shape_mismatch(dt_shape a, dt_shape b, bool may_flip, double limit_mm, dt_match *out);

#endif
