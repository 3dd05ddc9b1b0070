/* digest.h - SHA-256 of texts (FIPS 180-4, by GLib), for keys of stored results and for content policies. */
#ifndef DOVETELL_BASE_DIGEST_H
#define DOVETELL_BASE_DIGEST_H

#include <stdbool.h>
#include <stddef.h>

/* 64 hexadecimal digits and a zero. */
void dt_digest_hex(const void *bytes, size_t count, char out[65]);
/* 44 characters of base64 and a zero, as content policies write it. */
void dt_digest_base64(const void *bytes, size_t count, char out[45]);

#endif
