/* Waiting for changes in a folder. Notices only shorten the wait: the folder is looked through afterwards in any case,
 * so a notice that is lost, or a system without them, costs time and nothing else. */
#include "folder_watch.h"

#include <poll.h>
#include <unistd.h>

#ifdef __linux__
#include <sys/inotify.h>

int folder_watch_new(const char *folder) {
    int watch = inotify_init1(IN_NONBLOCK | IN_CLOEXEC);
    if (watch < 0) return -1;
    const unsigned events =
        IN_CLOSE_WRITE | IN_MOVED_TO | IN_MOVED_FROM | IN_DELETE | IN_CREATE | IN_DELETE_SELF | IN_MOVE_SELF;
    if (inotify_add_watch(watch, folder, events) >= 0) return watch;
    close(watch);
    return -1;
}

static void read_notices(int watch, saved_listener *listener, void *context) {
    union {
        struct inotify_event first;
        char bytes[8192];
    } block;
    for (ssize_t got; (got = read(watch, block.bytes, sizeof block)) > 0;)
        for (const char *at = block.bytes; at < block.bytes + got;) {
            const struct inotify_event *event = (const void *)at;
            if (event->len && event->mask & (IN_CLOSE_WRITE | IN_MOVED_TO)) listener(context, event->name);
            at += sizeof *event + event->len;
        }
}
#else
int folder_watch_new(const char *folder) {
    (void)folder;
    return -1;
}

static void read_notices(int watch, saved_listener *listener, void *context) {
    (void)watch, (void)listener, (void)context;
}
#endif

static void drain(int descriptor) {
    char block[64];
    while (read(descriptor, block, sizeof block) > 0) continue;
}

void folder_watch_wait(int watch, int wake, int milliseconds, saved_listener *listener, void *context) {
    struct pollfd list[2] = {{.fd = wake, .events = POLLIN}, {.fd = watch, .events = POLLIN}};
    if (poll(list, watch < 0 ? 1 : 2, milliseconds) <= 0) return;
    if (list[0].revents) drain(wake);
    if (watch >= 0 && list[1].revents) read_notices(watch, listener, context);
}

void folder_watch_free(int watch) {
    if (watch >= 0) close(watch);
}
