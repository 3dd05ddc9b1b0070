/* lines.h - from strokes to a clean net of cut lines and its faces.
 *
 * Vocabulary: a NODE is a point where cut lines meet or end (or an arbitrary point of a lone closed line). An ARC is a
 * stretch of cut line between two nodes, with no node inside. A HALF is an arc with a direction: half 2a is arc a as
 * stored, half 2a+1 reversed. A RING is a closed walk of halves with one face on its inner side. A FACE is bounded by
 * one outer ring and any number of hole rings. Whatever lies outside all faces is DT_OUTSIDE_FACE.
 *
 *         n0 ----a0----> n1       half 2*a0 has face `inner` (dt_orientation > 0 side) = arcs[a0].left
 *          ^              |       half 2*a0+1 has arcs[a0].right
 *          a3     f0      a1
 *          |              v
 *         n3 <----a2---- n2       face f0 = ring (0, 2, 4, 6): positive area
 *
 * Invariants (dt_net_check tests them all):
 *  1. arcs touch each other at nodes only; no arc crosses or touches itself except at its ends;
 *  2. every arc has faces on its two sides, of which at most one is outside; they differ (bridges and dangles are
 * gone);
 *  3. an outer ring has positive area, a hole ring negative; each half bounds exactly one ring, or the outside;
 *  4. V - E + F = 1 + C over nodes, arcs, faces (the outside counted), connected parts;
 *  5. coordinates are multiples of 0.001 mm.
 */
#ifndef DOVETELL_LINES_H
#define DOVETELL_LINES_H

#include <dovetell/faults.h>
#include <dovetell/settings.h>
#include <dovetell/strokes.h>

#define DT_OUTSIDE_FACE UINT32_MAX
#define DT_GRID_MM 0.001

typedef struct dt_node {
    dt_point at;
    uint32_t degree;      /* arc ends here; 3 or more = a junction */
} dt_node;

typedef struct dt_arc {
    uint32_t from, to;    /* nodes */
    uint32_t left, right; /* faces: left is on the side where dt_orientation(from, next, face) > 0 */
    dt_path path;         /* from .. to, both included; at least 2 points */
    double length;
    const uint32_t *strokes; /* the strokes that drew it, ascending */
    size_t stroke_count;
} dt_arc;

typedef struct dt_ring {
    const uint32_t *halves;
    size_t count;
} dt_ring;

typedef struct dt_face {
    dt_ring outer;
    const dt_ring *holes;
    size_t hole_count;
    double area;             /* without the holes */
} dt_face;

typedef struct dt_net dt_net;

/* Cleans the strokes and finds the faces. Uses kerf_mm and join_mm. Lines drawn twice count once; loose ends within
 * join_mm of a line are joined to it; what bounds no face is taken away; a sliver (inscribed circle narrower than a
 * kerf) is given to the face along its longest border. All this is reported as faults, but for what is smaller than
 * 0.02 mm (twice the flatness of curves), which is put right without a word. A face that rings all others in its one
 * hole (a tray) is a face like any other here. Faces have no order that matters. A fault's text for people is made
 * elsewhere; a gap that is not mended has in pieces[0] the face in which two pieces have run together (the other piece
 * has no number: it is the same face). DT_NO_PIECES with a sentence that names the nearest loose ends where no face
 * closes; DT_TOO_LARGE with a sentence for lines farther than 500 m out, or that cross or crowd each other a million
 * times; DT_NO_MEMORY; DT_LIBRARY. Near linear in the points and crossings. Method: snap rounding (Hobby, Practical
 * segment intersection with finite precision output, 1999) on whole micrometres, then the walk round the faces of the
 * plane graph; see DEVELOPERS.md. */
dt_status dt_net_new(dt_strokes strokes, const dt_settings *settings, dt_net **out, dt_error *error);
void dt_net_free(dt_net *net);

size_t dt_net_node_count(const dt_net *net);
size_t dt_net_arc_count(const dt_net *net);
size_t dt_net_face_count(const dt_net *net);
dt_node dt_net_node(const dt_net *net, size_t index);
const dt_arc *dt_net_arc(const dt_net *net, size_t index);
const dt_face *dt_net_face(const dt_net *net, size_t index);
double dt_net_cut_length(const dt_net *net); /* each distinct line once, strays and tails too */

/* The lines that bound no face and were taken away: strays and tails, and seams that stop too far from the line they
 * aim for. From 0.02 mm on; in no order that matters. For drawing them. */
size_t dt_net_loose_count(const dt_net *net);
dt_path dt_net_loose(const dt_net *net, size_t index);
/* Where each piece has an outline of its own and these lie apart everywhere by the same distance, too far to be taken
 * for one line (the larger of kerf and join) but below 1 mm: that distance. Else 0. */
double dt_net_outlines_apart(const dt_net *net);
/* Where such outlines, drawn inside the pieces' borders, were moved together: how far they lay apart. The pieces come out so much
 * smaller than the faces are, and have so much play beside the kerf's. Else 0. */
double dt_net_looser(const dt_net *net);

/* Faults of the lines, worst first; pieces[] hold face indices. */
size_t dt_net_fault_count(const dt_net *net);
const dt_fault *dt_net_fault(const dt_net *net, size_t index);

/* Tests the invariants above; a sentence that names the first one broken, or NULL. For tests and fuzzing. O(n log n).
 */
const char *dt_net_check(const dt_net *net);

#endif
