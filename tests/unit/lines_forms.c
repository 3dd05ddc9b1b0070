/* One puzzle drawn in four ways, through the whole program: long lines, each seam a path of its own, seams joined end to end into as few
 * paths as may be, and one closed outline for each piece. Pieces, areas, neighbours and points are the same; the closed
 * outlines have one fault for all that is doubled. */
#include "draft.h"
#include "stroke_list.h"

#include <check.h>
#include <dovetell/analysis.h>
#include <math.h>
#include <stdlib.h>

/* A look-alike at the very limit of the eye may come or go when points are rounded anew (see whole_laws.c). */
static const double POINTS_TOLERANCE = 0.05;
static const double AREA_SHARE = 1e-3;

static dt_analysis *analyse(draft *d) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_analysis *a = NULL;
    dt_error error = {0};
    dt_text svg = DT_TEXT_EMPTY;
    draft_svg(d, 5.0, &svg);
    ck_assert_msg(dt_analyse_memory("draft", svg.bytes, svg.length, &settings, NULL, &a, &error) == DT_OK, "%s", error.message);
    dt_text_free(&svg);
    return a;
}

static dt_analysis *analyse_list(stroke_list *list) {
    draft *d = draft_of(stroke_list_view(list));
    dt_analysis *a = analyse(d);
    draft_free(d);
    stroke_list_free(list);
    return a;
}

static void assert_same_puzzle(const dt_analysis *a, const dt_analysis *b) {
    const dt_pieces *p = dt_analysis_pieces(a), *q = dt_analysis_pieces(b);
    const dt_graph *g = dt_analysis_graph(a), *h = dt_analysis_graph(b);
    ck_assert_uint_eq(dt_pieces_count(p), dt_pieces_count(q));
    for (uint32_t i = 0; i < dt_pieces_count(p); i++) {
        double area = dt_pieces_get(p, (dt_piece_id){i})->area_mm2;
        ck_assert_double_eq_tol(dt_pieces_get(q, (dt_piece_id){i})->area_mm2, area, AREA_SHARE * area);
    }
    ck_assert_uint_eq(dt_graph_pair_count(g), dt_graph_pair_count(h));
    for (size_t i = 0; i < dt_graph_pair_count(g); i++) {
        ck_assert_uint_eq(dt_graph_pair(g, i)->a.v, dt_graph_pair(h, i)->a.v);
        ck_assert_uint_eq(dt_graph_pair(g, i)->b.v, dt_graph_pair(h, i)->b.v);
    }
    ck_assert_double_eq_tol(dt_analysis_rating(a)->points, dt_analysis_rating(b)->points, POINTS_TOLERANCE);
}

/* On from the trail's last arc to any that was not taken yet, but not back to where it began: a closed path round one piece
 * alone would be a figure. */
static size_t next_arc(const dt_net *net, const bool *taken, uint32_t node, uint32_t start) {
    for (size_t a = 0; a < dt_net_arc_count(net); a++) {
        const dt_arc *arc = dt_net_arc(net, a);
        bool closes = (arc->from == node && arc->to == start) || (arc->to == node && arc->from == start);
        if (!taken[a] && !closes && (arc->from == node || arc->to == node)) return a;
    }
    return SIZE_MAX;
}

static void add_trails(stroke_list *list, const dt_net *net) {
    enum { ROOM = 100000 };
    bool *taken = calloc(dt_net_arc_count(net), sizeof *taken);
    dt_point *points = calloc(ROOM, sizeof *points);
    for (size_t first = 0; first < dt_net_arc_count(net); first++) {
        size_t count = 0;
        const uint32_t start = dt_net_arc(net, first)->from;
        uint32_t node = start;
        for (size_t a = taken[first] ? SIZE_MAX : first; a != SIZE_MAX; a = next_arc(net, taken, node, start)) {
            const dt_arc *arc = dt_net_arc(net, a);
            bool onward = arc->from == node;
            ck_assert_uint_lt(count + arc->path.count, ROOM);
            for (size_t i = count ? 1 : 0; i < arc->path.count; i++)
                points[count++] = arc->path.points[onward ? i : arc->path.count - 1 - i];
            node = onward ? arc->to : arc->from;
            taken[a] = true;
        }
        if (count) stroke_list_add(list, points, count, false);
    }
    free(points);
    free(taken);
}

START_TEST(the_same_puzzle_however_it_is_drawn) {
    draft *d = draft_new();
    if (_i == 0) draft_knobbed_sheet(d, 4, 5, 20, 11, false);
    else draft_straight_sheet(d, 4, 5, 20, 17);
    dt_analysis *lines = analyse(d);
    const dt_net *net = dt_analysis_net(lines);
    ck_assert_uint_eq(dt_net_fault_count(net), 0);
    for (int form = 0; form < 3; form++) {
        stroke_list list = {0};
        if (form == 0) stroke_list_arcs(&list, net);
        else if (form == 1) add_trails(&list, net);
        else stroke_list_outlines(&list, net);
        if (form == 1) ck_assert_uint_lt(stroke_list_view(&list).count, dt_net_arc_count(net) / 3);
        dt_analysis *other = analyse_list(&list);
        const dt_net *drawn = dt_analysis_net(other);
        ck_assert_uint_eq(dt_net_fault_count(drawn), form == 2 ? 1 : 0);
        if (form == 2) ck_assert(dt_net_fault(drawn, 0)->kind == DT_FAULT_DOUBLED && dt_net_fault(drawn, 0)->times > 10);
        assert_same_puzzle(lines, other);
        dt_analysis_free(other);
    }
    dt_analysis_free(lines);
    draft_free(d);
}
END_TEST

Suite *suite_lines_forms(void);
Suite *suite_lines_forms(void) {
    Suite *suite = suite_create("lines_forms");
    TCase *tests = tcase_create("all");
    tcase_add_loop_test(tests, the_same_puzzle_however_it_is_drawn, 0, 2);
    suite_add_tcase(suite, tests);
    return suite;
}
