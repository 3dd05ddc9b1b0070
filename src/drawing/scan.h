/* scan.h - reading numbers and words from attribute text. A cursor is a pointer into a zero-terminated text; a function
 * that finds what it looks for moves it on, else leaves it. Nothing here depends on the locale. */
#ifndef DOVETELL_DRAWING_SCAN_H
#define DOVETELL_DRAWING_SCAN_H

#include <stdbool.h>
#include <stddef.h>

bool scan_is_space(char c); /* space, tab, line feed, carriage return, form feed */
bool scan_is_letter(char c);
bool scan_is_digit(char c);
char scan_lower(char c);

void scan_spaces(const char **at);
/* Spaces with at most one comma among them; true if there was a comma. */
bool scan_separator(const char **at);
bool scan_char(const char **at, char c);
/* The next text, in any case of letters. */
bool scan_text(const char **at, const char *text);
/* The same, and no letter, digit or - follows. */
bool scan_word(const char **at, const char *word);
/* Is the whole text this word, but for spaces around it and the case of its letters? */
bool scan_is_word(const char *text, const char *word);
bool scan_same(const char *a, const char *b); /* equal but for the case of ASCII letters */

/* A decimal number (SVG 1.1, 4.2: sign, digits with a point, exponent), rounded correctly; +-HUGE_VAL when beyond the
 * range of double. */
bool scan_number(const char **at, double *out);
/* One number and nothing else but spaces. */
bool scan_lone_number(const char *text, double *out);

#endif
