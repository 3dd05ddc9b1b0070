/* events.h - server-sent events (HTML Living Standard, 9.2): every page that listens hears of every change.
 *
 * A LISTENER is one open connection. Between events its connection is suspended, so that it costs no thread and no
 * time.
 */
#ifndef DOVETELL_LIVE_EVENTS_H
#define DOVETELL_LIVE_EVENTS_H

#include "board.h"
#include <microhttpd.h>
#include <stdint.h>

typedef struct events events;

events *events_new(void);
/* Lets every listener's connection end; call before the server is stopped. */
void events_close(events *e);
void events_free(events *e);

/* Queues an event for all: "draft", "work" or, without a name, "list". */
void events_publish(events *e, const board_news *news);
/* A comment line, so that a connection whose other end is gone is noticed. */
void events_beat(events *e);

/* The answer for a new listener, or NULL when the end has come or memory has run out. Of too many the oldest is let go.
 */
struct MHD_Response *events_listen(events *e, struct MHD_Connection *connection);

#endif
