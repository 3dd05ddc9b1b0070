/* False mates: a wrong piece that lies along a whole seam to within the kerf, at a pose where it and the neighbour across do not
 * overlap by more than the kerf: it really sits there. Twins of the right piece are left out: they are reported as twins. */
#include "fit/store.h"
#include "geom/plane.h"

#include <math.h>
#include <stdlib.h>

static const double ROOM_MM = 4.0;       /* how far it is to the line is asked up to here */
static const uint32_t NONE = UINT32_MAX;
enum { MOST_MATES = 20000, MOST_OVERLAPS = 4000 };

/* A way on one side of its class, to be tried for overlap. */
typedef struct seat {
    uint32_t side;
    const dt_found *found;
    bool free;               /* it leaves the neighbour its room */
} seat;

typedef struct matchmaker {
    dt_fit *fit;
    const dt_watch *watch;
    uint32_t *first_side, *next_side;  /* sides of each class, chained */
    uint32_t *walker_of;               /* by leader: its outline, upright */
    DT_ARRAY(seat) seats;
} matchmaker;

/* ---- overlap ---- */

static double off_box(dt_box box, dt_point p) {
    double x = fmax(box.low.x - p.x, p.x - box.high.x), y = fmax(box.low.y - p.y, p.y - box.high.y);
    return fmax(fmax(x, y), 0.0);
}

/* The first sample that lies `ahead` mm of line after sample i. */
static size_t sample_after(const dt_loop *loop, size_t i, double ahead) {
    double due = loop->sample_at[i] + ahead;
    do i++;
    while (i < loop->sample_count && loop->sample_at[i] < due);
    return i;
}

/* Does a point of `moving`, carried by the pose, lie deeper in `still` than the play? What lies outside stays outside for as much line as it
 * is away; on which side a point lies is asked only where the line may have been crossed since the last one. */
static bool pokes_into(const dt_loop *moving, const dt_loop *still, dt_pose pose, double play) {
    double room = fmax(play, ROOM_MM), ahead;
    uint32_t hint = 0;
    for (size_t i = 0; i < moving->sample_count; i = sample_after(moving, i, ahead)) {
        dt_point p = dt_plane_carry(pose, moving->samples[i]);
        ahead = off_box(still->near.box, p);
        if (ahead > 0.0) continue;
        dt_hit hit = dt_near_find_beyond(&still->near, p, hint, play, room);
        hint = hit.span;
        if (hit.distance <= play) continue;
        if (dt_path_contains(still->path, p)) return true;
        ahead = fmin(hit.distance, room);
    }
    return false;
}

static bool overlap(const matchmaker *m, const dt_loop *loop, dt_pose pose, uint32_t neighbour) {
    const dt_fit *fit = m->fit;
    const dt_loop *other = &fit->walkers[m->walker_of[fit->class_of[neighbour]]].loop;
    dt_pose to_other = dt_pose_compose(fit->to_leader[neighbour], pose);
    return pokes_into(loop, other, to_other, fit->kerf) || pokes_into(other, loop, dt_pose_inverse(to_other), fit->kerf);
}

/* ---- mates ---- */

/* The whole piece, not only this seam, fits the place: a twin. */
static bool is_twin_there(const matchmaker *m, uint32_t piece, uint32_t place, dt_pose pose) {
    dt_fit *fit = m->fit;
    if (pose.flipped || fit->class_of[piece] == fit->class_of[place]) return fit->class_of[piece] == fit->class_of[place];
    const dt_form *a = &fit->forms[piece], *b = &fit->forms[place];
    if (!dt_form_may_fit(a, b, fit->kerf) || !a->prepared || !b->prepared) return false;
    dt_point where;
    fit->work += dt_forms_gauge_work(a, b);
    return dt_forms_mismatch_at(a, b, pose, &where) <= 2.0 * fit->kerf;
}

static bool add_mate(matchmaker *m, dt_false_mate mate) {
    if (m->fit->mates.count == MOST_MATES) {
        dt_fit_leave_out(m->fit, DT_LIST_FALSE_MATES);
        return true;
    }
    return dt_array_push(&m->fit->mates, mate);
}

/* ---- steps ---- */

static bool add_seats(matchmaker *m, uint32_t class_id, const dt_found *found) {
    dt_fit *fit = m->fit;
    uint32_t leader = fit->walkers[found->walker].leader;
    for (uint32_t side = m->first_side[class_id]; side != NONE; side = m->next_side[side]) {
        if (leader == fit->class_of[fit->sides[side].piece]) continue;
        if (m->seats.count == MOST_OVERLAPS) {
            dt_fit_leave_out(fit, DT_LIST_FALSE_MATES);
            return true;
        }
        if (!dt_array_push(&m->seats, (seat){side, found, false})) return false;
    }
    return true;
}

static dt_status list_seats(matchmaker *m) {
    const dt_fit *fit = m->fit;
    for (uint32_t c = 0; c < fit->side_classes.count; c++) {
        const dt_side_class *class = &fit->side_classes.items[c];
        for (uint32_t i = class->first; !class->closed && i < class->first + class->count; i++)
            if (fit->found.items[i].seat_off <= fit->kerf && !add_seats(m, c, &fit->found.items[i])) return DT_NO_MEMORY;
    }
    return DT_OK;
}

