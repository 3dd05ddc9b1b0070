/* Knobbed sheets with planted assemblies: see knobbed.h. A seam runs from corner to corner of the grid; its knob is
 * fixed by its shape, its sign, and the end from which it is drawn, and all three are carried by a motion. */
#include "knobbed.h"

#include <check.h>
#include <stdlib.h>
#include <string.h>

enum { SHAPE = 6 };
static const double JITTER = 0.08; /* of a cell, each way */

typedef struct seam {
    double shape[SHAPE];
    unsigned kind;
    int sign;
    bool backwards, missing;
} seam;

struct knobbed {
    int rows, columns;
    double size;
    dt_point *off; /* corners from their place on the grid */
    seam *across;  /* from corner (r, c) to (r, c + 1) */
    seam *down;    /* from corner (r, c) to (r + 1, c) */
};

static size_t at(const knobbed *k, grid_cell corner) {
    ck_assert(corner.row >= 0 && corner.row <= k->rows && corner.column >= 0 && corner.column <= k->columns);
    return (size_t)(corner.row * (k->columns + 1) + corner.column);
}

static void random_seam(seam *s, uint64_t *state) {
    for (int i = 0; i < SHAPE; i++) s->shape[i] = draft_random(state);
    s->sign = draft_random(state) < 0.5 ? -1 : 1;
}

knobbed *knobbed_new(unsigned rows, unsigned columns, double size, uint64_t seed) {
    size_t corners = (size_t)(rows + 1) * (columns + 1);
    knobbed *k = calloc(1, sizeof *k);
    ck_assert_ptr_nonnull(k);
    *k = (knobbed){(int)rows, (int)columns, size, calloc(corners, sizeof *k->off), calloc(corners, sizeof *k->across),
                   calloc(corners, sizeof *k->down)};
    ck_assert(k->off && k->across && k->down);
    uint64_t state = seed * 104729 + 17;
    for (int r = 0; r <= k->rows; r++)
        for (int c = 0; c <= k->columns; c++) {
            size_t i = at(k, (grid_cell){r, c});
            double x = JITTER * (2.0 * draft_random(&state) - 1.0), y = JITTER * (2.0 * draft_random(&state) - 1.0);
            k->off[i] = (dt_point){c > 0 && c < k->columns ? x : 0.0, r > 0 && r < k->rows ? y : 0.0};
            random_seam(&k->across[i], &state);
            random_seam(&k->down[i], &state);
        }
    return k;
}

void knobbed_free(knobbed *k) {
    free(k->off);
    free(k->across);
    free(k->down);
    free(k);
}

void knobbed_size(const knobbed *k, unsigned *rows, unsigned *columns) {
    *rows = (unsigned)k->rows;
    *columns = (unsigned)k->columns;
}

/* ---- motions of the grid ---- */

typedef struct motion {
    int m[2][2]; /* (row, column) -> m (row, column) + shift, for corners */
    grid_cell shift;
} motion;

static grid_cell moved(const motion *m, grid_cell p) {
    return (grid_cell){m->m[0][0] * p.row + m->m[0][1] * p.column + m->shift.row,
                       m->m[1][0] * p.row + m->m[1][1] * p.column + m->shift.column};
}

/* A cell by its first corner: the least of its four corners when moved. */
static grid_cell moved_cell(const motion *m, grid_cell cell) {
    grid_cell a = moved(m, cell), b = moved(m, (grid_cell){cell.row + 1, cell.column + 1});
    return (grid_cell){a.row < b.row ? a.row : b.row, a.column < b.column ? a.column : b.column};
}

static dt_point moved_offset(const motion *m, dt_point off) {
    return (dt_point){m->m[1][0] * off.y + m->m[1][1] * off.x, m->m[0][0] * off.y + m->m[0][1] * off.x};
}

static int is_turned_over(const motion *m) {
    return m->m[0][0] * m->m[1][1] - m->m[0][1] * m->m[1][0] < 0;
}

