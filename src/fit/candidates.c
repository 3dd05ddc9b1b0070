/* Look-alikes: for each class of sides, the stretches of all outlines that lie along it to within the eye. The index gives the
 * windows whose keys are nearest, best first; each is laid by least squares and, where that leaves doubt, fitted. How many
 * windows are looked at is bounded by a budget for the whole sheet, so on a large sheet of much alike sides k is "at least". */
#include "fit/store.h"

#include <math.h>
#include <stdlib.h>

/* Where sides times windows are no more than MOST_SCANNED, a look goes over all windows of a rung; beyond, an index is faster. Where they
 * are no more than MOST_LOOKS (sheets of some 60 pieces), all that is seen is fitted, so every list is whole. On larger sheets so many
 * windows are fitted on the whole sheet, at a few microseconds each. */
enum { MOST_SCANNED = 8000000, MOST_LOOKS = 1500000, BUDGET = 8000, LEAST_EACH = 2, MOST_EACH = 4000, MOST_LISTED = 48 };
enum { WINDOWS_A_FIT = 12 }; /* neighbouring windows share a fit, far ones need none: so many may be drawn from the index for each */
/* Ways brought to their best pose on the whole sheet: about 100 microseconds each. */
enum { REFINES = 600, MOST_REFINED = 8 };
static const double KEY_EYES = 2.2;        /* a match within the eye has its key this near, in eyes: see tests/slow */
static const double HOPELESS_EYES = 2.4;   /* see search.hopeless */
/* Where lists are cut anyway: of 5,200 look-alikes of the demo 1 in 10 was laid this far off, among four in ten of all fits; of larger sheets fewer. */
static const double UNLIKELY_EYES = 0.85;
/* In side lengths: a window that starts nearer than this to one that fitted leads to the same fit; to one that failed, fails too
 * (not farther: over a corner a per cent or two of the length decides). */
static const double SAME_FIT = 0.1, SAME_FAILURE = 0.02;
enum { VALLEY = 8, VALLEY_OF_FEW = 4, MOST_SLIDES = 8 };
static const double SLIDE_SHARE = 0.01;
/* Of the course's length: where every list is to be whole, a fit that fails is tried again from beside, if that is not too far off either. It
 * can stall at a corner of the lines just above the eye. */
static const double BESIDE[] = {0.01, -0.01, 0.025, -0.025}, HOPELESS_EYES_BESIDE = 1.6;
static const double STEP_EYES_OF_WINDOWS = 0.3; /* windows need not stand nearer than this: a side shifted so little still looks the same */

typedef struct trial {
    uint32_t walker, before;  /* earlier trial of the same walker, or NONE */
    double start;
    bool fitted;
} trial;
static const uint32_t NONE = UINT32_MAX;
static const double REACH_KERFS = 2.5; /* a way this far off at its pose was never brought within the kerf */

/* A stretch that may look like the side; looks come best first off a heap. */
typedef struct lead {
    float off;
    uint32_t walker;
    double start;   /* of the window */
} lead;

/* What all workers share. */
typedef struct quest {
    dt_fit *fit;
    const dt_watch *watch;
    struct search *workers;
    uint8_t *asked_by;        /* by class: its worker */
    dt_ladder ladder;
    size_t most_leads, most, refined;
    bool thorough;            /* every list is to be whole */
    double hopeless;          /* mm: laid by least squares and still this far off in the mean, a way is not worth a fit */
} quest;

/* A worker's own. */
typedef struct search {
    const quest *quest;
    const dt_fit *fit;
    dt_arena scratch;
    dt_fitter fitter;
    dt_neighbour *near;
    lead *leads;
    trial *trials;
    size_t lead_count, trial_count, fit_count;
    uint32_t *last_trial;     /* by walker */
    uint32_t piece;           /* whose side is asked about */
    bool has_own;             /* its own way was met */
    uint32_t *seen;           /* by leader: class + 1 that counted it last */
    dt_look *looks;           /* room for a rung */
    DT_ARRAY(dt_found) found; /* of the classes asked so far */
} search;

