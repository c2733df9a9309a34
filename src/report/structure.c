// SPDX-License-Identifier: MIT
#include "report/structure.h"

#include "base/memory.h"

#include <string.h>

static void end_tag(DwStructure *structure)
{
    if (structure->tag)
        cairo_tag_end(structure->cairo, structure->tag);
    structure->tag = NULL;
}

static void end_within(DwStructure *structure)
{
    end_tag(structure);
    if (structure->within)
        cairo_tag_end(structure->cairo, structure->within);
    structure->within = NULL;
}

void dw_structure_pause(DwStructure *structure)
{
    end_within(structure);
}

// What stands at a page's foot belongs to nothing: everything ends with its page, and a table begins again with its
// head.
void dw_structure_end_page(DwStructure *structure)
{
    end_within(structure);
}

void dw_structure_begin_piece(DwStructure *structure, const DwFlow *flow, size_t index)
{
    const DwPiece *piece = &flow->pieces[index];
    if (!structure->cairo)
        return;
    bool is_table = piece->within && strcmp(piece->within, "Table") == 0;
    size_t table = !is_table ? 0 : piece->head ? piece->head : index + 1;
    bool same = piece->within && structure->within && strcmp(piece->within, structure->within) == 0 &&
                table == structure->table;
    if (piece->goes_on && structure->tag)
        return;
    if (same)
        end_tag(structure);
    else {
        end_within(structure);
        if (piece->within)
            cairo_tag_begin(structure->cairo, piece->within, NULL);
        structure->within = piece->within;
        structure->table = table;
    }
    cairo_tag_begin(structure->cairo, piece->tag, NULL);
    structure->tag = piece->tag;
    if (strcmp(piece->tag, "Figure") == 0) {
        structure->alts = dw_memory_resize(structure->alts, structure->alt_count + 1, sizeof *structure->alts);
        structure->alts[structure->alt_count++] = piece->alt ? piece->alt : "";
    }
}
