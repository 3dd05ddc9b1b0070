/* One small draft with a little of everything: see memory_draft.h. */
#include "memory_draft.h"

#include "failing.h"
#include <check.h>
#include <dovetell/report.h>
#include <dovetell/tag.h>
#include <stdlib.h>
#include <string.h>

/* A knobbed seam, a straight one, twins, a figure in a hole, a void, a gap, a tail, a doubled line, a thin neck, fills,
 * styles, `use`, a text that is not cut, path data that breaks off. */
static const char drawing[] =
    "<svg xmlns='http://www.w3.org/2000/svg' xmlns:x='urn:x' width='90mm' height='60mm' viewBox='0 0 90 60'>"
    "<title>reed bed</title><style>.cut &gt; path, #border { stroke: #f00; fill: none } g .soft { stroke: blue "
    "}</style>"
    "<defs><path id='fin' d='M0 0 L4 3 L0 6 L1.5 3 Z'/></defs>"
    "<g class='cut' x:label='cut lines'><rect id='border' x='5' y='5' width='80' height='50'/>"
    "<path d='M30,5 v15 c-6,-2 -6,12 0,10 v25'/><path class='soft' d='M60,5 L60,54.8'/>"
    "<path d='M30 30 h30'/><path d='M45,30 V58'/><path d='M60 30 L85 30.05 M60,30 L70,30.02'/><path d='M60 15 h25 "
    "L90,,'/>"
    "<polyline points='72.5,30 72.5,55'/><path d='M72.5 30 h-5 l4 12 h1'/></g>"
    "<g id='whimsy'><circle cx='45' cy='18' r='6' style='fill:#8c8'/></g>"
    "<g id='void'><ellipse cx='15' cy='40' rx='4' ry='3'/></g>"
    "<use href='#fin' transform='translate(12 12) rotate(10)'/><text x='8' y='8'>heron</text></svg>";

static dt_status analyse(dt_analysis **out, dt_error *error) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.two_sided = true;
    settings.colours = 2;
    settings.steps = 3000;
    settings.speed_mm_per_s = 12;
    return dt_analyse_memory("reeds.svg", drawing, sizeof drawing - 1, &settings, NULL, out, error);
}

static dt_analysis *analyse_well(void) {
    dt_analysis *a = NULL;
    dt_error error = {0};
    ck_assert_msg(analyse(&a, &error) == DT_OK, "%s", error.message);
    ck_assert_uint_gt(dt_pieces_count(dt_analysis_pieces(a)), 6);
    ck_assert_uint_gt(dt_pieces_fault_count(dt_analysis_pieces(a)), 2);
    return a;
}

static dt_status summary(const dt_analysis *a, dt_text *out) {
    dt_report_summary(a, out);
    dt_report_check(a, out);
    dt_report_miniature(a, out);
    return DT_OK;
}

static dt_status tag(const dt_analysis *a, dt_text *out) {
    return dt_report_tag(a, NULL, DT_TAG_SVG, out);
}

static dt_status cut_file(const dt_analysis *a, dt_text *out) {
    const dt_piece_id ids[] = {{0}, {3}, {0}};
    return dt_report_cut_file(dt_analysis_pieces(a), ids, 3, 0.1, out, NULL);
}

typedef dt_status report(const dt_analysis *a, dt_text *out);
static report *const reports[] = {summary, dt_report_json, dt_report_svg, dt_report_html, dt_report_csv, tag, cut_file};
enum { REPORTS = sizeof reports / sizeof *reports };

memory_needs memory_draft_needs(void) {
    memory_needs needs;
    failing_begin(0, false);
    dt_analysis *a = analyse_well();
    needs.analysis = failing_end();
    needs.reports = 0;
    for (int i = 0; i < REPORTS; i++) {
        dt_text text = DT_TEXT_EMPTY;
        failing_begin(0, false);
        ck_assert_int_eq(reports[i](a, &text), DT_OK);
        size_t count = failing_end();
        if (count > needs.reports) needs.reports = count;
        dt_text_free(&text);
    }
    dt_analysis_free(a);
    return needs;
}

void memory_draft_analyse(size_t nth, bool lasting) {
    dt_analysis *well = analyse_well(), *a = NULL;
    dt_error error = {0};
    failing_begin(nth, lasting);
    dt_status status = analyse(&a, &error);
    failing_end();
    if (status == DT_OK) {
        dt_text expected = DT_TEXT_EMPTY, text = DT_TEXT_EMPTY;
        ck_assert(dt_report_json(well, &expected) == DT_OK && dt_report_json(a, &text) == DT_OK);
        ck_assert_msg(strcmp(expected.bytes, text.bytes) == 0, "allocation %zu: a wrong answer in place of no memory",
                      nth);
        dt_text_free(&expected);
        dt_text_free(&text);
        dt_analysis_free(a);
    } else {
        ck_assert_msg(status == DT_NO_MEMORY, "allocation %zu: status %d, %s", nth, status, error.message);
        ck_assert(a == NULL && strstr(error.message, "reeds.svg") && strstr(error.message, "memory"));
    }
    ck_assert_msg(failing_left_over() == 0, "allocation %zu: %ld blocks left over", nth, failing_left_over());
    dt_analysis_free(well);
}

void memory_draft_report(size_t nth, bool lasting) {
    dt_analysis *a = analyse_well();
    for (int i = 0; i < REPORTS; i++) {
        dt_text expected = DT_TEXT_EMPTY, text = DT_TEXT_EMPTY;
        ck_assert_int_eq(reports[i](a, &expected), DT_OK);
        failing_begin(nth, lasting);
        dt_status status = reports[i](a, &text);
        failing_end();
        ck_assert_msg(status == DT_OK || status == DT_NO_MEMORY, "report %d, allocation %zu: status %d", i, nth,
                      status);
        if (status == DT_OK && !text.failed)
            ck_assert_msg(strcmp(expected.bytes, text.bytes) == 0, "report %d, allocation %zu: wrong bytes", i, nth);
        dt_text_free(&text);
        ck_assert_msg(failing_left_over() == 0, "report %d, allocation %zu: %ld blocks left over", i, nth,
                      failing_left_over());
        dt_text_free(&expected);
    }
    dt_analysis_free(a);
}