static motion motion_of(const grid_group *group, grid_carry carry) {
    motion m = {{{1, 0}, {0, carry.flipped ? -1 : 1}}, {0, 0}};
    for (unsigned q = 0; q < carry.quarters; q++) { /* row -> column, column -> -row */
        int top[2] = {m.m[0][0], m.m[0][1]};
        m.m[0][0] = -m.m[1][0];
        m.m[0][1] = -m.m[1][1];
        m.m[1][0] = top[0];
        m.m[1][1] = top[1];
    }
    grid_cell least = moved_cell(&m, group->cells[0]);
    for (unsigned i = 1; i < group->count; i++) {
        grid_cell c = moved_cell(&m, group->cells[i]);
        least = (grid_cell){c.row < least.row ? c.row : least.row, c.column < least.column ? c.column : least.column};
    }
    m.shift = (grid_cell){carry.to.row - least.row, carry.to.column - least.column};
    return m;
}

/* ---- carrying ---- */

static bool holds(const grid_group *group, grid_cell cell) {
    for (unsigned i = 0; i < group->count; i++)
        if (group->cells[i].row == cell.row && group->cells[i].column == cell.column) return true;
    return false;
}

/* The ends of a cell's side 0 .. 3 (right, below, left, above), in the seam's own direction. */
static void ends_of(grid_cell cell, unsigned side, grid_cell *from, grid_cell *to) {
    bool is_down = side % 2 == 0;
    *from = (grid_cell){cell.row + (side == 1), cell.column + (side == 0)};
    *to = (grid_cell){from->row + is_down, from->column + !is_down};
}

static seam *seam_between(const knobbed *k, grid_cell from, grid_cell to) {
    return from.row == to.row ? &k->across[at(k, from)] : &k->down[at(k, from)];
}

static bool is_before(grid_cell a, grid_cell b) {
    return a.row != b.row ? a.row < b.row : a.column < b.column;
}

static void carry_seam(knobbed *k, const motion *m, grid_cell from, grid_cell to) {
    grid_cell a = moved(m, from), b = moved(m, to);
    seam s = *seam_between(k, from, to);
    if (is_turned_over(m)) s.sign = -s.sign;
    bool swapped = is_before(b, a);
    s.backwards ^= swapped;
    seam *there = swapped ? seam_between(k, b, a) : seam_between(k, a, b);
    *there = s;
    if (there == seam_between(k, from, to)) { /* its own image: the knob has to be */
        there->shape[0] = 0.5;
        there->shape[5] = there->shape[4];
    }
}

static void carry_corner(knobbed *k, const motion *m, grid_cell corner) {
    size_t here = at(k, corner), there = at(k, moved(m, corner));
    dt_point image = moved_offset(m, k->off[here]);
    k->off[there] = here == there ? dt_point_scale(dt_point_add(k->off[here], image), 0.5) : image;
}

/* Onto itself, each seam and its image are carried both ways, to the same end. */
grid_group knobbed_carry(knobbed *k, const grid_group *group, grid_carry carry) {
    static const grid_cell beyond[4] = {{0, 1}, {1, 0}, {0, -1}, {-1, 0}};
    motion m = motion_of(group, carry);
    for (unsigned i = 0; i < group->count; i++)
        for (unsigned side = 0; side < 4; side++) {
            grid_cell cell = group->cells[i], from, to;
            if (holds(group, (grid_cell){cell.row + beyond[side].row, cell.column + beyond[side].column})) continue;
            ends_of(cell, side, &from, &to);
            carry_seam(k, &m, from, to);
            carry_corner(k, &m, from);
            carry_corner(k, &m, to);
        }
    grid_group out = {.count = group->count};
    for (unsigned i = 0; i < group->count; i++) out.cells[i] = moved_cell(&m, group->cells[i]);
    return out;
}

void knobbed_merge(knobbed *k, grid_cell a, grid_cell b) {
    grid_cell later = is_before(a, b) ? b : a;
    if (a.row == b.row) k->down[at(k, later)].missing = true;
    else k->across[at(k, later)].missing = true;
}

