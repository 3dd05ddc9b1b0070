/* What is known of the sides of a place, and which pieces match several of them at one pose. */
#include "fit/store.h"

#include <math.h>

static const dt_side_entry *entry_of(const dt_fit *fit, dt_piece_id place, size_t index) {
    return &fit->sides[fit->side_start[place.v] + index];
}

size_t dt_fit_side_k(const dt_fit *fit, dt_piece_id place, size_t index) {
    return entry_of(fit, place, index)->k;
}

const dt_candidate *dt_fit_side_candidates(const dt_fit *fit, dt_piece_id place, size_t index, size_t *listed) {
    const dt_side_entry *entry = entry_of(fit, place, index);
    *listed = entry->listed;
    return entry->listed ? fit->candidates.items + entry->first : NULL;
}

size_t dt_fit_alike_side_count(const dt_fit *fit) {
    size_t count = 0;
    for (size_t i = 0; i < fit->side_count; i++) count += fit->sides[i].k > 1;
    return count;
}

size_t dt_fit_side_count(const dt_fit *fit) {
    size_t count = 0;
    for (size_t i = 0; i < fit->side_count; i++) count += fit->sides[i].k > 0;
    return count;
}

double dt_fit_mean_candidates(const dt_fit *fit) {
    double sum = 0.0;
    for (size_t i = 0; i < fit->side_count; i++) sum += fit->sides[i].k;
    size_t count = dt_fit_side_count(fit);
    return count ? sum / (double)count : 0.0;
}

size_t dt_fit_false_mate_count(const dt_fit *fit) {
    return fit->mates.count;
}

const dt_false_mate *dt_fit_false_mate(const dt_fit *fit, size_t index) {
    return &fit->mates.items[index];
}

/* ---- several sides at one pose ---- */

enum { MOST_KNOWN = 16 };

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
                        .enough_mm = eye, .hopeless_mm = eye, .pulls = s->fitter->pulls, .rows = s->fitter->rows,
                        .room = s->fitter->room};
    for (size_t i = 0; i < s->course_count; i++)
        fit.radius = fmax(fit.radius, s->courses[i].radius + dt_point_distance(fit.centre, s->courses[i].centre));
    return dt_rigid_fit_run(&fit, &pose) <= eye;
}

typedef struct known_sides {
    dt_course courses[MOST_KNOWN];
    const dt_side_entry *entries[MOST_KNOWN];
    size_t count;
    size_t leading;          /* complete, with the fewest ways; SIZE_MAX when none is complete */
    size_t least_k;
} known_sides;

static dt_status gather(const dt_fit *fit, dt_piece_id place, const bool *known, dt_arena *arena, known_sides *out) {
    size_t sides = fit->side_start[place.v + 1] - fit->side_start[place.v], best = SIZE_MAX;
    *out = (known_sides){.leading = SIZE_MAX, .least_k = fit->count};
    for (size_t i = 0; i < sides && out->count < MOST_KNOWN; i++) {
        const dt_side_entry *entry = entry_of(fit, place, i);
        if (!known[i] || entry->class_id == UINT32_MAX) continue;
        const dt_side_class *class = &fit->side_classes.items[entry->class_id];
        if (class->everywhere) continue;
        dt_path path;
        dt_status status = dt_fit_side_path(fit, place.v, (uint32_t)i, arena, &path);
        if (status == DT_OK) status = dt_course_new(path, arena, &out->courses[out->count]);
        if (status != DT_OK) return status;
        if (class->whole && class->count < best) {
            best = class->count;
            out->leading = out->count;
        }
        if (entry->k < out->least_k) out->least_k = entry->k;
        out->entries[out->count++] = entry;
    }
    return DT_OK;
}

static size_t count_loose(const dt_fit *fit, uint32_t leader, uint32_t place, const bool *loose) {
    size_t count = 0;
    for (uint32_t i = fit->member_start[leader]; i < fit->member_start[leader + 1]; i++)
        count += fit->members[i] == place || !loose || loose[fit->members[i]];
    return count;
}

static size_t count_all(const dt_fit *fit, uint32_t place, const bool *loose) {
    size_t count = 0;
    for (uint32_t i = 0; i < fit->count; i++) count += i == place || !loose || loose[i];
    return count;
}

/* Ways of one leader come scattered in the list, so those that stand are marked. */
static size_t count_standing(const dt_fit *fit, uint32_t place, const bool *loose, known_sides *sides, dt_arena *arena) {
    dt_fitter fitter;
    const dt_side_entry *leading = sides->entries[sides->leading];
    const dt_side_class *class = &fit->side_classes.items[leading->class_id];
    bool *counted = DT_TAKE(arena, fit->count, bool);
    if (!counted || dt_fitter_new(arena, &fitter) != DT_OK) return sides->least_k;
    uint32_t own = fit->class_of[place];
    size_t count = count_loose(fit, own, place, loose);
    counted[own] = true;
    for (uint32_t i = class->first; i < class->first + class->count; i++) {
        const dt_found *found = &fit->found.items[i];
        const dt_walker *walker = &fit->walkers[found->walker];
        stand s = {&fitter, sides->courses, sides->count, &walker->loop};
        if (counted[walker->leader]) continue;
        if (!stands(&s, fit->eye, dt_pose_compose(dt_pose_inverse(leading->to_class), found->pose))) continue;
        counted[walker->leader] = true;
        count += count_loose(fit, walker->leader, place, loose);
    }
    return count;
}

size_t dt_fit_place_k(const dt_fit *fit, dt_piece_id place, const bool *known, const bool *loose) {
    dt_arena scratch = DT_ARENA((size_t)256 << 20);
    known_sides sides;
    size_t count = count_all(fit, place.v, loose);
    if (gather(fit, place, known, &scratch, &sides) == DT_OK && sides.count > 0) {
        size_t k = sides.leading == SIZE_MAX ? sides.least_k : count_standing(fit, place.v, loose, &sides, &scratch);
        if (k < count) count = k;
    }
    dt_arena_free(&scratch);
    return count;
}
