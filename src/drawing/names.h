/* names.h - the element and attribute names that the reader knows. Properties are attributes that style sheets may set too.
 * Each list is in alphabetical order (strcmp), which the look-up needs. */
#ifndef DOVETELL_DRAWING_NAMES_H
#define DOVETELL_DRAWING_NAMES_H

/* What an element is to the reader:
 * GROUP holds drawn things; SHAPE is drawn; UNCUT is drawn but cannot be cut; NEVER is not drawn where it stands, nor is
 * anything in it. */
#define TAG_LIST(ENTRY)                                 \
    ENTRY(A, "a", GROUP)                                \
    ENTRY(ANIMATE, "animate", NEVER)                    \
    ENTRY(ANIMATE_COLOR, "animateColor", NEVER)         \
    ENTRY(ANIMATE_MOTION, "animateMotion", NEVER)       \
    ENTRY(ANIMATE_TRANSFORM, "animateTransform", NEVER) \
    ENTRY(CIRCLE, "circle", SHAPE)                      \
    ENTRY(CLIP_PATH, "clipPath", NEVER)                 \
    ENTRY(COLOR_PROFILE, "color-profile", NEVER)        \
    ENTRY(CURSOR, "cursor", NEVER)                      \
    ENTRY(DEFS, "defs", NEVER)                          \
    ENTRY(DESC, "desc", NEVER)                          \
    ENTRY(ELLIPSE, "ellipse", SHAPE)                    \
    ENTRY(FILTER, "filter", NEVER)                      \
    ENTRY(FLOW_ROOT, "flowRoot", UNCUT)                 \
    ENTRY(FONT, "font", NEVER)                          \
    ENTRY(FONT_FACE, "font-face", NEVER)                \
    ENTRY(FOREIGN_OBJECT, "foreignObject", UNCUT)       \
    ENTRY(G, "g", GROUP)                                \
    ENTRY(GLYPH, "glyph", NEVER)                        \
    ENTRY(IMAGE, "image", UNCUT)                        \
    ENTRY(LINE, "line", SHAPE)                          \
    ENTRY(LINEAR_GRADIENT, "linearGradient", NEVER)     \
    ENTRY(MARKER, "marker", NEVER)                      \
    ENTRY(MASK, "mask", NEVER)                          \
    ENTRY(METADATA, "metadata", NEVER)                  \
    ENTRY(PATH, "path", SHAPE)                          \
    ENTRY(PATTERN, "pattern", NEVER)                    \
    ENTRY(POLYGON, "polygon", SHAPE)                    \
    ENTRY(POLYLINE, "polyline", SHAPE)                  \
    ENTRY(RADIAL_GRADIENT, "radialGradient", NEVER)     \
    ENTRY(RECT, "rect", SHAPE)                          \
    ENTRY(SCRIPT, "script", NEVER)                      \
    ENTRY(SET, "set", NEVER)                            \
    ENTRY(SOLID_COLOR, "solidColor", NEVER)             \
    ENTRY(STOP, "stop", NEVER)                          \
    ENTRY(STYLE, "style", NEVER)                        \
    ENTRY(SVG, "svg", GROUP)                            \
    ENTRY(SWITCH, "switch", GROUP)                      \
    ENTRY(SYMBOL, "symbol", NEVER)                      \
    ENTRY(TEXT, "text", UNCUT)                          \
    ENTRY(TITLE, "title", NEVER)                        \
    ENTRY(USE, "use", GROUP)                            \
    ENTRY(VIEW, "view", NEVER)

typedef enum tag {
#define TAG_ENUM(name, text, kind) TAG_##name,
    TAG_LIST(TAG_ENUM)
#undef TAG_ENUM
        TAG_OTHER /* anything else of SVG */
} tag;

typedef enum tag_kind { TAG_IS_GROUP, TAG_IS_SHAPE, TAG_IS_UNCUT, TAG_IS_NEVER, TAG_IS_OTHER } tag_kind;

#define WORD_LIST(ENTRY)                                \
    ENTRY(CLASS, "class")                               \
    ENTRY(CLIP_PATH, "clip-path")                       \
    ENTRY(COLOR, "color")                               \
    ENTRY(CX, "cx")                                     \
    ENTRY(CY, "cy")                                     \
    ENTRY(D, "d")                                       \
    ENTRY(DISPLAY, "display")                           \
    ENTRY(FILL, "fill")                                 \
    ENTRY(FILL_OPACITY, "fill-opacity")                 \
    ENTRY(FILL_RULE, "fill-rule")                       \
    ENTRY(FONT_SIZE, "font-size")                       \
    ENTRY(HEIGHT, "height")                             \
    ENTRY(HREF, "href")                                 \
    ENTRY(ID, "id")                                     \
    ENTRY(LABEL, "label")                               \
    ENTRY(MASK, "mask")                                 \
    ENTRY(MEDIA, "media")                               \
    ENTRY(OPACITY, "opacity")                           \
    ENTRY(POINTS, "points")                             \
    ENTRY(PRESERVE_ASPECT_RATIO, "preserveAspectRatio") \
    ENTRY(R, "r")                                       \
    ENTRY(REQUIRED_EXTENSIONS, "requiredExtensions")    \
    ENTRY(RX, "rx")                                     \
    ENTRY(RY, "ry")                                     \
    ENTRY(STROKE, "stroke")                             \
    ENTRY(STROKE_DASHARRAY, "stroke-dasharray")         \
    ENTRY(STROKE_OPACITY, "stroke-opacity")             \
    ENTRY(STROKE_WIDTH, "stroke-width")                 \
    ENTRY(STYLE, "style")                               \
    ENTRY(SYSTEM_LANGUAGE, "systemLanguage")            \
    ENTRY(TRANSFORM, "transform")                       \
    ENTRY(TRANSFORM_ORIGIN, "transform-origin")         \
    ENTRY(TYPE, "type")                                 \
    ENTRY(VIEW_BOX, "viewBox")                          \
    ENTRY(VISIBILITY, "visibility")                     \
    ENTRY(WIDTH, "width")                               \
    ENTRY(X, "x")                                       \
    ENTRY(X1, "x1")                                     \
    ENTRY(X2, "x2")                                     \
    ENTRY(Y, "y")                                       \
    ENTRY(Y1, "y1")                                     \
    ENTRY(Y2, "y2")

typedef enum word {
#define WORD_ENUM(name, text) WORD_##name,
    WORD_LIST(WORD_ENUM)
#undef WORD_ENUM
        WORD_COUNT /* also: a name that is not known */
} word;

tag tag_of(const char *name);
const char *tag_name(tag t); /* "" for TAG_OTHER */
tag_kind tag_kind_of(tag t);
word word_of(const char *name);

#endif
