// SPDX-License-Identifier: MIT
// A side's own part of its sheet: what was found where, and what was amiss.
#include "base/plan/side_measured.h"
#include "base/text.h"
#include "measure/side/side_match.h"
#include "procedure/side/side_parts.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double OTHER_SPEED = 0.1; // of the speed ratio: this is no error of speed
static const double WORTH_SAYING_S = 4;
static const double MAINS_OFF = 0.02, MAINS_MOST_HZ = 310; // of a harmonic's number; what is looked at

static void add_counts(const DwSideWork *work)
{
    DwSheet *sheet = work->sheet;
    char method[60];
    snprintf(method, sizeof method, "of the %zu bands planned", work->plan->count);
    dw_sheet_add_estimate(sheet, "side.found", "Bands found", (double)work->alignment->found, "", 0, NAN, method);
    DwReading *missing = dw_sheet_add_estimate(sheet, "side.missing", "Bands missing", (double)work->alignment->missing,
                                               "", 0, NAN, method);
    missing->flags |= work->alignment->missing ? DW_FLAG_GAPS : 0;
}

static void add_table(const DwSideWork *work)
{
    static const char *const columns[] = {"band|Band||0",
                                          "kind|Kind||",
                                          "channel|Channel||",
                                          "content|Content||",
                                          "start|From|s|2",
                                          "end|To|s|2",
                                          "verdict|Verdict||",
                                          "measured|Measured on it||",
                                          NULL};
    DwTable *table = dw_sheet_add_table(work->sheet, "side.bands", "Bands of the side", columns);
    for (size_t j = 0; j < work->plan->count; j++) {
        const DwBandPlanBand *band = &work->plan->bands[j];
        const DwSideBand *found = &work->alignment->bands[j];
        size_t row = dw_table_add_row(table);
        dw_table_set_number(table, row, 0, band->number);
        dw_table_set_word(table, row, 6, dw_side_verdict_word(found->verdict));
        if (band->broken)
            continue;
        char *content = dw_side_parts_content(band);
        dw_table_set_word(table, row, 1, dw_band_plan_kind_word(band->kind));
        if (band->kind != DW_PLAN_SILENCE)
            dw_table_set_word(table, row, 2, dw_band_plan_channel_word(band->channel));
        dw_table_set_word(table, row, 3, content);
        dw_table_set_number(table, row, 4, found->start_s);
        dw_table_set_number(table, row, 5, found->end_s);
        free(content);
    }
}

static void add_measured(DwTable *table, size_t row, size_t column, const DwSheet *own)
{
    const char *word = dw_table_cell(table, row, column)->word;
    DwText text = {0};
    dw_text_add(&text, "%s", word ? word : "");
    for (size_t i = 0; i < own->reading_count; i++) {
        const char *more = dw_side_measured_word(own->readings[i].key);
        if (more && !dw_side_measured_lists(text.chars, more))
            dw_text_add(&text, "%s%s", text.length ? ", " : "", more);
    }
    if (text.length)
        dw_table_set_word(table, row, column, text.chars);
    dw_text_clear(&text);
}

void dw_side_sheet_say_measured(const DwSideWork *work, unsigned part, const DwSheet *own)
{
    for (size_t t = 0; t < work->sheet->table_count; t++) {
        DwTable *table = &work->sheet->tables[t];
        for (size_t j = 0; j < work->plan->count && strcmp(table->key, "side.bands") == 0; j++)
            if (work->measured_by[j] >> part & 1)
                add_measured(table, j, table->column_count - 1, own);
    }
}

// The second at which the band at INDEX would lie, by the last band found.
static double expected_s(const DwSideWork *work, size_t index)
{
    size_t last = work->plan->count;
    for (size_t j = 0; j < work->plan->count; j++)
        if (work->alignment->bands[j].verdict < DW_SIDE_MISSING)
            last = j;
    if (last >= index) // none found, or it lies amid those that were
        return NAN;
    double from_s = dw_band_plan_start_s(work->plan, last) + work->plan->bands[last].length_s;
    return work->alignment->bands[last].end_s + (dw_band_plan_start_s(work->plan, index) - from_s) / work->ratio;
}

