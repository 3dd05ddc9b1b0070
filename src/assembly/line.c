/* Outlines by arc length: see line.h. */
#include "line.h"

#include <math.h>
#include <stdlib.h>

static double round_off(const dt_line *line, double arc) {
    if (arc >= 0.0 && arc < line->length) return arc;
    double s = fmod(arc, line->length);
    return s < 0.0 ? s + line->length : s;
}

/* The last point at or before an arc in [0, length). */
static size_t point_before(const dt_line *line, double arc) {
    size_t low = 0, high = line->path.count;
    while (high - low > 1) {
        size_t middle = (low + high) / 2;
        if (line->arc[middle] <= arc)
            low = middle;
        else
            high = middle;
    }
    return low;
}

static dt_point point_after(const dt_line *line, size_t i) {
    return line->path.points[i + 1 == line->path.count ? 0 : i + 1];
}

/* The point at an arc in [0, length), on the step from point i on. */
static dt_point point_on_step(const dt_line *line, size_t i, double arc) {
    double step = line->arc[i + 1] - line->arc[i], share = step > 0.0 ? (arc - line->arc[i]) / step : 0.0;
    dt_point a = line->path.points[i], b = point_after(line, i);
    return (dt_point){a.x + share * (b.x - a.x), a.y + share * (b.y - a.y)};
}

dt_point dt_line_at(const dt_line *line, double arc) {
    double s = round_off(line, arc);
    return point_on_step(line, point_before(line, s), s);
}

void dt_line_sample(const dt_line *line, double at, double step, size_t count, dt_point *out) {
    size_t last = line->path.count - 1;
    double s = round_off(line, at);
    size_t i = point_before(line, s);
    for (size_t n = 0; n < count; n++) {
        s = round_off(line, at + (double)n * step);
        while (step > 0.0 && (line->arc[i + 1] < s || line->arc[i] > s)) i = i == last ? 0 : i + 1;
        while (step < 0.0 && (line->arc[i] > s || line->arc[i + 1] < s)) i = i == 0 ? last : i - 1;
        out[n] = point_on_step(line, i, s);
    }
}

double dt_line_turn(const dt_line *line, double arc, double scale) {
    dt_point at = dt_line_at(line, arc);
    dt_point in = dt_point_sub(at, dt_line_at(line, arc - scale)),
             out = dt_point_sub(dt_line_at(line, arc + scale), at);
    return atan2(dt_point_cross(in, out), dt_point_dot(in, out));
}

dt_path dt_path_backwards(dt_arena *arena, dt_path path) {
    dt_point *points = DT_TAKE(arena, path.count, dt_point);
    for (size_t i = 0; points && i < path.count; i++) points[i] = path.points[path.count - 1 - i];
    return (dt_path){points, path.count};
}

dt_path dt_path_turned_over(dt_arena *arena, dt_path path) {
    dt_point *points = DT_TAKE(arena, path.count, dt_point);
    for (size_t i = 0; points && i < path.count; i++) {
        dt_point p = path.points[path.count - 1 - i];
        points[i] = (dt_point){-p.x, p.y};
    }
    return (dt_path){points, path.count};
}

/* ---- where it turns sharply ---- */

/* dt_line_turn at a point of the line, without a search. */
static double turn_at_point(const dt_line *line, size_t point, double scale) {
    size_t last = line->path.count - 1, i = point, k = point;
    double before = round_off(line, line->arc[point] - scale), after = round_off(line, line->arc[point] + scale);
    while (line->arc[i] > before || line->arc[i + 1] <= before) i = i == 0 ? last : i - 1;
    while (line->arc[k] > after || line->arc[k + 1] <= after) k = k == last ? 0 : k + 1;
    dt_point at = line->path.points[point], in = dt_point_sub(at, point_on_step(line, i, before)),
             out = dt_point_sub(point_on_step(line, k, after), at);
    return atan2(dt_point_cross(in, out), dt_point_dot(in, out));
}

/* The turn at each point, 0 where it is less than sharp; how many are not. */
static size_t mark_sharp(const dt_line *line, double scale, double *turns) {
    size_t count = 0;
    for (size_t i = 0; i < line->path.count; i++) {
        double turn = turn_at_point(line, i, scale);
        turns[i] = turn >= DT_SHARP_TURN ? turn : 0.0;
        count += turns[i] > 0.0;
    }
    return count;
}

/* Stretches of marked points no farther than `apart` from each other. */
static size_t join_marked(const dt_line *line, const double *turns, double apart, dt_sharp *out) {
    size_t count = 0;
    for (size_t i = 0; i < line->path.count; i++) {
        if (turns[i] <= 0.0) continue;
        if (count && line->arc[i] - out[count - 1].to <= apart)
            out[count - 1].to = line->arc[i];
        else
            out[count++] = (dt_sharp){line->arc[i], line->arc[i]};
    }
    if (count < 2 || out[0].from + line->length - out[count - 1].to > apart) return count;
    out[count - 1].to = out[0].to + line->length; /* across the first point of the line */
    for (size_t k = 0; k + 1 < count; k++) out[k] = out[k + 1];
    return count - 1;
}

static double distance_on(const dt_line *line, double from, double to) {
    double d = round_off(line, to - from);
    return d;
}

static bool lies_on(const dt_line *line, const dt_sharp *sharp, double arc) {
    double margin = line->scale;
    return distance_on(line, sharp->from - margin, arc) <= sharp->to - sharp->from + 2.0 * margin;
}

