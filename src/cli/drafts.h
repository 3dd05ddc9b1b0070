/* drafts.h - what the analysing commands share: their options, the run over several drafts, and the files written
 * beside. */
#ifndef DOVETELL_CLI_DRAFTS_H
#define DOVETELL_CLI_DRAFTS_H

#include "options.h"

#include <dovetell/analysis.h>
#include <dovetell/text.h>

/* The first member of the record of every analysing command (the tables below address it from the record's start). */
typedef struct draft_options {
    dt_settings settings; /* only and skip are set by draft_options_end */
    word_list only, skip;
    const char *json, *html, *svg, *csv; /* files to write too; NULL = none, "-" = standard output */
} draft_options;
#define DRAFT_OPTIONS_DEFAULT                                                                                          \
    { .settings = DT_SETTINGS_DEFAULT }

extern const option_table draft_option_table; /* settings of the analysis */
extern const option_table file_option_table;  /* --json, --html, --svg, --csv */

/* The settings with the repeated options put in; they borrow from *options. */
const dt_settings *draft_settings(draft_options *options);

/* What a long piece of work says on standard error, when that is a terminal and more than half a second has passed.
 * Ctrl-C asks the work to stop; a second one ends the program. False at the end: it was asked to stop. */
typedef struct progress {
    const char *what;    /* borrowed */
    double begun, shown; /* seconds */
    bool visible;
} progress;
dt_watch progress_begin(progress *p, const char *what); /* the watch borrows p */
bool progress_end(const progress *p);

/* Analyses each draft in turn and hands it to `visit`, which returns an exit status. A draft that cannot be read is
 * complained about and does not stop the others. Progress goes to standard error when that is a terminal and a draft
 * takes longer than half a second; Ctrl-C ends the draft at hand with what is known so far, and leaves out the rest.
 * Returns the highest exit status met. */
typedef int (*draft_visitor)(void *context, const dt_analysis *analysis);
int each_draft(draft_options *options, const char *const *paths, size_t count, draft_visitor visit, void *context);

/* One draft, for commands that need several analyses at a time. NULL after a complaint. Caller frees. */
dt_analysis *analyse_draft(draft_options *options, const char *path);

/* ---- the files written beside (outputs.c) ---- */

/* False after a complaint: the file that `what` ("--html") is to write is one of those that are read, and the maker's
 * drawing or table would be lost. Nothing is wrong with NULL or "-". */
bool spares_inputs(const char *what, const char *file, const char *const *inputs, size_t count);

typedef struct outputs {
    const draft_options *options;
    const char *const *paths; /* of the drafts */
    size_t count;
    bool takes_stdout; /* a file is "-": nothing else may go to standard output */
    dt_text json;      /* the lines collected so far, unless they stream to standard output */
} outputs;

/* False after a complaint: two files on standard output, one file for several pages, a file that is one of the drafts.
 */
bool outputs_begin(outputs *out, const draft_options *options, const char *const *paths, size_t count);
/* Writes what was asked for of one draft. Returns an exit status. */
int outputs_write(outputs *out, const dt_analysis *analysis);
/* Writes the collected JSON Lines and frees all. Returns an exit status. */
int outputs_end(outputs *out);

/* What a command prints of each draft, and the exit status that it gives for one that was analysed. */
typedef struct draft_words {
    void (*words)(const dt_analysis *analysis, dt_text *out);
    int (*status)(const dt_analysis *analysis); /* NULL = EXIT_CLEAN */
    bool apart;                                 /* an empty line between two drafts */
} draft_words;

/* The whole of such a command: files beside, then the words unless a file has standard output. Returns the highest exit
 * status. */
int print_drafts(draft_options *options, const char *const *paths, size_t count, const draft_words *how);

#endif
