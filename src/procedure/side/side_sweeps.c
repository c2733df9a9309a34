// SPDX-License-Identifier: MIT
// Of a side: response and crosstalk from its sweeps, the arm's resonance from those below hearing.
#include "base/memory.h"
#include "procedure/input/measure_inputs.h"
#include "procedure/side/side_alone.h"
#include "procedure/side/side_parts.h"

#include <math.h>
#include <stdlib.h>

static const char *const channel_names[2] = {"left", "right"};
static const double RESPONSE_FROM_HZ = 1000; // a sweep that ends above it is one of the response
static const double LOW_TO_HZ = 200;         // one that ends below it is one of the arm
static const double BEYOND_S = 0.2, LOW_BEYOND_S = 0.4;
static const double ABOUT_S = 0.6, ABOUT = 1.4; // what a response's longest spectrum and half an octave need

static double top_hz(const DwBandPlanBand *band)
{
    return band->kind == DW_PLAN_SWEEP ? fmax(band->from_hz, band->to_hz) : NAN;
}

static bool is_response(const DwBandPlanBand *band)
{
    return top_hz(band) > RESPONSE_FROM_HZ;
}

static bool is_low(const DwBandPlanBand *band)
{
    return top_hz(band) < LOW_TO_HZ;
}

// Hears all usable bands that are WANTED and cut like the first of them, but for those that drive a channel that comes
// and goes alone; says of those cut otherwise that they are left out. Returned: the first, or plan->count.
static size_t hear_alike(const DwSideWork *work, const char *key, DwSideWanted wanted, double more_s,
                         const DwSideListener *listener, void *user)
{
    size_t first = work->plan->count;
    DwSideAlone alone = dw_side_alone(work);
    DwPlanChannel lost = alone.channel ? DW_PLAN_LEFT : DW_PLAN_RIGHT;
    for (size_t j = 0; j < work->plan->count; j++) {
        const DwBandPlanBand *band = &work->plan->bands[j];
        if (band->broken || !wanted(band) || !dw_side_parts_usable(work, j) || (alone.alone && band->channel == lost))
            continue;
        if (first == work->plan->count)
            first = j;
        if (band->cut == work->plan->bands[first].cut) {
            dw_side_parts_hear(work, j, more_s, listener, user);
            dw_side_parts_measure_on(work, j);
        } else
            dw_sheet_not_measured(work->sheet, key,
                                  "band %u is cut otherwise than band %u. Measure it alone, from %.1f to %.1f s.",
                                  band->number, work->plan->bands[first].number, work->alignment->bands[j].start_s,
                                  work->alignment->bands[j].end_s);
    }
    return first;
}

// --- response -----------------------------------------------------------------------------

typedef struct {
    DwResponse *response;
    DwLoading loading;
    const DwSideFinder *finder;
    DwSideAlone alone;
    unsigned channels;    // of what is handed over
    double rate_hz, at_s; // of what is pushed next
} Response;

static void begin_response(void *user, double rate_hz, unsigned channels, double start_s)
{
    Response *response = user;
    response->rate_hz = rate_hz;
    response->at_s = start_s;
    response->channels = channels;
    dw_response_begin(response->response, rate_hz, response->alone.alone ? 1 : channels);
}

static void take_response(void *user, const float *interleaved, size_t frames)
{
    dw_response_push(user, interleaved, frames);
}

// The finder has followed the sweep: where it stands now, give or take, need only
// be looked at.
static void push_response(void *user, const float *interleaved, size_t frames)
{
    Response *response = user;
    double end_s = response->at_s + (double)frames / response->rate_hz, low_hz, high_hz;
    if (dw_side_finder_range(response->finder, response->at_s - ABOUT_S, end_s + ABOUT_S, &low_hz, &high_hz))
        dw_response_narrow(response->response, low_hz / ABOUT, high_hz * ABOUT);
    else
        dw_response_narrow(response->response, 0, INFINITY);
    dw_side_alone_push(&response->alone, response->channels, interleaved, frames, take_response, response->response);
    response->at_s = end_s;
}

static void end_response(void *user)
{
    dw_response_end(((Response *)user)->response);
}

static void free_response(void *part)
{
    dw_response_free(((Response *)part)->response);
    free(part);
}

static DwResponseCut response_cut(DwPlanCut cut)
{
    static const DwResponseCut cuts[DW_PLAN_CUTS] = {
        [DW_PLAN_CUT_RIAA] = DW_RESPONSE_CUT_RIAA,
        [DW_PLAN_CUT_BASS] = DW_RESPONSE_CUT_BASS,
        [DW_PLAN_CUT_VELOCITY] = DW_RESPONSE_CUT_VELOCITY,
        [DW_PLAN_CUT_AMPLITUDE] = DW_RESPONSE_CUT_AMPLITUDE,
    };
    return cuts[cut];
}

// Why there is no sweep to hear.
static void explain_response(const DwSideWork *work, const DwSideAlone *alone)
{
    bool lost = alone->alone && dw_side_parts_longest(work, is_response) < work->plan->count;
    if (lost)
        dw_sheet_not_measured(work->sheet, "response.left",
                              "the sweeps found drive the %s channel alone, and it comes and goes.",
                              channel_names[1 - alone->channel]);
    else
        dw_side_parts_explain(work, "response.left", is_response, "a sweep up to 1 kHz or more");
}

