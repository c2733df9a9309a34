// SPDX-License-Identifier: MIT
// Finds sweeps in the low-rate series: short-time spectra of sum and difference,
// of which one carries a tone that wanders steadily up or down.
#include "measure/sweep/lowsweep_analysis.h"

#include "base/memory.h"
#include "dsp/sections.h"
#include "dsp/spectrum.h"
#include "physics/riaa.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { OVERLAP = 4, BESIDE = 12 };
static const double LOW_HZ = 3.5, HIGH_HZ = 45;  // where a sweep is looked for
static const double WARP_HZ = 2;                 // warps below are taken off
static const double BAND = 1.5, SPREAD_BINS = 2; // what belongs to the tone
static const double DOMINANCE = 0.6;
static const double QUIETEST = 1e-10; // mean square: −97 dBFS
static const double GAP_S = 0.7;
static const double JUMP_OCTAVES = 0.12; // between spectra of one sweep
static const double LEAST_OCTAVES = 0.8, LEAST_S = 3;
static const double STANDS = 0.4;  // of a sweep's own pace
static const double UNDER_DB = 10; // what stands beside a sweep, and is none of it, under the mean of all
static const double DEAD = 0.003;  // of the other channel's power, 25 dB under it: crosstalk leaves no more
static const double LEAP_DB = 3;   // from one spectrum to the next: no sweep does that away from its resonance

typedef struct {
    double time_s, frequency_hz; // NAN without a tone
    double power;
    unsigned direction; // 0 lateral, 1 vertical
} Frame;

typedef struct {
    DwFft *fft;
    size_t size, bins;
    double step_hz;
    double *power[2]; // of each direction
} Spectra;

// Where one of two channels is all but dead, that which is alive is heard alone, which is of either direction.
// Returned: it, or −1.
static int living_channel(DwLowsweep *lowsweep, DwSections warps)
{
    double power[2] = {0, 0};
    if (lowsweep->channels < 2)
        return -1;
    for (size_t c = 0; c < 2; c++) {
        DwSections own = warps;
        for (size_t n = 0; n < lowsweep->count; n++) {
            double value = lowsweep->series[c][n];
            dw_sections_run(&own, &value, 1);
            power[c] += value * value;
        }
    }
    size_t louder = power[1] > power[0];
    if (power[1 - louder] > DEAD * power[louder])
        return -1;
    if (!lowsweep->directed)
        dw_lowsweep_direct(lowsweep, DW_LOWSWEEP_EITHER);
    return (int)louder;
}

// Sum and difference, each half of it, without the warps; of the LIVING channel alone where it is one.
static void split(const DwLowsweep *lowsweep, DwSections warps, int living, double *direction[2])
{
    size_t first = living > 0 ? 1 : 0, second = lowsweep->channels > 1 && living < 0 ? 1 : first;
    for (size_t n = 0; n < lowsweep->count; n++) {
        double left = lowsweep->series[first][n], right = lowsweep->series[second][n];
        direction[0][n] = 0.5 * (left + right);
        direction[1][n] = 0.5 * (left - right);
    }
    for (size_t d = 0; d < 2; d++) {
        DwSections own = warps;
        dw_sections_run(&own, direction[d], lowsweep->count);
    }
}

static void transform(Spectra *spectra, double *const direction[2], size_t start)
{
    for (size_t d = 0; d < 2; d++)
        dw_fft_power_double(spectra->fft, direction[d] + start, spectra->power[d]);
}

// The tone of one spectrum, in the direction that holds more.
static Frame measure_frame(const Spectra *spectra)
{
    size_t first = (size_t)ceil(LOW_HZ / spectra->step_hz), last = (size_t)(HIGH_HZ / spectra->step_hz);
    double total[2] = {0, 0};
    size_t peak[2] = {first, first};
    for (size_t d = 0; d < 2; d++)
        for (size_t k = first; k <= last && k < spectra->bins; k++) {
            total[d] += spectra->power[d][k];
            if (spectra->power[d][k] > spectra->power[d][peak[d]])
                peak[d] = k;
        }
    unsigned d = total[1] > total[0];
    double low = fmax(1, (double)peak[d] / BAND - SPREAD_BINS), high = (double)peak[d] * BAND + SPREAD_BINS;
    double sum = 0, moment = 0;
    for (size_t k = (size_t)low; k <= (size_t)high && k < spectra->bins; k++) {
        sum += spectra->power[d][k];
        moment += (double)k * spectra->power[d][k];
    }
    Frame frame = {.frequency_hz = NAN, .power = sum / 3, .direction = d};
    if (sum > DOMINANCE * (total[0] + total[1]) && frame.power > QUIETEST)
        frame.frequency_hz = moment / sum * spectra->step_hz;
    return frame;
}

