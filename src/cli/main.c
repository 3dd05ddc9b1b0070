/* dovetell: finds the command, reads its options by its tables, runs it. */
#include "commands.h"

#include <dovetell/analysis.h>
#include <stdlib.h>
#include <string.h>

static const command *const commands[] = {
#define COMMAND_ADDRESS(name) &command_##name,
    COMMAND_LIST(COMMAND_ADDRESS)
#undef COMMAND_ADDRESS
};
enum { COMMAND_COUNT = sizeof commands / sizeof *commands };

static const char *command_name_at(const void *context, size_t index) {
    (void)context;
    return commands[index]->name;
}

static const command *find_command(const char *name) {
    for (size_t i = 0; i < COMMAND_COUNT; i++)
        if (strcmp(commands[i]->name, name) == 0) return commands[i];
    return NULL;
}

static void print_help(FILE *out) {
    fputs("dovetell tells the maker of a laser-cut puzzle, before cutting, whether every line cuts free,\n"
          "whether each piece locks and fits in one place only, and how hard the puzzle is.\n\n",
          out);
    for (size_t i = 0; i < COMMAND_COUNT; i++) {
        const command *c = commands[i];
        fprintf(out, "  dovetell %-8s %-25s %s\n", c->name, c->operands, c->summary);
    }
    fputs("\nDRAFT is an SVG drawing of the cut lines, or - for standard input.\n"
          "dovetell COMMAND --help shows the options of a command; dovetell --version the version.\n",
          out);
}

static void print_command_help(const command *c, const void *record) {
    printf("usage: dovetell %s [OPTIONS] %s\n\n%s\n", c->name, c->operands, c->summary);
    if (c->details) printf("\n%s", c->details);
    options_help(c->tables, record, stdout);
}

static int refuse_command(const char *word) {
    const char *meant = nearest_word(word, command_name_at, NULL, COMMAND_COUNT);
    FILE *file = fopen(word, "rb");
    if (file) {
        fclose(file);
        complain("\"%s\" is no command; to rate that draft say: dovetell rate %s", word, word);
    } else if (meant) {
        complain("there is no command \"%s\"; did you mean \"%s\"?", word, meant);
    } else {
        complain("there is no command \"%s\"; dovetell --help lists them all", word);
    }
    return EXIT_TROUBLE;
}

static bool are_operands_right(const command *c, size_t count) {
    if (count < c->least_operands)
        complain("%s needs %s: dovetell %s %s", c->name, count ? "more than one name" : "something to work on", c->name,
                 c->operands);
    else if (count > c->most_operands)
        complain("%s takes %zu %s at a time, not %zu: dovetell %s %s", c->name, c->most_operands,
                 c->most_operands == 1 ? "name" : "names", count, c->name, c->operands);
    return count >= c->least_operands && count <= c->most_operands;
}

static int run_command(const command *c, const char *const *arguments, size_t count) {
    int status = EXIT_TROUBLE;
    parsed line = {NULL, 0, false};
    void *record = malloc(c->record_size);
    if (!record) {
        complain("no memory left");
        return status;
    }
    memcpy(record, c->defaults, c->record_size);
    if (!options_parse(c->tables, record, arguments, count, &line)) goto done;
    if (line.help) {
        print_command_help(c, c->defaults);
        status = EXIT_CLEAN;
    } else if (are_operands_right(c, line.operand_count)) {
        status = c->run(record, line.operands, line.operand_count);
    }
done:
    options_free(c->tables, record);
    free(line.operands);
    free(record);
    return status;
}

static int run(int argc, const char *const *argv) {
    if (argc < 2) {
        print_help(stderr);
        return EXIT_TROUBLE;
    }
    const command *c = find_command(argv[1]);
    if (c) return run_command(c, argv + 2, (size_t)argc - 2);
    if (strcmp(argv[1], "--version") == 0) {
        puts("dovetell " DT_VERSION);
        return EXIT_CLEAN;
    }
    if (strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "-h") == 0 || strcmp(argv[1], "help") == 0) {
        c = argc > 2 ? find_command(argv[2]) : NULL;
        if (c)
            print_command_help(c, c->defaults);
        else
            print_help(stdout);
        return EXIT_CLEAN;
    }
    return refuse_command(argv[1]);
}

int main(int argc, char **argv) {
    int status = run(argc, (const char *const *)argv);
    if (fflush(stdout) != 0 && status != EXIT_TROUBLE) {
        complain("standard output could not be written whole");
        status = EXIT_TROUBLE;
    }
    return status;
}
