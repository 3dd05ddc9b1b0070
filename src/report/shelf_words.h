/* shelf_words.h - what the screen and the page of a shelf say alike. */
#ifndef DOVETELL_REPORT_SHELF_WORDS_H
#define DOVETELL_REPORT_SHELF_WORDS_H

#include <dovetell/shelf.h>

/* The draft's file without its folder, as it is (hostile until escaped). */
const char *shelf_name(const dt_shelf_row *row);
/* Was something found wrong? That one way could not be proved is nothing wrong yet. */
bool shelf_finds_wrong(const dt_shelf_figures *figures);
/* What a maker should look at first, in a few words: "2 faults, 1 pair of twins", "ready to cut". */
void shelf_remark(dt_text *out, const dt_shelf_figures *figures);

#endif
