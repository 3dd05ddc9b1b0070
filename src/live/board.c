/* The board. A WATCHER looks through the folder whenever something happens there (and once a second in any case); an
 * ANALYST analyses what is new: drops first, then the smallest file, so that a large draft never keeps the others
 * waiting: it is put off for them, at most MOST_PUT_OFFS times before it is shown. A save that overtakes its own
 * analysis puts it off once; saved faster than that, each analysis is shown though a newer save is there already. A
 * first, short search for other assemblies shows a save soon; where that leaves the question open, the whole search
 * runs when nothing else is to be done. Invariants: cards and drops change only under the lock; one analysis runs at a
 * time (igraph keeps state of its own); a file is analysed once its save is over: the system has told that it was
 * closed or moved there, or its size and time have stood still for SETTLE_MS, so that half a save is not read; what was
 * put off is thrown away. */
#include "board.h"

#include "base/array.h"
#include "folder_watch.h"
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

enum { LOOK_MS = 1000, SETTLE_MS = 60, MOST_CARDS = 2000, MOST_DROPS = 16, MOST_PUT_OFFS = 3 };
static const uint64_t FIRST_STEPS =
    4000; /* of the first search: some hundredths of a second; what it leaves open is searched next */
static const off_t MUCH_SMALLER = 4; /* a file this many times smaller than the one under way goes before it */

typedef struct stamp {
    struct timespec time;
    off_t size;
    ino_t inode;
} stamp;

typedef struct card {
    card_view view;
    stamp seen, analysed;
    bool is_there;     /* met in the look through the folder that is under way */
    bool over;         /* the system has told that the save is over */
    bool due;          /* saved, and the save is over */
    bool open;         /* the first search left the question of other assemblies open */
    unsigned put_offs; /* since a save was shown */
} card;

typedef struct drop {
    char *name;
    dt_text bytes;
    drop_listener *listener;
    void *context;
} drop;

/* What the analyst does next: a drop, or a card's file. */
typedef struct job {
    bool is_drop;
    drop drop;
    char name[256];
    stamp when;
    bool whole; /* with all steps */
} job;

struct board {
    char *folder;
    dt_settings settings;
    board_listener *listener;
    void *context;
    pthread_t watcher, analyst;
    bool watching, analysing;
    pthread_mutex_t lock;
    pthread_cond_t more_to_do;
    DT_ARRAY(card) cards;
    DT_ARRAY(drop) drops;
    uint64_t version;
    bool folder_is_there;
    int wake[2];
    atomic_bool ending, put_off;
    const job *busy; /* under the lock */
    char work[64];   /* only the analyst's: what was told last */
    atomic_bool stopped; /* only the analyst's and its stages': the analysis was told to stop */
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
    draft_view_drop(&view->draft);
}

static card_view held(const card *c) {
    card_view view = c->view;
    view.draft = draft_view_hold(&c->view.draft);
    return view;
}

static int compare_cards(const void *a, const void *b) {
    return strcmp(((const card *)a)->view.name, ((const card *)b)->view.name);
}

static int compare_name(const void *name, const void *c) {
    return strcmp(name, ((const card *)c)->view.name);
}

/* Among the first `count` cards, which are sorted. Under the lock. */
static card *find_card(board *b, const char *name, size_t count) {
    return count ? bsearch(name, b->cards.items, count, sizeof(card), compare_name) : NULL;
}

static void tell(board *b, const char *name, uint64_t version) {
    b->listener(b->context, &(board_news){.name = name, .version = version});
}

/* ---- reading and analysing ---- */

static bool should_stop(void *context) {
    board *b = context;
    if (!atomic_load(&b->ending) && !atomic_load(&b->put_off)) return false;
    atomic_store(&b->stopped, true);
    return true;
}

/* Says how far the work on a card's file is, in steps that people can follow. */
static void on_progress(void *context, const char *stage, double fraction) {
    enum { STEP_PERCENT = 5 };
    board *b = context;
    char words[sizeof b->work];
    int percent = fraction < 0 ? 0 : (int)(100 * fraction) / STEP_PERCENT * STEP_PERCENT;
    snprintf(words, sizeof words, percent > 0 ? "%.50s, %d %%" : "%.50s", stage, percent);
    if (strcmp(words, b->work) == 0 || b->busy->is_drop) return;
    memcpy(b->work, words, sizeof words);
    pthread_mutex_lock(&b->lock);
    card *c = find_card(b, b->busy->name, b->cards.count);
    if (c) memcpy(c->view.work, words, sizeof words);
    pthread_mutex_unlock(&b->lock);
    b->listener(b->context, &(board_news){.name = b->busy->name, .work = words});
}

