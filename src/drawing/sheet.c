/* Style sheets (CSS 2.1, chapters 4 to 6). The parser makes selectors in the order of the text; matching goes from an
 * element's own compound outwards and commits to the nearest ancestor that fits, which is enough: whatever would fit
 * farther out lies also outside the nearest. */
#include "drawing/sheet.h"

#include "drawing/scan.h"
#include <dovetell/text.h>
#include <stdlib.h>
#include <string.h>

enum {
    MOST_SELECTORS = 200000,
    MOST_COMPOUNDS = 32, /* in one selector */
    MOST_HITS = 20000,   /* selectors that fit one element */
    MOST_SAID = 100000,  /* declarations of one element */
    MOST_WORK = 30000000 /* compounds compared and declarations gathered, over the whole drawing */
};

typedef enum part_kind { PART_ID, PART_CLASS, PART_TYPE, PART_ANY } part_kind; /* sharpest first */

typedef struct part {
    part_kind kind;
    const char *name;
} part;

typedef struct compound {
    size_t first, count; /* in the parts */
    bool child;          /* of the compound before; else a descendant */
} compound;

typedef struct selector {
    size_t first, count; /* in the compounds */
    part key;            /* the sharpest part of the last compound */
    unsigned weight;     /* specificity: ids, classes, types, one byte each */
    size_t order, body;  /* place in the text; which body belongs to it */
} selector;

typedef struct body {
    const declaration *items;
    size_t count;
} body;

typedef DT_ARRAY(const selector *) hits;

struct sheet {
    part *parts;
    compound *compounds;
    selector *selectors; /* sorted by key, then order */
    body *bodies;
    size_t selector_count;
    size_t work;
};

typedef struct parser {
    const char *at;
    dt_arena *arena;
    notes *notes;
    DT_ARRAY(part) parts;
    DT_ARRAY(compound) compounds;
    DT_ARRAY(selector) selectors;
    DT_ARRAY(body) bodies;
    dt_status status;
} parser;

static bool give_up(parser *p, dt_status status) {
    if (p->status == DT_OK) p->status = status;
    return false;
}

/* ---- names ---- */

static bool is_name_byte(char c) {
    return scan_is_letter(c) || scan_is_digit(c) || c == '-' || c == '_' || (c & 0x80);
}

static unsigned hex_digit(char c) {
    return scan_is_digit(c) ? (unsigned)(c - '0') : (unsigned)(scan_lower(c) - 'a' + 10);
}

static bool is_hex(char c) {
    return scan_is_digit(c) || (scan_lower(c) >= 'a' && scan_lower(c) <= 'f');
}

static void add_character(dt_text *out, unsigned code) {
    if (code == 0 || code > 0x10FFFF || (code >= 0xD800 && code < 0xE000)) code = 0xFFFD;
    char utf8[4];
    size_t count = code < 0x80 ? 1 : code < 0x800 ? 2 : code < 0x10000 ? 3 : 4;
    static const unsigned leads[5] = {0, 0, 0xC0, 0xE0, 0xF0};
    for (size_t i = count; i-- > 1; code >>= 6) utf8[i] = (char)(0x80 | (code & 0x3F));
    utf8[0] = (char)(leads[count] | code);
    dt_text_add_bytes(out, utf8, count);
}

/* An escape: a backslash with up to six hexadecimal digits and a space, or with any other character. */
static void scan_escape(const char **at, dt_text *out) {
    ++*at;
    unsigned code = 0, count = 0;
    for (; count < 6 && is_hex(**at); ++*at, count++) code = code * 16 + hex_digit(**at);
    if (count) {
        if (scan_is_space(**at)) ++*at;
        add_character(out, code);
    } else {
        dt_text_add_bytes(out, (*at)++, 1);
    }
}

/* NULL if there is no name, or no memory for it (then the status says so). */
static const char *scan_name(parser *p) {
    dt_text name = DT_TEXT_EMPTY;
    while (is_name_byte(*p->at) || (*p->at == '\\' && p->at[1] && p->at[1] != '\n')) {
        if (*p->at == '\\')
            scan_escape(&p->at, &name);
        else
            dt_text_add_bytes(&name, p->at++, 1);
    }
    const char *copy = name.length && !name.failed ? dt_arena_copy(p->arena, name.bytes, name.length) : NULL;
    if (name.failed || (name.length && !copy)) give_up(p, DT_NO_MEMORY);
    dt_text_free(&name);
    return copy;
}

/* ---- selectors ---- */

