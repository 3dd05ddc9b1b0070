/* Counting the assemblies of a sheet of alike knobs by trying every piece at every place: see knobbed.h. A piece is its
 * four sides in clockwise order; a filling is written down as the sides that show at each place. */
#include "knobbed.h"

#include <check.h>
#include <string.h>

enum { MOST_PLACES = 16, SIDES = 4 };

typedef struct tile {
    unsigned char side[SIDES]; /* right, below, left, above */
} tile;

typedef struct counter {
    unsigned rows, columns, tile_count, kind_count;
    bool two_sided;
    tile kinds[MOST_PLACES][2 * SIDES]; /* all ways that a kind can lie */
    unsigned ways[MOST_PLACES], left[MOST_PLACES];
    tile laid[MOST_PLACES];
    uint64_t fillings, distinct;
} counter;

static tile turned(tile t) {
    return (tile){{t.side[3], t.side[0], t.side[1], t.side[2]}};
}

/* Left and right change places, and every side is seen from its other end. */
static tile turned_over(tile t) {
    tile out = {{t.side[2], t.side[1], t.side[0], t.side[3]}};
    for (int i = 0; i < SIDES; i++)
        if (out.side[i]) out.side[i] ^= 1;
    return out;
}

static bool same(tile a, tile b) {
    return memcmp(a.side, b.side, SIDES) == 0;
}

static void add_ways(counter *c, unsigned kind, tile t) {
    for (int i = 0; i < (c->two_sided ? 8 : 4); i++) {
        bool known = false;
        for (unsigned w = 0; w < c->ways[kind]; w++) known = known || same(c->kinds[kind][w], t);
        if (!known) c->kinds[kind][c->ways[kind]++] = t;
        t = i == 3 ? turned_over(t) : turned(t);
    }
}

static void add_tile(counter *c, tile t) {
    for (unsigned k = 0; k < c->kind_count; k++)
        for (unsigned w = 0; w < c->ways[k]; w++)
            if (same(c->kinds[k][w], t)) {
                c->left[k]++;
                return;
            }
    c->left[c->kind_count] = 1;
    add_ways(c, c->kind_count++, t);
}

static bool mate(unsigned char a, unsigned char b) {
    return a && b && (a ^ b) == 3;
}

static bool fits(const counter *c, unsigned place, tile t) {
    unsigned row = place / c->columns, column = place % c->columns;
    if (column == 0 ? t.side[2] != 0 : !mate(t.side[2], c->laid[place - 1].side[0])) return false;
    if (row == 0 ? t.side[3] != 0 : !mate(t.side[3], c->laid[place - c->columns].side[1])) return false;
    return (t.side[0] == 0) == (column + 1 == c->columns) && (t.side[1] == 0) == (row + 1 == c->rows);
}

/* symmetry: quarter turns 0 .. 3, and 4 = turned over first. */
static void image_of(const counter *c, unsigned symmetry, tile *out) {
    for (unsigned p = 0; p < c->rows * c->columns; p++) {
        unsigned row = p / c->columns, column = p % c->columns, rows = c->rows, columns = c->columns;
        tile t = c->laid[p];
        if (symmetry & 4) {
            t = turned_over(t);
            column = columns - 1 - column;
        }
        for (unsigned q = 0; q < (symmetry & 3);
             q++) { /* right goes below: column to row, row to column from the right */
            unsigned swap = rows;
            unsigned old_row = row;
            t = turned(t);
            row = column;
            column = rows - 1 - old_row;
            rows = columns;
            columns = swap;
        }
        out[row * columns + column] = t;
    }
}

static void take_filling(counter *c) {
    tile image[MOST_PLACES];
    size_t bytes = c->rows * c->columns * sizeof(tile);
    c->fillings++;
    for (unsigned s = 1; s < (c->two_sided ? 8u : 4u); s++) {
        if ((s & 1) && c->rows != c->columns) continue;
        image_of(c, s, image);
        if (memcmp(image, c->laid, bytes) < 0) return;
    }
    c->distinct++;
}

static void lay_from(counter *c, unsigned place) {
    if (place == c->rows * c->columns) {
        take_filling(c);
        return;
    }
    for (unsigned k = 0; k < c->kind_count; k++)
        for (unsigned w = 0; c->left[k] && w < c->ways[k]; w++) {
            if (!fits(c, place, c->kinds[k][w])) continue;
            c->left[k]--;
            c->laid[place] = c->kinds[k][w];
            lay_from(c, place + 1);
            c->left[k]++;
        }
}

void knobbed_count(const knobbed *k, bool two_sided, uint64_t *fillings, uint64_t *distinct) {
    counter c = {.two_sided = two_sided};
    knobbed_size(k, &c.rows, &c.columns);
    ck_assert_uint_le(c.rows * c.columns, MOST_PLACES);
    for (unsigned p = 0; p < c.rows * c.columns; p++) {
        tile t;
        grid_cell cell = {(int)(p / c.columns), (int)(p % c.columns)};
        for (unsigned s = 0; s < SIDES; s++) t.side[s] = (unsigned char)knobbed_side(k, cell, s);
        add_tile(&c, t);
    }
    lay_from(&c, 0);
    *fillings = c.fillings;
    *distinct = c.distinct;
}