static dt_status read_open_file(int descriptor, dt_text *out, dt_error *error) {
    struct stat facts;
    if (fstat(descriptor, &facts) != 0)
        return dt_fail(error, DT_CANNOT_READ, "the file cannot be opened: %s", strerror(errno));
    if (!S_ISREG(facts.st_mode)) return dt_fail(error, DT_CANNOT_READ, "this is no plain file");
    char block[1 << 16];
    for (ssize_t got; (got = read(descriptor, block, sizeof block)) != 0;) {
        if (got < 0 && errno == EINTR) continue;
        if (got < 0) return dt_fail(error, DT_CANNOT_READ, "the file cannot be read: %s", strerror(errno));
        if (out->length + (size_t)got > DT_DRAWING_MOST_BYTES)
            return dt_fail(error, DT_TOO_LARGE, "the file is larger than %u MB", DT_DRAWING_MOST_BYTES >> 20);
        dt_text_add_bytes(out, block, (size_t)got);
    }
    return out->failed ? dt_fail(error, DT_NO_MEMORY, "no memory left to read the file") : DT_OK;
}

/* Does not follow a link, and does not wait for what is no file. */
static dt_status read_plain_file(const char *path, dt_text *out, dt_error *error) {
    int descriptor = open(path, O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC);
    if (descriptor < 0) return dt_fail(error, DT_CANNOT_READ, "the file cannot be opened: %s", strerror(errno));
    dt_status status = read_open_file(descriptor, out, error);
    close(descriptor);
    return status;
}

static dt_status analyse(board *b, const char *name, const dt_text *bytes, bool whole, dt_analysis **out,
                         dt_error *error) {
    dt_settings settings = b->settings;
    const dt_watch watch = {.progress = on_progress, .stop = should_stop, .context = b};
    if (!whole && settings.steps > FIRST_STEPS) settings.steps = FIRST_STEPS;
    return dt_analyse_memory(name, bytes->bytes ? bytes->bytes : "", bytes->length, &settings, &watch, out, error);
}

/* Did the first search end before it could tell? */
static bool is_open(const board *b, const dt_analysis *a) {
    const dt_assembly *assembly = dt_analysis_assembly(a);
    bool unknown = assembly->verdict == DT_UNDECIDED || (b->settings.count && !assembly->exact);
    return unknown && b->settings.steps > FIRST_STEPS;
}

/* What has come of a card's file. */
typedef struct result {
    draft_view draft;
    uint64_t version;
    bool open;
} result;

static dt_status analyse_file(board *b, const job *j, result *out, dt_error *error) {
    dt_text path = DT_TEXT_EMPTY, bytes = DT_TEXT_EMPTY;
    dt_analysis *a = NULL;
    dt_text_addf(&path, "%s/%s", b->folder, j->name);
    dt_status status =
        path.failed ? dt_fail(error, DT_NO_MEMORY, "no memory left") : read_plain_file(path.bytes, &bytes, error);
    if (status == DT_OK) status = analyse(b, j->name, &bytes, j->whole, &a, error);
    if (status == DT_OK) status = draft_view_new(a, out->version, &out->draft, error);
    if (status == DT_OK) out->open = !j->whole && is_open(b, a);
    dt_analysis_free(a);
    dt_text_free(&bytes);
    dt_text_free(&path);
    return status;
}

/* ---- the analyst ---- */

/* Puts a result on the card. A broken save leaves the last good page; a whole search that fails leaves the first one's.
 * Under the lock. */
static void settle_card(card *c, const job *j, result *fresh, const dt_error *error) {
    bool newer = !same_stamp(c->seen, j->when);
    c->analysed = j->when;
    c->due = c->due && newer;
    c->put_offs = 0;
    c->open = fresh->open && !newer;
    c->view.busy = fresh->open || newer;
    if (error && j->whole) return;
    c->view.version = fresh->version;
    c->view.state = error ? CARD_BROKEN : CARD_READY;
    if (error) {
        memcpy(c->view.reason, error->message, sizeof c->view.reason);
        return;
    }
    draft_view_drop(&c->view.draft);
    c->view.draft = draft_view_hold(&fresh->draft);
}

