/* Stages that run beside each other: whatever the number of threads, the record is the same to the last byte, an error
 * is told by the stage that met it, and progress comes from one thread at a time. */
#include <dovetell/analysis.h>
#include <dovetell/report.h>

#include <check.h>
#include <stdatomic.h>
#include <string.h>
#include <time.h>

static const char *const DRAFTS[] = {"corpus/demo/heron-1.svg", "corpus/knobbed-100.svg"};

static dt_text record_with(const char *path, unsigned threads) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_analysis *a = NULL;
    dt_error error = {0};
    dt_text text = {0};
    settings.threads = threads;
    ck_assert_msg(dt_analyse(path, &settings, NULL, &a, &error) == DT_OK, "%s", error.message);
    ck_assert_int_eq(dt_report_json(a, &text), DT_OK);
    dt_analysis_free(a);
    return text;
}

START_TEST(the_record_is_the_same) {
    dt_text alone = record_with(DRAFTS[_i], 1);
    for (unsigned threads = 2; threads <= 5; threads += 3) {
        dt_text record = record_with(DRAFTS[_i], threads);
        ck_assert_uint_eq(record.length, alone.length);
        ck_assert_mem_eq(record.bytes, alone.bytes, alone.length);
        dt_text_free(&record);
    }
    dt_text_free(&alone);
}
END_TEST

/* The rating needs the file, the assemblies beside it do not. */
START_TEST(an_error_comes_from_its_stage) {
    for (unsigned threads = 1; threads <= 2; threads++) {
        dt_settings settings = DT_SETTINGS_DEFAULT;
        dt_analysis *a = NULL;
        dt_error error = {0};
        settings.threads = threads;
        settings.times = "tests/no-such.times";
        ck_assert_int_ne(dt_analyse(DRAFTS[1], &settings, NULL, &a, &error), DT_OK);
        ck_assert_ptr_null(a);
        ck_assert_ptr_nonnull(strstr(error.message, "no-such.times"));
    }
}
END_TEST

typedef struct listener {
    atomic_int inside;
    bool together; /* two were told at once */
    size_t told;
} listener;

static void listen(void *context, const char *stage, double fraction) {
    (void)stage, (void)fraction;
    listener *l = context;
    if (atomic_fetch_add(&l->inside, 1)) l->together = true;
    nanosleep(&(struct timespec){.tv_nsec = 1000000}, NULL); /* long enough for another thread to come in */
    l->told++;
    atomic_fetch_sub(&l->inside, 1);
}

START_TEST(progress_comes_from_one_thread) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_analysis *a = NULL;
    dt_error error = {0};
    listener l = {0};
    dt_watch watch = {.progress = listen, .context = &l};
    settings.threads = 4;
    ck_assert_int_eq(dt_analyse(DRAFTS[1], &settings, &watch, &a, &error), DT_OK);
    dt_analysis_free(a);
    ck_assert_uint_ge(l.told, 4);
    ck_assert(!l.together);
}
END_TEST

Suite *suite_whole_threads(void);
Suite *suite_whole_threads(void) {
    Suite *suite = suite_create("whole_threads");
    TCase *cases = tcase_create("whole_threads");
    tcase_add_loop_test(cases, the_record_is_the_same, 0, sizeof DRAFTS / sizeof *DRAFTS);
    tcase_add_test(cases, an_error_comes_from_its_stage);
    tcase_add_test(cases, progress_comes_from_one_thread);
    suite_add_tcase(suite, cases);
    return suite;
}
