/* Options as tables (options.h). The order of the tables is the order of the help; a name stands in one table only. */
#include "options.h"

#include <dovetell/text.h>
#include <errno.h>
#include <math.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

void complain(const char *format, ...) {
    char sentence[1024];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(sentence, sizeof sentence, format, arguments);
    va_end(arguments);
    dt_text text = DT_TEXT_EMPTY;
    dt_text_add_plain(&text, sentence, 0);
    fprintf(stderr, "dovetell: %s\n", text.failed ? "no memory left" : text.bytes);
    dt_text_free(&text);
}

/* ---- which word was meant ---- */

enum { LONGEST_WORD = 32 };

static size_t least_of(size_t a, size_t b, size_t c) {
    size_t least = a < b ? a : b;
    return least < c ? least : c;
}

/* Letters to insert, drop or change to get from a to b (Levenshtein 1966); words longer than LONGEST_WORD are far from
 * all. */
static size_t word_distance(const char *a, const char *b) {
    size_t n = strlen(a), m = strlen(b), row[LONGEST_WORD + 1];
    if (n > LONGEST_WORD || m > LONGEST_WORD) return SIZE_MAX;
    for (size_t j = 0; j <= m; j++) row[j] = j;
    for (size_t i = 1; i <= n; i++) {
        size_t diagonal = row[0];
        row[0] = i;
        for (size_t j = 1; j <= m; j++) {
            size_t above = row[j];
            row[j] = least_of(diagonal + (a[i - 1] != b[j - 1]), above + 1, row[j - 1] + 1);
            diagonal = above;
        }
    }
    return row[m];
}

const char *nearest_word(const char *word, const char *(*word_at)(const void *context, size_t index),
                         const void *context, size_t count) {
    const char *nearest = NULL;
    size_t best = strlen(word) / 3 + 1; /* a third of the letters may be wrong */
    for (size_t i = 0; i < count; i++) {
        const char *candidate = word_at(context, i);
        size_t distance = word_distance(word, candidate);
        if (strlen(word) >= 2 && strncmp(word, candidate, strlen(word)) == 0) distance = 0; /* cut short */
        if (distance > best || (distance == best && nearest)) continue;
        best = distance;
        nearest = candidate;
    }
    return nearest;
}

static const option *option_at(const option_table *const *tables, size_t index) {
    for (; *tables; index -= (*tables)->count, tables++)
        if (index < (*tables)->count) return &(*tables)->options[index];
    return NULL;
}

static const char *option_name_at(const void *tables, size_t index) {
    return option_at(tables, index)->name;
}

/* ---- values ---- */

static void *value_of(const option *o, void *record) {
    return (char *)record + o->offset;
}

static const void *value_in(const option *o, const void *record) {
    return (const char *)record + o->offset;
}

static bool read_number(const char *text, double *out) {
    char *end;
    double value = strtod(text, &end);
    if (end == text || *end != '\0' || !isfinite(value)) return false;
    *out = value;
    return true;
}

static bool refuse_number(const option *o, const char *text) {
    const char *what = o->kind == OPTION_NUMBER ? "a number" : "a whole number";
    complain("--%s takes %s from %g to %.15g%s%s, not \"%s\"", o->name, what, o->low, o->high,
             strcmp(o->value, "N") == 0 ? "" : ", in ", strcmp(o->value, "N") == 0 ? "" : o->value, text);
    return false;
}

static bool set_number(const option *o, void *record, const char *text) {
    double value;
    if (!read_number(text, &value) || value < o->low || value > o->high) return refuse_number(o, text);
    if (o->kind != OPTION_NUMBER && floor(value) != value) return refuse_number(o, text);
    if (o->kind == OPTION_NUMBER) *(double *)value_of(o, record) = value;
    if (o->kind == OPTION_COUNT) *(unsigned *)value_of(o, record) = (unsigned)value;
    if (o->kind == OPTION_BIG_COUNT) *(uint64_t *)value_of(o, record) = (uint64_t)value;
    return true;
}

/* The length of word `index` of "a|b|c", and where it starts; 0 past the last. */
static size_t choice_word(const char *words, unsigned index, const char **start) {
    for (; index > 0; index--) {
        words = strchr(words, '|');
        if (!words) return 0;
        words++;
    }
    *start = words;
    return strcspn(words, "|");
}

