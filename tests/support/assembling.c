/* A draft and its assembly: see assembling.h. */
#include "assembling.h"

#include <check.h>

assembling assemble(draft *d, dt_settings settings) {
    return assemble_watched(d, settings, NULL);
}

assembling assemble_watched(draft *d, dt_settings settings, const dt_watch *watch) {
    assembling a = {.settings = settings};
    dt_error error = {0};
    a.pieces = draft_pieces(d, &settings, &a.net);
    draft_free(d);
    ck_assert_msg(dt_fit_new(a.pieces, &settings, NULL, &a.fit, &error) == DT_OK, "%s", error.message);
    ck_assert_msg(dt_assembly_new(a.pieces, NULL, a.fit, &settings, watch, &a.assembly, &error) == DT_OK, "%s",
                  error.message);
    if (a.assembly->verdict == DT_SEVERAL) {
        const char *fault = dt_assembly_verify(a.pieces, &settings, a.assembly->other, a.assembly->other_count);
        ck_assert_msg(fault == NULL, "the witness is not true: %s", fault);
    } else {
        ck_assert_uint_eq(a.assembly->other_count, 0);
    }
    return a;
}

void assembling_free(assembling *a) {
    dt_assembly_free(a->assembly);
    dt_fit_free(a->fit);
    dt_pieces_free(a->pieces);
    dt_net_free(a->net);
}
