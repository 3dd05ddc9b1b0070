/* What a person can tell of a piece at sight (see looks.h), from evenly spaced points along each side.
 * Method: a run is plain when it stays in a strip as wide as the eye along a ray from its first point, after the bend that the rim of
 * this puzzle has is taken out of it; the ray is kept as a cone that every further point narrows (Williams, An
 * efficient algorithm for the piecewise linear approximation of planar curves, 1978). All lengths are multiples of the
 * eye, or of the rim's own sides, so that drawing and eye scaled together give the same looks. */
#include "rating/looks.h"

#include "base/array.h"
#include <math.h>
#include <stdlib.h>

static const double STEP_EYES = 2.0; /* between sample points: finer would only see what the eye does not */
static const double LEAST_RUN =
    2.0 / 3.0;                         /* of the rim's median side: a shorter straight run is not taken for an edge */
static const double LEAST_COVER = 0.8; /* of a rim side that has to be plain for the rim to be plain there */
static const double LEAST_LEG = 0.25;  /* of a rim side: shorter runs of it do not add up to a plain one */
static const double CORNER_GAP_EYES = 6.0;                  /* two runs farther apart do not meet in a corner */
static const double CORNER_LOW = 45.0, CORNER_HIGH = 135.0; /* degrees, as in the definition of a corner piece */
static const double DEGREE = 3.14159265358979323846 / 180.0;
enum { MOST_BENDS = 3, MOST_STEPS = 400 };

typedef struct run {
    dt_point from, to;
    double length;
} run;

typedef struct survey {
    const dt_pieces *pieces;
    double eye, least_run;
    double bends[MOST_BENDS]; /* 1 / radius, signed as the outline walks */
    int bend_count;
    DT_ARRAY(dt_point) chain;
    DT_ARRAY(dt_point) unbent;
    DT_ARRAY(run) runs; /* of the piece at hand, in walking order */
} survey;

/* Without hypot's care for overflow: millimetres on a sheet. */
static double length_of(dt_point v) {
    return sqrt(dt_point_dot(v, v));
}

static dt_point side_point(const dt_seam *seam, const dt_side *side, size_t i) {
    size_t n = seam->path.count;
    return seam->path.points[side->reversed ? n - 1 - i : i];
}

/* The side as evenly spaced points, in the walking direction of the piece. */
static bool sample(survey *s, const dt_side *side) {
    const dt_seam *seam = dt_pieces_seam(s->pieces, side->seam);
    size_t n = seam->path.count, legs = seam->closed ? n : n - 1, next = 1;
    double steps = fmin(fmax(ceil(seam->length / (STEP_EYES * s->eye)), 2.0), MOST_STEPS);
    double step = seam->length / steps, walked = 0.0;
    s->chain.count = 0;
    if (!dt_array_push(&s->chain, side_point(seam, side, 0))) return false;
    for (size_t i = 0; i < legs; i++) {
        dt_point a = side_point(seam, side, i), b = side_point(seam, side, (i + 1) % n);
        double leg = dt_point_distance(a, b);
        for (; (double)next < steps && walked + leg >= step * (double)next; next++) {
            double t = (step * (double)next - walked) / leg;
            dt_point p = dt_point_add(a, dt_point_scale(dt_point_sub(b, a), t));
            if (!dt_array_push(&s->chain, p)) return false;
        }
        walked += leg;
    }
    return dt_array_push(&s->chain, side_point(seam, side, seam->closed ? 0 : n - 1));
}

/* Takes a constant bend out of the chain: each step is turned back by bend times the way walked so far. */
static bool unbend(survey *s, double bend) {
    dt_point at = s->chain.items[0];
    double walked = 0.0;
    s->unbent.count = 0;
    if (!dt_array_push(&s->unbent, at)) return false;
    for (size_t i = 1; i < s->chain.count; i++) {
        dt_point d = dt_point_sub(s->chain.items[i], s->chain.items[i - 1]);
        double length = length_of(d), turn = -bend * (walked + length / 2.0), c = cos(turn), w = sin(turn);
        at = dt_point_add(at, (dt_point){c * d.x - w * d.y, w * d.x + c * d.y});
        walked += length;
        if (!dt_array_push(&s->unbent, at)) return false;
    }
    return true;
}

typedef struct cone {
    dt_point low, high; /* directions; the cone is what lies from low to high, less than half a turn */
} cone;

