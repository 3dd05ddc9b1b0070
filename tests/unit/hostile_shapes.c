/* Small files of shapes that cost too much unless work is counted: each ends in a right answer or in a plain sentence. What bounds
 * them is counted work, so that no test depends on a clock. */
#include "draft.h"
#include "pieces/border.h"

#include <check.h>
#include <dovetell/graph.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>

static const double PI = 3.14159265358979323846;
static const dt_settings SETTINGS = DT_SETTINGS_DEFAULT;

/* The sentence with which the stages up to the pieces end, "" if they do not. */
static const char *end_of(draft *d) {
    static dt_error error;
    dt_net *net = NULL;
    dt_pieces *pieces = NULL;
    error = (dt_error){0};
    dt_strokes strokes = draft_strokes(d, 0.01);
    if (dt_net_new(strokes, &SETTINGS, &net, &error) == DT_OK) dt_pieces_new(net, strokes, &SETTINGS, &pieces, &error);
    dt_pieces_free(pieces);
    dt_net_free(net);
    draft_free(d);
    return error.message;
}

static void expect(draft *d, const char *words) {
    const char *sentence = end_of(d);
    ck_assert_msg(strstr(sentence, words) != NULL, "\"%s\"", sentence);
}

static dt_point on_circle(double r, double turn) {
    return (dt_point){250 + r * cos(2 * PI * turn), 250 + r * sin(2 * PI * turn)};
}

static draft *rings(int count, double apart) {
    draft *d = draft_new();
    for (int i = 1; i <= count; i++) draft_circle(d, 250, 250, i * apart);
    return d;
}

static draft *band(double turns, double apart, double width) {
    enum { A_TURN = 100 };
    draft *d = draft_new();
    int last = (int)(turns * A_TURN);
    draft_move(d, on_circle(apart, 0));
    for (int i = 1; i <= last; i++) draft_line(d, on_circle(apart + apart * i / A_TURN, (double)i / A_TURN));
    for (int i = last; i >= 0; i--) draft_line(d, on_circle(apart + apart * i / A_TURN + width, (double)i / A_TURN));
    draft_close(d);
    return d;
}

START_TEST(strips_that_are_too_long_end_in_a_sentence) {
    ck_assert_str_eq(end_of(rings(60, 3)), "");
    expect(rings(500, 0.5), "strips too long and narrow");
    ck_assert_str_eq(end_of(band(8, 12, 6)), "");
    expect(band(90, 2, 1), "strips too long and narrow");
}
END_TEST

/* 628 mm long and 1 mm wide: cells of a quarter of the width cover it four times. Without the walls it took 100,000. */
START_TEST(an_even_ring_costs_as_many_cells_as_it_is_longer_than_wide) {
    draft *d = draft_new();
    draft_circle(d, 250, 250, 100);
    draft_circle(d, 250, 250, 99);
    dt_strokes strokes = draft_strokes(d, 0.01);
    dt_point *inner = malloc(strokes.strokes[1].path.count * sizeof *inner);
    dt_path outline = strokes.strokes[0].path, hole = strokes.strokes[1].path;
    ck_assert_ptr_nonnull(inner);
    for (size_t i = 0; i < hole.count; i++) inner[i] = hole.points[hole.count - 1 - i];
    hole.points = inner;
    ck_assert(dt_path_area(outline) > 0 && dt_path_area(hole) < 0);
    border *edge = NULL;
    disc found = {{0, 0}, 0};
    uint64_t work = 0;
    ck_assert_int_eq(border_new(outline, &hole, 1, &edge), DT_OK);
    ck_assert_int_eq(border_largest_disc(edge, &work, &found), DT_OK);
    ck_assert_double_eq_tol(found.radius, 0.5, 0.012);
    ck_assert_uint_lt(work, 20 * 628);
    border_free(edge);
    free(inner);
    draft_free(d);
}
END_TEST

static draft *needles(int count) {
    draft *d = draft_new();
    draft_move(d, (dt_point){250, 250});
    for (int i = 0; i < count; i++) {
        draft_line(d, on_circle(240, (double)i / count));
        draft_line(d, on_circle(240, (i + 0.5) / count));
        draft_line(d, (dt_point){250, 250});
    }
    draft_close(d);
    return d;
}

static draft *rosette(int count) { /* one stroke of full turns, each shifted a little: lies beside itself everywhere */
    draft *d = draft_new();
    draft_move(d, on_circle(100, 0));
    for (int i = 1; i < 60 * count; i++) draft_line(d, on_circle(100 + 0.04 * i / 60.0 / count, i / 60.0));
    draft_close(d);
    return d;
}

START_TEST(lines_beside_each_other_end_in_a_sentence) {
    struct rusage used;
    expect(needles(3000), "millions of lines lie");
    expect(rosette(1500), "millions of lines lie");
    getrusage(RUSAGE_SELF, &used);
#if !defined(__SANITIZE_ADDRESS__)
    ck_assert_msg(used.ru_maxrss < 500 * 1024, "%ld KiB used", used.ru_maxrss);
#endif
}
END_TEST

static draft *hatch(int count, double apart) {
    draft *d = draft_new();
    draft_rectangle(d, 0, 100, 390, 200);
    for (int i = 0; i < count; i++) draft_segment(d, i * apart, 0, i * apart + 30, 390);
    return d;
}

/* Each strip is a sliver that must be measured, 200 to 2,500 mm long: the steps of that are counted. */
START_TEST(slivers_by_the_metre_end_in_a_sentence) {
    expect(rings(600, 0.198), "metres and metres");
    expect(hatch(2000, 0.15), "metres and metres");
}
END_TEST

/* Copies of one figure are honest, however many: they are one. */
START_TEST(a_thousand_copies_are_one_line) {
    draft *d = draft_new();
    for (int i = 0; i < 1000; i++) draft_circle(d, 250, 250, 200);
    dt_net *net = NULL;
    dt_pieces *pieces = draft_pieces(d, &SETTINGS, &net);
    ck_assert_uint_eq(dt_pieces_count(pieces), 1);
    ck_assert_uint_eq(dt_pieces_fault_count(pieces), 1);
    ck_assert_int_eq(dt_pieces_fault(pieces, 0)->kind, DT_FAULT_DOUBLED);
    dt_pieces_free(pieces);
    dt_net_free(net);
    draft_free(d);
}
END_TEST

Suite *suite_hostile_shapes(void);
Suite *suite_hostile_shapes(void) {
    Suite *suite = suite_create("hostile_shapes");
    TCase *cases = tcase_create("all");
    tcase_add_test(cases, strips_that_are_too_long_end_in_a_sentence);
    tcase_add_test(cases, an_even_ring_costs_as_many_cells_as_it_is_longer_than_wide);
    tcase_add_test(cases, lines_beside_each_other_end_in_a_sentence);
    tcase_add_test(cases, slivers_by_the_metre_end_in_a_sentence);
    tcase_add_test(cases, a_thousand_copies_are_one_line);
    suite_add_tcase(suite, cases);
    return suite;
}
