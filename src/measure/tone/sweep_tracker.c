// SPDX-License-Identifier: MIT
#include "measure/tone/sweep_tracker.h"

#include "base/memory.h"
#include "dsp/spectrum.h"
#include "dsp/statistics.h"
#include "measure/tone/front_end.h"

#include <complex.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    FRAME = 256,
    HOP = 64,
    BINS = FRAME / 2 + 1,
    LOWEST_BIN = 2,
    CANDIDATES = 4,
    BESIDE = 2, // bins on either side that belong to a peak
    TREND = 8   // values that the next one is foretold from
};

static const double LOW_HZ = 1250;
static const double OVER_NOISE = 12;      // in power, over the median bin
static const double STEADY = 0.03;        // of its frequency
static const double WILD = 0.15;          // that a swing may stray
static const double LEAST_STEADY_S = 1.8; // a turn at 33⅓
static const double BRIDGED_S = 0.06;     // the tone may be missing this long
static const double GATE_HZ = 40;         // from where the tone is foretold
static const double GATE_SHARE = 0.6;     // and this share of its change since the last value

// One short spectrum's strongest lines, strongest first; 0 Hz where there are fewer.
typedef struct {
    float frequency_hz[CANDIDATES], power[CANDIDATES];
} Frame;

struct DwSweepTracker {
    DwSweepTrackerSettings settings;
    DwFrontEnd *front_end;
    double rate_hz;
    DwFft *fft;
    float *pending; // what the next whole block has so far
    size_t pending_count;
    float *samples[2]; // of each channel, from sample `first` on
    size_t first, count, room;
    double (*bins[2])[2], (*before[2])[2];
    bool has_before;
    Frame *frames; // frame i stands between spectra i and i + 1
    size_t frame_count, frame_room;
    float *low[2]; // means of LOW_EVERY samples
    size_t low_count, low_room, low_filled;
    double low_sum[2];
    size_t taken;
    bool met_bad_sample;
};

static unsigned channels_of(const DwSweepTracker *tracker)
{
    return tracker->settings.channels > 1 ? 2 : 1;
}

DwSweepTracker *dw_sweep_tracker_new(DwSweepTrackerSettings settings)
{
    DwSweepTracker *tracker = dw_memory_new(1, sizeof *tracker);
    tracker->settings = settings;
    tracker->front_end = dw_front_end_new(settings.rate_hz, settings.channels);
    tracker->rate_hz = dw_front_end_rate_hz(tracker->front_end);
    tracker->fft = dw_fft_new(FRAME);
    tracker->pending = dw_memory_new(DW_FRONT_END_BLOCK * channels_of(tracker), sizeof(float));
    for (unsigned c = 0; c < channels_of(tracker); c++) {
        tracker->bins[c] = dw_memory_new(BINS, sizeof **tracker->bins);
        tracker->before[c] = dw_memory_new(BINS, sizeof **tracker->before);
    }
    return tracker;
}

void dw_sweep_tracker_free(DwSweepTracker *tracker)
{
    if (!tracker)
        return;
    dw_front_end_free(tracker->front_end);
    dw_fft_free(tracker->fft);
    free(tracker->pending);
    for (unsigned c = 0; c < 2; c++) {
        free(tracker->samples[c]);
        free(tracker->low[c]);
        free(tracker->bins[c]);
        free(tracker->before[c]);
    }
    free(tracker->frames);
    free(tracker);
}

bool dw_sweep_tracker_met_bad_sample(const DwSweepTracker *tracker)
{
    return tracker->met_bad_sample;
}

double dw_sweep_tracker_length_s(const DwSweepTracker *tracker)
{
    return (double)tracker->taken / tracker->settings.rate_hz;
}

// --- the lines of a frame --------------------------------------------------------

