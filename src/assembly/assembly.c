/* Is there another way to put the puzzle together? Twins answer without a search: either lies in the other's place. Every witness
 * that is handed out has passed dt_assembly_verify. */
#include <dovetell/assembly.h>

#include <stdio.h>
#include <stdlib.h>

typedef struct result {
    dt_assembly public; /* first, so that the address of one is the address of the other */
    dt_move *moves;
    char why[200];
} result;

void dt_assembly_free(dt_assembly *assembly) {
    result *r = (result *)assembly;
    if (!r) return;
    free(r->moves);
    free(r);
}

static bool is_double_fit(const dt_match *twin, const dt_settings *settings) {
    return settings->two_sided || !twin->only_flipped;
}

/* The first pair of twins whose exchange passes the check; false when there is none. */
static bool exchange_twins(const dt_pieces *pieces, const dt_fit *fit, const dt_settings *settings, dt_move moves[2]) {
    for (size_t i = 0; i < dt_fit_twin_count(fit); i++) {
        const dt_match *twin = dt_fit_twin(fit, i);
        if (!is_double_fit(twin, settings)) continue;
        moves[0] = (dt_move){twin->a, twin->b, twin->pose};
        moves[1] = (dt_move){twin->b, twin->a, dt_pose_inverse(twin->pose)};
        if (!dt_assembly_verify(pieces, settings, moves, 2)) return true;
    }
    return false;
}

static bool keep_moves(result *r, const dt_move *moves, size_t count) {
    r->moves = malloc(count * sizeof *moves);
    if (!r->moves) return false;
    for (size_t i = 0; i < count; i++) r->moves[i] = moves[i];
    r->public.other = r->moves;
    r->public.other_count = count;
    return true;
}

static bool answer_by_twins(result *r, const dt_move moves[2]) {
    r->public.verdict = DT_SEVERAL;
    snprintf(r->why, sizeof r->why, "pieces %u and %u are alike: either drops into the other's place", moves[0].piece.v + 1,
             moves[1].piece.v + 1);
    return keep_moves(r, moves, 2);
}

dt_status dt_assembly_new(const dt_pieces *pieces, const dt_graph *graph, const dt_fit *fit, const dt_settings *settings,
                          const dt_watch *watch, dt_assembly **out, dt_error *error) {
    (void)graph;
    (void)watch;
    result *r = calloc(1, sizeof *r);
    if (!r) return dt_fail(error, DT_NO_MEMORY, "no memory left to look for other assemblies");
    dt_move moves[2];
    r->public.why = r->why;
    r->public.verdict = DT_UNDECIDED;
    snprintf(r->why, sizeof r->why, "no two pieces are alike; larger groups were not searched");
    if (exchange_twins(pieces, fit, settings, moves) && !answer_by_twins(r, moves)) {
        dt_assembly_free(&r->public);
        return dt_fail(error, DT_NO_MEMORY, "no memory left to look for other assemblies");
    }
    *out = &r->public;
    return DT_OK;
}
