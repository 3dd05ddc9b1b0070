/* folder_watch.h - waiting until something happens in a folder. */
#ifndef DOVETELL_LIVE_FOLDER_WATCH_H
#define DOVETELL_LIVE_FOLDER_WATCH_H

/* Told of a file in the folder whose save is over: whoever wrote it has closed it, or it was moved there. */
typedef void saved_listener(void *context, const char *name);

/* Waits at most `milliseconds` for a change in the folder, by the system's notices (inotify) where it has them; else it
 * just waits. watch is what folder_watch_new gave (-1 = no notices). wake is the reading end of a pipe that ends the
 * wait early. */
int folder_watch_new(const char *folder);
void folder_watch_wait(int watch, int wake, int milliseconds, saved_listener *listener, void *context);
void folder_watch_free(int watch);

#endif
