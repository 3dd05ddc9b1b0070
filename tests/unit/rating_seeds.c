/* Every seed of the fuzz harness for tables of times runs through the same entry point, without the fuzzer. */
#include <check.h>
#include <dovetell/text.h>
#include <dirent.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#define LLVMFuzzerTestOneInput fuzz_times
#include "../fuzz/fuzz_times.c"
#undef LLVMFuzzerTestOneInput

START_TEST(seeds_of_tables_do_no_harm) {
    const char *const name = "tests/fuzz/seeds/times";
    DIR *folder = opendir(name);
    ck_assert_msg(folder != NULL, "%s is not there: run the tests from the top folder", name);
    size_t count = 0;
    for (struct dirent *entry; (entry = readdir(folder));) {
        char path[512], *bytes;
        size_t size;
        if (entry->d_name[0] == '.') continue;
        snprintf(path, sizeof path, "%s/%s", name, entry->d_name);
        ck_assert_int_eq(dt_file_read(path, DT_TIMES_MOST_BYTES, &bytes, &size, NULL), DT_OK);
        fuzz_times((const uint8_t *)bytes, size);
        free(bytes);
        count++;
    }
    closedir(folder);
    ck_assert_uint_ge(count, 6);
}
END_TEST

Suite *suite_rating_seeds(void);
Suite *suite_rating_seeds(void) {
    Suite *suite = suite_create("rating_seeds");
    TCase *tests = tcase_create("seeds");
    tcase_add_test(tests, seeds_of_tables_do_no_harm);
    suite_add_tcase(suite, tests);
    return suite;
}