dt_pose dt_fit_to_walker(const dt_fit *fit, uint32_t piece, uint32_t walker) {
    dt_pose pose = fit->to_leader[piece];
    return fit->walkers[walker].over ? dt_pose_compose(DT_POSE_OVER, pose) : pose;
}

/* ---- walkers ---- */

static dt_status turn_over(dt_path *path, dt_arena *arena) {
    dt_point *points = DT_TAKE(arena, path->count, dt_point);
    if (!points) return DT_NO_MEMORY;
    for (size_t i = 0; i < path->count; i++) {
        dt_point p = path->points[path->count - 1 - i];
        points[i] = (dt_point){-p.x, p.y};
    }
    path->points = points;
    return DT_OK;
}

static dt_status make_walker(void *context, size_t worker, size_t item) {
    dt_fit *fit = context;
    dt_walker *walker = &fit->walkers[item];
    dt_arena *arena = &fit->kept[worker];
    const dt_form *form = &fit->forms[walker->leader];
    dt_path path = walker->ring ? form->shape.holes[walker->ring - 1] : form->shape.outline;
    dt_status status = walker->over ? turn_over(&path, arena) : DT_OK;
    if (status != DT_OK) return status;
    if (form->prepared && walker->ring == 0 && !walker->over)
        return dt_loop_on(&form->outline, path, dt_fit_step(fit), arena, &walker->loop);
    return dt_loop_new(path, dt_fit_step(fit), arena, &walker->loop);
}

static void list_walkers_of(dt_fit *fit, uint32_t leader) {
    dt_shape shape = fit->forms[leader].shape;
    for (uint32_t ring = 0; ring <= shape.hole_count; ring++)
        for (int over = 0; over <= fit->two_sided; over++)
            if ((ring ? shape.holes[ring - 1] : shape.outline).count >= 3)
                fit->walkers[fit->walker_count++] = (dt_walker){.leader = leader, .ring = ring, .over = over};
}

static dt_status make_walkers(dt_fit *fit) {
    size_t count = 0;
    for (uint32_t i = 0; i < fit->count; i++)
        if (fit->class_of[i] == i) count += 1 + fit->forms[i].shape.hole_count;
    fit->walkers = DT_TAKE(&fit->arena, count * (fit->two_sided ? 2 : 1), dt_walker);
    if (!fit->walkers) return DT_NO_MEMORY;
    for (uint32_t i = 0; i < fit->count; i++)
        if (fit->class_of[i] == i) list_walkers_of(fit, i);
    return dt_workers_run(dt_fit_workers(fit, fit->walker_count), fit->walker_count, make_walker, fit);
}

/* ---- one class of sides ---- */

static double apart_on(const dt_loop *loop, double a, double b) {
    double d = fabs(a - b);
    d -= floor(d / loop->length) * loop->length;
    return fmin(d, loop->length - d);
}

static bool is_tried(search *s, const dt_course *course, uint32_t walker, double start) {
    const dt_loop *loop = &s->fit->walkers[walker].loop;
    for (uint32_t i = s->last_trial[walker]; i != NONE; i = s->trials[i].before)
        if (apart_on(loop, s->trials[i].start, start) < (s->trials[i].fitted ? SAME_FIT : SAME_FAILURE) * course->length) return true;
    s->trials[s->trial_count] = (trial){walker, s->last_trial[walker], start, false};
    s->last_trial[walker] = (uint32_t)s->trial_count++;
    return false;
}

static void forget_trials(search *s) {
    for (size_t i = 0; i < s->trial_count; i++) s->last_trial[s->trials[i].walker] = NONE;
    s->trial_count = s->fit_count = 0;
}

/* Along the loop to where least squares over the whole side are lowest nearby. Its middle part, by which windows are looked up, may lie
 * best a little beside. */
static double slide(const dt_course *course, const dt_loop *loop, double start) {
    double step = SLIDE_SHARE * course->length, here, ahead, behind;
    for (int i = 0; i < MOST_SLIDES; i++) {
        dt_stretch_align(course, loop, start, &here);
        dt_stretch_align(course, loop, start + step, &ahead);
        dt_stretch_align(course, loop, start - step, &behind);
        if (here <= ahead && here <= behind) break;
        start += ahead < behind ? step : -step;
    }
    double bend = ahead + behind - 2.0 * here;
    return here <= ahead && here <= behind && bend > 0.0 ? start + 0.5 * step * (behind - ahead) / bend : start;
}

