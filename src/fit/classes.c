/* Pieces of the same shape: measured, then grouped by way of the kd-tree of their keys. See store.h. */
#include "fit/store.h"

/* Nearest points that joining may ask for. Thousands of discs of nearly one size would ask for hundreds of millions; those that are
 * left by themselves are met again as twins. Twenty thousand copies of a square take a tenth of it. */
enum { MOST_WORK = 4000000 };

typedef struct grouping {
    dt_fit *fit;
    dt_fitter fitter;
    uint32_t leader;
    dt_status status;
} grouping;

static dt_status measure_piece(void *context, size_t worker, size_t item) {
    dt_fit *fit = context;
    dt_arena scratch = DT_ARENA((size_t)256 << 20);
    const dt_piece *piece = dt_pieces_get(fit->pieces, (dt_piece_id){(uint32_t)item});
    dt_status status = dt_form_measure(dt_piece_shape(piece), &scratch, &fit->forms[item]);
    dt_arena_free(&scratch);
    (void)worker;
    return status;
}

static bool join_class(void *context, uint32_t item) {
    grouping *g = context;
    dt_fit *fit = g->fit;
    dt_form *form = &fit->forms[item], *leader = &fit->forms[g->leader];
    if (g->fitter.work > MOST_WORK) return false;
    if (item <= g->leader || fit->class_of[item] != item || !dt_form_may_fit(form, leader, DT_SAME_MM)) return true;
    g->status = dt_form_prepare(leader, &fit->arena);
    if (g->status == DT_OK) g->status = dt_form_prepare(form, &fit->arena);
    if (g->status != DT_OK) return false;
    dt_pose pose;
    dt_point where;
    double off = dt_forms_fit_copy(&g->fitter, form, leader, DT_SAME_MM, DT_SAME_MM, &pose, &where);
    if (off > DT_SAME_MM) return true;
    fit->class_of[item] = g->leader;
    fit->to_leader[item] = pose;
    fit->off_leader[item] = off;
    return true;
}

static dt_status index_keys(dt_fit *fit) {
    fit->keys = DT_TAKE(&fit->arena, fit->count * DT_FORM_KEYS, float);
    if (!fit->keys) return DT_NO_MEMORY;
    for (size_t i = 0; i < fit->count; i++) dt_form_key(&fit->forms[i], fit->keys + i * DT_FORM_KEYS);
    return dt_kdtree_new(fit->keys, fit->count, DT_FORM_KEYS, &fit->arena, &fit->tree);
}

static dt_status group_all(dt_fit *fit, dt_arena *scratch) {
    grouping g = {.fit = fit};
    g.status = dt_fitter_new(scratch, &g.fitter);
    for (g.leader = 0; g.leader < fit->count && g.status == DT_OK; g.leader++)
        if (fit->class_of[g.leader] == g.leader)
            dt_kdtree_find(&fit->tree, fit->keys + (size_t)g.leader * DT_FORM_KEYS, dt_form_key_within(DT_SAME_MM), join_class, &g);
    fit->work += g.fitter.work;
    return g.status;
}

/* Bucket sort by leader; members come out ascending. */
static dt_status list_members(dt_fit *fit) {
    fit->members = DT_TAKE(&fit->arena, fit->count, uint32_t);
    fit->member_start = DT_TAKE(&fit->arena, fit->count + 2, uint32_t);
    if (!fit->members || !fit->member_start) return DT_NO_MEMORY;
    uint32_t *starts = fit->member_start;
    for (size_t i = 0; i < fit->count; i++) starts[fit->class_of[i] + 2]++;
    for (size_t i = 2; i < fit->count + 2; i++) starts[i] += starts[i - 1];
    for (size_t i = 0; i < fit->count; i++) fit->members[starts[fit->class_of[i] + 1]++] = (uint32_t)i;
    return DT_OK;
}

dt_status dt_fit_measure(dt_fit *fit) {
    dt_arena scratch = DT_ARENA((size_t)256 << 20);
    fit->forms = DT_TAKE(&fit->arena, fit->count, dt_form);
    fit->class_of = DT_TAKE(&fit->arena, fit->count, uint32_t);
    fit->to_leader = DT_TAKE(&fit->arena, fit->count, dt_pose);
    fit->off_leader = DT_TAKE(&fit->arena, fit->count, double);
    if (!fit->forms || !fit->class_of || !fit->to_leader || !fit->off_leader) return DT_NO_MEMORY;
    for (size_t i = 0; i < fit->count; i++) {
        fit->class_of[i] = (uint32_t)i;
        fit->to_leader[i] = DT_POSE_IDENTITY;
    }
    dt_status status = dt_workers_run(dt_fit_workers(fit, fit->count), fit->count, measure_piece, fit);
    if (status == DT_OK) status = index_keys(fit);
    if (status == DT_OK) status = group_all(fit, &scratch);
    if (status == DT_OK) status = list_members(fit);
    dt_arena_free(&scratch);
    return status;
}
