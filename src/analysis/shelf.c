/* A whole catalogue, by several processes. Each child takes the next draft's number from shared memory, works it out
 * (or finds it stored) and sends its record through its own pipe; the parent gathers and sorts. Invariant: every draft
 * becomes one row, even when a child dies over it: then the row says so. Processes rather than threads, because the
 * libraries below keep state of their own. */
#include "store.h"

#include "base/array.h"
#include <errno.h>
#include <poll.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/wait.h>
#include <unistd.h>

enum { MOST_PROCESSES = 64 };

struct dt_shelf {
    dt_shelf_row *rows;
    dt_record *records; /* own the rows' texts */
    char **files;
    size_t count;
};

typedef struct job {
    const char *const *files;
    size_t count;
    const dt_settings *settings;
    const dt_shelf_options *options;
    const dt_watch *watch;
    dt_store_context context;
    atomic_size_t *next; /* shared by all processes */
} job;

typedef struct worker {
    pid_t process;
    int from;    /* its pipe; -1 = ended */
    dt_text got; /* bytes that are no whole message yet */
} worker;

/* ---- in a child ---- */

static dt_shelf_figures figures_of(const dt_analysis *a) {
    const dt_pieces *pieces = dt_analysis_pieces(a);
    const dt_rating *rating = dt_analysis_rating(a);
    dt_shelf_figures f;
    memset(&f, 0, sizeof f); /* padding too: the record is digested as bytes */
    f.pieces = dt_pieces_count(pieces);
    for (uint32_t i = 0; i < f.pieces; i++) {
        f.edge_pieces += dt_pieces_get(pieces, (dt_piece_id){i})->edge;
        f.small_parts += dt_pieces_get(pieces, (dt_piece_id){i})->small_part;
    }
    f.whimsies = dt_pieces_whimsy_count(pieces);
    f.puzzles = dt_pieces_puzzle_count(pieces);
    f.faults = dt_pieces_fault_count(pieces) + dt_drawing_lost_count(dt_analysis_drawing(a));
    f.twins = dt_analysis_twin_count(a);
    dt_box box = dt_pieces_box(pieces);
    f.width_mm = box.high.x - box.low.x;
    f.height_mm = box.high.y - box.low.y;
    f.cut_length_mm = dt_net_cut_length(dt_analysis_net(a));
    f.points = rating->points;
    f.low_min = rating->low_min;
    f.median_min = rating->median_min;
    f.high_min = rating->high_min;
    f.band = rating->band;
    f.assembly = dt_analysis_assembly(a)->verdict;
    f.verdict = dt_analysis_verdict(a);
    return f;
}

static bool set_texts(dt_record *record, const char *reason, const char *picture) {
    record->reason = strdup(reason);
    record->picture = strdup(picture);
    return record->reason && record->picture;
}

static bool work_out(const job *j, const char *file, const char *bytes, size_t count, dt_record *record) {
    dt_analysis *a = NULL;
    dt_error error = {0};
    dt_settings settings = *j->settings;
    settings.threads = 1; /* there is a process for each processor */
    if (dt_analyse_memory(file, bytes, count, &settings, NULL, &a, &error) != DT_OK)
        return set_texts(record, error.message, "");
    dt_text picture = DT_TEXT_EMPTY;
    if (j->options->picture) j->options->picture(a, &picture);
    record->readable = true;
    record->figures = figures_of(a);
    bool done = set_texts(record, "", picture.bytes && !picture.failed ? picture.bytes : "");
    dt_text_free(&picture);
    dt_analysis_free(a);
    return done;
}

/* The record of one draft. Unreadable drafts are not stored: the reason names the file, which is not in the key. */
static bool look_up(const job *j, const char *file, dt_record *record) {
    char *bytes = NULL, key[65];
    size_t count = 0;
    dt_error error = {0};
    if (dt_file_read(file, DT_DRAWING_MOST_BYTES, &bytes, &count, &error) != DT_OK)
        return set_texts(record, error.message, "");
    dt_store_key(&j->context, bytes, count, key);
    bool found = j->options->store && dt_store_find(j->options->store, key, record);
    bool done = found || work_out(j, file, bytes, count, record);
    if (done && !found && record->readable && j->options->store) dt_store_keep(j->options->store, key, record);
    free(bytes);
    return done;
}

