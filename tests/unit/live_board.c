/* The order of the board's work, without a clock: the listener, which the board's threads wait for, saves files while
 * an analysis is just beginning, and lets it go on only when the watcher has seen them. */
#include "live/board.h"

#include <check.h>
#include <fcntl.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define HEAD                                                                                                           \
    "<svg xmlns='http://www.w3.org/2000/svg' width='60mm' height='40mm' viewBox='0 0 60 40' fill='none' stroke='red'>"
static const char TWO_PIECES[] = HEAD "<path d='M5 5h50v30h-50z'/><path d='M30 5v8a4 4 0 1 1 0 8v14'/></svg>";
static const char ONE_PIECE[] = HEAD "<path d='M5 5h50v30h-50z'/></svg>";

enum { MOST_BEGUN = 12 };

typedef struct bench bench;
typedef void on_begin(bench *b, const char *name);

struct bench {
    char folder[64];
    dt_settings settings;
    board *board;
    on_begin *on_begin;         /* called when an analysis begins, by the thread that is going to do it */
    pthread_mutex_t lock;
    pthread_cond_t news;
    unsigned told, lists;       /* all news; times that drafts came or went */
    char order[MOST_BEGUN + 1][64]; /* analyses in the order of their beginning */
    unsigned begun, saves;
    unsigned shown_after;       /* analyses of "reeds.svg" when it was first shown; 0 = it has not been */
};

static void write_draft(const bench *b, const char *name, const char *text) {
    char path[160];
    snprintf(path, sizeof path, "%s/%s", b->folder, name);
    ck_assert_int_eq(dt_file_write(path, text, strlen(text), NULL), DT_OK);
}

/* A draft that takes as many bytes as it is told, so that it counts as large. */
static void write_padded(const bench *b, const char *name, size_t padding) {
    dt_text text = DT_TEXT_EMPTY;
    dt_text_add(&text, TWO_PIECES);
    for (size_t i = 0; i < padding; i++) dt_text_add(&text, "\n");
    ck_assert(!text.failed);
    write_draft(b, name, text.bytes);
    dt_text_free(&text);
}

/* Saves one more file and waits until the watcher has met it, and with it whatever was saved before. */
static void wait_for_watcher(bench *b) {
    char name[32];
    pthread_mutex_lock(&b->lock);
    unsigned before = b->lists;
    pthread_mutex_unlock(&b->lock);
    snprintf(name, sizeof name, "mark-%u.svg", ++b->saves);
    write_padded(b, name, 100000); /* large: it goes last and puts nothing off */
    pthread_mutex_lock(&b->lock);
    while (b->lists == before) pthread_cond_wait(&b->news, &b->lock);
    pthread_mutex_unlock(&b->lock);
}

static void note_begin(bench *b, const char *name) {
    pthread_mutex_lock(&b->lock);
    if (b->begun < MOST_BEGUN) snprintf(b->order[b->begun++], sizeof *b->order, "%s", name);
    bool wanted = b->begun < MOST_BEGUN;
    pthread_mutex_unlock(&b->lock);
    if (wanted && b->on_begin) b->on_begin(b, name);
}

static unsigned times_begun(const bench *b, const char *name) {
    unsigned times = 0;
    for (unsigned i = 0; i < b->begun; i++) times += strcmp(b->order[i], name) == 0;
    return times;
}

static void on_news(void *context, const board_news *news) {
    bench *b = context;
    if (news->work && strcmp(news->work, "reading the drawing") == 0) note_begin(b, news->name);
    if (news->work) return;
    pthread_mutex_lock(&b->lock);
    b->told++;
    if (!news->name) b->lists++;
    else if (news->version && !b->shown_after && strcmp(news->name, "reeds.svg") == 0)
        b->shown_after = times_begun(b, news->name);
    pthread_cond_broadcast(&b->news);
    pthread_mutex_unlock(&b->lock);
}

static void bench_begin(bench *b) {
    *b = (bench){.settings = DT_SETTINGS_DEFAULT};
    pthread_mutex_init(&b->lock, NULL);
    pthread_cond_init(&b->news, NULL);
    snprintf(b->folder, sizeof b->folder, "/tmp/dovetell-test-XXXXXX");
    ck_assert_ptr_nonnull(mkdtemp(b->folder));
}

static void bench_start(bench *b, on_begin *act) {
    dt_error error = {0};
    b->on_begin = act;
    ck_assert_msg(board_new(b->folder, &b->settings, on_news, b, &b->board, &error) == DT_OK, "%s", error.message);
}

static void wait_until_shown(bench *b) {
    pthread_mutex_lock(&b->lock);
    while (!b->shown_after && b->begun < MOST_BEGUN) pthread_cond_wait(&b->news, &b->lock);
    pthread_mutex_unlock(&b->lock);
}

static bool is_done(bench *b, const char *name) {
    card_view view = {0};
    bool done = board_view(b->board, name, &view) && view.state != CARD_WAITING && !view.busy;
    card_view_drop(&view);
    return done;
}

