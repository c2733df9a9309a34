// SPDX-License-Identifier: MIT
#include "measure/band/short_frames.h"

#include "base/memory.h"
#include "dsp/spectrum.h"
#include "dsp/statistics.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double FRAME_S = 0.04;
static const double STANDS_OUT = 0.3; // share of the power up to its fifth harmonic that the tone must have
static const double WORST = 0.9;      // of all moments
static const double BURSTS = 0.99;    // of those in which the tone itself distorts
static const double LINES = 4;        // harmonics over what lies between: a tick gives both alike
static const double APART_S = 0.25;   // from one burst to the next
static const double LONG_S = 6;       // a band of three turns or more
enum { REACH = 2, LAST_HARMONIC = 5, FEWEST = 20 }; // bins of a Hann window's lobe to either side

struct DwShortFrames {
    double rate_hz, lowest_hz, highest_hz, step_hz;
    unsigned channels;
    size_t size, bins, filled, taken;
    float *sample[2];
    double *power[2];
    DwFft *fft;
    DwShortFrame *all;
    size_t count, room;
};

DwShortFrames *dw_short_frames_new(double rate_hz, unsigned channels, double lowest_hz, double highest_hz)
{
    DwShortFrames *frames = dw_memory_new(1, sizeof *frames);
    frames->rate_hz = rate_hz;
    frames->channels = channels > 1 ? 2 : 1;
    frames->lowest_hz = lowest_hz;
    frames->highest_hz = highest_hz;
    frames->size = (size_t)lround(FRAME_S * rate_hz) & ~(size_t)1;
    frames->bins = frames->size / 2 + 1;
    frames->step_hz = rate_hz / (double)frames->size;
    frames->fft = dw_fft_new(frames->size);
    for (size_t c = 0; c < 2; c++) {
        frames->sample[c] = dw_memory_new(frames->size, sizeof(float));
        frames->power[c] = dw_memory_new(frames->bins, sizeof(double));
    }
    return frames;
}

void dw_short_frames_free(DwShortFrames *frames)
{
    if (!frames)
        return;
    dw_fft_free(frames->fft);
    for (size_t c = 0; c < 2; c++) {
        free(frames->sample[c]);
        free(frames->power[c]);
    }
    free(frames->all);
    free(frames);
}

// The strongest bin, of both channels together, where the tone may lie.
static size_t find_tone(const DwShortFrames *frames)
{
    size_t first = (size_t)ceil(frames->lowest_hz / frames->step_hz), best = first;
    size_t last = (size_t)(frames->highest_hz / frames->step_hz);
    double most = 0;
    for (size_t k = first; k <= last && k < frames->bins; k++) {
        double here = frames->power[0][k] + frames->power[1][k];
        if (here > most) {
            most = here;
            best = k;
        }
    }
    return best;
}

// The power in the lobe about PLACE [bins].
static double lobe(const double *power, size_t bins, double place)
{
    double sum = 0;
    size_t middle = (size_t)lround(place);
    for (size_t k = middle > REACH ? middle - REACH : 0; k <= middle + REACH && k < bins; k++)
        sum += power[k];
    return sum;
}

static void measure(const DwShortFrames *frames, double place, size_t channel, DwShortFrame *frame)
{
    const double *power = frames->power[channel];
    double harmonics = 0, noise = 0;
    for (int h = 2; h <= LAST_HARMONIC; h++) {
        harmonics += lobe(power, frames->bins, h * place);
        noise += lobe(power, frames->bins, (h - 0.5) * place);
    }
    double tone = lobe(power, frames->bins, place);
    bool stands_out = tone > STANDS_OUT * (tone + harmonics + noise);
    frame->tone[channel] = stands_out ? (float)tone : 0;
    frame->harmonics[channel] = (float)(harmonics - noise);
    frame->between[channel] = (float)noise;
}

