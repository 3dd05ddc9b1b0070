/* path_data.h - the path data of SVG (SVG 2, chapter 9; SVG 1.1, 8.3 and appendix F.6) as an outline. */
#ifndef DOVETELL_DRAWING_PATH_DATA_H
#define DOVETELL_DRAWING_PATH_DATA_H

#include "drawing/outline.h"

/* Larger coordinates are taken as errors: at this size a double still tells 0.0001 apart. */
#define PATH_MOST_COORDINATE 1e12

/* Where path data goes wrong: the first wrong character, and where the piece of a command began that holds it. */
typedef struct path_error {
    const char *at, *segment;
} path_error;

/* Appends what comes before the first error; true if there was none. Linear. */
bool path_data_parse(const char *d, outline *out, path_error *error);

/* Appends the elliptical arc from `from` to `to` (SVG 1.1, F.6): rotation in degrees. Radii may be 0 (a line) or too
 * small (they grow). False if they would grow beyond PATH_MOST_COORDINATE: then nothing is added. */
typedef struct arc_shape {
    double rx, ry, rotation;
    bool large, positive;
} arc_shape;
bool path_add_arc(outline *out, dt_point from, arc_shape shape, dt_point to);

#endif
