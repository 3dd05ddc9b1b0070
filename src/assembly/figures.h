/* figures.h - bodies whose lines are all straight, and how deep points lie in them, at any depth (a body's own field
 * answers only near its lines).
 *
 * Invariants: 1. a figure's vertices are the body's corners, ring after ring, in walking order with the solid on the
 * left; 2. `out` and `back` are unit vectors from a vertex to the next and to the one before.
 */
#ifndef DOVETELL_ASSEMBLY_FIGURES_H
#define DOVETELL_ASSEMBLY_FIGURES_H

#include "assembly/body.h"

enum { DT_MOST_VERTICES = 256 }; /* of a figure: with more of them the work would be out of bounds */

typedef struct dt_vertex {
    dt_point at, out, back;
    uint32_t next;
    bool convex;
} dt_vertex;

typedef struct dt_figure {
    const dt_body *body;
    dt_vertex *vertices;
    uint32_t count;
    dt_point *probes; /* along its lines, and one well inside where there is an inside */
    uint32_t probe_count;
} dt_figure;

/* Are all its lines straight and all its corners right angles? O(points). */
bool dt_body_is_square(const dt_body *body);

/* *straight is false where the body has a line that is not straight, a bend that is no corner, a corner of less than 20
 * degrees, or too many corners. step: mm between probes. false: no memory. */
bool dt_figure_make(const dt_body *body, double step, dt_arena *arena, dt_figure *out, bool *straight);

/* Distance to the figure's lines, positive in the solid. O(vertices). */
double dt_figure_depth(const dt_figure *figure, dt_point p);

/* How deep the probes of a figure lie in another, at most; `there` carries the figure's axes to the other's. Stops at
 * the first that lies deeper than `enough`. */
double dt_figure_sinks(const dt_figure *figure, dt_pose there, const dt_figure *other, double enough);

#endif
