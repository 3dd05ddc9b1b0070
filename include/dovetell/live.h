/* live.h - a page on this computer that shows every draft of a folder and follows each save.
 *
 * The server binds the loopback address only, answers only requests that name it as their host, serves nothing but its
 * own pages and the results of the drafts that lie in the folder itself, and never opens a path that a request names.
 */
#ifndef DOVETELL_LIVE_H
#define DOVETELL_LIVE_H

#include <dovetell/settings.h>
#include <dovetell/status.h>

typedef struct dt_live_options {
    const char *folder;
    unsigned port;               /* 0 = any that is free */
    const dt_settings *settings; /* borrowed until dt_live_stop */
} dt_live_options;

typedef struct dt_live dt_live;

/* Starts serving and watching in threads of their own. DT_CANNOT_READ (no such folder), DT_BAD_ARGUMENT (the port is
 * taken), DT_NO_MEMORY. */
dt_status dt_live_start(const dt_live_options *options, dt_live **out, dt_error *error);
unsigned dt_live_port(const dt_live *live);
/* Ends every connection, waits for the threads and frees all. */
void dt_live_stop(dt_live *live);

#endif
