/* Rivals of a place (see rivals.h): what src/fit finds to match every side that shows, in one and the same pose; of a
 * start, of which no side shows yet, its twins and near twins. */
#include "rating/rivals.h"

#include <string.h>

/* The puzzle is played up to four times, and most places show the same sides each time: the answers are kept. */
typedef struct answer {
    struct answer *next; /* of the same place */
    uint64_t known;      /* the sides that show, as bits */
    const model_rival *items;
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
    dt_rival *found;      /* room for one a piece */
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
    f->found = DT_TAKE(arena, count, dt_rival);
    f->answers = DT_TAKE(arena, count, answer *);
    if (f->known && f->answers && f->found && list_twins(f, count, arena) && dt_rivals_new(fit, &f->places) == DT_OK) return f;
    return NULL;
}

void rival_finder_free(rival_finder *finder) {
    if (finder) dt_rivals_free(finder->places);
}

static void add(const rival_finder *f, uint32_t piece, bool only_flipped, model_rivals *out) {
    if (f->two_sided || !only_flipped) out->items[out->count++] = (model_rival){piece, only_flipped};
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
    memcpy(out->items, a->items, a->count * sizeof *a->items);
    out->count = a->count;
    out->hidden = a->hidden;
    return true;
}

/* Nothing depends on whether there is room for it. */
static void keep(rival_finder *f, uint32_t place, uint64_t known, const model_rivals *found) {
    if (f->kept + found->count > MOST_KEPT) return;
    answer *a = DT_TAKE(f->arena, 1, answer);
    model_rival *items = DT_TAKE(f->arena, found->count + 1, model_rival);
    if (!a || !items) return;
    memcpy(items, found->items, found->count * sizeof *items);
    *a = (answer){f->answers[place], known, items, found->count, found->hidden};
    f->answers[place] = a;
    f->kept += found->count;
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
    out->failed |= dt_rivals_of(f->places, (dt_piece_id){place}, f->known, f->found, &count, &out->hidden) != DT_OK;
    for (size_t i = 0; i < count; i++) add(f, f->found[i].piece.v, f->found[i].only_flipped, out);
    if (is_kept && !out->failed) keep(f, place, known, out);
}
