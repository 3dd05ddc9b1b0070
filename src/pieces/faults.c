/* Faults of the lines with piece numbers in place of faces, and those that only a piece can have. */
#include "stage.h"

static uint32_t piece_or_none(const stage *s, uint32_t face) {
    return face < s->shape_count ? s->shapes[face].piece : DT_NO_INDEX;
}

dt_status stage_faults(stage *s) {
    size_t count = dt_net_fault_count(s->net);
    dt_fault *faults = DT_TAKE(&s->result->arena, count, dt_fault);
    if (!faults) return DT_NO_MEMORY;
    for (size_t i = 0; i < count; i++) {
        faults[i] = *dt_net_fault(s->net, i);
        for (int k = 0; k < 2; k++) faults[i].pieces[k] = piece_or_none(s, faults[i].pieces[k]);
    }
    qsort(faults, count, sizeof *faults, dt_fault_compare);
    s->result->faults = faults;
    s->result->fault_count = count;
    return DT_OK;
}
