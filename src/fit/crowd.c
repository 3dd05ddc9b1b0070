/* How many pieces look alike where the list of ways was cut short (dt_side_class.whole false): an estimate from a sample of pieces.
 *
 * The budget of candidates.c is for finding which pieces look alike; on a large sheet of much alike sides it stops after the first
 * few, and k would say that the sheet is easy. So the sides of a sample of pieces are laid in a tree of keys. A number of pairs of
 * a side and a sampled side near to it are really fitted, which tells how often sides so near in their keys look alike, by
 * distance; each side's crowd is then the sampled pieces near it, weighted so, as a share of all pieces.
 * Invariants: crowd is 0 where the list is whole; the sample depends on the order of the pieces alone. */
#include "fit/crowd.h"

#include <math.h>
#include <stdlib.h>

enum { MOST_SAMPLED = 96, TRIALS = 1500, BINS = 16, NEAR_ROOM = 1024 };
static const double REACH_EYES = 2.5;   /* keys farther apart than this, in eyes, are not of sides that look alike */
static const double LENGTH_EYES = 4.0;  /* nor are lengths that differ by more */

struct dt_crowd {
    dt_kdtree tree;
    float *keys;
    dt_crowd_side *sides;
    size_t side_count;
    size_t sampled;         /* pieces that the sampled leaders stand for */
    double rate[BINS];      /* of sides whose keys are this far apart: how many look alike */
};

static dt_status side_key(const dt_fit *fit, const dt_side_entry *entry, dt_arena *scratch, float key[DT_WINDOW_KEYS], double *length) {
    dt_point points[DT_WINDOW_POINTS];
    dt_path path;
    double steady;
    dt_status status = dt_fit_side_path(fit, entry->piece, entry->index, scratch, &path);
    if (status != DT_OK) return status;
    *length = dt_path_length(path);
    double step = *length / DT_WINDOW_POINTS;
    dt_path_points(path, step / 2.0, step, DT_WINDOW_POINTS, points);
    dt_window_key(points, key, &steady);
    return DT_OK;
}

static uint32_t walker_of(const dt_fit *fit, uint32_t leader, uint32_t ring) {
    for (uint32_t w = 0; w < fit->walker_count; w++)
        if (fit->walkers[w].leader == leader && fit->walkers[w].ring == ring && !fit->walkers[w].over) return w;
    return UINT32_MAX;
}

static dt_status add_sides(dt_fit *fit, uint32_t leader, dt_arena *scratch) {
    struct dt_crowd *crowd = fit->crowd;
    for (uint32_t e = fit->side_start[leader]; e < fit->side_start[leader + 1]; e++) {
        const dt_side_entry *entry = &fit->sides[e];
        const dt_side *side = &dt_pieces_get(fit->pieces, (dt_piece_id){leader})->sides[entry->index];
        dt_crowd_side *s = &crowd->sides[crowd->side_count];
        if (entry->class_id == UINT32_MAX) continue;
        s->leader = leader;
        s->walker = walker_of(fit, leader, side->ring);
        if (s->walker == UINT32_MAX) continue;
        s->start = fit->walkers[s->walker].loop.at[side->start];
        dt_status status = side_key(fit, entry, scratch, crowd->keys + crowd->side_count * DT_WINDOW_KEYS, &s->length);
        if (status != DT_OK) return status;
        crowd->side_count++;
    }
    return DT_OK;
}

/* Every so many-th leader. */
static dt_status take_sample(dt_fit *fit, dt_arena *scratch) {
    size_t leaders = 0, taken = 0, seen = 0;
    dt_status status = DT_OK;
    for (uint32_t i = 0; i < fit->count; i++) leaders += fit->class_of[i] == i;
    size_t wanted = leaders < MOST_SAMPLED ? leaders : MOST_SAMPLED;
    for (uint32_t i = 0; i < fit->count && status == DT_OK; i++) {
        if (fit->class_of[i] != i || seen++ * wanted / leaders < taken) continue;
        taken++;
        status = add_sides(fit, i, scratch);
        fit->crowd->sampled += fit->member_start[i + 1] - fit->member_start[i];
    }
    if (status != DT_OK) return status;
    return dt_kdtree_new(fit->crowd->keys, fit->crowd->side_count, DT_WINDOW_KEYS, &fit->arena, &fit->crowd->tree);
}

