// SPDX-License-Identifier: MIT
// Of a side: tracking ability from its bands of rising level, intermodulation from those of two tones.
#include "base/memory.h"
#include "measure/band/intermod.h"
#include "measure/band/intermod_difference.h"
#include "measure/band/tracking_steps.h"
#include "procedure/input/measure_inputs.h"
#include "procedure/side/side_alone.h"
#include "procedure/side/side_parts.h"

#include <math.h>
#include <stdlib.h>

enum { RADII_MOST = 8 };
static const double SAME_PAIR = 0.03; // of ln f

static void begin_set(void *user, double rate_hz, unsigned channels, double start_s)
{
    dw_band_set_begin(user, rate_hz, channels, start_s);
}

static void push_set(void *user, const float *interleaved, size_t frames)
{
    dw_band_set_push(user, interleaved, frames);
}

static void end_set(void *user)
{
    dw_band_set_end(user);
}

// --- tracking -------------------------------------------------------------------------------

typedef struct {
    DwBandSet *set;
    DwTrackingStep steps[DW_TRACKING_STEPS_MOST];
    size_t step_count;
    double radius_mm[RADII_MOST];
    size_t count;
    bool relative; // several bands: seconds count from the start of each
    DwSideAlone alone;
    unsigned channels; // of what is handed over
} Tracking;

static bool is_steps(const DwBandPlanBand *band)
{
    return band->kind == DW_PLAN_STEPS;
}

static void begin_tracking(void *user, double rate_hz, unsigned channels, double start_s)
{
    Tracking *tracking = user;
    tracking->channels = channels;
    dw_band_set_begin(tracking->set, rate_hz, tracking->alone.alone ? 1 : channels, tracking->relative ? 0 : start_s);
}

static void push_tracking(void *user, const float *interleaved, size_t frames)
{
    Tracking *tracking = user;
    dw_side_alone_push(&tracking->alone, tracking->channels, interleaved, frames, push_set, tracking->set);
}

static void end_tracking(void *user)
{
    dw_band_set_end(((Tracking *)user)->set);
}

static bool is_whole(const DwSideWork *work, size_t index)
{
    return dw_side_parts_usable(work, index) && work->alignment->bands[index].verdict != DW_SIDE_SHORT &&
           work->alignment->bands[index].verdict != DW_SIDE_LONG;
}

// Whether both bands hold the same steps, so that only the radius parts them.
static bool is_alike(const DwBandPlanBand *a, const DwBandPlanBand *b)
{
    if (a->channel != b->channel || a->step_count != b->step_count ||
        fabs(a->frequency_hz / b->frequency_hz - 1) > 1e-6)
        return false;
    for (size_t i = 0; i < a->step_count; i++)
        if (fabs(a->steps_um[i] / b->steps_um[i] - 1) > 1e-6)
            return false;
    return true;
}

static void say_other(const DwSideWork *work, size_t index, const char *why)
{
    const DwSideBand *found = &work->alignment->bands[index];
    dw_sheet_not_measured(work->sheet, "tracking.steps", "band %u %s. Measure it alone, from %.1f to %.1f s.",
                          work->plan->bands[index].number, why, found->start_s, found->end_s);
}

static void set_steps(const DwSideWork *work, size_t index, Tracking *tracking)
{
    const DwBandPlanBand *band = &work->plan->bands[index];
    double start_s = tracking->relative ? 0 : work->alignment->bands[index].start_s;
    double each_s = band->length_s / work->ratio / (double)band->step_count;
    tracking->step_count = band->step_count;
    for (size_t i = 0; i < band->step_count; i++)
        tracking->steps[i] = (DwTrackingStep){band->steps_um[i], start_s + (double)i * each_s};
}

static void free_tracking(void *part)
{
    dw_band_set_free(((Tracking *)part)->set);
    free(part);
}

static DwStatus prepare_tracking(const DwSideWork *work, void **part, DwMessage *message)
{
    static const DwSideListener listener = {begin_tracking, push_tracking, end_tracking};
    (void)message;
    Tracking *tracking = dw_memory_new(1, sizeof *tracking);
    tracking->alone = dw_side_alone(work);
    size_t first = work->plan->count;
    for (size_t j = 0; j < work->plan->count; j++) {
        const DwBandPlanBand *band = &work->plan->bands[j];
        if (band->broken || !is_steps(band) || !dw_side_parts_usable(work, j))
            continue;
        if (!is_whole(work, j))
            say_other(work, j, "is not whole, so its steps cannot be placed");
        else if (first < work->plan->count &&
                 (!is_alike(band, &work->plan->bands[first]) || tracking->count == RADII_MOST))
            say_other(work, j, "holds other steps than the one measured");
        else {
            first = first < work->plan->count ? first : j;
            tracking->radius_mm[tracking->count++] = band->radius_mm;
            dw_side_parts_hear(work, j, 0, &listener, tracking);
            dw_side_parts_measure_on(work, j);
        }
    }
    if (first == work->plan->count) {
        dw_side_parts_explain(work, "tracking.steps", is_steps, "rising steps");
        free_tracking(tracking);
        return DW_OK;
    }
    tracking->relative = tracking->count > 1;
    set_steps(work, first, tracking);
    tracking->set = dw_tracking_new_set(work->plan->bands[first].frequency_hz, true);
    *part = tracking;
    return DW_OK;
}

