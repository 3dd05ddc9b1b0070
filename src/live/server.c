/* The server of `dovetell live`, by libmicrohttpd: one thread that answers, on the loopback address only. Every request
 * is checked before anything else: its Host must be this server (so that a page elsewhere cannot reach it under another
 * name), and a request that sends something must come from this server's own pages. Addresses are matched against the
 * board's names; none is ever opened as a path. */
#include <dovetell/live.h>

#include "board.h"
#include "events.h"
#include "pages.h"
#include <arpa/inet.h>
#include <errno.h>
#include <netinet/in.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

enum {
    LARGEST_DROP = 32 << 20,
    MOST_INCOMING = 128 << 20,
    MOST_CONNECTIONS = 400,
    IDLE_SECONDS = 30,
    BEAT_SECONDS = 15,
    KEPT_DROPS = 8
};

typedef struct dropped {
    unsigned number;
    shared_text *page;
} dropped;

struct dt_live {
    struct MHD_Daemon *daemon;
    board *board;
    events *events;
    char *folder;
    unsigned port;
    pthread_mutex_t drops_lock;
    dropped drops[KEPT_DROPS];
    unsigned drop_count;
    size_t incoming; /* bytes of all drops under way; only the server's thread sees it */
    pthread_t beat;
    pthread_mutex_t end_lock;
    pthread_cond_t end_signal;
    bool ending, beating;
};

/* A request. What it sends is collected; a drawing then waits for the board with its connection suspended. */
typedef struct request {
    dt_live *live;
    struct MHD_Connection *connection;
    dt_text bytes;
    size_t counted; /* of live->incoming */
    bool too_large, too_many;
    bool asked, answered; /* the board was asked; it has answered, before the connection was resumed */
    shared_text *page;
    dt_error error;
} request;

/* ---- answers ---- */

typedef struct answer {
    unsigned status;
    const char *type;
    bool has_own_policy; /* a draft's page carries its policy itself */
} answer;

static const answer PAGE = {MHD_HTTP_OK, "text/html; charset=utf-8", false};
static const answer PLAIN = {MHD_HTTP_OK, "text/plain; charset=utf-8", false};

static enum MHD_Result send_response(struct MHD_Connection *connection, answer a, struct MHD_Response *response) {
    if (!response) return MHD_NO;
    MHD_add_response_header(response, "Content-Type", a.type);
    MHD_add_response_header(response, "Cache-Control", "no-store");
    MHD_add_response_header(response, "X-Content-Type-Options", "nosniff");
    MHD_add_response_header(response, "Referrer-Policy", "no-referrer");
    MHD_add_response_header(response, "Cross-Origin-Resource-Policy", "same-origin");
    MHD_add_response_header(response, "X-Frame-Options", "DENY");
    if (!a.has_own_policy)
        MHD_add_response_header(
            response, "Content-Security-Policy",
            "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; base-uri 'none'; "
            "form-action 'none'; frame-ancestors 'none'");
    enum MHD_Result result = MHD_queue_response(connection, a.status, response);
    MHD_destroy_response(response);
    return result;
}

/* Sends the text and leaves it empty. */
static enum MHD_Result send_text(struct MHD_Connection *connection, answer a, dt_text *text) {
    if (text->failed || !text->bytes) {
        dt_text_free(text);
        return MHD_NO;
    }
    struct MHD_Response *response = MHD_create_response_from_buffer(text->length, text->bytes, MHD_RESPMEM_MUST_FREE);
    if (response)
        *text = (dt_text)DT_TEXT_EMPTY;
    else
        dt_text_free(text);
    return send_response(connection, a, response);
}

static enum MHD_Result send_words(struct MHD_Connection *connection, unsigned status, const char *words) {
    dt_text text = DT_TEXT_EMPTY;
    dt_text_add(&text, words);
    answer a = PLAIN;
    a.status = status;
    return send_text(connection, a, &text);
}