// The frequency at a peak, from how far the phase of its bins advanced since
// the spectrum before, in turns that the bin itself makes unambiguous.
static double frequency_at(const DwSweepTracker *tracker, const double complex *advance, size_t peak)
{
    double complex sum = 0;
    for (size_t k = peak - BESIDE; k <= peak + BESIDE && k < BINS; k++)
        sum += advance[k];
    double expected = (double)peak * HOP / FRAME, turns = carg(sum) / (2 * M_PI);
    return (turns + round(expected - turns)) * tracker->rate_hz / HOP;
}

static void keep_candidate(Frame *frame, double frequency_hz, double power)
{
    size_t at = CANDIDATES;
    while (at > 0 && (double)frame->power[at - 1] < power)
        at--;
    if (at == CANDIDATES)
        return;
    for (size_t i = CANDIDATES - 1; i > at; i--) {
        frame->power[i] = frame->power[i - 1];
        frame->frequency_hz[i] = frame->frequency_hz[i - 1];
    }
    frame->power[at] = (float)power;
    frame->frequency_hz[at] = (float)frequency_hz;
}

static Frame find_candidates(const DwSweepTracker *tracker)
{
    double power[BINS] = {0};
    float sorted[BINS];
    double complex advance[BINS] = {0};
    for (unsigned c = 0; c < channels_of(tracker); c++)
        for (size_t k = 0; k < BINS; k++) {
            const double *now = tracker->bins[c][k], *before = tracker->before[c][k];
            power[k] += now[0] * now[0] + now[1] * now[1];
            advance[k] += (now[0] + I * now[1]) * (before[0] - I * before[1]);
        }
    for (size_t k = 0; k < BINS; k++)
        sorted[k] = (float)power[k];
    double noise = dw_statistics_quantile(sorted, BINS, 0.5);
    Frame frame = {{0}, {0}};
    for (size_t k = LOWEST_BIN; k + 3 < BINS; k++)
        if (power[k] > power[k - 1] && power[k] >= power[k + 1] && power[k] > OVER_NOISE * noise && power[k] > 1e-12)
            keep_candidate(&frame, frequency_at(tracker, advance, k), power[k]);
    return frame;
}

static void add_frame(DwSweepTracker *tracker, Frame frame)
{
    if (tracker->frame_count == tracker->frame_room) {
        tracker->frame_room = tracker->frame_room * 2 + 4096;
        tracker->frames = dw_memory_resize(tracker->frames, tracker->frame_room, sizeof *tracker->frames);
    }
    tracker->frames[tracker->frame_count++] = frame;
}

static void take_spectrum(DwSweepTracker *tracker)
{
    for (unsigned c = 0; c < channels_of(tracker); c++) {
        double(*swap)[2] = tracker->before[c];
        tracker->before[c] = tracker->bins[c];
        tracker->bins[c] = swap;
        dw_fft_bins(tracker->fft, tracker->samples[c] + tracker->first, tracker->bins[c]);
    }
    if (tracker->has_before)
        add_frame(tracker, find_candidates(tracker));
    tracker->has_before = true;
    tracker->first += HOP;
}

static size_t low_every(const DwSweepTracker *tracker)
{
    return (size_t)fmax(1, tracker->rate_hz / LOW_HZ);
}

// Takes means of some samples each of BLOCK: what comes fast is of no interest there.
static void keep_low(DwSweepTracker *tracker, const DwFrontBlock *block)
{
    size_t every = low_every(tracker), most = (size_t)(tracker->settings.keep_s * tracker->rate_hz) / every;
    for (size_t n = 0; n < block->count && tracker->low_count < most; n++) {
        for (unsigned c = 0; c < channels_of(tracker); c++)
            tracker->low_sum[c] += (double)block->channel[c][n];
        if (++tracker->low_filled < every)
            continue;
        if (tracker->low_count == tracker->low_room) {
            tracker->low_room = 2 * tracker->low_room + DW_FRONT_END_BLOCK;
            for (unsigned c = 0; c < channels_of(tracker); c++)
                tracker->low[c] = dw_memory_resize(tracker->low[c], tracker->low_room, sizeof(float));
        }
        for (unsigned c = 0; c < channels_of(tracker); c++) {
            tracker->low[c][tracker->low_count] = (float)(tracker->low_sum[c] / (double)every);
            tracker->low_sum[c] = 0;
        }
        tracker->low_count++;
        tracker->low_filled = 0;
    }
}