/* "--material takes ply or acrylic, not "tin"" */
static void complain_of_choice(const option *o, const char *text) {
    dt_text words = DT_TEXT_EMPTY;
    const char *word, *last;
    size_t length;
    for (unsigned i = 0; (length = choice_word(o->value, i, &word)) > 0; i++) {
        if (i) dt_text_add(&words, choice_word(o->value, i + 1, &last) ? ", " : " or ");
        dt_text_add_bytes(&words, word, length);
    }
    complain("--%s takes %s, not \"%s\"", o->name, words.failed ? o->value : words.bytes, text);
    dt_text_free(&words);
}

static bool set_choice(const option *o, void *record, const char *text) {
    const char *word;
    size_t length;
    for (unsigned i = 0; (length = choice_word(o->value, i, &word)) > 0; i++)
        if (strlen(text) == length && strncmp(text, word, length) == 0) {
            *(unsigned *)value_of(o, record) = i;
            return true;
        }
    complain_of_choice(o, text);
    return false;
}

static bool add_word(word_list *list, const char *word) {
    const char **words = realloc(list->words, (list->count + 1) * sizeof *words);
    if (!words) {
        complain("no memory left");
        return false;
    }
    words[list->count] = word;
    *list = (word_list){words, list->count + 1};
    return true;
}

static bool set_text(const option *o, void *record, const char *text) {
    if (*text == '\0') {
        complain("--%s needs something after it: --%s %s", o->name, o->name, o->value);
        return false;
    }
    if (o->kind == OPTION_LIST) return add_word(value_of(o, record), text);
    *(const char **)value_of(o, record) = text;
    return true;
}

static bool set_value(const option *o, void *record, const char *text) {
    switch (o->kind) {
    case OPTION_FLAG:
        *(bool *)value_of(o, record) = true;
        return true;
    case OPTION_NUMBER:
    case OPTION_COUNT:
    case OPTION_BIG_COUNT:
        return set_number(o, record, text);
    case OPTION_CHOICE:
        return set_choice(o, record, text);
    default:
        return set_text(o, record, text);
    }
}

/* ---- arguments ---- */

typedef struct reader {
    const option_table *const *tables;
    void *record;
    const char *const *arguments;
    size_t count, next;
} reader;

static size_t option_count(const option_table *const *tables) {
    size_t count = 0;
    for (; *tables; tables++) count += (*tables)->count;
    return count;
}

static const option *find_option(const option_table *const *tables, const char *name, size_t length) {
    for (size_t i = 0; i < option_count(tables); i++) {
        const option *o = option_at(tables, i);
        if (strlen(o->name) == length && strncmp(o->name, name, length) == 0) return o;
    }
    return NULL;
}

static const option *find_letter(const option_table *const *tables, char letter) {
    for (size_t i = 0; i < option_count(tables); i++)
        if (option_at(tables, i)->letter == letter) return option_at(tables, i);
    return NULL;
}

static bool refuse_unknown(const option_table *const *tables, const char *argument) {
    char name[LONGEST_WORD + 1] = "";
    const char *bare = argument + strspn(argument, "-");
    size_t length = strcspn(bare, "=");
    if (length <= LONGEST_WORD) memcpy(name, bare, length);
    const char *meant = nearest_word(name, option_name_at, tables, option_count(tables));
    if (meant)
        complain("there is no option \"%s\"; did you mean --%s?", argument, meant);
    else
        complain("there is no option \"%s\"; --help lists them all", argument);
    return false;
}

/* The option that an argument names; *value is what follows its "=", or NULL. */
static const option *option_of(const reader *r, const char *argument, const char **value) {
    *value = NULL;
    if (argument[1] != '-') return argument[2] == '\0' ? find_letter(r->tables, argument[1]) : NULL;
    size_t length = strcspn(argument + 2, "=");
    if (argument[2 + length] == '=') *value = argument + 3 + length;
    return find_option(r->tables, argument + 2, length);
}

