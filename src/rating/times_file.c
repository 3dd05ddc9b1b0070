/* The result file of `dovetell learn`: a first line that names the format, then "name value" lines over the constants
 * of the effort model; lines that begin with # are for people. Read strictly: a name or a value that makes no sense
 * refuses the file, so that a slip never changes an estimate unnoticed. */
#include <dovetell/learn.h>

#include "rating/times_file.h"
#include <dovetell/text.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char HEADER[] = "dovetell times 1";
static const size_t MOST_BYTES = 65536;

const times_field TIMES_FIELDS[] = {
    {"person", offsetof(dt_effort, person), 0.02, 50.0},
    {"scan_s", offsetof(dt_effort, scan_s), 0.005, 10.0},
    {"alike_s", offsetof(dt_effort, alike_s), 0.1, 100.0},
    {"log_sd", offsetof(dt_effort, log_sd), 0.05, 3.0},
};
const size_t TIMES_FIELD_COUNT = sizeof TIMES_FIELDS / sizeof *TIMES_FIELDS;

double *times_field_in(dt_effort *effort, const times_field *field) {
    return (double *)(void *)((char *)effort + field->offset);
}

static const times_field *field_named(const char *name, size_t length) {
    for (size_t i = 0; i < TIMES_FIELD_COUNT; i++)
        if (strlen(TIMES_FIELDS[i].name) == length && strncmp(TIMES_FIELDS[i].name, name, length) == 0)
            return &TIMES_FIELDS[i];
    return NULL;
}

static bool read_number(const char *text, double *out) {
    char *end;
    if (strspn(text, "0123456789.eE+-") != strlen(text) || *text == '\0') return false;
    double value = strtod(text, &end);
    if (*end != '\0' || !isfinite(value)) return false;
    *out = value;
    return true;
}

static dt_status read_line(const char *path, unsigned number, const char *line, dt_effort *effort, dt_error *error) {
    size_t name = strcspn(line, " ");
    const times_field *field = field_named(line, name);
    double value = 0.0;
    if (!field)
        return dt_fail(error, DT_BAD_TIMES,
                       "\"%s\" line %u: \"%.40s\" is no name that a file of learnt times has; make the "
                       "file anew with dovetell learn",
                       path, number, line);
    if (line[name] != ' ' || !read_number(line + name + 1, &value) || value < field->least || value > field->most)
        return dt_fail(error, DT_BAD_TIMES,
                       "\"%s\" line %u: \"%.40s\" is no value from %g to %g; make the file anew with "
                       "dovetell learn",
                       path, number, line, field->least, field->most);
    *times_field_in(effort, field) = value;
    return DT_OK;
}

static dt_status read_lines(const char *path, char *text, dt_effort *effort, dt_error *error) {
    dt_effort read = *effort;
    dt_status status = DT_OK;
    unsigned number = 0;
    for (char *line = text, *next; line && status == DT_OK; line = next) {
        next = strchr(line, '\n');
        if (next) *next++ = '\0';
        line[strcspn(line, "\r")] = '\0';
        if (++number == 1 && strcmp(line, HEADER) != 0)
            return dt_fail(error, DT_BAD_TIMES,
                           "\"%s\" is no file of learnt times; make one with dovetell learn TIMES.csv", path);
        if (number > 1 && *line && *line != '#') status = read_line(path, number, line, &read, error);
    }
    if (status == DT_OK) *effort = read;
    return status;
}

dt_status dt_effort_read(const char *path, dt_effort *effort, dt_error *error) {
    char *bytes;
    size_t count;
    dt_status status = dt_file_read(path, MOST_BYTES, &bytes, &count, error);
    if (status != DT_OK) return status;
    status = read_lines(path, bytes, effort, error);
    free(bytes);
    return status;
}

static void write_value(dt_text *out, const char *name, dt_learnt_value v, const char *meaning) {
    dt_text_addf(out, "# %s: %.3g (19 times in 20 between %.3g and %.3g); %s\n", name, v.value, v.low, v.high, meaning);
}

void dt_effort_write(const dt_learnt *learnt, dt_text *out) {
    dt_effort effort = learnt->effort;
    dt_text_addf(out, "%s\n# learnt from %zu first solves (%zu finished) of %zu drafts by %zu solvers\n", HEADER,
                 learnt->solves, learnt->finished, learnt->drafts, learnt->solvers);
    write_value(out, "person", learnt->person, "1 = the median adult, 2 = takes twice as long");
    for (size_t i = 0; i < TIMES_FIELD_COUNT && (i == 0 || learnt->more); i++)
        dt_text_addf(out, "%s %.9g\n", TIMES_FIELDS[i].name, *times_field_in(&effort, &TIMES_FIELDS[i]));
}
