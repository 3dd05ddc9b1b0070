/* Rows as bytes and files. A record is: its length, the figures, two texts with their zeros, a SHA-256 digest of all
 * that. It is read only by the program that wrote it (the key holds the program's own digest), and a record whose
 * digest is wrong is no record. */
#include "store.h"

#include "base/digest.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

enum { DIGEST = 64, LARGEST_RECORD = 64 << 20, LARGEST_PROGRAM = 512 << 20 };

void dt_record_free(dt_record *record) {
    free(record->reason);
    free(record->picture);
    *record = (dt_record){0};
}

void dt_record_write(const dt_record *record, dt_text *out) {
    char hex[DIGEST + 1];
    size_t start = out->length, reason = strlen(record->reason) + 1, picture = strlen(record->picture) + 1;
    uint64_t length = sizeof(uint64_t) + 1 + sizeof record->figures + reason + picture + DIGEST;
    unsigned char readable = record->readable;
    dt_text_add_bytes(out, &length, sizeof length);
    dt_text_add_bytes(out, &readable, 1);
    dt_text_add_bytes(out, &record->figures, sizeof record->figures);
    dt_text_add_bytes(out, record->reason, reason);
    dt_text_add_bytes(out, record->picture, picture);
    if (out->failed) return;
    dt_digest_hex(out->bytes + start, out->length - start, hex);
    dt_text_add_bytes(out, hex, DIGEST);
}

/* Two zero-terminated texts must fill the bytes exactly. */
static bool read_texts(const char *bytes, size_t count, dt_record *record) {
    const char *middle = memchr(bytes, '\0', count);
    if (!middle || count == 0 || bytes[count - 1] != '\0') return false;
    size_t first = (size_t)(middle - bytes) + 1;
    if (first >= count || strlen(bytes + first) + 1 != count - first) return false;
    record->reason = strdup(bytes);
    record->picture = strdup(bytes + first);
    if (record->reason && record->picture) return true;
    dt_record_free(record);
    return false;
}

size_t dt_record_read(const char *bytes, size_t count, dt_record *out) {
    uint64_t length;
    char hex[DIGEST + 1];
    dt_record record = {0};
    const size_t head = sizeof length + 1 + sizeof record.figures;
    if (count < head + DIGEST + 2) return 0;
    memcpy(&length, bytes, sizeof length);
    if (length > count || length < head + DIGEST + 2) return 0;
    dt_digest_hex(bytes, length - DIGEST, hex);
    if (memcmp(hex, bytes + length - DIGEST, DIGEST) != 0) return 0;
    record.readable = bytes[sizeof length] != 0;
    memcpy(&record.figures, bytes + sizeof length + 1, sizeof record.figures);
    if (!read_texts(bytes + head, length - head - DIGEST, &record)) return 0;
    *out = record;
    return length;
}

static void add_list(dt_text *text, const char *const *names, size_t count) {
    dt_text_addf(text, "%zu", count);
    for (size_t i = 0; i < count; i++) dt_text_add_bytes(text, names[i], strlen(names[i]) + 1);
}

static dt_status digest_file(const char *path, char hex[65], dt_error *error) {
    char *bytes = NULL;
    size_t count = 0;
    dt_status status = dt_file_read(path, LARGEST_PROGRAM, &bytes, &count, error);
    if (status == DT_OK) dt_digest_hex(bytes, count, hex);
    free(bytes);
    return status;
}

dt_status dt_store_context_read(const dt_settings *settings, dt_store_context *out, dt_error *error) {
    dt_store_context c = {.settings = settings};
    if (digest_file("/proc/self/exe", c.program, NULL) != DT_OK)
        dt_digest_hex(DT_VERSION, strlen(DT_VERSION), c.program);
    if (settings->times) {
        dt_status status = digest_file(settings->times, c.times, error);
        if (status != DT_OK) return status;
    }
    *out = c;
    return DT_OK;
}

/* Everything that an analysis depends on, in a text that differs whenever any of it does. %a writes a double exactly.
 */
void dt_store_key(const dt_store_context *context, const char *draft, size_t draft_count, char key[65]) {
    const dt_settings *s = context->settings;
    dt_text text = DT_TEXT_EMPTY;
    char digest[65];
    dt_digest_hex(draft, draft_count, digest);
    dt_text_addf(&text, "%s %s %s %zu\n", digest, context->program, context->times, sizeof(dt_record));
    dt_text_addf(&text, "%a %a %a %d %a %a %d %u %d ", s->width_mm, s->kerf_mm, s->thickness_mm, (int)s->material,
                 s->join_mm, s->eye_mm, (int)s->two_sided, s->colours, (int)s->picture);
    dt_text_addf(&text, "%llu %d %a ", (unsigned long long)s->steps, (int)s->count, s->speed_mm_per_s);
    add_list(&text, s->only, s->only_count);
    add_list(&text, s->skip, s->skip_count);
    key[0] = '\0';
    if (!text.failed) dt_digest_hex(text.bytes, text.length, key);
    dt_text_free(&text);
}

static bool store_path(const char *store, const char *key, char *path, size_t room) {
    return key[0] && snprintf(path, room, "%s/%s.row", store, key) < (int)room;
}

bool dt_store_find(const char *store, const char *key, dt_record *out) {
    char path[1024], *bytes = NULL;
    size_t count = 0;
    if (!store_path(store, key, path, sizeof path)) return false;
    if (dt_file_read(path, LARGEST_RECORD, &bytes, &count, NULL) != DT_OK) return false;
    bool found = dt_record_read(bytes, count, out) == count;
    free(bytes);
    if (found) out->stored = true;
    return found;
}

/* Makes each folder of the path. */
static void make_folders(const char *path) {
    char part[1024];
    for (size_t i = 1; path[i - 1] && i < sizeof part; i++) {
        if (path[i] != '/' && path[i] != '\0') continue;
        memcpy(part, path, i);
        part[i] = '\0';
        mkdir(part, 0700);
    }
}

void dt_store_keep(const char *store, const char *key, const dt_record *record) {
    char path[1024];
    dt_text bytes = DT_TEXT_EMPTY;
    if (!store_path(store, key, path, sizeof path)) return;
    make_folders(store);
    dt_record_write(record, &bytes);
    if (!bytes.failed) dt_file_write(path, bytes.bytes, bytes.length, NULL);
    dt_text_free(&bytes);
}
