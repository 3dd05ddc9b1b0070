/* Fuzzing of lines to pieces to joints: bytes are strokes on a coarse grid, so that they cross, touch and double each
 * other. The checkers of the net and the pieces, and what the neighbour graph says of itself, are the oracle. */
#include <dovetell/graph.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

#define MOST_POINTS 200
#define NEW_STROKE 255 /* as x: the next point begins a stroke; as y there: the last one is closed */

static void graph_demand(bool holds, const char *what) {
    if (holds) return;
    fprintf(stderr, "fuzz_graph: %s\n", what);
    abort();
}

typedef struct drawn {
    dt_point points[MOST_POINTS];
    dt_stroke strokes[MOST_POINTS];
    size_t count, points_taken;
} drawn;

static void end_stroke(drawn *d, size_t start, bool closed) {
    if (d->points_taken - start < 2) {
        d->points_taken = start;
        return;
    }
    d->strokes[d->count++] = (dt_stroke){.path = {d->points + start, d->points_taken - start},
                                         .closed = closed,
                                         .lone = true,
                                         .name = "",
                                         .layer = "",
                                         .colour = DT_NO_COLOUR};
}

static void read_strokes(const uint8_t *data, size_t size, drawn *d) {
    size_t start = 0;
    for (size_t i = 0; i + 1 < size && d->points_taken < MOST_POINTS; i += 2) {
        if (data[i] == NEW_STROKE) {
            end_stroke(d, start, data[i + 1] == NEW_STROKE);
            start = d->points_taken;
            continue;
        }
        dt_point p = {0.3 * data[i], 0.3 * data[i + 1]};
        bool same = d->points_taken > start && dt_point_distance(d->points[d->points_taken - 1], p) == 0;
        if (!same) d->points[d->points_taken++] = p;
    }
    end_stroke(d, start, true);
}

static void check_pieces(const dt_graph *graph, const dt_pieces *pieces) {
    const dt_interlock *whole = dt_graph_interlock(graph);
    size_t joints = whole->locked_joints + whole->sliding_joints + whole->free_joints, unheld = 0;
    graph_demand(joints == dt_graph_pair_count(graph), "the joints do not add up");
    graph_demand(whole->holds_together == (whole->loose_count == 0), "a group is loose, or none is");
    graph_demand(whole->loose_count < dt_pieces_count(pieces), "all pieces come off");
    for (uint32_t i = 0; i < dt_pieces_count(pieces); i++) {
        size_t count;
        dt_graph_around(graph, (dt_piece_id){i}, &count);
        if (count > 0) unheld += !dt_graph_is_held(graph, (dt_piece_id){i});
    }
    graph_demand(unheld == 0 || whole->loose_count == 1, "a piece comes off alone, but a larger group is named");
}

static void check_pairs(const dt_graph *graph, double kerf_mm) {
    for (size_t i = 0; i < dt_graph_pair_count(graph); i++) {
        const dt_neighbours *n = dt_graph_pair(graph, i);
        graph_demand(n->a.v < n->b.v && n->border_mm > 0 && dt_graph_find(graph, n->b, n->a) == i,
                     "a pair cannot be found");
        bool locked = n->joint == DT_LOCKED;
        bool one_way = !locked && kerf_mm == 0 && n->slide_from == n->slide_to; /* a straight tab */
        graph_demand((locked || one_way) == (n->free_degrees == 0) && locked == isnan(n->slide_from), "locked and free at once");
        graph_demand(locked || (n->slide_from <= n->slide_to && n->slide_to - n->slide_from <= n->free_degrees + 1e-6),
                     "the widest interval is wider than all");
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    if (size < 2) return 0;
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.kerf_mm = 0.01 * (data[0] % 64);
    drawn d = {.count = 0};
    read_strokes(data + 1, size - 1, &d);
    dt_net *net = NULL;
    dt_pieces *pieces = NULL;
    dt_graph *graph = NULL;
    dt_strokes strokes = {d.strokes, d.count, NULL, 0};
    if (d.count && dt_net_new(strokes, &settings, &net, NULL) == DT_OK &&
        dt_pieces_new(net, strokes, &settings, &pieces, NULL) == DT_OK) {
        const char *wrong = dt_net_check(net);
        graph_demand(!wrong, wrong);
        wrong = dt_pieces_check(pieces);
        graph_demand(!wrong, wrong);
        graph_demand(dt_graph_new(pieces, &settings, NULL, &graph, NULL) == DT_OK, "no graph");
        check_pieces(graph, pieces);
        check_pairs(graph, settings.kerf_mm);
    }
    dt_graph_free(graph);
    dt_pieces_free(pieces);
    dt_net_free(net);
    return 0;
}
