/* Measures of single pieces: smallest enclosing rectangle, neck, small part. */
#include "hull.h"
#include "neck.h"
#include "small_part.h"
#include "stage.h"

static dt_status measure_neck(dt_piece *piece, uint64_t *work) {
    border *b = NULL;
    dt_status status = border_new(piece->outline, piece->holes, piece->hole_count, &b);
    if (status == DT_OK) status = neck_find(b, (disc){piece->inside, piece->inradius_mm}, work, &piece->neck);
    border_free(b);
    return status;
}

static dt_status measure_hull(dt_piece *piece, double thickness_mm) {
    dt_point *hull = NULL;
    size_t count = 0;
    dt_status status = hull_of(piece->outline, &hull, &count);
    if (status != DT_OK) return status;
    rectangle box = hull_rectangle((dt_path){hull, count});
    piece->length_mm = box.length;
    piece->width_mm = box.width;
    piece->small_part = small_part_hull_fits((dt_path){hull, count}, box, thickness_mm);
    free(hull);
    return DT_OK;
}

dt_status stage_measures(stage *s) {
    dt_status status = DT_OK;
    uint64_t work = 0;
    for (size_t p = 0; status == DT_OK && p < s->result->piece_count; p++) {
        dt_piece *piece = &s->result->pieces[p];
        status = measure_hull(piece, s->settings->thickness_mm);
        if (status == DT_OK) status = measure_neck(piece, &work);
        if (status == DT_TOO_LARGE)
            dt_fail(s->error, status, "the outline of the piece at (%.1f, %.1f) is too ragged to find where it is narrowest: simplify it, "
                    "or leave it out with --skip if it is no cut", piece->inside.x, piece->inside.y);
    }
    return status;
}
