/* transform.h - transform lists, as attribute (SVG 1.1, 7.6) and as CSS property (CSS Transforms 1, two-dimensional).
 */
#ifndef DOVETELL_DRAWING_TRANSFORM_H
#define DOVETELL_DRAWING_TRANSFORM_H

#include "drawing/affine.h"
#include "drawing/length.h"

/* The whole text must be a list of known functions (or "none"); false leaves *out. */
bool transform_parse(const char *text, const length_base *base, affine *out);
/* One or two lengths or keywords; *out in user units. */
bool transform_origin_parse(const char *text, const length_base *base, dt_point *out);

#endif
