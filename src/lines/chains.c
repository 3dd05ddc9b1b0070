/* From noded cuts to chains: number the points, drop equal cuts, and walk from corner to corner. Invariant while walking: an
 * edge is used once, so that every edge ends in exactly one chain. */
#include "chains.h"

#include "geom/keys.h"
#include <math.h>

typedef struct edge {
    uint32_t ends[2];
    uint32_t strokes; /* head of a list in marks, or DT_NO_INDEX */
    bool used;
} edge;

typedef struct mark {
    uint32_t stroke, next;
} mark;

typedef struct walker {
    dt_chains *out;
    edge *edges;
    uint32_t edge_count;
    mark *marks;
    uint32_t mark_count;
    uint32_t *start, *around; /* edges at point p: around[start[p] .. start[p + 1]) */
    uint32_t *corner_of;      /* of each point, or DT_NO_INDEX */
} walker;

static void add_mark(walker *w, edge *e, uint32_t stroke) {
    if (stroke == DT_NO_INDEX || (e->strokes != DT_NO_INDEX && w->marks[e->strokes].stroke == stroke)) return;
    w->marks[w->mark_count] = (mark){stroke, e->strokes};
    e->strokes = w->mark_count++;
}

static void add_edge(walker *w, dt_keys *pairs, const uint32_t ends[2], uint32_t stroke) {
    uint32_t low = ends[0] < ends[1] ? ends[0] : ends[1], high = ends[0] < ends[1] ? ends[1] : ends[0];
    uint32_t number = dt_keys_number(pairs, (uint64_t)low << 32 | high);
    if (number == w->edge_count) w->edges[w->edge_count++] = (edge){{ends[0], ends[1]}, DT_NO_INDEX, false};
    add_mark(w, &w->edges[number], stroke);
}

static uint32_t number_point(dt_chains *out, dt_keys *places, dt_gp p) {
    uint32_t number = dt_keys_number(places, dt_gp_key(p));
    if (number == out->point_count) out->points[out->point_count++] = p;
    return number;
}

static dt_status number_all(walker *w, const dt_cut *cuts, size_t count) {
    dt_status status = DT_NO_MEMORY;
    dt_keys places = {0}, pairs = {0};
    w->out->points = malloc((2 * count + 1) * sizeof *w->out->points);
    w->edges = malloc((count + 1) * sizeof *w->edges);
    w->marks = malloc((count + 1) * sizeof *w->marks);
    if (!w->out->points || !w->edges || !w->marks) goto done;
    if (!dt_keys_reserve(&places, count + count / 4) || !dt_keys_reserve(&pairs, count)) goto done;
    uint32_t last = DT_NO_KEY; /* where the cut before ended: most begin there */
    for (size_t i = 0; i < count; i++) {
        if (dt_gp_same(cuts[i].a, cuts[i].b)) continue;
        bool goes_on = last != DT_NO_KEY && dt_gp_same(w->out->points[last], cuts[i].a);
        uint32_t ends[2] = {goes_on ? last : number_point(w->out, &places, cuts[i].a), 0};
        ends[1] = last = number_point(w->out, &places, cuts[i].b);
        if (ends[0] == DT_NO_KEY || ends[1] == DT_NO_KEY) goto done;
        add_edge(w, &pairs, ends, cuts[i].stroke);
    }
    status = DT_OK;
done:
    dt_keys_free(&places);
    dt_keys_free(&pairs);
    return status;
}

static bool list_around(walker *w) {
    uint32_t n = w->out->point_count;
    w->start = calloc((size_t)n + 2, sizeof *w->start);
    w->around = malloc(((size_t)2 * w->edge_count + 1) * sizeof *w->around);
    w->corner_of = malloc(((size_t)n + 1) * sizeof *w->corner_of);
    if (!w->start || !w->around || !w->corner_of) return false;
    for (uint32_t e = 0; e < w->edge_count; e++)
        for (int k = 0; k < 2; k++) w->start[w->edges[e].ends[k] + 2]++;
    for (uint32_t p = 0; p < n; p++) w->start[p + 2] += w->start[p + 1];
    for (uint32_t e = 0; e < w->edge_count; e++)
        for (int k = 0; k < 2; k++) w->around[w->start[w->edges[e].ends[k] + 1]++] = e;
    return true;
}

static uint32_t degree(const walker *w, uint32_t point) {
    return w->start[point + 1] - w->start[point];
}

static uint32_t add_corner(walker *w, uint32_t point) {
    w->out->corner_point[w->out->corner_count] = point;
    w->corner_of[point] = w->out->corner_count;
    return w->out->corner_count++;
}

static bool number_corners(walker *w) {
    uint32_t n = w->out->point_count;
    w->out->corner_point = malloc(((size_t)n + 1) * sizeof *w->out->corner_point);
    w->out->corner_degree = calloc((size_t)n + 1, sizeof *w->out->corner_degree);
    if (!w->out->corner_point || !w->out->corner_degree) return false;
    for (uint32_t p = 0; p < n; p++) {
        w->corner_of[p] = DT_NO_INDEX;
        if (degree(w, p) != 2) add_corner(w, p);
    }
    return true;
}

static bool take_strokes(walker *w, const edge *e) {
    for (uint32_t m = e->strokes; m != DT_NO_INDEX; m = w->marks[m].next)
        if (!dt_array_push(&w->out->strokes, w->marks[m].stroke)) return false;
    return true;
}

static int compare_numbers(const void *a, const void *b) {
    uint32_t x = *(const uint32_t *)a, y = *(const uint32_t *)b;
    return (x > y) - (x < y);
}

