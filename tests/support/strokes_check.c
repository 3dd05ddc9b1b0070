/* What must hold of everything that the reader hands on. */
#include "strokes_check.h"

#include <math.h>

static const char *check_path(dt_path path, double most) {
    if (path.count < 2) return "a path has fewer than 2 points";
    for (size_t i = 0; i < path.count; i++) {
        dt_point p = path.points[i];
        if (!(fabs(p.x) <= most && fabs(p.y) <= most)) return "a point is not finite or too far out";
        if (i && p.x == path.points[i - 1].x && p.y == path.points[i - 1].y) return "a point repeats the one before it";
    }
    return NULL;
}

static const char *check_stroke(const dt_stroke *s, double most) {
    const char *wrong = check_path(s->path, most);
    if (wrong) return wrong;
    dt_point first = s->path.points[0], last = s->path.points[s->path.count - 1];
    if (s->closed && first.x == last.x && first.y == last.y) return "a closed stroke repeats its first point";
    if (s->role > DT_ROLE_VOID) return "a stroke of this role is no cut";
    if (!s->name || !s->layer) return "a name is missing";
    return s->colour != DT_NO_COLOUR && s->colour > 0xFFFFFF ? "a colour has more than 24 bits" : NULL;
}

static const char *check_fill(const dt_fill *f, double most) {
    if (f->path.count < 3) return "a fill has fewer than 3 points";
    if (f->colour > 0xFFFFFF && f->colour != DT_NO_COLOUR) return "a colour has more than 24 bits";
    return check_path(f->path, most);
}

const char *strokes_check(dt_strokes strokes, double most) {
    const char *wrong = NULL;
    for (size_t i = 0; i < strokes.count && !wrong; i++) wrong = check_stroke(&strokes.strokes[i], most);
    for (size_t i = 0; i < strokes.fill_count && !wrong; i++) {
        wrong = check_fill(&strokes.fills[i], most);
        if (i && strokes.fills[i].element < strokes.fills[i - 1].element) wrong = "fills are not in painting order";
    }
    return wrong;
}
