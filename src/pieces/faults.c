/* Faults of the lines with piece numbers in place of faces, and those that only a piece can have: thin necks, and
 * strips that burn away. Limits: common practice of the workshop, by material. */
#include "stage.h"

#include <math.h>

/* Between lines nearer than this nothing is left after cutting (common practice). */
#define BURNS_AWAY_MM 0.5

double dt_neck_limit_mm(dt_material material) {
    return material == DT_ACRYLIC ? 2.5 : 2.0;
}

static uint32_t piece_or_none(const stage *s, uint32_t face) {
    return face < s->shape_count ? s->shapes[face].piece : DT_NO_INDEX;
}

/* The narrowest strip of a piece: its neck, or all of it. */
static dt_neck narrowest(const dt_piece *piece) {
    dt_neck whole = {2 * piece->inradius_mm, piece->inside};
    return piece->neck.width_mm < whole.width_mm ? piece->neck : whole;
}

/* A piece that is narrow all over snaps as a neck does, if it is long enough to be bent: a lens, say, which has no
 * neck. */
#define LONG_FOR_ITS_WIDTH 2.0

static bool is_thin_all_over(const dt_piece *piece, double limit) {
    double width = 2 * piece->inradius_mm;
    return width < limit && piece->length_mm >= LONG_FOR_ITS_WIDTH * width;
}

static bool neck_fault(const dt_piece *piece, uint32_t number, double limit, dt_fault *out) {
    dt_neck strip = narrowest(piece);
    bool burns = strip.width_mm < BURNS_AWAY_MM;
    if (!burns && piece->neck.width_mm >= limit && !is_thin_all_over(piece, limit)) return false;
    *out = (dt_fault){.kind = burns ? DT_FAULT_CLOSE_CUTS : DT_FAULT_THIN_NECK,
                      .at = strip.at,
                      .other = strip.at,
                      .size_mm = strip.width_mm,
                      .stroke = DT_NO_INDEX,
                      .other_stroke = DT_NO_INDEX,
                      .pieces = {number, DT_NO_INDEX},
                      .times = 1};
    return true;
}

/* Have the lines told of a strip of this piece already, with the strokes on its sides? */
static bool is_told(const dt_fault *faults, size_t count, const dt_fault *fresh) {
    for (size_t i = 0; fresh->kind == DT_FAULT_CLOSE_CUTS && i < count; i++)
        if (faults[i].kind == DT_FAULT_CLOSE_CUTS && faults[i].pieces[0] == fresh->pieces[0]) return true;
    return false;
}

dt_status stage_faults(stage *s) {
    size_t count = dt_net_fault_count(s->net);
    dt_fault *faults = DT_TAKE(&s->result->arena, count + s->result->piece_count + s->crossing_count, dt_fault);
    if (!faults) return DT_NO_MEMORY;
    for (size_t i = 0; i < count; i++) {
        faults[i] = *dt_net_fault(s->net, i);
        for (int k = 0; k < 2; k++) faults[i].pieces[k] = piece_or_none(s, faults[i].pieces[k]);
    }
    double limit = dt_neck_limit_mm(s->settings->material);
    size_t of_lines = count;
    for (size_t p = 0; p < s->result->piece_count; p++)
        if (neck_fault(&s->result->pieces[p], (uint32_t)p, limit, &faults[count]) &&
            !is_told(faults, of_lines, &faults[count]))
            count++;
    for (size_t i = 0; i < s->crossing_count; i++) faults[count++] = s->crossings[i];
    qsort(faults, count, sizeof *faults, dt_fault_compare);
    s->result->faults = faults;
    s->result->fault_count = count;
    return DT_OK;
}

dt_safe_width dt_pieces_safe_width(const dt_pieces *pieces, double width_mm, double limit_mm) {
    dt_safe_width answer = {0, INFINITY, width_mm};
    for (size_t p = 0; p < pieces->piece_count; p++) {
        answer.thin += pieces->pieces[p].neck.width_mm < limit_mm;
        answer.narrowest_mm = fmin(answer.narrowest_mm, pieces->pieces[p].neck.width_mm);
    }
    answer.width_mm = answer.narrowest_mm > 0 ? width_mm * limit_mm / answer.narrowest_mm : INFINITY;
    return answer;
}

dt_delicate_necks dt_pieces_delicate_necks(const dt_pieces *pieces, double thickness_mm, double limit_mm) {
    dt_delicate_necks answer = {0, DT_OUTSIDE};
    double least = INFINITY;
    for (uint32_t p = 0; p < pieces->piece_count; p++) {
        double width = pieces->pieces[p].neck.width_mm;
        if (width < limit_mm || width >= thickness_mm) continue;
        answer.count++;
        if (width >= least) continue;
        least = width;
        answer.narrowest.v = p;
    }
    return answer;
}
