/* From a draft to its points: see rated.h. */
#include "rated.h"

#include <check.h>

rated rate_draft(draft *d, const dt_settings *settings) {
    rated r = {0};
    dt_error error = {0};
    r.pieces = draft_pieces(d, settings, &r.net);
    ck_assert_int_eq(dt_graph_new(r.pieces, settings, NULL, &r.graph, &error), DT_OK);
    ck_assert_int_eq(dt_fit_new(r.pieces, settings, NULL, &r.fit, &error), DT_OK);
    ck_assert_int_eq(dt_rating_new(r.pieces, r.graph, r.fit, settings, NULL, &r.rating, &error), DT_OK);
    draft_free(d);
    return r;
}

void rated_free(rated *r) {
    dt_rating_free(r->rating);
    dt_fit_free(r->fit);
    dt_graph_free(r->graph);
    dt_pieces_free(r->pieces);
    dt_net_free(r->net);
}

double points_of_draft(draft *d, const dt_settings *settings) {
    rated r = rate_draft(d, settings);
    double points = r.rating->points;
    rated_free(&r);
    return points;
}
