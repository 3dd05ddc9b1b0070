/* A growing string, escaping, and whole-file reading and writing. Invariant of dt_text: bytes[length] == 0 whenever
 * bytes is not NULL; once failed, nothing is appended any more. */
#include <dovetell/text.h>

#include <errno.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

void dt_text_free(dt_text *text) {
    free(text->bytes);
    *text = (dt_text)DT_TEXT_EMPTY;
}

static bool make_room(dt_text *text, size_t extra) {
    if (text->failed) return false;
    if (text->room - text->length > extra) return true;
    size_t room = text->room < 128 ? 128 : text->room;
    while (room - text->length <= extra && room <= ((size_t)-1) / 4) room *= 2;
    char *bytes = room - text->length > extra ? realloc(text->bytes, room) : NULL;
    if (!bytes) {
        text->failed = true;
        return false;
    }
    text->bytes = bytes;
    text->room = room;
    return true;
}

void dt_text_add_bytes(dt_text *text, const void *bytes, size_t count) {
    if (!make_room(text, count)) return;
    if (count) memcpy(text->bytes + text->length, bytes, count);
    text->length += count;
    text->bytes[text->length] = '\0';
}

void dt_text_add(dt_text *text, const char *string) {
    dt_text_add_bytes(text, string, strlen(string));
}

void dt_text_addf(dt_text *text, const char *format, ...) {
    va_list arguments, again;
    va_start(arguments, format);
    va_copy(again, arguments);
    int length = vsnprintf(NULL, 0, format, arguments);
    va_end(arguments);
    if (length >= 0 && make_room(text, (size_t)length)) {
        vsnprintf(text->bytes + text->length, (size_t)length + 1, format, again);
        text->length += (size_t)length;
    } else {
        text->failed = true;
    }
    va_end(again);
}

/* Length of the well-formed UTF-8 character at s (1 to 4), or 0 (RFC 3629: no overlong forms, no surrogates). */
static size_t character_length(const unsigned char *s) {
    if (s[0] < 0x80) return 1;
    if (s[0] >= 0xC2 && s[0] <= 0xDF) return (s[1] & 0xC0) == 0x80 ? 2 : 0;
    if (s[0] >= 0xE0 && s[0] <= 0xEF) {
        if ((s[1] & 0xC0) != 0x80 || (s[0] == 0xE0 && s[1] < 0xA0) || (s[0] == 0xED && s[1] > 0x9F)) return 0;
        return (s[2] & 0xC0) == 0x80 ? 3 : 0;
    }
    if (s[0] >= 0xF0 && s[0] <= 0xF4) {
        if ((s[1] & 0xC0) != 0x80 || (s[0] == 0xF0 && s[1] < 0x90) || (s[0] == 0xF4 && s[1] > 0x8F)) return 0;
        return (s[2] & 0xC0) == 0x80 && (s[3] & 0xC0) == 0x80 ? 4 : 0;
    }
    return 0;
}

/* C0 and C1 controls, DEL, and the direction overrides that can reorder what a person reads. */
static bool is_control(const unsigned char *s, size_t length) {
    if (length == 1) return s[0] < 0x20 || s[0] == 0x7F;
    if (length == 2) return s[0] == 0xC2 && s[1] < 0xA0;
    if (length == 3 && s[0] == 0xE2 && s[1] == 0x80) return s[2] >= 0xAA && s[2] <= 0xAE;
    if (length == 3 && s[0] == 0xE2 && s[1] == 0x81) return s[2] >= 0xA6 && s[2] <= 0xA9;
    return length == 3 && s[0] == 0xEF && s[1] == 0xBF && s[2] >= 0xBE; /* U+FFFE, U+FFFF: no XML characters */
}

static const char *entity_of(char c) {
    switch (c) {
    case '&': return "&amp;";
    case '<': return "&lt;";
    case '>': return "&gt;";
    case '"': return "&quot;";
    case '\'': return "&#39;";
    default: return NULL;
    }
}

void dt_text_add_escaped(dt_text *text, const char *string) {
    for (const unsigned char *s = (const unsigned char *)string; *s;) {
        size_t length = character_length(s);
        const char *entity = entity_of((char)*s);
        if (entity) {
            dt_text_add(text, entity);
        } else if (length == 0 || is_control(s, length)) {
            dt_text_add(text, "\xEF\xBF\xBD");
        } else {
            dt_text_add_bytes(text, s, length);
        }
        s += length ? length : 1;
    }
}

