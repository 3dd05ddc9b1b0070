/* Net and pieces of a draft in one step: apart from draft.c, so that a tool needs only the stages that it uses. */
#include "draft.h"

#include <stdio.h>
#include <stdlib.h>

static const double FLATNESS_MM = 0.01; /* as the reader's */

dt_pieces *draft_pieces(draft *d, const dt_settings *settings, dt_net **net) {
    dt_strokes strokes = draft_strokes(d, FLATNESS_MM);
    dt_pieces *pieces = NULL;
    dt_error error = {0};
    dt_status status = dt_net_new(strokes, settings, net, &error);
    if (status == DT_OK) status = dt_pieces_new(*net, strokes, settings, &pieces, &error);
    if (status == DT_OK) return pieces;
    fprintf(stderr, "test draft: %s\n", error.message);
    abort();
}
