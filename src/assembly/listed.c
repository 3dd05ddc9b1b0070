/* Assemblies of listed stations: see listed.h. Every point of the ground that lies clear of all stations' lines is
 * covered by one piece in any assembly, so all assemblies are among the exact covers of such points. What is found is
 * then measured: pieces that cover different points may still overlap, and then nothing is answered.
 *
 * The whole's turns are not searched: a station of the first column that has been tried through is struck out with its
 * images. */
#include "listed.h"

#include "assembly/catalogue.h"
#include "assembly/exact_cover.h"
#include "assembly/outcome.h"
#include "assembly/vector.h"

#include <string.h>

static const size_t MEMORY_LIMIT = (size_t)1 << 28;
static const dt_pose FLIP = {1.0, 0.0, {0.0, 0.0}, true};
enum { POINTS_PER_TILE = 192, MOST_POINTS = 8192, MOST_TILES = 64, MOST_SPREAD = 32, WATCH_EVERY = 256 };

typedef struct listed {
    const dt_problem *problem;
    const dt_search_options *options;
    dt_search_result result;
    dt_catalogue stations;
    dt_arena arena;
    dt_point *points; /* by x */
    uint32_t point_count;
    uint32_t *image;                             /* of station s under symmetry h: [h * stations + s] */
    uint32_t *home;                              /* per tile */
    uint32_t *first, *columns, *kind_of_station; /* of the cover */
    uint32_t column_count;
    dt_map pairs; /* of stations: do they lie side by side? */
    bool *struck;
    dt_cover *cover;
    uint32_t root_count, roots_tried; /* stations of the first column */
    uint32_t root_station, filling[MOST_TILES], turned[MOST_TILES];
    bool doubtful, failed; /* failed: no memory */
} listed;

static uint32_t station_count(const listed *l) {
    return (uint32_t)l->stations.stations.count;
}

static const dt_station *station(const listed *l, uint32_t s) {
    return &l->stations.stations.items[s];
}

/* ---- images and homes ---- */

static bool list_images(listed *l) {
    uint32_t count = station_count(l);
    l->image = DT_TAKE(&l->arena, (size_t)l->problem->symmetry_count * count, uint32_t);
    for (uint32_t h = 0; l->image && h < l->problem->symmetry_count; h++)
        for (uint32_t s = 0; s < count; s++) {
            uint32_t body = station(l, s)->body;
            dt_pose pose = dt_image_pose(l->problem, &body, station(l, s)->pose, h);
            uint32_t there = l->image[h * count + s] = dt_catalogue_find(&l->stations, body, pose);
            l->doubtful = l->doubtful || there == DT_NONE;
        }
    return l->image != NULL;
}

static bool list_homes(listed *l) {
    l->home = DT_TAKE(&l->arena, l->problem->tile_count, uint32_t);
    for (uint32_t i = 0; l->home && i < l->problem->tile_count; i++) {
        uint32_t body;
        dt_pose pose = dt_problem_home(l->problem, i, &body);
        l->home[i] = dt_catalogue_find(&l->stations, body, pose);
        l->doubtful = l->doubtful || l->home[i] == DT_NONE;
    }
    return l->home != NULL;
}

/* ---- points ---- */

static double halton(uint32_t index, uint32_t base) {
    double value = 0.0, share = 1.0;
    for (; index; index /= base) value += (share /= base) * (index % base);
    return value;
}

static int compare_points(const void *a, const void *b) {
    const dt_point *p = a, *q = b;
    if (p->x != q->x) return p->x < q->x ? -1 : 1;
    return (p->y > q->y) - (p->y < q->y);
}

/* Points spread over the ground (J. H. Halton, 1960), clear of the outline; as many on a narrow sheet that lies
 * askew in its box as on one that fills it. */
