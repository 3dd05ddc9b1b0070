/* learn.h - the maker's own times: reading a table of timed solves, fitting the estimate to it, and keeping what was
 * learnt.
 *
 * Vocabulary: a SOLVE is one person's first go at one draft; an unfinished one tells only that it would have taken
 * longer.
 *
 * The model: ln T = ln(person (handling + scan scanning + try trying)) + u + e, with u ~ N(0, between^2) the same for
 * all solves of one solver and e ~ N(0, within^2) of its own: the log-normal law of times between people. An unfinished
 * solve adds the chance of taking longer (right-censored); a solver's u is integrated out (adaptive quadrature). With
 * fewer than DT_LEARN_MORE_FROM finished solves only `person` is fitted, from then on also scan, try and both spreads,
 * with mild priors around the published constants, so that what the times cannot tell stays as it was.
 */
#ifndef DOVETELL_LEARN_H
#define DOVETELL_LEARN_H

#include <dovetell/rating.h>
#include <dovetell/text.h>

/* Reads a result file of `dovetell learn` over the constants in *effort. DT_CANNOT_READ, DT_BAD_TIMES with a sentence.
 */
dt_status dt_effort_read(const char *path, dt_effort *effort, dt_error *error);

/* ---- the table of times ---- */

typedef struct dt_solve {
    uint32_t draft, solver; /* as numbered in the table, by first appearance */
    double minutes;         /* until the last piece lay, or until the solver gave up */
    bool finished;
    unsigned line; /* of the file, from 1 */
} dt_solve;

typedef struct dt_times dt_times;

#define DT_TIMES_MOST_BYTES (1u << 20)

/* Reads comma-separated values (RFC 4180; a byte-order mark, CRLF and empty lines are taken): a header row that names
 * the columns draft, solver, minutes and finished in any order, other columns are passed over; decimals with a point. A
 * second solve of the same draft by the same solver is set aside as a repeat: only the first one tells how hard the
 * draft is. DT_CANNOT_READ, DT_TOO_LARGE, DT_BAD_TIMES (with the line and what to write instead), DT_NO_MEMORY.
 * O(bytes). */
dt_status dt_times_read(const char *path, dt_times **out, dt_error *error);
dt_status dt_times_read_memory(const char *name, const void *bytes, size_t count, dt_times **out, dt_error *error);
void dt_times_free(dt_times *times);

size_t dt_times_draft_count(const dt_times *times);
const char *dt_times_draft(const dt_times *times, size_t index); /* as written in the table */
size_t dt_times_solver_count(const dt_times *times);
const char *dt_times_solver(const dt_times *times, size_t index);
size_t dt_times_solve_count(const dt_times *times);
const dt_solve *dt_times_solve(const dt_times *times, size_t index);
size_t dt_times_repeat_count(const dt_times *times); /* set aside */
const dt_solve *dt_times_repeat(const dt_times *times, size_t index);

/* ---- learning ---- */

#define DT_LEARN_MORE_FROM 8 /* finished first solves */

/* A learnt constant with the range in which it lies 19 times out of 20, if the model holds. */
typedef struct dt_learnt_value {
    double value, low, high;
} dt_learnt_value;

typedef struct dt_learnt {
    dt_effort effort;                         /* published constants with those learnt put in: for dt_effort_write */
    bool more;                                /* scan, try and spread were learnt too */
    dt_learnt_value person;                   /* 1 = the median adult; 2 = twice as long */
    dt_learnt_value scan, attempt;            /* factors on the published seconds for looking over and for trying */
    double between, within;                   /* sd of ln T between solvers, and from solve to solve of one solver */
    size_t solves, finished, solvers, drafts; /* that were used */
} dt_learnt;

/* works has one entry for each draft of the table: dt_rating.work of the draft as it was solved; an entry with
 * handling_min 0 leaves the draft's solves out. DT_BAD_TIMES when no finished solve is left. About 10^4 times the
 * solves in steps. */
dt_status dt_learn(const dt_times *times, const dt_work *works, dt_learnt *out, dt_error *error);

/* The result file of what was learnt, for dt_effort_read. */
void dt_effort_write(const dt_learnt *learnt, dt_text *out);

#endif