static size_t bin_of(const dt_fit *fit, float square) {
    size_t bin = (size_t)(sqrt((double)square) / (REACH_EYES * fit->eye) * BINS);
    return bin < BINS ? bin : BINS - 1;
}

/* Sampled sides near a side, of other classes of pieces, nearest first; squares beside them. */
size_t dt_crowd_near(const dt_fit *fit, const dt_side_entry *entry, dt_arena *scratch, dt_crowd_find *found, size_t room) {
    const struct dt_crowd *crowd = fit->crowd;
    float key[DT_WINDOW_KEYS];
    double length;
    dt_neighbour *near = DT_TAKE(scratch, NEAR_ROOM, dt_neighbour);
    if (!crowd || !near || side_key(fit, entry, scratch, key, &length) != DT_OK) return 0;
    size_t kept = 0, count = dt_kdtree_nearest(&crowd->tree, key, (float)(REACH_EYES * fit->eye), NEAR_ROOM, near);
    for (size_t i = 0; i < count && kept < room; i++) {
        const dt_crowd_side *s = &crowd->sides[near[i].item];
        if (s->leader == fit->class_of[entry->piece] || fabs(s->length - length) > LENGTH_EYES * fit->eye) continue;
        found[kept++] = (dt_crowd_find){s, near[i].square};
    }
    return kept;
}

static bool looks_alike(const dt_fit *fit, dt_fitter *fitter, const dt_course *course, const dt_crowd_side *side) {
    double rms;
    const dt_loop *loop = &fit->walkers[side->walker].loop;
    dt_pose pose = dt_stretch_align(course, loop, side->start, &rms);
    return rms <= 2.0 * fit->eye && dt_stretch_reach(fitter, course, loop, fit->eye, &pose) <= fit->eye;
}

typedef struct survey {
    size_t tried[BINS], alike[BINS];
    size_t left; /* trials */
    uint64_t state;
} survey;

static size_t draw_below(survey *s, size_t count) {
    s->state = s->state * 6364136223846793005u + 1442695040888963407u; /* Knuth, MMIX */
    return (size_t)((s->state >> 33) % count);
}

/* Fits the side with a few of the sampled sides near it, drawn with a fixed seed. */
static dt_status try_class(dt_fit *fit, dt_fitter *fitter, uint32_t class_id, size_t trials, survey *out) {
    const dt_side_entry *entry = &fit->sides[fit->side_classes.items[class_id].leader];
    dt_arena scratch = DT_ARENA((size_t)64 << 20);
    dt_crowd_find found[NEAR_ROOM];
    size_t count = dt_crowd_near(fit, entry, &scratch, found, NEAR_ROOM);
    dt_path path;
    dt_course course;
    dt_status status = count ? dt_fit_side_path(fit, entry->piece, entry->index, &scratch, &path) : DT_OK;
    if (status == DT_OK && count) status = dt_course_new(path, dt_fit_step(fit), &scratch, &course);
    for (size_t i = 0; i < trials && count && out->left && status == DT_OK; i++, out->left--) {
        const dt_crowd_find *f = &found[draw_below(out, count)];
        size_t bin = bin_of(fit, f->square);
        out->tried[bin]++;
        out->alike[bin] += looks_alike(fit, fitter, &course, f->side);
    }
    dt_arena_free(&scratch);
    return status;
}

/* Nearer keys look alike no less often: bins that were hardly tried take after their neighbour. */
static void settle_rates(const survey *s, double rate[BINS]) {
    for (int b = 0; b < BINS; b++) rate[b] = s->tried[b] ? (double)s->alike[b] / (double)s->tried[b] : b ? rate[b - 1] : 1.0;
}

