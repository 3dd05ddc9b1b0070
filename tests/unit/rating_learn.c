/* The table of times, the file of what was learnt, and learning itself on simulated solvers whose truth is known. */
#include "draft.h"
#include "rating/likelihood.h"
#include <check.h>
#include <dovetell/learn.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static dt_times *table(const char *csv) {
    dt_times *times = NULL;
    dt_error error = {0};
    ck_assert_msg(dt_times_read_memory("times.csv", csv, strlen(csv), &times, &error) == DT_OK, "%s", error.message);
    return times;
}

START_TEST(a_table_is_read_whatever_its_dress) {
    dt_times *t =
        table("\xEF\xBB\xBF"
              "finished,Solver, minutes ,note,draft\r\n"
              "yes,\"Wil, the \"\"otter\"\"\",45.5,,heron.svg\r\n\r\nno,Mo,120,\"two\r\nlines\",\"boat house.svg\"");
    ck_assert_uint_eq(dt_times_solve_count(t), 2);
    ck_assert_str_eq(dt_times_solver(t, 0), "Wil, the \"otter\"");
    ck_assert_str_eq(dt_times_draft(t, 1), "boat house.svg");
    ck_assert_double_eq(dt_times_solve(t, 0)->minutes, 45.5);
    ck_assert(dt_times_solve(t, 0)->finished && !dt_times_solve(t, 1)->finished);
    ck_assert_uint_eq(dt_times_solve(t, 1)->line, 4);
    dt_times_free(t);
}
END_TEST

START_TEST(only_the_first_solve_of_a_draft_counts) {
    dt_times *t = table("draft,solver,minutes,finished\na,x,50,yes\na,y,60,yes\na,x,30,yes\nb,x,9,yes\n");
    ck_assert_uint_eq(dt_times_solve_count(t), 3);
    ck_assert_uint_eq(dt_times_repeat_count(t), 1);
    ck_assert_uint_eq(dt_times_repeat(t, 0)->line, 4);
    ck_assert_double_eq(dt_times_solve(t, 0)->minutes, 50.0);
    dt_times_free(t);
}
END_TEST

typedef struct refusal {
    const char *csv, *says;
} refusal;

#define HEAD "draft,solver,minutes,finished\n"
static const refusal REFUSALS[] = {
    {"", "no column \"draft\""},
    {"draft;solver;minutes;finished\na;x;45,5;yes\n", "separated by semicolons"},
    {"draft,solver,time,finished\na,x,45,yes\n", "no column \"minutes\""},
    {HEAD, "holds no solves"},
    {HEAD "a,x,45,5,yes\n", "line 2 has 5 columns"},
    {HEAD "a,x,\"45,5\",yes\n", "decimal comma"},
    {HEAD "a,x,45,yes\nb,x,-3,yes\n", "line 3: \"-3\" is no number"},
    {HEAD "a,x,1e3,yes\n", "is no number"},
    {HEAD "a,x,nan,yes\n", "is no number"},
    {HEAD "a,x,0,yes\n", "is no number"},
    {HEAD "a,x,4.5.1,yes\n", "is no number"},
    {HEAD "a,x,45,perhaps\n", "write yes or no"},
    {HEAD "a,,45,yes\n", "needs the name"},
    {HEAD "a,\"x,45,yes\n", "never closed"},
    {HEAD "a,\"x\"y,45,yes\n", "follows a closing quotation mark"},
};

START_TEST(a_table_that_makes_no_sense_is_refused_with_a_sentence) {
    const refusal *r = &REFUSALS[_i];
    dt_times *times = NULL;
    dt_error error = {0};
    ck_assert_int_eq(dt_times_read_memory("times.csv", r->csv, strlen(r->csv), &times, &error), DT_BAD_TIMES);
    ck_assert_ptr_null(times);
    ck_assert_msg(strstr(error.message, r->says) != NULL, "%s", error.message);
}
END_TEST

START_TEST(long_fields_and_zero_bytes_are_refused) {
    char big[5000] = HEAD "a,";
    dt_times *times = NULL;
    size_t head = strlen(big);
    memset(big + head, 'x', 2000);
    ck_assert_int_eq(dt_times_read_memory("t", big, head + 2000, &times, NULL), DT_BAD_TIMES);
    big[head] = '"';
    ck_assert_int_eq(dt_times_read_memory("t", big, head + 2000, &times, NULL), DT_BAD_TIMES);
    ck_assert_int_eq(dt_times_read_memory("t", "draft\0", 6, &times, NULL), DT_BAD_TIMES);
}
END_TEST

static void write_file(char *path, const char *text) {
    int descriptor = mkstemp(path);
    ck_assert_int_ge(descriptor, 0);
    ck_assert_int_eq(write(descriptor, text, strlen(text)), (int)strlen(text));
    close(descriptor);
}