static enum MHD_Result send_bytes(struct MHD_Connection *connection, const char *type, const unsigned char *bytes,
                                  size_t count) {
    dt_text text = DT_TEXT_EMPTY;
    dt_text_add_bytes(&text, bytes, count);
    return send_text(connection, (answer){MHD_HTTP_OK, type, false}, &text);
}

typedef struct reading {
    shared_text *text;
} reading;

static ssize_t read_shared(void *context, uint64_t position, char *buffer, size_t room) {
    const shared_text *text = ((reading *)context)->text;
    size_t length = shared_text_length(text);
    if (position >= length) return MHD_CONTENT_READER_END_OF_STREAM;
    size_t count = length - position < room ? length - position : room;
    memcpy(buffer, shared_text_bytes(text) + position, count);
    return (ssize_t)count;
}

static void end_shared(void *context) {
    shared_text_drop(((reading *)context)->text);
    free(context);
}

/* Sends a page that others hold too, without copying it; takes over one hold. */
static enum MHD_Result send_shared(struct MHD_Connection *connection, answer a, shared_text *text) {
    reading *r = malloc(sizeof *r);
    if (!r) {
        shared_text_drop(text);
        return MHD_NO;
    }
    r->text = text;
    struct MHD_Response *response =
        MHD_create_response_from_callback(shared_text_length(text), 1 << 16, read_shared, r, end_shared);
    if (!response) end_shared(r);
    return send_response(connection, a, response);
}

static enum MHD_Result send_problem(struct MHD_Connection *connection, unsigned status, const char *title,
                                    const char *sentence) {
    dt_text text = DT_TEXT_EMPTY;
    page_problem(title, sentence, &text);
    answer a = PAGE;
    a.status = status;
    return send_text(connection, a, &text);
}

/* ---- what is asked for ---- */

static enum MHD_Result give_list(dt_live *live, struct MHD_Connection *connection) {
    dt_text text = DT_TEXT_EMPTY;
    page_list(live->board, live->folder, &text);
    return send_text(connection, PAGE, &text);
}

static enum MHD_Result give_cards(dt_live *live, struct MHD_Connection *connection) {
    dt_text text = DT_TEXT_EMPTY;
    page_cards(live->board, &text);
    return send_text(connection, PAGE, &text);
}

static enum MHD_Result give_draft(dt_live *live, struct MHD_Connection *connection, const char *name) {
    card_view view;
    if (!board_view(live->board, name, &view))
        return send_problem(connection, MHD_HTTP_NOT_FOUND, "No such draft",
                            "There is no draft of this name in the folder now.");
    if (view.draft.page) {
        shared_text *page = shared_text_hold(view.draft.page);
        card_view_drop(&view);
        return send_shared(connection, (answer){MHD_HTTP_OK, PAGE.type, true}, page);
    }
    dt_text text = DT_TEXT_EMPTY;
    page_waiting(&view, &text);
    card_view_drop(&view);
    return send_text(connection, PAGE, &text);
}

/* The text as a JSON string, quotes included: what is not plain ASCII as it is, quotes, backslashes and controls
 * escaped. */
static void add_json_string(dt_text *out, const char *string) {
    dt_text plain = DT_TEXT_EMPTY;
    dt_text_add_plain(&plain, string, 0);
    dt_text_add(out, "\"");
    for (const char *s = plain.bytes ? plain.bytes : ""; *s; s++) {
        if (*s == '"' || *s == '\\') dt_text_add(out, "\\");
        dt_text_add_bytes(out, s, 1);
    }
    dt_text_add(out, "\"");
    dt_text_free(&plain);
}

static enum MHD_Result give_state(dt_live *live, struct MHD_Connection *connection, const char *name) {
    card_view view = {0};
    dt_text text = DT_TEXT_EMPTY;
    bool found = board_view(live->board, name, &view);
    dt_text_addf(&text,
                 "{\"state\":\"%s\",\"busy\":%s,\"version\":%llu,\"reason\":", found ? state_name(view.state) : "gone",
                 view.busy ? "true" : "false", (unsigned long long)view.version);
    add_json_string(&text, view.state == CARD_BROKEN ? view.reason : "");
    dt_text_add(&text, ",\"work\":");
    add_json_string(&text, view.work);
    dt_text_add(&text, "}\n");
    card_view_drop(&view);
    return send_text(connection, (answer){MHD_HTTP_OK, "application/json", false}, &text);
}

