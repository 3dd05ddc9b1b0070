/* Strong connectivity under changing links: see certificate.h. Both trees are the same code: in the down tree a link's
 * lower end is where it leads to, in the up tree where it comes from. */
#include "graph/certificate.h"

#include <stdlib.h>

enum { DOWN, UP };

static uint32_t lower_end(const certificate *c, int side, uint32_t index) {
    return side == DOWN ? c->links[index].to : c->links[index].from;
}

static uint32_t upper_end(const certificate *c, int side, uint32_t index) {
    return side == DOWN ? c->links[index].from : c->links[index].to;
}

static bool list_links(certificate *c, int side) {
    struct side *s = &c->sides[side];
    s->start = calloc((size_t)c->vertex_count + 2, sizeof(uint32_t));
    s->list = malloc((c->link_count + 1) * sizeof(uint32_t));
    s->tree = calloc(c->vertex_count, sizeof(uint32_t));
    if (!s->start || !s->list || !s->tree) return false;
    uint32_t *next = s->start + 1; /* next[v] runs from the start of v's list to its end */
    for (uint32_t i = 0; i < c->link_count; i++) next[lower_end(c, side, i) + 1]++;
    for (uint32_t v = 0; v < c->vertex_count; v++) next[v + 1] += next[v];
    for (uint32_t i = 0; i < c->link_count; i++) s->list[next[lower_end(c, side, i)]++] = i;
    s->broken = true;
    return true;
}

dt_status certificate_new(uint32_t vertex_count, const link *links, size_t link_count, certificate *out) {
    certificate c = {.links = links, .link_count = link_count, .vertex_count = vertex_count};
    c.present = malloc((link_count + 1) * sizeof *c.present);
    c.queue = malloc(vertex_count * sizeof *c.queue);
    c.reached = malloc(vertex_count * sizeof *c.reached);
    if (!c.present || !c.queue || !c.reached || !list_links(&c, DOWN) || !list_links(&c, UP)) {
        certificate_free(&c);
        return DT_NO_MEMORY;
    }
    for (size_t i = 0; i < link_count; i++) c.present[i] = true;
    *out = c;
    return DT_OK;
}

void certificate_free(certificate *c) {
    for (int side = DOWN; side <= UP; side++) {
        free(c->sides[side].start);
        free(c->sides[side].list);
        free(c->sides[side].tree);
    }
    free(c->present);
    free(c->queue);
    free(c->reached);
    *c = (certificate){0};
}

/* Does v hang below `above`, or is it the same? */
static bool hangs_below(const certificate *c, int side, uint32_t v, uint32_t above) {
    while (v != 0 && v != above) v = upper_end(c, side, c->sides[side].tree[v]);
    return v == above;
}

/* Finds v another link to a vertex that stays connected without it. */
static bool hang_anew(certificate *c, int side, uint32_t v) {
    struct side *s = &c->sides[side];
    for (uint32_t i = s->start[v]; i < s->start[v + 1]; i++) {
        uint32_t index = s->list[i];
        if (!c->present[index] || hangs_below(c, side, upper_end(c, side, index), v)) continue;
        s->tree[v] = index;
        return true;
    }
    return false;
}

void certificate_remove(certificate *c, uint32_t index) {
    c->present[index] = false;
    for (int side = DOWN; side <= UP; side++) {
        uint32_t v = lower_end(c, side, index);
        struct side *s = &c->sides[side];
        if (!s->broken && v != 0 && s->tree[v] == index) s->broken = !hang_anew(c, side, v);
    }
}

void certificate_restore(certificate *c, uint32_t index) {
    c->present[index] = true;
}

/* Breadth first from the root. A vertex's links to those below it are its list on the other side. */
static void make_tree(certificate *c, int side) {
    struct side *s = &c->sides[side];
    const struct side *other = &c->sides[1 - side];
    uint32_t taken = 0, found = 1;
    for (uint32_t v = 0; v < c->vertex_count; v++) c->reached[v] = v == 0;
    c->queue[0] = 0;
    while (taken < found) {
        uint32_t v = c->queue[taken++];
        for (uint32_t i = other->start[v]; i < other->start[v + 1]; i++) {
            uint32_t index = other->list[i], below = lower_end(c, side, index);
            if (!c->present[index] || c->reached[below]) continue;
            c->reached[below] = true;
            s->tree[below] = index;
            c->queue[found++] = below;
        }
    }
    s->broken = found < c->vertex_count;
}

bool certificate_is_strong(certificate *c) {
    for (int side = DOWN; side <= UP; side++) {
        if (c->sides[side].broken) make_tree(c, side);
        if (c->sides[side].broken) return false;
    }
    return true;
}
