/* How long the comparison of places takes: growth with the number of pieces; and, on a sheet so small that every list
 * is whole, the whole stage against laying every side along every outline, every 1 mm, and fitting it where it comes
 * near: like for like, the same sides and the same fits without the index. User time of one process, on sheets of 20 mm
 * knobbed pieces, all seams different. */
#include "draft.h"
#include "fit/stretch.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/resource.h>

static double user_seconds(void) {
    struct rusage usage;
    getrusage(RUSAGE_SELF, &usage);
    return (double)usage.ru_utime.tv_sec + 1e-6 * (double)usage.ru_utime.tv_usec;
}

static void demand(bool holds, const char *what) {
    if (holds) return;
    fprintf(stderr, "bench fit: %s\n", what);
    exit(1);
}

/* Seconds for one side against all outlines without any index: the mean over a few sides. */
static double brute_side(const dt_pieces *pieces) {
    enum { SIDES = 6 };
    dt_arena arena = DT_ARENA((size_t)1 << 30);
    size_t count = dt_pieces_count(pieces);
    dt_loop *loops = calloc(count, sizeof *loops);
    demand(loops != NULL, "no memory");
    for (uint32_t i = 0; i < count; i++)
        demand(dt_loop_new(dt_pieces_get(pieces, (dt_piece_id){i})->outline, 0.35, &arena, &loops[i]) == DT_OK,
               "no memory");
    dt_fitter fitter;
    demand(dt_fitter_new(&arena, &fitter) == DT_OK, "no memory");
    double start = user_seconds(), sum = 0.0, rms;
    for (size_t s = 0; s < SIDES; s++) {
        dt_course course;
        const dt_seam *seam =
            dt_pieces_seam(pieces, (dt_seam_id){(uint32_t)(s * dt_pieces_seam_count(pieces) / SIDES)});
        demand(dt_course_new(seam->path, 0.35, &arena, &course) == DT_OK, "no memory");
        for (size_t i = 0; i < count; i++)
            for (double at = 0.0; at < loops[i].length; at += 1.0) {
                dt_pose pose = dt_stretch_align(&course, &loops[i], at, &rms);
                sum += rms;
                if (rms <= 2.4 * 0.7) dt_stretch_reach(&fitter, &course, &loops[i], dt_loop_leg(&loops[i], at), 0.7, &pose);
            }
    }
    double seconds = (user_seconds() - start) / SIDES;
    demand(sum > 0.0, "nothing was compared");
    free(loops);
    dt_arena_free(&arena);
    return seconds;
}

static double run(unsigned rows, unsigned columns, bool alike, bool with_brute) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    draft *d = draft_new();
    dt_net *net;
    dt_fit *fit;
    draft_knobbed_sheet(d, rows, columns, 20, 5, alike);
    dt_pieces *pieces = draft_pieces(d, &settings, &net);
    double start = user_seconds();
    demand(dt_fit_new(pieces, &settings, NULL, &fit, NULL) == DT_OK, "the stage failed");
    double seconds = user_seconds() - start;
    printf("fit  %5zu pieces %s %7.2f s", dt_pieces_count(pieces), alike ? "alike   " : "distinct", seconds);
    if (with_brute) {
        double brute = brute_side(pieces) * (double)dt_fit_side_count(fit);
        demand(dt_fit_is_whole(fit), "the lists are not whole");
        printf("   without the index %.2f s, %.1f times as long", brute, brute / seconds);
    }
    printf("\n");
    dt_fit_free(fit);
    dt_pieces_free(pieces);
    dt_net_free(net);
    draft_free(d);
    return seconds;
}

int main(void) {
    const unsigned rows[] = {20, 25, 40, 50}, columns[] = {25, 40, 50, 100};
    double last = 0.0, first = 0.0;
    run(7, 7, false, true);
    for (int i = 0; i < 4; i++) {
        double seconds = run(rows[i], columns[i], false, false);
        if (i == 0) first = seconds;
        else printf("fit        growth exponent from %u pieces: %.2f\n", rows[i - 1] * columns[i - 1],
                    log(seconds / last) / log((double)(rows[i] * columns[i]) / (rows[i - 1] * columns[i - 1])));
        last = seconds;
    }
    printf("fit        growth exponent from 500 to 5,000 pieces: %.2f\n", log(last / first) / log(10.0));
    run(30, 33, true, false);
    return 0;
}
