/* viewbox.h - viewBox and preserveAspectRatio (SVG 1.1, 7.7 and 7.8). */
#ifndef DOVETELL_DRAWING_VIEWBOX_H
#define DOVETELL_DRAWING_VIEWBOX_H

#include "drawing/affine.h"

typedef struct viewbox {
    double x, y, width, height;
} viewbox;

/* Four finite numbers; sizes must not be negative (0 means that nothing is drawn). */
bool viewbox_parse(const char *text, viewbox *out);
/* The map that lays the box into a viewport of this size at (0, 0). ratio is the text of preserveAspectRatio or NULL; a
 * text that makes no sense counts as none. The box must not be empty. */
affine viewbox_map(viewbox box, double width, double height, const char *ratio);

#endif
