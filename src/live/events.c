/* Server-sent events over suspended connections. Invariant: a listener is in the list from events_listen until the
 * server frees its answer; `next` is the first event that it has not been sent; a suspended listener has been sent all.
 * Old events are forgotten: a listener that is too slow is told that everything changed. */
#include "events.h"

#include "pages.h"

#include <dovetell/text.h>
#include <pthread.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

enum { KEPT = 256, MOST_LISTENERS = 64, EVENT_ROOM = 2048 };

typedef struct event {
    char text[EVENT_ROOM];
} event;

typedef struct listener {
    struct listener *next_listener;
    struct events *owner;
    struct MHD_Connection *connection;
    uint64_t next;
    bool suspended, ending;
} listener;

struct events {
    pthread_mutex_t lock;
    event kept[KEPT];
    uint64_t count; /* events so far; the last KEPT are kept */
    listener *listeners;
    size_t listener_count;
    bool closing;
};

static const char ALL_CHANGED[] = "event: all\ndata: {}\n\n";

events *events_new(void) {
    events *e = calloc(1, sizeof *e);
    if (e) pthread_mutex_init(&e->lock, NULL);
    return e;
}

void events_free(events *e) {
    if (!e) return;
    pthread_mutex_destroy(&e->lock);
    free(e);
}

/* Both under the lock. */
static void wake(listener *l) {
    if (!l->suspended) return;
    l->suspended = false;
    MHD_resume_connection(l->connection);
}

static void wake_all(events *e) {
    for (listener *l = e->listeners; l; l = l->next_listener) wake(l);
}

void events_close(events *e) {
    pthread_mutex_lock(&e->lock);
    e->closing = true;
    wake_all(e);
    pthread_mutex_unlock(&e->lock);
}

static void publish_text(events *e, const char *text) {
    if (strlen(text) >= EVENT_ROOM) text = ALL_CHANGED;
    pthread_mutex_lock(&e->lock);
    memcpy(e->kept[e->count++ % KEPT].text, text, strlen(text) + 1);
    wake_all(e);
    pthread_mutex_unlock(&e->lock);
}

/* Names and words go as the page has them in addresses: nothing else is safe in a line of JSON, whatever a name holds.
 */
void events_publish(events *e, const board_news *news) {
    dt_text text = DT_TEXT_EMPTY;
    if (news->name) {
        dt_text_addf(&text, "event: %s\ndata: {\"draft\":\"", news->work ? "work" : "draft");
        add_address_segment(&text, news->name);
        if (news->work) dt_text_add(&text, "\",\"words\":\"");
        if (news->work) add_address_segment(&text, news->work);
        dt_text_addf(&text, "\",\"version\":%llu}\n\n", (unsigned long long)news->version);
    } else {
        dt_text_add(&text, "event: list\ndata: {}\n\n");
    }
    publish_text(e, text.failed ? ALL_CHANGED : text.bytes);
    dt_text_free(&text);
}

void events_beat(events *e) {
    publish_text(e, ": still here\n\n");
}

/* The next text for a listener, or NULL when it has had all. Under the lock. */
static const char *next_text(events *e, listener *l) {
    if (l->next == e->count) return NULL;
    if (e->count - l->next > KEPT) {
        l->next = e->count;
        return ALL_CHANGED;
    }
    return e->kept[l->next++ % KEPT].text;
}

/* The server asks for bytes; at most `room` of them. Events are shorter than any buffer that the server uses. */
static ssize_t give_bytes(void *context, uint64_t position, char *buffer, size_t room) {
    (void)position;
    listener *l = context;
    events *e = l->owner;
    ssize_t given = 0;
    pthread_mutex_lock(&e->lock);
    if (e->closing || l->ending) {
        given = MHD_CONTENT_READER_END_OF_STREAM;
    } else if (room >= EVENT_ROOM) {
        const char *text = next_text(e, l);
        if (text) {
            given = (ssize_t)strlen(text);
            memcpy(buffer, text, (size_t)given);
        } else {
            l->suspended = true;
            MHD_suspend_connection(l->connection);
        }
    } else {
        given = MHD_CONTENT_READER_END_WITH_ERROR;
    }
    pthread_mutex_unlock(&e->lock);
    return given;
}

static void forget_listener(void *context) {
    listener *l = context;
    events *e = l->owner;
    pthread_mutex_lock(&e->lock);
    listener **at = &e->listeners;
    while (*at && *at != l) at = &(*at)->next_listener;
    if (*at) {
        *at = l->next_listener;
        e->listener_count--;
    }
    pthread_mutex_unlock(&e->lock);
    free(l);
}

/* A page that was left is only noticed when something is sent to it, so the oldest makes room: if it is still there,
 * its browser connects anew. Under the lock. */
static void end_oldest(events *e) {
    listener *oldest = NULL;
    for (listener *l = e->listeners; l; l = l->next_listener)
        if (!l->ending) oldest = l;
    if (!oldest) return;
    oldest->ending = true;
    wake(oldest);
}

struct MHD_Response *events_listen(events *e, struct MHD_Connection *connection) {
    listener *l = calloc(1, sizeof *l);
    if (!l) return NULL;
    l->owner = e;
    l->connection = connection;
    pthread_mutex_lock(&e->lock);
    bool open = !e->closing;
    if (open) {
        if (e->listener_count >= MOST_LISTENERS) end_oldest(e);
        l->next = e->count;
        l->next_listener = e->listeners;
        e->listeners = l;
        e->listener_count++;
    }
    pthread_mutex_unlock(&e->lock);
    if (!open) {
        free(l);
        return NULL;
    }
    struct MHD_Response *response =
        MHD_create_response_from_callback(MHD_SIZE_UNKNOWN, 4 * EVENT_ROOM, give_bytes, l, forget_listener);
    if (!response) forget_listener(l);
    return response;
}
