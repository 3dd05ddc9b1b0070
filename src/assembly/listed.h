/* listed.h - all assemblies of a puzzle whose pieces have few places that lie clearly apart, as on a grid: by an exact
 * cover of points with all stations of a catalogue. */
#ifndef DOVETELL_ASSEMBLY_LISTED_H
#define DOVETELL_ASSEMBLY_LISTED_H

#include "assembly/search.h"

/* The same answer as dt_search_run, from one run whatever the play: what is listed holds for all of it. *answered is
 * false where the puzzle is not of that sort or anything is in doubt; then *out is untouched. steps: stations, and
 * those tried in a place. DT_NO_MEMORY. */
dt_status dt_listed_run(const dt_problem *problem, const dt_search_options *options, dt_search_result *out,
                        bool *answered);

#endif