/* Most chains come from one stroke: neighbours in the list are equal, so a first pass leaves almost nothing to sort. */
static void sort_strokes(dt_chains *out, dt_chain *chain) {
    uint32_t count = (uint32_t)out->strokes.count - chain->stroke_first, kept = 0;
    chain->stroke_count = 0;
    if (count == 0) return; /* a cut that closed a gap alone is of no stroke */
    uint32_t *list = out->strokes.items + chain->stroke_first;
    for (int pass = 0; pass < 2; pass++) {
        kept = 0;
        for (uint32_t i = 0; i < count; i++)
            if (!kept || list[kept - 1] != list[i]) list[kept++] = list[i];
        count = kept;
        if (pass == 0 && count > 1) qsort(list, count, sizeof *list, compare_numbers);
    }
    chain->stroke_count = kept;
    out->strokes.count = chain->stroke_first + kept;
}

static uint32_t other_edge(const walker *w, uint32_t point, uint32_t e) {
    const uint32_t *around = w->around + w->start[point];
    return around[0] == e ? around[1] : around[0];
}

static bool walk_chain(walker *w, uint32_t point, uint32_t e) {
    dt_chains *out = w->out;
    dt_chain chain = {.first = (uint32_t)out->walk.count, .stroke_first = (uint32_t)out->strokes.count};
    chain.from = w->corner_of[point];
    if (!dt_array_push(&out->walk, point)) return false;
    for (;;) {
        edge *now = &w->edges[e];
        now->used = true;
        point = now->ends[0] == point ? now->ends[1] : now->ends[0];
        if (!dt_array_push(&out->walk, point) || !take_strokes(w, now)) return false;
        if (w->corner_of[point] != DT_NO_INDEX) break;
        e = other_edge(w, point, e);
    }
    chain.to = w->corner_of[point];
    chain.count = (uint32_t)out->walk.count - chain.first;
    out->corner_degree[chain.from]++;
    out->corner_degree[chain.to]++;
    sort_strokes(out, &chain);
    return dt_array_push(&out->chains, chain);
}

static bool walk_from_corners(walker *w) {
    for (uint32_t c = 0; c < w->out->corner_count; c++) {
        uint32_t point = w->out->corner_point[c];
        for (uint32_t i = w->start[point]; i < w->start[point + 1]; i++)
            if (!w->edges[w->around[i]].used && !walk_chain(w, point, w->around[i])) return false;
    }
    return true;
}

/* What is left are closed lines without a corner: their first point becomes one. */
static bool walk_closed(walker *w) {
    for (uint32_t e = 0; e < w->edge_count; e++) {
        if (w->edges[e].used) continue;
        uint32_t point = w->edges[e].ends[0];
        add_corner(w, point);
        if (!walk_chain(w, point, e)) return false;
    }
    return true;
}

dt_status dt_chains_init(dt_chains *chains, const dt_cut *cuts, size_t count) {
    *chains = (dt_chains){0};
    walker w = {.out = chains};
    dt_status status = number_all(&w, cuts, count);
    if (status == DT_OK && (!list_around(&w) || !number_corners(&w))) status = DT_NO_MEMORY;
    if (status == DT_OK && (!walk_from_corners(&w) || !walk_closed(&w))) status = DT_NO_MEMORY;
    free(w.edges);
    free(w.marks);
    free(w.start);
    free(w.around);
    free(w.corner_of);
    return status;
}

void dt_chains_free(dt_chains *chains) {
    free(chains->points);
    free(chains->corner_point);
    free(chains->corner_degree);
    dt_array_free(&chains->chains);
    dt_array_free(&chains->walk);
    dt_array_free(&chains->strokes);
    *chains = (dt_chains){0};
}

static bool cut_chain(const dt_chains *chains, const dt_chain *chain, const dt_gp *moved, dt_cuts *out) {
    const dt_gp *at = moved ? moved : chains->points;
    const uint32_t *walk = chains->walk.items + chain->first, *strokes = chains->strokes.items + chain->stroke_first;
    for (uint32_t i = 1; i < chain->count; i++)
        for (uint32_t s = 0; s == 0 || s < chain->stroke_count; s++) {
            dt_cut cut = {at[walk[i - 1]], at[walk[i]], chain->stroke_count ? strokes[s] : DT_NO_INDEX};
            if (!dt_gp_same(cut.a, cut.b) && !dt_array_push(out, cut)) return false;
        }
    return true;
}

bool dt_chains_cut(const dt_chains *chains, const bool *keep, const dt_gp *moved, dt_cuts *out) {
    for (size_t c = 0; c < chains->chains.count; c++)
        if ((!keep || keep[c]) && !cut_chain(chains, &chains->chains.items[c], moved, out)) return false;
    return true;
}

dt_status dt_chains_keep(dt_chains *chains, const bool *keep) {
    dt_cuts kept = {0};
    dt_chains again = {0};
    dt_status status = dt_chains_cut(chains, keep, NULL, &kept) ? DT_OK : DT_NO_MEMORY;
    if (status == DT_OK) status = dt_chains_init(&again, kept.items, kept.count);
    dt_array_free(&kept);
    if (status != DT_OK) {
        dt_chains_free(&again);
        return status;
    }
    dt_chains_free(chains);
    *chains = again;
    return DT_OK;
}

dt_gp dt_chain_point(const dt_chains *chains, const dt_chain *chain, uint32_t index) {
    return chains->points[chains->walk.items[chain->first + index]];
}

double dt_chain_length(const dt_chains *chains, const dt_chain *chain) {
    double length = 0.0;
    for (uint32_t i = 1; i < chain->count; i++)
        length += dt_point_distance(dt_gp_mm(dt_chain_point(chains, chain, i - 1)), dt_gp_mm(dt_chain_point(chains, chain, i)));
    return length;
}
