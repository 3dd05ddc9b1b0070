/* The order in which the places are filled (see model.h): growth from a start, always the open place that shows the largest
 * share of its neighbours. A heap with an entry for each time a place opens further; entries that no longer hold are passed
 * over when they come up. Invariant: known[p] counts the neighbours of p that lie. */
#include "rating/model.h"

#include "base/array.h"

typedef struct open_place {
    uint32_t known, of, place;
} open_place;

typedef struct growth {
    const model *m;
    DT_ARRAY(open_place) heap;
    uint32_t *known;
    bool *lies;
} growth;

static bool comes_first(open_place a, open_place b) {
    uint64_t left = (uint64_t)a.known * b.of, right = (uint64_t)b.known * a.of;
    if (left != right) return left > right;
    if (a.known != b.known) return a.known > b.known;
    return a.place < b.place;
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

static bool lay(growth *g, uint32_t place) {
    const model_place *p = &g->m->places[place];
    g->lies[place] = true;
    for (uint32_t i = 0; i < p->neighbour_count; i++) {
        uint32_t n = p->neighbours[i];
        if (g->lies[n]) continue;
        if (!heap_push(g, (open_place){++g->known[n], g->m->places[n].neighbour_count, n})) return false;
    }
    return true;
}

static bool take_open(growth *g, uint32_t *place) {
    while (g->heap.count) {
        open_place top = heap_pop(g);
        *place = top.place;
        if (!g->lies[top.place] && g->known[top.place] == top.known) return true;
    }
    return false;
}

/* The next start: lowest rank, then lowest number. *from walks on through 3 passes over the places, one a rank. */
static uint32_t take_start(const growth *g, size_t *from) {
    for (;; ++*from) {
        uint32_t place = (uint32_t)(*from % g->m->count);
        if (!g->lies[place] && g->m->places[place].start_rank <= *from / g->m->count) return place;
    }
}

dt_status model_order(const model *m, dt_arena *arena, uint32_t *order, bool *starts) {
    growth g = {.m = m};
    dt_status status = DT_NO_MEMORY;
    size_t from = 0;
    g.known = DT_TAKE(arena, m->count, uint32_t);
    g.lies = DT_TAKE(arena, m->count, bool);
    if (!g.known || !g.lies) goto done;
    for (uint32_t t = 0; t < m->count; t++) {
        bool is_start = !take_open(&g, &order[t]);
        if (is_start) order[t] = take_start(&g, &from);
        starts[order[t]] = is_start;
        if (!lay(&g, order[t])) goto done;
    }
    status = DT_OK;
done:
    dt_array_free(&g.heap);
    return status;
}
