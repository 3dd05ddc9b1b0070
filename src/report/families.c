/* Families of twins by union-find (families.h). Invariant: root[i] <= i, so a family's root is its first piece. */
#include "report/families.h"

#include "report/words.h"

#include <stdlib.h>

static uint32_t find_root(uint32_t *root, uint32_t i) {
    while (root[i] != i) {
        root[i] = root[root[i]];
        i = root[i];
    }
    return i;
}

static void join(uint32_t *root, uint32_t a, uint32_t b) {
    a = find_root(root, a);
    b = find_root(root, b);
    if (a < b)
        root[b] = a;
    else
        root[a] = b;
}

/* Gives the roots of two or more pieces a number in order, and every piece the number of its root. */
static void number_families(families *f, uint32_t *root, size_t count) {
    for (uint32_t i = 0; i < count; i++) f->sizes[find_root(root, i)]++;
    for (uint32_t i = 0; i < count; i++) {
        uint32_t size = f->sizes[i];
        f->of[i] = NO_FAMILY;
        if (root[i] != i || size < 2) continue;
        f->of[i] = (uint32_t)f->count;
        f->sizes[f->count++] = size;
    }
    for (uint32_t i = 0; i < count; i++) f->of[i] = f->of[find_root(root, i)];
}

bool families_find(const dt_analysis *analysis, families *out) {
    const dt_fit *fit = dt_analysis_fit(analysis);
    size_t count = dt_pieces_count(dt_analysis_pieces(analysis));
    families f = {calloc(count + 1, sizeof *f.of), calloc(count + 1, sizeof *f.sizes), 0};
    uint32_t *root = calloc(count + 1, sizeof *root);
    bool ok = f.of && f.sizes && root;
    for (uint32_t i = 0; ok && i < count; i++) root[i] = i;
    for (size_t i = 0; ok && i < dt_fit_twin_count(fit); i++) {
        const dt_match *twin = dt_fit_twin(fit, i);
        if (dt_analysis_is_double(analysis, twin)) join(root, twin->a.v, twin->b.v);
    }
    if (ok) {
        number_families(&f, root, count);
        *out = f;
    } else {
        families_free(&f);
    }
    free(root);
    return ok;
}

void families_free(families *f) {
    free(f->of);
    free(f->sizes);
    *f = (families){NULL, NULL, 0};
}

void families_add_letter(dt_text *out, uint32_t family) {
    if (family >= 26) families_add_letter(out, family / 26 - 1);
    dt_text_addf(out, "%c", 'A' + (int)(family % 26));
}
