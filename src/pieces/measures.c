/* Measures of single pieces: smallest enclosing rectangle, neck, small part. */
#include "hull.h"
#include "stage.h"

#include <math.h>

static dt_status measure_piece(stage *s, dt_piece *piece) {
    (void)s;
    dt_point *hull = NULL;
    size_t count = 0;
    dt_status status = hull_of(piece->outline, &hull, &count);
    if (status != DT_OK) return status;
    rectangle box = hull_rectangle((dt_path){hull, count});
    piece->length_mm = box.length;
    piece->width_mm = box.width;
    piece->neck = (dt_neck){INFINITY, piece->inside};
    free(hull);
    return DT_OK;
}

dt_status stage_measures(stage *s) {
    dt_status status = DT_OK;
    for (size_t p = 0; status == DT_OK && p < s->result->piece_count; p++)
        status = measure_piece(s, &s->result->pieces[p]);
    return status;
}

dt_status stage_colours(stage *s) {
    (void)s;
    return DT_OK;
}
