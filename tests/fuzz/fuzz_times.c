/* The reader of tables of timed solves: any bytes give a table whose parts belong together, or a sentence. */
#include <dovetell/learn.h>
#include <stdlib.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void check_solve(const dt_times *times, const dt_solve *s) {
    if (s->draft >= dt_times_draft_count(times) || s->solver >= dt_times_solver_count(times)) abort();
    if (!(s->minutes > 0.0) || s->line == 0) abort();
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    dt_times *times = NULL;
    dt_error error = {0};
    if (dt_times_read_memory("times.csv", data, size, &times, &error) != DT_OK) {
        if (times || !error.message[0]) abort();
        return 0;
    }
    for (size_t i = 0; i < dt_times_solve_count(times); i++) {
        const dt_solve *s = dt_times_solve(times, i);
        check_solve(times, s);
        for (size_t j = 0; j < i && j < 50; j++) /* only first solves are kept */
            if (dt_times_solve(times, j)->draft == s->draft && dt_times_solve(times, j)->solver == s->solver) abort();
    }
    for (size_t i = 0; i < dt_times_repeat_count(times); i++) check_solve(times, dt_times_repeat(times, i));
    dt_times_free(times);
    return 0;
}
