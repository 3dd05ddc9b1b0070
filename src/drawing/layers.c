/* What the names of layers mean. Plurals count as their word ("Guides"), since that is how makers name layers. */
#include "drawing/layers.h"

#include "drawing/colour.h"
#include "drawing/css.h"
#include "drawing/scan.h"
#include <string.h>

static const struct {
    const char *word;
    dt_role role;
} roles[] = {
    {"cut", DT_ROLE_CUT},         {"cuts", DT_ROLE_CUT},    {"whimsy", DT_ROLE_WHIMSY}, {"whimsies", DT_ROLE_WHIMSY},
    {"void", DT_ROLE_VOID},       {"voids", DT_ROLE_VOID},  {"guide", DT_ROLE_GUIDE},   {"guides", DT_ROLE_GUIDE},
    {"engrave", DT_ROLE_ENGRAVE}, {"score", DT_ROLE_SCORE}, {"scores", DT_ROLE_SCORE},
};

static size_t letters(const char *s) {
    size_t count = 0;
    while (scan_is_letter(s[count]) || (s[count] & 0x80)) count++;
    return count;
}

bool layer_role(const char *name, dt_role *role) {
    scan_spaces(&name);
    size_t length = letters(name);
    for (size_t i = 0; i < sizeof roles / sizeof roles[0]; i++) {
        const char *s = name;
        if (strlen(roles[i].word) != length || !scan_text(&s, roles[i].word)) continue;
        *role = roles[i].role;
        return true;
    }
    return false;
}

const char *layer_name(const element *group) {
    const char *name = element_value(group, WORD_LABEL);
    return name && *name ? name : element_value(group, WORD_ID);
}

bool layer_is_cut(dt_role role) {
    return role == DT_ROLE_CUT || role == DT_ROLE_WHIMSY || role == DT_ROLE_VOID;
}

bool layer_is_named(const element *e, const char *const *names, size_t count) {
    if (count == 0) return false;
    const char *label = element_value(e, WORD_LABEL), *id = element_value(e, WORD_ID),
               *classes = element_value(e, WORD_CLASS);
    for (size_t i = 0; i < count; i++)
        if ((label && scan_same(label, names[i])) || (id && scan_same(id, names[i])) ||
            (classes && css_list_holds(classes, names[i])))
            return true;
    return false;
}

bool layer_colour_is_named(uint32_t colour_value, const char *const *names, size_t count) {
    if (colour_value == DT_NO_COLOUR) return false;
    colour c;
    for (size_t i = 0; i < count; i++)
        if (colour_parse(names[i], &c) && c.rgb == colour_value) return true;
    return false;
}