static bool is_drawn_there(dt_pose pose, dt_point about) {
    return !pose.flipped && pose.c > 0.98 && dt_point_distance(dt_pose_apply(pose, about), about) < 1.0;
}

/* The side's own piece as it was drawn needs no fit. */
static bool is_own_way(const search *s, uint32_t walker, dt_pose pose) {
    const dt_fit *fit = s->fit;
    if (fit->walkers[walker].over || fit->walkers[walker].leader != fit->class_of[s->piece]) return false;
    return is_drawn_there(dt_pose_compose(pose, fit->to_leader[s->piece]), fit->forms[s->piece].centre);
}

static bool add_way(search *s, dt_found way) {
    s->trials[s->trial_count - 1].fitted = true;
    return dt_array_push(&s->found, way);
}

static bool add_own_way(search *s, uint32_t walker) {
    dt_pose pose = dt_pose_inverse(s->fit->to_leader[s->piece]);
    dt_found own = {walker, pose, s->fit->off_leader[s->piece], pose, s->fit->off_leader[s->piece]};
    if (s->has_own) return true;
    s->has_own = true;
    return add_way(s, own);
}

/* From one laid pose; INFINITY: beyond the eye. */
static double try_pose(search *s, const dt_course *course, const dt_loop *loop, double start, dt_pose *pose) {
    s->fit_count++;
    return dt_stretch_reach(&s->fitter, course, loop, dt_loop_leg(loop, start), s->fit->eye, pose);
}

static double try_beside(search *s, const dt_course *course, const dt_loop *loop, double start, dt_pose *pose) {
    double deviation = INFINITY, rms;
    for (size_t i = 0; deviation == INFINITY && i < sizeof BESIDE / sizeof *BESIDE; i++) {
        *pose = dt_stretch_align(course, loop, start + BESIDE[i] * course->length, &rms);
        if (rms <= HOPELESS_EYES_BESIDE * s->fit->eye) deviation = try_pose(s, course, loop, start, pose);
    }
    return deviation;
}

static bool try_window(search *s, const dt_course *course, uint32_t walker, double start) {
    const dt_loop *loop = &s->fit->walkers[walker].loop;
    double rms, deviation = INFINITY;
    dt_pose pose = dt_stretch_align(course, loop, start, &rms);
    if (is_own_way(s, walker, pose)) return add_own_way(s, walker);
    if (rms <= s->quest->hopeless) deviation = try_pose(s, course, loop, start, &pose);
    if (s->quest->thorough && deviation == INFINITY) deviation = try_beside(s, course, loop, start, &pose);
    return deviation > s->fit->eye || add_way(s, (dt_found){walker, pose, deviation, pose, INFINITY});
}

static int by_deviation(const void *a, const void *b) {
    const dt_found *p = a, *q = b;
    if (p->deviation != q->deviation) return p->deviation < q->deviation ? -1 : 1;
    if (p->walker != q->walker) return p->walker < q->walker ? -1 : 1;
    return (p->pose.shift.x > q->pose.shift.x) - (p->pose.shift.x < q->pose.shift.x);
}

/* The first few, which people will be shown, are brought to their best pose. */
static void polish(search *s, const dt_course *course, dt_side_class *class) {
    dt_found *found = s->found.items + class->first;
    if (class->count) qsort(found, class->count, sizeof *found, by_deviation);
    for (size_t i = 0; i < class->count && i < s->quest->refined; i++)
        if (found[i].deviation > DT_SAME_MM)
            found[i].deviation = dt_stretch_refine(&s->fitter, course, &s->fit->walkers[found[i].walker].loop,
                                                   found[i].deviation, &found[i].pose);
    if (class->count) qsort(found, class->count, sizeof *found, by_deviation);
}

