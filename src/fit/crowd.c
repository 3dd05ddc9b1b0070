/* How many pieces look alike where the list of ways was cut short (dt_side_class.whole false): an estimate from a
 * sample of pieces.
 *
 * The budget of candidates.c is for finding which pieces look alike; on a large sheet of much alike sides it stops
 * after the first few, and k would say that the sheet is easy. So the keys of the sides of a sample of pieces are kept.
 * A number of pairs of a side and a sampled side near to it are really fitted, which tells how often sides so near in
 * their keys look alike, by distance; each side's crowd is then the sampled pieces near it, weighted so, as a share of
 * all pieces. Invariants: crowd is 0 where the list is whole; the sample depends on the order of the pieces alone. */
#include "fit/crowd.h"

#include <math.h>
#include <stdlib.h>

enum { MOST_SAMPLED = 96, TRIALS = 600, TRIALS_EACH = 6, BINS = 16 };
/* Picks on the whole sheet: what they cost is a few microseconds for each place that is asked about. */
enum { PICK_BUDGET = 4000, LEAST_PICKS = 3, MOST_PICKS = 64, PICK_TRIES = 4 };
static const double REACH_EYES = 2.5;  /* keys farther apart than this, in eyes, are not of sides that look alike */
static const double LENGTH_EYES = 4.0; /* nor are lengths that differ by more */
static const double PICK_EYES = 1.0;   /* nor, most times, sides that are farther off than this in the mean */

typedef struct crowd_side {
    uint32_t leader, walker;
    double start, length; /* mm along the walker's loop, and of the side */
    float key[DT_WINDOW_KEYS];
} crowd_side;

typedef struct pick_facts {
    uint32_t count;
    float ways; /* alike sides of an alike piece, in the mean: 1 or more */
} pick_facts;

struct dt_crowd {
    crowd_side *sides;
    size_t side_count;
    size_t sampled;       /* pieces that the sampled leaders stand for */
    double rate[BINS];    /* of sides whose keys are this far apart: how many look alike */
    double pick_rate;     /* of sides within PICK_EYES in the mean */
    size_t most_picks;    /* of a class */
    dt_crowd_pick *picks; /* by class, most_picks each */
    pick_facts *facts;    /* by class */
};

const dt_crowd_pick *dt_crowd_picks(const dt_fit *fit, uint32_t class_id, size_t *count, double *alike) {
    const pick_facts *facts = &fit->crowd->facts[class_id];
    *count = facts->count;
    *alike = fit->crowd->pick_rate * facts->count / (double)facts->ways;
    return fit->crowd->picks + class_id * fit->crowd->most_picks;
}

/* ---- the sample ---- */

static void key_of(dt_path path, double length, float key[DT_WINDOW_KEYS]) {
    dt_point points[DT_WINDOW_POINTS];
    double steady, step = length / DT_WINDOW_POINTS;
    dt_path_points(path, step / 2.0, step, DT_WINDOW_POINTS, points);
    dt_window_key(points, key, &steady);
}

static uint32_t walker_of(const dt_fit *fit, uint32_t leader, uint32_t ring) {
    for (uint32_t w = 0; w < fit->walker_count; w++)
        if (fit->walkers[w].leader == leader && fit->walkers[w].ring == ring && !fit->walkers[w].over) return w;
    return UINT32_MAX;
}

static dt_status add_side(dt_fit *fit, const dt_side_entry *entry) {
    const dt_side *side = &dt_pieces_get(fit->pieces, (dt_piece_id){entry->piece})->sides[entry->index];
    crowd_side *s = &fit->crowd->sides[fit->crowd->side_count];
    dt_arena scratch = DT_ARENA((size_t)16 << 20);
    dt_path path;
    *s = (crowd_side){.leader = entry->piece, .walker = walker_of(fit, entry->piece, side->ring)};
    if (s->walker == UINT32_MAX) return DT_OK;
    dt_status status = dt_fit_side_path(fit, entry->piece, entry->index, &scratch, &path);
    if (status == DT_OK) {
        s->start = fit->walkers[s->walker].loop.at[side->start];
        s->length = dt_path_length(path);
        key_of(path, s->length, s->key);
        fit->crowd->side_count++;
    }
    dt_arena_free(&scratch);
    return status;
}

