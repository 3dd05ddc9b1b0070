/* page.h - the page of a draft, put together from its parts, so that a server can add a script of its own.
 *
 * The page needs nothing from outside: style, scripts and data stand in it. Its content policy allows no source at all
 * but the style and scripts whose SHA-256 stands in it, so that nothing that a draft smuggles in can run.
 */
#ifndef DOVETELL_REPORT_PAGE_H
#define DOVETELL_REPORT_PAGE_H

#include "report/draw.h"

#include <dovetell/analysis.h>
#include <dovetell/text.h>

typedef struct page_script {
    const unsigned char *bytes; /* no closing script tag in it */
    size_t count;
} page_script;

typedef struct page_options {
    const page_script *more; /* run after the page's own scripts, with its window.dovetell at hand */
    size_t more_count;
    const char *head;   /* more elements for the head; NULL = none */
    const char *policy; /* more directives for the content policy: "connect-src 'self'"; NULL = none */
} page_options;

/* options may be NULL. */
dt_status page_write(const dt_analysis *analysis, const page_options *options, dt_text *out);

/* What the scripts know of the draft, as JSON that may stand in a script element: < > & and the line separators that
 * scripts dislike are written as \u escapes. */
dt_status page_data(const dt_analysis *analysis, const draw_plan *plan, dt_text *out);

#endif
