/* network.h - the adapter for igraph: figures of the neighbour graph, and strong components. Nothing of igraph shows
 * here.
 *
 * igraph's own error handler ends the process; every call installs a quiet one and puts the old one back.
 */
#ifndef DOVETELL_GRAPH_NETWORK_H
#define DOVETELL_GRAPH_NETWORK_H

#include <dovetell/status.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* An edge of the neighbour graph, or an arc from -> to of a blocking graph. */
typedef struct link {
    uint32_t from, to;
} link;

typedef struct network_figures {
    size_t components;
    bool *cut;         /* per vertex, of the caller: articulation point */
    uint32_t
        *depth; /* per vertex, of the caller: steps to the nearest border vertex, UINT32_MAX where none is reached */
} network_figures;

/* Measures an undirected simple graph. on_border has vertex_count entries. DT_NO_MEMORY, DT_LIBRARY. O(V + E). */
dt_status network_measure(size_t vertex_count, const link *links, size_t link_count, const bool *on_border,
                          network_figures *figures);

/* The longest shortest path of an undirected simple graph, in steps, over all components. A few breadth-first searches on sheets
 * (iFUB: Crescenzi, Grossi, Habib, Lanzi, Marino, On computing the diameter of real-world undirected graphs, 2013), O(V (V + E)) at
 * worst: no part of an analysis asks for it. */
dt_status network_diameter(size_t vertex_count, const link *links, size_t link_count, uint32_t *out);

/* Strong components of a directed graph: part[v] (vertex_count entries) from 0. O(V + E). */
dt_status network_strong_parts(size_t vertex_count, const link *links, size_t link_count, uint32_t *part,
                               size_t *parts);

#endif