static bool is_sampled(const dt_fit *fit, const dt_side_entry *entry) {
    return entry->class_id != UINT32_MAX && !fit->side_classes.items[entry->class_id].closed;
}

/* Every so many-th leader. */
static dt_status take_sample(dt_fit *fit) {
    size_t leaders = 0, taken = 0, seen = 0;
    dt_status status = DT_OK;
    for (uint32_t i = 0; i < fit->count; i++) leaders += fit->class_of[i] == i;
    size_t wanted = leaders < MOST_SAMPLED ? leaders : MOST_SAMPLED;
    for (uint32_t i = 0; i < fit->count; i++) {
        if (fit->class_of[i] != i || seen++ * wanted / leaders < taken) continue;
        taken++;
        for (uint32_t e = fit->side_start[i]; e < fit->side_start[i + 1] && status == DT_OK; e++)
            if (is_sampled(fit, &fit->sides[e])) status = add_side(fit, &fit->sides[e]);
        fit->crowd->sampled += fit->member_start[i + 1] - fit->member_start[i];
    }
    return status;
}

/* ---- near sides ---- */

/* A class of sides as it is compared with the sample. */
typedef struct subject {
    const dt_side_entry *entry;
    dt_path path;
    double length;
    float key[DT_WINDOW_KEYS];
} subject;

static dt_status take_subject(const dt_fit *fit, uint32_t class_id, dt_arena *scratch, subject *out) {
    out->entry = &fit->sides[fit->side_classes.items[class_id].leader];
    dt_status status = dt_fit_side_path(fit, out->entry->piece, out->entry->index, scratch, &out->path);
    if (status != DT_OK) return status;
    out->length = dt_path_length(out->path);
    key_of(out->path, out->length, out->key);
    return DT_OK;
}

static size_t bin_of(const dt_fit *fit, double square) {
    size_t bin = (size_t)(sqrt(square) / (REACH_EYES * fit->eye) * BINS);
    return bin < BINS ? bin : BINS - 1;
}

typedef struct near_side {
    const crowd_side *side;
    size_t bin; /* of the distance of the two keys */
} near_side;

/* Sampled sides near a side, of other classes of pieces. A few hundred in all: no index is faster. */
static size_t list_near(const dt_fit *fit, const subject *s, near_side *near) {
    double reach = REACH_EYES * fit->eye;
    uint32_t own = fit->class_of[s->entry->piece];
    size_t count = 0;
    for (size_t i = 0; i < fit->crowd->side_count; i++) {
        const crowd_side *side = &fit->crowd->sides[i];
        float square = 0.0f;
        if (fabs(side->length - s->length) > LENGTH_EYES * fit->eye || side->leader == own) continue;
        for (int k = 0; k < DT_WINDOW_KEYS; k++) square += (side->key[k] - s->key[k]) * (side->key[k] - s->key[k]);
        if ((double)square <= reach * reach) near[count++] = (near_side){side, bin_of(fit, (double)square)};
    }
    return count;
}

/* ---- how often near sides look alike ---- */

typedef struct tally {
    size_t tried, alike;
} tally;

typedef struct survey {
    dt_fit *fit;
    dt_fitter fitter;
    near_side *near; /* room for the whole sample */
    double *best;    /* by leader: see expect_alike */
    tally bins[BINS], picks;
    size_t left; /* trials */
    uint64_t state;
} survey;

static size_t draw_below(uint64_t *state, size_t count) {
    *state = *state * 6364136223846793005u + 1442695040888963407u; /* Knuth, MMIX */
    return (size_t)((*state >> 33) % count);
}

static void try_near(survey *s, const dt_course *course, near_side near) {
    const dt_fit *fit = s->fit;
    const dt_loop *loop = &fit->walkers[near.side->walker].loop;
    double rms;
    dt_pose pose = dt_stretch_align(course, loop, near.side->start, &rms);
    uint32_t leg = dt_loop_leg(loop, near.side->start);
    bool alike = rms <= 2.0 * fit->eye && dt_stretch_reach(&s->fitter, course, loop, leg, fit->eye, &pose) <= fit->eye;
    s->bins[near.bin].tried++;
    s->bins[near.bin].alike += alike;
    s->picks.tried += rms <= PICK_EYES * fit->eye;
    s->picks.alike += alike && rms <= PICK_EYES * fit->eye;
}

