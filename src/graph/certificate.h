/* certificate.h - is a directed graph still strongly connected while links come and go?
 *
 * The proof is kept: a tree of links by which the root reaches every vertex (DOWN), and one by which every vertex
 * reaches the root (UP). A link that no tree uses may go without a look; a vertex that loses its tree link looks for
 * another one that leads to a vertex which does not hang below it; only when there is none is the tree made anew.
 *
 *     root --> u --> v        down[v] = the link u -> v         up[v] = a link v -> w with w nearer to the root
 *
 * Invariant: a tree that is not `broken` holds every vertex, and all its links are present.
 */
#ifndef DOVETELL_GRAPH_CERTIFICATE_H
#define DOVETELL_GRAPH_CERTIFICATE_H

#include "graph/network.h"

typedef struct certificate {
    const link *links; /* of the caller */
    size_t link_count;
    uint32_t vertex_count;
    bool *present; /* per link */
    struct side {
        uint32_t *start, *list; /* links whose lower end in this tree is v: list[start[v]] .. list[start[v + 1] - 1] */
        uint32_t *tree;         /* per vertex but the root (vertex 0): the link to the vertex above it */
        bool broken;
    } sides[2];
    uint32_t *queue; /* scratch, vertex_count */
    bool *reached;   /* scratch, vertex_count */
} certificate;

/* All links are present; both trees are broken. DT_NO_MEMORY. */
dt_status certificate_new(uint32_t vertex_count, const link *links, size_t link_count, certificate *out);
void certificate_free(certificate *c);

/* Takes a link away, or puts it back. O(degree x depth of the tree) for a tree link, else O(1). */
void certificate_remove(certificate *c, uint32_t index);
void certificate_restore(certificate *c, uint32_t index);

/* O(1) while both trees stand, else O(V + E). */
bool certificate_is_strong(certificate *c);

#endif
