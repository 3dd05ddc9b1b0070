/* Makes a problem from tiles and regions: kinds of alike tiles, how each body covers itself, the container, the symmetries. */
#include "problem.h"

#include "assembly/line.h"
#include "assembly/partings.h"
#include "assembly/trim.h"

#include <math.h>
#include <stdlib.h>

enum { MOST_SYMMETRIES = 256, MOST_ALIKE = 5 }; /* 6 regions of one shape have 720 symmetries at least */
static const size_t MEMORY_LIMIT = (size_t)4 << 30;
/* What rounding to 0.01 mm, flattening anew and a hand's noise do to lines that are meant to be the same, mm. */
static const double DRAWN_MM = 0.05;
/* Where a group of pieces fits by the whole play, least squares lay a knob that is off by it up to half as much farther off, and
 * two such lines may overlap by both. */
static const double WHOLE_SEAT = 1.5, WHOLE_LOOSE = 2.0;
static const dt_pose FLIP = {1.0, 0.0, {0.0, 0.0}, true};

void dt_problem_free(dt_problem *problem) {
    if (!problem) return;
    dt_arena arena = problem->arena; /* it holds the problem itself */
    dt_arena_free(&arena);
}

dt_pose dt_problem_home(const dt_problem *problem, uint32_t tile, uint32_t *body) {
    dt_pose home = problem->home[tile];
    const dt_kind *kind = &problem->kinds[problem->kind_of_tile[tile]];
    *body = kind->plain;
    if (!home.flipped) return home;
    *body = kind->mirrored;
    return dt_pose_compose(home, FLIP); /* FLIP undoes the mirroring of the body */
}

static bool make_tile_body(dt_problem *p, const dt_tile *tile, dt_body *out) {
    dt_path *rings = DT_TAKE(&p->arena, tile->hole_count + 1, dt_path);
    if (!rings) return false;
    for (size_t h = 0; h <= tile->hole_count; h++) {
        rings[h] = dt_trimmed(h ? tile->holes[h - 1] : tile->outline, &p->arena);
        if (!rings[h].points) return false;
    }
    return dt_body_make(rings, tile->hole_count + 1, false, p->loose, &p->arena, out);
}

static bool add_body(dt_problem *p, uint32_t kind, const dt_body *body) {
    p->bodies[p->body_count] = *body;
    p->kind_of_body[p->body_count] = kind;
    bool done = dt_congruences(body, body, p->alike, &p->arena, &p->turns[p->body_count]);
    p->body_count++;
    return done;
}

static bool add_kind(dt_problem *p, uint32_t tile, const dt_body *body) {
    dt_kind *kind = &p->kinds[p->kind_count];
    *kind = (dt_kind){p->body_count, DT_NONE, 1, DT_POSE_IDENTITY};
    p->kind_of_tile[tile] = p->kind_count;
    p->home[tile] = DT_POSE_IDENTITY;
    if (!add_body(p, p->kind_count, body)) return false;
    if (p->two_sided) {
        dt_body mirrored;
        dt_turns same;
        if (!dt_body_mirror(body, p->loose, &p->arena, &mirrored)) return false;
        if (!dt_congruences(body, &mirrored, p->alike, &p->arena, &same)) return false;
        if (same.count) kind->fold = same.poses[0];
        if (same.count == 0) {
            kind->mirrored = p->body_count;
            if (!add_body(p, p->kind_count, &mirrored)) return false;
        }
    }
    p->kind_count++;
    return true;
}

/* Is the tile of this kind? Then it is counted in. */
static bool join_kind(dt_problem *p, uint32_t kind, uint32_t tile, const dt_body *body, bool *joined) {
    dt_turns same;
    *joined = false;
    const dt_kind *k = &p->kinds[kind];
    if (!dt_congruences(&p->bodies[k->plain], body, p->alike, &p->arena, &same)) return false;
    dt_pose home = same.count ? same.poses[0] : DT_POSE_IDENTITY;
    if (same.count == 0 && k->mirrored != DT_NONE) {
        if (!dt_congruences(&p->bodies[k->mirrored], body, p->alike, &p->arena, &same)) return false;
        if (same.count) home = dt_pose_compose(same.poses[0], FLIP);
    }
    if (same.count == 0) return true;
    *joined = true;
    p->kinds[kind].count++;
    p->kind_of_tile[tile] = kind;
    p->home[tile] = home;
    return true;
}

static bool place_tile(dt_problem *p, const dt_task *task, uint32_t tile) {
    dt_body body;
    bool joined = false;
    if (!make_tile_body(p, &task->tiles[tile], &body)) return false;
    if (!task->alike)
        for (uint32_t k = 0; k < p->kind_count && !joined; k++)
            if (!join_kind(p, k, tile, &body, &joined)) return false;
    for (size_t i = 0; task->alike && i < task->alike_count && !joined; i++) {
        uint32_t a = task->alike[i][0], b = task->alike[i][1];
        uint32_t low = a < b ? a : b, high = a < b ? b : a;
        if (high == tile && low < tile && !join_kind(p, p->kind_of_tile[low], tile, &body, &joined)) return false;
    }
    return joined || add_kind(p, tile, &body);
}