START_TEST(what_was_learnt_is_read_back) {
    dt_learnt learnt = {.effort = dt_effort_default(), .more = true, .person = {1.3, 1.1, 1.6}};
    dt_effort back = dt_effort_default();
    dt_text text = DT_TEXT_EMPTY;
    char path[] = "/tmp/dovetell-times-XXXXXX";
    learnt.effort.person = 1.3;
    learnt.effort.scan_s = 0.4;
    learnt.effort.log_sd = 0.55;
    dt_effort_write(&learnt, &text);
    write_file(path, text.bytes);
    ck_assert_int_eq(dt_effort_read(path, &back, NULL), DT_OK);
    ck_assert_mem_eq(&back, &learnt.effort, sizeof back);
    unlink(path);
    dt_text_free(&text);
}
END_TEST

static const refusal BAD_FILES[] = {
    {"", "no file of learnt times"},
    {"dovetell times 1\nspeed 3\n", "line 2: \"speed 3\" is no name"},
    {"dovetell times 1\nperson\n", "is no value"},
    {"dovetell times 1\nperson 0\n", "is no value"},
    {"dovetell times 1\nperson 1,5\n", "is no value"},
    {"dovetell times 1\nperson inf\n", "is no value"},
};

START_TEST(a_file_that_was_not_learnt_is_refused) {
    char path[] = "/tmp/dovetell-times-XXXXXX";
    dt_effort effort = dt_effort_default(), before = effort;
    dt_error error = {0};
    write_file(path, BAD_FILES[_i].csv);
    ck_assert_int_eq(dt_effort_read(path, &effort, &error), DT_BAD_TIMES);
    ck_assert_msg(strstr(error.message, BAD_FILES[_i].says) != NULL, "%s", error.message);
    ck_assert_mem_eq(&effort, &before, sizeof effort);
    unlink(path);
}
END_TEST

/* ---- simulated solvers ---- */

typedef struct truth {
    double person, scan, attempt, between, within, give_up; /* give_up: minutes after which a solver stops */
    uint32_t solvers, drafts;
} truth;

/* Box and Muller's way from uniform to normal numbers. */
static double normal(uint64_t *state) {
    double u = 1.0 - draft_random(state), v = draft_random(state);
    return sqrt(-2.0 * log(u)) * cos(6.283185307179586 * v);
}

/* Drafts from 20 to 500 pieces; scanning grows with the square, trying differs from draft to draft. */
static dt_work simulated_work(uint64_t *state) {
    double pieces = 20.0 * exp(3.2 * draft_random(state)), alike = draft_random(state);
    return (dt_work){pieces * 10.5 / 60.0, pieces * pieces / 16.0 / 60.0, alike * alike * pieces * pieces / 5.0 / 60.0};
}

static dt_learnt learn_simulated(const truth *t, uint64_t seed) {
    uint64_t state = seed * 2654435761u + 17;
    dt_work works[64];
    dt_text csv = DT_TEXT_EMPTY;
    dt_learnt learnt = {0};
    dt_error error = {0};
    dt_text_add(&csv, HEAD);
    for (uint32_t d = 0; d < t->drafts; d++) works[d] = simulated_work(&state);
    for (uint32_t s = 0; s < t->solvers; s++) {
        double own = t->between * normal(&state);
        for (uint32_t d = 0; d < t->drafts; d++) {
            double median = t->person * (works[d].handling_min + t->scan * works[d].scanning_min +
                                         t->attempt * works[d].trying_min);
            double minutes = median * exp(own + t->within * normal(&state));
            dt_text_addf(&csv, "draft %u,solver %u,%.6f,%s\n", d, s, fmin(minutes, t->give_up),
                         minutes <= t->give_up ? "yes" : "no");
        }
    }
    dt_times *times = table(csv.bytes);
    ck_assert_msg(dt_learn(times, works, &learnt, &error) == DT_OK, "%s", error.message);
    dt_times_free(times);
    dt_text_free(&csv);
    return learnt;
}

static bool covers(dt_learnt_value v, double truth_value) {
    return v.low <= truth_value && truth_value <= v.high;
}

/* Over many simulated makers the ranges hold the truth about as often as they claim to (19 in 20; 4 sd of chance
 * allowed, and the pull of the priors). */
START_TEST(ranges_hold_the_truth_as_often_as_they_say) {
    const truth t = {.person = 1.7,
                     .scan = 1.4,
                     .attempt = 0.8,
                     .between = 0.5,
                     .within = 0.3,
                     .give_up = 1e9,
                     .solvers = 8,
                     .drafts = 12};
    int person = 0, scan = 0, attempt = 0, runs = 60;
    for (int i = 0; i < runs; i++) {
        dt_learnt l = learn_simulated(&t, (uint64_t)i);
        ck_assert(l.more);
        person += covers(l.person, t.person);
        scan += covers(l.scan, t.scan);
        attempt += covers(l.attempt, t.attempt);
    }
    ck_assert_int_ge(person, runs * 84 / 100);
    ck_assert_int_ge(scan, runs * 84 / 100);
    ck_assert_int_ge(attempt, runs * 84 / 100);
}
END_TEST

