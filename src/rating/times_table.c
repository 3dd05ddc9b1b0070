/* The table of timed solves (see learn.h): comma-separated values by RFC 4180, read strictly, since a table that is
 * half understood teaches the wrong thing. Invariant: solves and repeats are in the order of the file; each pair of
 * draft and solver is among the solves once. */
#include <dovetell/learn.h>

#include "base/arena.h"
#include "base/array.h"
#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

enum { MOST_COLUMNS = 64, MOST_FIELD = 1024, MOST_SOLVES = 10000 };
static const double MOST_MINUTES = 1e6;
static const size_t MOST_NAME_BYTES = (size_t)32 << 20;

enum { DRAFT, SOLVER, MINUTES, FINISHED, WANTED };
static const char *const WANTED_NAMES[WANTED] = {"draft", "solver", "minutes", "finished"};

typedef DT_ARRAY(const char *) name_list;
typedef DT_ARRAY(dt_solve) solve_list;

struct dt_times {
    dt_arena arena;
    name_list drafts, solvers;
    solve_list solves, repeats;
};

typedef struct reader {
    const char *name; /* of the file, for messages */
    const char *at, *end;
    unsigned line, row_line;
    char fields[MOST_COLUMNS][MOST_FIELD + 1]; /* of the row at hand */
    size_t field_count;
    size_t column[WANTED];
    dt_times *times;
    dt_error *error;
} reader;

static dt_status bad(const reader *r, const char *what) {
    return dt_fail(r->error, DT_BAD_TIMES, "\"%s\" line %u: %s", r->name, r->row_line, what);
}

static void skip_line_end(reader *r) {
    if (r->at < r->end && *r->at == '\r') r->at++;
    if (r->at < r->end && *r->at == '\n') r->at++;
    r->line++;
}

static bool at_field_end(const reader *r) {
    return r->at == r->end || *r->at == ',' || *r->at == '\n' || *r->at == '\r';
}

static const char TOO_LONG[] = "a field is longer than 1024 characters";

/* A quoted field: doubled quotes stand for one; line ends may lie inside. */
static dt_status read_quoted(reader *r, char *field) {
    size_t length = 0;
    for (r->at++;; r->at++) {
        if (r->at == r->end) return bad(r, "a quotation mark is opened and never closed");
        if (length == MOST_FIELD) return bad(r, TOO_LONG);
        if (*r->at == '\n') r->line++;
        if (*r->at == '"' && (++r->at == r->end || *r->at != '"')) break;
        field[length++] = *r->at;
    }
    if (!at_field_end(r))
        return bad(r, "text follows a closing quotation mark; write a quotation mark inside a field twice");
    field[length] = '\0';
    return DT_OK;
}

static void trim(char *field) {
    size_t length = strlen(field), start = strspn(field, " \t");
    while (length > start && (field[length - 1] == ' ' || field[length - 1] == '\t')) length--;
    memmove(field, field + start, length - start);
    field[length - start] = '\0';
}

static dt_status read_field(reader *r) {
    size_t length = 0;
    if (r->field_count == MOST_COLUMNS) return bad(r, "there are more than 64 columns");
    char *field = r->fields[r->field_count++];
    if (r->at < r->end && *r->at == '"') return read_quoted(r, field);
    while (!at_field_end(r)) {
        if (length == MOST_FIELD) return bad(r, TOO_LONG);
        field[length++] = *r->at++;
    }
    field[length] = '\0';
    trim(field);
    return DT_OK;
}

/* The next row that is not empty; field_count 0 at the end of the file. */
static dt_status read_row(reader *r) {
    dt_status status = DT_OK;
    r->field_count = 0;
    while (r->at < r->end && (*r->at == '\n' || *r->at == '\r')) skip_line_end(r);
    r->row_line = r->line;
    while (r->at < r->end && status == DT_OK) {
        status = read_field(r);
        if (status != DT_OK || r->at == r->end || *r->at != ',') break;
        r->at++;
        if (r->at == r->end) status = read_field(r); /* a comma ends the file: one empty field more */
    }
    if (status == DT_OK) skip_line_end(r);
    return status;
}

