/* The only file that sees igraph. Vertices are indices of pieces (or of groups of pieces). Every function first builds
 * the igraph graph, then asks, and takes everything down at `done`. */
#include "graph/network.h"

#include <igraph/igraph.h>

static void quiet(const char *reason, const char *file, int line, igraph_error_t code) {
    (void)reason, (void)file, (void)line, (void)code;
    IGRAPH_FINALLY_FREE();
}

static dt_status status_of(igraph_error_t code) {
    if (code == IGRAPH_SUCCESS) return DT_OK;
    return code == IGRAPH_ENOMEM ? DT_NO_MEMORY : DT_LIBRARY;
}

static igraph_error_t make_graph(size_t vertices, const link *links, size_t count, bool directed, igraph_t *out) {
    igraph_vector_int_t ends;
    igraph_error_t code = igraph_vector_int_init(&ends, (igraph_integer_t)(2 * count));
    if (code != IGRAPH_SUCCESS) return code;
    for (size_t i = 0; i < count; i++) {
        VECTOR(ends)[2 * i] = links[i].from;
        VECTOR(ends)[2 * i + 1] = links[i].to;
    }
    code = igraph_create(out, &ends, (igraph_integer_t)vertices, directed);
    igraph_vector_int_destroy(&ends);
    return code;
}

/* ---- breadth-first search ---- */

typedef struct sweep {
    igraph_vector_int_t order, layers,
        parents; /* vertices by distance; where each distance starts in order; -1 = none */
} sweep;

static igraph_error_t sweep_init(sweep *s) {
    igraph_error_t code = igraph_vector_int_init(&s->order, 0);
    if (code != IGRAPH_SUCCESS) return code;
    code = igraph_vector_int_init(&s->layers, 0);
    if (code == IGRAPH_SUCCESS) {
        code = igraph_vector_int_init(&s->parents, 0);
        if (code == IGRAPH_SUCCESS) return code;
        igraph_vector_int_destroy(&s->layers);
    }
    igraph_vector_int_destroy(&s->order);
    return code;
}

static void sweep_destroy(sweep *s) {
    igraph_vector_int_destroy(&s->order);
    igraph_vector_int_destroy(&s->layers);
    igraph_vector_int_destroy(&s->parents);
}

static igraph_error_t sweep_from(const igraph_t *graph, igraph_integer_t root, sweep *s) {
    return igraph_bfs_simple(graph, root, IGRAPH_ALL, &s->order, &s->layers, &s->parents);
}

static igraph_integer_t eccentricity(const sweep *s) {
    return igraph_vector_int_size(&s->layers) - 2;
}

static igraph_integer_t farthest(const sweep *s) {
    return VECTOR(s->order)[igraph_vector_int_size(&s->order) - 1];
}

/* ---- diameter ---- */

/* The vertex half way back from the last vertex of a sweep to its root. */
static igraph_integer_t half_way(const sweep *s) {
    igraph_integer_t at = farthest(s);
    for (igraph_integer_t i = eccentricity(s) / 2; i > 0; i--) at = VECTOR(s->parents)[at];
    return at;
}

/* Distances to the far ends of a component, and the longest path seen. */
typedef struct ends {
    igraph_vector_int_t reach; /* per vertex: the largest distance to any of them */
    igraph_integer_t longest;
} ends;

static igraph_error_t sweep_and_note(const igraph_t *graph, igraph_integer_t root, sweep *s, ends *e) {
    igraph_error_t code = sweep_from(graph, root, s);
    if (code != IGRAPH_SUCCESS) return code;
    if (eccentricity(s) > e->longest) e->longest = eccentricity(s);
    for (igraph_integer_t level = 0; level <= eccentricity(s); level++)
        for (igraph_integer_t i = VECTOR(s->layers)[level]; i < VECTOR(s->layers)[level + 1]; i++)
            if (level > VECTOR(e->reach)[VECTOR(s->order)[i]]) VECTOR(e->reach)[VECTOR(s->order)[i]] = level;
    return code;
}

/* Two pairs of far ends: u1, u2, and then u3, u4 as seen from half way between the first two. On a sheet they are the
 * four corners. */
