/* compare_figures.h - the figures of a comparison as one list, for the table and for the record. */
#ifndef DOVETELL_REPORT_COMPARE_FIGURES_H
#define DOVETELL_REPORT_COMPARE_FIGURES_H

#include <dovetell/compare.h>

typedef enum figure_kind { FIGURE_COUNT, FIGURE_MEASURE, FIGURE_ASKED, FIGURE_FACTOR } figure_kind;

typedef struct figure {
    figure_kind kind;  /* measures stand in the table even when 0 or none in every draft, other figures do not */
    const char *key;   /* in the record */
    const char *label; /* in the table */
    double value;      /* INFINITY = there is none */
    int decimals;      /* in the table */
} figure;

/* At most MOST_FIGURES of them, always the same keys in the same order. */
enum { MOST_FIGURES = 64 };
size_t list_figures(const dt_figures *f, figure out[MOST_FIGURES]);

#endif
