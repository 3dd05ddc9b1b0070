/* What is known of the sides of a place, one by one. */
#include "fit/store.h"

static const dt_side_entry *entry_of(const dt_fit *fit, dt_piece_id place, size_t index) {
    return &fit->sides[fit->side_start[place.v] + index];
}

size_t dt_fit_side_k(const dt_fit *fit, dt_piece_id place, size_t index) {
    return entry_of(fit, place, index)->k;
}

const dt_candidate *dt_fit_side_candidates(const dt_fit *fit, dt_piece_id place, size_t index, size_t *listed) {
    const dt_side_entry *entry = entry_of(fit, place, index);
    *listed = entry->listed;
    return entry->listed ? fit->candidates.items + entry->first : NULL;
}

uint32_t dt_fit_class(const dt_fit *fit, dt_piece_id piece) {
    return fit->class_of[piece.v];
}

bool dt_fit_lies_over(const dt_fit *fit, dt_piece_id piece) {
    return fit->to_leader[piece.v].flipped;
}

size_t dt_fit_alike_side_count(const dt_fit *fit) {
    size_t count = 0;
    for (size_t i = 0; i < fit->side_count; i++) count += fit->sides[i].k > 1;
    return count;
}

size_t dt_fit_side_count(const dt_fit *fit) {
    size_t count = 0;
    for (size_t i = 0; i < fit->side_count; i++) count += fit->sides[i].k > 0;
    return count;
}

double dt_fit_mean_candidates(const dt_fit *fit) {
    double sum = 0.0;
    for (size_t i = 0; i < fit->side_count; i++) sum += fit->sides[i].k;
    size_t count = dt_fit_side_count(fit);
    return count ? sum / (double)count : 0.0;
}

size_t dt_fit_false_mate_count(const dt_fit *fit) {
    return fit->mates.count;
}

const dt_false_mate *dt_fit_false_mate(const dt_fit *fit, size_t index) {
    return &fit->mates.items[index];
}