void knobbed_nudge(knobbed *k, grid_cell cell, unsigned side, double by) {
    static const double PLACE_PER_SHAPE =
        0.2; /* of draft_knob: how far the knob goes over the whole range of its place, of the seam's length */
    grid_cell from, to;
    ends_of(cell, side, &from, &to);
    seam_between(k, from, to)->shape[0] += by / (PLACE_PER_SHAPE * k->size);
}

/* Far from each other and from their own mirror images. */
static const double ALIKE_SHAPES[4][SHAPE] = {{0.1, 0.5, 0.4, 0.6, 0.4, 0.6},
                                              {0.65, 0.5, 0.8, 0.3, 0.6, 0.35},
                                              {0.4, 0.5, 0.2, 0.8, 0.65, 0.5},
                                              {0.95, 0.5, 0.6, 0.1, 0.4, 0.3}};

void knobbed_alike(knobbed *k, unsigned kinds, uint64_t seed) {
    uint64_t state = seed * 15485863 + 3;
    size_t corners = (size_t)(k->rows + 1) * (size_t)(k->columns + 1);
    ck_assert_uint_le(kinds, 4);
    for (size_t i = 0; i < 2 * corners; i++) {
        seam *s = i % 2 ? &k->across[i / 2] : &k->down[i / 2];
        k->off[i / 2] = (dt_point){0.0, 0.0};
        s->kind = (unsigned)(draft_random(&state) * kinds);
        s->sign = draft_random(&state) < 0.5 ? -1 : 1;
        s->backwards = draft_random(&state) < 0.5;
        memcpy(s->shape, ALIKE_SHAPES[s->kind], sizeof s->shape);
    }
}

/* ---- what it looks like ---- */

static bool is_border(const knobbed *k, grid_cell cell, unsigned side) {
    return (side == 0 && cell.column + 1 == k->columns) || (side == 1 && cell.row + 1 == k->rows) ||
           (side == 2 && cell.column == 0) || (side == 3 && cell.row == 0);
}

unsigned knobbed_side(const knobbed *k, grid_cell cell, unsigned side) {
    grid_cell from, to;
    if (is_border(k, cell, side)) return 0;
    ends_of(cell, side, &from, &to);
    const seam *s = seam_between(k, from, to);
    /* Clockwise round the piece as seen: the right side runs down, the lower one back, the left one up, the upper one
     * on. */
    bool walked_back = side == 1 || side == 2, from_other_end = walked_back != s->backwards;
    /* A positive sign bulges to the seam's right as seen (y runs down), which is the inside of a piece walked
     * clockwise. */
    bool is_knob = (s->sign > 0) == from_other_end;
    return 4 + 4 * s->kind + 2u * is_knob + from_other_end;
}

static dt_point corner_of(const knobbed *k, grid_cell p) {
    dt_point off = k->off[at(k, p)];
    return (dt_point){(p.column + off.x) * k->size, (p.row + off.y) * k->size};
}

static void draw_seam(draft *d, const knobbed *k, grid_cell from, grid_cell to) {
    const seam *s = seam_between(k, from, to);
    if (s->missing) return;
    dt_point a = corner_of(k, from), b = corner_of(k, to);
    draft_move(d, s->backwards ? b : a);
    draft_knob(d, s->backwards ? b : a, s->backwards ? a : b, s->sign, s->shape);
}

void knobbed_draw(draft *d, const knobbed *k) {
    draft_rectangle(d, 0, 0, k->columns * k->size, k->rows * k->size);
    for (int r = 1; r < k->rows; r++)
        for (int c = 0; c < k->columns; c++) draw_seam(d, k, (grid_cell){r, c}, (grid_cell){r, c + 1});
    for (int c = 1; c < k->columns; c++)
        for (int r = 0; r < k->rows; r++) draw_seam(d, k, (grid_cell){r, c}, (grid_cell){r + 1, c});
}