/* Waits until the draft is shown and nothing more is to be done with it. */
static void wait_until_done(bench *b, const char *name) {
    for (;;) {
        pthread_mutex_lock(&b->lock);
        unsigned before = b->told;
        pthread_mutex_unlock(&b->lock);
        if (is_done(b, name)) return;
        pthread_mutex_lock(&b->lock);
        while (b->told == before) pthread_cond_wait(&b->news, &b->lock);
        pthread_mutex_unlock(&b->lock);
    }
}

/* After board_end, when no thread of the board is left. */
static void bench_end(bench *b, const char *const *names, size_t count) {
    char path[160];
    board_free(b->board);
    for (size_t i = 0; i < count; i++) {
        snprintf(path, sizeof path, "%s/%s", b->folder, names[i]);
        unlink(path);
    }
    for (unsigned i = 1; i <= b->saves; i++) {
        snprintf(path, sizeof path, "%s/mark-%u.svg", b->folder, i);
        unlink(path);
    }
    ck_assert_int_eq(rmdir(b->folder), 0);
}

/* ---- saved faster than analysed ---- */

static void save_again(bench *b, const char *name) {
    if (strcmp(name, "reeds.svg") != 0 || b->shown_after) return;
    write_draft(b, name, b->saves % 2 ? TWO_PIECES : ONE_PIECE);
    wait_for_watcher(b);
}

START_TEST(a_draft_that_is_saved_during_each_analysis_is_shown) {
    bench b;
    bench_begin(&b);
    write_draft(&b, "reeds.svg", TWO_PIECES);
    bench_start(&b, save_again);
    wait_until_shown(&b);
    write_draft(&b, "reeds.svg", TWO_PIECES);
    wait_for_watcher(&b);
    wait_until_done(&b, "reeds.svg");
    card_view view = {0};
    ck_assert(board_view(b.board, "reeds.svg", &view));
    ck_assert_ptr_nonnull(strstr(view.draft.line, "2 pieces")); /* the last save */
    card_view_drop(&view);
    board_end(b.board);
    ck_assert_uint_ge(b.shown_after, 1);
    ck_assert_uint_le(b.shown_after, 2); /* the second analysis is not put off any more */
    const char *const names[] = {"reeds.svg"};
    bench_end(&b, names, 1);
}
END_TEST

/* ---- small before large ---- */

START_TEST(small_drafts_go_before_large_ones) {
    const char *const names[] = {"a-large.svg", "b-middling.svg", "c-small.svg"};
    const size_t padding[] = {30000, 10000, 0};
    bench b;
    bench_begin(&b);
    for (size_t i = 0; i < 3; i++) {
        char path[160];
        const struct timespec old[2] = {{1000000000, 0}, {1000000000, 0}}; /* all saves are over at the first look */
        write_padded(&b, names[i], padding[i]);
        snprintf(path, sizeof path, "%s/%s", b.folder, names[i]);
        ck_assert_int_eq(utimensat(AT_FDCWD, path, old, 0), 0);
    }
    bench_start(&b, NULL);
    for (size_t i = 0; i < 3; i++) wait_until_done(&b, names[i]);
    board_end(b.board);
    for (size_t i = 0; i < 3; i++) ck_assert_str_eq(b.order[i], names[2 - i]);
    bench_end(&b, names, 3);
}
END_TEST

static void save_a_small_one(bench *b, const char *name) {
    if (strcmp(name, "reeds.svg") != 0) return;
    char small[32];
    snprintf(small, sizeof small, "small-%u.svg", b->saves);
    write_draft(b, small, ONE_PIECE);
    wait_for_watcher(b);
}

START_TEST(a_large_draft_waits_for_small_saves_but_not_for_ever) {
    const char *const names[] = {"reeds.svg", "small-0.svg", "small-1.svg", "small-2.svg", "small-3.svg"};
    bench b;
    bench_begin(&b);
    write_padded(&b, "reeds.svg", 20000);
    bench_start(&b, save_a_small_one);
    wait_until_done(&b, "reeds.svg");
    board_end(b.board);
    const char *const order[] = {"reeds.svg", "small-0.svg", "reeds.svg", "small-1.svg",
                                 "reeds.svg", "small-2.svg", "reeds.svg"};
    for (size_t i = 0; i < 7; i++) ck_assert_str_eq(b.order[i], order[i]);
    bench_end(&b, names, 5);
}
END_TEST

Suite *suite_live_board(void);
Suite *suite_live_board(void) {
    Suite *suite = suite_create("live_board");
    TCase *cases = tcase_create("order");
    tcase_set_timeout(cases, 60);
    tcase_add_test(cases, a_draft_that_is_saved_during_each_analysis_is_shown);
    tcase_add_test(cases, small_drafts_go_before_large_ones);
    tcase_add_test(cases, a_large_draft_waits_for_small_saves_but_not_for_ever);
    suite_add_tcase(suite, cases);
    return suite;
}