static dt_status read_header(reader *r) {
    dt_status status = read_row(r);
    if (status != DT_OK) return status;
    if (r->field_count == 1 && strchr(r->fields[0], ';'))
        return bad(r, "the columns are separated by semicolons; save the table with commas between columns and points "
                      "in numbers");
    for (int w = 0; w < WANTED; w++) {
        r->column[w] = MOST_COLUMNS;
        for (size_t i = r->field_count; i-- > 0;)
            if (strcasecmp(r->fields[i], WANTED_NAMES[w]) == 0) r->column[w] = i;
        if (r->column[w] == MOST_COLUMNS)
            return dt_fail(r->error, DT_BAD_TIMES,
                           "\"%s\" has no column \"%s\"; the first row must be: draft,solver,minutes,finished", r->name,
                           WANTED_NAMES[w]);
    }
    return DT_OK;
}

static dt_status read_minutes(const reader *r, const char *text, double *out) {
    char *end;
    if (strchr(text, ',')) {
        return dt_fail(r->error, DT_BAD_TIMES,
                       "\"%s\" line %u: \"%.30s\" has a decimal comma; write the minutes with a point, as in 45.5",
                       r->name, r->row_line, text);
    }
    bool is_plain = *text && strspn(text, "0123456789.") == strlen(text);
    double value = is_plain ? strtod(text, &end) : 0.0;
    if (!is_plain || *end || !(value > 0.0) || value > MOST_MINUTES)
        return dt_fail(r->error, DT_BAD_TIMES,
                       "\"%s\" line %u: \"%.30s\" is no number of minutes above 0, such as 45 or 45.5", r->name,
                       r->row_line, text);
    *out = value;
    return DT_OK;
}

static dt_status read_finished(const reader *r, const char *text, bool *out) {
    static const char *const YES[] = {"yes", "y", "true", "1"}, *const NO[] = {"no", "n", "false", "0"};
    for (int i = 0; i < 4; i++) {
        if (strcasecmp(text, YES[i]) != 0 && strcasecmp(text, NO[i]) != 0) continue;
        *out = strcasecmp(text, YES[i]) == 0;
        return DT_OK;
    }
    return dt_fail(r->error, DT_BAD_TIMES, "\"%s\" line %u: finished is \"%.30s\"; write yes or no", r->name,
                   r->row_line, text);
}

/* The number of a name, a new one if it was not there; UINT32_MAX when memory has run out. */
static uint32_t number_of(dt_times *times, name_list *names, const char *name) {
    for (size_t i = 0; i < names->count; i++)
        if (strcmp(names->items[i], name) == 0) return (uint32_t)i;
    const char *kept = dt_arena_copy(&times->arena, name, strlen(name));
    return kept && dt_array_push(names, kept) ? (uint32_t)(names->count - 1) : UINT32_MAX;
}

static bool is_repeat(const dt_times *times, const dt_solve *solve) {
    for (size_t i = 0; i < times->solves.count; i++) {
        const dt_solve *s = &times->solves.items[i];
        if (s->draft == solve->draft && s->solver == solve->solver) return true;
    }
    return false;
}

