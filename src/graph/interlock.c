/* Groups that come off. Pieces joined by a locked joint move together, so they are one vertex of every blocking graph.
 * Each other pair gives two links, and each link is missing on one arc of directions. As the direction goes once round
 * the circle, links come and go at the ends of those arcs. The arcs are closed, so the fewest links are there just
 * before one comes back: only then is the graph looked at, and only where the proof that it is strongly connected has
 * broken (certificate.h) is igraph asked for its strong components. A component that no link leaves comes off.
 *
 * Links between neighbours suffice where everything ahead of a piece is reached through its neighbours. Across voids
 * and bays, and past slivers thinner than the kerf, it is not: so before a group counts as loose, whatever lies ahead
 * of it is looked at piece by piece, pairs that block after all become links too, and the round begins anew. */
#include "graph/interlock.h"

#include "base/arena.h"
#include "base/array.h"
#include "graph/certificate.h"
#include <math.h>
#include <string.h>

/* Rounds for pairs that block across voids; beyond, a group counts as loose by its neighbours alone. Every round adds
 * at least one pair. */
#define MOST_ROUNDS 200
/* Links looked at for ever smaller groups after one is found: about a second. */
#define MOST_WORK 20000000u
/* No single piece comes off when groups are looked for, so this is the smallest. */
#define SMALLEST_GROUP 2
#define SCRATCH_BYTES ((size_t)4 << 30)

typedef struct event {
    double turn;
    bool back; /* the link comes back, else it goes */
    uint32_t link;
} event;

/* All that belongs to one puzzle on the sheet. */
typedef struct judge {
    const solids *s;
    solids_scratch *joints; /* to work out joints with */
    const neighbours *n;
    const dt_watch *watch;
    const uint32_t *pieces; /* of this puzzle, ascending */
    uint32_t piece_count;
    DT_ARRAY(freedom) pairs; /* of neighbours, and of pieces that meet across voids */
    uint32_t *vertex;        /* per piece of the draft */
    bool *grouped;           /* per piece of the draft: in the group at hand; all false in between */
    dt_arena scratch;        /* of one round */
    uint32_t vertex_count;
    link *links;
    arc *missing; /* per link */
    uint32_t link_count;
    event *events;
    uint32_t event_count;
    certificate proof;
    size_t work;
    bool trusting; /* the last round: what lies beyond the neighbours is not looked at any more */
    bool again;    /* pairs were added: this round's graph is out of date */
    loose_group best;
} judge;

/* ---- one vertex for all pieces that are locked to each other ---- */

static uint32_t root_of(uint32_t *up, uint32_t v) {
    while (up[v] != v) v = up[v] = up[up[v]];
    return v;
}

/* The smaller piece becomes the root, so vertices are numbered in the order of their first pieces. */
static void contract(judge *j) {
    uint32_t *up = j->vertex;
    for (uint32_t i = 0; i < j->piece_count; i++) up[j->pieces[i]] = j->pieces[i];
    for (size_t i = 0; i < j->pairs.count; i++) {
        if (j->pairs.items[i].any) continue;
        uint32_t a = root_of(up, j->pairs.items[i].a), b = root_of(up, j->pairs.items[i].b);
        up[a > b ? a : b] = a > b ? b : a;
    }
    for (uint32_t i = j->piece_count; i-- > 0;) up[j->pieces[i]] = root_of(up, j->pieces[i]);
    j->vertex_count = 0;
    for (uint32_t i = 0; i < j->piece_count; i++) { /* roots come before the pieces below them */
        uint32_t p = j->pieces[i];
        up[p] = up[p] == p ? j->vertex_count++ : up[up[p]];
    }
}

/* ---- links, and the directions in which each is missing ---- */

static int by_turn(const void *first, const void *second) {
    const event *x = first, *y = second;
    if (x->turn != y->turn) return x->turn < y->turn ? -1 : 1;
    if (x->back != y->back) return x->back ? 1 : -1;
    return (x->link > y->link) - (x->link < y->link);
}

