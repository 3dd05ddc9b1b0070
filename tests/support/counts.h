/* counts.h - the drafts whose number of assemblies has been published, each drawn as the cut lines of one known
 * solution. */
#ifndef DOVETELL_TESTS_COUNTS_H
#define DOVETELL_TESTS_COUNTS_H

#include "pentominoes.h"

typedef struct counted_draft {
    const char *name;        /* of the file in corpus/counts, without its ending */
    void (*draw)(draft *d);
    unsigned fillings, distinct; /* two-sided; distinct 0 = not published */
    bool quick;              /* within 2 s */
} counted_draft;

extern const counted_draft counted_drafts[];
extern const size_t counted_draft_count;

/* By its name; the test fails where there is none. */
const counted_draft *counted_draft_named(const char *name);

#endif
