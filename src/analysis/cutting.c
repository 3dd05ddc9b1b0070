/* Time at the laser (dovetell/analysis.h). The way from line to line is the greedy one, as most cutting programs order
 * lines by nearness; acceleration is left out, so it is an estimate from below. */
#include <dovetell/analysis.h>

#include <math.h>

/* Speed of the head while it does not cut: hobby machines go at 200 to 500 mm/s (common practice). */
static const double TRAVEL_MM_PER_S = 200.0;

/* The greedy order takes quadratic time. */
enum { MOST_ORDERED = 4000 };

static dt_point first_of(const dt_stroke *s) {
    return s->path.points[0];
}

static dt_point last_of(const dt_stroke *s) {
    return s->closed ? s->path.points[0] : s->path.points[s->path.count - 1];
}

static double travel_as_drawn(dt_strokes strokes) {
    dt_point at = {0, 0};
    double travel = 0;
    for (size_t i = 0; i < strokes.count; i++) {
        travel += dt_point_distance(at, first_of(&strokes.strokes[i]));
        at = last_of(&strokes.strokes[i]);
    }
    return travel;
}

/* The stroke not yet cut with an end nearest to the head; *backwards when that is its last point. */
static size_t nearest_stroke(dt_strokes strokes, const bool *cut, dt_point at, bool *backwards, double *distance) {
    size_t best = strokes.count;
    *distance = INFINITY;
    for (size_t i = 0; i < strokes.count; i++) {
        if (cut[i]) continue;
        double to_first = dt_point_distance(at, first_of(&strokes.strokes[i]));
        double to_last = dt_point_distance(at, last_of(&strokes.strokes[i]));
        if (fmin(to_first, to_last) >= *distance) continue;
        best = i;
        *distance = fmin(to_first, to_last);
        *backwards = to_last < to_first;
    }
    return best;
}

static double travel_by_nearness(dt_strokes strokes, bool *cut) {
    dt_point at = {0, 0};
    double travel = 0;
    for (size_t left = strokes.count; left > 0; left--) {
        bool backwards = false;
        double distance;
        size_t i = nearest_stroke(strokes, cut, at, &backwards, &distance);
        cut[i] = true;
        travel += distance;
        at = backwards ? first_of(&strokes.strokes[i]) : last_of(&strokes.strokes[i]);
    }
    return travel;
}

bool dt_analysis_cutting(const dt_analysis *analysis, dt_cutting_time *out) {
    double speed = dt_analysis_settings(analysis)->speed_mm_per_s, travel;
    dt_strokes strokes = dt_drawing_strokes(dt_analysis_drawing(analysis));
    if (!(speed > 0)) return false;
    if (strokes.count <= MOST_ORDERED) {
        bool cut[MOST_ORDERED] = {false};
        travel = travel_by_nearness(strokes, cut);
    } else {
        travel = travel_as_drawn(strokes);
    }
    *out =
        (dt_cutting_time){dt_net_cut_length(dt_analysis_net(analysis)) / speed / 60.0, travel / TRAVEL_MM_PER_S / 60.0};
    return true;
}
