/* Affine maps. */
#include "drawing/affine.h"

affine affine_compose(affine o, affine i) {
    return (affine){o.a * i.a + o.c * i.b, o.b * i.a + o.d * i.b,       o.a * i.c + o.c * i.d,
                    o.b * i.c + o.d * i.d, o.a * i.e + o.c * i.f + o.e, o.b * i.e + o.d * i.f + o.f};
}

affine affine_shift(double x, double y) {
    return (affine){1.0, 0.0, 0.0, 1.0, x, y};
}

affine affine_scale(double x, double y) {
    return (affine){x, 0.0, 0.0, y, 0.0, 0.0};
}

dt_point affine_point(affine m, dt_point p) {
    return (dt_point){m.a * p.x + m.c * p.y + m.e, m.b * p.x + m.d * p.y + m.f};
}

dt_point affine_vector(affine m, dt_point v) {
    return (dt_point){m.a * v.x + m.c * v.y, m.b * v.x + m.d * v.y};
}
