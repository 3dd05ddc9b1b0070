/* Dangles by peeling ends of degree one; bridges by depth-first numbers: a chain is a bridge when nothing below it reaches
 * above it. Iterative, since a hostile draft can be one chain of a million corners deep. */
#include "prune.h"

typedef struct pruner {
    const dt_chains *chains;
    dt_chain_fate *fate;
    uint32_t *start, *around; /* chains at corner c; a loop stands there twice */
    uint32_t *degree;         /* of chains that are kept */
    uint32_t *order, *low;    /* depth-first number from 1, and the least number reached; 0 = not seen */
    uint32_t *at;             /* where the search stands in around */
    uint32_t *stack, *by;     /* corners on the way, and the chain that led there */
} pruner;

static const dt_chain *get(const pruner *p, uint32_t c) {
    return &p->chains->chains.items[c];
}

static uint32_t across(const pruner *p, uint32_t c, uint32_t corner) {
    return get(p, c)->from == corner ? get(p, c)->to : get(p, c)->from;
}

static void list_chains(pruner *p) {
    uint32_t corners = p->chains->corner_count, count = (uint32_t)p->chains->chains.count;
    for (uint32_t c = 0; c < count; c++) {
        p->start[get(p, c)->from + 2]++;
        p->start[get(p, c)->to + 2]++;
    }
    for (uint32_t c = 0; c < corners; c++) p->start[c + 2] += p->start[c + 1];
    for (uint32_t c = 0; c < count; c++) {
        p->around[p->start[get(p, c)->from + 1]++] = c;
        p->around[p->start[get(p, c)->to + 1]++] = c;
    }
    for (uint32_t c = 0; c < corners; c++) p->degree[c] = p->start[c + 1] - p->start[c];
}

static uint32_t kept_chain(const pruner *p, uint32_t corner) {
    for (uint32_t i = p->start[corner]; i < p->start[corner + 1]; i++)
        if (p->fate[p->around[i]] == DT_CHAIN_KEPT) return p->around[i];
    return DT_NO_INDEX;
}

static void peel(pruner *p, uint32_t corner) {
    while (p->degree[corner] == 1) {
        uint32_t c = kept_chain(p, corner);
        p->fate[c] = DT_CHAIN_DANGLE;
        p->degree[corner]--;
        corner = across(p, c, corner);
        p->degree[corner]--;
    }
}

static void enter(pruner *p, uint32_t depth, uint32_t corner, uint32_t by, uint32_t *counter) {
    p->stack[depth] = corner;
    p->by[depth] = by;
    p->at[corner] = p->start[corner];
    p->order[corner] = p->low[corner] = ++*counter;
}

static void leave(pruner *p, uint32_t depth) {
    uint32_t corner = p->stack[depth], above = p->stack[depth - 1];
    if (p->low[corner] > p->order[above]) p->fate[p->by[depth]] = DT_CHAIN_BRIDGE;
    if (p->low[corner] < p->low[above]) p->low[above] = p->low[corner];
}

static void search_from(pruner *p, uint32_t root, uint32_t *counter) {
    uint32_t depth = 0;
    enter(p, 0, root, DT_NO_INDEX, counter);
    for (;;) {
        uint32_t corner = p->stack[depth];
        if (p->at[corner] == p->start[corner + 1]) {
            if (depth == 0) return;
            leave(p, depth--);
            continue;
        }
        uint32_t c = p->around[p->at[corner]++];
        if (c == p->by[depth] || p->fate[c] != DT_CHAIN_KEPT) continue;
        uint32_t next = across(p, c, corner);
        if (!p->order[next]) enter(p, ++depth, next, c, counter);
        else if (p->order[next] < p->low[corner]) p->low[corner] = p->order[next];
    }
}

dt_status dt_prune(const dt_chains *chains, dt_chain_fate *fate) {
    uint32_t corners = chains->corner_count, counter = 0;
    size_t room = (size_t)corners + 2;
    pruner p = {.chains = chains, .fate = fate};
    uint32_t *block = calloc(7 * room + 2 * chains->chains.count, sizeof *block);
    if (!block) return DT_NO_MEMORY;
    p.start = block;
    p.degree = block + room;
    p.order = block + 2 * room;
    p.low = block + 3 * room;
    p.at = block + 4 * room;
    p.stack = block + 5 * room;
    p.by = block + 6 * room;
    p.around = block + 7 * room;
    for (size_t c = 0; c < chains->chains.count; c++) fate[c] = DT_CHAIN_KEPT;
    list_chains(&p);
    for (uint32_t c = 0; c < corners; c++) peel(&p, c);
    for (uint32_t c = 0; c < corners; c++)
        if (!p.order[c]) search_from(&p, c, &counter);
    free(block);
    return DT_OK;
}
