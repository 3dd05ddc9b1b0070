/* Exact covers: see exact_cover.h. Nodes 1 .. headers are the columns' own, kinds after columns; a row's nodes stand
 * together, that of its kind last. Node 0 heads the ring of the columns that have to be covered. */
#include "exact_cover.h"

#include <stdlib.h>

typedef struct node {
    uint32_t up, down, header, row;
} node;

struct dt_cover {
    node *nodes;
    uint32_t *left, *right; /* per header */
    uint32_t *size, *room;  /* per header: rows that could cover it; how many may still be taken */
    uint32_t *first_node;   /* per row, and the end */
    uint32_t *taken;
    uint32_t header_count, row_count, taken_count;
    const dt_cover_calls *calls;
    bool stopped;
};

void dt_cover_free(dt_cover *c) {
    if (!c) return;
    free(c->nodes);
    free(c->left);
    free(c->right);
    free(c->size);
    free(c->room);
    free(c->first_node);
    free(c->taken);
    free(c);
}

static bool take_memory(dt_cover *c, const dt_cover_task *task) {
    size_t headers = (size_t)task->column_count + task->kind_count + 1;
    c->header_count = (uint32_t)headers - 1;
    c->row_count = task->row_count;
    c->nodes = malloc((headers + task->first[task->row_count] + task->row_count) * sizeof *c->nodes);
    c->left = malloc(headers * sizeof *c->left);
    c->right = malloc(headers * sizeof *c->right);
    c->size = calloc(headers, sizeof *c->size);
    c->room = malloc(headers * sizeof *c->room);
    c->first_node = malloc(((size_t)task->row_count + 1) * sizeof *c->first_node);
    c->taken = malloc(headers * sizeof *c->taken);
    return c->nodes && c->left && c->right && c->size && c->room && c->first_node && c->taken;
}

/* Kinds of which several may be taken need not be covered, so their headers stay out of the ring. */
static void make_headers(dt_cover *c, const dt_cover_task *task) {
    uint32_t last = 0;
    for (uint32_t h = 1; h <= c->header_count; h++) {
        c->nodes[h] = (node){h, h, h, UINT32_MAX};
        c->room[h] = h <= task->column_count ? 1 : task->kind_room[h - 1 - task->column_count];
        c->left[h] = c->right[h] = h;
        if (c->room[h] != 1) continue;
        c->left[h] = last;
        c->right[last] = h;
        last = h;
    }
    c->left[0] = last;
    c->right[last] = 0;
}

static void add_node(dt_cover *c, uint32_t at, uint32_t header, uint32_t row) {
    node *head = &c->nodes[header];
    c->nodes[at] = (node){head->up, header, header, row};
    c->nodes[head->up].down = at;
    head->up = at;
    c->size[header]++;
}

static void make_rows(dt_cover *c, const dt_cover_task *task) {
    uint32_t at = c->header_count + 1;
    for (uint32_t r = 0; r < task->row_count; r++) {
        c->first_node[r] = at;
        for (uint32_t i = task->first[r]; i < task->first[r + 1]; i++) add_node(c, at++, task->columns[i] + 1, r);
        add_node(c, at++, task->column_count + 1 + task->kind_of_row[r], r);
    }
    c->first_node[task->row_count] = at;
}

dt_cover *dt_cover_new(const dt_cover_task *task) {
    dt_cover *c = calloc(1, sizeof *c);
    if (!c || !take_memory(c, task)) {
        dt_cover_free(c);
        return NULL;
    }
    make_headers(c, task);
    make_rows(c, task);
    return c;
}

/* ---- unlinking and linking ---- */

static inline void unlink_node(dt_cover *c, const node *n) {
    c->nodes[n->up].down = n->down;
    c->nodes[n->down].up = n->up;
    c->size[n->header]--;
}

static inline void link_node(dt_cover *c, uint32_t at) {
    const node *n = &c->nodes[at];
    c->nodes[n->up].down = c->nodes[n->down].up = at;
    c->size[n->header]++;
}

