/* Units of src/base: statuses, texts, arena, arrays, files written whole or not at all. */
#include "base/arena.h"
#include "base/array.h"
#include <check.h>
#include <dovetell/text.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

START_TEST(every_status_has_its_own_sentence) {
    const dt_status all[] = {
#define STATUS_NAME(name, text) name,
        DT_STATUS_LIST(STATUS_NAME)
#undef STATUS_NAME
    };
    for (size_t i = 0; i < sizeof all / sizeof *all; i++)
        for (size_t j = 0; j < i; j++) ck_assert_str_ne(dt_status_text(all[i]), dt_status_text(all[j]));
    ck_assert_str_eq(dt_status_text((dt_status)999), "unknown status");
}
END_TEST

START_TEST(a_long_message_is_cut_at_a_character) {
    char text[1000];
    for (size_t offset = 0; offset < 3; offset++) {
        memset(text, 'a', offset);
        for (size_t i = offset; i + 3 < sizeof text; i += 3) memcpy(text + i, "\xE2\x82\xAC", 4);
        dt_error error;
        ck_assert_int_eq(dt_fail(&error, DT_NOT_SVG, "%s", text), DT_NOT_SVG);
        ck_assert_uint_eq((strlen(error.message) - offset) % 3, 0);
        ck_assert_uint_ge(strlen(error.message), sizeof error.message - 4);
    }
}
END_TEST

START_TEST(hostile_text_is_escaped) {
    dt_text text = DT_TEXT_EMPTY;
    dt_text_add_escaped(&text, "<b a='1' c=\"2\">&\x01\xFF\xC0\x80\xE2\x80\xAE\xC3\xA9");
    ck_assert_str_eq(text.bytes, "&lt;b a=&#39;1&#39; c=&quot;2&quot;&gt;&amp;\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD"
                                 "\xEF\xBF\xBD\xC3\xA9");
    dt_text_free(&text);
    dt_text_add_plain(&text, "\x1B[31mheron", 5);
    ck_assert_str_eq(text.bytes, "\xEF\xBF\xBD[31m\xE2\x80\xA6");
    dt_text_free(&text);
}
END_TEST

START_TEST(an_arena_aligns_zeroes_and_keeps_its_limit) {
    dt_arena arena = DT_ARENA(100000);
    for (size_t i = 1; i < 200; i++) {
        unsigned char *bytes = dt_arena_take(&arena, i, 1);
        ck_assert_ptr_nonnull(bytes);
        ck_assert_uint_eq((size_t)bytes % sizeof(long double), 0);
        for (size_t j = 0; j < i; j++) ck_assert_uint_eq(bytes[j], 0);
        memset(bytes, 0xAA, i);
    }
    ck_assert_ptr_null(dt_arena_take(&arena, 100000, 1));
    ck_assert_ptr_null(dt_arena_take(&arena, (size_t)-1, 16));
    ck_assert_str_eq(dt_arena_copy(&arena, "reed bed", 4), "reed");
    dt_arena_free(&arena);
}
END_TEST

START_TEST(arrays_grow) {
    DT_ARRAY(int) numbers = {0};
    for (int i = 0; i < 1000; i++) ck_assert(dt_array_push(&numbers, i));
    for (int i = 0; i < 1000; i++) ck_assert_int_eq(numbers.items[i], i);
    ck_assert(!dt_array_reserve(&numbers, ((size_t)-1) / 2));
    ck_assert_uint_eq(numbers.count, 1000);
    dt_array_free(&numbers);
}
END_TEST

START_TEST(a_file_is_written_whole_or_not_at_all) {
    char folder[] = "/tmp/dovetell-test-XXXXXX", path[64];
    ck_assert_ptr_nonnull(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/a.svg", folder);
    ck_assert_int_eq(dt_file_write(path, "first", 5, NULL), DT_OK);
    ck_assert_int_eq(dt_file_write(path, "second\0!", 8, NULL), DT_OK);
    char *bytes;
    size_t count;
    ck_assert_int_eq(dt_file_read(path, 100, &bytes, &count, NULL), DT_OK);
    ck_assert_uint_eq(count, 8);
    ck_assert_mem_eq(bytes, "second\0!", 8);
    free(bytes);
    ck_assert_int_eq(dt_file_read(path, 7, &bytes, &count, NULL), DT_TOO_LARGE);
    dt_error error;
    ck_assert_int_eq(dt_file_read(folder, 100, &bytes, &count, &error), DT_CANNOT_READ);
    ck_assert_ptr_nonnull(strstr(error.message, "is a folder"));
    ck_assert_int_eq(unlink(path), 0);
    ck_assert_int_eq(dt_file_write("/tmp/no-such-folder-here/a.svg", "x", 1, &error), DT_CANNOT_WRITE);
    ck_assert_int_eq(rmdir(folder), 0); /* fails if a temporary file was left behind */
}
END_TEST

Suite *suite_base(void);
Suite *suite_base(void) {
    Suite *suite = suite_create("base");
    TCase *cases = tcase_create("base");
    tcase_add_test(cases, every_status_has_its_own_sentence);
    tcase_add_test(cases, a_long_message_is_cut_at_a_character);
    tcase_add_test(cases, hostile_text_is_escaped);
    tcase_add_test(cases, an_arena_aligns_zeroes_and_keeps_its_limit);
    tcase_add_test(cases, arrays_grow);
    tcase_add_test(cases, a_file_is_written_whole_or_not_at_all);
    suite_add_tcase(suite, cases);
    return suite;
}
