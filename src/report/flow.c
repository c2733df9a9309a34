// SPDX-License-Identifier: MIT
#include "report/flow.h"

#include "base/memory.h"

#include <stdlib.h>

DwPiece *dw_flow_add(DwFlow *flow, const DwPieceKind *kind, size_t size, double space)
{
    if (flow->count == flow->rooms) {
        flow->rooms = 2 * flow->rooms + 32;
        flow->pieces = dw_memory_resize(flow->pieces, flow->rooms, sizeof *flow->pieces);
    }
    flow->pieces[flow->count] = (DwPiece){.kind = kind, .content = dw_memory_new(1, size), .space = space, .tag = "P"};
    return &flow->pieces[flow->count++];
}

void dw_flow_clear(DwFlow *flow)
{
    for (size_t i = 0; i < flow->count; i++) {
        flow->pieces[i].kind->clear(flow->pieces[i].content);
        free(flow->pieces[i].content);
        free(flow->pieces[i].alt);
    }
    free(flow->pieces);
    flow->pieces = NULL;
    flow->count = flow->rooms = 0;
}

// The page that is being filled.
typedef struct {
    const DwFlow *flow;
    const double *heights;
    DwPlacement *placements;
    size_t count;
    size_t page;
    double y;
    bool fresh; // nothing stands on it yet
} Filling;

static void put(Filling *filling, size_t piece)
{
    filling->placements[filling->count++] =
        (DwPlacement){piece, filling->page, {0, filling->y, filling->flow->width, filling->heights[piece]}};
    filling->y += filling->heights[piece];
    filling->fresh = false;
}

static void turn_page(Filling *filling)
{
    filling->page++;
    filling->y = 0;
    filling->fresh = true;
}

// What the pieces FROM to TO (past the last) take below what stands already.
static double needed(const Filling *filling, size_t from, size_t to)
{
    double sum = 0;
    for (size_t i = from; i < to; i++) {
        bool at_top = filling->fresh && i == from;
        sum += filling->heights[i] + (at_top ? 0 : filling->flow->pieces[i].space * filling->flow->canvas->em);
    }
    return sum;
}

static void put_below(Filling *filling, size_t piece)
{
    const DwPiece *below = &filling->flow->pieces[piece];
    if (filling->fresh && below->head)
        put(filling, below->head - 1);
    else if (!filling->fresh)
        filling->y += below->space * filling->flow->canvas->em;
    put(filling, piece);
}

// Pieces that belong together move to the next page together; when not even a
// whole page holds them they part.
static void put_group(Filling *filling, size_t from, size_t to)
{
    double room = filling->flow->room;
    if (!filling->fresh && filling->y + needed(filling, from, to) > room)
        turn_page(filling);
    for (size_t i = from; i < to; i++) {
        if (!filling->fresh && filling->y + needed(filling, i, i + 1) > room)
            turn_page(filling);
        put_below(filling, i);
    }
}

// Which pieces stay with the one after them: those that say so, and the first and last rows of a table, so
// that none is parted for one or two of its rows.
static bool *find_joined(const DwFlow *flow)
{
    enum { ROWS_LEAST = 3 };
    bool *joined = dw_memory_new(flow->count + 1, sizeof *joined);
    for (size_t i = 0; i < flow->count; i++)
        joined[i] = flow->pieces[i].with_next;
    for (size_t from = 0, to; from < flow->count; from = to) {
        size_t head = flow->pieces[from].head;
        for (to = from + 1; to < flow->count && flow->pieces[to].head == head; to++)
            ;
        for (size_t row = from; head && row + 1 < to; row++)
            joined[row] = joined[row] || row < from + ROWS_LEAST - 1 || row + ROWS_LEAST >= to;
    }
    return joined;
}

size_t dw_flow_place(const DwFlow *flow, DwPlacement **placements, size_t *pages)
{
    double *heights = dw_memory_new(flow->count + 1, sizeof *heights);
    for (size_t i = 0; i < flow->count; i++)
        heights[i] = flow->pieces[i].kind->height(flow->pieces[i].content, flow->canvas, flow->width);
    // A table head may stand once more above each of its rows at most.
    Filling filling = {.flow = flow, .heights = heights, .fresh = true};
    bool *joined = find_joined(flow);
    filling.placements = dw_memory_new(2 * flow->count + 1, sizeof *filling.placements);
    for (size_t from = 0, to; from < flow->count; from = to) {
        for (to = from + 1; to < flow->count && joined[to - 1]; to++)
            ;
        if (flow->pieces[from].new_page && !filling.fresh)
            turn_page(&filling);
        put_group(&filling, from, to);
    }
    free(joined);
    free(heights);
    *placements = filling.placements;
    *pages = filling.page + 1;
    return filling.count;
}
