/* Every seed and past finding of the fuzz harnesses runs through the same entry points, without the fuzzer. */
#include <check.h>
#include <dovetell/text.h>
#include <dirent.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#define LLVMFuzzerTestOneInput fuzz_drawing
#include "../fuzz/fuzz_drawing.c"
#undef LLVMFuzzerTestOneInput
#define LLVMFuzzerTestOneInput fuzz_path_data
#include "../fuzz/fuzz_path_data.c"
#undef LLVMFuzzerTestOneInput
#define LLVMFuzzerTestOneInput fuzz_style
#include "../fuzz/fuzz_style.c"
#undef LLVMFuzzerTestOneInput

#define LLVMFuzzerTestOneInput fuzz_lines
#include "../fuzz/fuzz_lines.c"
#undef LLVMFuzzerTestOneInput
#define LLVMFuzzerTestOneInput fuzz_graph
#include "../fuzz/fuzz_graph.c"
#undef LLVMFuzzerTestOneInput
#define LLVMFuzzerTestOneInput fuzz_times
#include "../fuzz/fuzz_times.c"
#undef LLVMFuzzerTestOneInput

static const struct harness {
    const char *folder;
    int (*run)(const uint8_t *data, size_t size);
} harnesses[] = {
    {"tests/fuzz/seeds/drawing", fuzz_drawing},
    {"tests/fuzz/seeds/path_data", fuzz_path_data},
    {"tests/fuzz/seeds/style", fuzz_style},
    {"tests/fuzz/seeds/lines", fuzz_lines},
    {"tests/fuzz/seeds/graph", fuzz_graph},
    {"tests/fuzz/seeds/times", fuzz_times},
};

static size_t replay(const struct harness *h) {
    DIR *folder = opendir(h->folder);
    ck_assert_msg(folder != NULL, "%s is not there: run the tests from the top folder", h->folder);
    size_t count = 0;
    for (struct dirent *entry; (entry = readdir(folder));) {
        if (entry->d_name[0] == '.') continue;
        char path[512];
        snprintf(path, sizeof path, "%s/%s", h->folder, entry->d_name);
        char *bytes;
        size_t byte_count;
        ck_assert_int_eq(dt_file_read(path, 1 << 20, &bytes, &byte_count, NULL), DT_OK);
        h->run((const uint8_t *)bytes, byte_count);
        free(bytes);
        count++;
    }
    closedir(folder);
    return count;
}

START_TEST(seeds_do_no_harm) {
    ck_assert_uint_ge(replay(&harnesses[_i]), 4);
}
END_TEST

Suite *suite_fuzz_seeds(void);
Suite *suite_fuzz_seeds(void) {
    Suite *suite = suite_create("fuzz_seeds");
    TCase *tests = tcase_create("seeds");
    tcase_add_loop_test(tests, seeds_do_no_harm, 0, sizeof harnesses / sizeof harnesses[0]);
    suite_add_tcase(suite, tests);
    return suite;
}