static igraph_error_t find_ends(const igraph_t *graph, igraph_integer_t root, sweep *s, ends *e) {
    igraph_error_t code = sweep_from(graph, root, s);
    if (code == IGRAPH_SUCCESS) code = sweep_and_note(graph, farthest(s), s, e);
    if (code != IGRAPH_SUCCESS) return code;
    igraph_integer_t between = half_way(s);
    code = sweep_and_note(graph, farthest(s), s, e);
    if (code == IGRAPH_SUCCESS) code = sweep_from(graph, between, s);
    if (code == IGRAPH_SUCCESS) code = sweep_and_note(graph, farthest(s), s, e);
    if (code == IGRAPH_SUCCESS) code = sweep_and_note(graph, farthest(s), s, e);
    return code;
}

/* The vertex of the last sweep's component that is nearest to all ends; of equals the one swept first. */
static igraph_integer_t middle_of(const sweep *s, const ends *e) {
    igraph_integer_t best = VECTOR(s->order)[0];
    for (igraph_integer_t i = 1; i < igraph_vector_int_size(&s->order); i++) {
        igraph_integer_t v = VECTOR(s->order)[i];
        if (VECTOR(e->reach)[v] < VECTOR(e->reach)[best]) best = v;
    }
    return best;
}

/* iFUB from a middle vertex: two vertices nearer to it than level i are at most 2 (i - 1) steps apart, so levels are
 * looked at from the outermost inwards until that is no more than the longest path found. */
static igraph_error_t deepen(const igraph_t *graph, const sweep *middle, sweep *s, ends *e) {
    for (igraph_integer_t level = eccentricity(middle); level > 0 && 2 * level > e->longest; level--)
        for (igraph_integer_t i = VECTOR(middle->layers)[level]; i < VECTOR(middle->layers)[level + 1]; i++) {
            igraph_error_t code = sweep_from(graph, VECTOR(middle->order)[i], s);
            if (code != IGRAPH_SUCCESS) return code;
            if (eccentricity(s) > e->longest) e->longest = eccentricity(s);
        }
    return IGRAPH_SUCCESS;
}

/* Raises e->longest to the longest shortest path in the component of `root`. */
static igraph_error_t component_diameter(const igraph_t *graph, igraph_integer_t root, ends *e) {
    sweep s, middle;
    igraph_error_t code = sweep_init(&s);
    if (code != IGRAPH_SUCCESS) return code;
    code = sweep_init(&middle);
    if (code != IGRAPH_SUCCESS) {
        sweep_destroy(&s);
        return code;
    }
    code = find_ends(graph, root, &s, e);
    if (code == IGRAPH_SUCCESS) code = sweep_from(graph, middle_of(&s, e), &middle);
    if (code == IGRAPH_SUCCESS) code = deepen(graph, &middle, &s, e);
    sweep_destroy(&middle);
    sweep_destroy(&s);
    return code;
}

static igraph_error_t find_diameter(const igraph_t *graph, uint32_t *out) {
    igraph_vector_int_t part;
    ends e = {.longest = 0};
    igraph_integer_t next = 0;
    igraph_error_t code = igraph_vector_int_init(&e.reach, igraph_vcount(graph));
    if (code != IGRAPH_SUCCESS) return code;
    code = igraph_vector_int_init(&part, 0);
    if (code != IGRAPH_SUCCESS) {
        igraph_vector_int_destroy(&e.reach);
        return code;
    }
    code = igraph_connected_components(graph, &part, NULL, NULL, IGRAPH_WEAK);
    for (igraph_integer_t v = 0; code == IGRAPH_SUCCESS && v < igraph_vcount(graph); v++)
        if (VECTOR(part)[v] == next) { /* the first vertex of the next component */
            next++;
            code = component_diameter(graph, v, &e);
        }
    if (code == IGRAPH_SUCCESS) *out = (uint32_t)e.longest;
    igraph_vector_int_destroy(&part);
    igraph_vector_int_destroy(&e.reach);
    return code;
}

dt_status network_diameter(size_t vertex_count, const link *links, size_t link_count, uint32_t *out) {
    igraph_error_handler_t *old = igraph_set_error_handler(quiet);
    igraph_t graph;
    igraph_error_t code = make_graph(vertex_count, links, link_count, IGRAPH_UNDIRECTED, &graph);
    if (code != IGRAPH_SUCCESS) goto done;
    code = find_diameter(&graph, out);
    igraph_destroy(&graph);
done:
    igraph_set_error_handler(old);
    return status_of(code);
}

/* ---- the other figures ---- */

static igraph_error_t count_components(const igraph_t *graph, network_figures *figures) {
    igraph_integer_t parts = 0;
    igraph_error_t code = igraph_connected_components(graph, NULL, NULL, &parts, IGRAPH_WEAK);
    figures->components = (size_t)parts;
    return code;
}