double dt_line_ahead(const dt_line *line, double arc) {
    double least = line->length;
    for (size_t k = 0; k < line->sharp_count; k++)
        if (!lies_on(line, &line->sharps[k], arc)) least = fmin(least, distance_on(line, arc, line->sharps[k].from));
    return least;
}

double dt_line_behind(const dt_line *line, double arc) {
    double least = line->length;
    for (size_t k = 0; k < line->sharp_count; k++)
        if (!lies_on(line, &line->sharps[k], arc)) least = fmin(least, distance_on(line, line->sharps[k].to, arc));
    return least;
}

static void add_tip(dt_line *line, double arc, double knee) {
    double at = round_off(line, arc);
    line->tips[line->tip_count++] =
        (dt_tip){at, dt_line_turn(line, at, knee), dt_line_ahead(line, at), dt_line_behind(line, at),
                 dt_line_turn(line, at, line->scale) >= DT_SHARP_TURN};
}

static double sharpest(const dt_line *line, const double *turns, const dt_sharp *stretch) {
    double best = stretch->from, most = -1.0;
    for (size_t i = 0; i < line->path.count; i++)
        for (int lap = 0; lap < 2; lap++) {
            double arc = line->arc[i] + lap * line->length;
            if (arc < stretch->from || arc > stretch->to || turns[i] <= most) continue;
            most = turns[i];
            best = arc;
        }
    return best;
}

static bool add_tips(dt_line *line, const double *turns, const dt_sharp *stretches, size_t count, double knee,
                     dt_arena *arena) {
    size_t room = 0;
    for (size_t k = 0; k < count; k++) room += 3 + (size_t)((stretches[k].to - stretches[k].from) / knee);
    line->tips = DT_TAKE(arena, room, dt_tip);
    for (size_t k = 0; line->tips && k < count; k++) {
        double from = stretches[k].from, extent = stretches[k].to - from;
        add_tip(line, sharpest(line, turns, &stretches[k]), knee);
        size_t more = extent > 2.5 * knee ? 1 + (size_t)(extent / knee) : 0;
        for (size_t i = 0; i <= more && more; i++) add_tip(line, from + extent * (double)i / (double)more, knee);
    }
    return line->tips != NULL;
}

static bool measure(dt_path closed, dt_arena *arena, dt_line *line) {
    line->arc = DT_TAKE(arena, closed.count + 1, double);
    for (size_t i = 0; line->arc && i < closed.count; i++)
        line->arc[i + 1] = line->arc[i] + dt_point_distance(closed.points[i], closed.points[(i + 1) % closed.count]);
    if (line->arc) line->length = line->arc[closed.count];
    return line->arc != NULL;
}

bool dt_line_make(dt_path closed, double scale, double knee, dt_arena *arena, dt_line *out) {
    dt_line line = {.path = closed, .scale = scale};
    double *turns = calloc(closed.count, sizeof *turns);
    dt_sharp *knees = NULL;
    bool made = turns && measure(closed, arena, &line);
    if (!made) goto done;
    line.sharps = DT_TAKE(arena, mark_sharp(&line, scale, turns), dt_sharp);
    made = made && line.sharps;
    if (made) line.sharp_count = join_marked(&line, turns, 2.0 * scale, line.sharps);
    if (made) knees = malloc((mark_sharp(&line, knee, turns) + 1) * sizeof *knees);
    made = made && knees && add_tips(&line, turns, knees, join_marked(&line, turns, 0.5 * knee, knees), knee, arena);
done:
    free(turns);
    free(knees);
    if (made) *out = line;
    return made;
}

/* ---- nearest points ---- */

/* The nearest so far: on the step from point i on, which begins at arc `from`, at a share of it. */
typedef struct nearest {
    double square, from, share;
    size_t point;
} nearest;

static inline void look_at_step(const dt_line *line, size_t i, double from, dt_point p, nearest *best) {
    dt_point a = line->path.points[i], along = dt_point_sub(point_after(line, i), a), to = dt_point_sub(p, a);
    double size = dt_point_dot(along, along), share = size > 0.0 ? dt_point_dot(to, along) / size : 0.0;
    share = share < 0.0 ? 0.0 : share > 1.0 ? 1.0 : share;
    dt_point off = dt_point_sub(to, dt_point_scale(along, share));
    double square = dt_point_dot(off, off);
    if (square < best->square) *best = (nearest){square, from, share, i};
}

dt_line_foot dt_line_nearest(const dt_line *line, dt_point p, double near, double reach) {
    double start = near - reach, s = round_off(line, start), end = near + fmin(reach, 0.5 * line->length);
    size_t i = point_before(line, s), count = line->path.count;
    double from = start - (s - line->arc[i]);
    nearest best = {INFINITY, near, 0.0, i};
    while (from < end) {
        look_at_step(line, i, from, p, &best);
        from += line->arc[i + 1] - line->arc[i];
        i = i + 1 == count ? 0 : i + 1;
    }
    dt_point a = line->path.points[best.point], along = dt_point_sub(point_after(line, best.point), a);
    double length = sqrt(dt_point_dot(along, along)), share = best.share;
    return (dt_line_foot){best.from + share * length, sqrt(best.square), dt_point_add(a, dt_point_scale(along, share)),
                          length > 0.0 ? (dt_point){-along.y / length, along.x / length} : (dt_point){0.0, 0.0}};
}
