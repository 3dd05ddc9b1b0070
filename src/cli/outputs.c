/* The files that `rate` and `check` write beside (drafts.h). Each is made in memory and written whole or not at all.
 * JSON Lines stream to standard output draft by draft; into a file they go together at the end. */
#include "commands.h"
#include "drafts.h"

#include <dovetell/report.h>
#include <string.h>
#include <sys/stat.h>

typedef struct form {
    const char *option;
    const char *file;
    dt_status (*write)(const dt_analysis *analysis, dt_text *out);
} form;

enum { FORMS = 3 };

/* The forms of which each draft has its own file. */
static void list_forms(const draft_options *options, form forms[FORMS]) {
    forms[0] = (form){"--html", options->html, dt_report_html};
    forms[1] = (form){"--svg", options->svg, dt_report_svg};
    forms[2] = (form){"--csv", options->csv, dt_report_csv};
}

static bool is_stdout(const char *file) {
    return file && strcmp(file, "-") == 0;
}

static bool is_same_file(const char *a, const char *b) {
    struct stat first, second;
    return stat(a, &first) == 0 && stat(b, &second) == 0 && first.st_dev == second.st_dev &&
           first.st_ino == second.st_ino;
}

/* The draft's name without folder and ending, "standard-input" for "-". */
static void add_stem(dt_text *out, const char *path) {
    if (strcmp(path, "-") == 0) {
        dt_text_add(out, "standard-input");
        return;
    }
    const char *slash = strrchr(path, '/'), *name = slash ? slash + 1 : path;
    const char *dot = strrchr(name, '.');
    dt_text_add_bytes(out, name, dot && dot != name ? (size_t)(dot - name) : strlen(name));
}

static void add_file_name(dt_text *out, const char *pattern, const char *draft) {
    for (const char *c = pattern; *c; c++) {
        if (*c == '%')
            add_stem(out, draft);
        else
            dt_text_add_bytes(out, c, 1);
    }
}

bool spares_inputs(const char *what, const char *file, const char *const *inputs, size_t count) {
    for (size_t i = 0; i < count; i++) {
        if (!file || is_stdout(file) || is_stdout(inputs[i]) || !is_same_file(file, inputs[i])) continue;
        complain("%s would write over \"%s\", which is read here; name another file", what, inputs[i]);
        return false;
    }
    return true;
}

/* Two drafts of the same name in different folders would be written to one file. */
static bool are_names_distinct(const outputs *out, const form *f) {
    dt_text name = DT_TEXT_EMPTY, other = DT_TEXT_EMPTY;
    bool distinct = true;
    for (size_t i = 0; i < out->count && distinct; i++)
        for (size_t j = 0; j < i && distinct; j++) {
            dt_text_free(&name);
            dt_text_free(&other);
            add_file_name(&name, f->file, out->paths[i]);
            add_file_name(&other, f->file, out->paths[j]);
            if (name.failed || other.failed || strcmp(name.bytes, other.bytes) != 0) continue;
            complain("%s: \"%s\" and \"%s\" would both be written to \"%s\"", f->option, out->paths[j], out->paths[i],
                     name.bytes);
            distinct = false;
        }
    dt_text_free(&name);
    dt_text_free(&other);
    return distinct;
}

static bool is_form_right(const outputs *out, const form *f) {
    if (!f->file) return true;
    if (out->count > 1 && (is_stdout(f->file) || !strchr(f->file, '%'))) {
        complain("%s \"%s\" is one file for %zu drafts; put a %% where each draft's name shall stand, as in %s "
                 "\"%%.%s\"",
                 f->option, f->file, out->count, f->option, f->option + strlen("--"));
        return false;
    }
    if (!are_names_distinct(out, f)) return false;
    bool spared = true;
    for (size_t i = 0; i < out->count && spared && !is_stdout(f->file); i++) {
        dt_text name = DT_TEXT_EMPTY;
        add_file_name(&name, f->file, out->paths[i]);
        spared = !name.failed && spares_inputs(f->option, name.bytes, out->paths, out->count);
        dt_text_free(&name);
    }
    return spared;
}