static void add_link(judge *j, uint32_t from, uint32_t to, arc missing) {
    uint32_t i = j->link_count++;
    j->links[i] = (link){from, to};
    j->missing[i] = missing;
    j->events[j->event_count++] = (event){missing.from, false, i};
    j->events[j->event_count++] = (event){missing.to >= 4 ? missing.to - 4 : missing.to, true, i};
}

static dt_status make_links(judge *j) {
    size_t most = 2 * j->pairs.count;
    j->links = DT_TAKE(&j->scratch, most, link);
    j->missing = DT_TAKE(&j->scratch, most, arc);
    j->events = DT_TAKE(&j->scratch, 2 * most, event);
    if (!j->links || !j->missing || !j->events) return DT_NO_MEMORY;
    j->link_count = j->event_count = 0;
    for (size_t i = 0; i < j->pairs.count; i++) {
        const freedom *f = &j->pairs.items[i];
        uint32_t a = j->vertex[f->a], b = j->vertex[f->b];
        if (a == b) continue;
        add_link(j, b, a, f->widest);
        add_link(j, a, b, arc_opposite(f->widest));
    }
    if (j->event_count) qsort(j->events, j->event_count, sizeof(event), by_turn);
    return certificate_new(j->vertex_count, j->links, j->link_count, &j->proof);
}

/* ---- the smallest group that no link leaves ---- */

typedef struct parts {
    uint32_t *of; /* per vertex */
    size_t count;
    uint32_t *sizes; /* per part, in pieces */
    bool *held;      /* per part: some link leaves it */
} parts;

static dt_status find_parts(judge *j, dt_arena *scratch, parts *out) {
    uint32_t *of = DT_TAKE(scratch, j->vertex_count, uint32_t), *sizes = DT_TAKE(scratch, j->vertex_count, uint32_t);
    bool *held = DT_TAKE(scratch, j->vertex_count, bool);
    link *present = DT_TAKE(scratch, j->link_count, link);
    if (!of || !sizes || !held || !present) return DT_NO_MEMORY;
    size_t links = 0, count = 0;
    for (uint32_t i = 0; i < j->link_count; i++)
        if (j->proof.present[i]) present[links++] = j->links[i];
    dt_status status = network_strong_parts(j->vertex_count, present, links, of, &count);
    if (status != DT_OK) return status;
    for (size_t i = 0; i < links; i++)
        if (of[present[i].from] != of[present[i].to]) held[of[present[i].from]] = true;
    for (uint32_t i = 0; i < j->piece_count; i++) sizes[of[j->vertex[j->pieces[i]]]]++;
    *out = (parts){of, count, sizes, held};
    return DT_OK;
}

/* The part with the fewest pieces that comes off; of equals the one with the first piece. */
static uint32_t smallest_part(const judge *j, const parts *p) {
    uint32_t best = UINT32_MAX;
    for (uint32_t i = 0; i < j->piece_count; i++) {
        uint32_t part = p->of[j->vertex[j->pieces[i]]];
        if (!p->held[part] && (best == UINT32_MAX || p->sizes[part] < p->sizes[best])) best = part;
    }
    return best;
}

/* The middle of all directions round `turn` in which no link leaves the part. */
static double middle_turn(const judge *j, const parts *p, uint32_t part, double turn) {
    double back = 4, on = 4;
    for (uint32_t i = 0; i < j->link_count; i++) {
        if (p->of[j->links[i].from] != part || p->of[j->links[i].to] == part) continue;
        back = fmin(back, fmod(turn - j->missing[i].from + 4, 4));
        on = fmin(on, fmod(j->missing[i].to - turn + 4, 4));
    }
    return back + on < 4 ? fmod(turn + 0.5 * (on - back) + 4, 4) : turn;
}

/* ---- what lies ahead of a group beyond its neighbours ---- */

typedef struct check {
    judge *j;
    double turn;
    bool blocked;
} check;

