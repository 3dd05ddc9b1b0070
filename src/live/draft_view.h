/* draft_view.h - what the pages show of an analysed draft. */
#ifndef DOVETELL_LIVE_DRAFT_VIEW_H
#define DOVETELL_LIVE_DRAFT_VIEW_H

#include "shared_text.h"
#include <dovetell/analysis.h>

typedef struct draft_view {
    bool ok;                     /* ready to cut */
    bool wrong;                  /* something to mend was found; neither: nothing was found, but not all is proved */
    char line[160];              /* "60 pieces, steady (57 points)" */
    char remark[160];            /* "2 faults, 1 pair of twins", "ready to cut" */
    shared_text *page, *picture; /* both NULL before the first analysis */
} draft_view;

/* The page follows the draft's saves. DT_NO_MEMORY. */
dt_status draft_view_new(const dt_analysis *analysis, uint64_t version, draft_view *out, dt_error *error);
draft_view draft_view_hold(const draft_view *view); /* one more holder of page and picture */
void draft_view_drop(draft_view *view);

/* The page of a drawing that is in no file; NULL when memory has run out. */
shared_text *draft_view_dropped(const dt_analysis *analysis);

#endif
