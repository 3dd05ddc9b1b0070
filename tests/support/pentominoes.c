/* Pentominoes on a lattice: see pentominoes.h. */
#include "pentominoes.h"

#include <string.h>

enum { KINDS = 12, CELLS = 5, MOST_SHAPES = 8 };

typedef struct cell {
    int x, y;
} cell;

typedef struct shape {
    cell cells[CELLS]; /* in reading order, the first at (0, 0) */
} shape;

typedef struct solver {
    lattice_board board;
    shape shapes[KINDS][MOST_SHAPES];
    int shape_count[KINDS];
    uint64_t most;
    lattice_result result;
    uint64_t masks[KINDS]; /* where each piece lies */
} solver;

/* F I L N P T U V W X Y Z, as rows of five columns. */
static const char *const pictures[KINDS] = {
    ".##..##....#...", "#####..........", "#...#...#...##.", ".#...#..##..#..", "##..##..#......", "###..#...#.....",
    "#.#..###.......", "#....#....###..", "#....##....##..", ".#...###...#...", "####..#........", "##....#....##..",
};

static int compare_cells(cell a, cell b) {
    return a.y != b.y ? a.y - b.y : a.x - b.x;
}

static shape normal_form(shape s) {
    for (int i = 1; i < CELLS; i++)
        for (int j = i; j > 0 && compare_cells(s.cells[j], s.cells[j - 1]) < 0; j--) {
            cell swap = s.cells[j];
            s.cells[j] = s.cells[j - 1];
            s.cells[j - 1] = swap;
        }
    cell first = s.cells[0];
    for (int i = 0; i < CELLS; i++) s.cells[i] = (cell){s.cells[i].x - first.x, s.cells[i].y - first.y};
    return s;
}

static void add_shape(solver *v, int kind, shape s) {
    s = normal_form(s);
    for (int i = 0; i < v->shape_count[kind]; i++)
        if (memcmp(&v->shapes[kind][i], &s, sizeof s) == 0) return;
    v->shapes[kind][v->shape_count[kind]++] = s;
}

static shape read_picture(const char *picture, int width) {
    shape s = {{{0, 0}}};
    int used = 0;
    for (int i = 0; picture[i] && used < CELLS; i++)
        if (picture[i] == '#') s.cells[used++] = (cell){i % width, i / width};
    return s;
}

static void make_shapes(solver *v) {
    for (int k = 0; k < KINDS; k++) {
        int width = k >= 2 && k <= 5 ? 4 : 5; /* L N P T are drawn in columns of four */
        shape s = read_picture(pictures[k], width);
        for (int turn = 0; turn < 8; turn++) {
            add_shape(v, k, s);
            for (int i = 0; i < CELLS; i++) s.cells[i] = (cell){-s.cells[i].y, s.cells[i].x};
            for (int i = 0; i < CELLS && turn == 3; i++) s.cells[i].x = -s.cells[i].x;
        }
    }
}

/* The cells of a shape laid with its first cell at `at`, or 0 where it leaves the board. */
static uint64_t laid(const solver *v, const shape *s, unsigned at) {
    int x0 = (int)(at % v->board.columns), y0 = (int)(at / v->board.columns);
    uint64_t mask = 0;
    for (int i = 0; i < CELLS; i++) {
        int x = x0 + s->cells[i].x, y = y0 + s->cells[i].y;
        if (x < 0 || y < 0 || x >= (int)v->board.columns || y >= (int)v->board.rows) return 0;
        mask |= (uint64_t)1 << ((unsigned)y * v->board.columns + (unsigned)x);
    }
    return mask;
}

static void note_owners(solver *v) {
    for (int k = 0; k < KINDS; k++)
        for (unsigned i = 0; i < 64; i++)
            if (v->masks[k] >> i & 1) v->result.owner[i] = (unsigned char)(k + 1);
}

static void cover(solver *v, uint64_t taken, unsigned used) {
    if (v->result.fillings >= v->most) return;
    if (used == (1u << KINDS) - 1) {
        if (v->result.fillings++ == 0) note_owners(v);
        return;
    }
    unsigned at = 0;
    while (taken >> at & 1) at++;
    for (int k = 0; k < KINDS; k++)
        for (int i = 0; !(used >> k & 1) && i < v->shape_count[k]; i++) {
            uint64_t mask = laid(v, &v->shapes[k][i], at);
            if (!mask || (mask & taken)) continue;
            v->result.nodes++;
            v->masks[k] = mask;
            cover(v, taken | mask, used | 1u << k);
        }
}

lattice_result lattice_pentominoes(lattice_board board, uint64_t most) {
    solver v = {.board = board, .most = most};
    make_shapes(&v);
    unsigned cells = board.columns * board.rows;
    uint64_t beyond = cells < 64 ? ~(uint64_t)0 << cells : 0;
    cover(&v, board.empty | beyond, 0);
    return v.result;
}

/* -1 beyond the board, 0 in a hole. */
static int owner_at(lattice_board board, const unsigned char *owner, int x, int y) {
    if (x < 0 || y < 0 || x >= (int)board.columns || y >= (int)board.rows) return -1;
    return owner[y * (int)board.columns + x];
}

/* One line of the grid: `across` columns (or rows) long; side(i) tells whether a border runs along its i-th step. */
static void draw_line(draft *d, lattice_board board, const unsigned char *owner, int line, bool upright, double size) {
    int steps = (int)(upright ? board.rows : board.columns), start = -1;
    for (int i = 0; i <= steps; i++) {
        int here = i == steps ? -1 : upright ? owner_at(board, owner, line, i) : owner_at(board, owner, i, line);
        int there = i == steps ? -1
                    : upright  ? owner_at(board, owner, line - 1, i)
                               : owner_at(board, owner, i, line - 1);
        bool border = here != there && here != 0 && there != 0;
        if (border && start < 0) start = i;
        if (border || start < 0) continue;
        if (upright) draft_segment(d, line * size, start * size, line * size, i * size);
        else draft_segment(d, start * size, line * size, i * size, line * size);
        start = -1;
    }
}

void lattice_draw(draft *d, lattice_board board, const unsigned char *owner, double size) {
    for (int y = 0; y <= (int)board.rows; y++) draw_line(d, board, owner, y, false, size);
    for (int x = 0; x <= (int)board.columns; x++) draw_line(d, board, owner, x, true, size);
}
