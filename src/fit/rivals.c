/* Which pieces match several sides of a place at one pose. The list of ways of one side leads; each way is tried on all sides, moved
 * a little where that is what it takes, by the minimax fit of two outlines over all courses at once. */
#include "fit/crowd.h"

#include <math.h>
#include <stdlib.h>

static const dt_side_entry *entry_of(const dt_fit *fit, dt_piece_id place, size_t index) {
    return &fit->sides[fit->side_start[place.v] + index];
}

enum { MOST_KNOWN = 16, MOST_TRIED = 3, MOST_NEAR = 256 };
static const double LEAST_CROWD = 0.5; /* fewer further pieces than this are not worth an estimate */

typedef struct stand {
    dt_fitter *fitter;
    const dt_course *courses;
    size_t course_count;
    const dt_loop *loop;
} stand;

static double pulls_of_stand(void *context, dt_pose pose, dt_pull *pulls, size_t room, size_t *count) {
    const stand *s = context;
    double most = 0.0;
    *count = 0;
    for (size_t i = 0; i < s->course_count; i++) {
        size_t more;
        most = fmax(most, dt_lay_pulls(&(dt_lay){&s->courses[i], s->loop, 1, INFINITY}, pose, pulls + *count, room - *count, &more));
        *count += more;
    }
    return most;
}

static bool stands(const stand *s, double eye, dt_pose pose) {
    size_t count;
    double value = pulls_of_stand((void *)(uintptr_t)s, pose, s->fitter->pulls, s->fitter->room, &count);
    if (value <= eye) return true;
    if (value > 3.0 * eye) return false;
    dt_rigid_fit fit = {.source = pulls_of_stand, .context = (void *)(uintptr_t)s, .centre = s->courses[0].centre, .radius = 0.0,
                        .enough_mm = eye, .hopeless_mm = eye, .step_mm = 0.005 * eye, .pulls = s->fitter->pulls, .rows = s->fitter->rows,
                        .room = s->fitter->room};
    for (size_t i = 0; i < s->course_count; i++)
        fit.radius = fmax(fit.radius, s->courses[i].radius + dt_point_distance(fit.centre, s->courses[i].centre));
    return dt_rigid_fit_run(&fit, &pose) <= eye;
}

typedef struct known_sides {
    uint32_t indices[MOST_KNOWN];
    dt_course courses[MOST_KNOWN];
    const dt_side_entry *entries[MOST_KNOWN];
    size_t count;
    size_t leading; /* with the fewest ways, a list that is whole before one that is not */
    size_t least_k;
} known_sides;

static const dt_side_class *class_of_side(const dt_fit *fit, const dt_side_entry *entry) {
    return &fit->side_classes.items[entry->class_id];
}

static bool leads(const dt_side_class *a, const dt_side_class *b) {
    return a->whole != b->whole ? a->whole : a->count < b->count;
}

/* Sides too short to tell anything are left out. */
static void gather(const dt_fit *fit, dt_piece_id place, const bool *known, known_sides *out) {
    size_t sides = fit->side_start[place.v + 1] - fit->side_start[place.v];
    out->count = out->leading = 0;
    out->least_k = fit->count;
    for (uint32_t i = 0; i < sides && out->count < MOST_KNOWN; i++) {
        const dt_side_entry *entry = entry_of(fit, place, i);
        if (!known[i] || entry->class_id == UINT32_MAX || class_of_side(fit, entry)->everywhere) continue;
        if (entry->k < out->least_k) out->least_k = entry->k;
        out->indices[out->count] = i;
        out->entries[out->count] = entry;
        if (leads(class_of_side(fit, entry), class_of_side(fit, out->entries[out->leading]))) out->leading = out->count;
        out->count++;
    }
}

static dt_status lay_courses(const dt_fit *fit, dt_piece_id place, dt_arena *arena, known_sides *sides) {
    dt_status status = DT_OK;
    for (size_t i = 0; i < sides->count && status == DT_OK; i++) {
        dt_path path;
        status = dt_fit_side_path(fit, place.v, sides->indices[i], arena, &path);
        if (status == DT_OK) status = dt_course_new(path, dt_fit_step(fit), arena, &sides->courses[i]);
    }
    return status;
}

/* By leader of a class: a walker on which all sides stand, upright and turned over, plus 1; 0 = none. */
typedef struct standing {
    uint32_t walker[2];
} standing;

static bool has_rivals(const dt_fit *fit, const dt_side_class *class, uint32_t own) {
    for (uint32_t i = class->first; i < class->first + class->count; i++)
        if (fit->walkers[fit->found.items[i].walker].leader != own) return true;
    return false;
}

/* Ways of one leader come scattered in the list, so those that stand are marked. The place's own class is not looked at. */
static dt_status find_standing(const dt_fit *fit, dt_piece_id place, known_sides *sides, dt_arena *arena, standing *out) {
    const dt_side_entry *leading = sides->entries[sides->leading];
    const dt_side_class *class = class_of_side(fit, leading);
    dt_pose back = dt_pose_inverse(leading->to_class);
    dt_fitter fitter;
    if (!has_rivals(fit, class, fit->class_of[place.v])) return DT_OK;
    dt_status status = lay_courses(fit, place, arena, sides);
    if (status == DT_OK) status = dt_fitter_new(arena, &fitter);
    for (uint32_t i = class->first; i < class->first + class->count && status == DT_OK; i++) {
        const dt_found *found = &fit->found.items[i];
        const dt_walker *walker = &fit->walkers[found->walker];
        stand s = {&fitter, sides->courses, sides->count, &walker->loop};
        uint32_t *mark = &out[walker->leader].walker[walker->over];
        if (*mark || walker->leader == fit->class_of[place.v]) continue;
        if (stands(&s, fit->eye, dt_pose_compose(back, found->pose))) *mark = found->walker + 1;
    }
    return status;
}

