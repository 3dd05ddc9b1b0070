/* The one status type: its sentences, and filling the error record. Invariant: a message is always terminated and never
 * ends inside a UTF-8 character. */
#include <dovetell/status.h>

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

const char *dt_status_text(dt_status status) {
    switch (status) {
#define STATUS_CASE(name, text) \
    case name:                  \
        return text;
        DT_STATUS_LIST(STATUS_CASE)
#undef STATUS_CASE
    }
    return "unknown status";
}

/* Drops the bytes of a UTF-8 character that was cut at the end. */
static void trim_broken_end(char *message) {
    size_t end = strlen(message), start = end;
    while (start > 0 && ((unsigned char)message[start - 1] & 0xC0) == 0x80) start--;
    if (start == 0) return;
    unsigned char lead = (unsigned char)message[start - 1];
    size_t needs = lead >= 0xF0 ? 4 : lead >= 0xE0 ? 3 : lead >= 0xC0 ? 2 : 1;
    if (end - (start - 1) < needs) message[start - 1] = '\0';
}

dt_status dt_fail(dt_error *error, dt_status code, const char *format, ...) {
    if (!error) return code;
    error->code = code;
    error->line = 0;
    error->column = 0;
    va_list arguments;
    va_start(arguments, format);
    int length = vsnprintf(error->message, sizeof error->message, format, arguments);
    va_end(arguments);
    if (length < 0) error->message[0] = '\0';
    if (length >= (int)sizeof error->message) trim_broken_end(error->message);
    return code;
}
