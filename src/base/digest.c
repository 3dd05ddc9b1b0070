/* SHA-256 by GLib; nothing of GLib is seen outside this file. */
#include "digest.h"

#include <glib.h>
#include <string.h>

void dt_digest_hex(const void *bytes, size_t count, char out[65]) {
    char *hex = g_compute_checksum_for_data(G_CHECKSUM_SHA256, bytes, count);
    memcpy(out, hex, 65);
    g_free(hex);
}

void dt_digest_base64(const void *bytes, size_t count, char out[45]) {
    unsigned char raw[32];
    gsize size = sizeof raw;
    GChecksum *sum = g_checksum_new(G_CHECKSUM_SHA256);
    g_checksum_update(sum, bytes, (gssize)count);
    g_checksum_get_digest(sum, raw, &size);
    g_checksum_free(sum);
    char *text = g_base64_encode(raw, size);
    memcpy(out, text, 45);
    g_free(text);
}
