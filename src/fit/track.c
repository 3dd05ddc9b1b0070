/* Lines made ready for walking, and feet that do not stand on the leg where they were expected: see track.h. */
#include "fit/track.h"

void dt_track_settle(dt_track *t, dt_point p, uint32_t leg) {
    uint32_t last = (uint32_t)t->line.near->count - 1;
    const double *lengths = t->line.lengths;
    int way = 0;
    for (uint32_t steps = 0;; steps++) {
        dt_point v = dt_plane_sub(p, t->line.legs[leg].a), u = t->line.legs[leg].u;
        double along = v.x * u.x + v.y * u.y, length = lengths[leg + 1] - lengths[leg];
        int onward = along > length ? 1 : along < 0.0 ? -1 : 0;
        if (onward == 0) {
            dt_track_stand(t, leg, along, v.x * u.y - v.y * u.x);
            return;
        }
        bool ends = !t->line.closed && leg == (onward > 0 ? last : 0);
        if (onward == -way || ends || steps > last) {
            dt_span span = t->line.near->spans[leg];
            dt_track_point_at(t, p, onward > 0 ? span.b : span.a, leg, onward > 0 ? length : 0.0);
            return;
        }
        way = onward;
        leg = onward > 0 ? (leg == last ? 0 : leg + 1) : leg == 0 ? last : leg - 1;
    }
}

static void enter_parts(const double *lengths, size_t count, double part, uint32_t *first) {
    size_t leg = 0;
    for (size_t i = 0; i < count; i++) {
        while (leg + 1 < count && lengths[leg + 1] <= (double)i * part) leg++;
        first[i] = (uint32_t)leg;
    }
}

dt_status dt_track_line_new(dt_path path, bool closed, dt_arena *arena, dt_track_line *out) {
    size_t count = path.count - (closed ? 0 : 1);
    double *lengths = DT_TAKE(arena, count + 1, double);
    dt_leg *legs = DT_TAKE(arena, count, dt_leg);
    uint32_t *first = DT_TAKE(arena, count, uint32_t);
    if (!lengths || !legs || !first) return DT_NO_MEMORY;
    for (size_t i = 0; i < count; i++) {
        dt_point p = path.points[i], off = dt_plane_sub(path.points[i + 1 < path.count ? i + 1 : 0], p);
        double length = dt_plane_length(off), shrink = length > 0.0 ? 1.0 / length : 0.0;
        legs[i] = (dt_leg){p, length > 0.0 ? (dt_point){off.x * shrink, off.y * shrink} : (dt_point){1.0, 0.0}};
        lengths[i + 1] = lengths[i] + length;
    }
    if (!(lengths[count] > 0.0)) return DT_BAD_ARGUMENT;
    enter_parts(lengths, count, lengths[count] / (double)count, first);
    *out = (dt_track_line){NULL, legs, lengths, first, (double)count / lengths[count], closed};
    return DT_OK;
}