static bool read_option(reader *r, const char *argument) {
    const char *value;
    const option *o = option_of(r, argument, &value);
    if (!o) return refuse_unknown(r->tables, argument);
    if (o->kind == OPTION_FLAG && value) {
        complain("--%s stands alone: it takes no value", o->name);
        return false;
    }
    if (o->kind != OPTION_FLAG && !value) {
        if (r->next >= r->count) {
            complain("--%s needs something after it: --%s %s", o->name, o->name, o->value);
            return false;
        }
        value = r->arguments[r->next++];
    }
    return set_value(o, r->record, value);
}

bool options_parse(const option_table *const *tables, void *record, const char *const *arguments, size_t count,
                   parsed *out) {
    parsed result = {calloc(count + 1, sizeof *result.operands), 0, false};
    if (!result.operands) {
        complain("no memory left");
        return false;
    }
    reader r = {tables, record, arguments, count, 0};
    bool only_operands = false;
    while (r.next < count) {
        const char *argument = arguments[r.next++];
        if (only_operands || argument[0] != '-' || argument[1] == '\0') {
            result.operands[result.operand_count++] = argument;
        } else if (strcmp(argument, "--") == 0) {
            only_operands = true;
        } else if (strcmp(argument, "--help") == 0 || strcmp(argument, "-h") == 0) {
            result.help = true;
        } else if (!read_option(&r, argument)) {
            free(result.operands);
            return false;
        }
    }
    *out = result;
    return true;
}

/* ---- help ---- */

enum { HELP_COLUMN = 28, HELP_WIDTH = 92 };

/* " [0.2]" for a value that is set at the start; nothing for one that is not. */
static void add_default(dt_text *line, const option *o, const void *record) {
    const char *word = "";
    if (o->kind == OPTION_NUMBER && *(const double *)value_in(o, record) != 0)
        dt_text_addf(line, " [%g]", *(const double *)value_in(o, record));
    if (o->kind == OPTION_COUNT && *(const unsigned *)value_in(o, record) != 0)
        dt_text_addf(line, " [%u]", *(const unsigned *)value_in(o, record));
    if (o->kind == OPTION_BIG_COUNT && *(const uint64_t *)value_in(o, record) != 0)
        dt_text_addf(line, " [%llu]", (unsigned long long)*(const uint64_t *)value_in(o, record));
    if (o->kind == OPTION_CHOICE) {
        size_t length = choice_word(o->value, *(const unsigned *)value_in(o, record), &word);
        dt_text_addf(line, " [%.*s]", (int)length, word);
    }
}

static void print_wrapped(const char *text, FILE *out) {
    while (strlen(text) > HELP_WIDTH - HELP_COLUMN) {
        int cut = HELP_WIDTH - HELP_COLUMN;
        while (cut > 0 && text[cut] != ' ') cut--;
        if (cut == 0) break;
        fprintf(out, "%.*s\n%*s", cut, text, HELP_COLUMN, "");
        text += cut + 1;
    }
    fprintf(out, "%s\n", text);
}

static void print_option(const option *o, const void *record, FILE *out) {
    dt_text head = DT_TEXT_EMPTY, tail = DT_TEXT_EMPTY;
    if (o->letter) dt_text_addf(&head, "-%c, ", o->letter);
    dt_text_addf(&head, "--%s", o->name);
    if (o->kind != OPTION_FLAG) dt_text_addf(&head, " %s", o->value);
    dt_text_add(&tail, o->help);
    add_default(&tail, o, record);
    if (!head.failed && !tail.failed) {
        if (head.length > HELP_COLUMN - 4) dt_text_addf(&head, "\n%*s", HELP_COLUMN - 2, "");
        fprintf(out, "  %-*s", HELP_COLUMN - 2, head.bytes);
        print_wrapped(tail.bytes, out);
    }
    dt_text_free(&head);
    dt_text_free(&tail);
}

void options_help(const option_table *const *tables, const void *record, FILE *out) {
    for (; *tables; tables++) {
        fprintf(out, "\n%s\n", (*tables)->title);
        for (size_t i = 0; i < (*tables)->count; i++) print_option(&(*tables)->options[i], record, out);
    }
}

void options_free(const option_table *const *tables, void *record) {
    for (size_t i = 0; i < option_count(tables); i++) {
        const option *o = option_at(tables, i);
        if (o->kind != OPTION_LIST) continue;
        word_list *list = value_of(o, record);
        free(list->words);
        *list = (word_list){NULL, 0};
    }
}
