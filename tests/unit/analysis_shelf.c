/* A shelf of seeded drafts: every draft is a row, hardest first, unreadable ones last with the reason; what was worked
 * out once is found again, and only that. */
#include "draft.h"
#include <check.h>
#include <dovetell/report.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

typedef struct bench {
    char folder[64], store[96];
} bench;

static void write_file(const bench *b, const char *name, const char *text, size_t count) {
    char path[160];
    snprintf(path, sizeof path, "%s/%s", b->folder, name);
    ck_assert_int_eq(dt_file_write(path, text, count, NULL), DT_OK);
}

static void write_sheet(const bench *b, const char *name, unsigned rows, unsigned seed) {
    draft *d = draft_new();
    dt_text svg = DT_TEXT_EMPTY;
    draft_knobbed_sheet(d, rows, 3, 20, seed, false);
    draft_svg(d, 5, &svg);
    write_file(b, name, svg.bytes, svg.length);
    dt_text_free(&svg);
    draft_free(d);
}

static bench bench_new(void) {
    bench b;
    snprintf(b.folder, sizeof b.folder, "/tmp/dovetell-test-XXXXXX");
    ck_assert_ptr_nonnull(mkdtemp(b.folder));
    snprintf(b.store, sizeof b.store, "%s/stored", b.folder);
    write_sheet(&b, "a.svg", 2, 1);
    write_sheet(&b, "b.SVG", 5, 2);
    write_sheet(&b, "c.svg", 3, 3);
    write_file(&b, "d<b>.svg", "no drawing", 10);
    write_file(&b, "notes.txt", "x", 1);
    return b;
}

static void bench_end(const bench *b) {
    char command[160];
    snprintf(command, sizeof command, "rm -rf '%s'", b->folder);
    ck_assert_int_eq(system(command), 0);
}

static dt_shelf *watched_shelf(const bench *b, const dt_settings *settings, unsigned processes, const dt_watch *watch) {
    char **files = NULL;
    size_t count = 0;
    dt_shelf *shelf = NULL;
    dt_error error = {0};
    ck_assert_int_eq(dt_draft_list(b->folder, &files, &count, &error), DT_OK);
    ck_assert_uint_eq(count, 4); /* the text and the folder of stored rows are no drafts */
    const dt_shelf_options options = {processes, b->store, dt_report_miniature};
    ck_assert_msg(dt_shelf_new((const char *const *)files, count, settings, &options, watch, &shelf, &error) == DT_OK,
                  "%s", error.message);
    dt_draft_list_free(files, count);
    return shelf;
}

static dt_shelf *shelf_of(const bench *b, const dt_settings *settings, unsigned processes) {
    return watched_shelf(b, settings, processes, NULL);
}

static size_t stored_rows(const dt_shelf *shelf) {
    size_t count = 0;
    for (size_t i = 0; i < dt_shelf_count(shelf); i++) count += dt_shelf_row_at(shelf, i)->stored;
    return count;
}

START_TEST(hardest_first_and_unreadable_last) {
    bench b = bench_new();
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_shelf *shelf = shelf_of(&b, &settings, 2);
    const uint64_t pieces[] = {15, 9, 6};
    ck_assert_uint_eq(dt_shelf_count(shelf), 4);
    ck_assert_uint_eq(dt_shelf_unreadable(shelf), 1);
    for (size_t i = 0; i < 3; i++) {
        const dt_shelf_row *row = dt_shelf_row_at(shelf, i);
        ck_assert(row->readable && !row->stored);
        ck_assert_uint_eq(row->figures.pieces, pieces[i]);
        ck_assert_ptr_nonnull(strstr(row->picture, "<svg"));
    }
    ck_assert(!dt_shelf_row_at(shelf, 3)->readable);
    ck_assert_ptr_nonnull(strstr(dt_shelf_row_at(shelf, 3)->reason, "d<b>.svg"));
    dt_shelf_free(shelf);
    bench_end(&b);
}
END_TEST

