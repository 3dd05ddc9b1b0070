/* The options that every analysing command takes, and the run over its drafts (drafts.h). */
#include "drafts.h"
#include "commands.h"

#include <signal.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#define SETTING(member) offsetof(draft_options, settings.member)

_Static_assert(sizeof(dt_material) == sizeof(unsigned) && sizeof(dt_picture) == sizeof(unsigned),
               "choices are stored as unsigned");

/* The ranges are wide enough for any sheet and any laser, and keep out slips of the keyboard. */
static const option settings_options[] = {
    {"width", 0, OPTION_NUMBER, "MM", SETTING(width_mm), 1, 10000,
     "scale the whole drawing so that its cut lines span this width"},
    {"kerf", 0, OPTION_NUMBER, "MM", SETTING(kerf_mm), 0, 5, "width that the laser burns away along a line"},
    {"thickness", 0, OPTION_NUMBER, "MM", SETTING(thickness_mm), 0.1, 100, "thickness of the sheet"},
    {"material", 0, OPTION_CHOICE, "ply|acrylic", SETTING(material), 0, 0, "sets the limits for thin necks"},
    {"join", 0, OPTION_NUMBER, "MM", SETTING(join_mm), 0, 10,
     "line ends this near to another line are taken to touch it (and reported)"},
    {"eye", 0, OPTION_NUMBER, "MM", SETTING(eye_mm), 0, 20, "two borders that differ by less look alike to a person"},
    {"two-sided", 0, OPTION_FLAG, "", SETTING(two_sided), 0, 0, "pieces have no face: they may lie turned over"},
    {"colours", 0, OPTION_COUNT, "N", SETTING(colours), 1, 1000, "how many sheet colours the finished puzzle shows"},
    {"picture", 0, OPTION_CHOICE, "none|faint|full", SETTING(picture), 0, 0,
     "how much a picture on the pieces tells about their place"},
    {"only", 0, OPTION_LIST, "NAME", offsetof(draft_options, only), 0, 0,
     "use only the strokes of this layer, group, id, class or stroke colour; may be repeated"},
    {"skip", 0, OPTION_LIST, "NAME", offsetof(draft_options, skip), 0, 0,
     "leave out strokes, named likewise; may be repeated"},
    {"steps", 0, OPTION_BIG_COUNT, "N", SETTING(steps), 0, 1e15, "longest search for other assemblies, in steps"},
    {"count", 0, OPTION_FLAG, "", SETTING(count), 0, 0,
     "count every assembly instead of stopping at the first other one"},
    {"speed", 0, OPTION_NUMBER, "MM_PER_S", SETTING(speed_mm_per_s), 0.1, 10000,
     "cutting speed: estimates the time at the laser"},
    {"times", 0, OPTION_TEXT, "FILE", SETTING(times), 0, 0, "what dovetell learn made of your own play tests"},
};
const option_table draft_option_table = OPTION_TABLE("How the draft is taken:", settings_options);

static const option file_options[] = {
    {"json", 0, OPTION_TEXT, "FILE", offsetof(draft_options, json), 0, 0,
     "write the whole record, one line for each draft"},
    {"html", 0, OPTION_TEXT, "FILE", offsetof(draft_options, html), 0, 0, "write a page to look through in a browser"},
    {"svg", 0, OPTION_TEXT, "FILE", offsetof(draft_options, svg), 0, 0,
     "write a picture of the pieces with the faults circled"},
    {"csv", 0, OPTION_TEXT, "FILE", offsetof(draft_options, csv), 0, 0, "write a table with a row for each piece"},
};
const option_table file_option_table =
    OPTION_TABLE("Files to write too (- is standard output, and then nothing else goes there; with several drafts a %\n"
                 "in the name of a page, picture or table stands for the draft's name):",
                 file_options);

const dt_settings *draft_settings(draft_options *options) {
    options->settings.only = options->only.words;
    options->settings.only_count = options->only.count;
    options->settings.skip = options->skip.words;
    options->settings.skip_count = options->skip.count;
    return &options->settings;
}

/* ---- progress and Ctrl-C ---- */

static volatile sig_atomic_t interrupted;

/* The first Ctrl-C asks the stages to stop; the second one ends the program in the usual way. */
static void on_interrupt(int signal_number) {
    interrupted = 1;
    signal(signal_number, SIG_DFL);
}

static double seconds_now(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static const double QUIET_SECONDS = 0.5, REFRESH_SECONDS = 0.1;

static void show_progress(void *context, const char *stage, double fraction) {
    progress *p = context;
    double now = seconds_now();
    if (!isatty(STDERR_FILENO) || now - p->begun < QUIET_SECONDS || now - p->shown < REFRESH_SECONDS) return;
    p->shown = now;
    p->visible = true;
    dt_text line = DT_TEXT_EMPTY;
    dt_text_add_plain(&line, p->what, 40);
    dt_text_addf(&line, ": %s", stage);
    if (fraction >= 0) dt_text_addf(&line, " %.0f %%", 100 * (fraction < 1 ? fraction : 1));
    if (!line.failed) fprintf(stderr, "\r\x1B[K%s", line.bytes);
    dt_text_free(&line);
}

static bool is_interrupted(void *context) {
    (void)context;
    return interrupted != 0;
}

dt_watch progress_begin(progress *p, const char *what) {
    *p = (progress){.what = what, .begun = seconds_now()};
    signal(SIGINT, on_interrupt);
    return (dt_watch){show_progress, is_interrupted, p};
}

bool progress_end(const progress *p) {
    if (p->visible) fputs("\r\x1B[K", stderr);
    return interrupted == 0;
}

/* ---- the run ---- */

dt_analysis *analyse_draft(draft_options *options, const char *path) {
    progress state;
    dt_watch watch = progress_begin(&state, path);
    dt_analysis *analysis = NULL;
    dt_error error = {0};
    dt_status status = dt_analyse(path, draft_settings(options), &watch, &analysis, &error);
    bool whole = progress_end(&state);
    if (status != DT_OK) complain("%s", error.message[0] ? error.message : dt_status_text(status));
    if (status == DT_OK && !whole) complain("stopped by Ctrl-C: what follows is what was known by then");
    return analysis;
}

int each_draft(draft_options *options, const char *const *paths, size_t count, draft_visitor visit, void *context) {
    int worst = EXIT_CLEAN;
    for (size_t i = 0; i < count; i++) {
        if (interrupted) {
            complain("%zu more not looked at", count - i);
            return EXIT_TROUBLE;
        }
        dt_analysis *analysis = analyse_draft(options, paths[i]);
        int status = analysis ? visit(context, analysis) : EXIT_TROUBLE;
        dt_analysis_free(analysis);
        if (status > worst) worst = status;
    }
    return worst;
}