/* ---- container and symmetries ---- */

static bool make_container(dt_problem *p, const dt_task *task) {
    size_t total = 0, used = 0;
    for (size_t r = 0; r < task->region_count; r++) total += task->regions[r].ring_count;
    dt_path *rings = DT_TAKE(&p->arena, total, dt_path);
    p->regions = DT_TAKE(&p->arena, task->region_count, dt_body);
    if (!rings || !p->regions) return false;
    for (size_t r = 0; r < task->region_count; r++) {
        size_t first = used;
        for (size_t k = 0; k < task->regions[r].ring_count; k++) {
            dt_path trimmed = dt_trimmed(task->regions[r].rings[k], &p->arena);
            rings[used] = trimmed.points ? dt_path_backwards(&p->arena, trimmed) : trimmed;
            if (!rings[used++].points) return false;
        }
        if (!dt_body_make(rings + first, used - first, true, p->loose, &p->arena, &p->regions[r])) return false;
        p->area -= p->regions[r].area;
    }
    return dt_body_make(rings, used, true, p->loose, &p->arena, &p->container);
}

typedef struct region_maps {
    dt_turns *between; /* from r to t: [r * count + t] */
    size_t *order;     /* where region r goes, while listing */
    size_t *choice;
} region_maps;

static bool add_turned_over(dt_problem *p, const dt_body *from, const dt_body *to, dt_turns *maps) {
    dt_body mirrored;
    dt_turns more;
    if (!dt_body_mirror(from, p->loose, &p->arena, &mirrored)) return false;
    if (!dt_congruences(&mirrored, to, p->alike, &p->arena, &more)) return false;
    dt_pose *all = DT_TAKE(&p->arena, maps->count + more.count, dt_pose);
    if (!all) return false;
    for (size_t i = 0; i < maps->count; i++) all[i] = maps->poses[i];
    for (size_t i = 0; i < more.count; i++) all[maps->count + i] = dt_pose_compose(more.poses[i], FLIP);
    maps->poses = all;
    maps->count += more.count;
    return true;
}

/* Stops where the symmetries are too many to be listed. */
static bool map_regions(dt_problem *p, region_maps *m) {
    size_t n = p->region_count;
    for (size_t r = 0; r < n && !p->symmetries_cut; r++) {
        size_t alike = 0;
        for (size_t t = 0; t < n && alike <= MOST_ALIKE; t++) {
            dt_turns *maps = &m->between[r * n + t];
            if (!dt_congruences(&p->regions[r], &p->regions[t], p->alike, &p->arena, maps)) return false;
            if (maps->any) p->round = true;
            if (p->two_sided && !add_turned_over(p, &p->regions[r], &p->regions[t], maps)) return false;
            alike += maps->count > 0;
        }
        p->symmetries_cut = alike > MOST_ALIKE;
    }
    return true;
}

static bool add_symmetry(dt_problem *p, const region_maps *m) {
    size_t n = p->region_count;
    if (p->symmetry_count == MOST_SYMMETRIES) {
        p->symmetries_cut = true;
        return true;
    }
    dt_symmetry s = {DT_TAKE(&p->arena, n, dt_pose), DT_TAKE(&p->arena, n, uint32_t)};
    if (!s.poses || !s.to) return false;
    for (size_t r = 0; r < n; r++) {
        s.to[r] = (uint32_t)m->order[r];
        s.poses[r] = m->between[r * n + m->order[r]].poses[m->choice[r]];
    }
    p->symmetries[p->symmetry_count++] = s;
    return true;
}

static bool is_taken(const region_maps *m, size_t region, size_t target) {
    for (size_t r = 0; r < region; r++)
        if (m->order[r] == target) return true;
    return false;
}

static bool add_identity(dt_problem *p) {
    dt_symmetry *s = &p->symmetries[0];
    *s = (dt_symmetry){DT_TAKE(&p->arena, p->region_count, dt_pose), DT_TAKE(&p->arena, p->region_count, uint32_t)};
    if (!s->poses || !s->to) return false;
    for (uint32_t r = 0; r < p->region_count; r++) s->poses[r] = DT_POSE_IDENTITY, s->to[r] = r;
    p->symmetry_count = 1;
    return true;
}

/* All ways to send the regions from `region` on; the identity comes first, since each region tries itself first. */
static bool list_symmetries(dt_problem *p, region_maps *m, size_t region) {
    size_t n = p->region_count;
    if (region == n) return add_symmetry(p, m);
    for (size_t k = 0; k < n && !p->symmetries_cut; k++) {
        size_t target = (region + k) % n;
        if (is_taken(m, region, target)) continue;
        m->order[region] = target;
        for (size_t c = 0; c < m->between[region * n + target].count; c++) {
            m->choice[region] = c;
            if (!list_symmetries(p, m, region + 1)) return false;
        }
    }
    return true;
}

