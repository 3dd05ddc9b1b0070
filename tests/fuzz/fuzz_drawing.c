/* Fuzzing of the whole reader: any bytes end in an error with a sentence, or in strokes for which strokes_check holds.
 */
#include "strokes_check.h"
#include <dovetell/drawing.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void drawing_demand(bool holds, const char *what) {
    if (holds) return;
    fprintf(stderr, "fuzz_drawing: %s\n", what);
    abort();
}

static void drawing_check(const dt_drawing *drawing) {
    const char *wrong = strokes_check(dt_drawing_strokes(drawing), 1e6);
    drawing_demand(!wrong, wrong);
    drawing_demand(dt_drawing_strokes(drawing).count > 0, "a drawing without strokes was read");
    drawing_demand(isfinite(dt_drawing_width(drawing)) && dt_drawing_width(drawing) >= 0.0, "the width is no width");
    drawing_demand(isfinite(dt_drawing_height(drawing)) && dt_drawing_height(drawing) >= 0.0,
                   "the height is no height");
    for (size_t i = 0; i < dt_drawing_note_count(drawing); i++)
        drawing_demand(dt_drawing_note(drawing, i).text && *dt_drawing_note(drawing, i).text, "a note is empty");
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    static const char *const only[] = {"cut", "red", "#00f"}, *const skip[] = {"guide", "a"};
    static const dt_settings all[] = {
        DT_SETTINGS_DEFAULT,
        {.width_mm = 120.0, .only = only, .only_count = 3, .skip = skip, .skip_count = 2},
    };
    for (size_t i = 0; i < 2; i++) {
        dt_drawing *drawing = NULL;
        dt_error error = {0};
        dt_status status = dt_drawing_read_memory("fuzz.svg", data, size, &all[i], &drawing, &error);
        drawing_demand((status == DT_OK) == (drawing != NULL), "status and drawing disagree");
        drawing_demand(status == DT_OK || (error.code == status && error.message[0]), "an error has no sentence");
        if (drawing) drawing_check(drawing);
        dt_drawing_free(drawing);
    }
    return 0;
}
