/* Rivals of a place (see rivals.h): what src/fit finds to match every side that shows, in one and the same pose; of a
 * start, of which no side shows yet, its twins and near twins. */
#include "rating/rivals.h"

#include <stdlib.h>
#include <string.h>

/* The puzzle is played up to four times, and most places show the same sides each time: the answers are kept. */
typedef struct answer {
    struct answer *next; /* of the same place */
    uint64_t known;      /* the sides that show, as bits */
    const model_rival *kinds;
    size_t count;
    double hidden;
} answer;

/* Rivals kept altogether, at 8 bytes each: sheets of thousands of pieces that all look alike have millions, and are asked
 * anew then. */
static const size_t MOST_KEPT = (size_t)1 << 22;
enum { MOST_BITS = 64 };

struct rival_finder {
    const dt_pieces *pieces;
    const dt_fit *fit;
    dt_rivals *places;
    bool two_sided;
    bool *known;          /* by side of the place at hand */
    dt_rival_class *found; /* room for one a piece */
    uint32_t *first_kind; /* by class, count + 1 */
    bool *lies_over;      /* by kind: turned over against the first of its class */
    uint32_t *twin_start; /* by piece, count + 1: its stretch of `twins` */
    model_rival *twins;   /* twins and near twins of each piece */
    answer **answers;     /* by place */
    size_t kept;
    dt_arena *arena;
};

static const dt_match *alike_pair(const dt_fit *fit, size_t i) {
    size_t twins = dt_fit_twin_count(fit);
    return i < twins ? dt_fit_twin(fit, i) : dt_fit_near_twin(fit, i - twins);
}

/* Bucket sort of the pairs by each of their two pieces. */
static bool list_twins(rival_finder *f, size_t count, dt_arena *arena) {
    size_t pairs = dt_fit_twin_count(f->fit) + dt_fit_near_twin_count(f->fit);
    f->twin_start = DT_TAKE(arena, count + 2, uint32_t);
    f->twins = DT_TAKE(arena, 2 * pairs, model_rival);
    if (!f->twin_start || !f->twins) return false;
    uint32_t *start = f->twin_start + 2;
    for (size_t i = 0; i < pairs; i++) {
        const dt_match *pair = alike_pair(f->fit, i);
        start[pair->a.v]++;
        start[pair->b.v]++;
    }
    for (size_t i = 2; i < count + 2; i++) f->twin_start[i] += f->twin_start[i - 1];
    for (size_t i = 0; i < pairs; i++) {
        const dt_match *pair = alike_pair(f->fit, i);
        f->twins[f->twin_start[pair->a.v + 1]++] = (model_rival){pair->b.v, pair->only_flipped};
        f->twins[f->twin_start[pair->b.v + 1]++] = (model_rival){pair->a.v, pair->only_flipped};
    }
    return true;
}

rival_finder *rival_finder_new(const dt_pieces *pieces, const dt_fit *fit, const dt_settings *settings,
                               dt_arena *arena) {
    size_t count = dt_pieces_count(pieces), most_sides = 0;
    rival_finder *f = DT_TAKE(arena, 1, rival_finder);
    if (!f) return NULL;
    *f = (rival_finder){.pieces = pieces, .fit = fit, .two_sided = settings->two_sided, .arena = arena};
    for (uint32_t p = 0; p < count; p++) {
        size_t sides = dt_pieces_get(pieces, (dt_piece_id){p})->side_count;
        if (sides > most_sides) most_sides = sides;
    }
    f->known = DT_TAKE(arena, most_sides, bool);
    f->found = DT_TAKE(arena, count, dt_rival_class);
    f->answers = DT_TAKE(arena, count, answer *);
    if (f->known && f->answers && f->found && list_twins(f, count, arena) && dt_rivals_new(fit, &f->places) == DT_OK) return f;
    return NULL;
}

void rival_finder_free(rival_finder *finder) {
    if (finder) dt_rivals_free(finder->places);
}

/* ---- kinds ---- */

typedef struct sortable {
    uint32_t class_id, colour, piece;
    uint8_t over, asks, shows;
} sortable;

static int by_marks(const sortable *a, const sortable *b) {
    if (a->class_id != b->class_id) return a->class_id < b->class_id ? -1 : 1;
    if (a->over != b->over) return a->over < b->over ? -1 : 1;
    if (a->asks != b->asks) return a->asks < b->asks ? -1 : 1;
    if (a->shows != b->shows) return a->shows < b->shows ? -1 : 1;
    return (a->colour > b->colour) - (a->colour < b->colour);
}

static int by_kind(const void *a, const void *b) {
    const sortable *p = a, *q = b;
    int order = by_marks(p, q);
    return order ? order : (p->piece > q->piece) - (p->piece < q->piece);
}