DwSweepLow dw_sweep_tracker_low(const DwSweepTracker *tracker, unsigned channel)
{
    double every = (double)low_every(tracker), rate_hz = tracker->rate_hz;
    size_t count = channel < channels_of(tracker) ? tracker->low_count : 0;
    return (DwSweepLow){tracker->low[channel], count, (every - 1) / 2 / rate_hz, every / rate_hz};
}

static void push_block(DwSweepTracker *tracker, const float *interleaved, size_t frames)
{
    DwFrontBlock block = dw_front_end_push(tracker->front_end, interleaved, frames, NAN);
    if (!block.finite) {
        tracker->met_bad_sample = true;
        return;
    }
    tracker->taken += frames;
    keep_low(tracker, &block);
    for (unsigned c = 0; c < channels_of(tracker); c++) {
        if (tracker->count + block.count > tracker->room)
            tracker->samples[c] =
                dw_memory_resize(tracker->samples[c], tracker->count + block.count + FRAME, sizeof(float));
        memcpy(tracker->samples[c] + tracker->count, block.channel[c], block.count * sizeof(float));
    }
    tracker->count += block.count;
    tracker->room = tracker->count + FRAME > tracker->room ? tracker->count + FRAME : tracker->room;
    size_t most = (size_t)(tracker->settings.keep_s * tracker->rate_hz / HOP);
    while (tracker->first + FRAME <= tracker->count) {
        if (tracker->frame_count < most)
            take_spectrum(tracker);
        else
            tracker->first += HOP;
    }
    for (unsigned c = 0; c < channels_of(tracker); c++)
        memmove(tracker->samples[c], tracker->samples[c] + tracker->first,
                (tracker->count - tracker->first) * sizeof(float));
    tracker->count -= tracker->first;
    tracker->first = 0;
}

void dw_sweep_tracker_push(DwSweepTracker *tracker, const float *interleaved, size_t frames)
{
    unsigned channels = channels_of(tracker);
    while (frames > 0 && !tracker->met_bad_sample) {
        size_t count = DW_FRONT_END_BLOCK - tracker->pending_count;
        count = frames < count ? frames : count;
        memcpy(tracker->pending + tracker->pending_count * channels, interleaved, count * channels * sizeof(float));
        tracker->pending_count += count;
        if (tracker->pending_count == DW_FRONT_END_BLOCK) {
            push_block(tracker, tracker->pending, DW_FRONT_END_BLOCK);
            tracker->pending_count = 0;
        }
        interleaved += count * channels;
        frames -= count;
    }
}

void dw_sweep_tracker_finish(DwSweepTracker *tracker)
{
    if (tracker->pending_count && !tracker->met_bad_sample)
        push_block(tracker, tracker->pending, tracker->pending_count);
    tracker->pending_count = 0;
}

// --- following ----------------------------------------------------------------

static double frames_a_second(const DwSweepTracker *tracker)
{
    return tracker->rate_hz / HOP;
}

// The frequency that the strongest line has most often, in steps of 1 %; 0 without any.
static double commonest(const DwSweepTracker *tracker)
{
    enum { STEPS = 700 }; // e^7: from 30 Hz to 33 kHz
    size_t seen[STEPS] = {0}, best = 0;
    for (size_t i = 0; i < tracker->frame_count; i++) {
        double step = 100 * log(fmax(tracker->frames[i].frequency_hz[0], 1) / 30.0);
        if (step >= 0 && step < STEPS)
            seen[(size_t)step]++;
    }
    for (size_t k = 0; k < STEPS; k++)
        best = seen[k] > seen[best] ? k : best;
    return seen[best] ? 30 * exp(((double)best + 0.5) / 100) : 0;
}

