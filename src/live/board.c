/* The board: a thread looks through the folder whenever something happens there (and once a second in any case), and analyses what is
 * new. Invariants: cards change only under the lock; one analysis runs at a time (the libraries below keep state of their own), under the
 * lock `analysing`; a file is analysed once its size and time have stood still for SETTLE_MS, so that half a save is not read. */
#include "board.h"

#include "base/array.h"
#include "folder_watch.h"
#include "pages.h"
#include "report/page.h"
#include <dovetell/report.h>
#include <dovetell/shelf.h>
#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

enum { LOOK_MS = 1000, SETTLE_MS = 60, MOST_CARDS = 2000 };

typedef struct stamp {
    struct timespec time;
    off_t size;
    ino_t inode;
} stamp;

typedef struct card {
    card_view view;
    stamp seen, analysed;
    bool is_there;             /* met in the look through the folder that is under way */
} card;

struct board {
    char *folder;
    dt_settings settings;
    board_listener *listener;
    void *context;
    pthread_t thread;
    pthread_mutex_t lock, analysing;
    DT_ARRAY(card) cards;
    uint64_t version;
    bool folder_is_there;
    int wake[2];
    atomic_bool ending;
    /* of the analysis under way, for the question whether to stop it */
    const char *busy_path;
    stamp busy_stamp;
};

static bool same_stamp(stamp a, stamp b) {
    return a.size == b.size && a.inode == b.inode && a.time.tv_sec == b.time.tv_sec && a.time.tv_nsec == b.time.tv_nsec;
}

/* The stamp of a plain file; links are not followed. */
static bool read_stamp(const char *path, stamp *out) {
    struct stat facts;
    if (lstat(path, &facts) != 0 || !S_ISREG(facts.st_mode)) return false;
    *out = (stamp){facts.st_mtim, facts.st_size, facts.st_ino};
    return true;
}

void card_view_drop(card_view *view) {
    shared_text_drop(view->page);
    shared_text_drop(view->picture);
    view->page = view->picture = NULL;
}

static card_view held(const card *c) {
    card_view view = c->view;
    shared_text_hold(view.page);
    shared_text_hold(view.picture);
    return view;
}

/* Under the lock. */
static card *find_card(board *b, const char *name) {
    for (size_t i = 0; i < b->cards.count; i++)
        if (strcmp(b->cards.items[i].view.name, name) == 0) return &b->cards.items[i];
    return NULL;
}

static int compare_cards(const void *a, const void *b) {
    return strcmp(((const card *)a)->view.name, ((const card *)b)->view.name);
}

static void tell(board *b, const char *name, uint64_t version) {
    b->listener(b->context, name, version);
}

/* ---- analysing ---- */

static bool should_stop(void *context) {
    board *b = context;
    stamp now;
    if (atomic_load(&b->ending)) return true;
    return b->busy_path && read_stamp(b->busy_path, &now) && !same_stamp(now, b->busy_stamp);
}

static const char *plural(size_t count) {
    return count == 1 ? "" : "s";
}

static void describe(const dt_analysis *a, card_view *view) {
    const dt_rating *rating = dt_analysis_rating(a);
    size_t pieces = dt_pieces_count(dt_analysis_pieces(a)), faults = dt_pieces_fault_count(dt_analysis_pieces(a));
    snprintf(view->band, sizeof view->band, "%s", dt_band_name(rating->band));
    int used = snprintf(view->line, sizeof view->line, "%zu piece%s, %s (%.0f points)", pieces, plural(pieces), view->band, rating->points);
    if (faults && used > 0 && used < (int)sizeof view->line)
        snprintf(view->line + used, sizeof view->line - (size_t)used, ", %zu fault%s in the lines", faults, plural(faults));
}

/* The page of a draft with the script that follows its saves. */
static void write_page(const dt_analysis *a, uint64_t version, dt_text *out) {
    const page_script follow = {live_follow_script, live_follow_script_length};
    dt_text mark = DT_TEXT_EMPTY;
    add_version_mark(version, &mark);
    page_options options = {.more = &follow, .more_count = 1, .head = mark.bytes, .policy = "connect-src 'self'"};
    if (mark.failed || page_write(a, &options, out) != DT_OK) out->failed = true;
    dt_text_free(&mark);
}

/* Page and picture of an analysis; false when memory ran out. */
static bool draw_view(const dt_analysis *a, card_view *view) {
    dt_text page = DT_TEXT_EMPTY, picture = DT_TEXT_EMPTY;
    write_page(a, view->version, &page);
    dt_report_miniature(a, &picture);
    view->page = shared_text_new(&page);
    view->picture = shared_text_new(&picture);
    describe(a, view);
    if (view->page && view->picture) return true;
    card_view_drop(view);
    return false;
}

/* Reads the file without following a link at its end. */
static dt_status read_plain_file(const char *path, char **bytes, size_t *count, dt_error *error) {
    int descriptor = open(path, O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC);
    struct stat facts;
    if (descriptor < 0 || fstat(descriptor, &facts) != 0 || !S_ISREG(facts.st_mode)) {
        if (descriptor >= 0) close(descriptor);
        return dt_fail(error, DT_CANNOT_READ, "the file cannot be opened: %s", strerror(errno));
    }
    close(descriptor);
    return dt_file_read(path, DT_DRAWING_MOST_BYTES, bytes, count, error);
}