/* What seats: false mates are sought among them. */
static void seat(search *s, const dt_course *course, dt_found *found) {
    double kerf = s->fit->kerf;
    if (found->deviation > REACH_KERFS * kerf) return;
    found->seat = found->pose;
    found->seat_off = found->deviation;
    if (found->deviation > kerf)
        found->seat_off = dt_stretch_reach(&s->fitter, course, &s->fit->walkers[found->walker].loop, 0, kerf, &found->seat);
}

static void seat_all(search *s, const dt_course *course, const dt_side_class *class) {
    dt_haste haste = s->fitter.haste;
    if (haste == DT_HASTIEST) s->fitter.haste = DT_HASTY;
    for (size_t i = class->first; i < class->first + class->count; i++) seat(s, course, &s->found.items[i]);
    s->fitter.haste = haste;
}

/* Pieces, not ways: a class counts once, with all its members. The leading side's own piece is always one. */
static void count_pieces(search *s, dt_side_class *class, uint32_t class_id) {
    const dt_fit *fit = s->fit;
    uint32_t own = fit->class_of[fit->sides[class->leader].piece];
    s->seen[own] = class_id + 1;
    class->k = fit->member_start[own + 1] - fit->member_start[own];
    for (size_t i = class->first; i < class->first + class->count; i++) {
        uint32_t leader = fit->walkers[s->found.items[i].walker].leader;
        if (s->seen[leader] == class_id + 1) continue;
        s->seen[leader] = class_id + 1;
        class->k += fit->member_start[leader + 1] - fit->member_start[leader];
    }
}

/* The key of the side's middle part, as long as the rung, and how far around it a match may be: the turn of the keys follows
 * the first term, which adds to the distance the more the smaller that term is. */
static double probe(const dt_course *course, const dt_rung *rung, double eye, float key[DT_WINDOW_KEYS]) {
    dt_point points[DT_WINDOW_POINTS];
    double step = rung->length / DT_WINDOW_POINTS, steady;
    dt_path_points(course->path, (course->length - rung->length + step) / 2.0, step, DT_WINDOW_POINTS, points);
    dt_window_key(points, key, &steady);
    return KEY_EYES * eye * (1.0 + fmin(1.0 / steady, 2.0));
}

/* Where the parabola through three neighbours is lowest: in steps from the middle one, which is the lowest of them. */
static double off_the_grid(float before, float here, float after) {
    double bend = (double)before + after - 2.0 * here;
    return bend > 0.0 && bend < INFINITY ? 0.5 * ((double)before - after) / bend : 0.0;
}

/* Looks at windows of one walker, [from, to) of s->looks. */
typedef struct stretch_looks {
    const dt_rung *rung;
    const dt_look *looks;
    size_t count;
    bool round;   /* the first of them follows the last one on the outline */
} stretch_looks;

static bool is_end(const dt_rung *rung, uint32_t window, uint32_t other) {
    return other >= rung->count || rung->windows[other].walker != rung->windows[window].walker;
}

/* off of the look before (back) or after look i; INFINITY where its window was not near. */
static float beside(const stretch_looks *l, size_t i, bool back) {
    size_t last = l->count - 1;
    if (i == (back ? 0 : last)) return l->round ? l->looks[back ? last : 0].off : INFINITY;
    const dt_look *other = &l->looks[back ? i - 1 : i + 1];
    uint32_t gap = back ? l->looks[i].window - other->window : other->window - l->looks[i].window;
    return gap == 1 ? other->off : INFINITY;
}

/* Those that are locally best along the outline, and one in a few of a stretch where none stands out. */
static void look_along(search *s, const stretch_looks *l) {
    double step = dt_rung_step(l->rung);
    size_t valley = s->quest->thorough ? VALLEY_OF_FEW : VALLEY;
    for (size_t i = 0, idle = 0; i < l->count; i++) {
        const dt_window *window = &l->rung->windows[l->looks[i].window];
        float here = l->looks[i].off, before = beside(l, i, true), after = beside(l, i, false);
        bool best = here <= before && here <= after;
        idle = before == INFINITY ? 1 : idle + 1;
        if (!best && idle % valley != 0) continue;
        double start = (double)window->start + (best ? off_the_grid(before, here, after) * step : 0.0);
        s->leads[s->lead_count++] = (lead){here, window->walker, start};
        idle = 0;
    }
}

