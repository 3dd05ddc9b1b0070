/* assembling.h - a draft with all that the search for other assemblies needs, in one step. */
#ifndef DOVETELL_TESTS_ASSEMBLING_H
#define DOVETELL_TESTS_ASSEMBLING_H

#include "draft.h"
#include <dovetell/assembly.h>

typedef struct assembling {
    dt_settings settings;
    dt_net *net;
    dt_pieces *pieces;
    dt_fit *fit;
    dt_assembly *assembly;
} assembling;

/* Takes the draft over. Fails the test where a stage fails, or where a witness does not pass dt_assembly_verify. */
assembling assemble(draft *d, dt_settings settings);
/* The same with a watch on the search for other assemblies; NULL = none. */
assembling assemble_watched(draft *d, dt_settings settings, const dt_watch *watch);
void assembling_free(assembling *a);

#endif