/* Narrows the cone to the rays from the origin that pass p within eye; false when none is left. */
static bool narrow(cone *c, dt_point p, double eye, bool *open) {
    double distance = length_of(p);
    if (distance <= eye) return true;
    double sine = eye / distance, cosine = sqrt(1.0 - sine * sine);
    dt_point low = {cosine * p.x + sine * p.y, cosine * p.y - sine * p.x};
    dt_point high = {cosine * p.x - sine * p.y, cosine * p.y + sine * p.x};
    if (*open) {
        *c = (cone){low, high};
        *open = false;
        return true;
    }
    if (dt_point_cross(c->low, p) < 0.0 && dt_point_cross(c->low, high) < 0.0) return false;
    if (dt_point_cross(c->high, p) > 0.0 && dt_point_cross(c->high, low) > 0.0) return false;
    if (dt_point_cross(c->low, low) > 0.0) c->low = low;
    if (dt_point_cross(c->high, high) < 0.0) c->high = high;
    return dt_point_cross(c->low, c->high) > 0.0 && dt_point_dot(c->low, p) > 0.0;
}

/* The last point of the plain run that begins at `from`. A run never turns back towards its start. */
static size_t run_end(const survey *s, size_t from) {
    const dt_point *p = s->unbent.items;
    cone c = {{0, 0}, {0, 0}};
    bool open = true;
    double reached = 0.0;
    size_t i = from + 1;
    for (; i < s->unbent.count; i++) {
        dt_point d = dt_point_sub(p[i], p[from]);
        double distance = length_of(d);
        if (!narrow(&c, d, s->eye / 2.0, &open) || distance < reached - s->eye) break;
        reached = fmax(reached, distance);
    }
    return i - 1;
}

/* Whether the chain is surely too bent for a plain run over the next `steps` steps. Points of a run lie within the eye
 * of a ray from its first point and turn back by an eye at most, hence within 2.3 eyes of the line to any one of them
 * that is 4 eyes away. */
static bool bends_off(const survey *s, size_t from, size_t steps) {
    const dt_point *p = s->unbent.items + from;
    dt_point along = dt_point_sub(p[steps], p[0]);
    double away = length_of(along), most = 2.5 * s->eye * away;
    if (away < 4.0 * s->eye) return false;
    for (size_t part = 1; part < 4; part++)
        if (fabs(dt_point_cross(along, dt_point_sub(p[part * steps / 4], p[0]))) > most) return true;
    return false;
}

/* The longest plain stretches of the chain, as long as its side, that are at least `least` long, one behind the other.
 */
static bool find_runs(survey *s, double bend, double least, double length) {
    size_t stride = (size_t)fmax(1.0, floor(least / (8.0 * STEP_EYES * s->eye)));
    if (length < least) return true; /* as the crow flies a run is no longer than its side */
    if (!unbend(s, bend)) return false;
    size_t fewest = (size_t)fmax(1.0, floor(least * (double)(s->unbent.count - 1) / length));
    for (size_t i = 0; i + fewest < s->unbent.count;) {
        if (bends_off(s, i, fewest)) {
            i += stride;
            continue;
        }
        size_t end = run_end(s, i);
        double chord = dt_point_distance(s->unbent.items[i], s->unbent.items[end]);
        bool is_run = chord >= least;
        if (is_run && !dt_array_push(&s->runs, (run){s->chain.items[i], s->chain.items[end], chord})) return false;
        i = is_run ? end : i + stride;
    }
    return true;
}

/* Does the side turn back on itself, seen along its chord? Half a turn of a ring counts too. */
static bool turns_back(const survey *s) {
    const dt_point *p = s->chain.items;
    dt_point chord = dt_point_sub(p[s->chain.count - 1], p[0]);
    for (size_t i = 1; i < s->chain.count; i++)
        if (dt_point_dot(dt_point_sub(p[i], p[i - 1]), chord) < 0.0) return true;
    return length_of(chord) <= s->eye;
}

/* A rim side is plain by its own measure; an inner one only where it is as long as a rim side would be. */
static uint8_t look_of_side(survey *s, const dt_side *side, double *plain, bool *failed) {
    const dt_seam *seam = dt_pieces_seam(s->pieces, side->seam);
    size_t first = s->runs.count;
    double least = seam->b.v == DT_OUTSIDE.v ? fmin(s->least_run, LEAST_LEG * seam->length) : s->least_run;
    *failed |= !sample(s, side);
    *plain = 0.0;
    if (*failed) return LOOK_PLAIN;
    for (int i = 0; i < s->bend_count && !*failed && s->runs.count == first; i++)
        *failed |= !find_runs(s, s->bends[i], least, seam->length);
    for (size_t i = first; i < s->runs.count; i++) *plain += s->runs.items[i].length;
    if (*plain > 0.0) return LOOK_PLAIN;
    return turns_back(s) ? LOOK_KNOBBED : LOOK_WAVY;
}