static igraph_error_t find_cut_vertices(const igraph_t *graph, network_figures *figures) {
    igraph_vector_int_t found;
    igraph_error_t code = igraph_vector_int_init(&found, 0);
    if (code != IGRAPH_SUCCESS) return code;
    code = igraph_articulation_points(graph, &found);
    for (igraph_integer_t i = 0; i < igraph_vcount(graph); i++) figures->cut[i] = false;
    for (igraph_integer_t i = 0; code == IGRAPH_SUCCESS && i < igraph_vector_int_size(&found); i++)
        figures->cut[VECTOR(found)[i]] = true;
    igraph_vector_int_destroy(&found);
    return code;
}

/* A further vertex, next to every border vertex, stands for the outside. It comes last, so it changes no other figure.
 */
static igraph_error_t add_outside(igraph_t *graph, const bool *on_border) {
    igraph_integer_t outside = igraph_vcount(graph);
    igraph_vector_int_t added;
    igraph_error_t code = igraph_vector_int_init(&added, 0);
    if (code != IGRAPH_SUCCESS) return code;
    for (igraph_integer_t v = 0; code == IGRAPH_SUCCESS && v < outside; v++) {
        if (on_border[v]) code = igraph_vector_int_push_back(&added, v);
        if (on_border[v] && code == IGRAPH_SUCCESS) code = igraph_vector_int_push_back(&added, outside);
    }
    if (code == IGRAPH_SUCCESS) code = igraph_add_vertices(graph, 1, NULL);
    if (code == IGRAPH_SUCCESS) code = igraph_add_edges(graph, &added, NULL);
    igraph_vector_int_destroy(&added);
    return code;
}

/* Changes the graph: the last figure to be found. */
static igraph_error_t find_depths(igraph_t *graph, const bool *on_border, network_figures *figures) {
    igraph_integer_t outside = igraph_vcount(graph);
    igraph_error_t code = add_outside(graph, on_border);
    if (code != IGRAPH_SUCCESS) return code;
    sweep s;
    code = sweep_init(&s);
    if (code != IGRAPH_SUCCESS) return code;
    code = sweep_from(graph, outside, &s);
    for (igraph_integer_t v = 0; v < outside; v++) figures->depth[v] = UINT32_MAX;
    for (igraph_integer_t level = 1; code == IGRAPH_SUCCESS && level <= eccentricity(&s); level++)
        for (igraph_integer_t i = VECTOR(s.layers)[level]; i < VECTOR(s.layers)[level + 1]; i++)
            figures->depth[VECTOR(s.order)[i]] = (uint32_t)(level - 1);
    sweep_destroy(&s);
    return code;
}

dt_status network_measure(size_t vertex_count, const link *links, size_t link_count, const bool *on_border,
                          network_figures *figures) {
    igraph_error_handler_t *old = igraph_set_error_handler(quiet);
    igraph_t graph;
    igraph_error_t code = make_graph(vertex_count, links, link_count, IGRAPH_UNDIRECTED, &graph);
    if (code != IGRAPH_SUCCESS) goto done;
    code = count_components(&graph, figures);
    if (code == IGRAPH_SUCCESS) code = find_cut_vertices(&graph, figures);
    if (code == IGRAPH_SUCCESS) code = find_depths(&graph, on_border, figures);
    igraph_destroy(&graph);
done:
    igraph_set_error_handler(old);
    return status_of(code);
}

dt_status network_strong_parts(size_t vertex_count, const link *links, size_t link_count, uint32_t *part,
                               size_t *parts) {
    igraph_error_handler_t *old = igraph_set_error_handler(quiet);
    igraph_t graph;
    igraph_vector_int_t membership;
    igraph_integer_t count = 0;
    igraph_error_t code = igraph_vector_int_init(&membership, 0);
    if (code != IGRAPH_SUCCESS) goto done;
    code = make_graph(vertex_count, links, link_count, IGRAPH_DIRECTED, &graph);
    if (code == IGRAPH_SUCCESS) {
        code = igraph_connected_components(&graph, &membership, NULL, &count, IGRAPH_STRONG);
        igraph_destroy(&graph);
    }
    for (size_t i = 0; code == IGRAPH_SUCCESS && i < vertex_count; i++) part[i] = (uint32_t)VECTOR(membership)[i];
    if (code == IGRAPH_SUCCESS) *parts = (size_t)count;
    igraph_vector_int_destroy(&membership);
done:
    igraph_set_error_handler(old);
    return status_of(code);
}
