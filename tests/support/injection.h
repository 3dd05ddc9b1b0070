/* injection.h - clean drafts damaged on purpose, at seeded random, with the fault that must be found. */
#ifndef DOVETELL_TESTS_INJECTION_H
#define DOVETELL_TESTS_INJECTION_H

#include "stroke_list.h"

typedef enum injected {
    INJECTED_SHORT_END,    /* a seam ends short of its junction */
    INJECTED_BREAK,        /* a seam is broken in the middle */
    INJECTED_TAIL,
    INJECTED_DOUBLE,       /* part of a seam again, offset by up to a quarter kerf, perhaps reversed */
    INJECTED_COPY,         /* a whole seam again, exactly */
    INJECTED_STRAY,
    INJECTED_SLIVER,       /* a seam drawn again beside itself, half a kerf away */
    INJECTED_CLOSE,        /* the same, 0.3 mm away: a face more, too thin to stay */
    INJECTED_NOTHING_LONG, /* strokes of no length: no fault */
    INJECTED_WIDE_BREAK,   /* wider than the join distance: a face less */
    INJECTED_OPEN,         /* the border is broken: a face less */
    INJECTED_KINDS
} injected;

/* Builds a clean draft from the seed, injects, and tests all that must hold: the clean draft has no fault; the fault is
 * found with its kind within 0.5 mm of its place; nothing else is reported; the intended number of faces comes out.
 * NULL, or what is wrong (a static text). */
const char *injection_try(injected kind, uint64_t seed);

#endif