// The rate of change of the input's frequency at FRAMES[I], from a straight line through the logarithms of those beside
// it: so many that how the output lags at the resonance, first less and then more, is passed over.
static double sweep_rate(const Frame *frames, size_t count, size_t i)
{
    double n = 0, t = 0, y = 0, tt = 0, ty = 0;
    for (size_t k = i > BESIDE ? i - BESIDE : 0; k <= i + BESIDE && k < count; k++) {
        double time = frames[k].time_s - frames[i].time_s, octave = log(frames[k].frequency_hz);
        n++;
        t += time;
        y += octave;
        tt += time * time;
        ty += time * octave;
    }
    double spread = n * tt - t * t;
    return spread > 0 ? frames[i].frequency_hz * (n * ty - t * y) / spread : 0;
}

// The record's cut and the chain's equalisation at FREQUENCY_HZ [dB].
static double expected_db(const DwLowsweepSettings *settings, double frequency_hz)
{
    double chain = settings->equalised ? dw_riaa_replay_db(frequency_hz, settings->subsonic) : 0;
    return chain + (settings->amplitude_cut ? 20 * log10(frequency_hz / 10) : 0);
}

// How fast FRAMES goes through its octaves from FIRST to LAST [octaves/s].
static double pace(const Frame *frames, size_t first, size_t last)
{
    return fabs(log2(frames[last].frequency_hz / frames[first].frequency_hz)) /
           (frames[last].time_s - frames[first].time_s);
}

// How many of COUNT frames from the one end (STEP 1) or the other (−1) stand there, as a line of hum or rumble does
// that a sweep begins or ends beside, far under it; with those up to the leap of level between. A resonance that rings
// on beside a fast sweep stands as well, but is no less loud.
static size_t standing(const Frame *frames, size_t count, int step)
{
    enum { SPAN = 2 * OVERLAP, REACH = SPAN + OVERLAP };
    size_t left = 0, leapt = 0;
    double least = STANDS * pace(frames, 0, count - 1);
    for (; left + 2 * SPAN < count; left++) {
        size_t first = step > 0 ? left : count - 1 - left - SPAN;
        if (pace(frames, first, first + SPAN) >= least)
            break;
    }
    for (size_t k = 1; left && k <= REACH && left + k < count; k++) {
        size_t here = step > 0 ? left + k : count - 1 - left - k, before = step > 0 ? here - 1 : here + 1;
        if (fabs(10 * log10(frames[here].power / frames[before].power)) > LEAP_DB)
            leapt = k;
    }
    double stood_db = 0, run_db = 0;
    for (size_t i = 0; i < count; i++) {
        double level_db = 10 * log10(frames[i].power);
        run_db += level_db / (double)count;
        stood_db += (step > 0 ? i : count - 1 - i) < left ? level_db / (double)left : 0;
    }
    return leapt && stood_db < run_db - UNDER_DB ? left + leapt : 0;
}

// Whether COUNT frames in a row are a sweep.
static bool is_sweep(const Frame *frames, size_t count)
{
    double steady = 0, octaves = fabs(log2(frames[count - 1].frequency_hz / frames[0].frequency_hz));
    for (size_t i = 1; i < count; i++)
        steady += fabs(log2(frames[i].frequency_hz / frames[i - 1].frequency_hz));
    return octaves >= LEAST_OCTAVES && octaves >= 0.7 * steady &&
           frames[count - 1].time_s - frames[0].time_s >= LEAST_S;
}

// What the sweep that FRAME is of is kept as.
static DwLowsweepDirection direction_of(const DwLowsweep *lowsweep, const Frame *frame)
{
    if (lowsweep->directed)
        return lowsweep->direction;
    if (lowsweep->settings.polarity_known)
        return frame->direction ? DW_LOWSWEEP_VERTICAL : DW_LOWSWEEP_LATERAL;
    return frame->direction ? DW_LOWSWEEP_OPPOSITE : DW_LOWSWEEP_IN_PHASE;
}