/* A member of a class that stands: must it be turned over? */
static bool is_only_flipped(const dt_fit *fit, uint32_t piece, const standing *s) {
    for (int over = 0; over < 2; over++)
        if (s->walker[over] && !dt_fit_to_walker(fit, piece, s->walker[over] - 1).flipped) return false;
    return true;
}

static size_t list_class(const dt_fit *fit, uint32_t leader, uint32_t place, const standing *s, dt_rival *out) {
    size_t count = 0;
    for (uint32_t i = fit->member_start[leader]; i < fit->member_start[leader + 1]; i++) {
        uint32_t piece = fit->members[i];
        bool flipped = s ? is_only_flipped(fit, piece, s) : fit->to_leader[piece].flipped != fit->to_leader[place].flipped;
        if (piece != place) out[count++] = (dt_rival){{piece}, flipped};
    }
    return count;
}

typedef struct tried {
    bool alike, stands;
} tried;

/* A sampled piece, by all of its sides that were found: does it look like the leading side, and does it stand on all known ones? */
static tried try_piece(const dt_fit *fit, dt_fitter *fitter, const known_sides *sides, const dt_crowd_find *found, size_t count, uint32_t leader) {
    const dt_course *leading = &sides->courses[sides->leading];
    tried t = {false, false};
    for (size_t i = 0; i < count && !t.stands; i++) {
        const dt_loop *loop = &fit->walkers[found[i].side->walker].loop;
        double rms;
        if (found[i].side->leader != leader) continue;
        dt_pose pose = dt_stretch_align(leading, loop, found[i].side->start, &rms);
        stand one = {fitter, leading, 1, loop}, all = {fitter, sides->courses, sides->count, loop};
        if (rms > fit->eye || !stands(&one, fit->eye, pose)) continue;
        t.alike = true;
        t.stands = stands(&all, fit->eye, pose);
    }
    return t;
}

/* Of the sampled pieces that look like the leading side, those that stand on all known sides too, as a share. */
static dt_status share_standing(const dt_fit *fit, known_sides *sides, dt_arena *arena, double *share) {
    const dt_side_entry *leading = sides->entries[sides->leading];
    dt_crowd_find found[MOST_NEAR];
    dt_fitter fitter;
    size_t count = dt_crowd_near(fit, leading, arena, found, MOST_NEAR), alike = 0, stand_too = 0;
    dt_status status = lay_courses(fit, (dt_piece_id){leading->piece}, arena, sides);
    if (status == DT_OK) status = dt_fitter_new(arena, &fitter);
    size_t stride = 1 + count / MOST_TRIED;
    for (size_t i = 0; i < count && status == DT_OK; i += stride) {
        tried t = try_piece(fit, &fitter, sides, found, count, found[i].side->leader);
        alike += t.alike;
        stand_too += t.stands;
    }
    if (status == DT_OK) *share = alike ? (double)stand_too / (double)alike : 0.0;
    return status;
}

static dt_status estimate_hidden(const dt_fit *fit, known_sides *sides, dt_arena *arena, double *hidden) {
    const dt_side_class *class = class_of_side(fit, sides->entries[sides->leading]);
    double share = 1.0;
    if (class->whole || class->crowd < LEAST_CROWD) return DT_OK;
    dt_status status = sides->count > 1 ? share_standing(fit, sides, arena, &share) : DT_OK;
    if (status == DT_OK) *hidden = share * class->crowd;
    return status;
}

dt_status dt_fit_place_rivals(const dt_fit *fit, dt_piece_id place, const bool *known, dt_rival *out, size_t *count,
                              double *hidden) {
    dt_arena scratch = DT_ARENA((size_t)256 << 20);
    known_sides sides;
    size_t listed = 0;
    double more = 0.0;
    standing *marks = DT_TAKE(&scratch, fit->count, standing);
    dt_status status = marks ? DT_OK : DT_NO_MEMORY;
    gather(fit, place, known, &sides);
    if (status == DT_OK && sides.count) status = find_standing(fit, place, &sides, &scratch, marks);
    if (status == DT_OK && sides.count) status = estimate_hidden(fit, &sides, &scratch, &more);
    for (uint32_t leader = 0; leader < fit->count && status == DT_OK; leader++) {
        bool own = leader == fit->class_of[place.v], stands_there = marks[leader].walker[0] || marks[leader].walker[1];
        if (fit->class_of[leader] != leader || !(own || stands_there || sides.count == 0)) continue;
        listed += list_class(fit, leader, place.v, stands_there ? &marks[leader] : NULL, out + listed);
    }
    dt_arena_free(&scratch);
    if (status == DT_OK) {
        *count = listed;
        *hidden = more;
    }
    return status;
}

size_t dt_fit_place_k(const dt_fit *fit, dt_piece_id place, const bool *known, const bool *loose) {
    size_t listed = 0, k = 1;
    double hidden;
    dt_rival *rivals = calloc(fit->count, sizeof *rivals);
    if (rivals && dt_fit_place_rivals(fit, place, known, rivals, &listed, &hidden) == DT_OK)
        for (size_t i = 0; i < listed; i++) k += !loose || loose[rivals[i].piece.v];
    free(rivals);
    return k;
}
