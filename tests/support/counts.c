/* Drafts with published counts. Sources: pentominoes in rectangles: C. B. and J. Haselgrove, A computer program for
 * pentominoes, Eureka 23, 1960; 8 x 8 with a hole: D. Scott, Programming a combinatorial puzzle, Princeton 1958;
 * dominoes: P. W. Kasteleyn 1961, H. N. V. Temperley and M. E. Fisher 1961 (from memory); Stomachion: W. Cutler 2003,
 * and R. Netz, F. Acerbi and N. Wilson, SCIAMVS 5, 2004; squared rectangles: Z. Moron 1925; the squared square of order
 * 21: A. J. W. Duijvestijn, J. Combin. Theory B 25, 1978. The count of the tangram's square is a re-count by two
 * searches. */
#include "counts.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double PENTOMINO_CELL_MM = 10.0, DOMINO_CELL_MM = 15.0, STOMACHION_MM = 10.0, TANGRAM_MM = 20.0;

static lattice_board pentomino_board(unsigned columns, unsigned rows) {
    return (lattice_board){columns, rows, 0};
}

static void draw_pentominoes(draft *d, lattice_board board) {
    lattice_result first = lattice_pentominoes(board, 1);
    lattice_draw(d, board, first.owner, PENTOMINO_CELL_MM);
}

static void draw_3x20(draft *d) { draw_pentominoes(d, pentomino_board(3, 20)); }
static void draw_4x15(draft *d) { draw_pentominoes(d, pentomino_board(4, 15)); }
static void draw_5x12(draft *d) { draw_pentominoes(d, pentomino_board(5, 12)); }
static void draw_6x10(draft *d) { draw_pentominoes(d, pentomino_board(6, 10)); }

static void draw_8x8(draft *d) {
    draw_pentominoes(d, (lattice_board){8, 8, (uint64_t)3 << 27 | (uint64_t)3 << 35});
    draft_layer(d, "void", DT_ROLE_VOID);
    draft_rectangle(d, 3 * PENTOMINO_CELL_MM, 3 * PENTOMINO_CELL_MM, 2 * PENTOMINO_CELL_MM, 2 * PENTOMINO_CELL_MM);
    draft_layer(d, NULL, DT_ROLE_CUT);
}

static void draw_dominoes(draft *d, unsigned side) {
    unsigned char owner[64];
    for (unsigned i = 0; i < side * side; i++)
        owner[i] = (unsigned char)(1 + i / 2); /* side is even: all lie along the rows */
    lattice_draw(d, (lattice_board){side, side, 0}, owner, DOMINO_CELL_MM);
}

static void draw_dominoes_4(draft *d) { draw_dominoes(d, 4); }
static void draw_dominoes_6(draft *d) { draw_dominoes(d, 6); }

/* Lays squares one by one into the highest, leftmost gap (y runs down). */
static void draw_squares(draft *d, unsigned columns, unsigned rows, const unsigned *sizes, double unit) {
    unsigned char *owner = calloc(columns * rows, 1);
    unsigned *filled = calloc(columns, sizeof *filled);
    for (unsigned i = 0; owner && filled && sizes[i]; i++) {
        unsigned left = 0;
        for (unsigned x = 1; x < columns; x++)
            if (filled[x] < filled[left]) left = x;
        unsigned top = filled[left];
        for (unsigned x = left; x < left + sizes[i]; x++) {
            for (unsigned y = top; y < top + sizes[i]; y++) owner[y * columns + x] = (unsigned char)(i + 1);
            filled[x] = top + sizes[i];
        }
    }
    if (owner && filled) lattice_draw(d, (lattice_board){columns, rows, 0}, owner, unit);
    free(owner);
    free(filled);
}

static void draw_33x32(draft *d) {
    draw_squares(d, 33, 32, (const unsigned[]){18, 15, 7, 8, 14, 4, 10, 1, 9, 0}, 4.0);
}

static void draw_69x61(draft *d) {
    draw_squares(d, 69, 61, (const unsigned[]){36, 33, 5, 28, 25, 9, 2, 7, 16, 0}, 3.0);
}

static void draw_112x112(draft *d) {
    draw_squares(d, 112, 112,
                 (const unsigned[]){50, 35, 27, 8, 19, 15, 17, 11, 6, 24, 29, 25, 9, 2, 7, 18, 16, 42, 4, 37, 33, 0},
                 3.0);
}

typedef struct line {
    double x1, y1, x2, y2;
} line;

static void draw_lines(draft *d, const line *lines, size_t count, double unit) {
    for (size_t i = 0; i < count; i++)
        draft_segment(d, lines[i].x1 * unit, lines[i].y1 * unit, lines[i].x2 * unit, lines[i].y2 * unit);
}

static void draw_stomachion(draft *d) {
    static const line lines[] = {{0, 6, 12, 0}, {0, 6, 12, 6}, {0, 6, 12, 12}, {0, 12, 12, 0}, {2, 10, 12, 12},
                                 {4, 0, 6, 3},  {6, 0, 6, 3},  {6, 3, 12, 6},  {6, 9, 12, 9},  {8, 10, 12, 9}};
    draft_rectangle(d, 0, 0, 12 * STOMACHION_MM, 12 * STOMACHION_MM);
    draw_lines(d, lines, sizeof lines / sizeof *lines, STOMACHION_MM);
}

static void draw_tangram(draft *d) {
    static const line lines[] = {{0, 4, 4, 0}, {0, 0, 3, 3}, {2, 4, 4, 2}, {3, 1, 4, 2}, {3, 3, 1, 3}};
    draft_rectangle(d, 0, 0, 4 * TANGRAM_MM, 4 * TANGRAM_MM);
    draw_lines(d, lines, sizeof lines / sizeof *lines, TANGRAM_MM);
}

const counted_draft counted_drafts[] = {
    {"pentominoes-3x20", draw_3x20, 8, 2, true},
    {"pentominoes-4x15", draw_4x15, 1472, 368, true},
    {"pentominoes-5x12", draw_5x12, 4040, 1010, true},
    {"pentominoes-6x10", draw_6x10, 9356, 2339, true},
    {"pentominoes-8x8-hole", draw_8x8, 520, 65, true},
    {"dominoes-4x4", draw_dominoes_4, 36, 0, true},
    {"dominoes-6x6", draw_dominoes_6, 6728, 0, true},
    {"stomachion", draw_stomachion, 4288, 536, false},
    {"tangram", draw_tangram, 8, 1, true},
    {"squares-33x32", draw_33x32, 4, 1, true},
    {"squares-69x61", draw_69x61, 4, 1, true},
    {"squares-112x112", draw_112x112, 8, 1, false},
};
const size_t counted_draft_count = sizeof counted_drafts / sizeof *counted_drafts;

const counted_draft *counted_draft_named(const char *name) {
    for (size_t i = 0; i < counted_draft_count; i++)
        if (strcmp(counted_drafts[i].name, name) == 0) return &counted_drafts[i];
    fprintf(stderr, "no draft of the name %s\n", name);
    abort();
}