static bool spread_points(listed *l) {
    uint32_t wanted = l->problem->tile_count * POINTS_PER_TILE;
    dt_box box = l->problem->container.box;
    const dt_figure *outside = &l->stations.figures[l->problem->body_count];
    if (wanted > MOST_POINTS) wanted = MOST_POINTS;
    l->points = DT_TAKE(&l->arena, wanted, dt_point);
    for (uint32_t i = 1; l->points && l->point_count < wanted && i <= wanted * MOST_SPREAD; i++) {
        dt_point p = {box.low.x + (box.high.x - box.low.x) * halton(i, 2),
                      box.low.y + (box.high.y - box.low.y) * halton(i, 3)};
        if (dt_figure_depth(outside, p) < -l->stations.apart / 2.0) l->points[l->point_count++] = p;
    }
    if (l->points) qsort(l->points, l->point_count, sizeof *l->points, compare_points);
    return l->points != NULL;
}

static uint32_t first_point(const listed *l, double x) {
    uint32_t low = 0, high = l->point_count;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (l->points[middle].x < x)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

typedef struct covering {
    bool *is_clear; /* per point: of all stations' lines */
    uint64_t *mark; /* per point: a hash of the stations that cover it */
    DT_ARRAY(uint32_t) covered;
} covering;

/* SplitMix64, G. Steele, D. Lea and C. Flood, 2014. */
static uint64_t scramble(uint64_t x) {
    x += 0x9E3779B97F4A7C15u;
    x = (x ^ (x >> 30)) * 0xBF58476D1CE4E5B9u;
    x = (x ^ (x >> 27)) * 0x94D049BB133111EBu;
    return x ^ (x >> 31);
}

static bool cover_points(listed *l, covering *c, uint32_t s) {
    const dt_station *at = station(l, s);
    const dt_figure *figure = &l->stations.figures[at->body];
    double margin = l->stations.apart / 2.0;
    dt_pose back = dt_pose_inverse(at->pose);
    uint64_t own = scramble(s);
    for (uint32_t i = first_point(l, at->box.low.x - margin);
         i < l->point_count && l->points[i].x <= at->box.high.x + margin; i++) {
        if (!c->is_clear[i] || l->points[i].y < at->box.low.y - margin || l->points[i].y > at->box.high.y + margin)
            continue;
        double depth = dt_figure_depth(figure, carry(back, l->points[i]));
        c->is_clear[i] = fabs(depth) > margin;
        if (depth <= margin) continue;
        c->mark[i] += own;
        if (!dt_array_push(&c->covered, i)) return false;
    }
    return true;
}

typedef struct marked {
    uint64_t mark;
    uint32_t point;
} marked;

static int compare_marked(const void *a, const void *b) {
    const marked *p = a, *q = b;
    if (p->mark != q->mark) return p->mark < q->mark ? -1 : 1;
    return (p->point > q->point) - (p->point < q->point);
}

/* One point stands for all that the same stations cover. Should marks agree by chance, a column is missing, which loses
 * nothing: what is found is measured. column: per point, or DT_NONE. */
static bool choose_columns(listed *l, const covering *c, uint32_t *column) {
    marked *order = DT_TAKE(&l->arena, l->point_count, marked);
    uint32_t used = 0;
    if (!order) return false;
    for (uint32_t i = 0; i < l->point_count; i++) {
        column[i] = DT_NONE;
        if (c->is_clear[i]) order[used++] = (marked){c->mark[i], i};
    }
    if (used) qsort(order, used, sizeof *order, compare_marked);
    for (uint32_t k = 0; k < used; k++)
        if (k == 0 || order[k].mark != order[k - 1].mark) column[order[k].point] = l->column_count++;
    return true;
}

static bool list_columns(listed *l) {
    uint32_t count = station_count(l);
    covering c = {DT_TAKE(&l->arena, l->point_count, bool), DT_TAKE(&l->arena, l->point_count, uint64_t), {NULL, 0, 0}};
    uint32_t *column = DT_TAKE(&l->arena, l->point_count, uint32_t);
    l->first = DT_TAKE(&l->arena, (size_t)count + 1, uint32_t);
    l->kind_of_station = DT_TAKE(&l->arena, count, uint32_t);
    bool done = c.is_clear && c.mark && column && l->first && l->kind_of_station;
    for (uint32_t i = 0; done && i < l->point_count; i++) c.is_clear[i] = true;
    for (uint32_t s = 0; done && s < count; s++) {
        l->kind_of_station[s] = l->problem->kind_of_body[station(l, s)->body];
        done = cover_points(l, &c, s);
        l->first[s + 1] = (uint32_t)c.covered.count;
    }
    done = done && choose_columns(l, &c, column);
    l->columns = done ? DT_TAKE(&l->arena, c.covered.count, uint32_t) : NULL;
    uint32_t used = 0;
    for (uint32_t s = 0, at = 0; l->columns && s < count; s++) {
        for (uint32_t end = l->first[s + 1]; at < end; at++)
            if (column[c.covered.items[at]] != DT_NONE) l->columns[used++] = column[c.covered.items[at]];
        l->first[s + 1] = used;
    }
    dt_array_free(&c.covered);
    return l->columns != NULL;
}

/* ---- fillings ---- */

static int compare_stations(const void *a, const void *b) {
    const uint32_t *p = a, *q = b;
    return (*p > *q) - (*p < *q);
}

static void turn(listed *l, const uint32_t *stations, uint32_t symmetry) {
    uint32_t n = l->problem->tile_count;
    for (uint32_t i = 0; i < n; i++) l->turned[i] = l->image[symmetry * station_count(l) + stations[i]];
    qsort(l->turned, n, sizeof *l->turned, compare_stations);
}

static bool holds(const uint32_t *sorted, uint32_t count, uint32_t what) {
    return bsearch(&what, sorted, count, sizeof *sorted, compare_stations) != NULL;
}

static int compare_lists(const uint32_t *a, const uint32_t *b, uint32_t count) {
    for (uint32_t i = 0; i < count; i++)
        if (a[i] != b[i]) return a[i] < b[i] ? -1 : 1;
    return 0;
}

/* How many images has the filling? 0 where another of those that hold the first station comes before it: one of them
 * counts for all. */
static uint32_t count_images(listed *l) {
    uint32_t n = l->problem->tile_count, same = 0;
    for (uint32_t h = 0; h < l->problem->symmetry_count; h++) {
        turn(l, l->filling, h);
        int order = compare_lists(l->turned, l->filling, n);
        same += order == 0;
        if (order < 0 && holds(l->turned, n, l->root_station)) return 0;
    }
    return l->problem->symmetry_count / same;
}

static bool is_drawn(listed *l) {
    for (uint32_t h = 0; h < l->problem->symmetry_count; h++) {
        turn(l, l->home, h);
        if (compare_lists(l->turned, l->filling, l->problem->tile_count) == 0) return true;
    }
    return false;
}

/* Do two stations lie side by side? false: in doubt. */
static bool lie_apart(listed *l, uint32_t a, uint32_t b) {
    const dt_station *p = station(l, a), *q = station(l, b);
    double touch = dt_catalogue_touch(&l->stations);
    if (!dt_box_meets(p->box, q->box)) return true;
    uint64_t key = (uint64_t)a << 32 | b;
    const uint32_t *known = dt_map_get(&l->pairs, key + 1);
    if (known) return *known;
    const dt_figure *f = &l->stations.figures[p->body], *g = &l->stations.figures[q->body];
    dt_pose there = dt_pose_compose(dt_pose_inverse(q->pose), p->pose);
    bool apart =
        dt_figure_sinks(f, there, g, touch) <= touch && dt_figure_sinks(g, dt_pose_inverse(there), f, touch) <= touch;
    l->failed = l->failed || !dt_map_put(&l->pairs, key + 1, apart);
    return apart;
}

static bool is_true(listed *l, uint32_t count) {
    if (count != l->problem->tile_count) return false;
    for (uint32_t i = 0; i < count; i++)
        for (uint32_t k = 0; k < i; k++)
            if (!lie_apart(l, l->filling[k], l->filling[i])) return false;
    return true;
}

/* ---- who moved ---- */

static uint32_t count_at_home(const listed *l, uint32_t symmetry) {
    uint32_t count = 0;
    for (uint32_t i = 0; i < l->problem->tile_count; i++)
        count += holds(l->filling, l->problem->tile_count, l->image[symmetry * station_count(l) + l->home[i]]);
    return count;
}

/* From the tile's drawn place, moved by the symmetry, to the station. */
static dt_pose move_of(const listed *l, uint32_t tile, uint32_t symmetry, uint32_t s) {
    const dt_problem *problem = l->problem;
    bool is_mirrored = station(l, s)->body == problem->kinds[problem->kind_of_tile[tile]].mirrored;
    dt_pose there = is_mirrored ? dt_pose_compose(station(l, s)->pose, FLIP) : station(l, s)->pose;
    dt_pose back = dt_pose_inverse(problem->symmetries[symmetry].poses[0]);
    return dt_pose_compose(dt_pose_compose(back, there), dt_pose_inverse(problem->home[tile]));
}

/* Where each tile lies, from its drawn place, under the symmetry that leaves most tiles at home. */
static void read_poses(const listed *l, dt_pose *poses) {
    uint32_t n = l->problem->tile_count, best = 0;
    bool settled[MOST_TILES] = {false}, used[MOST_TILES] = {false};
    for (uint32_t h = 1; h < l->problem->symmetry_count; h++)
        if (count_at_home(l, h) > count_at_home(l, best)) best = h;
    for (uint32_t i = 0; i < n; i++)
        for (uint32_t k = 0; k < n && !settled[i]; k++) {
            if (used[k] || l->filling[k] != l->image[best * station_count(l) + l->home[i]]) continue;
            settled[i] = used[k] = true;
            poses[i] = DT_POSE_IDENTITY;
        }
    for (uint32_t i = 0; i < n; i++)
        for (uint32_t k = 0; k < n && !settled[i]; k++) {
            if (used[k] || l->kind_of_station[l->filling[k]] != l->problem->kind_of_tile[i]) continue;
            settled[i] = used[k] = true;
            poses[i] = move_of(l, i, best, l->filling[k]);
        }
}

static bool keep_other(listed *l) {
    dt_pose *poses = malloc(l->problem->tile_count * sizeof *poses);
    if (!poses) return false;
    read_poses(l, poses);
    l->result.other = poses;
    l->result.found_other = true;
    l->doubtful = l->options->accept && l->options->accept(l->options->context, poses) != DT_FITS;
    return true;
}

static dt_cover_next take_filling(void *context, const uint32_t *stations, uint32_t count) {
    listed *l = context;
    if (count <= MOST_TILES) memcpy(l->filling, stations, count * sizeof *stations);
    qsort(l->filling, count, sizeof *stations, compare_stations);
    l->root_station = stations[0];
    l->doubtful = !is_true(l, count);
    uint32_t images = l->doubtful || l->failed ? 0 : count_images(l);
    if (!images) return l->doubtful || l->failed ? DT_COVER_STOP : DT_COVER_ON;
    l->result.distinct += 1.0;
    l->result.fillings += images;
    if (is_drawn(l))
        l->result.found_drawn = true;
    else if (!l->result.found_other)
        l->failed = !keep_other(l);
    bool enough = l->result.found_other && !l->options->all;
    return l->failed || l->doubtful || enough ? DT_COVER_STOP : DT_COVER_ON;
}

/* ---- the run ---- */

static dt_cover_next count_step(void *context) {
    listed *l = context;
    if (l->result.steps >= l->options->steps) l->result.stopped = true;
    if (++l->result.steps % WATCH_EVERY == 0) {
        dt_watch_report(l->options->watch, "looking for other assemblies", (double)l->roots_tried / l->root_count);
        if (dt_watch_stopped(l->options->watch)) l->result.stopped = true;
    }
    return l->result.stopped ? DT_COVER_STOP : DT_COVER_ON;
}

static void strike_images(void *context, uint32_t tried) {
    listed *l = context;
    l->struck[tried] = true;
    l->roots_tried++;
    for (uint32_t h = 0; h < l->problem->symmetry_count; h++) {
        uint32_t there = l->image[h * station_count(l) + tried];
        if (!l->struck[there]) dt_cover_strike(l->cover, there);
        l->struck[there] = true;
    }
}

/* By station: the least of its images. */
static bool list_orbits(listed *l, uint32_t **orbit) {
    uint32_t count = station_count(l);
    *orbit = DT_TAKE(&l->arena, count, uint32_t);
    for (uint32_t s = 0; *orbit && s < count; s++) {
        (*orbit)[s] = s;
        for (uint32_t h = 0; h < l->problem->symmetry_count; h++)
            if (l->image[h * count + s] < (*orbit)[s]) (*orbit)[s] = l->image[h * count + s];
    }
    return *orbit != NULL;
}

/* How many stations each column has; how many each kind, turns of the whole left out. */
static void count_stations(const listed *l, const uint32_t *orbit, uint32_t *counts) {
    uint32_t count = station_count(l);
    for (uint32_t s = 0; s < count; s++) counts[l->column_count + l->kind_of_station[s]] += orbit[s] == s;
    for (uint32_t i = 0; i < l->first[count]; i++) counts[l->columns[i]]++;
}

/* Of all columns and kinds of one piece the one with the fewest. */
static bool choose_root(listed *l, uint32_t *root) {
    uint32_t total = l->column_count + l->problem->kind_count, *orbit;
    uint32_t *counts = DT_TAKE(&l->arena, total, uint32_t);
    if (!counts || !list_orbits(l, &orbit)) return false;
    count_stations(l, orbit, counts);
    *root = 0;
    for (uint32_t k = 0; k < total; k++) {
        bool is_single = k < l->column_count || l->problem->kinds[k - l->column_count].count == 1;
        if (is_single && counts[k] < counts[*root]) *root = k;
    }
    l->root_count = counts[*root];
    return true;
}

static bool run_cover(listed *l) {
    const dt_problem *p = l->problem;
    uint32_t *room = DT_TAKE(&l->arena, p->kind_count, uint32_t), root;
    l->struck = DT_TAKE(&l->arena, station_count(l), bool);
    if (!room || !l->struck || !choose_root(l, &root)) return false;
    for (uint32_t k = 0; k < p->kind_count; k++) room[k] = p->kinds[k].count;
    dt_cover_task task = {l->column_count, station_count(l),   p->kind_count, l->first,
                          l->columns,      l->kind_of_station, room};
    l->cover = dt_cover_new(&task);
    if (!l->cover) return false;
    dt_cover_calls calls = {l, take_filling, count_step, strike_images};
    l->result.exhausted = dt_cover_run(l->cover, root, &calls);
    l->result.counted = true;
    return !l->failed;
}

static bool could_be_listed(const dt_problem *p) {
    return p->tile_count <= MOST_TILES && p->region_count == 1 && !p->round && !p->symmetries_cut;
}

/* false: no memory. */
static bool run(listed *l) {
    if (!dt_catalogue_make(l->problem, &l->stations)) return false;
    l->result.steps = station_count(l);
    l->doubtful = !l->stations.sure || station_count(l) == 0;
    if (l->doubtful) return true;
    if (!list_images(l) || !list_homes(l)) return false;
    l->doubtful = l->doubtful || !l->stations.sure;
    if (l->doubtful) return true;
    if (!spread_points(l) || !list_columns(l)) return false;
    l->doubtful = l->column_count == 0;
    return l->doubtful || run_cover(l);
}

dt_status dt_listed_run(const dt_problem *problem, const dt_search_options *options, dt_search_result *out,
                        bool *answered) {
    listed l = {.problem = problem, .options = options, .arena = DT_ARENA(MEMORY_LIMIT)};
    *answered = false;
    if (!could_be_listed(problem)) return DT_OK;
    bool done = run(&l);
    *answered = done && !l.doubtful && (l.result.found_drawn || !l.result.exhausted);
    if (*answered)
        *out = l.result;
    else
        free(l.result.other);
    dt_catalogue_free(&l.stations);
    dt_cover_free(l.cover);
    dt_map_free(&l.pairs);
    dt_arena_free(&l.arena);
    return done ? DT_OK : DT_NO_MEMORY;
}
