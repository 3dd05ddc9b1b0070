/* compare.h - two drafts of one puzzle side by side: what became of each piece, what went wrong or was mended, what it
 * did to the difficulty.
 *
 * Vocabulary: OLD is the earlier draft, NOW the later one. A piece is the SAME where its outline has not moved by more
 * than DT_COMPARE_SAME_MM, CHANGED where it still covers its old place, else GONE; a piece of now without an old one is
 * NEW. What WENT was in old only, what CAME is in now only.
 */
#ifndef DOVETELL_COMPARE_H
#define DOVETELL_COMPARE_H

#include <dovetell/analysis.h>

#define DT_COMPARE_SAME_MM 0.02 /* twice the flatness of curves: less is how the curve was flattened, not drawn */
#define DT_COMPARE_FAULT_MM 2.0 /* a fault of the same kind this near is the same fault */

/* The figures of one draft that stand side by side. */
typedef struct dt_figures {
    size_t pieces, edge_pieces, whimsies, voids;
    size_t twins, near_twins, turners, false_mates, alike_sides;
    size_t faults[DT_FAULT_KINDS], all_faults;
    size_t locked_joints, sliding_joints, free_joints;
    double cut_length_mm, width_mm, height_mm, narrowest_neck_mm; /* INFINITY without a neck */
    double points, median_min;
    double cutting_min; /* at the laser; INFINITY = no speed was given */
    double factors[DT_FACTORS];
    dt_band band;
    dt_assembly_verdict assembly;
    dt_verdict verdict;
} dt_figures;

dt_figures dt_figures_of(const dt_analysis *analysis);

typedef struct dt_pair {
    dt_piece_id a, b;
} dt_pair;

typedef struct dt_comparison dt_comparison;

/* Compares two analyses, which must outlive the comparison. A draft that was moved as a whole is laid back first. Near
 * linear in points, pairs and look-alikes, and linear in the faults of one draft for each of the other. DT_NO_MEMORY.
 */
dt_status dt_compare_new(const dt_analysis *old, const dt_analysis *now, dt_comparison **out, dt_error *error);
void dt_compare_free(dt_comparison *comparison);

const dt_analysis *dt_compare_old(const dt_comparison *c);
const dt_analysis *dt_compare_now(const dt_comparison *c);
dt_point dt_compare_shift(const dt_comparison *c); /* mm, that lays old on now; (0, 0) unless the whole was moved */

/* What became of a piece of old: its piece in now, or DT_OUTSIDE when it is gone; *differ_mm (may be NULL) the largest
 * distance between the two outlines. And where a piece of now came from. */
dt_piece_id dt_compare_became(const dt_comparison *c, dt_piece_id old, double *differ_mm);
dt_piece_id dt_compare_was(const dt_comparison *c, dt_piece_id now);
size_t dt_compare_same_count(const dt_comparison *c);
size_t dt_compare_changed_count(const dt_comparison *c);

/* Twins that went (as numbered in old) and came (as numbered in now), ascending. */
const dt_pair *dt_compare_twins_went(const dt_comparison *c, size_t *count);
const dt_pair *dt_compare_twins_came(const dt_comparison *c, size_t *count);
/* Pieces with a side that looks like another's, which now has none (in old's numbers) or had none (in now's),
 * ascending. */
const dt_piece_id *dt_compare_alike_went(const dt_comparison *c, size_t *count);
const dt_piece_id *dt_compare_alike_came(const dt_comparison *c, size_t *count);
/* Faults that went and came, as indices for dt_pieces_fault of old and now, worst first. */
const uint32_t *dt_compare_faults_went(const dt_comparison *c, size_t *count);
const uint32_t *dt_compare_faults_came(const dt_comparison *c, size_t *count);

#endif
