/* XML to elements by libxml2's SAX interface, hardened: no network, no file but the bytes at hand, no external subset
 * or entity; of internal entities only plain text ones, whose expansion is counted; nesting, elements and memory
 * bounded by our own limits, since XML_PARSE_HUGE (long path data needs it) lifts the library's. Invariant: `here` is
 * the element whose content is being read, `skipped` counts the open elements below it that are not kept. */
#include "drawing/xml.h"

#include <dovetell/drawing.h>
#include <dovetell/text.h>
#include <libxml/SAX2.h>
#include <libxml/parser.h>
#include <libxml/parserInternals.h>
#include <limits.h>
#include <stdint.h>
#include <string.h>

#define SVG_NAMESPACE "http://www.w3.org/2000/svg"
#define XLINK_NAMESPACE "http://www.w3.org/1999/xlink"

enum {
    MOST_ELEMENTS = 1000000,
    MOST_NAMESPACES = 1000, /* in scope at a time: the library looks them up one by one */
    MOST_ATTRIBUTES = 256,  /* of one element: the library compares each with each */
    MOST_DEFAULTS = 100,    /* attribute defaults declared in the file: each is looked at for each element */
    MOST_ENTITIES = 10000,
    MOST_ENTITY_BYTES = 4096,    /* of one entity's text */
    MOST_EXPANSION = 8 << 20,    /* bytes of all entities wherever they are used */
    MOST_STYLE_BYTES = 16 << 20, /* of all style sheets */
    MOST_TITLE_BYTES = 1000,     /* what follows is left out */
    MOST_DICTIONARY = 300000 /* bytes of distinct names: the library's table of them stops growing at 16384 chains */
};

typedef struct builder {
    xmlParserCtxtPtr parser;
    const char *bytes;
    size_t byte_count, bytes_read;
    dt_arena *arena;
    document *doc;
    element *here;
    DT_ARRAY(attribute) attributes; /* of the element at hand */
    size_t weight;                  /* bytes of their values */
    DT_ARRAY(int) namespaces;       /* declared by each open element */
    dt_text text;                   /* of the style or title element at hand */
    const char *root_name;          /* outermost element, when that is not svg */
    unsigned skipped, depth, elements;
    unsigned line; /* where the last thing read ended, so where the next begins */
    size_t namespaces_in_scope, defaults, entities, expansion, style_bytes;
    dt_status status; /* why the parser was stopped */
    const char *limit;
    char problem[160]; /* the library's own words on the first fatal error */
    int problem_line, problem_column;
} builder;

static builder *builder_of(void *context) {
    return ((xmlParserCtxtPtr)context)->_private;
}

static void stop(builder *b, dt_status status, const char *limit) {
    if (b->status != DT_OK) return;
    b->status = status;
    b->limit = limit;
    xmlStopParser(b->parser);
}

/* Gives the library the next bytes. After an error there are none: it would go through the rest of a broken file, which
 * can cost it the square of the size. */
static int next_bytes(void *context, char *out, int room) {
    builder *b = context;
    size_t left = b->problem[0] || b->status != DT_OK ? 0 : b->byte_count - b->bytes_read;
    size_t count = left < (size_t)room ? left : (size_t)room;
    if (count) memcpy(out, b->bytes + b->bytes_read, count);
    b->bytes_read += count;
    return (int)count;
}

/* Lines as the main file counts them; the content of an entity does not count. */
static void note_line(void *context) {
    builder *b = builder_of(context);
    if (context == b->parser && b->parser->input && b->parser->input->line > 0)
        b->line = (unsigned)b->parser->input->line;
}

/* ---- attributes ---- */

static word word_of_attribute(const char *name, const char *prefix, const char *uri) {
    const char *colon = strrchr(name, ':');
    const char *local = colon ? colon + 1 : name;
    if (strcmp(local, "label") == 0) return WORD_LABEL;
    if (uri && strcmp(uri, XLINK_NAMESPACE) == 0) return strcmp(local, "href") == 0 ? WORD_HREF : WORD_COUNT;
    if (!uri && (colon || prefix)) return strcmp(local, "href") == 0 ? WORD_HREF : WORD_COUNT; /* no such prefix */
    return uri ? WORD_COUNT : word_of(name);
}

/* A plain href counts before an xlink:href (SVG 2, 16.1.6), any other attribute once. */
static void add_attribute(builder *b, attribute a, bool plain) {
    for (size_t i = 0; i < b->attributes.count; i++)
        if (b->attributes.items[i].word == a.word) {
            if (plain) b->attributes.items[i].value = a.value;
            return;
        }
    if (!dt_array_push(&b->attributes, a)) stop(b, DT_NO_MEMORY, NULL);
}