static bool add_part(parser *p, part_kind kind, const char *name) {
    if (!name) return false;
    return dt_array_push(&p->parts, ((part){kind, name})) || give_up(p, DT_NO_MEMORY);
}

static bool scan_part(parser *p) {
    if (scan_char(&p->at, '#')) return add_part(p, PART_ID, scan_name(p));
    if (scan_char(&p->at, '.')) return add_part(p, PART_CLASS, scan_name(p));
    if (scan_char(&p->at, '*')) return add_part(p, PART_ANY, "");
    return add_part(p, PART_TYPE, scan_name(p));
}

static bool is_compound_end(char c) {
    return c == '\0' || c == ',' || c == '{' || c == '>' || c == '/' || scan_is_space(c);
}

static bool scan_compound(parser *p, bool child) {
    compound c = {p->parts.count, 0, child};
    do {
        if (!scan_part(p)) return false;
    } while (!is_compound_end(*p->at));
    c.count = p->parts.count - c.first;
    return dt_array_push(&p->compounds, c) || give_up(p, DT_NO_MEMORY);
}

/* Specificity (CSS 2.1, 6.4.3), each count kept within its byte. */
static unsigned weight_of(const parser *p, size_t first_part) {
    unsigned counts[4] = {0};
    for (size_t i = first_part; i < p->parts.count; i++)
        if (counts[p->parts.items[i].kind] < 255) counts[p->parts.items[i].kind]++;
    return counts[PART_ID] << 16 | counts[PART_CLASS] << 8 | counts[PART_TYPE];
}

static part key_of(const parser *p, const compound *c) {
    part best = {PART_ANY, ""};
    for (size_t i = c->first; i < c->first + c->count; i++)
        if (p->parts.items[i].kind < best.kind) best = p->parts.items[i];
    return best;
}

/* One selector up to a comma or brace. */
static bool scan_selector(parser *p) {
    size_t first_part = p->parts.count;
    selector s = {.first = p->compounds.count, .order = p->selectors.count, .body = p->bodies.count};
    bool child = false;
    css_skip(&p->at);
    do {
        if (!scan_compound(p, child)) return false;
        css_skip(&p->at);
        child = scan_char(&p->at, '>');
        css_skip(&p->at);
        s.count = p->compounds.count - s.first;
    } while (s.count < MOST_COMPOUNDS && *p->at && *p->at != ',' && *p->at != '{');
    if (child || !strchr(",{", *p->at) || !*p->at) return false;
    s.weight = weight_of(p, first_part);
    s.key = key_of(p, &p->compounds.items[p->compounds.count - 1]);
    if (p->selectors.count >= MOST_SELECTORS) return give_up(p, DT_TOO_LARGE);
    return dt_array_push(&p->selectors, s) || give_up(p, DT_NO_MEMORY);
}

/* Is it a state that only a drawing on a screen gets into, and only under a pointer? */
static bool is_passing_state(const char *at) {
    return scan_word(&at, ":hover") || scan_word(&at, ":active") || scan_word(&at, ":focus") ||
           scan_word(&at, ":visited") || scan_word(&at, ":link");
}

static void note_selector(parser *p, const char *start) {
    if (is_passing_state(p->at)) return;
    notes_add(p->notes, 0, "a style rule for \"%s\" is not understood; it was left out", notes_excerpt(start).text);
}

/* A selector that is not understood is left out, the others of its list stay. */
static void scan_selectors(parser *p) {
    do {
        css_skip(&p->at);
        const char *start = p->at;
        size_t parts = p->parts.count, compounds = p->compounds.count;
        if (scan_selector(p)) continue;
        p->parts.count = parts;
        p->compounds.count = compounds;
        if (p->status == DT_OK) note_selector(p, start);
        css_skip_until(&p->at, ",{");
    } while (p->status == DT_OK && scan_char(&p->at, ','));
}

/* ---- rules ---- */

static void scan_body(parser *p) {
    declarations found = {0};
    body b = {NULL, 0};
    if (!css_read_declarations(&p->at, p->arena, &found)) give_up(p, DT_NO_MEMORY);
    declaration *kept = DT_TAKE(p->arena, found.count, declaration);
    if (!kept) give_up(p, DT_NO_MEMORY);
    if (kept && found.count) memcpy(kept, found.items, found.count * sizeof *kept);
    if (kept) b = (body){kept, found.count};
    dt_array_free(&found);
    if (!dt_array_push(&p->bodies, b)) give_up(p, DT_NO_MEMORY);
    scan_char(&p->at, '}');
}

