/* ink.h - where a rendered picture has anything written. */
#ifndef DOVETELL_TESTS_INK_H
#define DOVETELL_TESTS_INK_H

#include "report/raster.h"
#include <cairo.h>

/* The SVG as librsvg renders it. The caller destroys it. */
cairo_surface_t *ink_render(const dt_text *svg, raster_size size);
/* All pixels of a box alike: nothing is written there. */
bool ink_is_plain(cairo_surface_t *surface, int x0, int y0, int x1, int y1);

#endif