static enum MHD_Result give_events(dt_live *live, struct MHD_Connection *connection) {
    struct MHD_Response *response = events_listen(live->events, connection);
    if (!response) return send_words(connection, MHD_HTTP_SERVICE_UNAVAILABLE, "The program is ending.\n");
    return send_response(connection, (answer){MHD_HTTP_OK, "text/event-stream", false}, response);
}

static enum MHD_Result give_dropped(dt_live *live, struct MHD_Connection *connection, const char *number) {
    shared_text *page = NULL;
    char *end = NULL;
    unsigned long wanted = strtoul(number, &end, 10);
    pthread_mutex_lock(&live->drops_lock);
    for (size_t i = 0; i < KEPT_DROPS; i++)
        if (*end == '\0' && live->drops[i].page && live->drops[i].number == wanted)
            page = shared_text_hold(live->drops[i].page);
    pthread_mutex_unlock(&live->drops_lock);
    if (page) return send_shared(connection, (answer){MHD_HTTP_OK, PAGE.type, true}, page);
    return send_problem(connection, MHD_HTTP_NOT_FOUND, "Not kept",
                        "Dropped drawings are kept in memory only, the last few of them. Drop it again.");
}

static enum MHD_Result give(dt_live *live, struct MHD_Connection *connection, const char *url) {
    if (strcmp(url, "/") == 0) return give_list(live, connection);
    if (strcmp(url, "/cards") == 0) return give_cards(live, connection);
    if (strcmp(url, "/events") == 0) return give_events(live, connection);
    if (strcmp(url, "/live.css") == 0)
        return send_bytes(connection, "text/css; charset=utf-8", live_style, live_style_length);
    if (strcmp(url, "/list.js") == 0)
        return send_bytes(connection, "text/javascript; charset=utf-8", live_list_script, live_list_script_length);
    if (strcmp(url, "/drop.js") == 0)
        return send_bytes(connection, "text/javascript; charset=utf-8", live_drop_script, live_drop_script_length);
    if (strcmp(url, "/follow.js") == 0)
        return send_bytes(connection, "text/javascript; charset=utf-8", live_follow_script, live_follow_script_length);
    if (strncmp(url, "/draft/", 7) == 0) return give_draft(live, connection, url + 7);
    if (strncmp(url, "/state/", 7) == 0) return give_state(live, connection, url + 7);
    if (strncmp(url, "/dropped/", 9) == 0) return give_dropped(live, connection, url + 9);
    return send_problem(connection, MHD_HTTP_NOT_FOUND, "Nothing here", "There is no page at this address.");
}

/* ---- a dropped drawing ---- */

static unsigned keep_drop(dt_live *live, shared_text *page) {
    pthread_mutex_lock(&live->drops_lock);
    unsigned number = ++live->drop_count;
    dropped *place = &live->drops[number % KEPT_DROPS];
    shared_text_drop(place->page);
    *place = (dropped){number, page};
    pthread_mutex_unlock(&live->drops_lock);
    return number;
}

static void name_of_drop(struct MHD_Connection *connection, char name[256]) {
    const char *given = MHD_lookup_connection_value(connection, MHD_HEADER_KIND, "X-Drawing-Name");
    snprintf(name, 256, "%s", given && given[0] ? given : "dropped drawing");
    MHD_http_unescape(name);
}

/* By the board's analyst. */
static void on_drop_done(void *context, shared_text *page, const dt_error *error) {
    request *r = context;
    r->page = page;
    r->error = *error;
    r->answered = true;
    MHD_resume_connection(r->connection);
}

