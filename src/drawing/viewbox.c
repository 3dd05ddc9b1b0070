/* viewBox and preserveAspectRatio. */
#include "drawing/viewbox.h"

#include "drawing/scan.h"
#include <math.h>

bool viewbox_parse(const char *text, viewbox *out) {
    double v[4];
    scan_spaces(&text);
    for (int i = 0; i < 4; i++) {
        if (i) scan_separator(&text);
        if (!scan_number(&text, &v[i]) || !isfinite(v[i])) return false;
    }
    scan_spaces(&text);
    if (*text || v[2] < 0.0 || v[3] < 0.0) return false;
    *out = (viewbox){v[0], v[1], v[2], v[3]};
    return true;
}

typedef struct aspect {
    bool stretch, slice;
    double x, y; /* share of the free room that lies before the box */
} aspect;

static bool scan_share(const char **at, double *share) {
    static const char *const names[] = {"min", "mid", "max"};
    for (int i = 0; i < 3; i++)
        if (scan_text(at, names[i])) {
            *share = i / 2.0;
            return true;
        }
    return false;
}

static bool aspect_parse(const char *text, aspect *out) {
    aspect a = {false, false, 0.5, 0.5};
    scan_spaces(&text);
    if (scan_word(&text, "defer")) scan_spaces(&text);
    if (scan_word(&text, "none")) {
        a.stretch = true;
    } else if (!scan_char(&text, 'x') || !scan_share(&text, &a.x) || !scan_char(&text, 'Y') ||
               !scan_share(&text, &a.y)) {
        return false;
    }
    scan_spaces(&text);
    a.slice = scan_word(&text, "slice");
    if (!a.slice) scan_word(&text, "meet");
    scan_spaces(&text);
    if (*text) return false;
    *out = a;
    return true;
}

affine viewbox_map(viewbox box, double width, double height, const char *ratio) {
    aspect a = {false, false, 0.5, 0.5};
    if (ratio) aspect_parse(ratio, &a);
    double sx = width / box.width, sy = height / box.height;
    if (!a.stretch) sx = sy = a.slice ? fmax(sx, sy) : fmin(sx, sy);
    double x = a.x * (width - sx * box.width), y = a.y * (height - sy * box.height);
    return affine_compose(affine_shift(x, y), affine_compose(affine_scale(sx, sy), affine_shift(-box.x, -box.y)));
}
