/* An analysis as page, picture and line. The page is that of `--html` with a script of the server's on top. */
#include "draft_view.h"

#include "pages.h"
#include "report/page.h"
#include "report/words.h"
#include <dovetell/report.h>
#include <stdio.h>

static const char *plural(size_t count) {
    return count == 1 ? "" : "s";
}

static void describe(const dt_analysis *a, draft_view *view) {
    const dt_rating *rating = dt_analysis_rating(a);
    const dt_pieces *pieces = dt_analysis_pieces(a);
    size_t count = dt_pieces_count(pieces);
    dt_text remark = DT_TEXT_EMPTY;
    view->ok = dt_analysis_verdict(a).ok;
    view->wrong = dt_analysis_finds_wrong(a);
    snprintf(view->line, sizeof view->line, "%zu piece%s, %s (%.0f points)", count, plural(count),
             dt_band_name(rating->band), rating->points);
    words_remark(&remark, words_findings_of(a));
    snprintf(view->remark, sizeof view->remark, "%s", remark.failed ? "" : remark.bytes);
    dt_text_free(&remark);
}

static void write_page(const dt_analysis *a, const char *head, dt_text *out) {
    const page_script scripts[] = {{live_drop_script, live_drop_script_length},
                                   {live_follow_script, live_follow_script_length}};
    page_options options = {.more = scripts, .more_count = 2, .head = head, .policy = "connect-src 'self'"};
    if (page_write(a, &options, out) != DT_OK) out->failed = true;
}

dt_status draft_view_new(const dt_analysis *analysis, uint64_t version, draft_view *out, dt_error *error) {
    draft_view view = {0};
    dt_text mark = DT_TEXT_EMPTY, page = DT_TEXT_EMPTY, picture = DT_TEXT_EMPTY;
    add_version_mark(version, &mark);
    write_page(analysis, mark.bytes, &page);
    dt_report_miniature(analysis, &picture);
    if (mark.failed) page.failed = true;
    dt_text_free(&mark);
    view.page = shared_text_new(&page);
    view.picture = shared_text_new(&picture);
    describe(analysis, &view);
    if (!view.page || !view.picture) {
        draft_view_drop(&view);
        return dt_fail(error, DT_NO_MEMORY, "no memory left to draw this draft");
    }
    *out = view;
    return DT_OK;
}

draft_view draft_view_hold(const draft_view *view) {
    shared_text_hold(view->page);
    shared_text_hold(view->picture);
    return *view;
}

void draft_view_drop(draft_view *view) {
    shared_text_drop(view->page);
    shared_text_drop(view->picture);
    view->page = view->picture = NULL;
}

shared_text *draft_view_dropped(const dt_analysis *analysis) {
    dt_text page = DT_TEXT_EMPTY;
    write_page(analysis, NULL, &page);
    return shared_text_new(&page);
}
