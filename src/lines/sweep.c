/* A sweep towards growing y. Main invariant: the treap holds the edges with low.y < y <= high.y for the y of the query at hand, in
 * the order of x; turns are exact, so the order never contradicts itself. Edges that no query's y meets are left out. */
#include "sweep.h"

#define NONE UINT32_MAX

typedef struct node {
    dt_gp low, high;              /* low.y < high.y */
    uint32_t edge;
    uint32_t above, child[2];
    uint32_t priority;
} node;

typedef struct query {
    dt_gp at;
    uint32_t number;
} query;

typedef struct sweep {
    DT_ARRAY(node) nodes;         /* by low.y */
    uint32_t *by_high;            /* nodes by high.y */
    query *queries;               /* by y */
    size_t query_count;
    uint32_t root;
} sweep;

static uint32_t scatter(uint32_t value) {
    value = (value ^ (value >> 16)) * 0x85ebca6bu; /* finaliser of MurmurHash3, in the public domain */
    value = (value ^ (value >> 13)) * 0xc2b2ae35u;
    return value ^ (value >> 16);
}

/* Which child of e the point belongs under: 1 when it has greater x than the edge. On the edge: 0. */
static int side_of(const node *e, dt_gp p) {
    return dt_gp_cross(e->low, e->high, p) < 0;
}

static int side_of_node(const node *e, const node *fresh) {
    int64_t turn = dt_gp_cross(e->low, e->high, fresh->low);
    return turn != 0 ? turn < 0 : side_of(e, fresh->high);
}

static void set_child(sweep *s, uint32_t above, uint32_t old, uint32_t fresh) {
    node *n = s->nodes.items;
    if (above == NONE) s->root = fresh;
    else n[above].child[n[above].child[1] == old] = fresh;
    if (fresh != NONE) n[fresh].above = above;
}

/* Lifts c over the node above it. */
static void rotate(sweep *s, uint32_t c) {
    node *n = s->nodes.items;
    uint32_t p = n[c].above;
    int side = n[p].child[1] == c;
    uint32_t moved = n[c].child[!side];
    set_child(s, n[p].above, p, c);
    n[p].child[side] = moved;
    if (moved != NONE) n[moved].above = p;
    n[c].child[!side] = p;
    n[p].above = c;
}

static void insert(sweep *s, uint32_t fresh) {
    node *n = s->nodes.items;
    uint32_t above = NONE, at = s->root;
    int side = 0;
    while (at != NONE) {
        above = at;
        side = side_of_node(&n[at], &n[fresh]);
        at = n[at].child[side];
    }
    n[fresh].above = above;
    n[fresh].child[0] = n[fresh].child[1] = NONE;
    if (above == NONE) s->root = fresh;
    else n[above].child[side] = fresh;
    while (n[fresh].above != NONE && n[n[fresh].above].priority < n[fresh].priority) rotate(s, fresh);
}

static void take_out(sweep *s, uint32_t gone) {
    node *n = s->nodes.items;
    while (n[gone].child[0] != NONE && n[gone].child[1] != NONE) {
        uint32_t a = n[gone].child[0], b = n[gone].child[1];
        rotate(s, n[a].priority > n[b].priority ? a : b);
    }
    set_child(s, n[gone].above, gone, n[gone].child[n[gone].child[0] == NONE]);
}

static uint32_t edge_beside(const sweep *s, dt_gp p) {
    uint32_t best = DT_NO_INDEX;
    for (uint32_t at = s->root; at != NONE;) {
        const node *e = &s->nodes.items[at];
        int side = side_of(e, p);
        if (side) best = e->edge;
        at = e->child[side];
    }
    return best;
}

static int compare_queries(const void *left, const void *right) {
    const query *a = left, *b = right;
    if (a->at.y != b->at.y) return a->at.y < b->at.y ? -1 : 1;
    return (a->number > b->number) - (a->number < b->number);
}

static int compare_low(const void *left, const void *right) {
    const node *a = left, *b = right;
    if (a->low.y != b->low.y) return a->low.y < b->low.y ? -1 : 1;
    return (a->edge > b->edge) - (a->edge < b->edge);
}

/* The number of queries with a y of at most this. */
static size_t queries_until(const sweep *s, int32_t y) {
    size_t low = 0, high = s->query_count;
    while (low < high) {
        size_t middle = (low + high) / 2;
        if (s->queries[middle].at.y <= y) low = middle + 1;
        else high = middle;
    }
    return low;
}

static bool take_edges(sweep *s, const dt_cut *edges, size_t count) {
    for (uint32_t i = 0; i < count; i++) {
        dt_gp low = edges[i].a.y < edges[i].b.y ? edges[i].a : edges[i].b;
        dt_gp high = edges[i].a.y < edges[i].b.y ? edges[i].b : edges[i].a;
        if (queries_until(s, low.y) == queries_until(s, high.y)) continue;
        node n = {.low = low, .high = high, .edge = i, .priority = scatter(i)};
        if (!dt_array_push(&s->nodes, n)) return false;
    }
    return true;
}

typedef struct ending {
    int32_t y;
    uint32_t node;
} ending;

static int compare_endings(const void *left, const void *right) {
    const ending *a = left, *b = right;
    if (a->y != b->y) return a->y < b->y ? -1 : 1;
    return (a->node > b->node) - (a->node < b->node);
}

static bool sort_all(sweep *s) {
    size_t count = s->nodes.count;
    ending *endings = malloc((count + 1) * sizeof *endings);
    s->by_high = malloc((count + 1) * sizeof *s->by_high);
    if (!endings || !s->by_high) {
        free(endings);
        return false;
    }
    if (count) qsort(s->nodes.items, count, sizeof *s->nodes.items, compare_low);
    for (uint32_t i = 0; i < count; i++) endings[i] = (ending){s->nodes.items[i].high.y, i};
    qsort(endings, count, sizeof *endings, compare_endings);
    for (uint32_t i = 0; i < count; i++) s->by_high[i] = endings[i].node;
    free(endings);
    return true;
}

/* Before the query at y come the edges that begin below y, each after those that end where it begins or before. */
static void run(sweep *s, uint32_t *found) {
    size_t begun = 0, ended = 0, count = s->nodes.count;
    const node *n = s->nodes.items;
    for (size_t q = 0; q < s->query_count; q++) {
        int32_t y = s->queries[q].at.y;
        while (begun < count && n[begun].low.y < y) {
            while (n[s->by_high[ended]].high.y <= n[begun].low.y) take_out(s, s->by_high[ended++]);
            insert(s, (uint32_t)begun++);
        }
        while (ended < begun && n[s->by_high[ended]].high.y < y) take_out(s, s->by_high[ended++]);
        found[s->queries[q].number] = edge_beside(s, s->queries[q].at);
    }
}

dt_status dt_sweep_beside(const dt_cut *edges, size_t count, const dt_gp *points, size_t point_count, uint32_t *found) {
    sweep s = {.root = NONE, .query_count = point_count};
    s.queries = malloc((point_count + 1) * sizeof *s.queries);
    dt_status status = DT_NO_MEMORY;
    if (!s.queries) goto done;
    for (uint32_t q = 0; q < point_count; q++) s.queries[q] = (query){points[q], q};
    qsort(s.queries, point_count, sizeof *s.queries, compare_queries);
    if (!take_edges(&s, edges, count) || !sort_all(&s)) goto done;
    run(&s, found);
    status = DT_OK;
done:
    free(s.queries);
    free(s.by_high);
    dt_array_free(&s.nodes);
    return status;
}
