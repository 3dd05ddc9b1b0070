/* options.h - options as tables: parsing, range checks, usage and help all come from them.
 *
 * A command keeps its options in one record of its own. Its tables say where in the record each value goes; the record
 * starts as a copy of the command's defaults, and the defaults shown in the help are read from there too.
 */
#ifndef DOVETELL_CLI_OPTIONS_H
#define DOVETELL_CLI_OPTIONS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

typedef enum option_kind {
    OPTION_FLAG,      /* bool */
    OPTION_NUMBER,    /* double, low..high */
    OPTION_COUNT,     /* unsigned, low..high */
    OPTION_BIG_COUNT, /* uint64_t, low..high */
    OPTION_CHOICE,    /* an enum whose values are the words of `value` in order: "ply|acrylic" */
    OPTION_TEXT,      /* const char * */
    OPTION_LIST       /* word_list; may be given several times */
} option_kind;

typedef struct option {
    const char *name; /* without the dashes */
    char letter;      /* of the short form, or 0 */
    option_kind kind;
    const char *value; /* what stands for the value in the help: MM, FILE; the words of a choice */
    size_t offset;     /* of the value in the command's record */
    double low, high;  /* of a number or count, both allowed */
    const char *help;
} option;

typedef struct option_table {
    const char *title;
    const option *options;
    size_t count;
} option_table;
#define OPTION_TABLE(title, options) {title, options, sizeof(options) / sizeof *(options)}

typedef struct word_list {
    const char **words; /* owned: free() */
    size_t count;
} word_list;

enum { MOST_TABLES = 4 };

typedef struct parsed {
    const char **operands; /* owned: free() */
    size_t operand_count;
    bool help;
} parsed;

/* Reads arguments[0..count) by the tables (ended by NULL) into the record. False after a sentence on standard error. A
 * value may follow as the next argument or after "="; "--" ends the options; "-" is an operand. */
bool options_parse(const option_table *const *tables, void *record, const char *const *arguments, size_t count,
                   parsed *out);
/* The tables as help, with the defaults that stand in the record. */
void options_help(const option_table *const *tables, const void *record, FILE *out);
/* Frees the lists in a record. */
void options_free(const option_table *const *tables, void *record);

/* Of `count` words that `word_at` gives, the one that `word` most likely was meant to be; NULL if none is near. */
const char *nearest_word(const char *word, const char *(*word_at)(const void *context, size_t index),
                         const void *context, size_t count);

/* "dovetell: " and a sentence on standard error, safe for a terminal whatever the values hold. */
void complain(const char *format, ...) __attribute__((format(printf, 1, 2)));

#endif
