/* smooth.h - rings without corners: nothing leads from one piece to the next there, so the search begins anew on them.
 *
 * Vocabulary: a ring is SMOOTH where no line may part from it: a round hole, an outline without corners. It is BARE where nothing lies
 * along it yet. Whatever lies along a bare smooth ring either FILLS it, being bounded by a ring of the same shape, or has a corner on it.
 * Such a corner may lie anywhere: it is tried at steps short enough that what comes to lie a step off still seats. What is laid so has SLID:
 * an assembly is then met at several places, each of them the same within the play.
 */
#ifndef DOVETELL_ASSEMBLY_SMOOTH_H
#define DOVETELL_ASSEMBLY_SMOOTH_H

#include "assembly/state.h"

typedef struct dt_filling_body {
    uint32_t body;
    dt_pose pose;            /* in the axes of the body whose ring it fills */
} dt_filling_body;

typedef struct dt_ring_fillings {
    uint32_t first, count;   /* in `fillings` */
} dt_ring_fillings;

typedef struct dt_smooth {
    dt_state *state;
    dt_arena arena;
    dt_body *outlines;       /* per body: its outer ring alone */
    dt_map known;            /* ring of a body -> index in `rings` */
    DT_ARRAY(dt_ring_fillings) rings;
    DT_ARRAY(dt_filling_body) fillings;
    double longest;          /* mm: no line of a corner is longer */
    bool slid;               /* corners have been tried along a ring */
} dt_smooth;

typedef struct dt_bare_ring {
    uint32_t placement, ring;
    double arc;              /* where it is bare */
    bool alone;              /* one piece fills it: as many bare holes are left as pieces */
    bool hopeless;           /* more bare holes are left than pieces */
} dt_bare_ring;

/* Made when first needed. Free in any case. */
void dt_smooth_start(dt_state *state, dt_smooth *smooth);
void dt_smooth_free(dt_smooth *smooth);

/* A bare smooth ring, or placement = DT_NONE. false: no memory. O(laid). */
bool dt_smooth_find(dt_smooth *smooth, dt_bare_ring *out);

/* Calls take for each placement that could lie along the ring where it is bare. false: no memory, or take said so. */
bool dt_smooth_seeds(dt_smooth *smooth, const dt_bare_ring *bare, bool (*take)(void *context, uint32_t placement), void *context);

#endif
