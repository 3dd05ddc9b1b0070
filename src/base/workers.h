/* workers.h - a loop whose rounds run on several threads at once.
 *
 * Rounds are handed out in ascending order, so what a round does may depend on its item alone, never on the worker or
 * on other rounds: then the results are the same whatever the number of threads. A worker's number is for scratch that
 * is kept from round to round.
 */
#ifndef DOVETELL_BASE_WORKERS_H
#define DOVETELL_BASE_WORKERS_H

#include <dovetell/status.h>
#include <stddef.h>

enum { DT_MOST_WORKERS = 16 };

/* One round. worker < the count given to dt_workers_run. */
typedef dt_status dt_round(void *context, size_t worker, size_t item);

/* How many workers are of use: wanted (0 = as many as the machine has processors), but no more than items, and at
 * least 1. */
size_t dt_workers_count(unsigned wanted, size_t items);

/* round(context, worker, item) for each item from 0 to items - 1, by `workers` threads of which the caller is one; a
 * thread that cannot be started is done without. After a failure no more rounds begin; the status is that of the first
 * item that failed. */
dt_status dt_workers_run(size_t workers, size_t items, dt_round *round, void *context);

#endif