// The longest stretch [FROM, TO) in which the strongest line stays within the share WITHIN of NEAR.
static void find_stretch(const DwSweepTracker *tracker, double near, double within, size_t *from, size_t *to)
{
    size_t bridged = (size_t)(BRIDGED_S * frames_a_second(tracker)), begun = 0, last = 0;
    bool inside = false;
    *from = *to = 0;
    for (size_t i = 0; i < tracker->frame_count; i++) {
        bool fits = near > 0 && fabs((double)tracker->frames[i].frequency_hz[0] / near - 1) <= within;
        if (fits && !inside)
            begun = i;
        if (fits) {
            inside = true;
            last = i;
        } else if (i - last > bridged)
            inside = false;
        if (fits && last + 1 - begun > *to - *from) {
            *from = begun;
            *to = last + 1;
        }
    }
    if ((double)(*to - *from) < LEAST_STEADY_S * frames_a_second(tracker))
        *to = *from;
}

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

// Whether what is between FROM and TO swings about one speed and does not glide: its halves lie closer together than
// it strays.
static bool swings(const DwSweepTracker *tracker, size_t from, size_t to)
{
    size_t half = (to - from) / 2;
    double first = 0, second = 0, squares = 0;
    for (size_t i = 0; i < half; i++) {
        first += (double)tracker->frames[from + i].frequency_hz[0] / (double)half;
        second += (double)tracker->frames[to - 1 - i].frequency_hz[0] / (double)half;
    }
    for (size_t i = from; i < to; i++) {
        double off = (double)tracker->frames[i].frequency_hz[0] - (first + second) / 2;
        squares += off * off / (double)(to - from);
    }
    return fabs(first - second) < sqrt(squares) / 2;
}

// A control that swings wildly is never steady: the stretch in which it stays about its middle, as wide as it swings.
static void find_swinging(const DwSweepTracker *tracker, size_t *from, size_t *to)
{
    double *even = dw_memory_new(tracker->frame_count + 1, sizeof *even);
    size_t count = 0;
    for (size_t i = 1; i < tracker->frame_count; i++) {
        double now = tracker->frames[i].frequency_hz[0], before = tracker->frames[i - 1].frequency_hz[0];
        if (now > 0 && before > 0 && fabs(now - before) < GATE_HZ)
            even[count++] = now;
    }
    qsort(even, count, sizeof *even, ascending);
    find_stretch(tracker, count ? even[count / 2] : 0, WILD, from, to);
    free(even);
    if (*to > *from && !swings(tracker, *from, *to))
        *to = *from;
}

// Without a steady stretch: the first frame from which the strongest line moves evenly for a while.
static bool find_first(const DwSweepTracker *tracker, size_t *first)
{
    enum { EVEN = 16 };
    size_t even = 0, most = (size_t)frames_a_second(tracker) + EVEN;
    for (size_t i = 1; i < tracker->frame_count && i < most; i++) {
        double now = tracker->frames[i].frequency_hz[0], before = tracker->frames[i - 1].frequency_hz[0];
        even = now > 0 && before > 0 && fabs(now - before) < GATE_HZ ? even + 1 : 0;
        if (even == EVEN) {
            *first = i - EVEN;
            return true;
        }
    }
    return false;
}

// The last values followed, newest last, and how the next one is foretold.
typedef struct {
    double place[TREND], value[TREND];
    size_t count;
} Trend;

static void trend_add(Trend *trend, double place, double value)
{
    if (trend->count == TREND) {
        memmove(trend->place, trend->place + 1, (TREND - 1) * sizeof *trend->place);
        memmove(trend->value, trend->value + 1, (TREND - 1) * sizeof *trend->value);
        trend->count--;
    }
    trend->place[trend->count] = place;
    trend->value[trend->count++] = value;
}

