/* Learning from timed solves: the table's solves sorted by solver, handed to the fit of likelihood.h, and the outcome
 * as constants of the effort model. See learn.h. */
#include <dovetell/learn.h>

#include "rating/likelihood.h"
#include <math.h>
#include <stdlib.h>

static const double NINETEEN_OF_TWENTY_SD = 1.959963984540054;

static bool is_usable(const dt_times *times, const dt_work *works, size_t i) {
    return works[dt_times_solve(times, i)->draft].handling_min > 0.0;
}

static timed timed_of(const dt_solve *solve, const dt_work *works) {
    dt_work w = works[solve->draft];
    return (timed){w.handling_min, w.scanning_min, w.trying_min, log(solve->minutes), solve->finished};
}

/* seen has an entry for each draft, then one for each solver. */
static void count_up(const dt_times *times, const dt_work *works, bool *seen, dt_learnt *out) {
    bool *draft_seen = seen, *solver_seen = seen + dt_times_draft_count(times);
    for (size_t i = 0; i < dt_times_solve_count(times); i++) {
        const dt_solve *s = dt_times_solve(times, i);
        if (!is_usable(times, works, i)) continue;
        out->solves++;
        out->finished += s->finished;
        out->drafts += !draft_seen[s->draft];
        out->solvers += !solver_seen[s->solver];
        draft_seen[s->draft] = solver_seen[s->solver] = true;
    }
}

/* Solvers without a usable solve get an empty stretch, which says nothing. */
static void sort_by_solver(const dt_times *times, const dt_work *works, timed *solves, size_t *start) {
    size_t count = 0;
    for (size_t s = 0; s < dt_times_solver_count(times); s++) {
        start[s] = count;
        for (size_t i = 0; i < dt_times_solve_count(times); i++)
            if (dt_times_solve(times, i)->solver == s && is_usable(times, works, i))
                solves[count++] = timed_of(dt_times_solve(times, i), works);
    }
    start[dt_times_solver_count(times)] = count;
}

static dt_learnt_value value_of(double ln, double sd) {
    double spread = exp(NINETEEN_OF_TWENTY_SD * sd);
    return (dt_learnt_value){exp(ln), exp(ln) / spread, exp(ln) * spread};
}

static void fit(const evidence *e, dt_learnt *out) {
    double ln[LN_COUNT], sd[LN_COUNT];
    out->more = out->finished >= DT_LEARN_MORE_FROM;
    evidence_fit(e, out->more ? LN_COUNT : 1, ln, sd);
    out->person = value_of(ln[LN_PERSON], sd[LN_PERSON]);
    out->scan = value_of(ln[LN_SCAN], sd[LN_SCAN]);
    out->attempt = value_of(ln[LN_TRY], sd[LN_TRY]);
    out->between = exp(ln[LN_BETWEEN]);
    out->within = exp(ln[LN_WITHIN]);
    out->effort = dt_effort_default();
    out->effort.person = out->person.value;
    out->effort.scan_s *= out->scan.value;
    out->effort.alike_s *= out->attempt.value;
    out->effort.log_sd = hypot(out->between, out->within);
}

dt_status dt_learn(const dt_times *times, const dt_work *works, dt_learnt *out, dt_error *error) {
    size_t solves = dt_times_solve_count(times), solvers = dt_times_solver_count(times),
           drafts = dt_times_draft_count(times);
    timed *sorted = calloc(solves + 1, sizeof *sorted);
    size_t *start = calloc(solvers + 1, sizeof *start);
    bool *seen = calloc(solvers + drafts + 1, sizeof *seen);
    double *scratch = calloc(solves + 1, sizeof *scratch);
    dt_learnt learnt = {0};
    dt_status status = DT_NO_MEMORY;
    if (!sorted || !start || !seen || !scratch) goto done;
    count_up(times, works, seen, &learnt);
    status = learnt.finished ? DT_OK : DT_BAD_TIMES;
    if (status != DT_OK) goto done;
    sort_by_solver(times, works, sorted, start);
    fit(&(evidence){sorted, start, solvers, scratch}, &learnt);
    *out = learnt;
done:
    free(sorted);
    free(start);
    free(seen);
    free(scratch);
    if (status == DT_NO_MEMORY) dt_fail(error, status, "no memory left to learn from %zu solves", solves);
    if (status == DT_BAD_TIMES)
        dt_fail(error, status,
                "no finished solve of a draft that can be read is left: at least one time of a whole solve is needed");
    return status;
}