/* A disc has every turn; those matter that bring a corner of the drawn assembly on the rim to where the search starts. */
static bool add_rim_turn(dt_problem *p, dt_point at, bool mirrored) {
    dt_point centre = p->container.centre;
    double x = at.x - centre.x, turn = -atan2(at.y - centre.y, mirrored ? -x : x);
    dt_symmetry s = {DT_TAKE(&p->arena, 1, dt_pose), DT_TAKE(&p->arena, 1, uint32_t)};
    if (!s.poses || !s.to) return false;
    p->symmetries_cut = p->symmetries_cut || p->symmetry_count == MOST_SYMMETRIES;
    if (p->symmetries_cut) return true;
    s.poses[0] = (dt_pose){cos(turn), sin(turn), {0.0, 0.0}, mirrored};
    s.poses[0].shift = dt_point_sub(centre, dt_pose_apply(s.poses[0], centre));
    p->symmetries[p->symmetry_count++] = s;
    return true;
}

static bool add_rim_turns(dt_problem *p) {
    for (uint32_t i = 0; i < p->tile_count; i++) {
        uint32_t index;
        dt_pose home = dt_problem_home(p, i, &index);
        const dt_body *body = &p->bodies[index];
        for (uint32_t k = 0; k < body->break_count; k++) {
            dt_point at = dt_pose_apply(home, body->breaks[k].at);
            if (fabs(dt_point_distance(at, p->container.centre) - p->container.radius) > 2.0 * p->seat) continue;
            if (!add_rim_turn(p, at, false) || (p->two_sided && !add_rim_turn(p, at, true))) return false;
        }
    }
    return true;
}

static bool find_symmetries(dt_problem *p) {
    size_t n = p->region_count;
    region_maps m = {DT_TAKE(&p->arena, n * n, dt_turns), DT_TAKE(&p->arena, n, size_t), DT_TAKE(&p->arena, n, size_t)};
    p->symmetries = DT_TAKE(&p->arena, MOST_SYMMETRIES, dt_symmetry);
    if (p->held) return p->symmetries && add_identity(p);
    if (!m.between || !m.order || !m.choice || !p->symmetries || !map_regions(p, &m)) return false;
    p->symmetries_cut = p->symmetries_cut || (p->round && n > 1); /* that one may be turned by any angle, whatever the others do */
    if (p->symmetries_cut) {
        p->round = false;
        return add_identity(p);
    }
    return list_symmetries(p, &m, 0) && (!p->round || add_rim_turns(p));
}

static void find_narrowest(dt_problem *p) {
    p->narrowest = INFINITY;
    for (uint32_t b = 0; b < p->body_count; b++)
        for (uint32_t k = 0; k < p->bodies[b].break_count; k++) p->narrowest = fmin(p->narrowest, p->bodies[b].breaks[k].angle);
}

static dt_status make(dt_problem *p, const dt_task *task) {
    size_t n = task->tile_count;
    p->bodies = DT_TAKE(&p->arena, 2 * n, dt_body);
    p->kind_of_body = DT_TAKE(&p->arena, 2 * n, uint32_t);
    p->turns = DT_TAKE(&p->arena, 2 * n, dt_turns);
    p->kinds = DT_TAKE(&p->arena, n, dt_kind);
    p->kind_of_tile = DT_TAKE(&p->arena, n, uint32_t);
    p->home = DT_TAKE(&p->arena, n, dt_pose);
    if (!p->bodies || !p->kind_of_body || !p->turns || !p->kinds || !p->kind_of_tile || !p->home) return DT_NO_MEMORY;
    for (uint32_t i = 0; i < n; i++)
        if (!place_tile(p, task, i)) return DT_NO_MEMORY;
    if (!make_container(p, task) || !find_symmetries(p)) return DT_NO_MEMORY;
    find_narrowest(p);
    return dt_find_partings(p) ? DT_OK : DT_NO_MEMORY;
}

double dt_seat_of(double play_mm) {
    return play_mm / 2.0 + 0.6 * DRAWN_MM;
}

dt_status dt_problem_new(const dt_task *task, dt_problem **out) {
    if (task->tile_count == 0 || task->region_count == 0 || task->tile_count > UINT32_MAX / 4) return DT_BAD_ARGUMENT;
    dt_arena arena = DT_ARENA(MEMORY_LIMIT);
    dt_problem *p = DT_TAKE(&arena, 1, dt_problem);
    if (!p) return DT_NO_MEMORY;
    p->arena = arena;
    p->tile_count = (uint32_t)task->tile_count;
    p->region_count = (uint32_t)task->region_count;
    p->held = task->held;
    p->two_sided = task->two_sided;
    p->play = task->play_mm;
    p->seat = (task->whole_play ? WHOLE_SEAT : 0.5) * task->play_mm + 0.6 * DRAWN_MM;
    p->loose = (task->whole_play ? WHOLE_LOOSE : 1.0) * task->play_mm + 2.0 * DRAWN_MM;
    p->alike = fmin(task->play_mm / 2.0, DRAWN_MM) + DRAWN_MM / 2.0;
    dt_status status = make(p, task);
    if (status == DT_OK) *out = p;
    else dt_problem_free(p);
    return status;
}