/* All nodes of a row but one. */
static void unlink_row(dt_cover *c, uint32_t row, uint32_t but) {
    uint32_t end = c->first_node[row + 1];
    for (uint32_t n = c->first_node[row]; n < but; n++) unlink_node(c, &c->nodes[n]);
    for (uint32_t n = but + 1; n < end; n++) unlink_node(c, &c->nodes[n]);
}

static void link_row(dt_cover *c, uint32_t row, uint32_t but) {
    for (uint32_t n = c->first_node[row + 1]; n-- > but + 1;) link_node(c, n);
    for (uint32_t n = but; n-- > c->first_node[row];) link_node(c, n);
}

static void cover(dt_cover *c, uint32_t header) {
    c->right[c->left[header]] = c->right[header];
    c->left[c->right[header]] = c->left[header];
    for (uint32_t n = c->nodes[header].down; n != header; n = c->nodes[n].down) unlink_row(c, c->nodes[n].row, n);
}

static void uncover(dt_cover *c, uint32_t header) {
    for (uint32_t n = c->nodes[header].up; n != header; n = c->nodes[n].up) link_row(c, c->nodes[n].row, n);
    c->right[c->left[header]] = c->left[c->right[header]] = header;
}

void dt_cover_strike(dt_cover *c, uint32_t row) {
    for (uint32_t n = c->first_node[row]; n < c->first_node[row + 1]; n++) unlink_node(c, &c->nodes[n]);
}

/* but: the header that has been covered for the row. */
static void take_row(dt_cover *c, uint32_t row, uint32_t but) {
    for (uint32_t n = c->first_node[row]; n < c->first_node[row + 1]; n++) {
        uint32_t header = c->nodes[n].header;
        if (header != but && --c->room[header] == 0) cover(c, header);
    }
    c->taken[c->taken_count++] = row;
}

static void put_back(dt_cover *c, uint32_t row, uint32_t but) {
    c->taken_count--;
    for (uint32_t n = c->first_node[row + 1]; n-- > c->first_node[row];) {
        uint32_t header = c->nodes[n].header;
        if (header != but && c->room[header]++ == 0) uncover(c, header);
    }
}

/* ---- the search ---- */

static uint32_t fewest(const dt_cover *c) {
    uint32_t best = c->right[0];
    for (uint32_t h = best; h != 0 && c->size[best] > 0; h = c->right[h])
        if (c->size[h] < c->size[best]) best = h;
    return best;
}

static void branch(dt_cover *c, uint32_t header);

static void go_on(dt_cover *c) {
    uint32_t header = fewest(c);
    if (header)
        branch(c, header);
    else
        c->stopped = c->calls->found(c->calls->context, c->taken, c->taken_count) == DT_COVER_STOP;
}

static void branch(dt_cover *c, uint32_t header) {
    cover(c, header);
    for (uint32_t n = c->nodes[header].down; n != header && !c->stopped; n = c->nodes[n].down) {
        c->stopped = c->calls->step(c->calls->context) == DT_COVER_STOP;
        if (c->stopped) break;
        take_row(c, c->nodes[n].row, header);
        go_on(c);
        put_back(c, c->nodes[n].row, header);
    }
    uncover(c, header);
}

/* The rows of the first column are taken one after the other from outside, so that rows may be struck out between them.
 */
bool dt_cover_run(dt_cover *c, uint32_t root, const dt_cover_calls *calls) {
    uint32_t header = root + 1;
    c->calls = calls;
    c->stopped = false;
    while (c->nodes[header].down != header && !c->stopped) {
        uint32_t row = c->nodes[c->nodes[header].down].row;
        c->stopped = calls->step(calls->context) == DT_COVER_STOP;
        if (c->stopped) break;
        take_row(c, row, 0);
        go_on(c);
        put_back(c, row, 0);
        dt_cover_strike(c, row);
        if (!c->stopped) calls->tried_first(calls->context, row);
    }
    return !c->stopped;
}