static dt_status analyse_file(board *b, const char *path, const char *name, card_view *out, dt_error *error) {
    char *bytes = NULL;
    size_t count = 0;
    dt_analysis *a = NULL;
    const dt_watch watch = {.stop = should_stop, .context = b};
    dt_status status = read_plain_file(path, &bytes, &count, error);
    pthread_mutex_lock(&b->analysing);
    b->busy_path = path;
    if (status == DT_OK) status = dt_analyse_memory(name, bytes, count, &b->settings, &watch, &a, error);
    if (status == DT_OK && !draw_view(a, out)) status = dt_fail(error, DT_NO_MEMORY, "no memory left to draw \"%s\"", name);
    b->busy_path = NULL;
    dt_analysis_free(a);
    pthread_mutex_unlock(&b->analysing);
    free(bytes);
    return status;
}

/* Puts a result on the card, if it is still there. A broken save leaves the last good page. */
static void settle_card(board *b, const char *name, stamp when, card_view *fresh, const dt_error *error) {
    uint64_t version = 0;
    pthread_mutex_lock(&b->lock);
    card *c = find_card(b, name);
    if (c) {
        c->analysed = when;
        version = c->view.version = fresh->version;
        c->view.state = error ? CARD_BROKEN : CARD_READY;
        if (error) {
            snprintf(c->view.line, sizeof c->view.line, "%s", error->message);
        } else {
            card_view_drop(&c->view);
            c->view.page = shared_text_hold(fresh->page);
            c->view.picture = shared_text_hold(fresh->picture);
            memcpy(c->view.line, fresh->line, sizeof fresh->line);
            memcpy(c->view.band, fresh->band, sizeof fresh->band);
        }
    }
    pthread_mutex_unlock(&b->lock);
    if (version) tell(b, name, version);
}

static void work_on(board *b, const char *name, stamp when) {
    dt_text path = DT_TEXT_EMPTY;
    dt_error error = {0};
    card_view fresh = {0};
    dt_text_addf(&path, "%s/%s", b->folder, name);
    if (path.failed) return;
    b->busy_stamp = when;
    pthread_mutex_lock(&b->lock);
    fresh.version = ++b->version; /* the page carries it */
    pthread_mutex_unlock(&b->lock);
    dt_status status = analyse_file(b, path.bytes, name, &fresh, &error);
    stamp now;
    bool moved_on = read_stamp(path.bytes, &now) && !same_stamp(now, when); /* saved again meanwhile: the next look takes it */
    if (!moved_on && !atomic_load(&b->ending)) settle_card(b, name, when, &fresh, status == DT_OK ? NULL : &error);
    card_view_drop(&fresh);
    dt_text_free(&path);
}

/* ---- looking through the folder ---- */

static void meet_file(board *b, const char *path, bool *came) {
    const char *name = strrchr(path, '/') ? strrchr(path, '/') + 1 : path;
    stamp now;
    if (strlen(name) >= sizeof ((card_view *)0)->name || !read_stamp(path, &now)) return;
    card *c = find_card(b, name);
    if (!c && b->cards.count < MOST_CARDS && dt_array_push(&b->cards, (card){.view = {.state = CARD_WAITING}})) {
        c = &b->cards.items[b->cards.count - 1];
        snprintf(c->view.name, sizeof c->view.name, "%s", name);
        *came = true;
    }
    if (!c) return;
    c->is_there = true;
    c->seen = now;
}

static bool drop_missing(board *b) {
    size_t kept = 0, before = b->cards.count;
    for (size_t i = 0; i < before; i++) {
        card *c = &b->cards.items[i];
        if (c->is_there)
            b->cards.items[kept++] = *c;
        else
            card_view_drop(&c->view);
    }
    b->cards.count = kept;
    return kept != before;
}

/* Brings the list of cards in line with the folder. */
static void look_through(board *b) {
    char **files = NULL;
    size_t count = 0;
    bool is_there = dt_draft_list(b->folder, &files, &count, NULL) == DT_OK, came = false;
    pthread_mutex_lock(&b->lock);
    for (size_t i = 0; i < b->cards.count; i++) b->cards.items[i].is_there = false;
    for (size_t i = 0; i < count; i++) meet_file(b, files[i], &came);
    bool changed = drop_missing(b) || came || is_there != b->folder_is_there;
    if (b->cards.count) qsort(b->cards.items, b->cards.count, sizeof(card), compare_cards);
    b->folder_is_there = is_there;
    uint64_t version = changed ? ++b->version : 0;
    pthread_mutex_unlock(&b->lock);
    if (files) dt_draft_list_free(files, count);
    if (changed) tell(b, NULL, version);
}

