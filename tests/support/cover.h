/* cover.h - random dissections of boards of unit cells into polyominoes, and a plain exact cover that counts the ways
 * to put the pieces together again: the yardstick of the general search where all lies on a grid. */
#ifndef DOVETELL_TESTS_COVER_H
#define DOVETELL_TESTS_COVER_H

#include "draft.h"

enum { COVER_MOST_CELLS = 36, COVER_MOST_PIECES = 18 };

typedef struct dissection {
    unsigned columns, rows;
    unsigned pieces;
    unsigned char owner[COVER_MOST_CELLS]; /* 1 .. pieces, row by row; 0 = not of the board */
} dissection;

/* Pieces of at most `size` cells, some of one more. At most `holes` cells, anywhere, are taken off the board, which
 * stays in one piece. */
dissection dissect(unsigned columns, unsigned rows, unsigned size, unsigned holes, uint64_t seed);
/* Each step of the borders is a line of its own; cells off the board that the board encloses are voids. cell: mm. */
void draw_dissection(draft *d, const dissection *from, double cell);

typedef struct cover_count {
    uint64_t fillings; /* of the board, alike pieces not told apart */
    uint64_t distinct; /* up to the board's own turns (and mirror images, when two-sided) */
} cover_count;

/* Every way, one by one: exponential in the pieces. */
cover_count count_covers(const dissection *d, bool two_sided);

#endif
