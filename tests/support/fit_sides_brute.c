/* Look-alike sides by brute force: see fit_sides_brute.h. Starts are 0.5 mm apart, anywhere on the outline; from each
 * that is locally best, and from one every 4 mm besides, the fit runs to its end. */
#include "fit_sides_brute.h"

#include "fit/stretch.h"
#include <check.h>
#include <math.h>
#include <stdlib.h>

enum { MOST_STARTS = 2000 };

static dt_path side_path(const dt_pieces *pieces, uint32_t piece, size_t index, dt_point *points) {
    const dt_side *side = &dt_pieces_get(pieces, (dt_piece_id){piece})->sides[index];
    dt_path seam = dt_pieces_seam(pieces, side->seam)->path;
    for (size_t i = 0; i < seam.count; i++) points[i] = seam.points[side->reversed ? seam.count - 1 - i : i];
    return (dt_path){points, seam.count};
}

static double best_deviation(dt_fitter *fitter, const dt_course *course, const dt_loop *loop) {
    static double rms[MOST_STARTS];
    size_t starts = (size_t)(loop->length / 0.5);
    double best = INFINITY;
    ck_assert_uint_lt(starts, MOST_STARTS);
    for (size_t i = 0; i < starts; i++) dt_stretch_align(course, loop, 0.5 * (double)i, &rms[i]);
    for (size_t i = 0; i < starts; i++) {
        bool local = rms[i] <= rms[(i + 1) % starts] && rms[i] <= rms[(i + starts - 1) % starts];
        double unused;
        if (!local && i % 8 != 0) continue;
        dt_pose pose = dt_stretch_align(course, loop, 0.5 * (double)i, &unused);
        best = fmin(best,
                    dt_stretch_refine(fitter, course, loop, dt_stretch_deviation(fitter, course, loop, pose), &pose));
    }
    return best;
}

/* Walked on twice round in steps of 0.1 mm, or of d where that is less: is there a stretch that begins within d of the
 * side's start, ends within d of its end, and does not leave the side by more than d between? */
static bool has_stretch(dt_path ring, dt_pose pose, dt_path side, double d) {
    bool begun = false;
    for (size_t i = 0; i < 2 * ring.count; i++) {
        dt_point a = dt_pose_apply(pose, ring.points[i % ring.count]),
                 b = dt_pose_apply(pose, ring.points[(i + 1) % ring.count]);
        double length = dt_point_distance(a, b);
        for (double at = 0.0; at < length; at += fmin(0.1, d)) {
            dt_point p = dt_point_add(a, dt_point_scale(dt_point_sub(b, a), at / length));
            begun |= dt_point_distance(p, side.points[0]) <= d;
            begun &= dt_path_distance(side, false, p) <= d;
            if (begun && dt_point_distance(p, side.points[side.count - 1]) <= d) return true;
        }
    }
    return false;
}

static void check_stretch(const dt_piece *piece, dt_path side, const dt_candidate *candidate) {
    double d = candidate->deviation_mm + 0.02;
    bool found = has_stretch(piece->outline, candidate->pose, side, d);
    for (size_t h = 0; h < piece->hole_count && !found; h++)
        found = has_stretch(piece->holes[h], candidate->pose, side, d);
    ck_assert_msg(found, "no stretch of piece %u lies within %g mm", candidate->piece.v, d);
}

/* A look-alike too many would show here, since the brute force may miss one: by plain distances that share nothing with
 * src/fit, no vertex of the side may be farther from the piece's outlines, nor a stretch of theirs from the side, than
 * the listed deviation, and that may not be beyond the eye. */
static void check_listed(const dt_pieces *pieces, dt_path side, const dt_candidate *candidate, double eye) {
    ck_assert_double_le(candidate->deviation_mm, eye);
    const dt_piece *piece = dt_pieces_get(pieces, candidate->piece);
    dt_pose back = dt_pose_inverse(candidate->pose);
    for (size_t i = 0; i < side.count; i++) {
        dt_point p = dt_pose_apply(back, side.points[i]);
        double off = dt_path_distance(piece->outline, true, p);
        for (size_t h = 0; h < piece->hole_count; h++) off = fmin(off, dt_path_distance(piece->holes[h], true, p));
        ck_assert_double_le(off, candidate->deviation_mm + 0.02);
    }
    check_stretch(piece, side, candidate);
}

static size_t pieces_listed(const dt_pieces *pieces, const dt_candidate *candidates, size_t listed) {
    size_t count = 0;
    for (uint32_t p = 0; p < dt_pieces_count(pieces); p++) {
        bool found = false;
        for (size_t i = 0; i < listed && !found; i++) found = candidates[i].piece.v == p;
        count += found;
    }
    return count;
}

static void check_side(const dt_pieces *pieces, const dt_fit *fit, uint32_t piece, size_t index, double eye,
                       double unsure) {
    static dt_point points[4000];
    dt_arena arena = DT_ARENA((size_t)256 << 20);
    dt_fitter fitter;
    dt_course course;
    dt_path path = side_path(pieces, piece, index, points);
    size_t surely = 0, listed;
    ck_assert_int_eq(dt_fitter_new(&arena, &fitter), DT_OK);
    ck_assert_int_eq(dt_course_new(path, eye / 2.0, &arena, &course), DT_OK);
    for (uint32_t q = 0; q < dt_pieces_count(pieces); q++) {
        dt_arena scratch = DT_ARENA((size_t)64 << 20);
        const dt_piece *other = dt_pieces_get(pieces, (dt_piece_id){q});
        double best = q == piece ? 0.0 : INFINITY;
        for (size_t ring = 0; ring <= other->hole_count && q != piece; ring++) {
            dt_loop loop;
            ck_assert_int_eq(dt_loop_new(ring ? other->holes[ring - 1] : other->outline, eye / 2.0, &scratch, &loop),
                             DT_OK);
            best = fmin(best, best_deviation(&fitter, &course, &loop));
        }
        surely += best <= eye - unsure;
        dt_arena_free(&scratch);
    }
    size_t k = dt_fit_side_k(fit, (dt_piece_id){piece}, index);
    ck_assert_msg(k >= surely, "piece %u side %zu: k %zu, by brute force at least %zu", piece, index, k, surely);
    const dt_candidate *candidates = dt_fit_side_candidates(fit, (dt_piece_id){piece}, index, &listed);
    for (size_t i = 0; i < listed; i++) check_listed(pieces, path, &candidates[i], eye);
    ck_assert_uint_eq(pieces_listed(pieces, candidates, listed), k);
    dt_arena_free(&arena);
}

size_t brute_check_sides(const dt_pieces *pieces, const dt_fit *fit, double eye, double unsure_mm) {
    size_t count = 0;
    for (uint32_t p = 0; p < dt_pieces_count(pieces); p++) {
        const dt_piece *piece = dt_pieces_get(pieces, (dt_piece_id){p});
        for (size_t i = 0; i < piece->side_count; i++) {
            if (!DT_IS_PIECE(dt_pieces_across(pieces, (dt_piece_id){p}, &piece->sides[i]))) continue;
            if (dt_pieces_seam(pieces, piece->sides[i].seam)->closed) continue;
            check_side(pieces, fit, p, i, eye, unsure_mm);
            count++;
        }
    }
    return count;
}
