/* Thousands of real drawings: the SVG files of Debian's adwaita-icon-theme and breeze-icon-theme. All are read without
 * a crash; a seeded sample, and every one with strokes, agrees with librsvg in pixels. Icons are mostly filled shapes:
 * then the area that they cover is compared. The packages are installed when they are missing, which is said. */
#define _XOPEN_SOURCE 700 /* nftw */
#include <check.h>
#include "pixels.h"
#include "draft.h"

#include <dovetell/text.h>
#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { MOST_FILES = 60000, SAMPLE = 1500 };

static const struct theme {
    const char *package, *folder;
    size_t least; /* files that it has at the least, so that an empty folder is no success */
} themes[] = {{"adwaita-icon-theme", "/usr/share/icons/Adwaita", 500},
              {"breeze-icon-theme", "/usr/share/icons/breeze", 3000}};

static char *files[MOST_FILES];
static size_t file_count;

static int remember(const char *path, const struct stat *facts, int kind, struct FTW *where) {
    (void)facts, (void)where;
    size_t length = strlen(path);
    bool is_svg = kind == FTW_F && length > 4 && strcmp(path + length - 4, ".svg") == 0;
    if (is_svg && file_count < MOST_FILES) files[file_count++] = strdup(path);
    return 0;
}

static int by_name(const void *a, const void *b) {
    return strcmp(*(char *const *)a, *(char *const *)b);
}

static void find_files(const struct theme *t) {
    if (access(t->folder, R_OK) != 0) {
        char command[256];
        printf("installing %s with apt-get\n", t->package);
        snprintf(command, sizeof command, "%s apt-get install -y -qq --no-install-recommends %s >/dev/null",
                 geteuid() == 0 ? "" : "sudo", t->package);
        ck_assert_msg(system(command) == 0, "%s cannot be installed: install it by hand", t->package);
    }
    file_count = 0;
    nftw(t->folder, remember, 32, FTW_PHYS);
    qsort(files, file_count, sizeof *files, by_name);
    ck_assert_uint_ge(file_count, t->least);
}

static void forget_files(void) {
    for (size_t i = 0; i < file_count; i++) free(files[i]);
    file_count = 0;
}

static dt_drawing *read_file(const char *path, dt_error *error) {
    const dt_settings settings = DT_SETTINGS_DEFAULT;
    dt_drawing *drawing = NULL;
    dt_status status = dt_drawing_read(path, &settings, &drawing, error);
    ck_assert_msg(status == DT_OK || status == DT_NO_LINES, "%s", error->message);
    return drawing;
}

static bool has_note(const dt_drawing *d, const char *part) {
    for (size_t i = 0; i < dt_drawing_note_count(d); i++)
        if (strstr(dt_drawing_note(d, i).text, part)) return true;
    return false;
}

/* Can it be compared: nothing clipped, dashed, blurred, faded out, or shown that is no shape? */
static bool is_plain(const dt_drawing *d, const char *text) {
    return !has_note(d, "clipped") && !has_note(d, "dashed") && !has_note(d, "cannot be cut") &&
           !strstr(text, "filter") && !strstr(text, "stop-opacity") && dt_drawing_width(d) > 0.0 &&
           dt_drawing_height(d) > 0.0;
}

typedef struct tally {
    size_t read, without_lines, areas, lines, agreed;
} tally;

/* Drawings of filled shapes agree when less than 0.5 % of the covered pixels (or 4) have nothing of the other rendering
 * within a pixel; drawings with strokes when the same holds of our lines, drawn a pixel wide, against what librsvg
 * paints. */
static void compare(const char *path, const dt_drawing *d, tally *t) {
    char *bytes;
    size_t count;
    ck_assert_int_eq(dt_file_read(path, 1 << 24, &bytes, &count, NULL), DT_OK);
    if (is_plain(d, bytes)) {
        const bool areas = has_note(d, "outlines of the filled shapes");
        const double scale = 200.0 / (dt_drawing_width(d) + dt_drawing_height(d)) * 2.0;
        const pixels_setup setup = {scale, 1.0, areas, NULL};
        pixels_difference found = {0};
        ck_assert_msg(pixels_compare(bytes, count, d, &setup, &found), "%s: librsvg cannot render it", path);
        size_t allowed = 4 + found.covered / 200;
        bool agrees = (!areas || found.missing <= allowed) && found.extra <= allowed;
        t->areas += areas;
        t->lines += !areas;
        t->agreed += agrees;
        if (!agrees)
            fprintf(stderr, "differs: %s (%zu missing, %zu extra of %zu)\n", path, found.missing, found.extra,
                    found.covered);
    }
    free(bytes);
}

START_TEST(icons) {
    const struct theme *theme = &themes[_i];
    find_files(theme);
    tally t = {0};
    uint64_t state = 2024;
    double share = (double)SAMPLE / (double)file_count;
    for (size_t i = 0; i < file_count; i++) {
        dt_error error = {0};
        dt_drawing *d = read_file(files[i], &error);
        t.read++;
        t.without_lines += d == NULL;
        bool chosen = draft_random(&state) < share;
        if (d && (chosen || !has_note(d, "outlines of the filled shapes"))) compare(files[i], d, &t);
        dt_drawing_free(d);
    }
    printf("%s: %zu drawings read, %zu of them without lines; compared with librsvg: %zu by area, %zu by line, %zu "
           "agree\n",
           theme->package, t.read, t.without_lines, t.areas, t.lines, t.agreed);
    forget_files();
    ck_assert_uint_ge(t.areas, 100);
    ck_assert_uint_eq(t.agreed, t.areas + t.lines);
}
END_TEST

Suite *suite_drawing_icons(void);
Suite *suite_drawing_icons(void) {
    Suite *suite = suite_create("drawing_icons");
    TCase *tests = tcase_create("icons");
    tcase_add_loop_test(tests, icons, 0, sizeof themes / sizeof themes[0]);
    suite_add_tcase(suite, tests);
    return suite;
}