/* NULL when its file is gone. Under the lock. */
static card *card_of(board *b, const job *j) {
    return find_card(b, j->name, b->cards.count);
}

static void do_card(board *b, const job *j) {
    dt_error error = {0};
    result fresh = {0};
    pthread_mutex_lock(&b->lock);
    card *c = card_of(b, j);
    if (c) c->view.busy = true;
    uint64_t version = c ? c->view.version : 0;
    fresh.version = ++b->version; /* the page carries it */
    pthread_mutex_unlock(&b->lock);
    tell(b, j->name, version);
    dt_status status = analyse_file(b, j, &fresh, &error);
    pthread_mutex_lock(&b->lock);
    c = card_of(b, j);
    if (c) c->view.work[0] = '\0';
    /* what cannot be read may be half of the newer save */
    bool settled = c && !atomic_load(&b->stopped) && (status == DT_OK || same_stamp(c->seen, j->when));
    if (settled)
        settle_card(c, j, &fresh, status == DT_OK ? NULL : &error);
    else if (c && !j->whole)
        c->put_offs++;
    version = c ? c->view.version : 0;
    pthread_mutex_unlock(&b->lock);
    if (settled) tell(b, j->name, version);
    draft_view_drop(&fresh.draft);
}

static void do_drop(board *b, drop *d) {
    dt_analysis *a = NULL;
    dt_error error = {0};
    shared_text *page = NULL;
    dt_status status = atomic_load(&b->ending) ? dt_fail(&error, DT_STOPPED, "the program has ended")
                                               : analyse(b, d->name, &d->bytes, false, &a, &error);
    if (status == DT_OK && !atomic_load(&b->stopped)) page = draft_view_dropped(a);
    if (status == DT_OK && !page) dt_fail(&error, DT_NO_MEMORY, "no memory left to show \"%s\"", d->name);
    d->listener(d->context, page, &error);
    dt_analysis_free(a);
    dt_text_free(&d->bytes);
    free(d->name);
}

/* The smallest file that is due, or else, if all steps are wanted, the smallest whose question is open. Under the lock.
 */
static card *smallest_card(board *b, bool open) {
    card *best = NULL;
    for (size_t i = 0; i < b->cards.count; i++) {
        card *c = &b->cards.items[i];
        bool wanted = open ? c->open : c->due;
        if (wanted && (!best || c->seen.size < best->seen.size)) best = c;
    }
    return best;
}

/* Under the lock. */
static bool choose_job(board *b, job *out) {
    if (b->drops.count) {
        *out = (job){.is_drop = true, .drop = b->drops.items[0]};
        memmove(b->drops.items, b->drops.items + 1, --b->drops.count * sizeof(drop));
        return true;
    }
    if (atomic_load(&b->ending)) return false;
    card *due = smallest_card(b, false), *c = due ? due : smallest_card(b, true);
    if (!c) return false;
    *out = (job){.when = c->seen, .whole = !due};
    memcpy(out->name, c->view.name, sizeof out->name);
    return true;
}

static void *analyst_thread(void *argument) {
    board *b = argument;
    job j;
    pthread_mutex_lock(&b->lock);
    for (;;) {
        if (!choose_job(b, &j)) {
            if (atomic_load(&b->ending)) break;
            pthread_cond_wait(&b->more_to_do, &b->lock);
            continue;
        }
        b->busy = &j;
        atomic_store(&b->stopped, false);
        b->work[0] = '\0';
        atomic_store(&b->put_off, false);
        pthread_mutex_unlock(&b->lock);
        if (j.is_drop)
            do_drop(b, &j.drop);
        else
            do_card(b, &j);
        pthread_mutex_lock(&b->lock);
        b->busy = NULL;
    }
    pthread_mutex_unlock(&b->lock);
    return NULL;
}

/* Is what the analyst does out of date, or should it wait? Under the lock. */
static bool should_put_off(board *b) {
    const job *busy = b->busy;
    if (!busy || busy->is_drop) return false;
    const card *c = card_of(b, busy), *due = smallest_card(b, false);
    if (!c) return true;
    if (busy->whole) return due || b->drops.count || !same_stamp(c->seen, busy->when);
    if (c->put_offs >= MOST_PUT_OFFS) return false;
    if (c->due && !same_stamp(c->seen, busy->when) && c->put_offs == 0) return true;
    return b->drops.count || (due && due != c && due->seen.size * MUCH_SMALLER <= c->seen.size);
}