/* The library gives five pointers for each attribute: local name, prefix, namespace, value, end of the value. */
static void read_attributes(builder *b, int count, const xmlChar **given) {
    b->attributes.count = 0;
    b->weight = 0;
    for (int i = 0; i < count; i++) {
        const char *name = (const char *)given[5 * i], *prefix = (const char *)given[5 * i + 1];
        const char *uri = (const char *)given[5 * i + 2], *value = (const char *)given[5 * i + 3];
        word w = word_of_attribute(name, prefix, uri);
        if (w == WORD_COUNT) continue;
        size_t length = (size_t)((const char *)given[5 * i + 4] - value);
        const char *copy = dt_arena_copy(b->arena, value, length);
        if (!copy) {
            bool full = length >= b->arena->limit - b->arena->used;
            stop(b, full ? DT_TOO_LARGE : DT_NO_MEMORY, full ? "more attributes than dovetell keeps" : NULL);
            return;
        }
        add_attribute(b, (attribute){w, copy}, !uri && !prefix);
        b->weight += length;
    }
}

/* ---- elements ---- */

static void append_child(element *parent, element *child) {
    if (parent->last)
        parent->last->next = child;
    else
        parent->first = child;
    parent->last = child;
}

static element *keep_element(builder *b, const char *name) {
    element *e = DT_TAKE(b->arena, 1, element);
    attribute *attributes = DT_TAKE(b->arena, b->attributes.count, attribute);
    if (!e || !attributes) return NULL;
    if (b->attributes.count) memcpy(attributes, b->attributes.items, b->attributes.count * sizeof *attributes);
    e->attributes = attributes;
    e->attribute_count = (unsigned)b->attributes.count;
    e->parent = b->here;
    e->line = b->line;
    e->order = b->elements;
    e->weight = b->weight;
    e->tag = (unsigned char)tag_of(name);
    return e;
}

static bool open_scope(builder *b, int namespaces) {
    b->namespaces_in_scope += (size_t)namespaces;
    if (++b->elements > MOST_ELEMENTS) stop(b, DT_TOO_LARGE, "more than 1000000 elements");
    if (++b->depth > DT_DRAWING_MOST_DEPTH) stop(b, DT_TOO_LARGE, "elements nested more than 200 deep");
    if (b->namespaces_in_scope > MOST_NAMESPACES) stop(b, DT_TOO_LARGE, "more than 1000 namespaces");
    if (!dt_array_push(&b->namespaces, namespaces)) stop(b, DT_NO_MEMORY, NULL);
    return b->status == DT_OK;
}

static bool is_svg(const builder *b, const char *name, const char *uri) {
    if (b->here || b->doc->root) return !uri || strcmp(uri, SVG_NAMESPACE) == 0;
    return strcmp(name, "svg") == 0 && (!uri || strcmp(uri, SVG_NAMESPACE) == 0);
}

static void keep_lists(builder *b, element *e) {
    if (element_value(e, WORD_ID) && !dt_array_push(&b->doc->ids, e)) stop(b, DT_NO_MEMORY, NULL);
    if (e->tag == TAG_STYLE && !dt_array_push(&b->doc->sheets, e)) stop(b, DT_NO_MEMORY, NULL);
}

static void on_start(void *context, const xmlChar *local, const xmlChar *prefix, const xmlChar *uri, int namespaces,
                     const xmlChar **declared, int count, int defaulted, const xmlChar **given) {
    (void)prefix, (void)declared;
    builder *b = builder_of(context);
    const char *name = (const char *)local;
    if (context != b->parser || !open_scope(b, namespaces)) return;
    bool is_root = b->elements == 1;
    if (b->skipped || !is_svg(b, name, (const char *)uri)) {
        if (is_root) b->root_name = dt_arena_copy(b->arena, name, strnlen(name, 60));
        b->skipped++;
        note_line(context);
        return;
    }
    read_attributes(b, count - defaulted, given);
    element *e = b->status == DT_OK ? keep_element(b, name) : NULL;
    note_line(context);
    if (!e) {
        stop(b, DT_TOO_LARGE, "more elements than dovetell keeps");
        return;
    }
    if (is_root) b->doc->root = e;
    if (b->here) append_child(b->here, e);
    b->here = e;
    keep_lists(b, e);
}

