/* The least of a witness: see witness.h. Pieces that come to lie on each other's drawn places belong together; of such groups, each may be
 * another assembly without the rest. Which piece lies on which place is asked at points of it, and the verifier has the last word. */
#include "witness.h"

#include <stdlib.h>

enum { MOST_LOOKS = 48 };
/* Points looked at lie off the outline by this share of the way to the piece's middle, so that touching is not lying on. */
static const double INWARDS = 0.15;

typedef struct group {
    size_t first, count; /* first: the root of the group, an index of a move */
} group;

static size_t root_of(size_t *parent, size_t i) {
    while (parent[i] != i) i = parent[i] = parent[parent[i]];
    return i;
}

static bool lies_on(const dt_piece *piece, dt_pose pose, dt_path place) {
    size_t step = piece->outline.count / MOST_LOOKS + 1;
    if (dt_path_contains(place, dt_pose_apply(pose, piece->inside))) return true;
    for (size_t i = 0; i < piece->outline.count; i += step) {
        dt_point p = piece->outline.points[i];
        p = dt_point_add(p, dt_point_scale(dt_point_sub(piece->inside, p), INWARDS));
        if (dt_path_contains(place, dt_pose_apply(pose, p))) return true;
    }
    return false;
}

static void join_groups(const dt_pieces *pieces, const dt_move *moves, size_t count, size_t *parent) {
    for (size_t i = 0; i < count; i++) parent[i] = i;
    for (size_t i = 0; i < count; i++)
        for (size_t k = 0; k < count; k++) {
            size_t a = root_of(parent, i), b = root_of(parent, k);
            if (a == b) continue;
            dt_path place = dt_pieces_get(pieces, moves[k].piece)->outline;
            if (lies_on(dt_pieces_get(pieces, moves[i].piece), moves[i].pose, place)) parent[a > b ? a : b] = a > b ? b : a;
        }
}

static size_t list_groups(size_t *parent, size_t count, group *groups) {
    size_t used = 0;
    for (size_t i = 0; i < count; i++) {
        size_t root = root_of(parent, i), g = 0;
        while (g < used && groups[g].first != root) g++;
        if (g == used) groups[used++] = (group){root, 0};
        groups[g].count++;
    }
    return used;
}

static int by_size(const void *a, const void *b) {
    const group *p = a, *q = b;
    if (p->count != q->count) return p->count < q->count ? -1 : 1;
    return (p->first > q->first) - (p->first < q->first);
}

bool dt_witness_reduce(const dt_pieces *pieces, const dt_settings *settings, dt_move *moves, size_t *count) {
    size_t *parent = malloc((*count + 1) * sizeof *parent);
    group *groups = malloc((*count + 1) * sizeof *groups);
    dt_move *kept = malloc((*count + 1) * sizeof *kept);
    bool enough_memory = parent && groups && kept, reduced = false;
    if (!enough_memory) goto done;
    join_groups(pieces, moves, *count, parent);
    size_t group_count = list_groups(parent, *count, groups);
    qsort(groups, group_count, sizeof *groups, by_size);
    for (size_t g = 0; g + 1 < group_count && !reduced && enough_memory; g++) {
        size_t used = 0;
        for (size_t i = 0; i < *count; i++)
            if (root_of(parent, i) == groups[g].first) kept[used++] = moves[i];
        const char *fault = dt_assembly_verify(pieces, settings, kept, used);
        enough_memory = fault != dt_assembly_unverified;
        reduced = !fault;
        if (!reduced) continue;
        for (size_t i = 0; i < used; i++) moves[i] = kept[i];
        *count = used;
    }
done:
    free(parent);
    free(groups);
    free(kept);
    return enough_memory;
}
