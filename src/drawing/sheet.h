/* sheet.h - style sheets: rules whose selectors are made of types, classes, ids, descendants and children.
 *
 *     g.wing > path#tip , circle { fill: none }
 *     ------   --------   ------
 *       COMPOUNDS, each of PARTS (g, .wing)      a SELECTOR is a row of compounds; a rule has one or more of them
 *
 * Selectors lie in a list sorted by what their last compound asks for most sharply (id, else class, else type, else
 * anything), so that an element looks only at those that could fit it.
 */
#ifndef DOVETELL_DRAWING_SHEET_H
#define DOVETELL_DRAWING_SHEET_H

#include "drawing/css.h"
#include "drawing/notes.h"

typedef struct sheet sheet;

/* All style elements of the document, in their order. What is not understood is noted and left out. The sheet lives in
 * the arena. DT_NO_MEMORY or DT_TOO_LARGE. */
dt_status sheet_new(const document *doc, dt_arena *arena, notes *n, sheet **out);

/* Appends the declarations of all rules that fit the element, weakest first. False: no memory, or no more work allowed.
 */
bool sheet_match(sheet *rules, const element *e, declarations *out);
/* Has the work that a drawing's rules may cost been used up? */
bool sheet_is_exhausted(const sheet *rules);

/* One sheet's text alone: for tests and fuzzing. */
dt_status sheet_parse(const char *text, dt_arena *arena, notes *n, sheet **out);

#endif