static void say_missing(const DwSideWork *work, size_t index, const char *key, double end_s)
{
    const DwBandPlanBand *band = &work->plan->bands[index];
    const char *why =
        expected_s(work, index) > end_s - 1 ? "the recording ends before it" : "nothing on the recording fits it";
    char *content = dw_side_parts_content(band);
    if (band->kind == DW_PLAN_SILENCE)
        dw_sheet_not_measured(work->sheet, key, "%s: %s.", content, why);
    else
        dw_sheet_not_measured(work->sheet, key, "%s %s, %s: %s.", dw_band_plan_channel_word(band->channel),
                              dw_band_plan_kind_word(band->kind), content, why);
    free(content);
}

// A line for each band that could not be found, with what it was to hold.
static void list_missing(const DwSideWork *work, double end_s)
{
    for (size_t j = 0; j < work->plan->count; j++) {
        char key[40];
        snprintf(key, sizeof key, "band %u", work->plan->bands[j].number);
        if (work->alignment->bands[j].verdict == DW_SIDE_UNUSABLE)
            dw_sheet_not_measured(work->sheet, key, "its plan is broken; 'deckwright plan check' says where.");
        if (work->alignment->bands[j].verdict == DW_SIDE_MISSING)
            say_missing(work, j, key, end_s);
    }
}

static void remark_speed(const DwSideWork *work)
{
    double ratio = work->alignment->speed_ratio;
    if (isnan(ratio))
        dw_sheet_remark(work->sheet, "No tone of the plan tells the speed; times are by the nominal one.");
    else if (fabs(ratio - 1) > OTHER_SPEED)
        dw_sheet_remark(
            work->sheet,
            "The side runs %.3f times as fast as planned: %.4g rpm, not %.4g. Times and tones are read by that.", ratio,
            ratio * work->speed_rpm, work->speed_rpm);
}

// Whether between the bands CHANNEL of the recording (0 left) holds a steady tone of the mains by itself.
static bool hums_between(const DwSideWork *work, size_t channel)
{
    size_t count;
    const DwSideSegment *segments = dw_side_finder_segments(work->finder, &count);
    for (size_t i = 0; i < count; i++) {
        double hz = segments[i].kind == DW_PLAN_TWO_TONE ? segments[i].from_hz : segments[i].frequency_hz;
        bool mains = fabs(hz / 50 - round(hz / 50)) < MAINS_OFF || fabs(hz / 60 - round(hz / 60)) < MAINS_OFF;
        if (!work->alignment->used[i] && hz < MAINS_MOST_HZ && mains &&
            segments[i].channel == (channel ? DW_PLAN_RIGHT : DW_PLAN_LEFT))
            return true;
    }
    return false;
}

// Whether a band cut for any of the CHANNELS from FIRST to LAST was heard.
static bool is_heard(const DwSideWork *work, DwPlanChannel first, DwPlanChannel last)
{
    for (size_t j = 0; j < work->plan->count; j++) {
        const DwBandPlanBand *band = &work->plan->bands[j];
        if (!band->broken && band->kind != DW_PLAN_SILENCE && band->channel >= first && band->channel <= last &&
            dw_side_parts_usable(work, j))
            return true;
    }
    return false;
}

void dw_side_tell_noise(const DwSideWork *work, size_t channel, DwChannelFaults *faults)
{
    size_t recorded = channel != faults->swapped;
    DwSideSound sound = dw_side_finder_sound(work->finder, recorded);
    faults->own_ground[channel] = sound == DW_SIDE_SOUND_HUM || hums_between(work, recorded);
    faults->hisses[channel] = !faults->own_ground[channel];
    faults->may_hum[channel] = faults->hisses[channel] && sound == DW_SIDE_SOUND_EITHER;
}

