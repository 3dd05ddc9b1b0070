/* Measures of single pieces: smallest enclosing rectangle, neck, small part. */
#include "hull.h"
#include "neck.h"
#include "small_part.h"
#include "stage.h"

#include "base/workers.h"

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

/* ---- many at once ---- */

/* Pieces between two looks at the work that is left, and pieces that repay a thread. */
enum { BATCH = 32, LEAST_A_THREAD = 16 };

typedef struct measuring {
    stage *s;
    measure_item *measure;
    size_t first; /* item of this batch */
    uint64_t before;
    uint64_t work[BATCH];
    bool failed[BATCH];
} measuring;

static dt_status measure_one(void *context, size_t worker, size_t item) {
    measuring *all = context;
    (void)worker;
    all->work[item] = all->before;
    dt_status status = all->measure(all->s, all->first + item, &all->work[item]);
    all->failed[item] = status != DT_OK;
    return status;
}

static dt_status measure_batch(measuring *all, size_t count) {
    dt_status status = dt_workers_run(dt_workers_count(all->s->settings->threads, count / LEAST_A_THREAD), count, measure_one, all);
    uint64_t spent = 0;
    for (size_t i = 0; status == DT_OK && i < count; i++) spent += all->work[i] - all->before;
    all->before += spent;
    return status;
}

dt_status stage_measure_all(stage *s, measure_item *measure, size_t count, size_t *first) {
    measuring all = {.s = s, .measure = measure};
    dt_status status = DT_OK;
    for (; status == DT_OK && all.first < count; all.first += BATCH) {
        status = measure_batch(&all, count - all.first < BATCH ? count - all.first : BATCH);
        if (status == DT_OK) continue;
        for (*first = all.first; !all.failed[*first - all.first];) ++*first;
    }
    return status;
}

/* ---- of pieces ---- */

static dt_status measure_piece(stage *s, size_t item, uint64_t *work) {
    dt_piece *piece = &s->result->pieces[item];
    dt_status status = measure_hull(piece, s->settings->thickness_mm);
    return status == DT_OK ? measure_neck(piece, work) : status;
}

dt_status stage_measures(stage *s) {
    size_t first = 0;
    dt_status status = stage_measure_all(s, measure_piece, s->result->piece_count, &first);
    if (status == DT_TOO_LARGE) {
        const dt_piece *piece = &s->result->pieces[first];
        dt_fail(s->error, status, "the outline of the piece at (%.1f, %.1f) is too ragged to find where it is narrowest: simplify it, "
                "or leave it out with --skip if it is no cut", piece->inside.x, piece->inside.y);
    }
    return status;
}
