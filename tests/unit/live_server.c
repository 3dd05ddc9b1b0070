/* The server of `dovetell live`, spoken to over a socket of this machine's loopback address: what it gives, what it
 * refuses, how it follows a folder. */
#include <arpa/inet.h>
#include <check.h>
#include <dovetell/live.h>
#include <dovetell/text.h>
#include <netinet/in.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

static const char SQUARES[] =
    "<svg xmlns='http://www.w3.org/2000/svg' width='60mm' height='40mm' viewBox='0 0 60 40' fill='none' stroke='red'>"
    "<path d='M5 5h50v30h-50z'/><path d='M30 5v8a4 4 0 1 1 0 8v14'/></svg>";

typedef struct bench {
    char folder[64];
    dt_settings settings;
    dt_live *live;
    unsigned port;
} bench;

static void write_draft(const bench *b, const char *name, const char *text) {
    char path[160];
    snprintf(path, sizeof path, "%s/%s", b->folder, name);
    ck_assert_int_eq(dt_file_write(path, text, strlen(text), NULL), DT_OK);
}

static void remove_draft(const bench *b, const char *name) {
    char path[160];
    snprintf(path, sizeof path, "%s/%s", b->folder, name);
    unlink(path);
}

static bench bench_new(void) {
    bench b = {.settings = DT_SETTINGS_DEFAULT};
    snprintf(b.folder, sizeof b.folder, "/tmp/dovetell-test-XXXXXX");
    ck_assert_ptr_nonnull(mkdtemp(b.folder));
    return b;
}

static void bench_start(bench *b) {
    dt_error error = {0};
    dt_live_options options = {b->folder, 0, &b->settings};
    ck_assert_msg(dt_live_start(&options, &b->live, &error) == DT_OK, "%s", error.message);
    b->port = dt_live_port(b->live);
    ck_assert_uint_gt(b->port, 0);
}

static void bench_end(bench *b) {
    dt_live_stop(b->live);
    const char *const names[] = {"reeds.svg", "a<b>&.svg", "out.svg", "later.svg"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) remove_draft(b, names[i]);
    rmdir(b->folder);
}

