/* strokes_check.h - what must hold of everything that the reader hands on (see dovetell/strokes.h). */
#ifndef DOVETELL_TESTS_STROKES_CHECK_H
#define DOVETELL_TESTS_STROKES_CHECK_H

#include <dovetell/strokes.h>

/* NULL, or a sentence that says what is wrong. `most`: no coordinate is larger. */
const char *strokes_check(dt_strokes strokes, double most);

#endif
