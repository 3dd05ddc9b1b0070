/* What a witness of another assembly says in words (words.h). Pieces that keep together on their way are a BLOCK; most
 * witnesses are one block turned in its place, or two that take each other's. */
#include "report/words.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>

enum {
    MOST_NAMED = 8,
    MOST_SOUGHT = 64 /* blocks are sought among so many pieces: the work grows with the third power */
};
/* Two pieces keep together when each would come to lie so near where the other's motion brings it: the play and a
 * little. */
static const double TOGETHER_MM = 1.0;

static unsigned number(dt_piece_id id) {
    return id.v + 1;
}

static dt_point middle(const dt_analysis *analysis, const dt_move *move) {
    return dt_pieces_get(dt_analysis_pieces(analysis), move->piece)->inside;
}

static bool keep_together(const dt_analysis *analysis, const dt_move *a, const dt_move *b) {
    if (a->pose.flipped != b->pose.flipped) return false;
    dt_point p = middle(analysis, a), q = middle(analysis, b);
    return dt_point_distance(dt_pose_apply(a->pose, p), dt_pose_apply(b->pose, p)) <= TOGETHER_MM &&
           dt_point_distance(dt_pose_apply(a->pose, q), dt_pose_apply(b->pose, q)) <= TOGETHER_MM;
}

/* The block of each move, numbered from 0 as they come: neighbours that keep together. *count: how many there are. */
static void find_blocks(const dt_analysis *analysis, size_t *block, size_t *count) {
    const dt_assembly *assembly = dt_analysis_assembly(analysis);
    const dt_graph *graph = dt_analysis_graph(analysis);
    const dt_move *moves = assembly->other;
    *count = 0;
    for (size_t i = 0; i < assembly->other_count; i++) block[i] = SIZE_MAX;
    for (size_t start = 0; start < assembly->other_count; start++) {
        if (block[start] != SIZE_MAX) continue;
        block[start] = *count;
        for (bool grew = true; grew;) {
            grew = false;
            for (size_t i = 0; i < assembly->other_count; i++)
                for (size_t k = 0; k < assembly->other_count && block[i] == *count; k++) {
                    if (block[k] != SIZE_MAX || dt_graph_find(graph, moves[i].piece, moves[k].piece) == SIZE_MAX)
                        continue;
                    if (!keep_together(analysis, &moves[i], &moves[k])) continue;
                    block[k] = *count;
                    grew = true;
                }
        }
        ++*count;
    }
}

/* Does the move bring the piece onto the drawn place of one of that block? */
static bool goes_to(const dt_analysis *analysis, const dt_move *move, const size_t *block, size_t wanted) {
    const dt_assembly *assembly = dt_analysis_assembly(analysis);
    dt_point at = dt_pose_apply(move->pose, middle(analysis, move));
    for (size_t i = 0; i < assembly->other_count; i++) {
        if (block[i] != wanted) continue;
        if (dt_path_contains(dt_pieces_get(dt_analysis_pieces(analysis), assembly->other[i].piece)->outline, at))
            return true;
    }
    return false;
}

static bool trade_places(const dt_analysis *analysis, const size_t *block) {
    const dt_assembly *assembly = dt_analysis_assembly(analysis);
    for (size_t i = 0; i < assembly->other_count; i++)
        if (!goes_to(analysis, &assembly->other[i], block, 1 - block[i])) return false;
    return true;
}

/* "pieces 3, 5 and 8": those of the moves whose `of` is `wanted`. */
static void add_pieces(dt_text *out, const dt_assembly *assembly, const size_t *of, size_t wanted) {
    size_t count = 0, named = 0;
    for (size_t i = 0; i < assembly->other_count; i++) count += of[i] == wanted;
    dt_text_add(out, count == 1 ? "piece " : "pieces ");
    for (size_t i = 0; i < assembly->other_count && named < MOST_NAMED; i++) {
        if (of[i] != wanted) continue;
        const char *join = named == 0 ? "" : named + 1 == count ? " and " : ", ";
        dt_text_addf(out, "%s%u", join, number(assembly->other[i].piece));
        named++;
    }
    if (count > named) dt_text_addf(out, " and %zu more", count - named);
}

static size_t count_flipped(const dt_assembly *assembly) {
    size_t flipped = 0;
    for (size_t i = 0; i < assembly->other_count; i++) flipped += assembly->other[i].pose.flipped;
    return flipped;
}

static void add_flips(dt_text *out, const dt_assembly *assembly, size_t *of) {
    size_t flipped = count_flipped(assembly);
    if (flipped == assembly->other_count) {
        dt_text_add(out, ", turned over");
    } else if (flipped > 0) {
        for (size_t i = 0; i < assembly->other_count; i++) of[i] = assembly->other[i].pose.flipped;
        dt_text_add(out, ", ");
        add_pieces(out, assembly, of, 1);
        dt_text_add(out, " turned over");
    }
}

static void add_sentence(dt_text *out, const dt_analysis *analysis, size_t *block) {
    const dt_assembly *assembly = dt_analysis_assembly(analysis);
    size_t count = assembly->other_count, blocks;
    if (count <= MOST_SOUGHT)
        find_blocks(analysis, block, &blocks);
    else
        blocks = count;
    if (blocks == 2 && count > 2 && trade_places(analysis, block)) {
        size_t first = 0, second;
        for (size_t i = 0; i < count; i++) first += block[i] == 0;
        second = count - first;
        add_pieces(out, assembly, block, 0);
        dt_text_add(out, first == 1 ? " fits where " : " together fit where ");
        add_pieces(out, assembly, block, 1);
        dt_text_add(out, second == 1 ? " lies, and the other way round" : " lie, and the other way round");
        add_flips(out, assembly, block);
        return;
    }
    size_t flipped = count_flipped(assembly);
    for (size_t i = 0; i < count; i++) block[i] = 0;
    if (count > MOST_NAMED && count == dt_pieces_count(dt_analysis_pieces(analysis)))
        dt_text_addf(out, "all %zu pieces", count);
    else
        add_pieces(out, assembly, block, 0);
    if (blocks == 1 && count > 1) {
        dt_text_add(out,
                    flipped ? " can be turned over together in their place" : " can be turned together in their place");
        return;
    }
    dt_text_add(out, count == 1 ? " can lie another way" : " can trade places");
    add_flips(out, assembly, block);
}

void words_witness(dt_text *out, const dt_analysis *analysis) {
    size_t count = dt_analysis_assembly(analysis)->other_count, start = out->length;
    if (count == 0) return;
    size_t *block = malloc(count * sizeof *block);
    if (!block) {
        out->failed = true;
        return;
    }
    add_sentence(out, analysis, block);
    if (!out->failed) out->bytes[start] = (char)toupper((unsigned char)out->bytes[start]);
    dt_text_add(out, ".");
    free(block);
}
