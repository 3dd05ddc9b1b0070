/* The kinds of fault: their names, and their order from worst to mildest. */
#include <dovetell/faults.h>

static const char *const keys[] = {
#define FAULT_KEY(name, key, text) key,
    DT_FAULT_LIST(FAULT_KEY)
#undef FAULT_KEY
};
static const char *const texts[] = {
#define FAULT_TEXT(name, key, text) text,
    DT_FAULT_LIST(FAULT_TEXT)
#undef FAULT_TEXT
};

const char *dt_fault_key(dt_fault_kind kind) {
    return kind < DT_FAULT_KINDS ? keys[kind] : "unknown";
}

const char *dt_fault_text(dt_fault_kind kind) {
    return kind < DT_FAULT_KINDS ? texts[kind] : "unknown";
}

static int compare_numbers(double a, double b) {
    return (a > b) - (a < b);
}

static bool is_worse_when_small(dt_fault_kind kind) {
    return kind == DT_FAULT_THIN_NECK || kind == DT_FAULT_SLIVER || kind == DT_FAULT_CLOSE_CUTS;
}

int dt_fault_compare(const void *left, const void *right) {
    const dt_fault *a = left, *b = right;
    if (a->kind != b->kind) return a->kind < b->kind ? -1 : 1;
    int by_size = compare_numbers(a->size_mm, b->size_mm);
    if (by_size != 0) return is_worse_when_small(a->kind) ? by_size : -by_size;
    int by_y = compare_numbers(a->at.y, b->at.y);
    if (by_y != 0) return by_y;
    return compare_numbers(a->at.x, b->at.x);
}
