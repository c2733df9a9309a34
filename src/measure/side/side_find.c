// SPDX-License-Identifier: MIT
#include "measure/side/side_find.h"

#include "measure/side/side_align.h"

static const double CLEARLY = 0.05; // better than both channels together

static void align(DwSideFinder *finder, DwSideView view, const DwBandPlan *plan, bool mono, DwSideAlignment *alignment)
{
    size_t count;
    dw_side_finder_look(finder, view);
    const DwSideSegment *segments = dw_side_finder_segments(finder, &count);
    dw_side_align(segments, count, plan, mono, alignment);
}

void dw_side_count(DwSideAlignment *alignment)
{
    alignment->found = alignment->missing = 0;
    for (size_t j = 0; j < alignment->count; j++)
        *(alignment->bands[j].verdict < DW_SIDE_MISSING ? &alignment->found : &alignment->missing) += 1;
}

void dw_side_find(DwSideFinder *finder, const DwBandPlan *plan, bool mono, DwSideAlignment *alignment)
{
    DwSideView best = DW_SIDE_BOTH_CHANNELS;
    align(finder, best, plan, mono, alignment);
    double most = alignment->score + CLEARLY;
    for (int view = DW_SIDE_LEFT_ALONE; view < DW_SIDE_VIEWS && !mono; view++) {
        DwSideAlignment other;
        align(finder, (DwSideView)view, plan, mono, &other);
        if (other.score > most) {
            most = other.score;
            best = (DwSideView)view;
        }
        dw_side_alignment_clear(&other);
    }
    dw_side_alignment_clear(alignment);
    align(finder, best, plan, mono, alignment);
    alignment->view = best;
    dw_side_tell_leaks(finder, plan, alignment);
    dw_side_settle(finder, plan, mono, alignment);
    dw_side_count(alignment);
}
