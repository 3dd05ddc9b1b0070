/* Easing: see ease.h. Each cluster is fitted by the minimax fit of geom/rigid_fit: its pulls are the distances of points of its
 * outer border to the nearest line of what does not move with it. */
#include "ease.h"

#include "geom/nearest.h"
#include "geom/rigid_fit.h"

#include <math.h>
#include <stdlib.h>

/* Motions of one cluster carry its pieces to within this of each other, mm: far more than lines miss, far less than a piece is
 * wide. */
static const double SAME_MOTION_MM = 1.0;
/* Points of a border lie this far apart, mm. */
static const double SAMPLE_MM = 0.5;
/* Lines this near to another piece of the cluster, as drawn, are a seam within it, mm: the grid of the drawing and then some. */
static const double SEAM_MM = 0.01;
static const double ENOUGH_MM = 1e-3, STEP_MM = 1e-4, TOUCHING_MM = 1e-9;
enum { ROUNDS = 3 };
static const size_t MEMORY_LIMIT = (size_t)1 << 28;

typedef struct easing {
    const dt_task *task;
    dt_pose *poses;
    uint32_t *cluster;        /* per tile: its first member, DT_NONE where it did not move */
    dt_arena arena;           /* of one fit */
    dt_point *samples;        /* of the cluster at hand, where they were drawn */
    size_t sample_count;
    dt_near lines;            /* of what does not move with it */
} easing;

static bool is_home(dt_pose pose) {
    return !pose.flipped && pose.c == 1.0 && pose.s == 0.0 && pose.shift.x == 0.0 && pose.shift.y == 0.0;
}

/* ---- clusters ---- */

static bool moves_as(const dt_tile *tile, dt_pose a, dt_pose b) {
    if (a.flipped != b.flipped) return false;
    for (size_t i = 0; i < tile->outline.count; i++) {
        dt_point p = tile->outline.points[i];
        if (dt_point_distance(dt_pose_apply(a, p), dt_pose_apply(b, p)) > SAME_MOTION_MM) return false;
    }
    return true;
}

static void find_clusters(easing *e, bool apart) {
    size_t n = e->task->tile_count;
    for (uint32_t i = 0; i < n; i++) e->cluster[i] = apart && !is_home(e->poses[i]) ? i : DT_NONE;
    for (uint32_t i = 0; i < n; i++) {
        if (is_home(e->poses[i]) || e->cluster[i] != DT_NONE) continue;
        e->cluster[i] = i;
        for (uint32_t k = i + 1; k < n; k++) {
            if (is_home(e->poses[k]) || e->cluster[k] != DT_NONE) continue;
            if (!moves_as(&e->task->tiles[k], e->poses[i], e->poses[k])) continue;
            e->cluster[k] = i;
            e->poses[k] = e->poses[i];
        }
    }
}

/* ---- the lines around a cluster, and the points of its border ---- */

static dt_path carried(easing *e, dt_path path, dt_pose pose) {
    dt_point *points = DT_TAKE(&e->arena, path.count, dt_point);
    for (size_t i = 0; points && i < path.count; i++) points[i] = dt_pose_apply(pose, path.points[i]);
    return (dt_path){points, points ? path.count : 0};
}

static void add_tile(easing *e, uint32_t i, dt_pose pose, dt_path *paths, size_t *count) {
    const dt_tile *tile = &e->task->tiles[i];
    paths[(*count)++] = carried(e, tile->outline, pose);
    for (size_t h = 0; h < tile->hole_count; h++) paths[(*count)++] = carried(e, tile->holes[h], pose);
}

static size_t path_count(const dt_task *task) {
    size_t count = 0;
    for (size_t i = 0; i < task->tile_count; i++) count += 1 + task->tiles[i].hole_count;
    for (size_t r = 0; r < task->region_count; r++) count += task->regions[r].ring_count;
    return count;
}

/* The borders of the regions and of all tiles that are not of the cluster, as they lie. */
static bool list_lines(easing *e, uint32_t cluster) {
    size_t count = 0;
    dt_path *paths = DT_TAKE(&e->arena, path_count(e->task), dt_path);
    if (!paths) return false;
    for (size_t r = 0; r < e->task->region_count; r++)
        for (size_t k = 0; k < e->task->regions[r].ring_count; k++) paths[count++] = e->task->regions[r].rings[k];
    for (uint32_t i = 0; i < e->task->tile_count; i++)
        if (e->cluster[i] != cluster) add_tile(e, i, e->poses[i], paths, &count);
    return dt_near_new(paths, count, true, &e->arena, &e->lines) == DT_OK;
}

static size_t steps_of(dt_point a, dt_point b) {
    return 1 + (size_t)(dt_point_distance(a, b) / SAMPLE_MM);
}

static size_t samples_in(dt_path path) {
    size_t count = 0;
    for (size_t i = 0; i < path.count; i++) count += steps_of(path.points[i], path.points[(i + 1) % path.count]);
    return count;
}

/* inner: the lines of the cluster's other members, or NULL. */
static void sample_path(easing *e, dt_path path, const dt_near *inner) {
    for (size_t i = 0; i < path.count; i++) {
        dt_point a = path.points[i], b = path.points[(i + 1) % path.count];
        size_t steps = steps_of(a, b);
        for (size_t k = 0; k < steps; k++) {
            dt_point p = dt_point_add(a, dt_point_scale(dt_point_sub(b, a), (double)k / (double)steps));
            if (!inner || dt_near_find(inner, p, 0).distance > SEAM_MM) e->samples[e->sample_count++] = p;
        }
    }
}

