/* shelf_words.h - what the screen and the page of a shelf say alike. */
#ifndef DOVETELL_REPORT_SHELF_WORDS_H
#define DOVETELL_REPORT_SHELF_WORDS_H

#include "report/words.h"
#include <dovetell/shelf.h>

/* The draft's file without its folder, as it is (hostile until escaped). */
const char *shelf_name(const dt_shelf_row *row);
words_findings shelf_findings(const dt_shelf_figures *figures);

#endif
