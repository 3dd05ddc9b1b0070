/* report.h - an analysis in words, as a record, as a picture, as a page. Each function appends to a text (text.h),
 * whose `failed` tells when memory ran out. Texts for the screen are safe for a terminal; SVG and HTML are escaped. The
 * same analysis always gives the same bytes. All are linear in the size of the analysis. */
#ifndef DOVETELL_REPORT_H
#define DOVETELL_REPORT_H

#include <dovetell/analysis.h>
#include <dovetell/compare.h>
#include <dovetell/shelf.h>
#include <dovetell/text.h>

void dt_report_verdict(const dt_analysis *analysis, dt_text *out); /* "Not ready to cut: 1 gap, 1 pair of twins." */
void dt_report_summary(const dt_analysis *analysis, dt_text *out); /* one screen, verdict first */
void dt_report_check(const dt_analysis *analysis,
                     dt_text *out); /* what is wrong, worst first; one line when nothing is */
/* The fault as one sentence: place, size, stroke and layer, what to do. */
void dt_report_fault(const dt_analysis *analysis, const dt_fault *fault, dt_text *out);
dt_status dt_report_json(const dt_analysis *analysis, dt_text *out); /* one line, the record of DEVELOPERS.md */
dt_status dt_report_svg(const dt_analysis *analysis,
                        dt_text *out); /* the draft as pieces in true size, faults circled */
dt_status dt_report_html(const dt_analysis *analysis, dt_text *out); /* one self-contained page */
dt_status dt_report_csv(const dt_analysis *analysis, dt_text *out);  /* a header row, then a row for each piece */

/* ---- drafts side by side (compare.h) ---- */

/* The figures of `count` drafts in columns under their file names; of two, the difference too. */
void dt_report_compare_table(const dt_figures *figures, const char *const *files, size_t count, dt_text *out);
/* "The third draft is 6 points harder (half as much work again) because ...": number counts the later draft from 1. */
void dt_report_compare_verdict(const dt_comparison *comparison, size_t number, dt_text *out);
/* What went and came: pieces, twins, look-alikes, faults; one line each, nothing where nothing changed. */
void dt_report_compare_changes(const dt_comparison *comparison, dt_text *out);
/* One line: {schema, program, old, now, verdict, figures{name: {old, now, change}}, factors{...}, pieces{shift, same,
 * changed[], gone[], new[]}, twins{went[], came[]}, look_alikes{went[], came[]}, faults{went[], came[]}}; pieces
 * numbered from 1 in their draft. */
dt_status dt_report_compare_json(const dt_comparison *comparison, size_t number, dt_text *out);
/* A small picture of the pieces for a list: one <svg> element, some hundred pixels wide; its classes are draw.h's,
 * styled by the page round it. Nothing when memory runs out (out->failed). */
void dt_report_miniature(const dt_analysis *analysis, dt_text *out);

/* A shelf: a ranked table for the screen, one row a draft with a header row, a page with the pictures. */
void dt_report_shelf(const dt_shelf *shelf, dt_text *out);
void dt_report_shelf_csv(const dt_shelf *shelf, dt_text *out);
void dt_report_shelf_html(const dt_shelf *shelf, dt_text *out);

/* Farthest that a cut file moves outlines: beyond any kerf. */
#define DT_GROW_MOST_MM 5.0
/* An SVG cut file (mm, true size) of single pieces, to cut lost ones again: ids[0..count) in that order, laid out in
 * rows without overlap; a number may come more than once. Each piece is a closed path with the id "piece-N" (N from 1;
 * further copies "piece-N-copy-2" ...), its openings are paths in a layer "void". Outlines are moved outwards by
 * grow_mm (openings inwards, they may close; corners become round): 0 gives a piece like the first one, half the kerf
 * one as large as drawn. Nothing but cut lines is in it. Appends to *out, which stays untouched unless DT_OK.
 * DT_BAD_ARGUMENT with a sentence (no ids, no such piece, grow_mm not in 0 .. DT_GROW_MOST_MM), DT_NO_MEMORY,
 * DT_LIBRARY. About O(n log n) in the points. */
dt_status dt_report_cut_file(const dt_pieces *pieces, const dt_piece_id *ids, size_t count, double grow_mm,
                             dt_text *out, dt_error *error);

#endif
