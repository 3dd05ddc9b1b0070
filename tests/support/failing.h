/* failing.h - allocations of our own code that fail on purpose. The linker's --wrap (GNU ld and its like) sends malloc,
 * calloc, realloc, strdup and free of every object of ours through here; the libraries' own calls go on as ever. */
#ifndef DOVETELL_TESTS_FAILING_H
#define DOVETELL_TESTS_FAILING_H

#include <stdbool.h>
#include <stddef.h>

/* From now on the allocation number nth (from 1; 0 = none) fails, and where `lasting` all after it. */
void failing_begin(size_t nth, bool lasting);
/* Ends that. How many allocations were asked for since. */
size_t failing_end(void);
/* Allocations less releases since failing_begin. */
long failing_left_over(void);

#endif