// The value of the least-squares line at PLACE; SLOPE a frame.
static double trend_at(const Trend *trend, double place, double *slope)
{
    double mean_p = dw_statistics_mean(trend->place, trend->count),
           mean_v = dw_statistics_mean(trend->value, trend->count);
    double sum = 0, squares = 0;
    for (size_t i = 0; i < trend->count; i++) {
        sum += (trend->place[i] - mean_p) * (trend->value[i] - mean_v);
        squares += (trend->place[i] - mean_p) * (trend->place[i] - mean_p);
    }
    *slope = trend->count >= 3 && squares > 0 ? sum / squares : 0;
    return mean_v + *slope * (place - mean_p);
}

// Follows from frame FROM in steps of STEP (±1), writing into FOUND[frame] until the tone is lost.
static void follow(const DwSweepTracker *tracker, size_t from, int step, double *found)
{
    Trend trend = {.count = 0};
    size_t missed = 0, bridged = (size_t)(BRIDGED_S * frames_a_second(tracker));
    trend_add(&trend, (double)from, found[from]);
    for (size_t i = from; step > 0 ? i + 1 < tracker->frame_count : i > 0;) {
        i = step > 0 ? i + 1 : i - 1;
        double slope, foretold = trend_at(&trend, (double)i, &slope);
        double nearest = GATE_HZ + GATE_SHARE * fabs(slope) * (double)(missed + TREND / 2), value = NAN;
        for (size_t k = 0; k < CANDIDATES; k++) {
            double candidate = tracker->frames[i].frequency_hz[k];
            if (candidate > 0 && fabs(candidate - foretold) < nearest) {
                nearest = fabs(candidate - foretold);
                value = candidate;
            }
        }
        found[i] = value;
        if (!isnan(value)) {
            trend_add(&trend, (double)i, value);
            missed = 0;
        } else if (++missed > bridged)
            return;
    }
}

bool dw_sweep_tracker_course(const DwSweepTracker *tracker, DwSpeedCourse *speed_course)
{
    *speed_course = (DwSpeedCourse){.lowest_hz = LOWEST_BIN * tracker->rate_hz / FRAME};
    size_t from, to, anchor = 0;
    find_stretch(tracker, commonest(tracker), STEADY, &from, &to);
    if (to == from) {
        find_swinging(tracker, &from, &to);
        speed_course->swings = to > from;
    }
    if (to > from)
        anchor = (from + to) / 2;
    else if (!find_first(tracker, &anchor))
        return false;
    while (tracker->frames[anchor].frequency_hz[0] <= 0)
        anchor++;
    double *found = dw_memory_new(tracker->frame_count, sizeof *found);
    for (size_t i = 0; i < tracker->frame_count; i++)
        found[i] = NAN;
    found[anchor] = tracker->frames[anchor].frequency_hz[0];
    follow(tracker, anchor, 1, found);
    follow(tracker, anchor, -1, found);
    speed_course->seconds = dw_memory_new(tracker->frame_count, sizeof(double));
    speed_course->frequency_hz = dw_memory_new(tracker->frame_count, sizeof(double));
    for (size_t i = 0; i < tracker->frame_count; i++) {
        if (i == from)
            speed_course->steady_from = speed_course->count;
        if (isnan(found[i]))
            continue;
        // Between the middles of two spectra.
        speed_course->seconds[speed_course->count] = ((double)i * HOP + (FRAME + HOP) / 2.0) / tracker->rate_hz;
        speed_course->frequency_hz[speed_course->count++] = found[i];
        if (i < to)
            speed_course->steady_to = speed_course->count;
    }
    speed_course->steady_from = to > from ? speed_course->steady_from : speed_course->steady_to;
    free(found);
    return speed_course->count > 2;
}

void dw_sweep_tracker_course_clear(DwSpeedCourse *speed_course)
{
    free(speed_course->seconds);
    free(speed_course->frequency_hz);
    *speed_course = (DwSpeedCourse){0};
}
