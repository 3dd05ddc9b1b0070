/* style.h - what an element looks like: the cascade of its declarations and the values that come of it. */
#ifndef DOVETELL_DRAWING_STYLE_H
#define DOVETELL_DRAWING_STYLE_H

#include "drawing/css.h"
#include "drawing/colour.h"
#include "drawing/length.h"
#include "drawing/sheet.h"

typedef enum paint_kind { PAINT_NONE, PAINT_COLOUR, PAINT_CURRENT, PAINT_SERVER } paint_kind;

typedef struct paint {
    paint_kind kind, fallback; /* fallback: where the server is not there */
    colour colour;
    const char *server; /* id of a gradient or pattern: length bytes */
    size_t server_length;
} paint;

/* Values that the content of an element inherits. */
typedef struct style {
    paint fill, stroke;
    colour color;
    double fill_opacity, stroke_opacity;
    double stroke_width; /* only its being above 0 means anything */
    double font_size;    /* user units */
    bool visible, dashed, nonzero;
} style;

typedef enum measure {
    MEASURE_X,
    MEASURE_Y,
    MEASURE_WIDTH,
    MEASURE_HEIGHT,
    MEASURE_CX,
    MEASURE_CY,
    MEASURE_R,
    MEASURE_RX,
    MEASURE_RY,
    MEASURE_COUNT
} measure;

/* Values of the element alone. */
typedef struct own_style {
    bool displayed, clipped;
    double opacity;
    const char *transform, *origin; /* as written, or NULL */
    length measures[MEASURE_COUNT];
    bool given[MEASURE_COUNT];
} own_style;

bool style_is_property(word w);
style style_initial(void);

/* Gathers the element's declarations, weakest first (presentation attributes, sheet rules by specificity, style
 * attribute, then the important ones likewise), once for each element. False: no memory or out of work. */
bool style_cascade(element *e, sheet *rules, dt_arena *arena);
/* The values of a cascaded element inside a parent. Declarations that make no sense leave what weaker ones said. */
void style_compute(const element *e, const style *parent, const length_base *base, style *out, own_style *own);

/* Can this paint be seen? *rgb becomes its colour, or DT_NO_COLOUR for gradients and patterns. */
bool style_paint_is_visible(const paint *p, const style *s, const document *doc, uint32_t *rgb);

#endif