static dt_status check_pair(void *context, uint32_t p, uint32_t other) {
    check *c = context;
    judge *j = c->j;
    if (j->grouped[other] || neighbours_find(j->n, (dt_piece_id){p}, (dt_piece_id){other}) != SIZE_MAX) return DT_OK;
    freedom f;
    dt_status status = solids_freedom(j->s, j->joints, p < other ? p : other, p < other ? other : p, &f);
    if (status != DT_OK) return status;
    if (f.any && arc_holds(f.b == p ? f.widest : arc_opposite(f.widest), c->turn)) return DT_OK;
    c->blocked = true;
    return dt_array_push(&j->pairs, f) ? DT_OK : DT_NO_MEMORY;
}

static dt_status keep_group(judge *j, uint32_t size, double turn) {
    dt_piece_id *pieces = malloc(size * sizeof *pieces);
    if (!pieces) return DT_NO_MEMORY;
    uint32_t count = 0;
    for (uint32_t i = 0; i < j->piece_count; i++)
        if (j->grouped[j->pieces[i]]) pieces[count++].v = j->pieces[i];
    free(j->best.pieces);
    j->best = (loose_group){pieces, count, turn_to_degrees(turn)};
    return DT_OK;
}

/* Keeps the part as the best group, or adds the pairs that hold it after all. */
static dt_status try_part(judge *j, const parts *p, uint32_t part, double turn) {
    check c = {j, middle_turn(j, p, part, turn), false};
    dt_status status = DT_OK;
    for (uint32_t i = 0; i < j->piece_count; i++) j->grouped[j->pieces[i]] = p->of[j->vertex[j->pieces[i]]] == part;
    for (uint32_t i = 0; status == DT_OK && !j->trusting && i < j->piece_count; i++)
        if (j->grouped[j->pieces[i]]) status = solids_ahead(j->s, j->pieces[i], c.turn, check_pair, &c);
    if (status == DT_OK && !c.blocked) status = keep_group(j, p->sizes[part], c.turn);
    for (uint32_t i = 0; i < j->piece_count; i++) j->grouped[j->pieces[i]] = false;
    j->again = c.blocked;
    return status;
}

static dt_status look_for_group(judge *j, double turn) {
    if (dt_watch_stopped(j->watch)) return DT_STOPPED;
    dt_arena scratch = DT_ARENA(SCRATCH_BYTES);
    parts p;
    dt_status status = find_parts(j, &scratch, &p);
    j->work += j->link_count + j->vertex_count;
    if (status != DT_OK) goto done;
    uint32_t part = smallest_part(j, &p);
    if (j->best.count == 0 || p.sizes[part] < j->best.count) status = try_part(j, &p, part, turn);
done:
    dt_arena_free(&scratch);
    return status;
}

/* ---- once round the circle ---- */

static bool is_settled(const judge *j) {
    return j->again || (j->best.count && (j->best.count <= SMALLEST_GROUP || j->work > MOST_WORK));
}

static dt_status go_round(judge *j) {
    dt_status status = DT_OK;
    double turn = 0;
    bool fewer = true; /* links have gone since the last look */
    for (uint32_t i = 0; i < j->link_count; i++)
        if (j->missing[i].to >= 4) certificate_remove(&j->proof, i);
    for (uint32_t i = 0; status == DT_OK && i <= j->event_count && !is_settled(j); i++) {
        const event *e = i < j->event_count ? &j->events[i] : NULL;
        if (fewer && (!e || e->back)) {
            if (!certificate_is_strong(&j->proof)) status = look_for_group(j, turn);
            fewer = false;
        }
        if (!e) break;
        if (e->back) {
            certificate_restore(&j->proof, e->link);
        } else {
            certificate_remove(&j->proof, e->link);
            fewer = true;
            turn = e->turn;
        }
    }
    return status;
}

static dt_status judge_puzzle(judge *j) {
    dt_status status = DT_OK;
    for (int round = 0; status == DT_OK && round < MOST_ROUNDS; round++) {
        contract(j);
        if (j->vertex_count < 2) break;
        j->again = false;
        j->trusting = round == MOST_ROUNDS - 1;
        j->scratch = (dt_arena)DT_ARENA(SCRATCH_BYTES);
        status = make_links(j);
        if (status == DT_OK) status = go_round(j);
        certificate_free(&j->proof);
        dt_arena_free(&j->scratch);
        if (!j->again) break;
    }
    return status;
}

