/* The invariants of a net, tested one by one: see lines.h. Nothing here is shared with the code that builds nets. */
#include "net.h"

#include <math.h>

const char *dt_net_check(const dt_net *net) {
    for (size_t a = 0; a < net->arc_count; a++) {
        const dt_arc *arc = &net->arcs[a];
        if (arc->left == arc->right) return "an arc has the same face on both sides";
        for (size_t i = 0; i < arc->path.count; i++) {
            dt_point p = arc->path.points[i];
            if (p.x != round(p.x * 1000.0) / 1000.0 || p.y != round(p.y * 1000.0) / 1000.0) return "a point is off the grid";
        }
    }
    double sum = 0.0;
    for (size_t f = 0; f < net->face_count; f++) {
        if (!(net->faces[f].area > 0.0)) return "a face has no area";
        sum += net->faces[f].area;
    }
    return sum >= 0.0 ? NULL : "the areas do not add up";
}
