/* The model against times that people took, as published: each within a factor of two. The figures of the table come
 * from facts "How long people take"; all are ordinary picture puzzles, so all pieces are distinct, the edge shows and
 * there is a full picture.
 *
 * What the model misses. Older adults at home laid 73 pieces an hour (Fissler et al., Frontiers in Aging Neuroscience
 * 10:299, 2018), the median adult of the model 175 to 231 for 1000 to 500 pieces, 2.4 to 3.2 times as many: the model
 * is for adults of all ages, and meets that figure only with what older adults are known to be slower by (below). The
 * median of the 85 pairs is told as about 235 min, which is 2.01 times the model's 117; the published counts themselves
 * give 230, 1.97 times (below); and they were two. The world's best alone takes 38 min for 500 pieces, which the
 * log-normal law puts at 1.8 sd from the median, where one in 28 would be as fast: the law describes the middle of
 * people, not its tails. */
#include "lattice.h"
#include <check.h>
#include <math.h>

typedef struct published {
    const char *what;
    uint32_t rows, columns;
    double minutes;
    double sd; /* how far below the median the person stands, in sd of ln T */
} published;

static const published TIMES[] = {
    {"50 pieces, 15.5 s from piece to piece: Pelz and Land, eye-movement study of a jigsaw", 5, 10, 50 * 15.5 / 60.0,
     0},
    {"250 pieces on screen in 50 min, one person: a physicist's published log", 10, 25, 50, 0},
    {"2,500 pieces of the same picture in 24 h: same log", 50, 50, 24 * 60, 0},
    {"300 pieces, limit under which most entrants finish, 1 h: competition reports", 15, 20, 60, 0},
    {"500 pieces, limit 2 h: same", 20, 25, 120, 0},
    {"1,000 pieces, limit 4 h: same", 25, 40, 240, 0},
    {"500 pieces, the fastest of 85 pairs 43:08: open championship, Spain 2011; best of 85 stands at 2.27 sd", 20, 25,
     43 + 8 / 60.0, 2.27},
};

static double model_minutes(uint32_t rows, uint32_t columns) {
    const factor_set drawn =
        FACTOR_BIT(DT_FACTOR_LOOK_ALIKES) | FACTOR_BIT(DT_FACTOR_EDGE) | FACTOR_BIT(DT_FACTOR_PICTURE);
    dt_effort effort = dt_effort_default();
    lattice *l = lattice_new(rows, columns, 0, 1);
    lattice_tell_tale(l);
    effort_case c = lattice_case(l, 1, DT_PICTURE_FULL);
    double minutes = effort_of(&c, &effort, drawn).total_s / 60.0;
    lattice_free(l);
    return minutes;
}

START_TEST(published_times_are_met_within_a_factor_of_two) {
    const published *p = &TIMES[_i];
    double minutes = model_minutes(p->rows, p->columns) * exp(-p->sd * dt_effort_default().log_sd);
    ck_assert_msg(minutes <= 2.0 * p->minutes && minutes >= p->minutes / 2.0, "%s: the model says %.0f min", p->what,
                  minutes);
}
END_TEST

/* The standard normal law's quantile, by bisection of its own integral. */
static double normal_quantile(double share) {
    double low = -8.0, high = 8.0;
    while (high - low > 1e-12) {
        double middle = (low + high) / 2.0;
        if (0.5 * erfc(-middle / sqrt(2.0)) < share)
            low = middle;
        else
            high = middle;
    }
    return low;
}

/* Source: open championship, Spain 2011: 15 of 85 pairs finished one 500-piece puzzle within 2 h. Assumed: times are
 * log-normal with the model's own spread, so the median is where 15 in 85 lie below the limit. */
START_TEST(pairs_finish_as_often_as_published_within_a_factor_of_two) {
    double median = 120.0 * exp(-dt_effort_default().log_sd * normal_quantile(15.0 / 85.0)),
           minutes = model_minutes(20, 25);
    ck_assert_double_eq_tol(median, 230.0, 1.0);
    ck_assert_msg(minutes <= 2.0 * median && minutes >= median / 2.0, "the model says %.0f min, the pairs %.0f",
                  minutes, median);
}
END_TEST

/* Source: Fissler et al. 2018, 3,589 pieces in 49 h. Assumed: puzzles of 500 or of 1,000 pieces (their sizes are not
 * known), and people 1.5 to 2 times as slow as young adults, the general slowing of older adults at speeded tasks
 * (Cerella, Psychological Bulletin 98, 1985; Salthouse, Psychological Review 103, 1996; both from memory): the middle
 * of that, 1.75, is taken here. */
START_TEST(older_adults_lay_as_many_pieces_an_hour_within_a_factor_of_two) {
    const double slowing = 1.75, told = 3589.0 / 49.0;
    const double rates[] = {500.0 * 60.0 / (slowing * model_minutes(20, 25)),
                            1000.0 * 60.0 / (slowing * model_minutes(25, 40))};
    for (int i = 0; i < 2; i++)
        ck_assert_msg(rates[i] <= 2.0 * told && rates[i] >= told / 2.0, "%.0f pieces an hour, published %.0f", rates[i],
                      told);
}
END_TEST

/* Source: same log, exponent 1.46 between 250 and 2,500 pieces. */
START_TEST(time_grows_as_one_person_logged) {
    double exponent = log10(model_minutes(50, 50) / model_minutes(10, 25));
    ck_assert_double_eq_tol(exponent, 1.46, 0.08);
}
END_TEST

/* About 2.5 s a piece is what the hands alone need (predetermined-time tables; from memory): never less. */
START_TEST(no_one_is_faster_than_hands) {
    dt_effort e = dt_effort_default();
    ck_assert_double_ge(e.looks_per_piece * e.try_s, 2.5);
    ck_assert_double_ge(60.0 * model_minutes(2, 2) / 4.0, 2.5);
}
END_TEST

Suite *suite_rating_people(void);
Suite *suite_rating_people(void) {
    Suite *suite = suite_create("rating_people");
    TCase *cases = tcase_create("rating_people");
    tcase_add_loop_test(cases, published_times_are_met_within_a_factor_of_two, 0, (int)(sizeof TIMES / sizeof *TIMES));
    tcase_add_test(cases, pairs_finish_as_often_as_published_within_a_factor_of_two);
    tcase_add_test(cases, older_adults_lay_as_many_pieces_an_hour_within_a_factor_of_two);
    tcase_add_test(cases, time_grows_as_one_person_logged);
    tcase_add_test(cases, no_one_is_faster_than_hands);
    suite_add_tcase(suite, cases);
    return suite;
}
