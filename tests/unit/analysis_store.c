/* Stored rows: what was written comes back, nothing else does; the key changes with whatever a row depends on. */
#include "analysis/store.h"
#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static char reason[] = "", picture[] = "<svg>reeds & <i>";

static dt_record example(void) {
    dt_record record = {.readable = true, .reason = reason, .picture = picture};
    record.figures.pieces = 60;
    record.figures.points = 71.25;
    return record;
}

START_TEST(a_record_comes_back_whole) {
    dt_record record = example(), back = {0};
    dt_text bytes = DT_TEXT_EMPTY;
    dt_record_write(&record, &bytes);
    ck_assert_uint_eq(dt_record_read(bytes.bytes, bytes.length, &back), bytes.length);
    ck_assert_str_eq(back.picture, picture);
    ck_assert_mem_eq(&back.figures, &record.figures, sizeof back.figures);
    ck_assert(back.readable);
    dt_record_free(&back);
    dt_text_free(&bytes);
}
END_TEST

START_TEST(a_damaged_record_is_none) {
    dt_record record = example(), back = {0};
    dt_text bytes = DT_TEXT_EMPTY;
    dt_record_write(&record, &bytes);
    for (size_t i = 0; i < bytes.length; i++) {
        ck_assert_uint_eq(dt_record_read(bytes.bytes, i, &back), 0);
        bytes.bytes[i] ^= 0x20;
        ck_assert_uint_eq(dt_record_read(bytes.bytes, bytes.length, &back), 0);
        bytes.bytes[i] ^= 0x20;
    }
    dt_text_free(&bytes);
}
END_TEST

START_TEST(the_key_holds_every_setting) {
    const dt_settings plain = DT_SETTINGS_DEFAULT;
    const char *const names[] = {"a", "b"}, *const joined[] = {"ab"};
    dt_settings sets[20];
    size_t n = 0;
    for (size_t i = 0; i < 20; i++) sets[i] = plain;
    n++;
    sets[n++].width_mm = 1;
    sets[n++].kerf_mm = 0.21;
    sets[n++].thickness_mm = 4;
    sets[n++].material = DT_ACRYLIC;
    sets[n++].join_mm = 0.31;
    sets[n++].eye_mm = 0.71;
    sets[n++].two_sided = true;
    sets[n++].colours = 2;
    sets[n++].picture = DT_PICTURE_FULL;
    sets[n++].steps = 7;
    sets[n++].count = true;
    sets[n++].speed_mm_per_s = 9;
    sets[n].only = names, sets[n++].only_count = 2;
    sets[n].skip = names, sets[n++].skip_count = 2;
    sets[n].only = joined, sets[n++].only_count = 1;
    char keys[20][65];
    for (size_t i = 0; i < n; i++) {
        dt_store_context context;
        ck_assert_int_eq(dt_store_context_read(&sets[i], &context, NULL), DT_OK);
        dt_store_key(&context, "draft", 5, keys[i]);
        ck_assert_uint_eq(strlen(keys[i]), 64);
        for (size_t j = 0; j < i; j++) ck_assert_str_ne(keys[i], keys[j]);
    }
    dt_store_context context;
    ck_assert_int_eq(dt_store_context_read(&plain, &context, NULL), DT_OK);
    dt_store_key(&context, "Draft", 5, keys[1]);
    ck_assert_str_ne(keys[0], keys[1]);
    context.program[0] ^= 1;
    dt_store_key(&context, "draft", 5, keys[1]);
    ck_assert_str_ne(keys[0], keys[1]);
}
END_TEST

START_TEST(kept_and_found) {
    char folder[] = "/tmp/dovetell-test-XXXXXX", store[64], path[160];
    ck_assert_ptr_nonnull(mkdtemp(folder));
    snprintf(store, sizeof store, "%s/a/b", folder);
    dt_record record = example(), back = {0};
    ck_assert(!dt_store_find(store, "0123", &back));
    dt_store_keep(store, "0123", &record);
    ck_assert(dt_store_find(store, "0123", &back));
    ck_assert(back.stored);
    ck_assert_str_eq(back.picture, picture);
    dt_record_free(&back);
    ck_assert(!dt_store_find(store, "", &back));
    snprintf(path, sizeof path, "%s/0123.row", store);
    ck_assert_int_eq(truncate(path, 100), 0);
    ck_assert(!dt_store_find(store, "0123", &back));
    ck_assert_int_eq(unlink(path), 0);
    ck_assert_int_eq(rmdir(store), 0);
    snprintf(path, sizeof path, "%s/a", folder);
    ck_assert_int_eq(rmdir(path), 0);
    ck_assert_int_eq(rmdir(folder), 0);
}
END_TEST

Suite *suite_analysis_store(void);
Suite *suite_analysis_store(void) {
    Suite *suite = suite_create("analysis_store");
    TCase *cases = tcase_create("store");
    tcase_add_test(cases, a_record_comes_back_whole);
    tcase_add_test(cases, a_damaged_record_is_none);
    tcase_add_test(cases, the_key_holds_every_setting);
    tcase_add_test(cases, kept_and_found);
    suite_add_tcase(suite, cases);
    return suite;
}