static void scan_rule(parser *p) {
    size_t before = p->selectors.count;
    scan_selectors(p);
    if (p->status == DT_OK && scan_char(&p->at, '{'))
        scan_body(p);
    else
        p->selectors.count = before; /* a rule without a body says nothing */
}

/* Of at-rules only media that a screen shows is entered; its closing brace is passed over like a stray one. */
static void scan_at_rule(parser *p) {
    p->at++;
    bool is_media = scan_word(&p->at, "media");
    if (scan_word(&p->at, "import")) notes_add(p->notes, 0, "style sheets in other files (@import) are not read");
    css_skip(&p->at);
    bool entered = is_media && (scan_word(&p->at, "all") || scan_word(&p->at, "screen"));
    css_skip(&p->at);
    if (entered && scan_char(&p->at, '{')) return;
    if (is_media) notes_add(p->notes, 0, "style rules for other media than the screen are left out");
    css_skip_until(&p->at, ";{");
    if (scan_char(&p->at, ';') || !scan_char(&p->at, '{')) return;
    css_skip_until(&p->at, "}");
    scan_char(&p->at, '}');
}

static void scan_sheet(parser *p, const char *text) {
    p->at = text;
    for (css_skip(&p->at); *p->at && p->status == DT_OK; css_skip(&p->at)) {
        if (scan_text(&p->at, "<!--") || scan_text(&p->at, "-->") || scan_char(&p->at, '}') || scan_char(&p->at, ';'))
            continue;
        if (*p->at == '@')
            scan_at_rule(p);
        else
            scan_rule(p);
    }
}

static int compare_parts(part a, part b) {
    return a.kind != b.kind ? (a.kind < b.kind ? -1 : 1) : strcmp(a.name, b.name);
}

static int compare_keys(const void *a, const void *b) {
    const selector *x = a, *y = b;
    int order = compare_parts(x->key, y->key);
    return order ? order : x->order < y->order ? -1 : x->order > y->order;
}

#define KEEP(arena, list, type) keep_items((arena), (list).items, (list).count, sizeof(type))

static void *keep_items(dt_arena *arena, const void *items, size_t count, size_t size) {
    void *kept = dt_arena_take(arena, count, size);
    if (kept && count) memcpy(kept, items, count * size);
    return kept;
}

/* Moves what was parsed into the arena. */
static dt_status finish(parser *p, sheet **out) {
    sheet *s = DT_TAKE(p->arena, 1, sheet);
    if (p->status == DT_OK && s) {
        s->parts = KEEP(p->arena, p->parts, part);
        s->compounds = KEEP(p->arena, p->compounds, compound);
        s->selectors = KEEP(p->arena, p->selectors, selector);
        s->bodies = KEEP(p->arena, p->bodies, body);
        s->selector_count = p->selectors.count;
    }
    bool kept = s && s->parts && s->compounds && s->selectors && s->bodies;
    dt_status status = p->status != DT_OK ? p->status : kept ? DT_OK : DT_NO_MEMORY;
    dt_array_free(&p->parts);
    dt_array_free(&p->compounds);
    dt_array_free(&p->selectors);
    dt_array_free(&p->bodies);
    if (status != DT_OK) return status;
    if (s->selector_count) qsort(s->selectors, s->selector_count, sizeof *s->selectors, compare_keys);
    *out = s;
    return DT_OK;
}

static bool is_css(const element *e) {
    const char *type = element_value(e, WORD_TYPE), *media = element_value(e, WORD_MEDIA);
    return (!type || !*type || scan_is_word(type, "text/css")) &&
           (!media || !*media || scan_is_word(media, "all") || scan_is_word(media, "screen"));
}

dt_status sheet_new(const document *doc, dt_arena *arena, notes *n, sheet **out) {
    parser p = {.arena = arena, .notes = n};
    for (size_t i = 0; i < doc->sheets.count; i++)
        if (is_css(doc->sheets.items[i]) && doc->sheets.items[i]->text) scan_sheet(&p, doc->sheets.items[i]->text);
    return finish(&p, out);
}

dt_status sheet_parse(const char *text, dt_arena *arena, notes *n, sheet **out) {
    parser p = {.arena = arena, .notes = n};
    scan_sheet(&p, text);
    return finish(&p, out);
}

/* ---- matching ---- */

/* Long lists of classes cost their length. */
static bool has_class(sheet *s, const element *e, const char *name) {
    const char *list = element_value(e, WORD_CLASS);
    if (list) s->work += strlen(list) / 4;
    return list && css_list_holds(list, name);
}