static bool comes_after(lead p, lead q) {
    if (p.off != q.off) return p.off > q.off;
    if (p.walker != q.walker) return p.walker > q.walker;
    return p.start > q.start;
}

/* Down the heap of leads, the best of which is on top. */
static void sink(lead *leads, size_t count, size_t at) {
    lead item = leads[at];
    for (size_t child; (child = 2 * at + 1) < count; at = child) {
        if (child + 1 < count && comes_after(leads[child], leads[child + 1])) child++;
        if (!comes_after(item, leads[child])) break;
        leads[at] = leads[child];
    }
    leads[at] = item;
}

static lead take_best(search *s) {
    lead best = s->leads[0];
    s->leads[0] = s->leads[--s->lead_count];
    if (s->lead_count) sink(s->leads, s->lead_count, 0);
    return best;
}

static void look_at_all(search *s, const dt_course *course, const dt_rung *rung) {
    float key[DT_WINDOW_KEYS], most = (float)(s->quest->hopeless * s->quest->hopeless);
    probe(course, rung, s->fit->eye, key);
    size_t count = dt_rung_look(rung, key, most, s->looks);
    for (size_t from = 0, to; from < count; from = to) {
        uint32_t walker = rung->windows[s->looks[from].window].walker;
        for (to = from + 1; to < count && rung->windows[s->looks[to].window].walker == walker;) to++;
        uint32_t first = s->looks[from].window, last = s->looks[to - 1].window;
        bool round = is_end(rung, first, first - 1) && is_end(rung, last, last + 1);
        look_along(s, &(stretch_looks){rung, s->looks + from, to - from, round});
    }
}

/* The nearest by their keys. */
static void look_in_tree(search *s, const dt_course *course, const dt_rung *rung) {
    float key[DT_WINDOW_KEYS];
    double within = probe(course, rung, s->fit->eye, key);
    size_t count = dt_kdtree_nearest(&rung->tree, key, (float)within, s->quest->most_leads, s->near);
    for (size_t i = 0; i < count; i++) {
        dt_window window = rung->windows[s->near[i].item];
        s->leads[s->lead_count++] = (lead){s->near[i].square, window.walker, (double)window.start};
    }
}

static dt_status search_windows(search *s, const dt_course *course, dt_side_class *class) {
    const dt_rung *rung = dt_ladder_rung(&s->quest->ladder, course->length);
    if (!rung) return DT_OK;
    double before = (course->length - rung->length) / 2.0;
    s->lead_count = 0;
    if (s->quest->ladder.has_trees) look_in_tree(s, course, rung);
    else look_at_all(s, course, rung);
    class->whole = s->lead_count < s->quest->most_leads;
    for (size_t i = s->lead_count / 2; i-- > 0;) sink(s->leads, s->lead_count, i);
    while (s->lead_count && s->fit_count < s->quest->most) {
        lead best = take_best(s);
        double start = best.start - before;
        if (s->quest->thorough) start = slide(course, &s->fit->walkers[best.walker].loop, start);
        if (is_tried(s, course, best.walker, start)) continue;
        if (!try_window(s, course, best.walker, start)) return DT_NO_MEMORY;
    }
    if (s->lead_count || !s->quest->thorough) class->whole = false;
    return DT_OK;
}

/* Two curves no longer than 2 eyes lie within an eye of each other when their middles do: such a side tells nothing. */
static dt_status search_class(search *s, uint32_t class_id) {
    dt_fit *fit = s->quest->fit;
    dt_side_class *class = &fit->side_classes.items[class_id];
    dt_side_entry *leader = &fit->sides[class->leader];
    dt_arena scratch = DT_ARENA((size_t)64 << 20);
    dt_path path;
    dt_course course;
    class->first = (uint32_t)s->found.count;
    s->piece = leader->piece;
    s->has_own = false;
    dt_status status = dt_fit_side_path(fit, leader->piece, leader->index, &scratch, &path);
    if (status == DT_OK) status = dt_course_new(path, dt_fit_step(fit), &scratch, &course);
    if (status != DT_OK) goto done;
    class->whole = true;
    class->everywhere = course.length <= 2.0 * fit->eye;
    if (class->everywhere) {
        class->k = (uint32_t)fit->count;
        goto done;
    }
    status = search_windows(s, &course, class);
    forget_trials(s);
    class->count = (uint32_t)s->found.count - class->first;
    polish(s, &course, class);
    seat_all(s, &course, class);
    count_pieces(s, class, class_id);
done:
    dt_arena_free(&scratch);
    return status;
}

