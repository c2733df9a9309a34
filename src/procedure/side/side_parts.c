// SPDX-License-Identifier: MIT
#include "procedure/side/side_parts.h"

#include "base/text.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static const DwSidePart *const parts[] = {
    &dw_side_part_speed,    &dw_side_part_channels, &dw_side_part_noise,    &dw_side_part_response,
    &dw_side_part_lowsweep, &dw_side_part_tracking, &dw_side_part_intermod,
};

const DwSidePart *dw_side_part_at(size_t index)
{
    return index < sizeof parts / sizeof *parts ? parts[index] : NULL;
}

bool dw_side_parts_usable(const DwSideWork *work, size_t index)
{
    DwSideVerdict verdict = work->alignment->bands[index].verdict;
    return verdict < DW_SIDE_MISSING && verdict != DW_SIDE_OTHER_CHANNEL;
}

size_t dw_side_parts_longest(const DwSideWork *work, DwSideWanted wanted)
{
    size_t best = work->plan->count;
    double most = 0;
    for (size_t j = 0; j < work->plan->count; j++) {
        const DwBandPlanBand *band = &work->plan->bands[j];
        if (band->broken || !dw_side_parts_usable(work, j) || !wanted(band))
            continue;
        const DwSideBand *found = &work->alignment->bands[j];
        // A lateral band of half the length is worth as much: it drives both channels alike.
        double worth = (found->end_s - found->start_s) * (band->channel == DW_PLAN_LATERAL ? 2 : 1);
        if (worth > most) {
            most = worth;
            best = j;
        }
    }
    return best;
}

void dw_side_parts_hear(const DwSideWork *work, size_t index, double more_s, const DwSideListener *listener, void *user)
{
    const DwSideBand *found = &work->alignment->bands[index];
    dw_side_windows_add(work->windows, listener, user, found->start_s - more_s, found->end_s + more_s);
}

void dw_side_parts_hear_raw(const DwSideWork *work, size_t index, const DwSideListener *listener, void *user)
{
    const DwSideBand *found = &work->alignment->bands[index];
    dw_side_windows_add_raw(work->windows, listener, user, found->start_s, found->end_s);
}

void dw_side_parts_measure_on(const DwSideWork *work, size_t index)
{
    work->measured_by[index] |= 1u << work->part;
}

void dw_side_parts_explain(const DwSideWork *work, const char *key, DwSideWanted wanted, const char *what)
{
    DwText numbers = {0};
    size_t count = 0;
    for (size_t j = 0; j < work->plan->count; j++)
        if (!work->plan->bands[j].broken && wanted(&work->plan->bands[j]) && !dw_side_parts_usable(work, j))
            dw_text_add(&numbers, "%s%u", count++ ? ", " : "", work->plan->bands[j].number);
    if (count == 0)
        dw_sheet_not_measured(work->sheet, key, "the plan has no band of %s.", what);
    else
        dw_sheet_not_measured(work->sheet, key, "band%s %s (%s) %s not found.", count == 1 ? "" : "s", numbers.chars,
                              what, count == 1 ? "was" : "were");
    dw_text_clear(&numbers);
}

static void add_frequency(DwText *text, double hz)
{
    if (hz >= 1000)
        dw_text_add(text, "%.4g kHz", hz / 1000);
    else
        dw_text_add(text, "%.4g Hz", hz);
}

char *dw_side_parts_content(const DwBandPlanBand *band)
{
    DwText text = {0};
    switch (band->kind) {
    case DW_PLAN_TONE:
        add_frequency(&text, band->frequency_hz);
        break;
    case DW_PLAN_STEPS:
        add_frequency(&text, band->frequency_hz);
        dw_text_add(&text, ", %zu steps", band->step_count);
        break;
    case DW_PLAN_SWEEP:
        add_frequency(&text, band->from_hz);
        dw_text_add(&text, " – ");
        add_frequency(&text, band->to_hz);
        break;
    case DW_PLAN_TWO_TONE:
        add_frequency(&text, band->from_hz);
        dw_text_add(&text, " + ");
        add_frequency(&text, band->frequency_hz);
        break;
    case DW_PLAN_SILENCE:
    case DW_PLAN_KINDS:
        dw_text_add(&text, "silent groove");
        break;
    }
    return dw_text_take(&text);
}