/* A title that is the drawing's own, not that of a group or a shape. */
static bool is_title(const element *e) {
    return e->tag == TAG_TITLE && e->parent && !e->parent->parent;
}

static void end_text(builder *b) {
    if (b->text.failed) {
        stop(b, DT_NO_MEMORY, NULL);
        return;
    }
    b->here->text = dt_arena_copy(b->arena, b->text.bytes ? b->text.bytes : "", b->text.length);
    if (!b->here->text) stop(b, DT_TOO_LARGE, "longer style sheets than dovetell keeps");
    dt_text_free(&b->text);
}

static void on_end(void *context, const xmlChar *local, const xmlChar *prefix, const xmlChar *uri) {
    (void)local, (void)prefix, (void)uri;
    builder *b = builder_of(context);
    if (context != b->parser || b->depth == 0) return;
    note_line(context);
    b->depth--;
    b->namespaces_in_scope -= (size_t)b->namespaces.items[--b->namespaces.count];
    if (b->skipped) {
        b->skipped--;
        return;
    }
    if (b->here->tag == TAG_STYLE || is_title(b->here)) end_text(b);
    b->here = b->here->parent;
}

static void on_text(void *context, const xmlChar *text, int length) {
    builder *b = builder_of(context);
    note_line(context);
    if (b->skipped || !b->here || length <= 0) return;
    if (is_title(b->here)) {
        size_t room = b->text.length < MOST_TITLE_BYTES ? MOST_TITLE_BYTES - b->text.length : 0;
        dt_text_add_bytes(&b->text, text, (size_t)length < room ? (size_t)length : room);
    }
    if (b->here->tag != TAG_STYLE) return;
    b->style_bytes += (size_t)length;
    if (b->style_bytes > MOST_STYLE_BYTES) {
        stop(b, DT_TOO_LARGE, "style sheets of more than 16 MB");
        return;
    }
    dt_text_add_bytes(&b->text, text, (size_t)length);
}

static void on_comment(void *context, const xmlChar *text) {
    (void)text;
    note_line(context);
}

static void on_instruction(void *context, const xmlChar *target, const xmlChar *data) {
    (void)target, (void)data;
    note_line(context);
}

/* ---- the document type: plain internal entities only ---- */

static void on_document(void *context) {
    xmlSAX2StartDocument(context);
    xmlDictSetLimit(((xmlParserCtxtPtr)context)->dict, MOST_DICTIONARY);
}

static void on_entity_declared(void *context, const xmlChar *name, int type, const xmlChar *public_id,
                               const xmlChar *system_id, xmlChar *content) {
    builder *b = builder_of(context);
    const char *text = (const char *)content;
    bool plain =
        type == XML_INTERNAL_GENERAL_ENTITY && text && !strpbrk(text, "&<") && strlen(text) <= MOST_ENTITY_BYTES;
    if (!plain) {
        b->doc->refused_entities++;
        return;
    }
    if (++b->entities > MOST_ENTITIES) {
        stop(b, DT_TOO_LARGE, "more than 10000 entities");
        return;
    }
    xmlSAX2EntityDecl(context, name, type, public_id, system_id, content);
}

static xmlEntityPtr on_entity(void *context, const xmlChar *name) {
    builder *b = builder_of(context);
    xmlEntityPtr entity = xmlSAX2GetEntity(context, name);
    if (!entity || entity->etype == XML_INTERNAL_PREDEFINED_ENTITY) return entity;
    b->expansion += (size_t)entity->length;
    if (b->expansion <= MOST_EXPANSION) return entity;
    stop(b, DT_TOO_LARGE, "entities that grow beyond 8 MB where they are used");
    return NULL;
}

static xmlEntityPtr on_parameter_entity(void *context, const xmlChar *name) {
    (void)context, (void)name;
    return NULL;
}

static void on_attribute_declared(void *context, const xmlChar *element_name, const xmlChar *name, int type, int kind,
                                  const xmlChar *value, xmlEnumerationPtr tree) {
    (void)element_name, (void)name, (void)type, (void)kind;
    builder *b = builder_of(context);
    xmlFreeEnumeration(tree);
    if (value && ++b->defaults > MOST_DEFAULTS) stop(b, DT_TOO_LARGE, "more than 100 default attributes");
}