/* The first card whose file is newer than its result; *wait is set when it was saved only just now. */
static bool next_to_do(board *b, char name[256], stamp *when, bool *wait) {
    bool found = false;
    struct timespec now;
    clock_gettime(CLOCK_REALTIME, &now);
    pthread_mutex_lock(&b->lock);
    for (size_t i = 0; i < b->cards.count && !found; i++) {
        card *c = &b->cards.items[i];
        if (same_stamp(c->seen, c->analysed)) continue;
        double age_ms = 1e3 * (double)(now.tv_sec - c->seen.time.tv_sec) + 1e-6 * (double)(now.tv_nsec - c->seen.time.tv_nsec);
        if (age_ms >= 0 && age_ms < SETTLE_MS) {
            *wait = true;
            continue;
        }
        memcpy(name, c->view.name, sizeof c->view.name);
        *when = c->seen;
        found = true;
    }
    pthread_mutex_unlock(&b->lock);
    return found;
}

static void *board_thread(void *argument) {
    board *b = argument;
    int watch = folder_watch_new(b->folder);
    while (!atomic_load(&b->ending)) {
        char name[256];
        stamp when;
        bool wait = false;
        look_through(b);
        if (next_to_do(b, name, &when, &wait)) {
            work_on(b, name, when);
            continue;
        }
        if (watch < 0) watch = folder_watch_new(b->folder); /* it may have come back */
        folder_watch_wait(watch, b->wake[0], wait ? SETTLE_MS : LOOK_MS);
    }
    folder_watch_free(watch);
    return NULL;
}

/* ---- for the server ---- */

bool board_folder_is_there(board *b) {
    pthread_mutex_lock(&b->lock);
    bool is_there = b->folder_is_there;
    pthread_mutex_unlock(&b->lock);
    return is_there;
}

size_t board_views(board *b, card_view **out) {
    pthread_mutex_lock(&b->lock);
    size_t count = b->cards.count;
    card_view *views = calloc(count + 1, sizeof *views);
    for (size_t i = 0; views && i < count; i++) views[i] = held(&b->cards.items[i]);
    pthread_mutex_unlock(&b->lock);
    *out = views;
    return views ? count : 0;
}

bool board_view(board *b, const char *name, card_view *out) {
    pthread_mutex_lock(&b->lock);
    card *c = find_card(b, name);
    if (c) *out = held(c);
    pthread_mutex_unlock(&b->lock);
    return c != NULL;
}

static bool is_ending(void *context) {
    return atomic_load(&((board *)context)->ending);
}

shared_text *board_try(board *b, const char *name, const void *bytes, size_t count, dt_error *error) {
    dt_analysis *a = NULL;
    dt_text page = DT_TEXT_EMPTY;
    const dt_watch watch = {.stop = is_ending, .context = b};
    pthread_mutex_lock(&b->analysing);
    dt_status status = dt_analyse_memory(name, bytes, count, &b->settings, &watch, &a, error);
    if (status == DT_OK) status = dt_report_html(a, &page);
    dt_analysis_free(a);
    pthread_mutex_unlock(&b->analysing);
    if (status == DT_OK) return shared_text_new(&page);
    dt_text_free(&page);
    return NULL;
}

static bool make_wake_pipe(int ends[2]) {
    if (pipe(ends) != 0) return false;
    for (int i = 0; i < 2; i++) {
        fcntl(ends[i], F_SETFL, O_NONBLOCK);
        fcntl(ends[i], F_SETFD, FD_CLOEXEC);
    }
    return true;
}

static void board_destroy(board *b) {
    for (size_t i = 0; i < b->cards.count; i++) card_view_drop(&b->cards.items[i].view);
    dt_array_free(&b->cards);
    pthread_mutex_destroy(&b->lock);
    pthread_mutex_destroy(&b->analysing);
    for (int i = 0; i < 2; i++)
        if (b->wake[i] >= 0) close(b->wake[i]);
    free(b->folder);
    free(b);
}

dt_status board_new(const char *folder, const dt_settings *settings, board_listener *listener, void *context, board **out,
                    dt_error *error) {
    struct stat facts;
    if (stat(folder, &facts) != 0) return dt_fail(error, DT_CANNOT_READ, "\"%s\" cannot be opened: %s", folder, strerror(errno));
    if (!S_ISDIR(facts.st_mode)) return dt_fail(error, DT_CANNOT_READ, "\"%s\" is no folder; name the folder that holds the drafts", folder);
    board *b = calloc(1, sizeof *b);
    if (!b) return dt_fail(error, DT_NO_MEMORY, "no memory left");
    *b = (board){.folder = strdup(folder), .settings = *settings, .listener = listener, .context = context, .wake = {-1, -1}};
    pthread_mutex_init(&b->lock, NULL);
    pthread_mutex_init(&b->analysing, NULL);
    if (!b->folder || !make_wake_pipe(b->wake) || pthread_create(&b->thread, NULL, board_thread, b) != 0) {
        board_destroy(b);
        return dt_fail(error, DT_NO_MEMORY, "no memory left to watch \"%s\"", folder);
    }
    *out = b;
    return DT_OK;
}

void board_free(board *b) {
    if (!b) return;
    atomic_store(&b->ending, true);
    (void)!write(b->wake[1], "!", 1);
    pthread_join(b->thread, NULL);
    board_destroy(b);
}
