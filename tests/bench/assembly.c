/* How long the search for other assemblies takes: pentomino boards against a plain exact cover on the lattice, which
 * knows the cells that the search does not, both in one run; and how steps and user time grow with the pieces of
 * knobbed sheets. `all`: the long boards too. */
#include "counts.h"
#include "draft.h"
#include "pentominoes.h"
#include <dovetell/assembly.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>

static double user_seconds(void) {
    struct rusage usage;
    getrusage(RUSAGE_SELF, &usage);
    return (double)usage.ru_utime.tv_sec + 1e-6 * (double)usage.ru_utime.tv_usec;
}

static void demand(bool holds, const char *what) {
    if (holds) return;
    fprintf(stderr, "bench assembly: %s\n", what);
    exit(1);
}

typedef struct searched {
    dt_assembly_verdict verdict;
    bool exact;
    uint64_t fillings, steps;
    size_t pieces;
    double seconds;
} searched;

static searched search_draft(draft *d, dt_settings settings) {
    dt_net *net;
    dt_fit *fit;
    dt_assembly *assembly;
    dt_pieces *pieces = draft_pieces(d, &settings, &net);
    demand(dt_fit_new(pieces, &settings, NULL, &fit, NULL) == DT_OK, "the places could not be compared");
    double start = user_seconds();
    demand(dt_assembly_new(pieces, NULL, fit, &settings, NULL, &assembly, NULL) == DT_OK, "the search failed");
    searched out = {assembly->verdict, assembly->exact,         assembly->fillings,
                    assembly->steps,   dt_pieces_count(pieces), user_seconds() - start};
    dt_assembly_free(assembly);
    dt_fit_free(fit);
    dt_pieces_free(pieces);
    dt_net_free(net);
    draft_free(d);
    return out;
}

static void compare_board(const char *name, lattice_board board) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.two_sided = settings.count = true;
    settings.steps = UINT64_MAX;
    draft *d = draft_new();
    counted_draft_named(name)->draw(d);
    double start = user_seconds();
    lattice_result plain = lattice_pentominoes(board, UINT64_MAX);
    double seconds = user_seconds() - start;
    searched s = search_draft(d, settings);
    printf(
        "assembly  %-18s %5llu fillings: search %9llu steps %8.2f s; lattice %9llu nodes %8.3f s; %.1f times as long\n",
        name, (unsigned long long)s.fillings, (unsigned long long)s.steps, s.seconds, (unsigned long long)plain.nodes,
        seconds, s.seconds / (seconds > 0.0 ? seconds : 1e-6));
    demand(s.exact && s.fillings == plain.fillings, "the two counts differ");
}

static void grow(unsigned rows, unsigned columns) {
    static const char *const verdicts[] = {"one", "several", "undecided"};
    dt_settings settings = DT_SETTINGS_DEFAULT;
    settings.steps = 40000000;
    draft *d = draft_new();
    draft_knobbed_sheet(d, rows, columns, 20.0, 1, false);
    searched s = search_draft(d, settings);
    printf("assembly  %5zu knobbed pieces: %-9s %10llu steps, %6.1f a piece, %8.2f s\n", s.pieces, verdicts[s.verdict],
           (unsigned long long)s.steps, (double)s.steps / (double)s.pieces, s.seconds);
}

int main(int argc, char **argv) {
    bool all = argc > 1 && strcmp(argv[1], "all") == 0;
    compare_board("pentominoes-3x20", (lattice_board){3, 20, 0});
    if (all) compare_board("pentominoes-4x15", (lattice_board){4, 15, 0});
    if (all) compare_board("pentominoes-6x10", (lattice_board){6, 10, 0});
    grow(10, 10);
    if (all) grow(20, 25);
    if (all) grow(25, 40);
    return 0;
}