DwChannelFaults dw_side_faults(const DwSideWork *work)
{
    DwSideWiring wiring = work->alignment->wiring;
    double gain_db = work->alignment->gain_db;
    bool swapped = dw_side_wiring_is_swapped(wiring);
    DwChannelFaults faults = {
        .by_plan = true,
        .polarity_known = wiring <= DW_SIDE_SWAPPED_REVERSED && is_heard(work, DW_PLAN_LATERAL, DW_PLAN_VERTICAL),
        .swapped = swapped,
        .reversed = wiring == DW_SIDE_REVERSED || wiring == DW_SIDE_SWAPPED_REVERSED,
        .strapped = wiring == DW_SIDE_JOINED,
        .open_ground = wiring == DW_SIDE_OPEN,
        .dead = {wiring == DW_SIDE_RIGHT_ONLY, wiring == DW_SIDE_LEFT_ONLY},
        .weak_db = fabs(gain_db),
    };
    faults.known = faults.polarity_known && is_heard(work, DW_PLAN_LEFT, DW_PLAN_LEFT) &&
                   is_heard(work, DW_PLAN_RIGHT, DW_PLAN_RIGHT);
    faults.weak[(gain_db < 0) != swapped] = gain_db != 0 && !dw_channel_faults_leave_one(&faults);
    for (size_t c = 0; c < 2; c++)
        faults.intermittent[c] =
            !dw_channel_faults_leave_one(&faults) && dw_side_finder_breaks(work->finder, c != swapped);
    for (size_t c = 0; c < 2; c++)
        if ((faults.dead[c] || faults.weak[c]) && dw_side_finder_is_loud(work->finder, c != swapped))
            dw_side_tell_noise(work, c, &faults);
        else
            faults.own_ground[c] = (faults.dead[c] || faults.weak[c]) && hums_between(work, c != swapped);
    return faults;
}

// A band that comes out of another channel than planned throws doubt on what the one-sided ones say.
bool dw_side_sides_known(const DwSideWork *work)
{
    for (size_t j = 0; j < work->plan->count; j++)
        if (work->alignment->bands[j].verdict == DW_SIDE_OTHER_CHANNEL)
            return false;
    return is_heard(work, DW_PLAN_LEFT, DW_PLAN_RIGHT);
}

// What comes out otherwise than planned, what was done about it, and what else it may be.
static void remark_wiring(const DwSideWork *work)
{
    static const char *const words[DW_SIDE_WIRINGS] = {
        [DW_SIDE_AS_CUT] = NULL,
        [DW_SIDE_SWAPPED] = "the channels come out swapped. All else is read with left and right put back. Look for "
                            "swapped leads first; it may also be the plan that has left and right exchanged.",
        [DW_SIDE_REVERSED] = "the channels come out with one reversed. All else is read with it put right, so that "
                             "lateral and vertical are the record's. Look at the cartridge's pins and the leads.",
        [DW_SIDE_SWAPPED_REVERSED] = "the channels come out swapped, one reversed. All else is read with both put "
                                     "right. Look at the cartridge's pins and the leads; it may also be one reversed "
                                     "and the plan that has left and right exchanged.",
        [DW_SIDE_LEFT_ONLY] = "only the left channel is heard. What needs both was not measured.",
        [DW_SIDE_RIGHT_ONLY] = "only the right channel is heard. What needs both was not measured.",
        [DW_SIDE_JOINED] = "both channels carry the same. What needs both was not measured. Look for a mono switch, a "
                           "strap or a short between the leads.",
        [DW_SIDE_OPEN] = "both channels carry the same in opposite phase, and lateral bands are gone: their common "
                         "return is open. What needs both was not measured.",
    };
    const char *what = words[work->alignment->wiring];
    if (what)
        dw_sheet_remark(work->sheet, "Throughout the side %s", what);
}

// How many whole turns the band at INDEX is longer than planned, negative where it is shorter; 0 otherwise.
static int turns_off(const DwSideWork *work, size_t index)
{
    const DwBandPlanBand *band = &work->plan->bands[index];
    const DwSideBand *found = &work->alignment->bands[index];
    if (band->broken || band->kind == DW_PLAN_SILENCE || band->kind == DW_PLAN_SWEEP ||
        !dw_side_parts_usable(work, index))
        return 0;
    double turn_s = 60 / work->plan->speed_rpm / work->ratio;
    double played_s = found->end_s - found->start_s, planned_s = band->length_s / work->ratio;
    return (int)dw_side_match_repeats(played_s, planned_s, turn_s) -
           (int)dw_side_match_repeats(planned_s, played_s, turn_s);
}

