/* Wedges: see wedge.h. */
#include "wedge.h"

#include <math.h>
#include <stdlib.h>

static const double PI = 3.14159265358979323846;
/* Of corners whose lines are not straight only this much is certain: what the few millimetres beside them tell, radians or a share of it. */
static const double CURVED_MARGIN = 20.0 / 180.0 * 3.14159265358979323846, CURVED_SHARE = 0.5;

/* Both ends of a line may miss the one that they lie along by a seat. */
static double line_error(const dt_curve *curve, double seat) {
    return curve->straight && curve->levels ? 2.0 * seat / curve->length : INFINITY;
}

static double direction(const dt_curve *curve) {
    dt_point last = curve->at[curve->levels - 1];
    return atan2(last.y, last.x);
}

dt_angle dt_angle_between(const dt_curve *from, const dt_curve *to, double seat) {
    dt_angle angle = {0.0, line_error(from, seat) + line_error(to, seat)};
    if (angle.error == INFINITY) return angle;
    double width = direction(to) - direction(from);
    angle.width = width - 2.0 * PI * floor(width / (2.0 * PI));
    return angle;
}

bool dt_wedges_make(dt_lookup *const lookup[2], double seat, dt_wedges *out) {
    uint32_t count = dt_lookup_count(lookup[DT_AHEAD]);
    *out = (dt_wedges){malloc((count + 1) * sizeof *out->corners), INFINITY, seat};
    for (uint32_t i = 0; out->corners && i < count; i++) {
        const dt_end *ahead = dt_lookup_end(lookup[DT_AHEAD], i), *behind = dt_lookup_end(lookup[DT_BEHIND], i);
        dt_angle *corner = &out->corners[i];
        *corner = dt_angle_between(&ahead->curve, &behind->curve, seat);
        bool straight = corner->error < INFINITY;
        double least = straight ? fmin(corner->width, ahead->angle) - corner->error
                                : ahead->angle - fmax(CURVED_MARGIN, CURVED_SHARE * ahead->angle);
        out->sharpest = fmin(out->sharpest, least);
    }
    return out->corners != NULL;
}

void dt_wedges_free(dt_wedges *wedges) {
    free(wedges->corners);
}

bool dt_wedge_is_dead(const dt_wedges *wedges, dt_angle gap, uint32_t end) {
    dt_angle corner = wedges->corners[end];
    return gap.width - corner.width + gap.error + corner.error < wedges->sharpest;
}
