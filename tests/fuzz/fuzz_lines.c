/* Fuzzing the line stage: bytes are strokes, whose net must hold all its invariants. Every stroke is a byte of flags (closed, coarse
 * coordinates) with a count of points, then two 16-bit coordinates a point: in hundredths of a millimetre, or coarse, in
 * tenths on a small field, so that lines overlap and meet often. */
#include <dovetell/lines.h>

#include <stdio.h>
#include <stdlib.h>

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count);

enum { LINES_STROKES = 64, LINES_POINTS = 1024 };

static dt_point read_point(const uint8_t *bytes, bool coarse) {
    unsigned x = bytes[0] | (unsigned)bytes[1] << 8, y = bytes[2] | (unsigned)bytes[3] << 8;
    if (coarse) return (dt_point){(x % 200) * 0.1, (y % 200) * 0.1};
    return (dt_point){x * 0.01, y * 0.01};
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count) {
    dt_stroke strokes[LINES_STROKES];
    dt_point points[LINES_POINTS];
    size_t at = 0, filled = 0, made = 0;
    while (at < count && made < LINES_STROKES) {
        uint8_t head = bytes[at++];
        size_t wanted = 2 + (head & 15u), first = filled;
        while (filled - first < wanted && filled < LINES_POINTS && at + 4 <= count) {
            points[filled++] = read_point(bytes + at, head & 64);
            at += 4;
        }
        if (filled - first < 2) break;
        strokes[made++] = (dt_stroke){.path = {points + first, filled - first}, .closed = head & 128, .name = "", .layer = ""};
    }
    dt_settings settings = DT_SETTINGS_DEFAULT;
    if (count) settings.kerf_mm = (bytes[0] % 8) * 0.1;
    dt_net *net = NULL;
    dt_error error;
    if (dt_net_new((dt_strokes){strokes, made, NULL, 0}, &settings, &net, &error) != DT_OK) return 0;
    const char *broken = dt_net_check(net);
    if (broken) {
        fprintf(stderr, "%s\n", broken);
        abort();
    }
    dt_net_free(net);
    return 0;
}
