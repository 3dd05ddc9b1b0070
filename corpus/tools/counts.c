/* Writes the drafts whose number of assemblies has been published: counts FOLDER */
#include "counts.h"

#include <stdio.h>
#include <sys/stat.h>

static dt_status write_draft(const counted_draft *which, const char *folder) {
    dt_text svg = DT_TEXT_EMPTY, path = DT_TEXT_EMPTY;
    dt_error error = {0};
    draft *d = draft_new();
    which->draw(d);
    draft_svg(d, 5.0, &svg);
    dt_text_addf(&path, "%s/%s.svg", folder, which->name);
    dt_status status =
        svg.failed || path.failed ? DT_NO_MEMORY : dt_file_write(path.bytes, svg.bytes, svg.length, &error);
    if (status != DT_OK) fprintf(stderr, "%s: %s\n", which->name, error.message);
    dt_text_free(&svg);
    dt_text_free(&path);
    draft_free(d);
    return status;
}

int main(int argc, char **argv) {
    if (argc != 2) {
        fprintf(stderr, "usage: counts FOLDER\n");
        return 2;
    }
    mkdir(argv[1], 0777); /* where it is there already, writing tells what is wrong */
    for (size_t i = 0; i < counted_draft_count; i++)
        if (write_draft(&counted_drafts[i], argv[1]) != DT_OK) return 2;
    return 0;
}