static DwStatus prepare_response(const DwSideWork *work, void **part, DwMessage *message)
{
    static const DwSideListener listener = {begin_response, push_response, end_response};
    (void)message;
    Response *response = dw_memory_new(1, sizeof *response);
    DwResponseSettings settings = dw_measure_inputs_response(work->inputs, &response->loading);
    size_t first = hear_alike(work, "response.left", is_response, BEYOND_S, &listener, response);
    response->alone = dw_side_alone(work);
    if (first == work->plan->count) {
        explain_response(work, &response->alone);
        free_response(response);
        return DW_OK;
    }
    if (response->alone.alone) {
        settings.channel = response->alone.channel ? DW_RESPONSE_RIGHT : DW_RESPONSE_LEFT;
        dw_sheet_remark(work->sheet, "The %s channel comes and goes: the response is that of the %s one alone.",
                        channel_names[1 - response->alone.channel], channel_names[response->alone.channel]);
    }
    settings.cut = response_cut(work->plan->bands[first].cut);
    settings.speed_ratio = work->ratio;
    response->finder = work->finder;
    response->response = dw_response_new(&settings);
    *part = response;
    return DW_OK;
}

static DwStatus read_response(void *part, const DwSideWork *work, DwSheet *sheet, DwMessage *message)
{
    (void)work;
    return dw_response_read(((Response *)part)->response, sheet, message);
}

const DwSidePart dw_side_part_response = {"response.left", prepare_response, read_response, free_response};

// --- the arm's resonance --------------------------------------------------------------------

typedef struct {
    DwLowsweep *sweep;
    const DwSideWork *work;
    DwSideAlone alone;
    unsigned channels; // of what is pushed
} Low;

// Where one channel comes and goes its gaps would read as dips of the resonance: the other is heard alone.
static void choose_channel(Low *low)
{
    low->alone = dw_side_alone(low->work);
    if (low->alone.alone)
        dw_sheet_remark(low->work->sheet, "The %s channel comes and goes: the arm's resonance is read from the %s one.",
                        channel_names[1 - low->alone.channel], channel_names[low->alone.channel]);
}

// The plan says which way a sweep is cut that is heard in one channel, or while no other band shows whether one is
// reversed.
static void begin_low(void *user, double rate_hz, unsigned channels, double start_s)
{
    Low *low = user;
    const DwSideWork *work = low->work;
    low->channels = channels;
    channels = low->alone.alone ? 1 : channels;
    dw_lowsweep_begin(low->sweep, rate_hz, channels, start_s);
    bool told = channels > 1 && dw_side_sides_known(work);
    for (size_t j = 0; j < work->plan->count && !told; j++) {
        const DwBandPlanBand *band = &work->plan->bands[j];
        const DwSideBand *found = &work->alignment->bands[j];
        bool here =
            !band->broken && is_low(band) && start_s >= found->start_s - 2 * LOW_BEYOND_S && start_s < found->end_s;
        if (here && band->channel >= DW_PLAN_LATERAL)
            dw_lowsweep_direct(low->sweep,
                               band->channel == DW_PLAN_LATERAL ? DW_LOWSWEEP_LATERAL : DW_LOWSWEEP_VERTICAL);
    }
}

static void push_sweep(void *user, const float *interleaved, size_t frames)
{
    dw_lowsweep_push(user, interleaved, frames);
}

static void push_low(void *user, const float *interleaved, size_t frames)
{
    const Low *low = user;
    dw_side_alone_push(&low->alone, low->channels, interleaved, frames, push_sweep, low->sweep);
}

static void end_low(void *user)
{
    dw_lowsweep_end(((Low *)user)->sweep);
}

static void free_low(void *part)
{
    dw_lowsweep_free(((Low *)part)->sweep);
    free(part);
}

static DwStatus prepare_low(const DwSideWork *work, void **part, DwMessage *message)
{
    static const DwSideListener listener = {begin_low, push_low, end_low};
    (void)message;
    Low *low = dw_memory_new(1, sizeof *low);
    low->work = work;
    size_t first = hear_alike(work, "lowsweep.lateral", is_low, LOW_BEYOND_S, &listener, low);
    if (first == work->plan->count) {
        dw_side_parts_explain(work, "lowsweep.lateral", is_low, "a sweep through the arm's resonance");
        free_low(low);
        return DW_OK;
    }
    DwLowsweepSettings settings = dw_measure_inputs_lowsweep(work->inputs);
    DwPlanCut cut = work->plan->bands[first].cut;
    settings.amplitude_cut = cut == DW_PLAN_CUT_AMPLITUDE;
    if (cut == DW_PLAN_CUT_RIAA || cut == DW_PLAN_CUT_BASS)
        dw_sheet_remark(work->sheet,
                        "Band %u is cut by the recording characteristic; below 50 Hz that is taken for "
                        "constant velocity.",
                        work->plan->bands[first].number);
    settings.polarity_known = dw_side_sides_known(work);
    choose_channel(low);
    low->sweep = dw_lowsweep_new(&settings);
    *part = low;
    return DW_OK;
}

static DwStatus read_low(void *part, const DwSideWork *work, DwSheet *sheet, DwMessage *message)
{
    (void)work;
    return dw_lowsweep_read(((Low *)part)->sweep, sheet, message);
}

const DwSidePart dw_side_part_lowsweep = {"lowsweep.lateral", prepare_low, read_low, free_low};