static enum MHD_Result ask_board(request *r) {
    char name[256];
    name_of_drop(r->connection, name);
    r->asked = true;
    MHD_suspend_connection(r->connection);
    if (board_drop(r->live->board, name, &r->bytes, on_drop_done, r)) return MHD_YES;
    r->too_many = r->answered = true;
    MHD_resume_connection(r->connection);
    return MHD_YES;
}

/* All has come in, or the board has answered. */
static enum MHD_Result answer_drop(request *r) {
    char address[32];
    if (r->too_large)
        return send_words(r->connection, MHD_HTTP_CONTENT_TOO_LARGE,
                          "The drawing is larger than 32 MB, the most that can be dropped.");
    if (r->too_many)
        return send_words(r->connection, MHD_HTTP_SERVICE_UNAVAILABLE,
                          "Too many drawings at once; try again in a moment.");
    if (!r->asked) return ask_board(r);
    if (!r->answered) return MHD_YES; /* the board resumes the connection */
    if (!r->page) return send_words(r->connection, MHD_HTTP_UNPROCESSABLE_CONTENT, r->error.message);
    snprintf(address, sizeof address, "/dropped/%u", keep_drop(r->live, r->page));
    r->page = NULL;
    return send_words(r->connection, MHD_HTTP_OK, address);
}

static enum MHD_Result collect(request *r, const char *data, size_t *size) {
    if (*size > LARGEST_DROP - r->bytes.length) r->too_large = true;
    if (*size > MOST_INCOMING - r->live->incoming) r->too_many = true;
    if (!r->too_large && !r->too_many) {
        dt_text_add_bytes(&r->bytes, data, *size);
        r->counted += *size;
        r->live->incoming += *size;
    }
    *size = 0;
    return r->bytes.failed ? MHD_NO : MHD_YES;
}

/* ---- every request ---- */

/* "127.0.0.1:PORT" or "localhost:PORT" after an optional prefix. */
static bool names_us(const dt_live *live, const char *value, const char *prefix) {
    const char *const hosts[] = {"127.0.0.1", "localhost"};
    char ours[80];
    for (size_t i = 0; value && i < 2; i++) {
        snprintf(ours, sizeof ours, "%s%s:%u", prefix, hosts[i], live->port);
        if (strcmp(value, ours) == 0) return true;
    }
    return false;
}

static bool is_allowed(const dt_live *live, struct MHD_Connection *connection, bool sends) {
    const char *host = MHD_lookup_connection_value(connection, MHD_HEADER_KIND, "Host");
    const char *origin = MHD_lookup_connection_value(connection, MHD_HEADER_KIND, "Origin");
    if (!names_us(live, host, "")) return false;
    return origin ? names_us(live, origin, "http://") : !sends;
}

static enum MHD_Result on_request(void *context, struct MHD_Connection *connection, const char *url, const char *method,
                                  const char *version, const char *data, size_t *size, void **state) {
    dt_live *live = context;
    bool sends = strcmp(method, "POST") == 0;
    (void)version;
    if (!*state) { /* the first of several calls: the head has come in */
        request *fresh = *state = calloc(1, sizeof *fresh);
        if (!fresh) return MHD_NO;
        fresh->live = live;
        fresh->connection = connection;
        if (!is_allowed(live, connection, sends))
            return send_words(connection, MHD_HTTP_FORBIDDEN, "Only pages of this program on this computer may ask.\n");
        return MHD_YES;
    }
    if (sends && strcmp(url, "/drop") == 0) return *size ? collect(*state, data, size) : answer_drop(*state);
    if (strcmp(method, "GET") != 0 && strcmp(method, "HEAD") != 0)
        return send_words(connection, MHD_HTTP_METHOD_NOT_ALLOWED, "This address only gives.\n");
    return give(live, connection, url);
}

static void on_end(void *context, struct MHD_Connection *connection, void **state,
                   enum MHD_RequestTerminationCode why) {
    request *r = *state;
    (void)context;
    (void)connection;
    (void)why;
    if (!r) return;
    r->live->incoming -= r->counted;
    shared_text_drop(r->page);
    dt_text_free(&r->bytes);
    free(r);
    *state = NULL;
}

/* ---- starting and ending ---- */

