/* brute_blocking.h - who is in whose way, the slow and plain way, to test src/graph against: outlines reduced by GEOS,
 * one direction at a time, every stretch of one piece against every stretch of the other. Shares no code with
 * src/graph. */
#ifndef DOVETELL_TESTS_BRUTE_BLOCKING_H
#define DOVETELL_TESTS_BRUTE_BLOCKING_H

#include <dovetell/graph.h>

typedef struct brute brute;

/* All pieces reduced by r with GEOS (16 chords to a quarter circle). */
brute *brute_new(const dt_pieces *pieces, double r);
void brute_free(brute *b);

/* From now on things move in this direction: degrees, as in graph.h. */
void brute_turn(brute *b, double degrees);
/* Does `mover` run into `other`? */
bool brute_blocks(const brute *b, uint32_t mover, uint32_t other);

/* blocks[u * count + v]: u runs into v. The size of the smallest group of pieces that no link leaves; a group of
 * whole[u] pieces, u in it, is no group but the whole puzzle. 0 when there is none. By transitive closure: at most 64
 * pieces. */
uint32_t brute_smallest_group(const bool *blocks, const uint32_t *whole, uint32_t count);

/* A sheet of rows x columns cells, `size` mm each, of `labels` kinds at random; neighbouring cells of one kind are one
 * piece. Every corner between the cells is shifted by up to `jitter` mm each way. With bays, cells of kind 0 that reach
 * the rim through each other are left empty. */
typedef struct cells {
    unsigned rows, columns, labels, seed;
    double size, jitter;
    bool bays;
} cells;
struct draft;
void draft_cells(struct draft *d, const cells *c);

/* A sheet of rows x columns squares of 20 mm whose seams are at random straight, a square tab (slides), or a mushroom
 * (locks), with the given shares of straight ones and tabs, the rest mushrooms. */
typedef struct tabs {
    unsigned rows, columns, seed;
    double straight, tab;
} tabs;
void draft_tabs(struct draft *d, const tabs *t);

/* A 60 x 50 mm sheet crossed by 2 to 7 random curves and circles. */
void draft_curves(struct draft *d, unsigned seed);

#endif
