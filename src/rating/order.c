/* The order in which the places are filled (see model.h): growth from a start, always the open place that shows the
 * largest share of its neighbours. A heap with an entry for each time a place opens further; entries that no longer
 * hold are passed over when they come up. Invariants: known[p] counts the neighbours of p that lie; opened[p] numbers
 * the open places in turn. */
#include "rating/model.h"

#include "base/array.h"
#include <stdlib.h>

typedef struct open_place {
    uint32_t known, of, opened, place;
} open_place;

typedef struct growth {
    const model *m;
    DT_ARRAY(open_place) heap;
    uint32_t *known;
    uint32_t *opened; /* by place, from 1; 0 = not open yet */
    uint32_t *laid;   /* by place, turn + 1; 0 = not laid */
    uint32_t *starts; /* places in the order in which they would be started from */
    uint32_t next_start, open_count, lying;
    bool backwards; /* outlines are walked the other way */
} growth;

static bool comes_first(open_place a, open_place b) {
    uint64_t left = (uint64_t)a.known * b.of, right = (uint64_t)b.known * a.of;
    if (left != right) return left > right;
    if (a.known != b.known) return a.known > b.known;
    return a.opened < b.opened;
}

static bool heap_push(growth *g, open_place entry) {
    if (!dt_array_push(&g->heap, entry)) return false;
    open_place *h = g->heap.items;
    size_t i = g->heap.count - 1;
    for (size_t up = (i - 1) / 2; i > 0 && comes_first(entry, h[up]); i = up, up = (i - 1) / 2) h[i] = h[up];
    h[i] = entry;
    return true;
}

static open_place heap_pop(growth *g) {
    open_place *h = g->heap.items, top = h[0], last = h[--g->heap.count];
    size_t i = 0;
    for (size_t down; (down = 2 * i + 1) < g->heap.count; i = down) {
        if (down + 1 < g->heap.count && comes_first(h[down + 1], h[down])) down++;
        if (!comes_first(h[down], last)) break;
        h[i] = h[down];
    }
    h[i] = last;
    return top;
}

/* Where the walk round the neighbours begins: behind the one that lay first, else behind the rim; walked backwards,
 * before it. */
static uint32_t walk_start(const growth *g, const model_place *p) {
    uint32_t count = p->neighbour_count, first = UINT32_MAX, at = 0;
    for (uint32_t i = 0; i < count; i++)
        if (g->laid[p->neighbours[i]] && g->laid[p->neighbours[i]] < first) {
            first = g->laid[p->neighbours[i]];
            at = i;
        }
    if (first == UINT32_MAX) return g->backwards ? (p->after_rim + count - 1) % count : p->after_rim;
    return (at + (g->backwards ? count - 1 : 1)) % count;
}

static bool lay(growth *g, uint32_t place) {
    const model_place *p = &g->m->places[place];
    uint32_t count = p->neighbour_count, at = count ? walk_start(g, p) : 0;
    g->laid[place] = ++g->lying;
    for (uint32_t i = 0; i < count; i++, at = (at + (g->backwards ? count - 1 : 1)) % count) {
        uint32_t n = p->neighbours[at];
        if (g->laid[n]) continue;
        if (!g->opened[n]) g->opened[n] = ++g->open_count;
        if (!heap_push(g, (open_place){++g->known[n], g->m->places[n].neighbour_count, g->opened[n], n})) return false;
    }
    return true;
}

static bool take_open(growth *g, uint32_t *place) {
    while (g->heap.count) {
        open_place top = heap_pop(g);
        *place = top.place;
        if (!g->laid[top.place] && g->known[top.place] == top.known) return true;
    }
    return false;
}

static uint32_t take_start(growth *g) {
    while (g->laid[g->starts[g->next_start]]) g->next_start++;
    return g->starts[g->next_start];
}

typedef struct candidate {
    double size;
    uint32_t place;
    uint8_t rank;
} candidate;

/* Corners, then edge pieces, then the rest, the largest first. */
static int by_start(const void *a, const void *b) {
    const candidate *x = a, *y = b;
    if (x->rank != y->rank) return x->rank < y->rank ? -1 : 1;
    if (x->size != y->size) return x->size > y->size ? -1 : 1;
    return (x->place > y->place) - (x->place < y->place);
}

static bool list_starts(growth *g, dt_arena *arena) {
    uint32_t count = g->m->count;
    candidate *list = DT_TAKE(arena, count, candidate);
    g->starts = DT_TAKE(arena, count, uint32_t);
    if (!list || !g->starts) return false;
    for (uint32_t i = 0; i < count; i++) list[i] = (candidate){g->m->places[i].size, i, g->m->places[i].start_rank};
    if (count) qsort(list, count, sizeof *list, by_start);
    for (uint32_t i = 0; i < count; i++) g->starts[i] = list[i].place;
    return true;
}

dt_status model_order(const model *m, bool backwards, dt_arena *arena, uint32_t *order, bool *starts) {
    growth g = {.m = m, .backwards = backwards};
    dt_status status = DT_NO_MEMORY;
    g.known = DT_TAKE(arena, m->count, uint32_t);
    g.opened = DT_TAKE(arena, m->count, uint32_t);
    g.laid = DT_TAKE(arena, m->count, uint32_t);
    if (!g.known || !g.opened || !g.laid || !list_starts(&g, arena)) goto done;
    for (uint32_t t = 0; t < m->count; t++) {
        bool is_start = !take_open(&g, &order[t]);
        if (is_start) order[t] = take_start(&g);
        starts[order[t]] = is_start;
        if (!lay(&g, order[t])) goto done;
    }
    status = DT_OK;
done:
    dt_array_free(&g.heap);
    return status;
}