static dt_status learn_rates(dt_fit *fit, size_t short_lists) {
    dt_arena scratch = DT_ARENA((size_t)64 << 20);
    dt_fitter fitter;
    survey s = {.left = TRIALS, .state = 1};
    size_t stride = 1 + short_lists / TRIALS, trials = 1 + TRIALS / short_lists, index = 0;
    dt_status status = dt_fitter_new(&scratch, &fitter);
    for (uint32_t i = 0; i < fit->side_classes.count && status == DT_OK; i++)
        if (!fit->side_classes.items[i].whole && index++ % stride == 0) status = try_class(fit, &fitter, i, trials, &s);
    settle_rates(&s, fit->crowd->rate);
    dt_arena_free(&scratch);
    return status;
}

/* Pieces, not sides: of several sides of one sampled piece the likeliest counts. */
static double expected_pieces(const dt_fit *fit, const dt_crowd_find *found, size_t count, double *best) {
    const struct dt_crowd *crowd = fit->crowd;
    double sum = 0.0;
    for (size_t i = 0; i < count; i++) {
        uint32_t leader = found[i].side->leader;
        double rate = crowd->rate[bin_of(fit, found[i].square)], members = fit->member_start[leader + 1] - fit->member_start[leader];
        if (rate <= best[leader]) continue;
        sum += (rate - best[leader]) * members;
        best[leader] = rate;
    }
    for (size_t i = 0; i < count; i++) best[found[i].side->leader] = 0.0;
    return sum * (double)fit->count / (double)crowd->sampled;
}

static void count_crowd(dt_fit *fit, uint32_t class_id, double *best) {
    dt_side_class *class = &fit->side_classes.items[class_id];
    const dt_side_entry *entry = &fit->sides[class->leader];
    uint32_t own = fit->class_of[entry->piece];
    dt_arena scratch = DT_ARENA((size_t)16 << 20);
    dt_crowd_find found[NEAR_ROOM];
    size_t count = dt_crowd_near(fit, entry, &scratch, found, NEAR_ROOM);
    double alike = expected_pieces(fit, found, count, best) + (fit->member_start[own + 1] - fit->member_start[own]);
    class->crowd = fmax(0.0, fmin(alike, (double)fit->count) - class->k);
    dt_arena_free(&scratch);
}

dt_status dt_fit_estimate_crowds(dt_fit *fit) {
    size_t short_lists = 0;
    for (size_t i = 0; i < fit->side_classes.count; i++) short_lists += !fit->side_classes.items[i].whole;
    if (short_lists == 0) return DT_OK;
    dt_arena scratch = DT_ARENA((size_t)256 << 20);
    double *best = DT_TAKE(&scratch, fit->count, double);
    size_t most_sides = 0;
    for (uint32_t i = 0; i < fit->count; i++)
        if (fit->side_start[i + 1] - fit->side_start[i] > most_sides) most_sides = fit->side_start[i + 1] - fit->side_start[i];
    fit->crowd = DT_TAKE(&fit->arena, 1, struct dt_crowd);
    dt_status status = best && fit->crowd ? DT_OK : DT_NO_MEMORY;
    if (status != DT_OK) goto done;
    fit->crowd->keys = DT_TAKE(&fit->arena, MOST_SAMPLED * most_sides * DT_WINDOW_KEYS, float);
    fit->crowd->sides = DT_TAKE(&fit->arena, MOST_SAMPLED * most_sides, dt_crowd_side);
    if (!fit->crowd->keys || !fit->crowd->sides) status = DT_NO_MEMORY;
    if (status == DT_OK) status = take_sample(fit, &scratch);
    if (status == DT_OK) status = learn_rates(fit, short_lists);
    for (uint32_t i = 0; i < fit->side_classes.count && status == DT_OK; i++)
        if (!fit->side_classes.items[i].whole) count_crowd(fit, i, best);
done:
    dt_arena_free(&scratch);
    return status;
}
