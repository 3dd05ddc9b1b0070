/* css.h - the declarations of style attributes and of the blocks of style sheets (CSS 2.1, chapter 4). */
#ifndef DOVETELL_DRAWING_CSS_H
#define DOVETELL_DRAWING_CSS_H

#include "drawing/xml.h"

typedef DT_ARRAY(declaration) declarations;

void css_skip(const char **at); /* spaces and comments */
/* Moves past everything up to the first of `stops` that stands outside brackets, quotes and comments, or to the end. */
void css_skip_until(const char **at, const char *stops);
/* Reads declarations up to a closing brace (not consumed) or the end; those of unknown properties are left out. Values
 * live in the arena. False: no memory. */
bool css_read_declarations(const char **at, dt_arena *arena, declarations *out);

/* Is the name one of a list parted by spaces (the value of a class attribute)? */
bool css_list_holds(const char *list, const char *name);

#endif