static bool send_all(int to, const char *bytes, size_t count) {
    while (count > 0) {
        ssize_t sent = write(to, bytes, count);
        if (sent < 0 && errno == EINTR) continue;
        if (sent <= 0) return false;
        bytes += sent;
        count -= (size_t)sent;
    }
    return true;
}

/* A message is the draft's number, whether it was stored, and its record. */
static bool send_record(int to, size_t number, const dt_record *record) {
    dt_text message = DT_TEXT_EMPTY;
    const uint64_t head[2] = {number, record->stored};
    dt_text_add_bytes(&message, head, sizeof head);
    dt_record_write(record, &message);
    bool sent = !message.failed && send_all(to, message.bytes, message.length);
    dt_text_free(&message);
    return sent;
}

static void child_work(const job *j, int to) {
    for (size_t i; (i = atomic_fetch_add(j->next, 1)) < j->count;) {
        dt_record record = {0};
        bool done = look_up(j, j->files[i], &record) && send_record(to, i, &record);
        dt_record_free(&record);
        if (!done) _exit(1);
    }
    _exit(0);
}

/* ---- in the parent ---- */

static bool start_worker(const job *j, worker *w) {
    int ends[2];
    if (pipe(ends) != 0) return false;
    w->process = fork();
    if (w->process == 0) {
        close(ends[0]);
        child_work(j, ends[1]);
    }
    close(ends[1]);
    w->from = ends[0];
    if (w->process > 0) return true;
    close(ends[0]);
    return false;
}

/* Takes whole messages off the front of what a worker has sent. */
static size_t take_messages(worker *w, dt_record *records, size_t count) {
    size_t taken = 0, at = 0;
    uint64_t head[2];
    while (w->got.length - at > sizeof head) {
        dt_record record = {0};
        memcpy(head, w->got.bytes + at, sizeof head);
        size_t size = dt_record_read(w->got.bytes + at + sizeof head, w->got.length - at - sizeof head, &record);
        if (size == 0) break;
        record.stored = head[1] != 0;
        if (head[0] < count && !records[head[0]].reason) {
            records[head[0]] = record;
            taken++;
        } else {
            dt_record_free(&record);
        }
        at += sizeof head + size;
    }
    memmove(w->got.bytes, w->got.bytes + at, w->got.length - at);
    w->got.length -= at;
    return taken;
}

static size_t read_worker(worker *w, dt_record *records, size_t count) {
    static char block[1 << 16];
    ssize_t got = read(w->from, block, sizeof block);
    if (got < 0 && errno == EINTR) return 0;
    if (got <= 0) {
        close(w->from);
        w->from = -1;
        return 0;
    }
    dt_text_add_bytes(&w->got, block, (size_t)got);
    return take_messages(w, records, count);
}

static void gather(const job *j, worker *workers, size_t worker_count, dt_record *records) {
    size_t done = 0;
    for (;;) {
        struct pollfd list[MOST_PROCESSES];
        size_t open = 0;
        for (size_t i = 0; i < worker_count; i++) {
            list[i] = (struct pollfd){.fd = workers[i].from, .events = POLLIN};
            open += workers[i].from >= 0;
        }
        if (open == 0) return;
        if (dt_watch_stopped(j->watch)) atomic_store(j->next, j->count);
        if (poll(list, worker_count, 200) < 0 && errno != EINTR) return;
        for (size_t i = 0; i < worker_count; i++)
            if (workers[i].from >= 0 && list[i].revents) done += read_worker(&workers[i], records, j->count);
        dt_watch_report(j->watch, "rating the shelf", (double)done / (double)j->count);
    }
}

static void end_workers(worker *workers, size_t count) {
    for (size_t i = 0; i < count; i++) {
        if (workers[i].from >= 0) close(workers[i].from);
        while (waitpid(workers[i].process, NULL, 0) < 0 && errno == EINTR) continue;
        dt_text_free(&workers[i].got);
    }
}

static size_t wanted_processes(const job *j) {
    long cores = j->options->processes ? (long)j->options->processes : sysconf(_SC_NPROCESSORS_ONLN);
    size_t wanted = cores < 1 ? 1 : (size_t)cores;
    if (wanted > MOST_PROCESSES) wanted = MOST_PROCESSES;
    return wanted < j->count ? wanted : j->count;
}