static DwTrackingSides sides_of(const DwSideWork *work)
{
    if (dw_side_wiring_is_swapped(work->alignment->wiring))
        return DW_TRACKING_SIDES_SWAPPED;
    return dw_side_sides_known(work) ? DW_TRACKING_SIDES_KNOWN : DW_TRACKING_SIDES_TAKEN;
}

static DwStatus read_tracking(void *part, const DwSideWork *work, DwSheet *sheet, DwMessage *message)
{
    Tracking *tracking = part;
    DwTrackingSettings settings = dw_measure_inputs_tracking(work->inputs);
    settings.in_decibels = false;
    settings.sides = sides_of(work);
    if (tracking->alone.alone) {
        settings.heard = tracking->alone.channel ? DW_TRACKING_HEARD_RIGHT : DW_TRACKING_HEARD_LEFT;
        dw_sheet_remark(sheet, "The %s channel comes and goes: tracking is read from the %s one.",
                        tracking->alone.channel ? "left" : "right", tracking->alone.channel ? "right" : "left");
    }
    settings.steps = tracking->steps;
    settings.step_count = tracking->step_count;
    settings.radius_mm = tracking->radius_mm;
    settings.radius_count = tracking->count;
    for (size_t i = 0; i < tracking->count; i++)
        if (isnan(tracking->radius_mm[i]))
            settings.radius_count = 0;
    return dw_tracking_read(tracking->set, &settings, sheet, message);
}

const DwSidePart dw_side_part_tracking = {"tracking.steps", prepare_tracking, read_tracking, free_tracking};

// --- intermodulation ------------------------------------------------------------------------

// The bands of one pair.
typedef struct {
    DwBandSet *set;
    bool near; // the tones to one another
} Pair;

static Pair *pair_new(DwBandSet *set, bool near)
{
    Pair *pair = dw_memory_new(1, sizeof *pair);
    *pair = (Pair){set, near};
    return pair;
}

static bool is_two_tone(const DwBandPlanBand *band)
{
    return band->kind == DW_PLAN_TWO_TONE;
}

static bool is_same_pair(const DwBandPlanBand *a, const DwBandPlanBand *b)
{
    return fabs(log(a->frequency_hz / b->frequency_hz)) < SAME_PAIR && fabs(log(a->from_hz / b->from_hz)) < SAME_PAIR;
}

// Whether the pair is one for difference-frequency distortion.
static bool is_near(const DwBandPlanBand *band)
{
    return dw_intermod_difference_fits(band->from_hz, band->frequency_hz);
}

// Whether the pair can be detected as it is played.
static bool is_within_reach(const DwSideWork *work, const DwBandPlanBand *band)
{
    return is_near(band) ||
           (band->frequency_hz * work->ratio <= DW_INTERMOD_HIGHEST_HZ && band->frequency_hz >= 4 * band->from_hz);
}

// The first pair of tones is measured on all of its bands; of others it is said.
static DwStatus prepare_intermod(const DwSideWork *work, void **part, DwMessage *message)
{
    static const DwSideListener listener = {begin_set, push_set, end_set};
    (void)message;
    const DwBandPlanBand *first = NULL;
    bool odd = false;
    DwBandSet *set = NULL;
    for (size_t j = 0; j < work->plan->count; j++) {
        const DwBandPlanBand *band = &work->plan->bands[j];
        if (band->broken || !is_two_tone(band) || !dw_side_parts_usable(work, j))
            continue;
        if (!is_within_reach(work, band) || (first && !is_same_pair(first, band))) {
            odd = true;
            dw_sheet_not_measured(
                work->sheet, "intermod.bands",
                first ? "band %u holds another pair of tones. Measure it alone."
                      : "band %u: its high tone lies beyond 8.5 kHz, or two to four times over the low one.",
                band->number);
            continue;
        }
        if (!first)
            set = is_near(band)
                      ? dw_intermod_difference_new_set(band->from_hz * work->ratio, band->frequency_hz * work->ratio)
                      : dw_intermod_new_set(band->from_hz * work->ratio, band->frequency_hz * work->ratio);
        first = first ? first : band;
        dw_side_parts_hear(work, j, 0, &listener, set);
        dw_side_parts_measure_on(work, j);
    }
    *part = set ? pair_new(set, is_near(first)) : NULL;
    if (!first && !odd)
        dw_side_parts_explain(work, "intermod.bands", is_two_tone, "two tones");
    return DW_OK;
}

static DwStatus read_intermod(void *part, const DwSideWork *work, DwSheet *sheet, DwMessage *message)
{
    const Pair *pair = part;
    (void)work;
    return pair->near ? dw_intermod_difference_read(pair->set, sheet, message)
                      : dw_intermod_read(pair->set, sheet, message);
}

static void free_intermod(void *part)
{
    dw_band_set_free(((Pair *)part)->set);
    free(part);
}

const DwSidePart dw_side_part_intermod = {"intermod.bands", prepare_intermod, read_intermod, free_intermod};
