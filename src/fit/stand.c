/* Do several sides stand on one outline in one pose? The minimax fit of two outlines over all courses at once, behind
 * three tests that are cheap and refuse nearly everything: a few points of each side, every fourth sample, and the fit
 * over every fourth sample. The first refuses only what the samples would refuse too; the two others ask for no more
 * than all samples do. */
#include "fit/stand.h"

#include <math.h>

enum { FEW_STRIDE = 4 };
static const double TOUCHING_MM = 1e-7;
static const double PROBE_EYES = 1.03;   /* a probe may lie between two samples and be off by a little more than they */
static const double HOPELESS_EYES = 3.0; /* a pose this far off was never brought within the eye */
static const double FEW_AIM = 0.9;       /* what few samples call this part of the eye is within it for most */
static const double LEAST_PROMISE = 0.005; /* eyes: a fit that promises less is at its best */

typedef struct stand {
    dt_question *question;
    const dt_loop *loop;
    size_t count, stride;
    double give_up;
} stand;

dt_status dt_question_course(dt_question *q, size_t index, const dt_course **out) {
    dt_shown *side = &q->sides[index];
    dt_path path;
    dt_status status = DT_OK;
    if (!side->laid) {
        status = dt_fit_side_path(q->fit, side->entry->piece, side->entry->index, q->arena, &path);
        if (status == DT_OK) status = dt_course_new(path, dt_fit_step(q->fit), q->arena, &side->course);
    }
    if (status != DT_OK) return status;
    side->laid = true;
    *out = &side->course;
    return DT_OK;
}

static dt_status lay_courses(const stand *s) {
    dt_status status = DT_OK;
    for (size_t i = 0; i < s->count && status == DT_OK; i++) {
        const dt_course *course;
        status = dt_question_course(s->question, i, &course);
    }
    return status;
}

/* Between a probe and the sample next to it lies half a step at most. */
static bool probes_pass(const stand *s, dt_pose pose) {
    const dt_fit *fit = s->question->fit;
    double within = HOPELESS_EYES * fit->eye + dt_fit_step(fit) / 2.0;
    dt_pose back = dt_pose_inverse(pose);
    for (size_t i = s->count; i-- > 0;) {
        uint32_t hint = 0;
        for (size_t k = 0; k < DT_PROBES; k++) {
            dt_hit hit =
                dt_near_find_within(&s->loop->near, dt_pose_apply(back, s->question->sides[i].probes[k]), hint, within);
            if (hit.distance > within) return false;
            hint = hit.span;
        }
    }
    return true;
}

static dt_pull pull_on(dt_point probe, dt_pose pose, const dt_near *near, dt_hit hit) {
    dt_point moving = dt_pose_apply(pose, hit.at);
    if (hit.distance > TOUCHING_MM) {
        double off = 1.0 / hit.distance;
        return (dt_pull){moving, {(moving.x - probe.x) * off, (moving.y - probe.y) * off}, hit.distance};
    }
    dt_span span = {dt_pose_apply(pose, near->spans[hit.span].a), dt_pose_apply(pose, near->spans[hit.span].b)};
    double x = span.b.x - span.a.x, y = span.b.y - span.a.y, length = fmax(hypot(x, y), TOUCHING_MM);
    return (dt_pull){moving, {-y / length, x / length}, 0.0};
}

/* The probes alone, one way: never more than all samples both ways, but for what lies between a probe and the samples
 * beside it. */
static double pulls_of_probes(void *context, dt_pose pose, dt_pull *pulls, size_t room, size_t *count) {
    const stand *s = context;
    const dt_near *near = &s->loop->near;
    dt_pose back = dt_pose_inverse(pose);
    double most = 0.0;
    *count = 0;
    for (size_t i = s->count; i-- > 0;) {
        uint32_t hint = 0;
        for (size_t k = 0; k < DT_PROBES && *count < room; k++) {
            dt_point probe = s->question->sides[i].probes[k];
            dt_hit hit = dt_near_find(near, dt_pose_apply(back, probe), hint);
            hint = hit.span;
            most = fmax(most, hit.distance);
            pulls[(*count)++] = pull_on(probe, pose, near, hit);
        }
    }
    return most;
}

static double pulls_of_stand(void *context, dt_pose pose, dt_pull *pulls, size_t room, size_t *count) {
    const stand *s = context;
    double most = 0.0;
    *count = 0;
    for (size_t i = s->count; i-- > 0 && most <= s->give_up;) {
        size_t more;
        dt_lay lay = {&s->question->sides[i].course, s->loop, s->stride, s->give_up, s->question->fit->eye};
        most = fmax(most, dt_lay_pulls(&lay, pose, pulls + *count, room - *count, &more));
        *count += more;
    }
    return most;
}

static dt_rigid_fit fit_of(stand *s, dt_pull_source source, double enough) {
    const dt_fitter *fitter = s->question->fitter;
    double eye = s->question->fit->eye;
    return (dt_rigid_fit){.source = source,
                          .context = s,
                          .enough_mm = enough,
                          .hopeless_mm = fmax(eye, enough),
                          .hasty = !s->question->fit->whole,
                          .step_mm = LEAST_PROMISE * eye,
                          .pulls = fitter->pulls,
                          .rows = fitter->rows,
                          .room = fitter->room};
}

static bool probes_fit(stand *s, dt_pose *pose) {
    const dt_shown *sides = s->question->sides;
    dt_rigid_fit fit = fit_of(s, pulls_of_probes, PROBE_EYES * s->question->fit->eye);
    fit.centre = sides[0].probes[DT_PROBES / 2];
    fit.radius = 1e-3;
    for (size_t i = 0; i < s->count; i++)
        for (size_t k = 0; k < DT_PROBES; k++)
            fit.radius = fmax(fit.radius, dt_point_distance(fit.centre, sides[i].probes[k]));
    return dt_rigid_fit_run(&fit, pose) <= fit.enough_mm;
}

static double fit_samples(stand *s, double enough, dt_pose *pose) {
    const dt_shown *sides = s->question->sides;
    dt_rigid_fit fit = fit_of(s, pulls_of_stand, enough);
    fit.centre = sides[0].course.centre;
    for (size_t i = 0; i < s->count; i++)
        fit.radius = fmax(fit.radius, sides[i].course.radius + dt_point_distance(fit.centre, sides[i].course.centre));
    return dt_rigid_fit_run(&fit, pose);
}

static bool samples_fit(stand *s, dt_pose pose) {
    const dt_fitter *fitter = s->question->fitter;
    double eye = s->question->fit->eye;
    size_t count;
    s->stride = FEW_STRIDE;
    s->give_up = HOPELESS_EYES * eye;
    double value = pulls_of_stand(s, pose, fitter->pulls, fitter->room, &count);
    if (value > s->give_up) return false;
    s->give_up = INFINITY;
    if (value > eye && fit_samples(s, FEW_AIM * eye, &pose) > eye) return false;
    s->stride = 1;
    return fit_samples(s, eye, &pose) <= eye;
}

dt_status dt_question_stands(dt_question *question, size_t count, const dt_loop *loop, dt_pose pose, bool *out) {
    stand s = {.question = question, .loop = loop, .count = count};
    bool may = probes_pass(&s, pose) && probes_fit(&s, &pose);
    dt_status status = may ? lay_courses(&s) : DT_OK;
    if (status == DT_OK) *out = may && samples_fit(&s, pose);
    return status;
}