static dt_pose pose_on(const dt_fit *fit, const seat *s) {
    return dt_pose_compose(dt_pose_inverse(fit->sides[s->side].to_class), s->found->seat);
}

static dt_piece_id across_of(const dt_fit *fit, const dt_side_entry *entry) {
    dt_piece_id place = {entry->piece};
    return dt_pieces_across(fit->pieces, place, &dt_pieces_get(fit->pieces, place)->sides[entry->index]);
}

static dt_status try_seat(void *context, size_t worker, size_t item) {
    matchmaker *m = context;
    seat *s = &m->seats.items[item];
    if (worker == 0 && dt_watch_stopped(m->watch)) return DT_STOPPED;
    const dt_loop *loop = &m->fit->walkers[s->found->walker].loop;
    s->free = !overlap(m, loop, pose_on(m->fit, s), across_of(m->fit, &m->fit->sides[s->side]).v);
    return DT_OK;
}

/* One way of one class of pieces on one side: all its members. */
static bool add_mates(matchmaker *m, const seat *s) {
    dt_fit *fit = m->fit;
    const dt_side_entry *entry = &fit->sides[s->side];
    dt_piece_id place = {entry->piece}, across = across_of(fit, entry);
    dt_seam_id seam = dt_pieces_get(fit->pieces, place)->sides[entry->index].seam;
    uint32_t leader = fit->walkers[s->found->walker].leader;
    dt_pose pose = pose_on(fit, s);
    /* Members lie where their leader would. */
    if (is_twin_there(m, leader, place.v, dt_pose_compose(pose, dt_fit_to_walker(fit, leader, s->found->walker)))) return true;
    for (uint32_t i = fit->member_start[leader]; i < fit->member_start[leader + 1]; i++) {
        uint32_t piece = fit->members[i];
        dt_false_mate mate = {across, {piece}, place, seam, dt_pose_compose(pose, dt_fit_to_walker(fit, piece, s->found->walker)),
                              dt_pieces_seam(fit->pieces, seam)->length, s->found->seat_off};
        if (piece != across.v && !add_mate(m, mate)) return false;
    }
    return true;
}

static dt_status chain_sides(matchmaker *m, dt_arena *scratch) {
    dt_fit *fit = m->fit;
    m->first_side = DT_TAKE(scratch, fit->side_classes.count, uint32_t);
    m->next_side = DT_TAKE(scratch, fit->side_count, uint32_t);
    m->walker_of = DT_TAKE(scratch, fit->count, uint32_t);
    if (!m->first_side || !m->next_side || !m->walker_of) return DT_NO_MEMORY;
    for (size_t i = 0; i < fit->side_classes.count; i++) m->first_side[i] = NONE;
    for (uint32_t i = (uint32_t)fit->side_count; i-- > 0;) {
        uint32_t class_id = fit->sides[i].class_id;
        if (class_id == NONE) continue;
        m->next_side[i] = m->first_side[class_id];
        m->first_side[class_id] = i;
    }
    for (uint32_t i = 0; i < fit->walker_count; i++)
        if (fit->walkers[i].ring == 0 && !fit->walkers[i].over) m->walker_of[fit->walkers[i].leader] = i;
    return DT_OK;
}

static int by_mate(const void *a, const void *b) {
    const dt_false_mate *p = a, *q = b;
    if (p->a.v != q->a.v) return p->a.v < q->a.v ? -1 : 1;
    if (p->b.v != q->b.v) return p->b.v < q->b.v ? -1 : 1;
    if (p->seam.v != q->seam.v) return p->seam.v < q->seam.v ? -1 : 1;
    if (p->mismatch_mm != q->mismatch_mm) return p->mismatch_mm < q->mismatch_mm ? -1 : 1;
    return (p->pose.shift.x > q->pose.shift.x) - (p->pose.shift.x < q->pose.shift.x);
}

/* Several ways that mate the same piece with the same seam: the closest one stays. */
static void keep_closest(dt_fit *fit) {
    size_t kept = 0;
    dt_false_mate *mates = fit->mates.items;
    if (fit->mates.count) qsort(mates, fit->mates.count, sizeof *mates, by_mate);
    for (size_t i = 0; i < fit->mates.count; i++) {
        const dt_false_mate *last = kept ? &mates[kept - 1] : NULL;
        if (last && last->a.v == mates[i].a.v && last->b.v == mates[i].b.v && last->seam.v == mates[i].seam.v &&
            last->instead_of.v == mates[i].instead_of.v)
            continue;
        mates[kept++] = mates[i];
    }
    fit->mates.count = kept;
}

dt_status dt_fit_find_mates(dt_fit *fit, const dt_watch *watch) {
    dt_arena scratch = DT_ARENA((size_t)256 << 20);
    matchmaker m = {.fit = fit, .watch = watch};
    dt_status status = chain_sides(&m, &scratch);
    if (status == DT_OK) status = list_seats(&m);
    if (status == DT_OK) status = dt_workers_run(dt_fit_workers(fit, m.seats.count), m.seats.count, try_seat, &m);
    for (size_t i = 0; i < m.seats.count && status == DT_OK; i++)
        if (m.seats.items[i].free && !add_mates(&m, &m.seats.items[i])) status = DT_NO_MEMORY;
    keep_closest(fit);
    dt_array_free(&m.seats);
    dt_arena_free(&scratch);
    return status;
}