/* After something has become due. Under the lock. */
static void call_analyst(board *b) {
    if (should_put_off(b)) atomic_store(&b->put_off, true);
    pthread_cond_signal(&b->more_to_do);
}

/* ---- the watcher ---- */

static card *new_card(board *b, const char *name) {
    if (b->cards.count >= MOST_CARDS || !dt_array_push(&b->cards, (card){.view = {.state = CARD_WAITING}})) return NULL;
    card *c = &b->cards.items[b->cards.count - 1];
    snprintf(c->view.name, sizeof c->view.name, "%s", name);
    return c;
}

/* The first `known` cards are sorted; true when a card was added. */
static bool meet_file(board *b, const char *path, size_t known) {
    const char *name = strrchr(path, '/') ? strrchr(path, '/') + 1 : path;
    stamp now;
    if (strlen(name) >= sizeof((card_view *)0)->name || !read_stamp(path, &now)) return false;
    card *c = find_card(b, name, known);
    bool is_new = !c;
    if (!c) c = new_card(b, name);
    if (!c) return false;
    c->is_there = true;
    if (!same_stamp(c->seen, now)) c->over = false;
    c->seen = now;
    return is_new;
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

/* Brings the list of cards in line with the files. Under the lock. */
static bool take_stock(board *b, char **files, size_t count) {
    bool came = false;
    size_t known = b->cards.count;
    for (size_t i = 0; i < known; i++) b->cards.items[i].is_there = false;
    for (size_t i = 0; i < count; i++) came |= meet_file(b, files[i], known);
    bool went = drop_missing(b);
    if (b->cards.count) qsort(b->cards.items, b->cards.count, sizeof(card), compare_cards);
    return came || went;
}

/* The names of files whose saves are over, each with its closing zero. */
static void note_saved(void *context, const char *name) {
    dt_text_add_bytes(context, name, strlen(name) + 1);
}

/* Under the lock. */
static void mark_over(board *b, dt_text *names) {
    for (size_t at = 0; !names->failed && at < names->length; at += strlen(names->bytes + at) + 1) {
        card *c = find_card(b, names->bytes + at, b->cards.count);
        if (c) c->over = true;
    }
    dt_text_free(names);
}

static bool stands_still(const card *c, struct timespec now) {
    double age_ms =
        1e3 * (double)(now.tv_sec - c->seen.time.tv_sec) + 1e-6 * (double)(now.tv_nsec - c->seen.time.tv_nsec);
    return age_ms < 0 || age_ms >= SETTLE_MS;
}

/* Marks what has been saved; true when some save is so fresh that it may not be over. Under the lock. */
static bool mark_due(board *b) {
    bool wait = false, any = false;
    struct timespec now;
    clock_gettime(CLOCK_REALTIME, &now);
    for (size_t i = 0; i < b->cards.count; i++) {
        card *c = &b->cards.items[i];
        c->due = false;
        if (same_stamp(c->seen, c->analysed)) continue;
        c->due = c->over || stands_still(c, now);
        c->open = false;
        wait |= !c->due;
        any |= c->due;
    }
    if (any || b->busy) call_analyst(b);
    return wait;
}

static bool look_through(board *b, dt_text *saved) {
    char **files = NULL;
    size_t count = 0;
    bool is_there = dt_draft_list(b->folder, &files, &count, NULL) == DT_OK;
    pthread_mutex_lock(&b->lock);
    bool changed = take_stock(b, files, count) || is_there != b->folder_is_there;
    mark_over(b, saved);
    bool wait = mark_due(b);
    b->folder_is_there = is_there;
    uint64_t version = changed ? ++b->version : 0;
    pthread_mutex_unlock(&b->lock);
    if (files) dt_draft_list_free(files, count);
    if (changed) tell(b, NULL, version);
    return wait;
}

static void *watcher_thread(void *argument) {
    board *b = argument;
    int watch = folder_watch_new(b->folder);
    bool was_there = true;
    dt_text saved = DT_TEXT_EMPTY;
    while (!atomic_load(&b->ending)) {
        bool wait = look_through(b, &saved), is_there = board_folder_is_there(b);
        if (watch < 0 || is_there != was_there) { /* a folder that has come back is another one */
            folder_watch_free(watch);
            watch = folder_watch_new(b->folder);
        }
        was_there = is_there;
        folder_watch_wait(watch, b->wake[0], wait ? SETTLE_MS : LOOK_MS, note_saved, &saved);
    }
    dt_text_free(&saved);
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
    card *c = find_card(b, name, b->cards.count);
    if (c) *out = held(c);
    pthread_mutex_unlock(&b->lock);
    return c != NULL;
}

bool board_drop(board *b, const char *name, dt_text *bytes, drop_listener *listener, void *context) {
    drop d = {strdup(name), *bytes, listener, context};
    pthread_mutex_lock(&b->lock);
    bool taken = d.name && !atomic_load(&b->ending) && b->drops.count < MOST_DROPS && dt_array_push(&b->drops, d);
    if (taken) {
        *bytes = (dt_text)DT_TEXT_EMPTY;
        call_analyst(b);
    }
    pthread_mutex_unlock(&b->lock);
    if (!taken) free(d.name);
    return taken;
}

/* ---- beginning and ending ---- */

static bool make_wake_pipe(int ends[2]) {
    if (pipe(ends) != 0) return false;
    for (int i = 0; i < 2; i++) {
        fcntl(ends[i], F_SETFL, O_NONBLOCK);
        fcntl(ends[i], F_SETFD, FD_CLOEXEC);
    }
    return true;
}

/* Versions of a later run must be higher, or a page that was left open would take a new state for the one that it
 * shows: the milliseconds since 1970 outrun the versions of any run. */
static uint64_t first_version(void) {
    struct timespec now;
    clock_gettime(CLOCK_REALTIME, &now);
    return (uint64_t)now.tv_sec * 1000u + (uint64_t)now.tv_nsec / 1000000u;
}

void board_end(board *b) {
    if (!b) return;
    pthread_mutex_lock(&b->lock);
    atomic_store(&b->ending, true);
    pthread_cond_signal(&b->more_to_do);
    pthread_mutex_unlock(&b->lock);
    if (b->wake[1] >= 0) (void)!write(b->wake[1], "!", 1);
    if (b->watching) pthread_join(b->watcher, NULL);
    if (b->analysing) pthread_join(b->analyst, NULL);
    b->watching = b->analysing = false;
}

void board_free(board *b) {
    if (!b) return;
    for (size_t i = 0; i < b->cards.count; i++) card_view_drop(&b->cards.items[i].view);
    dt_array_free(&b->cards);
    dt_array_free(&b->drops);
    pthread_mutex_destroy(&b->lock);
    pthread_cond_destroy(&b->more_to_do);
    for (int i = 0; i < 2; i++)
        if (b->wake[i] >= 0) close(b->wake[i]);
    free(b->folder);
    free(b);
}

dt_status board_new(const char *folder, const dt_settings *settings, board_listener *listener, void *context,
                    board **out, dt_error *error) {
    struct stat facts;
    if (stat(folder, &facts) != 0)
        return dt_fail(error, DT_CANNOT_READ, "\"%s\" cannot be opened: %s", folder, strerror(errno));
    if (!S_ISDIR(facts.st_mode))
        return dt_fail(error, DT_CANNOT_READ, "\"%s\" is no folder; name the folder that holds the drafts", folder);
    board *b = calloc(1, sizeof *b);
    if (!b) return dt_fail(error, DT_NO_MEMORY, "no memory left");
    *b = (board){.folder = strdup(folder),
                 .settings = *settings,
                 .listener = listener,
                 .context = context,
                 .wake = {-1, -1},
                 .version = first_version()};
    pthread_mutex_init(&b->lock, NULL);
    pthread_cond_init(&b->more_to_do, NULL);
    if (b->folder && make_wake_pipe(b->wake)) {
        b->watching = pthread_create(&b->watcher, NULL, watcher_thread, b) == 0;
        b->analysing = pthread_create(&b->analyst, NULL, analyst_thread, b) == 0;
    }
    if (!b->watching || !b->analysing) {
        board_end(b);
        board_free(b);
        return dt_fail(error, DT_NO_MEMORY, "no memory left to watch \"%s\"", folder);
    }
    *out = b;
    return DT_OK;
}
