/* gzip by zlib (RFC 1952). What comes out is bounded, so a small file cannot grow without end. */
#define ZLIB_CONST
#include "drawing/source.h"

#include <dovetell/text.h>
#include <limits.h>
#include <zlib.h>

enum { BLOCK = 1 << 16, GZIP_ONLY = 16 };

bool source_is_gzip(const void *bytes, size_t count) {
    const unsigned char *b = bytes;
    return count >= 2 && b[0] == 0x1F && b[1] == 0x8B;
}

/* One block; *ended when the last member has ended. */
static int unpack_block(z_stream *z, dt_text *out, bool *ended) {
    unsigned char block[BLOCK];
    z->next_out = block;
    z->avail_out = BLOCK;
    int result = inflate(z, Z_NO_FLUSH);
    if (result != Z_OK && result != Z_STREAM_END) return result;
    dt_text_add_bytes(out, block, BLOCK - z->avail_out);
    if (result == Z_STREAM_END) {
        *ended = !source_is_gzip(z->next_in, z->avail_in); /* other bytes behind the last member are padding */
        if (!*ended) inflateReset(z);
    }
    return Z_OK;
}

static dt_status unpack(const char *name, z_stream *z, size_t limit, dt_text *out, dt_error *error) {
    for (bool ended = false; !ended;) {
        int result = unpack_block(z, out, &ended);
        if (out->failed || result == Z_MEM_ERROR)
            return dt_fail(error, DT_NO_MEMORY, "no memory left to read \"%s\"", name);
        if (result != Z_OK)
            return dt_fail(error, DT_NOT_SVG,
                           "\"%s\" is a compressed drawing that is broken or cut short; save it anew", name);
        if (out->length > limit)
            return dt_fail(error, DT_TOO_LARGE, "\"%s\" is larger than %zu MB once unpacked, the most that is read",
                           name, limit >> 20);
    }
    return DT_OK;
}

dt_status source_unpack(const char *name, const void *bytes, size_t count, size_t limit, char **out, size_t *out_count,
                        dt_error *error) {
    if (count > UINT_MAX) return dt_fail(error, DT_TOO_LARGE, "\"%s\" is too large", name);
    z_stream z = {.next_in = bytes, .avail_in = (uInt)count};
    if (inflateInit2(&z, MAX_WBITS + GZIP_ONLY) != Z_OK)
        return dt_fail(error, DT_NO_MEMORY, "no memory left to read \"%s\"", name);
    dt_text text = DT_TEXT_EMPTY;
    dt_status status = unpack(name, &z, limit, &text, error);
    inflateEnd(&z);
    if (status != DT_OK) {
        dt_text_free(&text);
        return status;
    }
    *out = text.bytes;
    *out_count = text.length;
    return DT_OK;
}
