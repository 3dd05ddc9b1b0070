/* strokes.h - what a drawing hands on: flattened lines in millimetres with the names that they had in the drawing.
 *
 * Vocabulary: a STROKE is one drawn subpath, flattened. A FILL is one filled area of the drawing (it says what colour
 * lies there, it is not cut). The strings live as long as the drawing that made them.
 */
#ifndef DOVETELL_STROKES_H
#define DOVETELL_STROKES_H

#include <dovetell/geom.h>

/* What the first word of a layer's name says of the strokes in it. The last three are no cuts. */
typedef enum dt_role {
    DT_ROLE_CUT,
    DT_ROLE_WHIMSY,
    DT_ROLE_VOID,
    DT_ROLE_GUIDE,
    DT_ROLE_ENGRAVE,
    DT_ROLE_SCORE
} dt_role;

#define DT_NO_COLOUR UINT32_MAX /* colours are 0xRRGGBB otherwise */

typedef struct dt_stroke {
    dt_path path;       /* at least 2 points; a closed stroke does not repeat its first point */
    bool closed;        /* closepath, a closed basic shape, or ends where it began (within 1 micrometre) */
    bool lone;          /* the only subpath of its element */
    dt_role role;       /* DT_ROLE_CUT, DT_ROLE_WHIMSY or DT_ROLE_VOID */
    const char *name;   /* the element's id, or "" */
    const char *layer;  /* name of the innermost named group, or "" */
    uint32_t colour;    /* of the stroke, or DT_NO_COLOUR */
    unsigned line;      /* where the element stands in the file, from 1; 0 = unknown */
} dt_stroke;

typedef struct dt_fill {
    dt_path path;       /* closed; the subpaths of one element share `element` and are filled together */
    uint32_t colour;    /* or DT_NO_COLOUR for gradients and patterns */
    uint32_t element;   /* grows in painting order: later covers earlier */
    bool nonzero;       /* fill rule of the element: by winding, else even-odd */
} dt_fill;

/* All of a drawing, seen, not owned. */
typedef struct dt_strokes {
    const dt_stroke *strokes;
    size_t count;
    const dt_fill *fills;
    size_t fill_count;
} dt_strokes;

#endif
