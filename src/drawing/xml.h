/* xml.h - a draft's bytes as a tree of SVG elements. The only file that sees libxml2's parser.
 *
 * Kept are elements of the SVG namespace (or of none) with the attributes that the reader knows, and the text of style
 * elements and of the drawing's own title. Everything lives in the arena. Ids are looked up in a sorted list.
 */
#ifndef DOVETELL_DRAWING_XML_H
#define DOVETELL_DRAWING_XML_H

#include "base/arena.h"
#include "base/array.h"
#include "drawing/names.h"
#include <dovetell/status.h>
#include <stdbool.h>

typedef struct attribute {
    word word;
    const char *value;
} attribute;

/* One property with its value, from an attribute, a style attribute or a sheet. */
typedef struct declaration {
    word property;
    bool important;
    const char *value;
} declaration;

typedef struct element {
    struct element *parent, *first, *last, *next;
    const attribute *attributes;
    const char *text;           /* of a style element or the drawing's title, else NULL */
    const declaration *cascade; /* see style.h: all that is said of its properties, weakest first */
    const char *kept_name;      /* its name as the drawing keeps it, once it was needed */
    size_t weight;              /* bytes of all its values: what it costs to look at it once */
    unsigned attribute_count, cascade_count;
    unsigned line, order; /* in the file: lines, and elements, from 1 */
    unsigned char tag;    /* enum tag */
    bool cascaded;        /* cascade is known */
    bool in_use;          /* a use element that is being followed: guards against circles */
} element;

typedef struct document {
    element *root;
    DT_ARRAY(element *) ids;    /* sorted by id, the first in the file first */
    DT_ARRAY(element *) sheets; /* style elements in document order */
    size_t refused_entities;    /* declared, but not read (external or nested) */
} document;

/* Errors: DT_NOT_SVG, DT_TOO_LARGE, DT_NO_MEMORY. name is the draft's, for messages. */
dt_status document_parse(const char *name, const char *bytes, size_t count, dt_arena *arena, document *out,
                         dt_error *error);
void document_free(document *doc);

const char *element_value(const element *e, word w); /* NULL if it has none */
element *document_find(const document *doc, const char *id, size_t length);

#endif
