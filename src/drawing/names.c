/* The element and attribute names that the reader knows, found by halving. */
#include "drawing/names.h"

#include <stddef.h>
#include <string.h>

static const char *const tags[] = {
#define TAG_TEXT(name, text, kind) text,
    TAG_LIST(TAG_TEXT)
#undef TAG_TEXT
};

static const unsigned char kinds[] = {
#define TAG_KIND(name, text, kind) TAG_IS_##kind,
    TAG_LIST(TAG_KIND)
#undef TAG_KIND
};

static const char *const words[] = {
#define WORD_TEXT(name, text) text,
    WORD_LIST(WORD_TEXT)
#undef WORD_TEXT
};

static size_t find(const char *const *names, size_t count, const char *name) {
    size_t low = 0, high = count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        int order = strcmp(names[middle], name);
        if (order == 0) return middle;
        if (order < 0) low = middle + 1;
        if (order > 0) high = middle;
    }
    return count;
}

tag tag_of(const char *name) {
    return (tag)find(tags, TAG_OTHER, name);
}

const char *tag_name(tag t) {
    return t == TAG_OTHER ? "" : tags[t];
}

tag_kind tag_kind_of(tag t) {
    return t == TAG_OTHER ? TAG_IS_OTHER : (tag_kind)kinds[t];
}

word word_of(const char *name) {
    return (word)find(words, WORD_COUNT, name);
}