static void remark_turns(const DwSideWork *work)
{
    for (size_t j = 0; j < work->plan->count; j++) {
        int turns = turns_off(work, j);
        if (turns)
            dw_sheet_remark(work->sheet, "Band %u is %d turn%s %s than planned: %s in it.", work->plan->bands[j].number,
                            abs(turns), abs(turns) == 1 ? "" : "s", turns > 0 ? "longer" : "shorter",
                            turns > 0 ? "the groove repeats" : "the stylus skips");
    }
}

static void remark_bands(const DwSideWork *work)
{
    static const char *const words[] = {
        [DW_SIDE_SHORT] =
            "cut short: a skip, a late start or an early end. Its figures are from the part that is there.",
        [DW_SIDE_LONG] = "longer than planned: a groove repeats in it, or the plan's length is wrong.",
        [DW_SIDE_OUT_OF_ORDER] =
            "out of the plan's order. It is measured; correct the order of the plan if this is the record's.",
        [DW_SIDE_OTHER_CHANNEL] = "heard from another channel than planned, and not measured for that. Correct the "
                                  "plan, or look at the wiring.",
    };
    for (int verdict = DW_SIDE_SHORT; verdict < DW_SIDE_MISSING; verdict++) {
        DwText numbers = {0};
        size_t count = 0;
        for (size_t j = 0; j < work->plan->count; j++)
            if ((int)work->alignment->bands[j].verdict == verdict && !turns_off(work, j))
                dw_text_add(&numbers, "%s%u", count++ ? ", " : "", work->plan->bands[j].number);
        if (count)
            dw_sheet_remark(work->sheet, "Band %s: %s", numbers.chars, words[verdict]);
        dw_text_clear(&numbers);
    }
}

// Bands of which some were not played and nothing tells which.
static void remark_alike(const DwSideWork *work)
{
    const DwSideBand *bands = work->alignment->bands;
    for (size_t group = 1; group <= work->plan->count; group++) {
        DwText numbers = {0};
        size_t count = 0, missing = 0;
        for (size_t j = 0; j < work->plan->count; j++)
            if (bands[j].alike == group) {
                dw_text_add(&numbers, "%s%u", count++ ? ", " : "", work->plan->bands[j].number);
                missing += bands[j].verdict == DW_SIDE_MISSING;
            }
        if (missing == 1 && count > 1)
            dw_sheet_remark(
                work->sheet,
                "Bands %s sound alike as they are heard here, and one of them was not played: nothing tells "
                "which. The one given as missing may be another.",
                numbers.chars);
        else if (missing > 1 && count > missing)
            dw_sheet_remark(
                work->sheet,
                "Bands %s sound alike as they are heard here, and %zu of them were not played: nothing tells "
                "which. Those given as missing may be others.",
                numbers.chars, missing);
        dw_text_clear(&numbers);
    }
}

// Tones and sweeps that no band of the plan is.
static void remark_extra(const DwSideWork *work, const DwSideSegment *segments)
{
    DwText places = {0};
    size_t count = 0;
    for (size_t i = 0; i < work->alignment->segment_count; i++) {
        const DwSideSegment *segment = &segments[i];
        if (work->alignment->used[i] || segment->kind == DW_PLAN_SILENCE ||
            segment->end_s - segment->start_s < WORTH_SAYING_S)
            continue;
        if (count++ < 6)
            dw_text_add(&places, "%s%s at %.1f s", count > 1 ? ", " : "", dw_band_plan_kind_word(segment->kind),
                        segment->start_s);
    }
    if (count)
        dw_sheet_remark(work->sheet, "Not in the plan: %s%s. Add them to the plan, or pay no heed.", places.chars,
                        count > 6 ? " and more" : "");
    dw_text_clear(&places);
}

void dw_side_sheet_fill(const DwSideWork *work, const DwSideSegment *segments, double end_s)
{
    add_counts(work);
    add_table(work);
    remark_speed(work);
    remark_wiring(work);
    remark_bands(work);
    remark_alike(work);
    remark_turns(work);
    remark_extra(work, segments);
    list_missing(work, end_s);
    if (work->channels == 1)
        dw_sheet_remark(work->sheet, "The recording has one channel: bands were told by their tones alone.");
}