static sortable *sort_pieces(const rival_finder *f, const model *m, dt_arena *arena) {
    sortable *list = DT_TAKE(arena, m->count, sortable);
    for (uint32_t i = 0; list && i < m->count; i++) {
        const model_place *p = &m->places[i];
        list[i] = (sortable){dt_fit_class(f->fit, (dt_piece_id){i}), p->colour, i, dt_fit_lies_over(f->fit, (dt_piece_id){i}),
                             p->asks, p->shows};
    }
    if (list && m->count) qsort(list, m->count, sizeof *list, by_kind);
    return list;
}

/* Kinds of a class are numbered one after the other. */
static void number_kinds(rival_finder *f, const sortable *list, model *m, uint32_t *kind_of, uint32_t *kind_piece) {
    uint32_t next_class = 0;
    for (uint32_t i = 0; i < m->count; i++) {
        if (i == 0 || by_marks(&list[i - 1], &list[i]) != 0) {
            while (next_class <= list[i].class_id) f->first_kind[next_class++] = m->kinds;
            f->lies_over[m->kinds] = list[i].over;
            kind_piece[m->kinds++] = list[i].piece;
        }
        kind_of[list[i].piece] = m->kinds - 1;
    }
    while (next_class <= m->count) f->first_kind[next_class++] = m->kinds;
}

bool rival_finder_kinds(rival_finder *f, model *m, dt_arena *arena) {
    const sortable *list = sort_pieces(f, m, arena);
    uint32_t *kind_of = DT_TAKE(arena, m->count, uint32_t), *kind_piece = DT_TAKE(arena, m->count, uint32_t);
    f->first_kind = DT_TAKE(arena, m->count + 1, uint32_t);
    f->lies_over = DT_TAKE(arena, m->count, bool);
    if (!list || !kind_of || !kind_piece || !f->first_kind || !f->lies_over) return false;
    m->kinds = 0;
    number_kinds(f, list, m, kind_of, kind_piece);
    m->kind_of = kind_of;
    m->kind_piece = kind_piece;
    return true;
}

/* ---- rivals ---- */

static void add(const rival_finder *f, uint32_t piece, bool only_flipped, model_rivals *out) {
    if (f->two_sided || !only_flipped) out->items[out->count++] = (model_rival){piece, only_flipped};
}

static void add_class(const rival_finder *f, const dt_rival_class *class, model_rivals *out) {
    for (uint32_t kind = f->first_kind[class->class_id]; kind < f->first_kind[class->class_id + 1]; kind++) {
        bool only_flipped = class->only_flipped[f->lies_over[kind]];
        if (f->two_sided || !only_flipped) out->kinds[out->kind_count++] = (model_rival){kind, only_flipped};
    }
}

/* The sides that show, as bits too; false where those are too many. */
static bool mark_known(rival_finder *f, uint32_t place, const uint32_t *turn, uint64_t *bits) {
    const dt_piece *piece = dt_pieces_get(f->pieces, (dt_piece_id){place});
    *bits = 0;
    for (size_t i = 0; i < piece->side_count; i++) {
        dt_piece_id across = dt_pieces_across(f->pieces, (dt_piece_id){place}, &piece->sides[i]);
        f->known[i] = DT_IS_PIECE(across) && turn[across.v] < turn[place];
        if (i < MOST_BITS) *bits |= (uint64_t)f->known[i] << i;
    }
    return piece->side_count <= MOST_BITS;
}

static bool recall(const rival_finder *f, uint32_t place, uint64_t known, model_rivals *out) {
    const answer *a = f->answers[place];
    while (a && a->known != known) a = a->next;
    if (!a) return false;
    memcpy(out->kinds, a->kinds, a->count * sizeof *a->kinds);
    out->kind_count = a->count;
    out->hidden = a->hidden;
    return true;
}

/* Nothing depends on whether there is room for it. */
static void keep(rival_finder *f, uint32_t place, uint64_t known, const model_rivals *found) {
    if (f->kept + found->kind_count > MOST_KEPT) return;
    answer *a = DT_TAKE(f->arena, 1, answer);
    model_rival *kinds = DT_TAKE(f->arena, found->kind_count + 1, model_rival);
    if (!a || !kinds) return;
    memcpy(kinds, found->kinds, found->kind_count * sizeof *kinds);
    *a = (answer){f->answers[place], known, kinds, found->kind_count, found->hidden};
    f->answers[place] = a;
    f->kept += found->kind_count;
}

void rivals_of_place(const model *m, uint32_t place, const uint32_t *turn, model_rivals *out) {
    rival_finder *f = m->context;
    size_t count = 0;
    if (!turn) {
        for (uint32_t i = f->twin_start[place]; i < f->twin_start[place + 1]; i++)
            add(f, f->twins[i].piece, f->twins[i].only_flipped, out);
        return;
    }
    uint64_t known;
    bool is_kept = mark_known(f, place, turn, &known);
    if (is_kept && recall(f, place, known, out)) return;
    dt_piece_id id = {place};
    out->failed |= dt_rivals_by_class(f->places, id, f->known, f->found, &count, &out->hidden) != DT_OK;
    for (size_t i = 0; i < count; i++) add_class(f, &f->found[i], out);
    if (is_kept && !out->failed) keep(f, place, known, out);
}
