// SPDX-License-Identifier: MIT
#include "measure/tone/tone_track.h"

#include "base/memory.h"
#include "dsp/spectrum.h"
#include "physics/riaa.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double LOWEST_HZ = 12;      // below live warps and the arm's resonance
static const double DOMINANCE = 0.5;     // share of the power that the tone must carry
static const double QUIETEST = 1e-8 / 2; // power of a tone at −80 dBFS
static const double BAND = 1.25;         // what belongs to the tone, up and down
static const double SPREAD_BINS = 3;     // and the window's own width

struct DwToneTrack {
    DwToneTrackSettings settings;
    DwFft *fft;
    double *sample[2], (*spectrum[2])[2];
    double *moment; // the window's square, and that times the distance from the middle
    double *square;
    double *weight; // of each bin's power where a tone is looked for
    double step_hz;
    size_t filled;
    size_t start; // of the spectrum being filled, in samples from the first pushed
};

DwToneTrack *dw_tone_track_new(DwToneTrackSettings settings)
{
    DwToneTrack *track = dw_memory_new(1, sizeof *track);
    size_t bins = settings.size / 2 + 1;
    track->settings = settings;
    track->fft = dw_fft_new(settings.size);
    track->step_hz = settings.rate_hz / (double)settings.size;
    for (size_t c = 0; c < 2; c++) {
        track->sample[c] = dw_memory_new(settings.size, sizeof(double));
        track->spectrum[c] = dw_memory_new(bins, sizeof *track->spectrum[c]);
    }
    track->square = dw_memory_new(settings.size, sizeof(double));
    track->moment = dw_memory_new(settings.size, sizeof(double));
    for (size_t n = 0; n < settings.size; n++) {
        double place = (double)n / (double)settings.size, hann = 1 - cos(2 * M_PI * place);
        track->square[n] = hann * hann;
        track->moment[n] = hann * hann * (place - 0.5);
    }
    track->weight = dw_memory_new(bins, sizeof(double));
    for (size_t k = (size_t)ceil(LOWEST_HZ / track->step_hz); k < bins; k++)
        track->weight[k] = settings.equalise ? pow(10, dw_riaa_replay_db((double)k * track->step_hz, false) / 10) : 1;
    return track;
}

void dw_tone_track_free(DwToneTrack *track)
{
    if (!track)
        return;
    dw_fft_free(track->fft);
    for (size_t c = 0; c < 2; c++) {
        free(track->sample[c]);
        free(track->spectrum[c]);
    }
    free(track->square);
    free(track->moment);
    free(track->weight);
    free(track);
}

static double bin_power(const DwToneTrack *track, size_t channel, size_t bin)
{
    const double *one = track->spectrum[channel][bin];
    return one[0] * one[0] + one[1] * one[1];
}

static double joint_power(const DwToneTrack *track, size_t bin)
{
    return bin_power(track, 0, bin) + bin_power(track, 1, bin);
}

// The highest bin, and the weighted power of all bins.
static size_t find_peak(const DwToneTrack *track, double *total)
{
    size_t peak = 0;
    double most = 0;
    *total = 0;
    for (size_t k = 0; k <= track->settings.size / 2; k++) {
        double power = joint_power(track, k) * track->weight[k];
        *total += power;
        if (power > most) {
            most = power;
            peak = k;
        }
    }
    return peak;
}

double dw_tone_track_bins(double window_s, double frequency_hz)
{
    return (BAND - 1 / BAND) * frequency_hz * window_s + 2 * SPREAD_BINS;
}

// Sums the bins of the tone around PEAK into FRAME. Returned: their weighted power.
static double take_tone(const DwToneTrack *track, size_t peak, DwToneFrame *frame)
{
    double low = (double)peak / BAND - SPREAD_BINS, high = (double)peak * BAND + SPREAD_BINS;
    double weighted = 0, moment = 0, sum = 0;
    double one = 1.0 / 3; // a sine of amplitude A leaves 1.5 A² under a Hann window, and has A²/2
    for (size_t k = low > 1 ? (size_t)low : 1; k <= (size_t)high && k < track->settings.size / 2; k++) {
        const double *first = track->spectrum[0][k], *second = track->spectrum[1][k];
        double left = bin_power(track, 0, k), right = bin_power(track, 1, k);
        weighted += (left + right) * track->weight[k];
        sum += left + right;
        moment += (left + right) * (double)k;
        frame->power[0] += one * left;
        frame->power[1] += one * right;
        frame->common[0] += one * (second[0] * first[0] + second[1] * first[1]);
        frame->common[1] += one * (second[1] * first[0] - second[0] * first[1]);
    }
    frame->frequency_hz = sum > 0 ? moment / sum * track->step_hz : NAN;
    return weighted;
}

// A spectrum that a tone fills only in part has its energy to one side.
static double lopsidedness(const DwToneTrack *track)
{
    double energy = 0, moment = 0;
    for (unsigned c = 0; c < track->settings.channels; c++)
        for (size_t n = 0; n < track->settings.size; n++) {
            double square = track->sample[c][n] * track->sample[c][n];
            energy += track->square[n] * square;
            moment += track->moment[n] * square;
        }
    return energy > 0 ? moment / energy : 0;
}

static DwToneFrame measure_frame(DwToneTrack *track)
{
    for (unsigned c = 0; c < track->settings.channels; c++)
        dw_fft_bins_double(track->fft, track->sample[c], track->spectrum[c]);
    DwToneFrame nothing = {.time_s =
                               ((double)track->start + 0.5 * (double)track->settings.size) / track->settings.rate_hz,
                           .frequency_hz = NAN};
    DwToneFrame frame = nothing;
    double total, hz;
    size_t peak = find_peak(track, &total);
    hz = (double)peak * track->step_hz;
    if (peak == 0 || !isfinite(total) || hz < track->settings.low_hz / BAND || hz > track->settings.high_hz * BAND)
        return nothing;
    double tone = take_tone(track, peak, &frame);
    frame.lopsided = lopsidedness(track);
    bool heard = frame.power[0] + frame.power[1] > QUIETEST && tone >= DOMINANCE * total;
    return heard && frame.frequency_hz >= track->settings.low_hz && frame.frequency_hz < track->settings.high_hz
               ? frame
               : nothing;
}

void dw_tone_track_push(DwToneTrack *track, const float *interleaved, size_t frames, DwToneVisit visit, void *user)
{
    unsigned channels = track->settings.channels;
    size_t size = track->settings.size, hop = size / track->settings.overlap;
    for (size_t n = 0; n < frames; n++) {
        for (unsigned c = 0; c < channels; c++)
            track->sample[c][track->filled] = interleaved[n * channels + c];
        if (++track->filled < size)
            continue;
        DwToneFrame frame = measure_frame(track);
        visit(&frame, user);
        for (unsigned c = 0; c < channels; c++)
            memmove(track->sample[c], track->sample[c] + hop, (size - hop) * sizeof(double));
        track->filled = size - hop;
        track->start += hop;
    }
}

void dw_tone_track_skip(DwToneTrack *track, size_t count)
{
    track->start += track->filled + count;
    track->filled = 0;
}