/* Fits the side with a few of the sampled sides near it, drawn with a fixed seed. */
static dt_status try_class(survey *s, uint32_t class_id, size_t trials) {
    dt_arena scratch = DT_ARENA((size_t)64 << 20);
    subject side;
    dt_course course;
    dt_status status = take_subject(s->fit, class_id, &scratch, &side);
    size_t count = status == DT_OK ? list_near(s->fit, &side, s->near) : 0;
    if (count) status = dt_course_new(side.path, dt_fit_step(s->fit), &scratch, &course);
    for (size_t i = 0; i < trials && count && s->left && status == DT_OK; i++, s->left--)
        try_near(s, &course, s->near[draw_below(&s->state, count)]);
    dt_arena_free(&scratch);
    return status;
}

/* Nearer keys look alike no less often: bins that were hardly tried take after their neighbour. */
static void settle_rates(const survey *s, struct dt_crowd *crowd) {
    for (int b = 0; b < BINS; b++)
        crowd->rate[b] = s->bins[b].tried ? (double)s->bins[b].alike / (double)s->bins[b].tried
                         : b              ? crowd->rate[b - 1]
                                          : 1.0;
    crowd->pick_rate = s->picks.alike ? (double)s->picks.alike / (double)s->picks.tried : 1.0;
}

static dt_status learn_rates(survey *s, size_t short_lists) {
    size_t stride = 1 + short_lists * TRIALS_EACH / TRIALS, trials = 1 + TRIALS * stride / short_lists, index = 0;
    dt_status status = DT_OK;
    s->left = TRIALS;
    s->state = 1;
    for (uint32_t i = 0; i < s->fit->side_classes.count && status == DT_OK; i++)
        if (!s->fit->side_classes.items[i].whole && index++ % stride == 0) status = try_class(s, i, trials);
    settle_rates(s, s->fit->crowd);
    return status;
}

/* ---- the crowd of each side ---- */

typedef struct expected {
    double pieces, sides;
} expected;

/* Of several sides of one sampled piece the likeliest says whether the piece looks alike. `best` is 0 for all pieces,
 * before and after. */
static expected expect_alike(const dt_fit *fit, const near_side *near, size_t count, double *best) {
    const struct dt_crowd *crowd = fit->crowd;
    double scale = (double)fit->count / (double)crowd->sampled;
    expected sum = {0.0, 0.0};
    for (size_t i = 0; i < count; i++) {
        uint32_t leader = near[i].side->leader;
        double rate = crowd->rate[near[i].bin], members = fit->member_start[leader + 1] - fit->member_start[leader];
        sum.sides += rate * members;
        sum.pieces += fmax(rate - best[leader], 0.0) * members;
        best[leader] = fmax(rate, best[leader]);
    }
    for (size_t i = 0; i < count; i++) best[near[i].side->leader] = 0.0;
    return (expected){sum.pieces * scale, sum.sides * scale};
}

/* One out of each of most_picks equal parts of the list, if a few tries find one that lies close enough. */
static void take_picks(survey *s, uint32_t class_id, const dt_course *course, size_t count) {
    struct dt_crowd *crowd = s->fit->crowd;
    dt_crowd_pick *picks = crowd->picks + class_id * crowd->most_picks;
    pick_facts *facts = &crowd->facts[class_id];
    size_t parts = crowd->most_picks;
    for (size_t part = 0; part < parts; part++) {
        size_t from = part * count / parts, size = (part + 1) * count / parts - from;
        double rms = INFINITY;
        for (size_t i = 0; i < PICK_TRIES && size && rms > PICK_EYES * s->fit->eye; i++) {
            const crowd_side *side = s->near[from + draw_below(&s->state, size)].side;
            dt_pose pose = dt_stretch_align(course, &s->fit->walkers[side->walker].loop, side->start, &rms);
            picks[facts->count] = (dt_crowd_pick){side->walker, pose};
        }
        facts->count += rms <= PICK_EYES * s->fit->eye;
    }
}

