/* assembly.h - is there another way to put the puzzle together?
 *
 * Vocabulary: a FILLING covers the finished outline with all pieces, each once, within the kerf's play. Alike pieces
 * (twins) are not told apart in a filling. DISTINCT fillings are counted up to turning the whole (and flipping it, when
 * two-sided).
 */
#ifndef DOVETELL_ASSEMBLY_H
#define DOVETELL_ASSEMBLY_H

#include <dovetell/fit.h>
#include <dovetell/graph.h>

typedef enum dt_assembly_verdict { DT_ONE, DT_SEVERAL, DT_UNDECIDED } dt_assembly_verdict;

typedef struct dt_move {
    dt_piece_id piece;
    dt_piece_id place_of;  /* the piece whose place it takes, or DT_OUTSIDE where it lies across several places */
    dt_pose pose;          /* from its drawn place to the other assembly */
} dt_move;

typedef struct dt_assembly {
    dt_assembly_verdict verdict;
    bool counted;          /* fillings and distinct are known at all */
    bool exact;            /* else they are lower bounds */
    uint64_t fillings, distinct;
    uint64_t steps;
    const dt_move *other;  /* the witness: the pieces that moved, by piece */
    size_t other_count;
    const char *why;       /* one sentence: how it was decided, or why it was not */
} dt_assembly;

/* What can be told of a sheet before it is known which of its pieces are twins; needless work where some are. */
typedef struct dt_assembly_begun dt_assembly_begun;
dt_status dt_assembly_begin(const dt_pieces *pieces, const dt_settings *settings, const dt_watch *watch,
                            dt_assembly_begun **out, dt_error *error);
void dt_assembly_begun_free(dt_assembly_begun *begun);

/* Goes on from there, and takes `begun` over whatever it returns. The settings are those that it was begun with. */
dt_status dt_assembly_finish(dt_assembly_begun *begun, const dt_pieces *pieces, const dt_fit *fit,
                             const dt_settings *settings, const dt_watch *watch, dt_assembly **out, dt_error *error);

/* Both at once, without the needless work. Uses kerf_mm, two_sided, steps, count. Stops early (DT_UNDECIDED or what is known)
 * when watch says so. */
dt_status dt_assembly_new(const dt_pieces *pieces, const dt_graph *graph, const dt_fit *fit,
                          const dt_settings *settings, const dt_watch *watch, dt_assembly **out, dt_error *error);
void dt_assembly_free(dt_assembly *assembly);

/* An independent check of a witness with GEOS: all pieces laid, none overlapping another or the outside by more than
 * the play, everything covered, and not merely the same assembly turned. NULL, or a sentence that says what is wrong.
 */
extern const char dt_assembly_unverified[]; /* the sentence when memory runs out: nothing was checked */
extern const char dt_assembly_turned[];     /* the sentence when it is the same assembly turned: all else holds */
const char *dt_assembly_verify(const dt_pieces *pieces, const dt_settings *settings, const dt_move *moves,
                               size_t count);

#endif