START_TEST(found_again_only_while_nothing_changed) {
    bench b = bench_new();
    dt_settings settings = DT_SETTINGS_DEFAULT, other = settings;
    dt_shelf *shelf = shelf_of(&b, &settings, 1);
    ck_assert_uint_eq(stored_rows(shelf), 0);
    dt_shelf *again = shelf_of(&b, &settings, 3);
    ck_assert_uint_eq(stored_rows(again), 3);
    for (size_t i = 0; i < 4; i++) {
        ck_assert_str_eq(dt_shelf_row_at(shelf, i)->picture, dt_shelf_row_at(again, i)->picture);
        ck_assert_double_eq(dt_shelf_row_at(shelf, i)->figures.points, dt_shelf_row_at(again, i)->figures.points);
    }
    dt_shelf_free(shelf);
    dt_shelf_free(again);
    other.kerf_mm = 0.25;
    shelf = shelf_of(&b, &other, 2);
    ck_assert_uint_eq(stored_rows(shelf), 0);
    dt_shelf_free(shelf);
    write_sheet(&b, "a.svg", 4, 1);
    shelf = shelf_of(&b, &settings, 2);
    ck_assert_uint_eq(stored_rows(shelf), 2);
    dt_shelf_free(shelf);
    bench_end(&b);
}
END_TEST

static bool stop_at_once(void *context) {
    (void)context;
    return true;
}

/* A row that was not worked out is not stored, and says whose it is. */
START_TEST(stopped_rows_are_named_and_not_stored) {
    bench b = bench_new();
    dt_settings settings = DT_SETTINGS_DEFAULT;
    const dt_watch watch = {.stop = stop_at_once};
    dt_shelf *shelf = watched_shelf(&b, &settings, 1, &watch);
    size_t unreadable = dt_shelf_unreadable(shelf);
    ck_assert_uint_ge(unreadable, 1); /* the drawing that is none; drafts in hand are worked out to their end */
    for (size_t i = 4 - unreadable; i < 4; i++) {
        const dt_shelf_row *row = dt_shelf_row_at(shelf, i);
        ck_assert_ptr_nonnull(strstr(row->reason, row->file));
    }
    dt_shelf *again = shelf_of(&b, &settings, 1);
    ck_assert_uint_eq(stored_rows(again), 4 - unreadable);
    ck_assert_uint_eq(dt_shelf_unreadable(again), 1);
    dt_shelf_free(shelf);
    dt_shelf_free(again);
    bench_end(&b);
}
END_TEST

START_TEST(told_on_screen_as_table_and_as_page) {
    bench b = bench_new();
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_shelf *shelf = shelf_of(&b, &settings, 2);
    dt_text screen = DT_TEXT_EMPTY, table = DT_TEXT_EMPTY, page = DT_TEXT_EMPTY;
    dt_report_shelf(shelf, &screen);
    dt_report_shelf_csv(shelf, &table);
    dt_report_shelf_html(shelf, &page);
    ck_assert_ptr_nonnull(strstr(screen.bytes, "b.SVG"));
    ck_assert_ptr_nonnull(strstr(screen.bytes, "Not readable"));
    size_t lines = 0;
    for (const char *s = table.bytes; *s; s++) lines += *s == '\n';
    ck_assert_uint_eq(lines, 5);
    ck_assert_ptr_nonnull(strstr(page.bytes, "d&lt;b&gt;.svg"));
    ck_assert_ptr_null(strstr(page.bytes, "d<b>"));
    ck_assert_ptr_null(strstr(page.bytes, "<script"));
    dt_text_free(&screen);
    dt_text_free(&table);
    dt_text_free(&page);
    dt_shelf_free(shelf);
    bench_end(&b);
}
END_TEST

Suite *suite_analysis_shelf(void);
Suite *suite_analysis_shelf(void) {
    Suite *suite = suite_create("analysis_shelf");
    TCase *cases = tcase_create("shelf");
    tcase_add_test(cases, hardest_first_and_unreadable_last);
    tcase_add_test(cases, found_again_only_while_nothing_changed);
    tcase_add_test(cases, stopped_rows_are_named_and_not_stored);
    tcase_add_test(cases, told_on_screen_as_table_and_as_page);
    suite_add_tcase(suite, cases);
    return suite;
}
