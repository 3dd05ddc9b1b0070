/* sheet.h - style sheets: rules whose selectors are made of types, classes, ids, descendants and children. */
#ifndef DOVETELL_DRAWING_SHEET_H
#define DOVETELL_DRAWING_SHEET_H

#include "drawing/css.h"

typedef struct sheet sheet;

/* Appends the declarations of all rules that fit the element, weakest first. False: no memory. */
bool sheet_match(const sheet *rules, const element *e, declarations *out);

#endif
