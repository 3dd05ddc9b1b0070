/* pixels.h - a drawing as librsvg renders it, beside its strokes as we read them, compared pixel by pixel. */
#ifndef DOVETELL_TESTS_PIXELS_H
#define DOVETELL_TESTS_PIXELS_H

#include <dovetell/drawing.h>

/* How two renderings differ: the largest difference of coverage (0 to 255), how many pixels differ by more than 64, how
 * many are covered at all in the original (in ours) with nothing of the other within a pixel, and how many are more
 * than half covered in the one or the other. */
typedef struct pixels_difference {
    int largest;
    size_t strong, missing, extra, covered;
} pixels_difference;

/* Renders the SVG text by librsvg and the strokes (all, or only the outlines that the fills have) by plain cairo lines
 * of `line_px`, round caps and joins, `px_per_mm` pixels to the millimetre. False when librsvg cannot render it. */
typedef struct pixels_setup {
    double px_per_mm, line_px;
    bool fills;         /* compare filled areas instead of strokes */
    const char *folder; /* where to leave original.png and ours.png, or NULL */
} pixels_setup;
bool pixels_compare(const char *svg, size_t length, const dt_drawing *drawing, const pixels_setup *setup,
                    pixels_difference *out);

#endif
