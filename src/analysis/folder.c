/* The drafts of a folder, by name; and the folder where results of this user are stored. */
#include <dovetell/shelf.h>

#include "base/array.h"
#include <dirent.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>

static bool is_draft_name(const char *name) {
    const char *end = strrchr(name, '.');
    return name[0] != '.' && end && (strcasecmp(end, ".svg") == 0 || strcasecmp(end, ".svgz") == 0);
}

static int compare_names(const void *a, const void *b) {
    return strcmp(*(char *const *)a, *(char *const *)b);
}

void dt_draft_list_free(char **files, size_t count) {
    for (size_t i = 0; i < count; i++) free(files[i]);
    free(files);
}

static char *joined(const char *folder, const char *name) {
    dt_text text = DT_TEXT_EMPTY;
    size_t length = strlen(folder);
    dt_text_addf(&text, "%s%s%s", folder, length && folder[length - 1] == '/' ? "" : "/", name);
    return text.failed ? NULL : text.bytes;
}

typedef DT_ARRAY(char *) names;

static dt_status list_folder(const char *path, DIR *folder, names *list) {
    for (struct dirent *entry; (entry = readdir(folder));) {
        if (!is_draft_name(entry->d_name)) continue;
        char *name = joined(path, entry->d_name);
        struct stat facts;
        if (!name || !dt_array_reserve(list, 1)) {
            free(name);
            return DT_NO_MEMORY;
        }
        if (stat(name, &facts) == 0 && S_ISREG(facts.st_mode))
            list->items[list->count++] = name;
        else
            free(name);
    }
    if (list->count) qsort(list->items, list->count, sizeof(char *), compare_names);
    return DT_OK;
}

dt_status dt_draft_list(const char *path, char ***files, size_t *count, dt_error *error) {
    names list = {0};
    DIR *folder = opendir(path);
    dt_status status = DT_OK;
    if (folder) {
        status = list_folder(path, folder, &list);
        closedir(folder);
    } else if (errno == ENOTDIR) {
        char *itself = strdup(path);
        if (!itself || !dt_array_push(&list, itself)) status = DT_NO_MEMORY;
    } else {
        return dt_fail(error, DT_CANNOT_READ, "\"%s\" cannot be opened: %s; check the name", path, strerror(errno));
    }
    if (status != DT_OK) {
        dt_draft_list_free(list.items, list.count);
        return dt_fail(error, status, "no memory left to list \"%s\"", path);
    }
    *files = list.items;
    *count = list.count;
    return DT_OK;
}

char *dt_shelf_default_store(void) {
    const char *cache = getenv("XDG_CACHE_HOME"), *home = getenv("HOME");
    if (cache && cache[0] == '/') return joined(cache, "dovetell");
    return home && home[0] == '/' ? joined(home, ".cache/dovetell") : NULL;
}