static void on_problem(void *context, xmlErrorPtr problem) {
    builder *b = builder_of(context);
    if (problem->level != XML_ERR_FATAL || b->problem[0]) return;
    dt_text words = DT_TEXT_EMPTY;
    dt_text_add_plain(&words, problem->message ? problem->message : "", 120);
    snprintf(b->problem, sizeof b->problem, "%s", words.bytes && *words.bytes ? words.bytes : "it cannot be read");
    dt_text_free(&words);
    b->problem_line = problem->line;
    b->problem_column = problem->int2;
}

static void keep_silent(void *context, xmlErrorPtr problem) {
    (void)context, (void)problem;
}

/* ---- the whole ---- */

static xmlSAXHandler handler(void) {
    xmlSAXHandler h;
    memset(&h, 0, sizeof h);
    h.initialized = XML_SAX2_MAGIC;
    h.startDocument = on_document;
    h.internalSubset = xmlSAX2InternalSubset;
    h.entityDecl = on_entity_declared;
    h.attributeDecl = on_attribute_declared;
    h.getEntity = on_entity;
    h.getParameterEntity = on_parameter_entity;
    h.startElementNs = on_start;
    h.endElementNs = on_end;
    h.characters = on_text;
    h.ignorableWhitespace = on_text;
    h.cdataBlock = on_text;
    h.comment = on_comment;
    h.processingInstruction = on_instruction;
    h.serror = on_problem;
    return h;
}

/* The library's sentence without the line feed at its end. */
static void trim(char *text) {
    size_t length = strlen(text);
    while (length && (text[length - 1] == '\n' || text[length - 1] == ' ' || text[length - 1] == '.'))
        text[--length] = '\0';
}

static dt_status not_well_formed(builder *b, const char *name, dt_error *error) {
    char *replaced = strstr(b->problem, "\xEF\xBF\xBD"); /* its line feed */
    if (replaced) *replaced = '\0';
    trim(b->problem);
    dt_fail(error, DT_NOT_SVG,
            "\"%s\" is not a whole SVG drawing: at line %d the XML goes wrong (%s); save it anew as SVG", name,
            b->problem_line, b->problem[0] ? b->problem : "it cannot be read");
    if (error && b->problem_line > 0) error->line = (unsigned)b->problem_line;
    if (error && b->problem_column > 0) error->column = (unsigned)b->problem_column;
    return DT_NOT_SVG;
}

static dt_status outcome(builder *b, const char *name, dt_error *error) {
    if (b->status == DT_NO_MEMORY) return dt_fail(error, DT_NO_MEMORY, "no memory left to read \"%s\"", name);
    if (b->status == DT_TOO_LARGE)
        return dt_fail(error, DT_TOO_LARGE, "\"%s\" has %s: simplify the drawing", name, b->limit);
    if (b->root_name && strcmp(b->root_name, "svg") == 0)
        return dt_fail(error, DT_NOT_SVG,
                       "\"%s\" is not an SVG drawing: its namespace is not " SVG_NAMESPACE "; save it as SVG", name);
    if (b->root_name)
        return dt_fail(error, DT_NOT_SVG, "\"%s\" is not an SVG drawing: its outermost element is <%s>; save it as SVG",
                       name, b->root_name);
    if (!b->parser->wellFormed && b->doc->refused_entities)
        return dt_fail(error, DT_NOT_SVG,
                       "\"%s\" cannot be read: it is built from entities that point to other files, hold markup or other entities, or are "
                       "very long, and such are never read; save it anew as plain SVG", name);
    if (!b->parser->wellFormed) return not_well_formed(b, name, error);
    return b->doc->root ? DT_OK : dt_fail(error, DT_NOT_SVG, "\"%s\" is not an SVG drawing: it holds no element", name);
}

static int compare_ids(const void *a, const void *b) {
    const element *x = *(element *const *)a, *y = *(element *const *)b;
    int order = strcmp(element_value(x, WORD_ID), element_value(y, WORD_ID));
    if (order) return order;
    return x->order < y->order ? -1 : x->order > y->order;
}

static const char *skip_past(const char *s, const char *end, const char *mark) {
    size_t length = strlen(mark), seen = 0;
    for (; s < end; s++) {
        if (*s == '\0') continue;
        if (*s == mark[seen])
            seen++;
        else if (*s != mark[0])
            seen = 0;
        else if (seen != 2)
            seen = 1; /* a third - or ] leaves two of them */
        if (seen == length) return s + 1;
    }
    return end;
}

/* The bytes 0 of UTF-16 do no harm. */
static bool begins(const char *s, const char *end, const char *mark) {
    for (; *mark && s < end; s++) {
        if (*s == '\0') continue;
        if (*s != *mark++) return false;
    }
    return *mark == '\0';
}