static bool part_fits(sheet *s, const part *p, const element *e) {
    const char *id = p->kind == PART_ID ? element_value(e, WORD_ID) : NULL;
    switch (p->kind) {
    case PART_ID:
        return id && strcmp(id, p->name) == 0;
    case PART_CLASS:
        return has_class(s, e, p->name);
    case PART_TYPE:
        return strcmp(tag_name((tag)e->tag), p->name) == 0;
    case PART_ANY:
        return true;
    }
    return false;
}

static bool compound_fits(sheet *s, const compound *c, const element *e) {
    s->work++;
    for (size_t i = c->first; i < c->first + c->count; i++)
        if (!part_fits(s, &s->parts[i], e)) return false;
    return true;
}

/* Fits compounds from *left downwards to e and its parents as long as each is a child of the next. Returns the
 * outermost element and leaves *left at the last compound that was used, or NULL. */
static const element *chain_fits(sheet *s, const selector *rule, size_t *left, const element *e) {
    size_t i = *left;
    for (;; i--, e = e->parent) {
        if (!e || !compound_fits(s, &s->compounds[i], e)) return NULL;
        if (!s->compounds[i].child || i == rule->first) break;
    }
    *left = i;
    return e;
}

static bool selector_fits(sheet *s, const selector *rule, const element *e) {
    size_t left = rule->first + rule->count - 1;
    const element *outermost = chain_fits(s, rule, &left, e);
    while (outermost && left > rule->first) {
        left--;
        const element *e2 = outermost->parent;
        for (outermost = NULL; e2 && !outermost && !sheet_is_exhausted(s); e2 = e2->parent)
            outermost = chain_fits(s, rule, &left, e2);
    }
    return outermost != NULL;
}

/* Appends the selectors with this key that fit the element. */
static bool collect(sheet *s, part key, const element *e, hits *out) {
    size_t low = 0, high = s->selector_count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (compare_parts(s->selectors[middle].key, key) < 0)
            low = middle + 1;
        else
            high = middle;
    }
    for (; low < s->selector_count && compare_parts(s->selectors[low].key, key) == 0; low++) {
        if (sheet_is_exhausted(s) || out->count > MOST_HITS) return false;
        if (selector_fits(s, &s->selectors[low], e) && !dt_array_push(out, &s->selectors[low])) return false;
    }
    return true;
}

static bool collect_classes(sheet *s, const element *e, hits *out) {
    const char *list = element_value(e, WORD_CLASS);
    char name[128];
    if (!list) return true;
    for (scan_spaces(&list); *list; scan_spaces(&list)) {
        size_t count = 0;
        for (; *list && !scan_is_space(*list); list++)
            if (count < sizeof name) name[count++] = *list;
        if (count == sizeof name) continue; /* no sheet is expected to name a class that long */
        name[count] = '\0';
        if (!collect(s, (part){PART_CLASS, name}, e, out)) return false;
    }
    return true;
}

static int compare_weight(const void *a, const void *b) {
    const selector *x = *(const selector *const *)a, *y = *(const selector *const *)b;
    if (x->weight != y->weight) return x->weight < y->weight ? -1 : 1;
    return x->order < y->order ? -1 : x->order > y->order;
}

bool sheet_is_exhausted(const sheet *rules) {
    return rules->work > MOST_WORK;
}

bool sheet_match(sheet *rules, const element *e, declarations *out) {
    if (rules->selector_count == 0) return true;
    hits found = {0};
    const char *id = element_value(e, WORD_ID);
    bool done = collect(rules, (part){PART_ANY, ""}, e, &found) &&
                collect(rules, (part){PART_TYPE, tag_name((tag)e->tag)}, e, &found) &&
                collect_classes(rules, e, &found) && (!id || collect(rules, (part){PART_ID, id}, e, &found));
    if (found.count) qsort(found.items, found.count, sizeof *found.items, compare_weight);
    for (size_t i = 0; i < found.count && done; i++) {
        const body *b = &rules->bodies[found.items[i]->body];
        if (i && found.items[i]->body == found.items[i - 1]->body) continue;
        rules->work += b->count;
        for (size_t j = 0; j < b->count && done; j++) done = dt_array_push(out, b->items[j]);
        if (out->count > MOST_SAID) rules->work = (size_t)MOST_WORK + 1;
    }
    if (found.count > MOST_HITS) rules->work = (size_t)MOST_WORK + 1;
    dt_array_free(&found);
    return done && !sheet_is_exhausted(rules);
}
