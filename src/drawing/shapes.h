/* shapes.h - the basic shapes and paths as outlines in their own user units. */
#ifndef DOVETELL_DRAWING_SHAPES_H
#define DOVETELL_DRAWING_SHAPES_H

#include "drawing/reader.h"

/* Appends the curves of a shape element; what is wrong with it is noted. A shape that is not drawn (no size) adds
 * nothing. */
void shape_outline(const element *e, const own_style *own, const length_base *base, outline *out, notes *n);

#endif
