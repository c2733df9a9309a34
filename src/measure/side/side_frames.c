// SPDX-License-Identifier: MIT
#include "measure/side/side_frames.h"

#include "base/memory.h"
#include "dsp/halfband.h"
#include "dsp/sections.h"
#include "dsp/spectrum.h"
#include "measure/tone/front_end.h"
#include "measure/tone/window.h"
#include "physics/riaa.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { LOW_STAGES_MOST = 8, LOW_ROOM = DW_FRONT_END_BLOCK + 512, LOW_EVERY = 2 };

static const double LEAST_RATE_HZ = 40000; // so that sweeps are followed to 18 kHz
static const double FRAME_S = 0.047;       // at most
static const double LOW_RATE_HZ = 3000;    // halved until it is below
static const double LOW_FRAME_S = 0.7;
static const double STOP_DB = 80;
static const double SPLIT_HZ = 120, LOW_TOP_HZ = 200, LOW_BOTTOM_HZ = 3;
static const double WARP_HZ = 2, LOW_POWER_HZ = 170;
static const double BAND = 1.12, LOW_BAND = 1.25; // what belongs to a tone, up and down
static const double SPREAD_BINS = 3;
static const double KEEP_S = 7200;
static const double HANN = 1.0 / 3; // from a sine's amplitude squared, summed over bins, to its mean square

// The stream below LOW_RATE_HZ of one channel.
typedef struct {
    DwHalfband *halfband[LOW_STAGES_MOST];
    DwSections filter;
    DwWindow samples;
} LowStream;

struct DwSideFrames {
    double rate_hz, main_rate_hz, low_rate_hz;
    unsigned channels;
    bool equalise;
    DwFrontEnd *front_end;
    size_t size, low_size, low_stages;
    DwFft *fft, *low_fft;
    double (*bins[2])[2];
    double *joint, *weight;
    DwWindow main[2];
    LowStream low[2];
    float *block, *spare;
    float *pending;
    size_t pending_count;
    DwSideFrame *frames[DW_SIDE_VIEWS];
    size_t count, room;
    size_t low_next; // frame whose low tone is looked for next
    size_t taken;
    bool met_bad_sample;
    double bad_second;
};

// Of power, over 1 kHz.
static double replay_gain(double hz)
{
    return pow(10, dw_riaa_replay_db(hz, false) / 10);
}

static size_t power_of_two_up_to(double most)
{
    size_t size = 64;
    while ((double)(2 * size) <= most)
        size *= 2;
    return size;
}

static void new_low(DwSideFrames *side)
{
    side->low_rate_hz = side->main_rate_hz;
    for (; side->low_rate_hz >= LOW_RATE_HZ && side->low_stages < LOW_STAGES_MOST; side->low_stages++)
        side->low_rate_hz /= 2;
    side->low_size = (size_t)(LOW_FRAME_S * side->low_rate_hz) / 32 * 32;
    side->low_fft = dw_fft_new(side->low_size);
    for (unsigned c = 0; c < side->channels; c++) {
        double stage_rate_hz = side->main_rate_hz;
        for (size_t i = 0; i < side->low_stages; i++, stage_rate_hz /= 2)
            side->low[c].halfband[i] = dw_halfband_new(0.42 * side->low_rate_hz / stage_rate_hz, STOP_DB);
        side->low[c].filter = dw_sections_highpass(4, WARP_HZ, side->low_rate_hz);
        DwSections top = dw_sections_lowpass(4, LOW_POWER_HZ, side->low_rate_hz);
        for (size_t i = 0; i < top.count; i++)
            side->low[c].filter.section[side->low[c].filter.count++] = top.section[i];
    }
    side->block = dw_memory_new(LOW_ROOM, sizeof(float));
    side->spare = dw_memory_new(LOW_ROOM, sizeof(float));
}

DwSideFrames *dw_side_frames_new(double rate_hz, unsigned channels, bool equalise)
{
    DwSideFrames *side = dw_memory_new(1, sizeof *side);
    side->rate_hz = rate_hz;
    side->channels = channels > 1 ? 2 : 1;
    side->equalise = equalise;
    side->front_end = dw_front_end_new_above(rate_hz, side->channels, LEAST_RATE_HZ);
    side->main_rate_hz = dw_front_end_rate_hz(side->front_end);
    side->size = power_of_two_up_to(FRAME_S * side->main_rate_hz);
    side->fft = dw_fft_new(side->size);
    new_low(side);
    size_t bins = (side->size > side->low_size ? side->size : side->low_size) / 2 + 1;
    for (size_t c = 0; c < 2; c++)
        side->bins[c] = dw_memory_new(bins, sizeof *side->bins[c]);
    side->joint = dw_memory_new(bins, sizeof(double));
    side->weight = dw_memory_new(side->size / 2 + 1, sizeof(double));
    for (size_t k = 1; k <= side->size / 2; k++)
        side->weight[k] = replay_gain((double)k * side->main_rate_hz / (double)side->size);
    side->pending = dw_memory_new((size_t)DW_FRONT_END_BLOCK * side->channels, sizeof(float));
    return side;
}