/* From the < of a tag to behind its >; *quotes grows by the number of quoted values. */
static const char *skip_tag(const char *s, const char *end, unsigned *quotes) {
    char open = '\0';
    for (; s < end && (open || *s != '>') && *quotes <= MOST_ATTRIBUTES; s++) {
        if (*s != '"' && *s != '\'') continue;
        if (!open)
            open = *s;
        else if (open == *s)
            open = '\0', ++*quotes;
    }
    return s;
}

/* A tag with very many attributes costs the library the square of their number: looks for one before the library does.
 */
static bool has_endless_tag(const char *bytes, size_t count) {
    const char *end = bytes + count;
    for (const char *s = bytes; s && (s = memchr(s, '<', (size_t)(end - s)));) {
        unsigned quotes = 0;
        if (begins(s, end, "<!--"))
            s = skip_past(s + 4, end, "-->");
        else if (begins(s, end, "<![CDATA["))
            s = skip_past(s, end, "]]>");
        else if (begins(s, end, "<?"))
            s = skip_past(s, end, "?>");
        else
            s = skip_tag(s, end, &quotes);
        if (quotes > MOST_ATTRIBUTES) return true;
    }
    return false;
}

/* UTF-16 without a byte order mark, which the library knows by its XML declaration alone. NULL = it finds out by itself. */
static const char *unmarked_encoding(const char *bytes, size_t count) {
    if (count < 4 || bytes[2] == '?' || bytes[3] == '?') return NULL;
    if (bytes[0] == '\0' && bytes[1] == '<' && bytes[2] == '\0') return "UTF-16BE";
    return bytes[0] == '<' && bytes[1] == '\0' && bytes[3] == '\0' ? "UTF-16LE" : NULL;
}

dt_status document_parse(const char *name, const char *bytes, size_t count, dt_arena *arena, document *out,
                         dt_error *error) {
    document doc = {0};
    builder b = {.bytes = bytes, .byte_count = count, .arena = arena, .doc = &doc, .line = 1};
    dt_status status = DT_NO_MEMORY;
    if (has_endless_tag(bytes, count))
        return dt_fail(error, DT_TOO_LARGE, "\"%s\" has an element with more than 256 attributes: simplify the drawing",
                       name);
    b.parser = xmlNewParserCtxt();
    if (!b.parser) goto done;
    *b.parser->sax = handler();
    b.parser->_private = &b;
    xmlStructuredErrorFunc before = xmlStructuredError;
    void *before_context = xmlStructuredErrorContext;
    xmlSetStructuredErrorFunc(NULL, keep_silent); /* what concerns no parser would be printed */
    xmlDocPtr tree =
        xmlCtxtReadIO(b.parser, next_bytes, NULL, &b, NULL, unmarked_encoding(bytes, count),
                      XML_PARSE_NONET | XML_PARSE_NOENT | XML_PARSE_NOERROR | XML_PARSE_NOWARNING | XML_PARSE_HUGE);
    xmlSetStructuredErrorFunc(before_context, before);
    xmlFreeDoc(tree);
    status = outcome(&b, name, error);
    if (status != DT_OK) goto done;
    if (doc.ids.count) qsort(doc.ids.items, doc.ids.count, sizeof *doc.ids.items, compare_ids);
    *out = doc;
    doc = (document){0};
done:
    if (b.parser) xmlFreeParserCtxt(b.parser);
    dt_array_free(&b.attributes);
    dt_array_free(&b.namespaces);
    dt_text_free(&b.text);
    document_free(&doc);
    return status;
}

void document_free(document *doc) {
    dt_array_free(&doc->ids);
    dt_array_free(&doc->sheets);
}

const char *element_value(const element *e, word w) {
    for (unsigned i = 0; i < e->attribute_count; i++)
        if (e->attributes[i].word == w) return e->attributes[i].value;
    return NULL;
}

static int compare_id(const element *e, const char *id, size_t length) {
    const char *own = element_value(e, WORD_ID);
    int order = strncmp(own, id, length);
    return order ? order : own[length] != '\0';
}

element *document_find(const document *doc, const char *id, size_t length) {
    size_t low = 0, high = doc->ids.count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (compare_id(doc->ids.items[middle], id, length) < 0)
            low = middle + 1;
        else
            high = middle;
    }
    bool found = low < doc->ids.count && compare_id(doc->ids.items[low], id, length) == 0;
    return found ? doc->ids.items[low] : NULL;
}
