/* affine.h - affine maps: (x, y) -> (a x + c y + e, b x + d y + f), as SVG writes them (SVG 1.1, 7.4). */
#ifndef DOVETELL_DRAWING_AFFINE_H
#define DOVETELL_DRAWING_AFFINE_H

#include <dovetell/geom.h>

typedef struct affine {
    double a, b, c, d, e, f;
} affine;
#define AFFINE_IDENTITY ((affine){1.0, 0.0, 0.0, 1.0, 0.0, 0.0})

affine affine_compose(affine outer, affine inner); /* inner first */
affine affine_shift(double x, double y);
affine affine_scale(double x, double y);
dt_point affine_point(affine map, dt_point p);
dt_point affine_vector(affine map, dt_point v); /* without the shift */

#endif
