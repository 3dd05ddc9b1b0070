/* tally.h - the fillings that have been met, so that each is counted once.
 *
 * Lines that nearly meet let one filling be met several times, in poses that differ by hundredths of a millimetre, and a turned or
 * mirrored filling may come up in spite of the ranks of search.c. So placements of one body that cover the same ground within twice a
 * seat are one CLASS; a filling is its sorted list of classes; and with each new one all its images under the symmetries of the outline
 * are noted as met. With g symmetries, of which s carry a filling onto itself, it stands for g/s fillings and one distinct one.
 */
#ifndef DOVETELL_ASSEMBLY_TALLY_H
#define DOVETELL_ASSEMBLY_TALLY_H

#include "assembly/outcome.h"

typedef struct dt_ground {
    uint32_t body, chain;
    dt_pose pose;
    dt_point centre;
} dt_ground;

typedef struct dt_tally {
    const dt_board *board;
    uint32_t tile_count;
    DT_ARRAY(dt_ground) classes;
    DT_ARRAY(uint32_t) class_of;   /* per placement; DT_NONE = not asked yet */
    dt_map by_centre, by_hash;
    DT_ARRAY(uint32_t) lists;      /* tile_count + 1 each: the next list of the same hash, then the classes in ascending order */
    DT_ARRAY(uint32_t) scratch;
    bool full;                     /* more lists than are kept: from here on nothing is new */
} dt_tally;

void dt_tally_start(const dt_board *board, uint32_t tile_count, dt_tally *tally);
void dt_tally_free(dt_tally *tally);

/* Begins a list, adds one body of it, and notes it: *is_new tells whether it had not been met. false: no memory. */
void dt_tally_begin(dt_tally *tally);
bool dt_tally_body(dt_tally *tally, uint32_t body, dt_pose pose);
bool dt_tally_placement(dt_tally *tally, uint32_t placement);
bool dt_tally_note(dt_tally *tally, bool *is_new);

#endif