static void take_frame(DwShortFrames *frames)
{
    for (unsigned c = 0; c < frames->channels; c++)
        dw_fft_power(frames->fft, frames->sample[c], frames->power[c]);
    size_t bin = find_tone(frames);
    double both[5];
    for (size_t i = 0; i < 5; i++)
        both[i] = bin + i >= 2 ? frames->power[0][bin + i - 2] + frames->power[1][bin + i - 2] : 0;
    double place = (double)bin - 2 + dw_spectrum_peak_bin(both, 2);
    if (frames->count == frames->room) {
        frames->room = frames->room * 2 + 256;
        frames->all = dw_memory_resize(frames->all, frames->room, sizeof *frames->all);
    }
    DwShortFrame *frame = &frames->all[frames->count++];
    *frame = (DwShortFrame){.start_s = (double)(frames->taken - frames->size) / frames->rate_hz};
    for (unsigned c = 0; c < frames->channels; c++)
        measure(frames, place, c, frame);
}

void dw_short_frames_push(DwShortFrames *frames, const float *interleaved, size_t count)
{
    for (size_t n = 0; n < count; n++) {
        for (unsigned c = 0; c < frames->channels; c++)
            frames->sample[c][frames->filled] = interleaved[n * frames->channels + c];
        frames->taken++;
        if (++frames->filled < frames->size)
            continue;
        take_frame(frames);
        size_t half = frames->size / 2;
        for (unsigned c = 0; c < frames->channels; c++)
            memmove(frames->sample[c], frames->sample[c] + half, half * sizeof(float));
        frames->filled = frames->size - half;
    }
}

// The power of distortion over the tone's, moment by moment.
typedef struct {
    float *share;
    float *burst; // 0 where it is noise or a tick
    size_t count;
} Moments;

static Moments moments_of(const DwShortFrames *frames, size_t channel, double from_s, double to_s)
{
    Moments moments = {.share = dw_memory_new(frames->count + 1, sizeof(float)),
                       .burst = dw_memory_new(frames->count + 1, sizeof(float))};
    for (size_t i = 0; i < frames->count; i++) {
        const DwShortFrame *frame = &frames->all[i];
        if (frame->start_s < from_s || frame->start_s + FRAME_S > to_s || frame->tone[channel] <= 0)
            continue;
        float share = frame->harmonics[channel] / frame->tone[channel];
        bool lines = frame->harmonics[channel] > (LINES - 1) * frame->between[channel];
        moments.share[moments.count] = share;
        moments.burst[moments.count++] = lines ? share : 0;
    }
    return moments;
}

// The NUMBERth strongest of the bursts, none within APART_S of a stronger one.
static double nth_burst(const Moments *moments, size_t number)
{
    size_t apart = (size_t)lround(APART_S / (FRAME_S / 2)), place = 0;
    float *left = dw_memory_new(moments->count, sizeof *left);
    memcpy(left, moments->burst, moments->count * sizeof *left);
    double size = 0;
    for (size_t n = 0; n < number; n++) {
        for (size_t i = 0; i < moments->count; i++)
            place = left[i] > left[place] ? i : place;
        size = left[place];
        for (size_t i = place > apart ? place - apart : 0; i <= place + apart && i < moments->count; i++)
            left[i] = 0;
    }
    free(left);
    return size;
}

double dw_short_frames_worst(const DwShortFrames *frames, size_t channel, double from_s, double to_s)
{
    Moments moments = moments_of(frames, channel, from_s, to_s);
    double worst = NAN;
    if (moments.count >= FEWEST) {
        double again = nth_burst(&moments, to_s - from_s < LONG_S ? 2 : 3); // before the next two reorder them
        double bursts = fmin(again, dw_statistics_quantile(moments.burst, moments.count, BURSTS));
        worst = sqrt(fmax(bursts, dw_statistics_quantile(moments.share, moments.count, WORST)));
    }
    free(moments.share);
    free(moments.burst);
    return worst;
}
