/* flooded.h - pieces against an independent path: the drawing rendered by librsvg and flooded pixel by pixel. */
#ifndef DOVETELL_TESTS_FLOODED_H
#define DOVETELL_TESTS_FLOODED_H

#include <stddef.h>

typedef struct flooded_sheet {
    const char *file;
    double scale,
        line; /* pixels to the millimetre, fine enough that the narrowest neck stays open; mm, of the drawn line */
    double
        ragged; /* of the area: where a border winds about more closely than the line is wide, the line covers less */
    double
        least; /* pieces with a smaller inscribed circle (mm) are not compared, nor regions of about that size missed */
    size_t voids;
} flooded_sheet;

/* The test fails unless there are as many regions as pieces and voids, each as large as its piece less the half of the
 * drawn line that lies on it. */
void flooded_compare(const flooded_sheet *sheet);

#endif
