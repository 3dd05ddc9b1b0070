/* Which pieces match several sides of a place, the plain way: see rivals_brute.h. */
#include "rivals_brute.h"

#include <check.h>
#include <math.h>

void brute_question(const dt_fit *fit, uint32_t place, const bool *known, dt_arena *arena, dt_question *out) {
    dt_fitter *fitter = DT_TAKE(arena, 1, dt_fitter);
    ck_assert_int_eq(dt_fitter_new(arena, fitter), DT_OK);
    *out = (dt_question){.fit = fit, .fitter = fitter, .arena = arena};
    for (uint32_t e = fit->side_start[place]; e < fit->side_start[place + 1]; e++) {
        const dt_side_entry *entry = &fit->sides[e];
        dt_path path;
        if (!known[entry->index] || entry->class_id == UINT32_MAX) continue;
        dt_point *probes = DT_TAKE(arena, DT_PROBES, dt_point);
        ck_assert_int_eq(dt_fit_side_path(fit, place, entry->index, arena, &path), DT_OK);
        dt_path_points(path, 0.0, dt_path_length(path) / (DT_PROBES - 1), DT_PROBES, probes);
        out->sides[out->count++] = (dt_shown){.entry = entry, .probes = probes};
    }
}

static bool stands_by_any_side(dt_question *q, uint32_t piece) {
    const dt_fit *fit = q->fit;
    const dt_course *leading;
    ck_assert_int_eq(dt_question_course(q, 0, &leading), DT_OK);
    for (uint32_t w = 0; w < fit->walker_count; w++) {
        const dt_piece *other = dt_pieces_get(fit->pieces, (dt_piece_id){piece});
        const dt_loop *loop = &fit->walkers[w].loop;
        for (size_t i = 0; i < other->side_count && fit->walkers[w].leader == piece; i++) {
            bool stands;
            double rms;
            dt_pose pose = dt_stretch_align(leading, loop, loop->at[other->sides[i].start], &rms);
            ck_assert_int_eq(dt_question_stands(q, q->count, loop, pose, &stands), DT_OK);
            if (stands) return true;
        }
    }
    return false;
}

size_t brute_rivals(dt_question *q) {
    size_t count = 0;
    for (uint32_t p = 0; p < q->fit->count; p++) count += p != q->sides[0].entry->piece && stands_by_any_side(q, p);
    return count;
}

static double deviation(dt_question *q, const dt_loop *loop, dt_pose pose) {
    double most = 0.0;
    for (size_t i = 0; i < q->count; i++) {
        const dt_course *course;
        ck_assert_int_eq(dt_question_course(q, i, &course), DT_OK);
        most = fmax(most, dt_stretch_deviation(q->fitter, course, loop, pose));
    }
    return most;
}

double brute_best_on_grid(dt_question *q, const dt_loop *loop, dt_pose pose) {
    const dt_course *course;
    ck_assert_int_eq(dt_question_course(q, 0, &course), DT_OK);
    dt_point centre = course->centre;
    double radius = 0.0, step = 0.6 * q->fit->eye, best = INFINITY;
    for (size_t i = 0; i < q->count; i++)
        for (size_t k = 0; k < DT_PROBES; k++) radius = fmax(radius, dt_point_distance(centre, q->sides[i].probes[k]));
    for (int t = -4; t <= 4; t++)
        for (int x = -4; x <= 4; x++)
            for (int y = -4; y <= 4; y++) {
                double w = t * step / radius;
                dt_pose turn = {cos(w), sin(w), {0.0, 0.0}, false};
                dt_point kept = dt_pose_apply(turn, centre);
                turn.shift = (dt_point){centre.x - kept.x + x * step, centre.y - kept.y + y * step};
                best = fmin(best, deviation(q, loop, dt_pose_compose(turn, pose)));
            }
    return best;
}
