/* reasons.h - why a drawing has no cut lines, and what else the maker should know of how it was read. */
#ifndef DOVETELL_DRAWING_REASONS_H
#define DOVETELL_DRAWING_REASONS_H

#include "drawing/reader.h"

/* Fails with DT_NO_LINES and a sentence that says why and what to do. */
void reasons_fail(reader *r);
/* Notes what cannot be cut, what --only and --skip do not find, and layers that are not cut. */
void reasons_note(reader *r);

#endif