bool outputs_begin(outputs *out, const draft_options *options, const char *const *paths, size_t count) {
    form forms[FORMS];
    list_forms(options, forms);
    *out = (outputs){options, paths, count, is_stdout(options->json), DT_TEXT_EMPTY};
    for (size_t i = 0; i < FORMS; i++) {
        if (is_stdout(forms[i].file) && out->takes_stdout) {
            complain("only one file can be \"-\", standard output; name a file for %s", forms[i].option);
            return false;
        }
        out->takes_stdout |= is_stdout(forms[i].file);
        if (!is_form_right(out, &forms[i])) return false;
    }
    return spares_inputs("--json", options->json, paths, count);
}

static int write_bytes(const char *file, const dt_text *text) {
    dt_error error = {0};
    if (dt_file_write(file, text->bytes, text->length, &error) == DT_OK) return EXIT_CLEAN;
    complain("%s", error.message);
    return EXIT_TROUBLE;
}

static int write_form(const form *f, const dt_analysis *analysis) {
    int result = EXIT_TROUBLE;
    dt_text text = DT_TEXT_EMPTY, name = DT_TEXT_EMPTY;
    dt_status status = f->write(analysis, &text);
    add_file_name(&name, f->file, dt_analysis_file(analysis));
    if (status != DT_OK || text.failed || name.failed)
        complain("%s: %s", f->option, dt_status_text(status == DT_OK ? DT_NO_MEMORY : status));
    else
        result = write_bytes(name.bytes, &text);
    dt_text_free(&text);
    dt_text_free(&name);
    return result;
}

static int add_json(outputs *out, const dt_analysis *analysis) {
    dt_status status = dt_report_json(analysis, &out->json);
    if (status != DT_OK || out->json.failed) {
        complain("--json: %s", dt_status_text(status == DT_OK ? DT_NO_MEMORY : status));
        return EXIT_TROUBLE;
    }
    if (!is_stdout(out->options->json)) return EXIT_CLEAN;
    int result = write_bytes("-", &out->json);
    dt_text_free(&out->json);
    return result;
}

int outputs_write(outputs *out, const dt_analysis *analysis) {
    form forms[FORMS];
    list_forms(out->options, forms);
    int worst = out->options->json ? add_json(out, analysis) : EXIT_CLEAN;
    for (size_t i = 0; i < FORMS; i++) {
        int status = forms[i].file ? write_form(&forms[i], analysis) : EXIT_CLEAN;
        if (status > worst) worst = status;
    }
    return worst;
}

int outputs_end(outputs *out) {
    int status = EXIT_CLEAN;
    if (out->json.length > 0) status = write_bytes(out->options->json, &out->json);
    dt_text_free(&out->json);
    return status;
}

/* ---- words and files of several drafts ---- */

typedef struct printing {
    outputs files;
    const draft_words *how;
    size_t shown;
} printing;

static int print_draft(void *context, const dt_analysis *analysis) {
    printing *p = context;
    int status = outputs_write(&p->files, analysis);
    if (!p->files.takes_stdout) {
        dt_text text = DT_TEXT_EMPTY;
        if (p->how->apart && p->shown++ > 0) dt_text_add(&text, "\n");
        p->how->words(analysis, &text);
        if (text.failed) {
            complain("no memory left");
            status = EXIT_TROUBLE;
        } else {
            fwrite(text.bytes, 1, text.length, stdout);
        }
        dt_text_free(&text);
    }
    return status == EXIT_CLEAN && p->how->status ? p->how->status(analysis) : status;
}

int print_drafts(draft_options *options, const char *const *paths, size_t count, const draft_words *how) {
    printing p = {.how = how};
    if (!outputs_begin(&p.files, options, paths, count)) return EXIT_TROUBLE;
    int status = each_draft(options, paths, count, print_draft, &p);
    int ending = outputs_end(&p.files);
    return ending > status ? ending : status;
}
