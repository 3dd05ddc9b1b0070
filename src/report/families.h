/* families.h - pieces that may trade places, gathered: twins of twins belong together. A family has a letter. */
#ifndef DOVETELL_REPORT_FAMILIES_H
#define DOVETELL_REPORT_FAMILIES_H

#include <dovetell/analysis.h>
#include <dovetell/text.h>

#define NO_FAMILY UINT32_MAX

typedef struct families {
    uint32_t *of;    /* by piece: its family from 0 in the order of their first pieces, or NO_FAMILY */
    uint32_t *sizes; /* by family: pieces in it */
    size_t count;
} families;

/* Twins that fit only turned over count on two-sided sheets only. False when memory runs out. */
bool families_find(const dt_analysis *analysis, families *out);
void families_free(families *f);
void families_add_letter(dt_text *out, uint32_t family); /* A .. Z, AA, AB ... */

#endif