START_TEST(much_evidence_finds_the_truth) {
    const truth t = {.person = 0.6,
                     .scan = 1.5,
                     .attempt = 1.3,
                     .between = 0.5,
                     .within = 0.25,
                     .give_up = 1e9,
                     .solvers = 60,
                     .drafts = 30};
    dt_learnt l = learn_simulated(&t, 7);
    ck_assert_double_le(fabs(log(l.person.value / t.person)), 0.2);
    ck_assert_double_le(fabs(log(l.scan.value / t.scan)), 0.15);
    ck_assert_double_le(fabs(log(l.attempt.value / t.attempt)), 0.15);
    ck_assert_double_le(fabs(log(l.between / t.between)), 0.3);
    ck_assert_double_le(fabs(log(l.within / t.within)), 0.1);
}
END_TEST

/* Solvers who stop after 2 hours: counting their times as finished would make everybody look fast. */
START_TEST(unfinished_solves_do_not_make_solvers_look_fast) {
    const truth t = {.person = 2.0,
                     .scan = 1,
                     .attempt = 1,
                     .between = 0.4,
                     .within = 0.3,
                     .give_up = 120.0,
                     .solvers = 30,
                     .drafts = 20};
    dt_learnt l = learn_simulated(&t, 3);
    ck_assert_uint_lt(l.finished, l.solves);
    ck_assert_double_le(fabs(log(l.person.value / t.person)), 0.25);
    ck_assert(covers(l.person, t.person));
}
END_TEST

/* One solver, one time: the factor is that time over the estimate, and the range says how little one time tells. */
START_TEST(a_single_time_is_learnt_with_all_due_doubt) {
    dt_work work = {10.0, 5.0, 5.0};
    dt_learnt learnt;
    dt_times *times = table(HEAD "a,x,40,yes\n");
    ck_assert_int_eq(dt_learn(times, &work, &learnt, NULL), DT_OK);
    ck_assert(!learnt.more);
    ck_assert_double_eq_tol(learnt.person.value, 2.0, 1e-6);
    ck_assert_double_eq_tol(learnt.person.high, 2.0 * exp(1.959964 * hypot(0.6, 0.36)), 1e-3);
    ck_assert_double_eq(learnt.effort.scan_s, dt_effort_default().scan_s);
    dt_times_free(times);
    times = table(HEAD "a,x,40,no\n");
    ck_assert_int_eq(dt_learn(times, &work, &learnt, NULL), DT_BAD_TIMES);
    dt_times_free(times);
}
END_TEST

/* The integral over a solver's own factor, against the closed form: without unfinished solves the log times are jointly
 * normal with variance within^2 + between^2 and covariance between^2 (a textbook identity). */
START_TEST(the_likelihood_agrees_with_the_closed_form) {
    const double ln[LN_COUNT] = {0.2, 0.1, -0.3, log(0.5), log(0.3)};
    timed solves[2] = {{10, 5, 3, 3.4, true}, {40, 60, 20, 4.1, true}};
    size_t start[2] = {0, 2};
    double scratch[2], r[2], a = 0.09 + 0.25, b = 0.25;
    for (int i = 0; i < 2; i++)
        r[i] = solves[i].log_minutes - 0.2 -
               log(solves[i].handling + exp(0.1) * solves[i].scanning + exp(-0.3) * solves[i].trying);
    double determinant = a * a - b * b, form = (a * r[0] * r[0] - 2 * b * r[0] * r[1] + a * r[1] * r[1]) / determinant;
    double expected = -log(6.283185307179586) - 0.5 * log(determinant) - 0.5 * form;
    ck_assert_double_eq_tol(evidence_log_likelihood(&(evidence){solves, start, 1, scratch}, ln), expected, 1e-9);
    solves[1].finished = false;
    start[1] = 1;
    /* One unfinished solve alone: the tail of a normal law with the two variances added. */
    evidence one = {&solves[1], start, 1, scratch};
    ck_assert_double_eq_tol(evidence_log_likelihood(&one, ln), log(0.5 * erfc(r[1] / sqrt(2.0 * a))), 1e-9);
}
END_TEST

Suite *suite_rating_learn(void);
Suite *suite_rating_learn(void) {
    Suite *suite = suite_create("rating_learn");
    TCase *cases = tcase_create("rating_learn");
    tcase_add_test(cases, a_table_is_read_whatever_its_dress);
    tcase_add_test(cases, only_the_first_solve_of_a_draft_counts);
    tcase_add_loop_test(cases, a_table_that_makes_no_sense_is_refused_with_a_sentence, 0,
                        (int)(sizeof REFUSALS / sizeof *REFUSALS));
    tcase_add_test(cases, long_fields_and_zero_bytes_are_refused);
    tcase_add_test(cases, what_was_learnt_is_read_back);
    tcase_add_loop_test(cases, a_file_that_was_not_learnt_is_refused, 0, (int)(sizeof BAD_FILES / sizeof *BAD_FILES));
    tcase_add_test(cases, ranges_hold_the_truth_as_often_as_they_say);
    tcase_add_test(cases, much_evidence_finds_the_truth);
    tcase_add_test(cases, unfinished_solves_do_not_make_solvers_look_fast);
    tcase_add_test(cases, a_single_time_is_learnt_with_all_due_doubt);
    tcase_add_test(cases, the_likelihood_agrees_with_the_closed_form);
    suite_add_tcase(suite, cases);
    return suite;
}