static int connect_to(unsigned port) {
    int s = socket(AF_INET, SOCK_STREAM, 0);
    struct sockaddr_in to = {
        .sin_family = AF_INET, .sin_port = htons((uint16_t)port), .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    struct timeval patience = {20, 0};
    ck_assert_int_ge(s, 0);
    setsockopt(s, SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof patience);
    ck_assert_int_eq(connect(s, (struct sockaddr *)&to, sizeof to), 0);
    return s;
}

/* Sends a whole request and reads to the end of the answer. The caller frees. */
static dt_text ask_raw(unsigned port, const char *bytes, size_t count) {
    int s = connect_to(port);
    dt_text answer = DT_TEXT_EMPTY;
    char block[4096];
    for (size_t sent = 0; sent < count;) {
        ssize_t now = send(s, bytes + sent, count - sent, MSG_NOSIGNAL);
        if (now <= 0) break; /* a server that refuses may close before it has read all */
        sent += (size_t)now;
    }
    for (ssize_t got; (got = recv(s, block, sizeof block, 0)) > 0;) dt_text_add_bytes(&answer, block, (size_t)got);
    close(s);
    if (!answer.bytes) dt_text_add(&answer, "");
    return answer;
}

static dt_text ask(const bench *b, const char *path) {
    dt_text request = DT_TEXT_EMPTY;
    dt_text_addf(&request, "GET %s HTTP/1.1\r\nHost: 127.0.0.1:%u\r\nConnection: close\r\n\r\n", path, b->port);
    dt_text answer = ask_raw(b->port, request.bytes, request.length);
    dt_text_free(&request);
    return answer;
}

static int status_of(const dt_text *answer) {
    int status = 0;
    sscanf(answer->bytes, "HTTP/1.%*d %d", &status);
    return status;
}

/* Asks again until the answer holds (or no longer holds) the words; a generous limit instead of a clock's verdict. */
static void wait_for(const bench *b, const char *path, const char *words, bool wanted) {
    for (int i = 0; i < 2000; i++) {
        dt_text answer = ask(b, path);
        bool there = strstr(answer.bytes, words) != NULL;
        dt_text_free(&answer);
        if (there == wanted) return;
        nanosleep(&(struct timespec){0, 10000000}, NULL);
    }
    ck_abort_msg("%s never %s \"%s\"", path, wanted ? "said" : "stopped saying", words);
}

START_TEST(lists_and_shows_drafts) {
    bench b = bench_new();
    write_draft(&b, "reeds.svg", SQUARES);
    write_draft(&b, "a<b>&.svg", SQUARES);
    bench_start(&b);
    wait_for(&b, "/state/reeds.svg", "\"ready\"", true);
    wait_for(&b, "/state/a%3Cb%3E%26.svg", "\"ready\"", true);
    dt_text list = ask(&b, "/");
    ck_assert_ptr_nonnull(strstr(list.bytes, "2 pieces"));
    ck_assert_ptr_nonnull(strstr(list.bytes, "a&lt;b&gt;&amp;.svg"));
    ck_assert_ptr_null(strstr(list.bytes, "a<b>"));
    ck_assert_ptr_nonnull(strstr(list.bytes, "default-src 'none'"));
    dt_text_free(&list);
    dt_text page = ask(&b, "/draft/reeds.svg");
    ck_assert_int_eq(status_of(&page), 200);
    ck_assert_ptr_nonnull(strstr(page.bytes, "dovetell-version"));
    ck_assert_ptr_nonnull(strstr(page.bytes, "connect-src 'self'"));
    dt_text_free(&page);
    bench_end(&b);
}
END_TEST

START_TEST(follows_saves_and_keeps_the_last_good_state) {
    bench b = bench_new();
    bench_start(&b);
    wait_for(&b, "/cards", "no draft in the folder yet", true);
    write_draft(&b, "later.svg", SQUARES);
    wait_for(&b, "/cards", "2 pieces", true);
    write_draft(&b, "later.svg", "<svg half a sa");
    wait_for(&b, "/state/later.svg", "\"broken\"", true);
    dt_text page = ask(&b, "/draft/later.svg");
    ck_assert_int_eq(status_of(&page), 200);
    ck_assert_ptr_nonnull(strstr(page.bytes, "id=\"data\"")); /* still the page of the last good state */
    dt_text_free(&page);
    write_draft(&b, "later.svg", SQUARES);
    wait_for(&b, "/state/later.svg", "\"ready\"", true);
    remove_draft(&b, "later.svg");
    wait_for(&b, "/state/later.svg", "\"gone\"", true);
    bench_end(&b);
}
END_TEST

START_TEST(survives_a_folder_that_vanishes_and_comes_back) {
    bench b = bench_new();
    write_draft(&b, "reeds.svg", SQUARES);
    bench_start(&b);
    wait_for(&b, "/cards", "2 pieces", true);
    remove_draft(&b, "reeds.svg");
    ck_assert_int_eq(rmdir(b.folder), 0);
    wait_for(&b, "/cards", "not there at the moment", true);
    ck_assert_int_eq(mkdir(b.folder, 0700), 0);
    write_draft(&b, "reeds.svg", SQUARES);
    wait_for(&b, "/cards", "2 pieces", true);
    bench_end(&b);
}
END_TEST

START_TEST(tells_listeners_of_a_save) {
    bench b = bench_new();
    bench_start(&b);
    char request[160], block[4096];
    snprintf(request, sizeof request, "GET /events HTTP/1.1\r\nHost: localhost:%u\r\n\r\n", b.port);
    int s = connect_to(b.port);
    ck_assert_int_eq((int)send(s, request, strlen(request), 0), (int)strlen(request));
    wait_for(&b, "/cards", "no draft in the folder yet", true); /* the first look is over, and the listener is there */
    write_draft(&b, "later.svg", SQUARES);
    dt_text heard = DT_TEXT_EMPTY;
    dt_text_add(&heard, "");
    /* Both come, from two threads, in either order. */
    while (!strstr(heard.bytes, "event: draft\ndata: {\"draft\":\"later.svg\"") ||
           !strstr(heard.bytes, "event: list")) {
        ssize_t got = recv(s, block, sizeof block, 0);
        ck_assert_int_gt((int)got, 0);
        dt_text_add_bytes(&heard, block, (size_t)got);
    }
    dt_text_free(&heard);
    bench_end(&b); /* with the listener still connected */
    close(s);
}
END_TEST

static int status_for(const bench *b, const char *request) {
    dt_text answer = ask_raw(b->port, request, strlen(request));
    int status = status_of(&answer);
    dt_text_free(&answer);
    return status;
}

START_TEST(refuses_what_is_not_its_own) {
    bench b = bench_new();
    bench_start(&b);
    char r[400];
    ck_assert_int_eq(status_for(&b, "GET / HTTP/1.1\r\nHost: evil.example\r\nConnection: close\r\n\r\n"), 403);
    ck_assert_int_eq(status_for(&b, "GET / HTTP/1.0\r\n\r\n"), 403);
    snprintf(r, sizeof r,
             "GET / HTTP/1.1\r\nHost: localhost:%u\r\nOrigin: http://evil.example\r\nConnection: close\r\n\r\n",
             b.port);
    ck_assert_int_eq(status_for(&b, r), 403);
    snprintf(r, sizeof r,
             "POST /drop HTTP/1.1\r\nHost: localhost:%u\r\nContent-Length: 1\r\nConnection: close\r\n\r\nx", b.port);
    ck_assert_int_eq(status_for(&b, r), 403); /* without an origin of our own */
    snprintf(r, sizeof r, "DELETE / HTTP/1.1\r\nHost: localhost:%u\r\nConnection: close\r\n\r\n", b.port);
    ck_assert_int_eq(status_for(&b, r), 405);
    bench_end(&b);
}
END_TEST

START_TEST(serves_nothing_outside_the_folder) {
    bench b = bench_new();
    char link[160];
    snprintf(link, sizeof link, "%s/out.svg", b.folder);
    ck_assert_int_eq(symlink("/etc/passwd", link), 0);
    write_draft(&b, "reeds.svg", SQUARES);
    bench_start(&b);
    wait_for(&b, "/state/reeds.svg", "\"ready\"", true);
    const char *const paths[] = {"/draft/../../etc/passwd",
                                 "/draft/%2e%2e%2f%2e%2e%2fetc%2fpasswd",
                                 "/draft//etc/passwd",
                                 "/draft/out.svg",
                                 "/draft/reeds.svg%00x",
                                 "/../etc/passwd",
                                 "/dropped/1",
                                 "/dropped/",
                                 "/draft/"};
    for (size_t i = 0; i < sizeof paths / sizeof *paths; i++) {
        dt_text answer = ask(&b, paths[i]);
        if (strcmp(paths[i], "/draft/reeds.svg%00x") != 0) ck_assert_int_ne(status_of(&answer), 200);
        ck_assert_ptr_null(strstr(answer.bytes, "root:"));
        dt_text_free(&answer);
    }
    bench_end(&b);
}
END_TEST

static dt_text drop(const bench *b, const char *body, size_t count) {
    dt_text request = DT_TEXT_EMPTY;
    dt_text_addf(&request,
                 "POST /drop HTTP/1.1\r\nHost: 127.0.0.1:%u\r\nOrigin: http://127.0.0.1:%u\r\nX-Drawing-Name: "
                 "%%3Cb%%3E.svg\r\nContent-Length: "
                 "%zu\r\nConnection: close\r\n\r\n",
                 b->port, b->port, count);
    dt_text_add_bytes(&request, body, count);
    dt_text answer = ask_raw(b->port, request.bytes, request.length);
    dt_text_free(&request);
    return answer;
}

START_TEST(a_dropped_drawing_is_analysed_in_memory) {
    bench b = bench_new();
    bench_start(&b);
    dt_text answer = drop(&b, SQUARES, strlen(SQUARES));
    ck_assert_int_eq(status_of(&answer), 200);
    ck_assert_ptr_nonnull(strstr(answer.bytes, "\r\n\r\n/dropped/1"));
    dt_text_free(&answer);
    answer = ask(&b, "/dropped/1");
    ck_assert_int_eq(status_of(&answer), 200);
    ck_assert_ptr_nonnull(strstr(answer.bytes, "id=\"data\""));
    ck_assert_ptr_null(strstr(answer.bytes, "<b>.svg"));
    dt_text_free(&answer);
    answer = drop(&b, "no drawing", 10);
    ck_assert_int_eq(status_of(&answer), 422);
    dt_text_free(&answer);
    size_t large = (32u << 20) + 1;
    char *bytes = calloc(1, large);
    answer = drop(&b, bytes, large);
    ck_assert(status_of(&answer) == 413);
    dt_text_free(&answer);
    free(bytes);
    ck_assert_int_eq(rmdir(b.folder), 0); /* nothing was stored */
    mkdir(b.folder, 0700);
    bench_end(&b);
}
END_TEST

/* 10,000 requests, while connections that never finish theirs stay open. */
START_TEST(survives_many_requests_and_half_open_ones) {
    bench b = bench_new();
    write_draft(&b, "reeds.svg", SQUARES);
    bench_start(&b);
    wait_for(&b, "/state/reeds.svg", "\"ready\"", true);
    int half[40];
    for (size_t i = 0; i < 40; i++) {
        half[i] = connect_to(b.port);
        ck_assert_int_eq((int)send(half[i], "GET /draft/", 11, 0), 11);
    }
    const char *const paths[] = {"/", "/cards", "/draft/reeds.svg", "/live.css", "/nothing", "/state/x"};
    for (int i = 0; i < 10000; i++) {
        dt_text answer = ask(&b, paths[i % 6]);
        ck_assert_int_ne(status_of(&answer), 0);
        dt_text_free(&answer);
    }
    for (size_t i = 0; i < 40; i++) close(half[i]);
    bench_end(&b);
}
END_TEST

START_TEST(says_why_it_cannot_start) {
    dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_live *live = NULL;
    dt_error error = {0};
    dt_live_options options = {"/no/such/folder", 0, &settings};
    ck_assert_int_eq(dt_live_start(&options, &live, &error), DT_CANNOT_READ);
    options.folder = "README.md";
    ck_assert_int_eq(dt_live_start(&options, &live, &error), DT_CANNOT_READ);
    ck_assert_ptr_null(live);
    bench b = bench_new();
    bench_start(&b);
    options = (dt_live_options){b.folder, b.port, &settings};
    ck_assert_int_eq(dt_live_start(&options, &live, &error), DT_BAD_ARGUMENT);
    ck_assert_ptr_nonnull(strstr(error.message, "--port"));
    bench_end(&b);
}
END_TEST

Suite *suite_live_server(void);
Suite *suite_live_server(void) {
    Suite *suite = suite_create("live_server");
    TCase *cases = tcase_create("server");
    tcase_set_timeout(cases, 60);
    tcase_add_test(cases, lists_and_shows_drafts);
    tcase_add_test(cases, follows_saves_and_keeps_the_last_good_state);
    tcase_add_test(cases, survives_a_folder_that_vanishes_and_comes_back);
    tcase_add_test(cases, tells_listeners_of_a_save);
    tcase_add_test(cases, refuses_what_is_not_its_own);
    tcase_add_test(cases, serves_nothing_outside_the_folder);
    tcase_add_test(cases, a_dropped_drawing_is_analysed_in_memory);
    tcase_add_test(cases, survives_many_requests_and_half_open_ones);
    tcase_add_test(cases, says_why_it_cannot_start);
    suite_add_tcase(suite, cases);
    return suite;
}
