/* Dissections of boards of cells, counted the plain way: see cover.h. The first free cell is covered by each kind of
 * piece that is left, at each of its turns. A filling is written down as the number of each cell's piece; of its images
 * under the board's symmetries it counts as distinct where it is the least. */
#include "cover.h"

#include <check.h>
#include <string.h>

enum { MOST_SHAPES = 8 };

typedef struct cells {
    int count;
    int x[COVER_MOST_CELLS], y[COVER_MOST_CELLS]; /* in reading order, the first at (0, 0) */
} cells;

typedef struct kind {
    cells shapes[MOST_SHAPES];
    int shape_count;
    unsigned left;
} kind;

typedef struct solver {
    const dissection *d;
    kind kinds[COVER_MOST_PIECES];
    unsigned kind_count, symmetries;
    bool two_sided;
    unsigned laid;
    unsigned char lies[COVER_MOST_CELLS]; /* 0 = free, else the number in the order of laying */
    cover_count found;
} solver;

/* ---- shapes ---- */

static bool comes_first(const cells *s, int i, int j) {
    return s->y[i] != s->y[j] ? s->y[i] < s->y[j] : s->x[i] < s->x[j];
}

static void swap_cells(cells *s, int i, int j) {
    int x = s->x[i], y = s->y[i];
    s->x[i] = s->x[j];
    s->y[i] = s->y[j];
    s->x[j] = x;
    s->y[j] = y;
}

static cells in_order(cells s) {
    for (int i = 1; i < s.count; i++)
        for (int j = i; j > 0 && comes_first(&s, j, j - 1); j--) swap_cells(&s, j, j - 1);
    int x = s.x[0], y = s.y[0];
    for (int i = 0; i < s.count; i++) {
        s.x[i] -= x;
        s.y[i] -= y;
    }
    return s;
}

static bool same_cells(const cells *a, const cells *b) {
    size_t bytes = (size_t)a->count * sizeof *a->x;
    return a->count == b->count && memcmp(a->x, b->x, bytes) == 0 && memcmp(a->y, b->y, bytes) == 0;
}

static void add_shapes(kind *k, cells s, bool two_sided) {
    for (int turn = 0; turn < (two_sided ? 8 : 4); turn++) {
        s = in_order(s);
        bool known = false;
        for (int i = 0; i < k->shape_count; i++) known = known || same_cells(&k->shapes[i], &s);
        if (!known) k->shapes[k->shape_count++] = s;
        for (int i = 0; i < s.count; i++) {
            int x = s.x[i];
            s.x[i] = turn == 3 ? s.y[i] : -s.y[i]; /* after four quarters one mirror image, then four more */
            s.y[i] = x;
        }
    }
}

static cells piece_cells(const dissection *d, unsigned piece) {
    cells s = {0};
    for (unsigned i = 0; i < d->columns * d->rows; i++)
        if (d->owner[i] == piece) {
            s.x[s.count] = (int)(i % d->columns);
            s.y[s.count++] = (int)(i / d->columns);
        }
    return in_order(s);
}

static void sort_into_kinds(solver *v) {
    for (unsigned p = 1; p <= v->d->pieces; p++) {
        cells s = piece_cells(v->d, p);
        bool joined = false;
        for (unsigned k = 0; k < v->kind_count && !joined; k++)
            for (int i = 0; i < v->kinds[k].shape_count && !joined; i++)
                joined = same_cells(&v->kinds[k].shapes[i], &s) && ++v->kinds[k].left;
        if (joined) continue;
        v->kinds[v->kind_count].left = 1;
        add_shapes(&v->kinds[v->kind_count++], s, v->two_sided);
    }
}

/* ---- symmetries of the board ---- */

/* The cell that cell i goes to: symmetry bits: 1 = transposed, 2 = columns reversed, 4 = rows reversed. */
static unsigned image_of(const dissection *d, unsigned i, unsigned symmetry) {
    unsigned x = i % d->columns, y = i / d->columns;
    if (symmetry & 1) {
        unsigned swap = x;
        x = y;
        y = swap;
    }
    if (symmetry & 2) x = d->columns - 1 - x;
    if (symmetry & 4) y = d->rows - 1 - y;
    return y * d->columns + x;
}

static bool is_turn(unsigned symmetry) {
    return symmetry == 0 || symmetry == 6 || symmetry == 3 || symmetry == 5; /* an even number of reflections */
}

static bool is_symmetry(const solver *v, unsigned symmetry) {
    if ((symmetry & 1) && v->d->columns != v->d->rows) return false;
    if (!v->two_sided && !is_turn(symmetry)) return false;
    for (unsigned i = 0; i < v->d->columns * v->d->rows; i++)
        if ((v->d->owner[i] == 0) != (v->d->owner[image_of(v->d, i, symmetry)] == 0)) return false;
    return true;
}