/* Draws start anew with each class, so that no class depends on another. */
static dt_status count_crowd(survey *s, uint32_t class_id) {
    dt_fit *fit = s->fit;
    dt_side_class *class = &fit->side_classes.items[class_id];
    dt_arena scratch = DT_ARENA((size_t)16 << 20);
    subject side;
    dt_course course;
    dt_status status = take_subject(fit, class_id, &scratch, &side);
    if (status != DT_OK) goto done;
    s->state = class_id;
    uint32_t own = fit->class_of[side.entry->piece];
    size_t count = list_near(fit, &side, s->near);
    expected alike = expect_alike(fit, s->near, count, s->best);
    double pieces = alike.pieces + (fit->member_start[own + 1] - fit->member_start[own]);
    class->crowd = fmax(0.0, fmin(pieces, (double)fit->count) - class->k);
    fit->crowd->facts[class_id].ways = (float)(alike.pieces > 0.0 ? alike.sides / alike.pieces : 1.0);
    if (class->crowd > 0.0) status = dt_course_measure(side.path, &course);
    if (class->crowd > 0.0 && status == DT_OK) take_picks(s, class_id, &course, count);
done:
    dt_arena_free(&scratch);
    return status;
}

/* ---- the step ---- */

static dt_status make_crowd(dt_fit *fit, size_t short_lists) {
    size_t most_sides = 0, classes = fit->side_classes.count;
    for (uint32_t i = 0; i < fit->count; i++)
        if (fit->side_start[i + 1] - fit->side_start[i] > most_sides)
            most_sides = fit->side_start[i + 1] - fit->side_start[i];
    struct dt_crowd *crowd = fit->crowd = DT_TAKE(&fit->arena, 1, struct dt_crowd);
    if (!crowd) return DT_NO_MEMORY;
    crowd->sides = DT_TAKE(&fit->arena, MOST_SAMPLED * most_sides, crowd_side);
    crowd->most_picks = PICK_BUDGET / short_lists;
    if (crowd->most_picks < LEAST_PICKS) crowd->most_picks = LEAST_PICKS;
    if (crowd->most_picks > MOST_PICKS) crowd->most_picks = MOST_PICKS;
    crowd->picks = DT_TAKE(&fit->arena, classes * crowd->most_picks, dt_crowd_pick);
    crowd->facts = DT_TAKE(&fit->arena, classes, pick_facts);
    return crowd->sides && crowd->picks && crowd->facts ? DT_OK : DT_NO_MEMORY;
}

static dt_status make_survey(dt_fit *fit, dt_arena *scratch, survey *s) {
    *s = (survey){.fit = fit,
                  .near = DT_TAKE(scratch, fit->crowd->side_count, near_side),
                  .best = DT_TAKE(scratch, fit->count, double)};
    dt_status status = s->near && s->best ? dt_fitter_new(scratch, &s->fitter) : DT_NO_MEMORY;
    s->fitter.haste = DT_HASTIEST;
    return status;
}

static dt_status count_round(void *context, size_t worker, size_t item) {
    survey *s = (survey *)context + worker;
    return s->fit->side_classes.items[item].whole ? DT_OK : count_crowd(s, (uint32_t)item);
}

static dt_status run_survey(dt_fit *fit, size_t short_lists, dt_arena *scratch) {
    survey surveys[DT_MOST_WORKERS];
    size_t classes = fit->side_classes.count, count = dt_fit_workers(fit, classes);
    dt_status status = DT_OK;
    for (size_t i = 0; i < count && status == DT_OK; i++) status = make_survey(fit, scratch, &surveys[i]);
    if (status == DT_OK) status = learn_rates(&surveys[0], short_lists);
    return status == DT_OK ? dt_workers_run(count, classes, count_round, surveys) : status;
}

dt_status dt_fit_estimate_crowds(dt_fit *fit) {
    size_t short_lists = 0;
    for (size_t i = 0; i < fit->side_classes.count; i++) short_lists += !fit->side_classes.items[i].whole;
    if (short_lists == 0) return DT_OK;
    dt_arena scratch = DT_ARENA((size_t)256 << 20);
    dt_status status = make_crowd(fit, short_lists);
    if (status == DT_OK) status = take_sample(fit);
    if (status == DT_OK) status = run_survey(fit, short_lists, &scratch);
    dt_arena_free(&scratch);
    return status;
}