static bool sample_tile(easing *e, uint32_t tile, uint32_t cluster) {
    size_t count = 0;
    dt_near inner;
    dt_path *paths = DT_TAKE(&e->arena, path_count(e->task), dt_path);
    if (!paths) return false;
    for (uint32_t i = 0; i < e->task->tile_count; i++)
        if (i != tile && e->cluster[i] == cluster) add_tile(e, i, DT_POSE_IDENTITY, paths, &count);
    if (count && dt_near_new(paths, count, true, &e->arena, &inner) != DT_OK) return false;
    const dt_tile *t = &e->task->tiles[tile];
    sample_path(e, t->outline, count ? &inner : NULL);
    for (size_t h = 0; h < t->hole_count; h++) sample_path(e, t->holes[h], count ? &inner : NULL);
    return true;
}

static bool sample_cluster(easing *e, uint32_t cluster) {
    size_t most = 0;
    for (uint32_t i = 0; i < e->task->tile_count; i++) {
        if (e->cluster[i] != cluster) continue;
        most += samples_in(e->task->tiles[i].outline);
        for (size_t h = 0; h < e->task->tiles[i].hole_count; h++) most += samples_in(e->task->tiles[i].holes[h]);
    }
    e->sample_count = 0;
    e->samples = DT_TAKE(&e->arena, most, dt_point);
    if (!e->samples) return false;
    for (uint32_t i = 0; i < e->task->tile_count; i++)
        if (e->cluster[i] == cluster && !sample_tile(e, i, cluster)) return false;
    return true;
}

/* ---- fitting ---- */

static dt_pull pull_of(const dt_near *lines, dt_point p, dt_hit hit) {
    dt_span span = lines->spans[hit.span];
    dt_point off = dt_point_sub(p, hit.at), along = dt_point_sub(span.b, span.a);
    double length = hypot(along.x, along.y);
    bool touching = hit.distance < TOUCHING_MM && length > 0.0; /* then the line's own normal says which way is off */
    dt_point normal = {-along.y / length, along.x / length};
    return (dt_pull){p, touching ? normal : dt_point_scale(off, 1.0 / fmax(hit.distance, TOUCHING_MM)), hit.distance};
}

static double list_pulls(void *context, dt_pose pose, dt_pull *pulls, size_t room, size_t *count) {
    const easing *e = context;
    double largest = 0.0;
    *count = 0;
    uint32_t hint = 0;
    for (size_t i = 0; i < e->sample_count && *count < room; i++) {
        dt_point p = dt_pose_apply(pose, e->samples[i]);
        dt_hit hit = dt_near_find(&e->lines, p, hint);
        hint = hit.span;
        pulls[(*count)++] = pull_of(&e->lines, p, hit);
        largest = fmax(largest, hit.distance);
    }
    return largest;
}

static dt_box box_of(const easing *e, dt_pose pose) {
    dt_box box = DT_BOX_EMPTY;
    for (size_t i = 0; i < e->sample_count; i++) {
        dt_point p = dt_pose_apply(pose, e->samples[i]);
        box = dt_box_join(box, (dt_box){p, p});
    }
    return box;
}

static bool fit_cluster(easing *e, uint32_t cluster, double *misfit) {
    if (!list_lines(e, cluster) || !sample_cluster(e, cluster)) return false;
    size_t room = e->sample_count + 1;
    dt_pose pose = e->poses[cluster];
    dt_box box = box_of(e, pose);
    dt_rigid_fit fit = {.source = list_pulls, .context = e, .enough_mm = ENOUGH_MM, .hopeless_mm = INFINITY, .step_mm = STEP_MM,
                        .pulls = DT_TAKE(&e->arena, room, dt_pull), .room = room,
                        .rows = DT_TAKE(&e->arena, room / 2 + 1, dt_minimax_rows)};
    if (!fit.pulls || !fit.rows) return false;
    fit.centre = dt_point_scale(dt_point_add(box.low, box.high), 0.5);
    fit.radius = dt_point_distance(box.low, box.high) / 2.0;
    *misfit = dt_rigid_fit_run(&fit, &pose);
    for (uint32_t i = 0; i < e->task->tile_count; i++)
        if (e->cluster[i] == cluster) e->poses[i] = pose;
    return true;
}

/* One round over all clusters; *largest: the largest misfit that one was left with. */
static bool fit_all(easing *e, double *largest) {
    bool fitted = true;
    *largest = 0.0;
    for (uint32_t i = 0; fitted && i < e->task->tile_count; i++) {
        double misfit;
        if (e->cluster[i] != i) continue;
        e->arena = (dt_arena)DT_ARENA(MEMORY_LIMIT);
        fitted = fit_cluster(e, i, &misfit);
        dt_arena_free(&e->arena);
        if (fitted) *largest = fmax(*largest, misfit);
    }
    return fitted;
}

dt_status dt_ease(const dt_task *task, bool apart, dt_pose *poses, double *misfit) {
    easing e = {.task = task, .poses = poses, .cluster = malloc(task->tile_count * sizeof *e.cluster)};
    bool eased = e.cluster != NULL;
    if (eased) find_clusters(&e, apart);
    for (int round = 0; eased && round < ROUNDS; round++) eased = fit_all(&e, misfit);
    free(e.cluster);
    return eased ? DT_OK : DT_NO_MEMORY;
}
