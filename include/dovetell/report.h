/* report.h - an analysis in words, as a record, as a picture, as a page. Each function appends to a text (text.h). */
#ifndef DOVETELL_REPORT_H
#define DOVETELL_REPORT_H

#include <dovetell/analysis.h>
#include <dovetell/text.h>

void dt_report_summary(const dt_analysis *analysis, dt_text *out);  /* one screen, verdict first */
void dt_report_faults(const dt_analysis *analysis, dt_text *out);   /* worst first, one a line; nothing when all is well */
dt_status dt_report_json(const dt_analysis *analysis, dt_text *out);/* one line: see the contract in README */
dt_status dt_report_svg(const dt_analysis *analysis, dt_text *out); /* the draft as pieces, faults circled */
dt_status dt_report_html(const dt_analysis *analysis, dt_text *out);/* one self-contained page */
dt_status dt_report_csv(const dt_analysis *analysis, dt_text *out); /* one row a piece, with a header row */

#endif
