/* tag.h - the card that goes into a listing: what the puzzle is, how long it takes, and what the buyer must know. */
#ifndef DOVETELL_TAG_H
#define DOVETELL_TAG_H

#include <dovetell/analysis.h>
#include <dovetell/text.h>

typedef enum dt_tag_form { DT_TAG_SVG, DT_TAG_PNG, DT_TAG_PDF, DT_TAG_HTML, DT_TAG_TEXT } dt_tag_form;

/* The form for a file name by its ending (.svg, .png, .pdf, .html, .txt, in any case); false for any other. */
bool dt_tag_form_of(const char *path, dt_tag_form *out);

/* Appends the tag in that form: a picture of 600 x 300 units (the PNG twice as many pixels each way). name is what the
 * puzzle is called; NULL = the drawing's title, else its file name without ending. Any text may stand in it. The same
 * analysis gives the same bytes. DT_NO_MEMORY; DT_LIBRARY when librsvg or cairo cannot draw it. */
dt_status dt_report_tag(const dt_analysis *analysis, const char *name, dt_tag_form form, dt_text *out);

#endif
