/* dovetell live: a page on this computer that shows a folder's drafts and follows each save. */
#include "commands.h"
#include "drafts.h"

#include <dovetell/live.h>
#include <signal.h>

typedef struct live_options {
    draft_options draft; /* first: the shared table addresses it from here */
    unsigned port;
} live_options;

static const option own_options[] = {
    {"port", 0, OPTION_COUNT, "N", offsetof(live_options, port), 0, 65535,
     "where the page is to be found (0 = wherever there is room)"},
};
static const option_table own_table = OPTION_TABLE("Options of live", own_options);
static const live_options defaults = {.draft = DRAFT_OPTIONS_DEFAULT};

/* Waits for Ctrl-C or a polite request to end. */
static void wait_for_end(const sigset_t *ends) {
    int which = 0;
    sigwait(ends, &which);
}

static int run(void *record, const char *const *operands, size_t count) {
    live_options *options = record;
    dt_live *live = NULL;
    dt_error error = {0};
    sigset_t ends;
    (void)count;
    sigemptyset(&ends);
    sigaddset(&ends, SIGINT);
    sigaddset(&ends, SIGTERM);
    sigprocmask(SIG_BLOCK, &ends, NULL); /* before any thread starts, so that all of them leave these to us */
    const dt_live_options how = {operands[0], options->port, draft_settings(&options->draft)};
    if (dt_live_start(&how, &live, &error) != DT_OK) {
        complain("%s", error.message);
        return EXIT_TROUBLE;
    }
    printf("The drafts of %s: http://127.0.0.1:%u/  (Ctrl-C ends)\n", operands[0], dt_live_port(live));
    fflush(stdout);
    wait_for_end(&ends);
    dt_live_stop(live);
    return EXIT_CLEAN;
}

const command command_live = {
    .name = "live",
    .operands = "FOLDER",
    .summary = "a page on this computer that follows each save in a folder",
    .details =
        "Open the address that it prints in a browser. Only this computer can reach it. Runs until\n"
        "Ctrl-C.\n",
    .tables = {&draft_option_table, &own_table},
    .defaults = &defaults,
    .record_size = sizeof defaults,
    .least_operands = 1,
    .most_operands = 1,
    .run = run,
};
