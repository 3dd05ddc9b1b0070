/* collect.h - from figures to strokes and fills in millimetres. */
#ifndef DOVETELL_DRAWING_COLLECT_H
#define DOVETELL_DRAWING_COLLECT_H

#include "drawing/reader.h"

typedef struct collection {
    dt_points points;
    DT_ARRAY(dt_stroke) strokes;
    DT_ARRAY(dt_fill) fills;
    DT_ARRAY(size_t) stroke_starts; /* first point of each stroke and fill, until they are linked */
    DT_ARRAY(size_t) fill_starts;
    double width, height; /* mm */
    dt_unit_source unit_source;
} collection;

/* Chooses what is cut, scales and flattens it. Failures go to the reader. */
void reader_collect(reader *r, collection *out);
void collection_free(collection *c);

/* Points the paths at the points, once these lie still. */
void collection_link(collection *c);

#endif