/* Two plain runs that meet in a corner of the piece (turning to its inside). */
static bool has_corner(const survey *s) {
    size_t n = s->runs.count;
    for (size_t i = 0; i < n && n > 1; i++) {
        run a = s->runs.items[i], b = s->runs.items[(i + 1) % n];
        dt_point u = dt_point_sub(a.to, a.from), v = dt_point_sub(b.to, b.from);
        double turn = atan2(dt_point_cross(u, v), dt_point_dot(u, v)) / DEGREE;
        if (dt_point_distance(a.to, b.from) > CORNER_GAP_EYES * s->eye) continue;
        if (turn >= CORNER_LOW && turn <= CORNER_HIGH) return true;
    }
    return false;
}

static looks look_at(survey *s, const dt_piece *piece, bool *failed) {
    looks out = {0, 0};
    s->runs.count = 0;
    for (size_t i = 0; i < piece->side_count; i++) {
        const dt_side *side = &piece->sides[i];
        const dt_seam *seam = dt_pieces_seam(s->pieces, side->seam);
        double plain = 0.0;
        uint8_t look = look_of_side(s, side, &plain, failed);
        out.shows |= look;
        if (*failed || seam->b.v != DT_OUTSIDE.v) continue;
        bool is_plain = look == LOOK_PLAIN && plain >= LEAST_COVER * seam->length;
        if (look == LOOK_PLAIN && !is_plain) look = turns_back(s) ? LOOK_KNOBBED : LOOK_WAVY;
        out.asks |= look;
    }
    bool corner = has_corner(s);
    if (corner) out.shows |= LOOK_CORNER;
    if (piece->corner && corner && out.asks == LOOK_PLAIN) out.asks |= LOOK_CORNER;
    out.shows |= out.asks;
    return out;
}

/* ---- the rim as a whole: its usual side and its bends ---- */

static int by_size(const void *a, const void *b) {
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* The bend of a shallow arc from the area between it and its chord: area = length^3 bend / 12. */
static double bend_of(const dt_seam *seam) {
    double area = dt_path_area(seam->path);
    return 12.0 * area / (seam->length * seam->length * seam->length);
}

/* Rim sides: lengths (half for a corner piece, whose rim side has two legs) and bends of those without a corner. */
static bool measure_rim(survey *s, dt_arena *arena) {
    size_t seams = dt_pieces_seam_count(s->pieces), lengths = 0, bends = 0;
    double *length = DT_TAKE(arena, seams, double), *bend = DT_TAKE(arena, seams, double);
    if (!length || !bend) return false;
    for (size_t i = 0; i < seams; i++) {
        const dt_seam *seam = dt_pieces_seam(s->pieces, (dt_seam_id){(uint32_t)i});
        if (seam->b.v != DT_OUTSIDE.v) continue;
        bool corner = dt_pieces_get(s->pieces, seam->a)->corner;
        length[lengths++] = corner ? seam->length / 2.0 : seam->length;
        if (!corner && !seam->closed) bend[bends++] = bend_of(seam);
    }
    qsort(length, lengths, sizeof *length, by_size);
    qsort(bend, bends, sizeof *bend, by_size);
    s->least_run = lengths ? LEAST_RUN * length[lengths / 2] : 0.0;
    s->bends[s->bend_count++] = bends ? bend[bends / 2] : 0.0;
    /* Bends at the ends of the range count when a side with them differs from one with the median by more than the eye.
     */
    const double span = s->least_run * s->least_run / 8.0;
    for (int i = 0; i < 2 && bends; i++) {
        double other = bend[i ? bends - 1 - bends / 10 : bends / 10];
        if (fabs(other - s->bends[0]) * span > s->eye) s->bends[s->bend_count++] = other;
    }
    return true;
}

dt_status looks_of_pieces(const dt_pieces *pieces, double eye_mm, dt_arena *arena, const looks **out) {
    survey s = {.pieces = pieces, .eye = eye_mm};
    size_t count = dt_pieces_count(pieces);
    looks *all = DT_TAKE(arena, count, looks);
    bool failed = !all || !measure_rim(&s, arena);
    for (size_t i = 0; i < count && !failed; i++)
        all[i] = look_at(&s, dt_pieces_get(pieces, (dt_piece_id){(uint32_t)i}), &failed);
    dt_array_free(&s.chain);
    dt_array_free(&s.unbent);
    dt_array_free(&s.runs);
    if (failed) return DT_NO_MEMORY;
    *out = all;
    return DT_OK;
}