// Keeps COUNT frames in a row as the sweep of their direction, when they are one
// and wider than what was met before. The spectra at its ends, which it fills
// only in part, are left out.
static void keep_sweep(DwLowsweep *lowsweep, const Frame *frames, size_t count, const DwSections *warps)
{
    enum { EDGE = OVERLAP - 1, LEAST = 2 * EDGE + 8 };
    if (count < LEAST)
        return;
    size_t before = standing(frames, count, 1), after = standing(frames, count, -1);
    if (count < before + after + LEAST)
        return;
    frames += before + EDGE;
    count -= before + after + 2 * EDGE;
    double begin = frames[0].frequency_hz, end = frames[count - 1].frequency_hz;
    DwLowsweepDirection direction = direction_of(lowsweep, &frames[0]);
    DwLowsweepSweep *sweep = &lowsweep->sweep[direction];
    bool wider = !sweep->points || fabs(log2(end / begin)) > log2(sweep->high_hz / sweep->low_hz);
    if (!is_sweep(frames, count))
        return;
    lowsweep->alone_met += direction == DW_LOWSWEEP_EITHER;
    if (!wider)
        return;
    sweep->points = dw_memory_resize(sweep->points, count, sizeof *sweep->points);
    sweep->count = count;
    sweep->recording = lowsweep->recordings;
    sweep->start_s = lowsweep->start_s + frames[0].time_s;
    sweep->end_s = lowsweep->start_s + frames[count - 1].time_s;
    sweep->low_hz = fmin(begin, end);
    sweep->high_hz = fmax(begin, end);
    for (size_t i = 0; i < count; i++) {
        double hz = frames[i].frequency_hz;
        sweep->points[i] = (DwResonancePoint){hz, sweep_rate(frames, count, i),
                                              10 * log10(2 * frames[i].power) - expected_db(&lowsweep->settings, hz) -
                                                  20 * log10(dw_sections_gain(warps, hz, lowsweep->low_rate_hz))};
    }
}

// Parts the frames into sweeps.
static void find_runs(DwLowsweep *lowsweep, const Frame *frames, size_t count, const DwSections *warps)
{
    Frame *run = dw_memory_new(count + 1, sizeof *run);
    for (unsigned direction = 0; direction < 2; direction++) {
        size_t length = 0;
        for (size_t i = 0; i < count; i++) {
            if (isnan(frames[i].frequency_hz) || frames[i].direction != direction)
                continue;
            const Frame *last = length ? &run[length - 1] : NULL;
            if (last && (frames[i].time_s - last->time_s > GAP_S ||
                         fabs(log2(frames[i].frequency_hz / last->frequency_hz)) > JUMP_OCTAVES)) {
                keep_sweep(lowsweep, run, length, warps);
                length = 0;
            }
            run[length++] = frames[i];
        }
        keep_sweep(lowsweep, run, length, warps);
    }
    free(run);
}

// The standard deviation in time of a Hann window's power, as a share of its length.
static double window_share(void)
{
    enum { STEPS = 1000 };
    double sum = 0, squares = 0;
    for (int i = 0; i < STEPS; i++) {
        double u = (i + 0.5) / STEPS - 0.5, power = pow(1 + cos(2 * M_PI * u), 2);
        sum += power;
        squares += power * u * u;
    }
    return sqrt(squares / sum);
}

void dw_lowsweep_find(DwLowsweep *lowsweep)
{
    Spectra spectra = {.size = (size_t)lround(DW_LOWSWEEP_WINDOW_S * lowsweep->low_rate_hz) / OVERLAP * OVERLAP};
    lowsweep->window_s = window_share() * (double)spectra.size / lowsweep->low_rate_hz;
    if (lowsweep->count < spectra.size)
        return;
    DwSections warps = dw_sections_highpass(4, WARP_HZ, lowsweep->low_rate_hz);
    double *direction[2];
    spectra.bins = spectra.size / 2 + 1;
    spectra.step_hz = lowsweep->low_rate_hz / (double)spectra.size;
    spectra.fft = dw_fft_new(spectra.size);
    for (size_t d = 0; d < 2; d++) {
        direction[d] = dw_memory_new(lowsweep->count, sizeof(double));
        spectra.power[d] = dw_memory_new(spectra.bins, sizeof(double));
    }
    split(lowsweep, warps, living_channel(lowsweep, warps), direction);
    size_t hop = spectra.size / OVERLAP, count = (lowsweep->count - spectra.size) / hop + 1;
    Frame *frames = dw_memory_new(count, sizeof *frames);
    for (size_t i = 0; i < count; i++) {
        transform(&spectra, direction, i * hop);
        frames[i] = measure_frame(&spectra);
        frames[i].time_s = ((double)(i * hop) + 0.5 * (double)spectra.size) / lowsweep->low_rate_hz;
    }
    find_runs(lowsweep, frames, count, &warps);
    free(frames);
    for (size_t d = 0; d < 2; d++) {
        free(direction[d]);
        free(spectra.power[d]);
    }
    dw_fft_free(spectra.fft);
}
