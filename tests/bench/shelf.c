/* A shelf of seeded drafts, every one different (200 of 100 pieces unless told otherwise: shelf DRAFTS ROWS COLUMNS),
 * rated cold and found again; and some of the same drafts analysed one after the other without a shelf, so that what
 * the shelf adds is seen. Seconds are this machine's; the ratio of processor time to plain analyses is what to compare.
 */
#include "draft.h"
#include <dovetell/report.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <time.h>
#include <unistd.h>

enum { MOST_ALONE = 20 };

typedef struct stage {
    char folder[64], store[96];
    unsigned drafts, rows, columns;
} stage;

typedef struct seconds {
    double wall, processor;
} seconds;

static seconds now(int who) {
    struct timespec t;
    struct rusage used;
    clock_gettime(CLOCK_MONOTONIC, &t);
    getrusage(who, &used);
    return (seconds){(double)t.tv_sec + 1e-9 * (double)t.tv_nsec,
                     (double)(used.ru_utime.tv_sec + used.ru_stime.tv_sec) +
                         1e-6 * (double)(used.ru_utime.tv_usec + used.ru_stime.tv_usec)};
}

static void give_up(const char *what) {
    fprintf(stderr, "bench: %s\n", what);
    exit(1);
}

static void draft_path(const stage *s, unsigned number, char *path, size_t size) {
    snprintf(path, size, "%s/sheet-%03u.svg", s->folder, number);
}

static void set_stage(stage *s) {
    snprintf(s->folder, sizeof s->folder, "/tmp/dovetell-bench-XXXXXX");
    if (!mkdtemp(s->folder)) give_up("no folder");
    snprintf(s->store, sizeof s->store, "%s/stored", s->folder);
    for (unsigned i = 0; i < s->drafts; i++) {
        char path[160];
        draft *d = draft_new();
        dt_text svg = DT_TEXT_EMPTY;
        draft_knobbed_sheet(d, s->rows, s->columns, 20.0, 1000 + i, false);
        draft_svg(d, 5.0, &svg);
        draft_path(s, i, path, sizeof path);
        if (svg.failed || dt_file_write(path, svg.bytes, svg.length, NULL) != DT_OK)
            give_up("a draft could not be written");
        dt_text_free(&svg);
        draft_free(d);
    }
}

static seconds rate_shelf(const stage *s, size_t *stored) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    const dt_shelf_options options = {0, s->store, dt_report_miniature};
    char **files = NULL;
    size_t count = 0;
    dt_shelf *shelf = NULL;
    dt_error error = {0};
    seconds from = now(RUSAGE_CHILDREN);
    if (dt_draft_list(s->folder, &files, &count, &error) != DT_OK) give_up(error.message);
    if (dt_shelf_new((const char *const *)files, count, &settings, &options, NULL, &shelf, &error) != DT_OK)
        give_up(error.message);
    seconds to = now(RUSAGE_CHILDREN);
    if (dt_shelf_count(shelf) != s->drafts || dt_shelf_unreadable(shelf)) give_up("a draft is missing");
    for (size_t i = *stored = 0; i < count; i++) *stored += dt_shelf_row_at(shelf, i)->stored;
    dt_shelf_free(shelf);
    dt_draft_list_free(files, count);
    return (seconds){to.wall - from.wall, to.processor - from.processor};
}

static seconds analyse_alone(const stage *s, unsigned drafts) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    seconds from = now(RUSAGE_SELF);
    for (unsigned i = 0; i < drafts; i++) {
        char path[160];
        dt_analysis *a = NULL;
        dt_error error = {0};
        draft_path(s, i, path, sizeof path);
        if (dt_analyse(path, &settings, NULL, &a, &error) != DT_OK) give_up(error.message);
        dt_analysis_free(a);
    }
    seconds to = now(RUSAGE_SELF);
    return (seconds){to.wall - from.wall, to.processor - from.processor};
}

int main(int argc, char **argv) {
    stage s = {.drafts = argc > 1 ? (unsigned)atoi(argv[1]) : 200,
               .rows = argc > 3 ? (unsigned)atoi(argv[2]) : 10,
               .columns = argc > 3 ? (unsigned)atoi(argv[3]) : 10};
    if (s.drafts == 0 || s.rows == 0 || s.columns == 0) give_up("usage: shelf [DRAFTS [ROWS COLUMNS]]");
    set_stage(&s);
    size_t stored_cold, stored_warm;
    unsigned alone = s.drafts < MOST_ALONE ? s.drafts : MOST_ALONE;
    seconds plain = analyse_alone(&s, alone), cold = rate_shelf(&s, &stored_cold), warm = rate_shelf(&s, &stored_warm);
    double each = plain.processor / alone, own = cold.processor / s.drafts;
    printf("shelf of %u drafts of %u pieces: %.2f s (%.2f s of processor time); found again %.2f s (%zu stored)\n",
           s.drafts, s.rows * s.columns, cold.wall, cold.processor, warm.wall, stored_warm);
    printf("a draft: %.3f s of processor time on the shelf, %.3f s analysed alone (%u drafts), ratio %.2f\n", own, each,
           alone, own / each);
    char command[160];
    snprintf(command, sizeof command, "rm -rf '%s'", s.folder);
    return system(command) == 0 && stored_cold == 0 && stored_warm == s.drafts ? 0 : 1;
}
