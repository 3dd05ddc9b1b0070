/* How a long stage reports and is stopped; a missing watch or call does nothing. */
#include <dovetell/settings.h>

void dt_watch_report(const dt_watch *watch, const char *stage, double fraction) {
    if (watch && watch->progress) watch->progress(watch->context, stage, fraction);
}

bool dt_watch_stopped(const dt_watch *watch) {
    return watch && watch->stop && watch->stop(watch->context);
}
