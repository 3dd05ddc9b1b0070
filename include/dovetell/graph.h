/* graph.h - who borders on whom, what locks, and whether the whole holds together.
 *
 * Vocabulary: NEIGHBOURS share at least one seam (meeting in a point is not enough). A JOINT is all seams of two
 * neighbours. A direction is an angle in degrees, counter-clockwise positive as seen on the drawing, 0 = to the right.
 * Invariants: a < b; sorted by (a, b); border > 0; the adjacency lists hold each neighbour once, ascending.
 */
#ifndef DOVETELL_GRAPH_H
#define DOVETELL_GRAPH_H

#include <dovetell/pieces.h>

typedef enum dt_joint { DT_LOCKED, DT_SLIDES, DT_FREE } dt_joint;

typedef struct dt_neighbours {
    dt_piece_id a, b;
    double border_mm;     /* length of all their seams */
    uint32_t seams;
    dt_joint joint;
    double slide_from, slide_to; /* widest interval of directions in which b leaves a: 0 <= from < 360, from <= to,
                                    which may pass 360; NAN if locked */
    double free_degrees; /* all directions in which b leaves a, added up; slides up to 60; 0 when locked, and where b
                            slides in one direction only (a straight tab without kerf) */
} dt_neighbours;

typedef struct dt_interlock {
    size_t locked_joints, sliding_joints, free_joints;
    bool holds_together;          /* no straight move in the plane parts any group of pieces from the rest */
    const dt_piece_id *loose;     /* else: the smallest group found that comes off, ascending */
    size_t loose_count;
    double loose_direction;       /* degrees; NAN when it holds */
    dt_piece_id mend_a, mend_b;   /* the joint that would have to lock, or DT_OUTSIDE */
} dt_interlock;

typedef struct dt_graph dt_graph;

/* Builds the graph, all joints and the interlock. Uses kerf_mm: outlines are reduced by half of it. DT_NO_MEMORY,
 * DT_LIBRARY, DT_STOPPED. Near linear in the points of the outlines; at worst pairs times pieces. */
dt_status dt_graph_new(const dt_pieces *pieces, const dt_settings *settings, const dt_watch *watch, dt_graph **out,
                       dt_error *error);
void dt_graph_free(dt_graph *graph);

size_t dt_graph_pair_count(const dt_graph *graph);
const dt_neighbours *dt_graph_pair(const dt_graph *graph, size_t index);
/* Neighbours of a piece, ascending. */
const dt_piece_id *dt_graph_around(const dt_graph *graph, dt_piece_id id, size_t *count);
/* Index of the pair in dt_graph_pair, or SIZE_MAX when they are no neighbours. O(log n). */
size_t dt_graph_find(const dt_graph *graph, dt_piece_id a, dt_piece_id b);
size_t dt_graph_components(const dt_graph *graph);
bool dt_graph_is_cut_piece(const dt_graph *graph, dt_piece_id id); /* articulation point */
/* Steps to the nearest edge piece over neighbours; 0 for an edge piece, UINT32_MAX where none can be reached. */
uint32_t dt_graph_distance_from_edge(const dt_graph *graph, dt_piece_id id);
/* The longest shortest path, in steps, over all components: found when asked for, as it can cost O(pieces * pairs).
 * DT_NO_MEMORY, DT_LIBRARY. */
dt_status dt_graph_diameter(const dt_graph *graph, uint32_t *out);
/* Held: the piece cannot leave the finished puzzle alone by a straight move in the plane. False for a piece that is a
 * puzzle by itself. */
bool dt_graph_is_held(const dt_graph *graph, dt_piece_id id);
const dt_interlock *dt_graph_interlock(const dt_graph *graph);

#endif
