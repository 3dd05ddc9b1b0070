/* Path data to an outline. The grammar is that of SVG 2, 9.3.9; what stands before the first error is kept (9.5.4). The
 * state follows the text: `at` is the current point, `start` the start of the subpath, and a MOVE is written only once
 * something is drawn from it, so that no empty subpath arises. */
#include "drawing/path_data.h"

#include "drawing/scan.h"
#include <math.h>
#include <string.h>

typedef struct parser {
    const char *text;
    outline *out;
    dt_point at, start, control; /* control: last control point of the curve before, for S and T */
    char before;                 /* command before, in upper case */
    bool begun;                  /* MOVE is written for this subpath */
} parser;

static int argument_count(char command) {
    switch (scan_lower(command)) {
    case 'z':
        return 0;
    case 'h':
    case 'v':
        return 1;
    case 'm':
    case 'l':
    case 't':
        return 2;
    case 's':
    case 'q':
        return 4;
    case 'c':
        return 6;
    case 'a':
        return 7;
    default:
        return -1;
    }
}

static bool read_flag(const char **at, double *out) {
    if (**at != '0' && **at != '1') return false;
    *out = **at - '0';
    ++*at;
    return true;
}

/* Reads the arguments of one segment; the cursor stands at the first wrong character when that fails. */
static bool read_arguments(parser *p, char command, double a[7]) {
    int count = argument_count(command);
    for (int i = 0; i < count; i++) {
        if (i) scan_separator(&p->text);
        const char *start = p->text;
        bool is_flag = count == 7 && (i == 3 || i == 4);
        if (!(is_flag ? read_flag(&p->text, &a[i]) : scan_number(&p->text, &a[i]))) return false;
        if (fabs(a[i]) <= PATH_MOST_COORDINATE) continue;
        p->text = start;
        return false;
    }
    return true;
}

static dt_point reflected(const parser *p, const char *after) {
    if (!strchr(after, p->before)) return p->at;
    return (dt_point){2.0 * p->at.x - p->control.x, 2.0 * p->at.y - p->control.y};
}

static void begin(parser *p) {
    if (!p->begun) outline_move(p->out, p->at);
    p->begun = true;
}

static void draw_cubic(parser *p, dt_point c1, dt_point c2, dt_point to) {
    outline_cubic(p->out, c1, c2, to);
    p->control = c2;
}

static void draw_quadratic(parser *p, dt_point c, dt_point to) {
    dt_point c1 = {p->at.x + 2.0 / 3.0 * (c.x - p->at.x), p->at.y + 2.0 / 3.0 * (c.y - p->at.y)};
    dt_point c2 = {to.x + 2.0 / 3.0 * (c.x - to.x), to.y + 2.0 / 3.0 * (c.y - to.y)};
    outline_cubic(p->out, c1, c2, to);
    p->control = c;
}

/* Draws one segment; a holds absolute coordinates. False if it reaches too far. */
static bool draw(parser *p, char command, const double a[7]) {
    int count = argument_count(command);
    dt_point to = count >= 2 ? (dt_point){a[count - 2], a[count - 1]} : p->at;
    if (command == 'H') to.x = a[0];
    if (command == 'V') to.y = a[0];
    if (command == 'M') {
        p->start = to;
        p->begun = false;
    } else {
        begin(p);
    }
    if (strchr("LHV", command)) outline_line(p->out, to);
    if (command == 'C') draw_cubic(p, (dt_point){a[0], a[1]}, (dt_point){a[2], a[3]}, to);
    if (command == 'S') draw_cubic(p, reflected(p, "CS"), (dt_point){a[0], a[1]}, to);
    if (command == 'Q') draw_quadratic(p, (dt_point){a[0], a[1]}, to);
    if (command == 'T') draw_quadratic(p, reflected(p, "QT"), to);
    if (command == 'A' &&
        !path_add_arc(p->out, p->at, (arc_shape){a[0], a[1], a[2], a[3] != 0.0, a[4] != 0.0}, to))
        return false;
    p->at = to;
    p->before = command;
    return true;
}

static void close_subpath(parser *p) {
    begin(p);
    outline_close(p->out);
    p->at = p->start;
    p->begun = false;
    p->before = 'Z';
}

static void make_absolute(const parser *p, char command, double a[7]) {
    int count = argument_count(command), first = count == 7 ? 5 : 0;
    if (command == 'h') a[0] += p->at.x;
    if (command == 'v') a[0] += p->at.y;
    if (!strchr("mltsqca", command)) return;
    for (int i = first; i < count; i += 2) {
        a[i] += p->at.x;
        a[i + 1] += p->at.y;
    }
}

static bool all_within(const double a[7], int count) {
    for (int i = 0; i < count; i++)
        if (!(fabs(a[i]) <= PATH_MOST_COORDINATE)) return false;
    return true;
}

static char upper(char c) {
    return c >= 'a' ? (char)(c - 'a' + 'A') : c;
}

/* Reads one command letter with all its segments. */
static bool read_command(parser *p, const char **segment) {
    *segment = p->text;
    char command = *p->text;
    if (argument_count(command) < 0 || (p->before == '\0' && scan_lower(command) != 'm')) return false;
    p->text++;
    if (upper(command) == 'Z') {
        close_subpath(p);
        return true;
    }
    scan_spaces(&p->text);
    bool comma;
    do {
        double a[7] = {0};
        if (!read_arguments(p, command, a)) return false;
        make_absolute(p, command, a);
        if (!all_within(a, argument_count(command)) || !draw(p, upper(command), a)) {
            p->text = *segment;
            return false;
        }
        if (upper(command) == 'M') command = command == 'm' ? 'l' : 'L';
        comma = scan_separator(&p->text);
        *segment = comma || argument_count(*p->text) < 0 ? p->text : *segment;
    } while (comma || scan_is_digit(*p->text) || (*p->text && strchr("+-.", *p->text)));
    return true;
}

bool path_data_parse(const char *d, outline *out, path_error *error) {
    parser p = {.text = d, .out = out};
    scan_spaces(&p.text);
    if (scan_is_word(p.text, "none")) return true;
    const char *segment = p.text;
    while (*p.text) {
        if (!read_command(&p, &segment)) {
            *error = (path_error){p.text, segment};
            return false;
        }
        scan_spaces(&p.text);
    }
    return true;
}
