/* commands.h - the commands of dovetell. A new one is one file, which defines `const command command_NAME`, and one
 * line here. */
#ifndef DOVETELL_CLI_COMMANDS_H
#define DOVETELL_CLI_COMMANDS_H

#include "options.h"

/* In the order of the help. */
#define COMMAND_LIST(X) \
    X(rate)             \
    X(check)            \
    X(compare)          \
    X(tag)              \
    X(shelf)            \
    X(piece)            \
    X(live)             \
    X(learn)

/* Exit statuses: 0 all went well, 1 `check` found something wrong, 2 unreadable draft or bad usage. */
enum { EXIT_CLEAN = 0, EXIT_WRONG = 1, EXIT_TROUBLE = 2 };

typedef struct command {
    const char *name;
    const char *operands; /* as shown in the usage: "DRAFT..." */
    const char *summary;  /* one line */
    const char *details;  /* paragraphs for its own help, each line ended; or NULL */
    const option_table *tables[MOST_TABLES + 1];
    const void *defaults; /* the record as it stands before any option */
    size_t record_size;
    size_t least_operands, most_operands;
    int (*run)(void *record, const char *const *operands, size_t count); /* the exit status */
} command;

#define DECLARE_COMMAND(name) extern const command command_##name;
COMMAND_LIST(DECLARE_COMMAND)
#undef DECLARE_COMMAND

#endif
