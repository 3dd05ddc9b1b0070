/* dovetell piece: a cut file of single pieces, to cut a lost one again. Reads only as far as the pieces: no search is
 * run. */
#include "commands.h"
#include "drafts.h"

#include <dovetell/report.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>

typedef struct piece_options {
    draft_options drafts;
    const char *output;
    double grow_mm;
} piece_options;

static const option piece_option_list[] = {
    {"output", 'o', OPTION_TEXT, "FILE.svg", offsetof(piece_options, output), 0, 0,
     "the cut file; - is standard output"},
    {"grow", 0, OPTION_NUMBER, "MM", offsetof(piece_options, grow_mm), 0, DT_GROW_MOST_MM,
     "move every outline outwards by this much; half the kerf gives the size as drawn, a whole kerf a piece without "
     "play in its old place"},
};
static const option_table piece_table = OPTION_TABLE("The cut file:", piece_option_list);

static bool read_number(const char *word, dt_piece_id *out) {
    char *end;
    errno = 0;
    unsigned long value = word[0] >= '0' && word[0] <= '9' ? strtoul(word, &end, 10) : 0;
    if (value == 0 || errno != 0 || *end != '\0' || value >= DT_IN_VOID.v) {
        complain("\"%s\" is no piece number: they count from 1, as dovetell rate --html shows them", word);
        return false;
    }
    *out = (dt_piece_id){(uint32_t)value - 1};
    return true;
}

/* The pieces of a draft, with what they stand on. */
typedef struct loaded {
    dt_drawing *drawing;
    dt_net *net;
    dt_pieces *pieces;
} loaded;

/* False after a complaint. */
static bool load(const char *path, const dt_settings *settings, loaded *out) {
    dt_error error = {0};
    if (dt_drawing_read(path, settings, &out->drawing, &error) != DT_OK) { /* names the file itself */
        complain("%s", error.message);
        return false;
    }
    dt_strokes strokes = dt_drawing_strokes(out->drawing);
    dt_status status = dt_net_new(strokes, settings, &out->net, &error);
    if (status == DT_OK) status = dt_pieces_new(out->net, strokes, settings, &out->pieces, &error);
    if (status != DT_OK) complain("%s: %s", path, error.message);
    return status == DT_OK;
}

static void unload(loaded *draft) {
    dt_pieces_free(draft->pieces);
    dt_net_free(draft->net);
    dt_drawing_free(draft->drawing);
}

static int write_pieces(piece_options *options, const char *path, const dt_piece_id *ids, size_t count) {
    loaded draft = {0};
    dt_error error = {0};
    dt_text text = DT_TEXT_EMPTY;
    int status = EXIT_TROUBLE;
    if (!load(path, draft_settings(&options->drafts), &draft)) goto done;
    if (dt_report_cut_file(draft.pieces, ids, count, options->grow_mm, &text, &error) != DT_OK)
        complain("%s: %s", path, error.message);
    else if (dt_file_write(options->output, text.bytes, text.length, &error) != DT_OK)
        complain("%s", error.message);
    else
        status = EXIT_CLEAN;
done:
    dt_text_free(&text);
    unload(&draft);
    return status;
}

static int run(void *record, const char *const *operands, size_t count) {
    piece_options *options = record;
    if (!options->output) {
        complain("piece needs a file to write: dovetell piece %s %s -o piece.svg", operands[0], operands[1]);
        return EXIT_TROUBLE;
    }
    if (!spares_inputs("--output", options->output, operands, 1)) return EXIT_TROUBLE;
    dt_piece_id *ids = calloc(count, sizeof *ids);
    int status = ids ? EXIT_CLEAN : EXIT_TROUBLE;
    for (size_t i = 1; status == EXIT_CLEAN && i < count; i++)
        if (!read_number(operands[i], &ids[i - 1])) status = EXIT_TROUBLE;
    if (status == EXIT_CLEAN) status = write_pieces(options, operands[0], ids, count - 1);
    free(ids);
    return status;
}

static const piece_options defaults = {.drafts = DRAFT_OPTIONS_DEFAULT};

const command command_piece = {
    .name = "piece",
    .operands = "DRAFT ID... -o FILE.svg",
    .summary = "a cut file of single pieces, to cut a lost one again",
    .details =
        "Pieces are laid out side by side, true size, each a closed line; openings in them lie in a layer\n"
        "\"void\". Try one in scrap first: laser and sheet differ from the day the puzzle was cut. Follow\n"
        "the machine's manual and never leave it alone.\n"
        "Exit status: 0 written, 2 unreadable or bad usage.\n",
    .tables = {&piece_table, &draft_option_table},
    .defaults = &defaults,
    .record_size = sizeof defaults,
    .least_operands = 2,
    .most_operands = SIZE_MAX,
    .run = run,
};
