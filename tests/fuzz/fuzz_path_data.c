/* Fuzzing of path data alone. Besides strokes_check: the error lies in the text, and what stands before an error is
 * read alike without what follows it. */
#include "strokes_check.h"
#include <dovetell/drawing.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void path_demand(bool holds, const char *what) {
    if (holds) return;
    fprintf(stderr, "fuzz_path_data: %s\n", what);
    abort();
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    char *text = malloc(size + 1);
    if (!text) return 0;
    memcpy(text, data, size);
    text[size] = '\0';
    const double tolerance = 1000.0; /* coarse, so that far-flung curves stay cheap */
    dt_strokes strokes = {0}, again = {0};
    size_t error_at = 0, error_again = 0;
    dt_status status = dt_path_data_read(text, tolerance, &strokes, &error_at);
    path_demand(status == DT_OK || status == DT_TOO_LARGE, "an unexpected status");
    if (status == DT_OK) {
        const char *wrong = strokes_check(strokes, 1e13);
        path_demand(!wrong, wrong);
        path_demand(error_at == SIZE_MAX || error_at <= strlen(text), "the error lies outside the text");
        if (error_at != SIZE_MAX) text[error_at] = '\0';
        path_demand(dt_path_data_read(text, tolerance, &again, &error_again) == DT_OK,
                    "the part before the error cannot be read");
        path_demand(again.count == strokes.count, "the part before the error reads differently alone");
    }
    dt_strokes_free(&strokes);
    dt_strokes_free(&again);
    free(text);
    return 0;
}
