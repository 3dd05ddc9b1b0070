/* length.h - lengths with units (CSS Values 3; 96 px to the inch) and what percentages refer to. */
#ifndef DOVETELL_DRAWING_LENGTH_H
#define DOVETELL_DRAWING_LENGTH_H

#include <stdbool.h>
#include <stddef.h>

#define PX_PER_INCH 96.0
#define MM_PER_INCH 25.4

typedef enum length_unit {
    UNIT_PX,
    UNIT_MM,
    UNIT_CM,
    UNIT_IN,
    UNIT_PT,
    UNIT_PC,
    UNIT_Q,
    UNIT_EM,
    UNIT_EX,
    UNIT_REM,
    UNIT_PERCENT
} length_unit;

typedef struct length {
    double value;
    length_unit unit;
} length;

typedef enum length_axis { AXIS_X, AXIS_Y, AXIS_BOTH } length_axis;

/* What relative lengths refer to, in user units. */
typedef struct length_base {
    double width, height; /* of the nearest viewport */
    double font_size, root_font_size;
} length_base;

/* A finite number with a known unit, moving the cursor on. */
bool length_scan(const char **at, length *out);
/* The same as the whole text. */
bool length_parse(const char *text, length *out);
double length_resolve(length l, length_axis axis, const length_base *base); /* user units */
bool length_is_physical(length l);                                          /* mm, cm, in, pt, pc, Q */

#endif