static dt_status add_solve(reader *r) {
    const char *draft = r->fields[r->column[DRAFT]];
    const char *solver = r->fields[r->column[SOLVER]];
    dt_solve solve = {.line = r->row_line};
    if (!*draft || !*solver) return bad(r, "a solve needs the name of its draft and of its solver");
    dt_status status = read_minutes(r, r->fields[r->column[MINUTES]], &solve.minutes);
    if (status == DT_OK) status = read_finished(r, r->fields[r->column[FINISHED]], &solve.finished);
    if (status != DT_OK) return status;
    if (r->times->solves.count == MOST_SOLVES)
        return bad(r, "there are more than 10000 solves, the most that are read");
    solve.draft = number_of(r->times, &r->times->drafts, draft);
    solve.solver = number_of(r->times, &r->times->solvers, solver);
    bool repeat = is_repeat(r->times, &solve);
    bool kept = repeat ? dt_array_push(&r->times->repeats, solve) : dt_array_push(&r->times->solves, solve);
    if (!kept || solve.draft == UINT32_MAX || solve.solver == UINT32_MAX)
        return dt_fail(r->error, DT_NO_MEMORY, "no memory left to read \"%s\"", r->name);
    return DT_OK;
}

static dt_status read_rows(reader *r) {
    dt_status status = read_header(r);
    size_t columns = r->field_count;
    while (status == DT_OK) {
        status = read_row(r);
        if (status != DT_OK || r->field_count == 0) break;
        if (r->field_count != columns)
            return dt_fail(r->error, DT_BAD_TIMES,
                           "\"%s\" line %u has %zu columns where the first row has %zu; put a name with a comma in "
                           "quotation marks, and write decimals with a point",
                           r->name, r->row_line, r->field_count, columns);
        status = add_solve(r);
    }
    if (status == DT_OK && r->times->solves.count == 0)
        return dt_fail(r->error, DT_BAD_TIMES,
                       "\"%s\" holds no solves: add a row for each, such as heron.svg,Wil,45.5,yes", r->name);
    return status;
}

dt_status dt_times_read_memory(const char *name, const void *bytes, size_t count, dt_times **out, dt_error *error) {
    dt_times *times = calloc(1, sizeof *times);
    if (!times) return dt_fail(error, DT_NO_MEMORY, "no memory left to read \"%s\"", name);
    times->arena = (dt_arena)DT_ARENA(MOST_NAME_BYTES);
    reader r = {.name = name,
                .at = bytes,
                .end = (const char *)bytes + count,
                .line = 1,
                .row_line = 1,
                .times = times,
                .error = error};
    if (count >= 3 && memcmp(bytes, "\xEF\xBB\xBF", 3) == 0) r.at += 3;
    dt_status status = memchr(r.at, '\0', (size_t)(r.end - r.at))
                           ? bad(&r, "this is no text; save the table as comma-separated values in UTF-8")
                           : read_rows(&r);
    if (status == DT_OK) {
        *out = times;
    } else {
        dt_times_free(times);
    }
    return status;
}

dt_status dt_times_read(const char *path, dt_times **out, dt_error *error) {
    char *bytes;
    size_t count;
    dt_status status = dt_file_read(path, DT_TIMES_MOST_BYTES, &bytes, &count, error);
    if (status != DT_OK) return status;
    status = dt_times_read_memory(path, bytes, count, out, error);
    free(bytes);
    return status;
}

void dt_times_free(dt_times *times) {
    if (!times) return;
    dt_array_free(&times->drafts);
    dt_array_free(&times->solvers);
    dt_array_free(&times->solves);
    dt_array_free(&times->repeats);
    dt_arena_free(&times->arena);
    free(times);
}

size_t dt_times_draft_count(const dt_times *times) {
    return times->drafts.count;
}

const char *dt_times_draft(const dt_times *times, size_t index) {
    return times->drafts.items[index];
}

size_t dt_times_solver_count(const dt_times *times) {
    return times->solvers.count;
}

const char *dt_times_solver(const dt_times *times, size_t index) {
    return times->solvers.items[index];
}

size_t dt_times_solve_count(const dt_times *times) {
    return times->solves.count;
}

const dt_solve *dt_times_solve(const dt_times *times, size_t index) {
    return &times->solves.items[index];
}

size_t dt_times_repeat_count(const dt_times *times) {
    return times->repeats.count;
}

const dt_solve *dt_times_repeat(const dt_times *times, size_t index) {
    return &times->repeats.items[index];
}