static void on_news(void *context, const board_news *news) {
    events_publish(context, news);
}

static void *beat_thread(void *argument) {
    dt_live *live = argument;
    pthread_mutex_lock(&live->end_lock);
    while (!live->ending) {
        struct timespec until;
        clock_gettime(CLOCK_REALTIME, &until);
        until.tv_sec += BEAT_SECONDS;
        if (pthread_cond_timedwait(&live->end_signal, &live->end_lock, &until) == ETIMEDOUT) events_beat(live->events);
    }
    pthread_mutex_unlock(&live->end_lock);
    return NULL;
}

static void end_beat(dt_live *live) {
    if (!live->beating) return;
    pthread_mutex_lock(&live->end_lock);
    live->ending = true;
    pthread_cond_signal(&live->end_signal);
    pthread_mutex_unlock(&live->end_lock);
    pthread_join(live->beat, NULL);
}

void dt_live_stop(dt_live *live) {
    if (!live) return;
    end_beat(live);
    if (live->events) events_close(live->events);
    board_end(live->board); /* answers every drop: no connection may be suspended when the server stops */
    if (live->daemon) MHD_stop_daemon(live->daemon);
    board_free(live->board);
    events_free(live->events);
    for (size_t i = 0; i < KEPT_DROPS; i++) shared_text_drop(live->drops[i].page);
    pthread_mutex_destroy(&live->drops_lock);
    pthread_mutex_destroy(&live->end_lock);
    pthread_cond_destroy(&live->end_signal);
    free(live->folder);
    free(live);
}

static bool start_daemon(dt_live *live, unsigned port) {
    struct sockaddr_in address = {
        .sin_family = AF_INET, .sin_port = htons((uint16_t)port), .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    live->daemon = MHD_start_daemon(MHD_USE_AUTO_INTERNAL_THREAD | MHD_ALLOW_SUSPEND_RESUME, 0, NULL, NULL, on_request,
                                    live, MHD_OPTION_SOCK_ADDR, &address, MHD_OPTION_CONNECTION_LIMIT,
                                    (unsigned)MOST_CONNECTIONS, MHD_OPTION_CONNECTION_TIMEOUT, (unsigned)IDLE_SECONDS,
                                    MHD_OPTION_NOTIFY_COMPLETED, on_end, NULL, MHD_OPTION_END);
    if (!live->daemon) return false;
    const union MHD_DaemonInfo *info = MHD_get_daemon_info(live->daemon, MHD_DAEMON_INFO_BIND_PORT);
    live->port = info && info->port ? info->port : port;
    return true;
}

static dt_status start_all(dt_live *live, const dt_live_options *options, dt_error *error) {
    live->folder = strdup(options->folder);
    live->events = events_new();
    if (!live->folder || !live->events) return dt_fail(error, DT_NO_MEMORY, "no memory left");
    dt_status status = board_new(options->folder, options->settings, on_news, live->events, &live->board, error);
    if (status != DT_OK) return status;
    if (!start_daemon(live, options->port))
        return dt_fail(
            error, DT_BAD_ARGUMENT,
            "port %u cannot be used (another program may have it): choose another with --port, or leave it out",
            options->port);
    live->beating = pthread_create(&live->beat, NULL, beat_thread, live) == 0;
    return live->beating ? DT_OK : dt_fail(error, DT_NO_MEMORY, "no memory left");
}

dt_status dt_live_start(const dt_live_options *options, dt_live **out, dt_error *error) {
    dt_live *live = calloc(1, sizeof *live);
    if (!live) return dt_fail(error, DT_NO_MEMORY, "no memory left");
    pthread_mutex_init(&live->drops_lock, NULL);
    pthread_mutex_init(&live->end_lock, NULL);
    pthread_cond_init(&live->end_signal, NULL);
    dt_status status = start_all(live, options, error);
    if (status == DT_OK)
        *out = live;
    else
        dt_live_stop(live);
    return status;
}

unsigned dt_live_port(const dt_live *live) {
    return live->port;
}