/* The filling in reading order, pieces numbered as they are met. */
static void read_filling(const solver *v, unsigned symmetry, unsigned char *out) {
    unsigned char moved[COVER_MOST_CELLS], number[COVER_MOST_PIECES + 1] = {0}, next = 1;
    for (unsigned i = 0; i < v->d->columns * v->d->rows; i++) moved[image_of(v->d, i, symmetry)] = v->lies[i];
    for (unsigned i = 0; i < v->d->columns * v->d->rows; i++) {
        unsigned char laid = moved[i];
        if (v->d->owner[i] && laid && !number[laid]) number[laid] = next++;
        out[i] = v->d->owner[i] ? number[laid] : 0;
    }
}

static void take_filling(solver *v) {
    unsigned char here[COVER_MOST_CELLS], image[COVER_MOST_CELLS];
    size_t n = v->d->columns * v->d->rows;
    read_filling(v, 0, here);
    v->found.fillings++;
    for (unsigned s = 1; s < 8; s++) {
        if (!(v->symmetries >> s & 1)) continue;
        read_filling(v, s, image);
        if (memcmp(image, here, n) < 0) return;
    }
    v->found.distinct++;
}

/* ---- counting ---- */

static bool lay(solver *v, const cells *s, unsigned at, unsigned char number) {
    int x0 = (int)(at % v->d->columns), y0 = (int)(at / v->d->columns);
    unsigned taken[COVER_MOST_CELLS];
    for (int i = 0; i < s->count; i++) {
        int x = x0 + s->x[i], y = y0 + s->y[i];
        if (x < 0 || y < 0 || x >= (int)v->d->columns || y >= (int)v->d->rows) return false;
        taken[i] = (unsigned)y * v->d->columns + (unsigned)x;
        if (!v->d->owner[taken[i]] || v->lies[taken[i]]) return false;
    }
    for (int i = 0; i < s->count; i++) v->lies[taken[i]] = number;
    return true;
}

static void take_up(solver *v, unsigned char number) {
    for (unsigned i = 0; i < v->d->columns * v->d->rows; i++)
        if (v->lies[i] == number) v->lies[i] = 0;
}

static void cover(solver *v) {
    unsigned at = 0, n = v->d->columns * v->d->rows;
    while (at < n && (v->lies[at] || !v->d->owner[at])) at++;
    if (at == n) {
        take_filling(v);
        return;
    }
    unsigned char number = (unsigned char)(v->laid + 1);
    for (unsigned k = 0; k < v->kind_count; k++)
        for (int i = 0; v->kinds[k].left && i < v->kinds[k].shape_count; i++) {
            if (!lay(v, &v->kinds[k].shapes[i], at, number)) continue;
            v->laid++;
            v->kinds[k].left--;
            cover(v);
            v->kinds[k].left++;
            v->laid--;
            take_up(v, number);
        }
}

cover_count count_covers(const dissection *d, bool two_sided) {
    solver v = {.d = d, .two_sided = two_sided};
    sort_into_kinds(&v);
    for (unsigned s = 0; s < 8; s++)
        if (is_symmetry(&v, s)) v.symmetries |= 1u << s;
    cover(&v);
    return v.found;
}

/* ---- random dissections ---- */

static unsigned parts_of(const dissection *d, bool whole_board, unsigned char *part) {
    unsigned n = d->columns * d->rows, parts = 0;
    memset(part, 0, COVER_MOST_CELLS);
    for (unsigned start = 0; start < n; start++) {
        if (!d->owner[start] || part[start]) continue;
        unsigned char stack[COVER_MOST_CELLS * 4];
        unsigned used = 0;
        stack[used++] = (unsigned char)start;
        part[start] = (unsigned char)++parts;
        while (used) {
            unsigned i = stack[--used], x = i % d->columns;
            unsigned beside[4] = {x ? i - 1 : n, x + 1 < d->columns ? i + 1 : n, i >= d->columns ? i - d->columns : n,
                                  i + d->columns};
            for (int b = 0; b < 4; b++) {
                unsigned j = beside[b];
                if (j >= n || !d->owner[j] || part[j] || (!whole_board && d->owner[j] != d->owner[i])) continue;
                part[j] = (unsigned char)parts;
                stack[used++] = (unsigned char)j;
            }
        }
    }
    return parts;
}

