/* colour.h - colours as CSS writes them (CSS Color 4: names, #rgb to #rrggbbaa, rgb(), hsl()). */
#ifndef DOVETELL_DRAWING_COLOUR_H
#define DOVETELL_DRAWING_COLOUR_H

#include <stdbool.h>
#include <stdint.h>

typedef struct colour {
    uint32_t rgb; /* 0xRRGGBB */
    double alpha; /* 0 to 1 */
} colour;

bool colour_scan(const char **at, colour *out);
bool colour_parse(const char *text, colour *out); /* the whole text */

#endif
