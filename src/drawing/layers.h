/* layers.h - what the names of layers mean, and which strokes --only and --skip name. */
#ifndef DOVETELL_DRAWING_LAYERS_H
#define DOVETELL_DRAWING_LAYERS_H

#include "drawing/xml.h"
#include <dovetell/strokes.h>

/* The meaning of the first word of a layer's name, in any case; false (and *role left) if it has none. */
bool layer_role(const char *name, dt_role *role);
/* A group's name: its label, else its id, else NULL. */
const char *layer_name(const element *group);
bool layer_is_cut(dt_role role);

/* Is the element's label, id or one of its classes among the names? */
bool layer_is_named(const element *e, const char *const *names, size_t count);
/* Is the colour (0xRRGGBB) among the names? */
bool layer_colour_is_named(uint32_t colour, const char *const *names, size_t count);

#endif