void dt_text_add_plain(dt_text *text, const char *string, size_t most) {
    size_t written = 0;
    for (const unsigned char *s = (const unsigned char *)string; *s; written++) {
        if (most && written >= most) {
            dt_text_add(text, "\xE2\x80\xA6");
            return;
        }
        size_t length = character_length(s);
        if (length == 0 || is_control(s, length)) {
            dt_text_add(text, "\xEF\xBF\xBD");
        } else {
            dt_text_add_bytes(text, s, length);
        }
        s += length ? length : 1;
    }
}

static dt_status write_all(FILE *file, const void *bytes, size_t count) {
    return fwrite(bytes, 1, count, file) == count && fflush(file) == 0 ? DT_OK : DT_CANNOT_WRITE;
}

static dt_status cannot_write(dt_error *error, const char *path, int reason) {
    return dt_fail(error, DT_CANNOT_WRITE, "\"%s\" cannot be written: %s; choose a folder that you may write to", path,
                   strerror(reason));
}

/* Gives the temporary file the permissions that a file made in the ordinary way would have. */
static void set_usual_permissions(int descriptor) {
    mode_t mask = umask(0);
    umask(mask);
    (void)!fchmod(descriptor, (mode_t)(0666 & ~mask));
}

dt_status dt_file_write(const char *path, const void *bytes, size_t count, dt_error *error) {
    if (strcmp(path, "-") == 0) {
        if (write_all(stdout, bytes, count) == DT_OK) return DT_OK;
        return dt_fail(error, DT_CANNOT_WRITE, "standard output cannot be written: %s", strerror(errno));
    }
    dt_text temporary = DT_TEXT_EMPTY;
    dt_text_addf(&temporary, "%s.XXXXXX", path);
    if (temporary.failed) return dt_fail(error, DT_NO_MEMORY, "no memory left to write \"%s\"", path);
    dt_status status = DT_OK;
    int descriptor = mkstemp(temporary.bytes);
    FILE *file = descriptor >= 0 ? fdopen(descriptor, "wb") : NULL;
    if (!file) {
        status = cannot_write(error, path, errno);
        if (descriptor >= 0) {
            close(descriptor);
            unlink(temporary.bytes);
        }
        goto done;
    }
    set_usual_permissions(descriptor);
    status = write_all(file, bytes, count);
    if (fclose(file) != 0) status = DT_CANNOT_WRITE;
    if (status == DT_OK && rename(temporary.bytes, path) != 0) status = DT_CANNOT_WRITE;
    if (status != DT_OK) {
        status = cannot_write(error, path, errno);
        unlink(temporary.bytes);
    }
done:
    dt_text_free(&temporary);
    return status;
}

static dt_status read_stream(FILE *file, const char *path, size_t limit, dt_text *text, dt_error *error) {
    char block[65536];
    for (size_t got; (got = fread(block, 1, sizeof block, file)) > 0;) {
        if (got > limit - text->length)
            return dt_fail(error, DT_TOO_LARGE, "\"%s\" is larger than %zu MB, the most that is read", path,
                           limit >> 20);
        dt_text_add_bytes(text, block, got);
        if (text->failed) return dt_fail(error, DT_NO_MEMORY, "no memory left to read \"%s\"", path);
    }
    if (ferror(file)) return dt_fail(error, DT_CANNOT_READ, "\"%s\" cannot be read: %s", path, strerror(errno));
    return DT_OK;
}

dt_status dt_file_read(const char *path, size_t limit, char **bytes, size_t *count, dt_error *error) {
    bool is_standard_input = strcmp(path, "-") == 0;
    struct stat facts;
    if (!is_standard_input && stat(path, &facts) == 0 && S_ISDIR(facts.st_mode))
        return dt_fail(error, DT_CANNOT_READ, "\"%s\" is a folder, not a drawing; name an SVG file in it", path);
    FILE *file = is_standard_input ? stdin : fopen(path, "rb");
    if (!file)
        return dt_fail(error, DT_CANNOT_READ, "\"%s\" cannot be opened: %s; check the name and the folder", path,
                       strerror(errno));
    dt_text text = DT_TEXT_EMPTY;
    dt_status status = read_stream(file, path, limit, &text, error);
    if (!is_standard_input) fclose(file);
    if (status == DT_OK) {
        dt_text_add_bytes(&text, "", 0); /* so that even an empty file has bytes */
        if (text.failed) return dt_fail(error, DT_NO_MEMORY, "no memory left to read \"%s\"", path);
        *bytes = text.bytes;
        *count = text.length;
    } else {
        dt_text_free(&text);
    }
    return status;
}