/* ---- puzzle by puzzle ---- */

static dt_status take_puzzle(judge *j, const freedom *freedoms, const uint32_t *order, uint32_t count) {
    j->pairs.count = 0;
    for (uint32_t i = 0; i < count; i++)
        if (!dt_array_push(&j->pairs, freedoms[order[i]])) return DT_NO_MEMORY;
    return judge_puzzle(j);
}

/* Pairs by puzzle: order[start[k]] .. order[start[k + 1] - 1] are those of puzzle k. Both have room for it. */
static void sort_pairs(const solids *s, const neighbours *n, uint32_t *order, uint32_t *start) {
    uint32_t *next = start + 1; /* next[k] runs from the start of puzzle k to its end */
    for (size_t i = 0; i < n->pair_count; i++) next[s->puzzle[n->pairs[i].a.v] + 1]++;
    for (uint32_t k = 0; k < s->puzzle_count; k++) next[k + 1] += next[k];
    for (uint32_t i = 0; i < n->pair_count; i++) order[next[s->puzzle[n->pairs[i].a.v]]++] = i;
}

dt_status interlock_find(const solids *s, solids_scratch *scratch, const neighbours *n, const freedom *freedoms, const dt_watch *watch,
                         loose_group *out) {
    dt_arena arena = DT_ARENA(SCRATCH_BYTES);
    judge j = {.s = s, .joints = scratch, .n = n, .watch = watch, .best = {NULL, 0, NAN}};
    dt_status status = DT_NO_MEMORY;
    uint32_t *order = DT_TAKE(&arena, n->pair_count, uint32_t), *start = DT_TAKE(&arena, s->puzzle_count + 2, uint32_t);
    j.vertex = DT_TAKE(&arena, s->count, uint32_t);
    j.grouped = DT_TAKE(&arena, s->count, bool);
    if (!order || !start || !j.vertex || !j.grouped) goto done;
    sort_pairs(s, n, order, start);
    status = DT_OK;
    for (uint32_t k = 0; status == DT_OK && k < s->puzzle_count; k++) {
        j.pieces = s->members + s->start[k];
        j.piece_count = solids_puzzle_size(s, k);
        if (j.piece_count > 1) status = take_puzzle(&j, freedoms, order + start[k], start[k + 1] - start[k]);
    }
done:
    if (status == DT_OK)
        *out = j.best;
    else
        free(j.best.pieces);
    dt_array_free(&j.pairs);
    dt_arena_free(&arena);
    return status;
}

/* ---- what is told of a group ---- */

dt_status loose_group_single(const loosest_piece *loosest, loose_group *out) {
    dt_piece_id *pieces = malloc(sizeof *pieces);
    if (!pieces) return DT_NO_MEMORY;
    pieces[0].v = loosest->piece;
    double degrees = 0.5 * (turn_to_degrees(loosest->widest.from) + turn_to_degrees(loosest->widest.to));
    *out = (loose_group){pieces, 1, fmod(degrees, 360)};
    return DT_OK;
}

static int by_id(const void *first, const void *second) {
    const dt_piece_id *a = first, *b = second;
    return (a->v > b->v) - (a->v < b->v);
}

static bool in_group(const loose_group *group, dt_piece_id id) {
    return bsearch(&id, group->pieces, group->count, sizeof id, by_id) != NULL;
}

void loose_group_mend(const loose_group *group, const neighbours *n, dt_piece_id *a, dt_piece_id *b) {
    const dt_neighbours *best = NULL;
    for (size_t i = 0; group->count && i < n->pair_count; i++) {
        const dt_neighbours *pair = &n->pairs[i];
        if (best && pair->border_mm <= best->border_mm) continue;
        if (in_group(group, pair->a) != in_group(group, pair->b)) best = pair;
    }
    *a = best ? best->a : DT_OUTSIDE;
    *b = best ? best->b : DT_OUTSIDE;
}
