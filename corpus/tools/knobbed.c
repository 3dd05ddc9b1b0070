/* Writes a knobbed sheet, every seam of its own shape: knobbed ROWS COLUMNS SIZE_MM SEED FILE.svg */
#include "draft.h"

#include <stdio.h>
#include <stdlib.h>

int main(int argc, char **argv) {
    if (argc != 6) {
        fprintf(stderr, "usage: knobbed ROWS COLUMNS SIZE_MM SEED FILE.svg\n");
        return 2;
    }
    draft *d = draft_new();
    draft_knobbed_sheet(d, (unsigned)atoi(argv[1]), (unsigned)atoi(argv[2]), atof(argv[3]), (unsigned)atoi(argv[4]),
                        false);
    dt_text svg = DT_TEXT_EMPTY;
    draft_svg(d, 5.0, &svg);
    dt_error error = {0};
    dt_status status = svg.failed ? DT_NO_MEMORY : dt_file_write(argv[5], svg.bytes, svg.length, &error);
    if (status != DT_OK) fprintf(stderr, "%s\n", error.message);
    dt_text_free(&svg);
    draft_free(d);
    return status == DT_OK ? 0 : 2;
}