static dt_status run_job(job *j, dt_record *records, dt_error *error) {
    worker workers[MOST_PROCESSES] = {0};
    size_t wanted = wanted_processes(j), started = 0;
    fflush(NULL); /* or a child would write what is waiting a second time */
    while (started < wanted && start_worker(j, &workers[started])) started++;
    if (started == 0 && j->count > 0)
        return dt_fail(error, DT_LIBRARY, "no process could be started: %s", strerror(errno));
    gather(j, workers, started, records);
    end_workers(workers, started);
    return DT_OK;
}

static int compare_rows(const void *left, const void *right) {
    const dt_shelf_row *a = left, *b = right;
    if (a->readable != b->readable) return a->readable ? -1 : 1;
    if (a->figures.points != b->figures.points) return a->figures.points > b->figures.points ? -1 : 1;
    return strcmp(a->file, b->file);
}

static bool set_broken_off(dt_record *record, const char *file) {
    dt_error error = {0};
    dt_fail(&error, DT_LIBRARY, "\"%s\": the analysis was stopped or broke off", file);
    return set_texts(record, error.message, "");
}

static bool fill_rows(dt_shelf *shelf, const char *const *files) {
    for (size_t i = 0; i < shelf->count; i++) {
        dt_record *r = &shelf->records[i];
        if (!r->reason && !set_broken_off(r, files[i])) return false;
        shelf->files[i] = strdup(files[i]);
        if (!shelf->files[i]) return false;
        shelf->rows[i] = (dt_shelf_row){shelf->files[i], r->readable, r->stored, r->reason, r->picture, r->figures};
    }
    if (shelf->count) qsort(shelf->rows, shelf->count, sizeof *shelf->rows, compare_rows);
    return true;
}

void dt_shelf_free(dt_shelf *shelf) {
    if (!shelf) return;
    for (size_t i = 0; shelf->records && i < shelf->count; i++) dt_record_free(&shelf->records[i]);
    if (shelf->files) dt_draft_list_free(shelf->files, shelf->count);
    free(shelf->records);
    free(shelf->rows);
    free(shelf);
}

static dt_shelf *shelf_begin(size_t count) {
    dt_shelf *shelf = calloc(1, sizeof *shelf);
    if (!shelf) return NULL;
    shelf->count = count;
    shelf->rows = calloc(count + 1, sizeof *shelf->rows);
    shelf->records = calloc(count + 1, sizeof *shelf->records);
    shelf->files = calloc(count + 1, sizeof *shelf->files);
    if (shelf->rows && shelf->records && shelf->files) return shelf;
    dt_shelf_free(shelf);
    return NULL;
}

dt_status dt_shelf_new(const char *const *files, size_t count, const dt_settings *settings,
                       const dt_shelf_options *options, const dt_watch *watch, dt_shelf **out, dt_error *error) {
    job j = {files, count, settings, options, watch, {.settings = NULL}, MAP_FAILED};
    dt_shelf *shelf = shelf_begin(count);
    dt_status status = shelf ? dt_store_context_read(settings, &j.context, error)
                             : dt_fail(error, DT_NO_MEMORY, "no memory left for %zu drafts", count);
    if (status != DT_OK) goto done;
    j.next = mmap(NULL, sizeof *j.next, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    if (j.next == MAP_FAILED) {
        status = dt_fail(error, DT_NO_MEMORY, "no memory left to share between processes");
        goto done;
    }
    atomic_init(j.next, 0);
    status = run_job(&j, shelf->records, error);
    if (status == DT_OK && !fill_rows(shelf, files))
        status = dt_fail(error, DT_NO_MEMORY, "no memory left for %zu drafts", count);
done:
    if (j.next != MAP_FAILED) munmap(j.next, sizeof *j.next);
    if (status == DT_OK)
        *out = shelf;
    else
        dt_shelf_free(shelf);
    return status;
}

size_t dt_shelf_count(const dt_shelf *shelf) {
    return shelf->count;
}

const dt_shelf_row *dt_shelf_row_at(const dt_shelf *shelf, size_t index) {
    return &shelf->rows[index];
}

size_t dt_shelf_unreadable(const dt_shelf *shelf) {
    size_t count = 0;
    for (size_t i = 0; i < shelf->count; i++) count += !shelf->rows[i].readable;
    return count;
}