static dt_status ask_class(void *context, size_t worker, size_t item) {
    quest *q = context;
    if (worker == 0 && dt_watch_stopped(q->watch)) return DT_STOPPED;
    q->asked_by[item] = (uint8_t)worker;
    return search_class(&q->workers[worker], (uint32_t)item);
}

/* What the workers found, by class. */
static dt_status gather(const quest *q) {
    dt_fit *fit = q->fit;
    for (uint32_t i = 0; i < fit->side_classes.count; i++) {
        dt_side_class *class = &fit->side_classes.items[i];
        const dt_found *found = q->workers[q->asked_by[i]].found.items + class->first;
        class->first = (uint32_t)fit->found.count;
        if (!class->whole) dt_fit_leave_out(fit, DT_LIST_LOOK_ALIKES);
        for (uint32_t k = 0; k < class->count; k++)
            if (!dt_array_push(&fit->found, found[k])) return DT_NO_MEMORY;
    }
    return DT_OK;
}

static dt_status build_ladder(quest *q, dt_arena *scratch) {
    dt_fit *fit = q->fit;
    size_t count = 0;
    double *lengths = DT_TAKE(scratch, fit->side_classes.count, double);
    if (!lengths) return DT_NO_MEMORY;
    for (size_t i = 0; i < fit->side_classes.count; i++) {
        const dt_side_entry *entry = &fit->sides[fit->side_classes.items[i].leader];
        const dt_side *side = &dt_pieces_get(fit->pieces, (dt_piece_id){entry->piece})->sides[entry->index];
        double length = dt_pieces_seam(fit->pieces, side->seam)->length;
        if (length > 2.0 * fit->eye) lengths[count++] = length;
    }
    dt_ladder_plan plan = {fit->walkers, fit->walker_count, lengths, count, STEP_EYES_OF_WINDOWS * fit->eye,
                           dt_fit_workers(fit, fit->walker_count), MOST_SCANNED};
    return dt_ladder_new(&plan, scratch, &q->ladder);
}

static size_t most_windows(const dt_ladder *ladder) {
    size_t most = 0;
    for (size_t r = 0; r < ladder->count; r++)
        if (ladder->rungs[r].count > most) most = ladder->rungs[r].count;
    return most;
}

static size_t windows_each(size_t classes) {
    size_t each = classes ? BUDGET / classes : MOST_EACH;
    return each < LEAST_EACH ? LEAST_EACH : each > MOST_EACH ? MOST_EACH : each;
}

static void settle_limits(quest *q) {
    size_t classes = q->fit->side_classes.count;
    q->thorough = q->ladder.looks <= MOST_LOOKS;
    q->hopeless = (q->thorough ? HOPELESS_EYES : UNLIKELY_EYES) * q->fit->eye;
    q->most = q->thorough ? SIZE_MAX : windows_each(classes);
    q->most_leads = q->ladder.has_trees ? WINDOWS_A_FIT * q->most : most_windows(&q->ladder) + 1;
    q->refined = classes ? REFINES / classes : 0;
    if (q->refined > MOST_REFINED) q->refined = MOST_REFINED;
}

