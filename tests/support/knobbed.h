/* knobbed.h - knobbed sheets whose seams can be carried from one group of cells to another, so that other assemblies
 * are planted.
 *
 * Vocabulary: a CELL is a square of the grid, (row, column); its piece has its knobs. A GROUP is a set of cells without
 * a side on the sheet's border. A CARRY is a motion of the grid: quarter turns, then a shift of cells, from the group's
 * own cells to others.
 */
#ifndef DOVETELL_TESTS_KNOBBED_H
#define DOVETELL_TESTS_KNOBBED_H

#include "draft.h"

typedef struct knobbed knobbed;

typedef struct grid_cell {
    int row, column;
} grid_cell;

typedef struct grid_group {
    grid_cell cells[6];
    unsigned count;
} grid_group;

/* First turned over (column -> -column) if flipped, then turned so many quarters (row to column), then so placed that
 * the group's smallest row and column come to `to`. */
typedef struct grid_carry {
    bool flipped;
    unsigned quarters;
    grid_cell to;
} grid_carry;

/* rows x columns, `size` mm; every seam has a shape of its own, corners are off the grid a little. The same seed, the
 * same sheet. */
knobbed *knobbed_new(unsigned rows, unsigned columns, double size, uint64_t seed);
void knobbed_free(knobbed *k);
void knobbed_size(const knobbed *k, unsigned *rows, unsigned *columns);

/* Makes the border of the carried group the exact image of the group's border; seams inside either group stay as they
 * are. The image may be the group itself. Gives the carried cells. */
grid_group knobbed_carry(knobbed *k, const grid_group *group, grid_carry carry);
/* Leaves out the seam between two cells side by side: they become one piece. */
void knobbed_merge(knobbed *k, grid_cell a, grid_cell b);
/* Moves the knob on a cell's side (numbered as in knobbed_side) along its seam, mm. */
void knobbed_nudge(knobbed *k, grid_cell cell, unsigned side, double by);
/* All seams take one of `kinds` (1 to 4) shapes, either way round; the corners lie on the grid. */
void knobbed_alike(knobbed *k, unsigned kinds, uint64_t seed);
/* Side 0 (right), 1 (below), 2 (left), 3 (above) of a cell as its piece shows it: 0 = the sheet's border, else 4 + 4
 * kind + 2 (a knob, not a bay) + 1 (seen from the seam's other end). Two sides mate when they differ in both of the
 * lowest bits; a piece turned over shows the sides in the opposite order with the lowest bit changed. */
unsigned knobbed_side(const knobbed *k, grid_cell cell, unsigned side);

/* All ways to lay the pieces of a sheet whose sides are told apart by knobbed_side alone, alike pieces not told apart;
 * and how many are distinct up to turning the whole (and turning it over). Every way, one by one. */
void knobbed_count(const knobbed *k, bool two_sided, uint64_t *fillings, uint64_t *distinct);

void knobbed_draw(draft *d, const knobbed *k);

#endif
