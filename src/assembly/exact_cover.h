/* exact_cover.h - all choices of rows that cover every column once.
 *
 * Vocabulary: a COLUMN is something that has to be covered once; a ROW covers some of them and is of a KIND, of which
 * only so many may be taken. Rows that have been STRUCK out are taken no more.
 *
 * Method: D. E. Knuth, "Dancing links", 2000: every column keeps a ring of the rows that could still cover it; taking a
 * row unlinks what it excludes, and going back links it in again where it was. Always the column with the fewest rows.
 */
#ifndef DOVETELL_ASSEMBLY_EXACT_COVER_H
#define DOVETELL_ASSEMBLY_EXACT_COVER_H

#include <stdbool.h>
#include <stdint.h>

typedef struct dt_cover_task {
    uint32_t column_count, row_count, kind_count;
    const uint32_t *first; /* of each row's columns in `columns`; row_count + 1 */
    const uint32_t *columns;
    const uint32_t *kind_of_row;
    const uint32_t *kind_room; /* how many rows of a kind may be taken; where it is one, one has to be */
} dt_cover_task;

typedef enum dt_cover_next { DT_COVER_ON, DT_COVER_STOP } dt_cover_next;

typedef struct dt_cover_calls {
    void *context;
    /* Every column is covered by the rows, in the order in which they were taken. */
    dt_cover_next (*found)(void *context, const uint32_t *rows, uint32_t count);
    /* A row is about to be taken. */
    dt_cover_next (*step)(void *context);
    /* The first row has been tried through: strikes out rows that have had their say with it, by dt_cover_strike. */
    void (*tried_first)(void *context, uint32_t row);
} dt_cover_calls;

typedef struct dt_cover dt_cover;

/* NULL: no memory. O(columns of all rows). */
dt_cover *dt_cover_new(const dt_cover_task *task);
void dt_cover_free(dt_cover *cover);

/* Only while no row is taken: in tried_first, or before dt_cover_run. */
void dt_cover_strike(dt_cover *cover, uint32_t row);

/* `root`: the column to begin with, or column_count + k for the kind k of which there is one. false: it was stopped. */
bool dt_cover_run(dt_cover *cover, uint32_t root, const dt_cover_calls *calls);

#endif
