/* pentominoes.h - the twelve pentominoes on boards of at most 64 unit cells: a plain exact cover (always the first
 * empty cell), as a yardstick for the general search and as the maker of its drafts. */
#ifndef DOVETELL_TESTS_PENTOMINOES_H
#define DOVETELL_TESTS_PENTOMINOES_H

#include "draft.h"

typedef struct lattice_board {
    unsigned columns, rows;  /* columns x rows <= 64; the search is fast where columns <= rows */
    uint64_t empty;          /* cells that stay empty: bit row * columns + column */
} lattice_board;

typedef struct lattice_result {
    uint64_t fillings;       /* pieces may be turned over; turned and mirrored boards count again */
    uint64_t nodes;          /* pieces laid in all */
    unsigned char owner[64]; /* of the first filling: 1 .. 12 for each cell, 0 = empty */
} lattice_result;

/* Counts at most `most` fillings. */
lattice_result lattice_pentominoes(lattice_board board, uint64_t most);

/* Draws the borders between cells of different owners as straight cut lines, each as long as it can be; a cell is
 * `size` mm wide. The board may have any size here. Borders of holes (owner 0) are left out: draw them in a void layer.
 */
void lattice_draw(draft *d, lattice_board board, const unsigned char *owner, double size);

#endif