void dw_side_frames_free(DwSideFrames *side)
{
    if (!side)
        return;
    dw_front_end_free(side->front_end);
    dw_fft_free(side->fft);
    dw_fft_free(side->low_fft);
    for (size_t c = 0; c < 2; c++) {
        free(side->bins[c]);
        free(side->main[c].values);
        free(side->low[c].samples.values);
        for (size_t i = 0; i < LOW_STAGES_MOST; i++)
            dw_halfband_free(side->low[c].halfband[i]);
    }
    free(side->joint);
    free(side->weight);
    free(side->block);
    free(side->spare);
    free(side->pending);
    for (size_t v = 0; v < DW_SIDE_VIEWS; v++)
        free(side->frames[v]);
    free(side);
}

// --- one spectrum -----------------------------------------------------------------

// A spectrum of both channels and the range in which it is looked at.
typedef struct {
    double (*const *bins)[2];
    double *joint;
    const double *weight; // NULL: all alike
    unsigned channels;
    DwSideView view; // whose power is looked at
    double step_hz;
    size_t first, last; // bins looked at
    double band;        // what belongs to a tone, up and down
} Spectrum;

// Fills the joint power. Returned: its sum over the range, as a mean square.
static double join(const Spectrum *spectrum)
{
    double(*left)[2] = spectrum->bins[0], (*right)[2] = spectrum->bins[1];
    double sum = 0;
    for (size_t k = spectrum->first - 1; k <= spectrum->last + 1; k++) {
        double power = 0;
        if (spectrum->view != DW_SIDE_RIGHT_ALONE)
            power += left[k][0] * left[k][0] + left[k][1] * left[k][1];
        if (spectrum->view != DW_SIDE_LEFT_ALONE && spectrum->channels > 1)
            power += right[k][0] * right[k][0] + right[k][1] * right[k][1];
        spectrum->joint[k] = spectrum->weight ? power * spectrum->weight[k] : power;
        sum += spectrum->joint[k];
    }
    return HANN * sum;
}

static size_t peak_between(const Spectrum *spectrum, size_t first, size_t last)
{
    size_t peak = first;
    for (size_t k = first; k <= last; k++)
        if (spectrum->joint[k] > spectrum->joint[peak])
            peak = k;
    return peak;
}

// The bins that belong to a tone at PEAK.
static void reach(const Spectrum *spectrum, size_t peak, size_t *low, size_t *high)
{
    double from = (double)peak / spectrum->band - SPREAD_BINS, to = (double)peak * spectrum->band + SPREAD_BINS;
    *low = from > (double)spectrum->first ? (size_t)from : spectrum->first;
    *high = to < (double)spectrum->last ? (size_t)to : spectrum->last;
}

static DwSideTone tone_at(const Spectrum *spectrum, size_t peak)
{
    double(*left)[2] = spectrum->bins[0], (*right)[2] = spectrum->bins[1];
    bool is_peak = spectrum->joint[peak] > 0 && spectrum->joint[peak] >= spectrum->joint[peak - 1] &&
                   spectrum->joint[peak] >= spectrum->joint[peak + 1];
    DwSideTone tone = {.hz = NAN};
    if (!is_peak)
        return tone;
    size_t low, high;
    double power[2] = {0, 0}, common = 0;
    reach(spectrum, peak, &low, &high);
    for (size_t k = low; k <= high; k++) {
        double weight = spectrum->weight ? spectrum->weight[k] : 1;
        power[0] += weight * (left[k][0] * left[k][0] + left[k][1] * left[k][1]);
        power[1] += weight * (right[k][0] * right[k][0] + right[k][1] * right[k][1]);
        common += weight * (left[k][0] * right[k][0] + left[k][1] * right[k][1]);
    }
    tone.hz = (float)(dw_spectrum_peak_bin(spectrum->joint, peak) * spectrum->step_hz);
    tone.power[0] = (float)(HANN * power[0]);
    tone.power[1] = (float)(HANN * power[1]);
    tone.common = (float)(HANN * common);
    return tone;
}

static double joint_power(const Spectrum *spectrum, size_t peak)
{
    size_t low, high;
    double sum = 0;
    reach(spectrum, peak, &low, &high);
    for (size_t k = low; k <= high; k++)
        sum += spectrum->joint[k];
    return HANN * sum;
}

// --- frames ---------------------------------------------------------------------------