static dt_status make_search(const quest *q, search *s) {
    *s = (search){.quest = q, .fit = q->fit, .scratch = DT_ARENA((size_t)512 << 20)};
    s->near = DT_TAKE(&s->scratch, q->ladder.has_trees ? q->most_leads : 0, dt_neighbour);
    s->leads = DT_TAKE(&s->scratch, q->most_leads, lead);
    s->trials = DT_TAKE(&s->scratch, q->most_leads, trial);
    s->last_trial = DT_TAKE(&s->scratch, q->fit->walker_count, uint32_t);
    s->seen = DT_TAKE(&s->scratch, q->fit->count, uint32_t);
    s->looks = DT_TAKE(&s->scratch, q->ladder.has_trees ? 0 : most_windows(&q->ladder), dt_look);
    if (!s->near || !s->leads || !s->trials || !s->last_trial || !s->seen || !s->looks) return DT_NO_MEMORY;
    for (size_t i = 0; i < q->fit->walker_count; i++) s->last_trial[i] = NONE;
    dt_status status = dt_fitter_new(&s->scratch, &s->fitter);
    s->fitter.haste = q->thorough ? DT_PATIENT : DT_HASTIEST;
    return status;
}

static dt_status ask_all(quest *q, dt_arena *scratch) {
    size_t classes = q->fit->side_classes.count, count = dt_fit_workers(q->fit, classes);
    q->workers = DT_TAKE(scratch, count, search);
    q->asked_by = DT_TAKE(scratch, classes, uint8_t);
    dt_status status = q->workers && q->asked_by ? DT_OK : DT_NO_MEMORY;
    for (size_t i = 0; i < count && status == DT_OK; i++) status = make_search(q, &q->workers[i]);
    if (status == DT_OK) status = dt_workers_run(count, classes, ask_class, q);
    if (status == DT_OK) status = gather(q);
    for (size_t i = 0; q->workers && i < count; i++) {
        dt_array_free(&q->workers[i].found);
        dt_arena_free(&q->workers[i].scratch);
    }
    return status;
}

dt_status dt_fit_find_candidates(dt_fit *fit, const dt_watch *watch) {
    dt_arena scratch = DT_ARENA((size_t)1 << 30);
    quest q = {.fit = fit, .watch = watch};
    dt_status status = make_walkers(fit);
    if (status == DT_OK) status = build_ladder(&q, &scratch);
    settle_limits(&q);
    if (status == DT_OK) status = ask_all(&q, &scratch);
    dt_arena_free(&scratch);
    return status;
}

/* ---- lists by side ---- */

static int by_candidate(const void *a, const void *b) {
    const dt_candidate *p = a, *q = b;
    if (p->deviation_mm != q->deviation_mm) return p->deviation_mm < q->deviation_mm ? -1 : 1;
    return (p->piece.v > q->piece.v) - (p->piece.v < q->piece.v);
}

static bool add_members(dt_fit *fit, dt_side_entry *side, const dt_found *found) {
    uint32_t leader = fit->walkers[found->walker].leader;
    dt_pose back = dt_pose_compose(dt_pose_inverse(side->to_class), found->pose);
    for (uint32_t i = fit->member_start[leader]; i < fit->member_start[leader + 1] && side->listed < MOST_LISTED; i++) {
        uint32_t piece = fit->members[i];
        dt_pose pose = dt_pose_compose(back, dt_fit_to_walker(fit, piece, found->walker));
        if (piece == side->piece && is_drawn_there(pose, fit->forms[piece].centre)) continue;
        if (!dt_array_push(&fit->candidates, (dt_candidate){{piece}, pose, found->deviation})) return false;
        side->listed++;
    }
    return true;
}

static bool list_side(dt_fit *fit, dt_side_entry *side) {
    const dt_side_class *class = &fit->side_classes.items[side->class_id];
    side->first = (uint32_t)fit->candidates.count;
    side->k = class->k;
    side->listed = 1;
    if (!dt_array_push(&fit->candidates, (dt_candidate){{side->piece}, DT_POSE_IDENTITY, 0.0})) return false;
    for (uint32_t i = class->first; i < class->first + class->count; i++)
        if (!add_members(fit, side, &fit->found.items[i])) return false;
    qsort(fit->candidates.items + side->first, side->listed, sizeof(dt_candidate), by_candidate);
    return true;
}

dt_status dt_fit_list_candidates(dt_fit *fit) {
    for (size_t i = 0; i < fit->side_count; i++)
        if (fit->sides[i].class_id != UINT32_MAX && !list_side(fit, &fit->sides[i])) return DT_NO_MEMORY;
    return DT_OK;
}
