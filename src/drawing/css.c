/* Declarations as CSS writes them. What cannot be understood is skipped up to the next semicolon, as CSS asks. */
#include "drawing/css.h"

#include "drawing/scan.h"
#include "drawing/style.h"
#include <string.h>

enum { MOST_BRACKETS = 64, MOST_NAME = 32 };

static bool skip_comment(const char **at) {
    if ((*at)[0] != '/' || (*at)[1] != '*') return false;
    const char *end = strstr(*at + 2, "*/");
    *at = end ? end + 2 : *at + strlen(*at);
    return true;
}

void css_skip(const char **at) {
    do scan_spaces(at);
    while (skip_comment(at));
}

static void skip_string(const char **at) {
    char quote = *(*at)++;
    while (**at && **at != quote && **at != '\n') *at += **at == '\\' && (*at)[1] ? 2 : 1;
    if (**at) ++*at;
}

static char closing(char open) {
    return open == '(' ? ')' : open == '[' ? ']' : open == '{' ? '}' : '\0';
}

void css_skip_until(const char **at, const char *stops) {
    char open[MOST_BRACKETS];
    int depth = 0;
    while (**at) {
        char c = **at;
        if (depth == 0 && strchr(stops, c)) return;
        if (skip_comment(at)) continue;
        if (c == '"' || c == '\'') {
            skip_string(at);
            continue;
        }
        if (closing(c) && depth < MOST_BRACKETS)
            open[depth++] = closing(c);
        else if (depth && c == open[depth - 1])
            depth--;
        *at += c == '\\' && (*at)[1] ? 2 : 1;
    }
}

static bool is_name_character(char c) {
    return scan_is_letter(c) || scan_is_digit(c) || c == '-' || c == '_';
}

static word read_property(const char **at) {
    char name[MOST_NAME];
    size_t count = 0;
    for (; is_name_character(**at); ++*at)
        if (count < sizeof name - 1) name[count++] = scan_lower(**at);
    name[count] = '\0';
    word w = word_of(name);
    return style_is_property(w) ? w : WORD_COUNT;
}

/* A copy of the value without comments and outer spaces. */
static char *copy_value(const char *from, const char *end, dt_arena *arena) {
    char *copy = dt_arena_copy(arena, from, (size_t)(end - from));
    if (!copy) return NULL;
    char *to = copy;
    for (const char *s = copy; *s;)
        if (skip_comment(&s))
            *to++ = ' ';
        else
            *to++ = *s++;
    while (to > copy && scan_is_space(to[-1])) to--;
    *to = '\0';
    return copy;
}

static bool cut_important(char *value) {
    char *mark = strrchr(value, '!');
    if (!mark || !scan_is_word(mark + 1, "important")) return false;
    while (mark > value && scan_is_space(mark[-1])) mark--;
    *mark = '\0';
    return true;
}

static bool read_declaration(const char **at, dt_arena *arena, declarations *out) {
    word property = read_property(at);
    css_skip(at);
    bool named = scan_char(at, ':');
    css_skip(at);
    const char *start = *at;
    css_skip_until(at, ";}");
    if (!named || property == WORD_COUNT) return true;
    char *value = copy_value(start, *at, arena);
    if (!value) return false;
    bool important = cut_important(value);
    return dt_array_push(out, (declaration){property, important, value});
}

bool css_read_declarations(const char **at, dt_arena *arena, declarations *out) {
    for (css_skip(at); **at && **at != '}'; css_skip(at)) {
        if (scan_char(at, ';')) continue;
        if (!read_declaration(at, arena, out)) return false;
    }
    return true;
}

bool css_list_holds(const char *list, const char *name) {
    size_t wanted = strlen(name);
    for (scan_spaces(&list); *list; scan_spaces(&list)) {
        const char *start = list;
        while (*list && !scan_is_space(*list)) list++;
        if ((size_t)(list - start) == wanted && strncmp(start, name, wanted) == 0) return true;
    }
    return false;
}