/* Takes a cell off the board where that leaves it in one piece and touching nowhere in a point only. */
static void take_cell(dissection *d, uint64_t *state) {
    unsigned char part[COVER_MOST_CELLS];
    unsigned at = (unsigned)(draft_random(state) * d->columns * d->rows);
    unsigned char before = d->owner[at];
    d->owner[at] = 0;
    bool fine = parts_of(d, true, part) == 1;
    for (unsigned y = 0; y + 1 < d->rows; y++)
        for (unsigned x = 0; x + 1 < d->columns; x++) {
            const unsigned char *o = d->owner + y * d->columns + x;
            bool a = o[0], b = o[1], c = o[d->columns], e = o[d->columns + 1];
            fine = fine && !(a == e && b == c && a != b);
        }
    if (!fine) d->owner[at] = before;
}

/* Every cell a piece of its own at first; then pieces side by side are joined while that makes none too large. */
dissection dissect(unsigned columns, unsigned rows, unsigned size, unsigned holes, uint64_t seed) {
    dissection d = {.columns = columns, .rows = rows};
    unsigned n = columns * rows, count[COVER_MOST_CELLS + 1] = {0};
    uint64_t state = seed * 2862933555777941757u + 3037000493u;
    ck_assert_uint_le(n, COVER_MOST_CELLS);
    for (unsigned i = 0; i < n; i++) d.owner[i] = 1;
    for (unsigned h = 0; h < holes; h++) take_cell(&d, &state);
    for (unsigned i = 0; i < n; i++) {
        if (d.owner[i]) d.owner[i] = (unsigned char)(i + 1);
        count[i + 1] = 1;
    }
    for (int tries = 0; tries < 400; tries++) {
        unsigned i = (unsigned)(draft_random(&state) * n), down = draft_random(&state) < 0.5,
                 j = down ? i + columns : i + 1;
        if (j >= n || (!down && j % columns == 0) || !d.owner[i] || !d.owner[j] || d.owner[i] == d.owner[j]) continue;
        if (count[d.owner[i]] + count[d.owner[j]] > size + (draft_random(&state) < 0.3)) continue;
        unsigned char gone = d.owner[j], stays = d.owner[i];
        count[stays] += count[gone];
        for (unsigned k = 0; k < n; k++)
            if (d.owner[k] == gone) d.owner[k] = stays;
    }
    unsigned char part[COVER_MOST_CELLS];
    d.pieces = parts_of(&d, false, part);
    ck_assert_uint_le(d.pieces, COVER_MOST_PIECES);
    memcpy(d.owner, part, sizeof part);
    return d;
}

/* ---- drawing ---- */

enum { OFF_BOARD = -1, VOID = 0 };

/* The owner of a cell; OFF_BOARD where nothing of the board lies around it. */
static int owner_at(const dissection *from, const unsigned char *inner, int x, int y) {
    if (x < 0 || y < 0 || x >= (int)from->columns || y >= (int)from->rows) return OFF_BOARD;
    unsigned i = (unsigned)y * from->columns + (unsigned)x;
    return from->owner[i] ? from->owner[i] : inner[i] ? VOID : OFF_BOARD;
}

/* Cells off the board that no way over such cells leads out of. */
static void find_voids(const dissection *from, unsigned char *inner) {
    unsigned n = from->columns * from->rows;
    for (unsigned i = 0; i < n; i++) {
        unsigned x = i % from->columns, y = i / from->columns;
        inner[i] = !from->owner[i] && x && y && x + 1 < from->columns && y + 1 < from->rows;
    }
    for (unsigned round = 0; round < n; round++)
        for (unsigned i = 0; i < n; i++)
            if (inner[i])
                for (int b = 0; b < 4; b++) {
                    unsigned beside = b == 0 ? i - 1 : b == 1 ? i + 1 : b == 2 ? i - from->columns : i + from->columns;
                    if (!from->owner[beside] && !inner[beside]) inner[i] = 0;
                }
}

void draw_dissection(draft *d, const dissection *from, double cell) {
    unsigned char inner[COVER_MOST_CELLS];
    find_voids(from, inner);
    for (int y = 0; y <= (int)from->rows; y++)
        for (int x = 0; x <= (int)from->columns; x++) {
            int here = owner_at(from, inner, x, y), left = owner_at(from, inner, x - 1, y),
                above = owner_at(from, inner, x, y - 1);
            if (here != left && here != VOID && left != VOID)
                draft_segment(d, x * cell, y * cell, x * cell, (y + 1) * cell);
            if (here != above && here != VOID && above != VOID)
                draft_segment(d, x * cell, y * cell, (x + 1) * cell, y * cell);
        }
    draft_layer(d, "void", DT_ROLE_VOID);
    for (int y = 0; y < (int)from->rows; y++)
        for (int x = 0; x < (int)from->columns; x++)
            if (owner_at(from, inner, x, y) == VOID) draft_rectangle(d, x * cell, y * cell, cell, cell);
    draft_layer(d, NULL, DT_ROLE_CUT);
}
