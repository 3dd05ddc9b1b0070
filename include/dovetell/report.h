/* report.h - an analysis in words, as a record, as a picture, as a page. Each function appends to a text (text.h), whose
 * `failed` tells when memory ran out. Texts for the screen are safe for a terminal; SVG and HTML are escaped. The same
 * analysis always gives the same bytes. All are linear in the size of the analysis. */
#ifndef DOVETELL_REPORT_H
#define DOVETELL_REPORT_H

#include <dovetell/analysis.h>
#include <dovetell/text.h>

void dt_report_summary(const dt_analysis *analysis, dt_text *out); /* one screen, verdict first */
void dt_report_check(const dt_analysis *analysis, dt_text *out);   /* what is wrong, worst first; one line when nothing is */
/* The fault as one sentence: place, size, stroke and layer, what to do. */
void dt_report_fault(const dt_analysis *analysis, const dt_fault *fault, dt_text *out);
dt_status dt_report_json(const dt_analysis *analysis, dt_text *out); /* one line, see docs/output.md */
dt_status dt_report_svg(const dt_analysis *analysis, dt_text *out);  /* the draft as pieces in true size, faults circled */
dt_status dt_report_html(const dt_analysis *analysis, dt_text *out); /* one self-contained page */
dt_status dt_report_csv(const dt_analysis *analysis, dt_text *out);  /* a header row, then a row for each piece */

#endif
