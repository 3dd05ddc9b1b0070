/* A loop on several threads: see workers.h. Invariant: a round that begins has all rounds before it begun, so the first
 * failure is always met. */
#include "base/workers.h"

#include <pthread.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stdint.h>
#include <unistd.h>

typedef struct loop {
    dt_round *round;
    void *context;
    size_t items;
    atomic_size_t next;
    atomic_bool failed;
} loop;

typedef struct worker {
    loop *loop;
    size_t number, failed_at; /* SIZE_MAX: did not fail */
    dt_status status;
    pthread_t thread;
} worker;

static void *work(void *context) {
    worker *w = context;
    loop *l = w->loop;
    size_t item;
    while (!atomic_load(&l->failed) && (item = atomic_fetch_add(&l->next, 1)) < l->items) {
        w->status = l->round(l->context, w->number, item);
        if (w->status == DT_OK) continue;
        w->failed_at = item;
        atomic_store(&l->failed, true);
    }
    return NULL;
}

static size_t start_others(worker *workers, size_t count) {
    size_t started = 1;
    while (started < count && pthread_create(&workers[started].thread, NULL, work, &workers[started]) == 0) started++;
    return started;
}

dt_status dt_workers_run(size_t workers, size_t items, dt_round *round, void *context) {
    loop l = {.round = round, .context = context, .items = items};
    worker list[DT_MOST_WORKERS];
    size_t count = workers < DT_MOST_WORKERS ? workers : DT_MOST_WORKERS;
    for (size_t i = 0; i < DT_MOST_WORKERS; i++)
        list[i] = (worker){.loop = &l, .number = i, .failed_at = SIZE_MAX, .status = DT_OK};
    size_t started = start_others(list, count), first = 0;
    work(&list[0]);
    for (size_t i = 1; i < started; i++) pthread_join(list[i].thread, NULL);
    for (size_t i = 1; i < started; i++)
        if (list[i].failed_at < list[first].failed_at) first = i;
    return list[first].status;
}

size_t dt_workers_count(unsigned wanted, size_t items) {
    long processors = wanted ? (long)wanted : sysconf(_SC_NPROCESSORS_ONLN);
    size_t count = processors > 1 ? (size_t)processors : 1;
    if (count > DT_MOST_WORKERS) count = DT_MOST_WORKERS;
    return count < items ? count : items ? items : 1;
}