static void look_above(DwSideFrames *side, DwSideView view, DwSideFrame *frame)
{
    double step_hz = side->main_rate_hz / (double)side->size;
    Spectrum spectrum = {.bins = side->bins,
                         .joint = side->joint,
                         .weight = side->equalise ? side->weight : NULL,
                         .channels = side->channels,
                         .view = view,
                         .step_hz = step_hz,
                         .first = (size_t)ceil(SPLIT_HZ / step_hz),
                         .last = side->size / 2 - 2,
                         .band = BAND};
    frame->power = (float)join(&spectrum);
    size_t peak = peak_between(&spectrum, spectrum.first, spectrum.last), far = 4 * peak;
    frame->main = tone_at(&spectrum, peak);
    frame->second_hz = NAN;
    if (far + 1 >= spectrum.last)
        return;
    size_t second = peak_between(&spectrum, far, spectrum.last);
    frame->second_hz = (float)(dw_spectrum_peak_bin(side->joint, second) * step_hz);
    frame->second = (float)joint_power(&spectrum, second);
}

// How many ways the recording is looked at: one channel allows but one.
static size_t view_count(const DwSideFrames *side)
{
    return side->channels > 1 ? DW_SIDE_VIEWS : 1;
}

static void add_frame(DwSideFrames *side)
{
    bool full = side->count == side->room;
    if (full)
        side->room = side->room * 2 + 1024;
    for (size_t v = 0; v < view_count(side); v++) {
        if (full)
            side->frames[v] = dw_memory_resize(side->frames[v], side->room, sizeof *side->frames[v]);
        side->frames[v][side->count] = (DwSideFrame){.low.hz = NAN};
        look_above(side, (DwSideView)v, &side->frames[v][side->count]);
    }
    side->count++;
}

static bool has_room(const DwSideFrames *side)
{
    return (double)side->count * dw_side_frames_hop_s(side) < KEEP_S;
}

static void take_above(DwSideFrames *side)
{
    while (dw_window_end(&side->main[0]) >= (side->count + 1) * side->size && has_room(side)) {
        size_t place = side->count * side->size;
        for (unsigned c = 0; c < side->channels; c++)
            dw_fft_bins(side->fft, side->main[c].values + (place - side->main[c].start), side->bins[c]);
        add_frame(side);
    }
    for (unsigned c = 0; c < side->channels; c++)
        dw_window_forget(&side->main[c], side->count * side->size);
}

// Mean square of a channel's low stream between two of its places.
static double low_mean_square(const DwSideFrames *side, unsigned c, size_t from, size_t to)
{
    double sum = 0;
    for (size_t n = from; n < to; n++) {
        double value = side->low[c].samples.values[n - side->low[c].samples.start];
        sum += value * value;
    }
    return to > from ? sum / (double)(to - from) : 0;
}

// Looks at the spectrum that stands in the bins.
static void look_below(DwSideFrames *side, DwSideView view, DwSideFrame *frame)
{
    double step_hz = side->low_rate_hz / (double)side->low_size;
    Spectrum spectrum = {.bins = side->bins,
                         .joint = side->joint,
                         .channels = side->channels,
                         .view = view,
                         .step_hz = step_hz,
                         .first = (size_t)fmax(1, floor(LOW_BOTTOM_HZ / step_hz)),
                         .last = (size_t)(LOW_TOP_HZ / step_hz),
                         .band = LOW_BAND};
    frame->low_around = (float)join(&spectrum);
    frame->low = tone_at(&spectrum, peak_between(&spectrum, spectrum.first, spectrum.last));
    if (!side->equalise || isnan(frame->low.hz))
        return;
    float gain = (float)replay_gain(frame->low.hz);
    frame->low_around *= gain;
    frame->low.common *= gain;
    for (size_t c = 0; c < 2; c++)
        frame->low.power[c] *= gain;
}

// The low spectra of the window that begins at BEGIN, of frame AT and however it is looked at.
static void take_low_spectra(DwSideFrames *side, size_t begin, size_t at)
{
    for (unsigned c = 0; c < side->channels; c++)
        dw_fft_bins(side->low_fft, side->low[c].samples.values + (begin - side->low[c].samples.start), side->bins[c]);
    for (size_t v = 0; v < view_count(side); v++)
        look_below(side, (DwSideView)v, &side->frames[v][at]);
}

// The power of the low streams from FROM up to TO is that of frame AT.
static void take_low_power(DwSideFrames *side, size_t from, size_t to, size_t at)
{
    double power[DW_SIDE_VIEWS] = {0};
    for (unsigned c = 0; c < side->channels; c++) {
        double one = low_mean_square(side, c, from, to);
        power[DW_SIDE_BOTH_CHANNELS] += one;
        power[DW_SIDE_LEFT_ALONE + c] = one;
    }
    for (size_t v = 0; v < view_count(side); v++) {
        DwSideFrame *frame = &side->frames[v][at];
        double gain = side->equalise ? replay_gain(isnan(frame->low.hz) ? SPLIT_HZ : (double)frame->low.hz) : 1;
        frame->low_power = (float)(gain * power[v]);
    }
}

