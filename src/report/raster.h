/* raster.h - SVG, the one drawing language, turned into PNG and PDF by librsvg and cairo. */
#ifndef DOVETELL_REPORT_RASTER_H
#define DOVETELL_REPORT_RASTER_H

#include <dovetell/text.h>

typedef struct raster_size {
    double width, height; /* of the drawing, in its own units (1/96 inch) */
    double scale;         /* pixels to the unit; 1 for PDF */
} raster_size;

/* Append the picture of an SVG document. DT_LIBRARY when it cannot be drawn, DT_NO_MEMORY. */
dt_status raster_png(const dt_text *svg, raster_size size, dt_text *out);
dt_status raster_pdf(const dt_text *svg, raster_size size, dt_text *out);

#endif
