/* The stage as a whole: its steps in order, and the lists that it hands out. See fit.h. */
#include "fit/store.h"

#include <math.h>
#include <stdlib.h>

enum { MOST_MEMORY = 1u << 30 };

static dt_status run_steps(dt_fit *fit, const dt_watch *watch) {
    dt_watch_report(watch, "comparing pieces and places", -1.0);
    dt_status status = dt_fit_measure(fit);
    if (status == DT_OK) status = dt_fit_find_twins(fit, watch);
    if (status == DT_OK) status = dt_fit_find_turners(fit, watch);
    if (status == DT_OK) status = dt_fit_sort_sides(fit);
    if (status == DT_OK) status = dt_fit_find_candidates(fit, watch);
    if (status == DT_OK) status = dt_fit_find_closed(fit);
    if (status == DT_OK) status = dt_fit_list_candidates(fit);
    if (status == DT_OK) status = dt_fit_estimate_crowds(fit);
    if (status == DT_OK) status = dt_fit_find_mates(fit, watch);
    return status;
}

size_t dt_fit_workers(const dt_fit *fit, size_t items) {
    enum { LEAST_ROUNDS = 8 };
    return dt_workers_count(fit->threads, items / LEAST_ROUNDS);
}

dt_status dt_fit_new(const dt_pieces *pieces, const dt_settings *settings, const dt_watch *watch, dt_fit **out, dt_error *error) {
    dt_fit *fit = calloc(1, sizeof *fit);
    if (!fit) return dt_fail(error, DT_NO_MEMORY, "%s", dt_status_text(DT_NO_MEMORY));
    *fit = (dt_fit){.arena = DT_ARENA(MOST_MEMORY), .pieces = pieces, .kerf = settings->kerf_mm, .eye = settings->eye_mm,
                    .two_sided = settings->two_sided, .threads = settings->threads, .count = dt_pieces_count(pieces), .whole = true};
    for (size_t i = 0; i < DT_MOST_WORKERS; i++) fit->kept[i] = (dt_arena)DT_ARENA(MOST_MEMORY);
    dt_status status = run_steps(fit, watch);
    if (status == DT_OK) {
        *out = fit;
        return DT_OK;
    }
    dt_fit_free(fit);
    return dt_fail(error, status, "comparing the pieces: %s", dt_status_text(status));
}

void dt_fit_free(dt_fit *fit) {
    if (!fit) return;
    dt_array_free(&fit->twins);
    dt_array_free(&fit->near_twins);
    dt_array_free(&fit->turners);
    dt_array_free(&fit->side_classes);
    dt_array_free(&fit->found);
    dt_array_free(&fit->candidates);
    dt_array_free(&fit->mates);
    for (size_t i = 0; i < DT_MOST_WORKERS; i++) dt_arena_free(&fit->kept[i]);
    dt_arena_free(&fit->arena);
    free(fit);
}

size_t dt_fit_twin_count(const dt_fit *fit) {
    return fit->twins.count;
}

const dt_match *dt_fit_twin(const dt_fit *fit, size_t index) {
    return &fit->twins.items[index];
}

size_t dt_fit_near_twin_count(const dt_fit *fit) {
    return fit->near_twins.count;
}

const dt_match *dt_fit_near_twin(const dt_fit *fit, size_t index) {
    return &fit->near_twins.items[index];
}

size_t dt_fit_turner_count(const dt_fit *fit) {
    return fit->turners.count;
}

const dt_match *dt_fit_turner(const dt_fit *fit, size_t index) {
    return &fit->turners.items[index];
}

bool dt_fit_is_whole(const dt_fit *fit) {
    return fit->whole;
}

bool dt_fit_sought_near_twins(const dt_fit *fit) {
    return fit->near_sought;
}

bool dt_fit_leaves_out(const dt_fit *fit, dt_fit_list list) {
    return fit->left_out[list];
}