// Fills what is below the split for all frames that the low stream has passed.
// At the end of a recording the last of them see less than the whole window.
static void take_below(DwSideFrames *side, bool last)
{
    double hop_s = dw_side_frames_hop_s(side);
    size_t end = dw_window_end(&side->low[0].samples), half = side->low_size / 2;
    for (; side->low_next < side->count; side->low_next++) {
        size_t at = side->low_next, from = (size_t)((double)at * hop_s * side->low_rate_hz);
        size_t to = (size_t)((double)(at + 1) * hop_s * side->low_rate_hz), middle = (from + to) / 2;
        if (to > end || (middle + half > end && !last))
            break;
        size_t begin = middle > half ? middle - half : 0;
        if (begin + side->low_size > end)
            begin = end > side->low_size ? end - side->low_size : 0;
        if (at % LOW_EVERY == 0 && end >= side->low_size && begin >= side->low[0].samples.start)
            take_low_spectra(side, begin, at);
        else
            for (size_t v = 0; v < view_count(side) && at > 0; v++) {
                side->frames[v][at].low = side->frames[v][at - 1].low;
                side->frames[v][at].low_around = side->frames[v][at - 1].low_around;
            }
        take_low_power(side, from, to, at);
    }
    double keep = (double)side->low_next * hop_s * side->low_rate_hz - 2.0 * (double)side->low_size;
    for (unsigned c = 0; c < side->channels && keep > 0; c++)
        dw_window_forget(&side->low[c].samples, (size_t)keep);
}

// --- the stream ------------------------------------------------------------------------

// Sends COUNT samples of channel C on to the low stream.
static void push_low(DwSideFrames *side, unsigned c, const float *samples, size_t count)
{
    LowStream *low = &side->low[c];
    float *from = side->block, *to = side->spare;
    memcpy(from, samples, count * sizeof *from);
    for (size_t i = 0; i < side->low_stages; i++) {
        count = dw_halfband_push(low->halfband[i], from, count, to);
        float *swap = from;
        from = to;
        to = swap;
    }
    for (size_t n = 0; n < count; n++) {
        double value = from[n];
        dw_sections_run(&low->filter, &value, 1);
        from[n] = (float)value;
    }
    dw_window_append(&low->samples, from, count);
}

static void push_block(DwSideFrames *side, const float *interleaved, size_t count)
{
    DwFrontBlock front = dw_front_end_push(side->front_end, interleaved, count, NAN);
    side->taken += count;
    if (!front.finite) {
        side->met_bad_sample = true;
        side->bad_second = (double)side->taken / side->rate_hz;
        return;
    }
    if (!has_room(side))
        return;
    for (unsigned c = 0; c < side->channels; c++) {
        dw_window_append(&side->main[c], front.channel[c], front.count);
        push_low(side, c, front.channel[c], front.count);
    }
    take_above(side);
    take_below(side, false);
}

void dw_side_frames_push(DwSideFrames *side, const float *interleaved, size_t count)
{
    // Blocks of one size, whatever the caller's: what is found never depends on it.
    while (count > 0 && !side->met_bad_sample) {
        size_t part = DW_FRONT_END_BLOCK - side->pending_count;
        part = count < part ? count : part;
        memcpy(side->pending + side->pending_count * side->channels, interleaved,
               part * side->channels * sizeof(float));
        side->pending_count += part;
        if (side->pending_count == DW_FRONT_END_BLOCK) {
            push_block(side, side->pending, side->pending_count);
            side->pending_count = 0;
        }
        interleaved += part * side->channels;
        count -= part;
    }
}

void dw_side_frames_finish(DwSideFrames *side)
{
    if (side->pending_count && !side->met_bad_sample)
        push_block(side, side->pending, side->pending_count);
    side->pending_count = 0;
    take_below(side, true);
}

bool dw_side_frames_met_bad_sample(const DwSideFrames *side, double *second)
{
    if (side->met_bad_sample)
        *second = side->bad_second;
    return side->met_bad_sample;
}

const DwSideFrame *dw_side_frames_all(const DwSideFrames *side, DwSideView view, size_t *count)
{
    *count = side->low_next;
    return side->frames[view];
}

double dw_side_frames_hop_s(const DwSideFrames *side)
{
    return (double)side->size / side->main_rate_hz;
}

double dw_side_frames_length_s(const DwSideFrames *side)
{
    return (double)side->taken / side->rate_hz;
}
