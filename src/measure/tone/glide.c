// SPDX-License-Identifier: MIT
#include "measure/tone/glide.h"

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

static const double OVER_NOISE = 12;      // in power, over the median bin
static const double STEADY = 0.03;        // of its frequency
static const double LEAST_STEADY_S = 1.8; // a turn at 33⅓
static const double BRIDGED_S = 0.06;     // the tone may be missing this long
static const double GATE_HZ = 40;         // from where the tone is foretold
static const double GATE_SHARE = 0.6;     // and this share of its change since the last value

// One short spectrum's strongest lines, strongest first; 0 Hz where there are fewer.
typedef struct {
    float frequency_hz[CANDIDATES], power[CANDIDATES];
} Frame;

struct DwGlide {
    DwGlideSettings settings;
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
    size_t taken;
    bool met_bad_sample;
};

static unsigned channels_of(const DwGlide *glide)
{
    return glide->settings.channels > 1 ? 2 : 1;
}

DwGlide *dw_glide_new(DwGlideSettings settings)
{
    DwGlide *glide = dw_memory_new(1, sizeof *glide);
    glide->settings = settings;
    glide->front_end = dw_front_end_new(settings.rate_hz, settings.channels);
    glide->rate_hz = dw_front_end_rate_hz(glide->front_end);
    glide->fft = dw_fft_new(FRAME);
    glide->pending = dw_memory_new(DW_FRONT_END_BLOCK * channels_of(glide), sizeof(float));
    for (unsigned c = 0; c < channels_of(glide); c++) {
        glide->bins[c] = dw_memory_new(BINS, sizeof **glide->bins);
        glide->before[c] = dw_memory_new(BINS, sizeof **glide->before);
    }
    return glide;
}

void dw_glide_free(DwGlide *glide)
{
    if (!glide)
        return;
    dw_front_end_free(glide->front_end);
    dw_fft_free(glide->fft);
    free(glide->pending);
    for (unsigned c = 0; c < 2; c++) {
        free(glide->samples[c]);
        free(glide->bins[c]);
        free(glide->before[c]);
    }
    free(glide->frames);
    free(glide);
}

bool dw_glide_met_bad_sample(const DwGlide *glide)
{
    return glide->met_bad_sample;
}

double dw_glide_length_s(const DwGlide *glide)
{
    return (double)glide->taken / glide->settings.rate_hz;
}

// --- the lines of a frame --------------------------------------------------------

// The frequency at a peak, from how far the phase of its bins advanced since
// the spectrum before, in turns that the bin itself makes unambiguous.
static double frequency_at(const DwGlide *glide, const double complex *advance, size_t peak)
{
    double complex sum = 0;
    for (size_t k = peak - BESIDE; k <= peak + BESIDE && k < BINS; k++)
        sum += advance[k];
    double expected = (double)peak * HOP / FRAME, turns = carg(sum) / (2 * M_PI);
    return (turns + round(expected - turns)) * glide->rate_hz / HOP;
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

static Frame find_candidates(const DwGlide *glide)
{
    double power[BINS] = {0};
    float sorted[BINS];
    double complex advance[BINS] = {0};
    for (unsigned c = 0; c < channels_of(glide); c++)
        for (size_t k = 0; k < BINS; k++) {
            const double *now = glide->bins[c][k], *before = glide->before[c][k];
            power[k] += now[0] * now[0] + now[1] * now[1];
            advance[k] += (now[0] + I * now[1]) * (before[0] - I * before[1]);
        }
    for (size_t k = 0; k < BINS; k++)
        sorted[k] = (float)power[k];
    double noise = dw_statistics_quantile(sorted, BINS, 0.5);
    Frame frame = {{0}, {0}};
    for (size_t k = LOWEST_BIN; k + 3 < BINS; k++)
        if (power[k] > power[k - 1] && power[k] >= power[k + 1] && power[k] > OVER_NOISE * noise && power[k] > 1e-12)
            keep_candidate(&frame, frequency_at(glide, advance, k), power[k]);
    return frame;
}

static void add_frame(DwGlide *glide, Frame frame)
{
    if (glide->frame_count == glide->frame_room) {
        glide->frame_room = glide->frame_room * 2 + 4096;
        glide->frames = dw_memory_resize(glide->frames, glide->frame_room, sizeof *glide->frames);
    }
    glide->frames[glide->frame_count++] = frame;
}

static void take_spectrum(DwGlide *glide)
{
    for (unsigned c = 0; c < channels_of(glide); c++) {
        double(*swap)[2] = glide->before[c];
        glide->before[c] = glide->bins[c];
        glide->bins[c] = swap;
        dw_fft_bins(glide->fft, glide->samples[c] + glide->first, glide->bins[c]);
    }
    if (glide->has_before)
        add_frame(glide, find_candidates(glide));
    glide->has_before = true;
    glide->first += HOP;
}

static void push_block(DwGlide *glide, const float *interleaved, size_t frames)
{
    DwFrontBlock block = dw_front_end_push(glide->front_end, interleaved, frames, NAN);
    if (!block.finite) {
        glide->met_bad_sample = true;
        return;
    }
    glide->taken += frames;
    for (unsigned c = 0; c < channels_of(glide); c++) {
        if (glide->count + block.count > glide->room)
            glide->samples[c] = dw_memory_resize(glide->samples[c], glide->count + block.count + FRAME, sizeof(float));
        memcpy(glide->samples[c] + glide->count, block.channel[c], block.count * sizeof(float));
    }
    glide->count += block.count;
    glide->room = glide->count + FRAME > glide->room ? glide->count + FRAME : glide->room;
    size_t most = (size_t)(glide->settings.keep_s * glide->rate_hz / HOP);
    while (glide->first + FRAME <= glide->count) {
        if (glide->frame_count < most)
            take_spectrum(glide);
        else
            glide->first += HOP;
    }
    for (unsigned c = 0; c < channels_of(glide); c++)
        memmove(glide->samples[c], glide->samples[c] + glide->first, (glide->count - glide->first) * sizeof(float));
    glide->count -= glide->first;
    glide->first = 0;
}

void dw_glide_push(DwGlide *glide, const float *interleaved, size_t frames)
{
    unsigned channels = channels_of(glide);
    while (frames > 0 && !glide->met_bad_sample) {
        size_t count = DW_FRONT_END_BLOCK - glide->pending_count;
        count = frames < count ? frames : count;
        memcpy(glide->pending + glide->pending_count * channels, interleaved, count * channels * sizeof(float));
        glide->pending_count += count;
        if (glide->pending_count == DW_FRONT_END_BLOCK) {
            push_block(glide, glide->pending, DW_FRONT_END_BLOCK);
            glide->pending_count = 0;
        }
        interleaved += count * channels;
        frames -= count;
    }
}

void dw_glide_finish(DwGlide *glide)
{
    if (glide->pending_count && !glide->met_bad_sample)
        push_block(glide, glide->pending, glide->pending_count);
    glide->pending_count = 0;
}

// --- following ----------------------------------------------------------------

static double frames_a_second(const DwGlide *glide)
{
    return glide->rate_hz / HOP;
}

// The frequency that the strongest line has most often, in steps of 1 %; 0 without any.
static double commonest(const DwGlide *glide)
{
    enum { STEPS = 700 }; // e^7: from 30 Hz to 33 kHz
    size_t seen[STEPS] = {0}, best = 0;
    for (size_t i = 0; i < glide->frame_count; i++) {
        double step = 100 * log(fmax(glide->frames[i].frequency_hz[0], 1) / 30.0);
        if (step >= 0 && step < STEPS)
            seen[(size_t)step]++;
    }
    for (size_t k = 0; k < STEPS; k++)
        best = seen[k] > seen[best] ? k : best;
    return seen[best] ? 30 * exp(((double)best + 0.5) / 100) : 0;
}

// The longest stretch [FROM, TO) in which the strongest line stays near that.
static void find_steady(const DwGlide *glide, size_t *from, size_t *to)
{
    double near = commonest(glide);
    size_t bridged = (size_t)(BRIDGED_S * frames_a_second(glide)), begun = 0, last = 0;
    bool inside = false;
    *from = *to = 0;
    for (size_t i = 0; i < glide->frame_count; i++) {
        bool fits = near > 0 && fabs((double)glide->frames[i].frequency_hz[0] / near - 1) <= STEADY;
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
    if ((double)(*to - *from) < LEAST_STEADY_S * frames_a_second(glide))
        *to = *from;
}

// Without a steady stretch: the first frame from which the strongest line moves evenly for a while.
static bool find_first(const DwGlide *glide, size_t *first)
{
    enum { EVEN = 16 };
    size_t even = 0, most = (size_t)frames_a_second(glide) + EVEN;
    for (size_t i = 1; i < glide->frame_count && i < most; i++) {
        double now = glide->frames[i].frequency_hz[0], before = glide->frames[i - 1].frequency_hz[0];
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
static void follow(const DwGlide *glide, size_t from, int step, double *found)
{
    Trend trend = {.count = 0};
    size_t missed = 0, bridged = (size_t)(BRIDGED_S * frames_a_second(glide));
    trend_add(&trend, (double)from, found[from]);
    for (size_t i = from; step > 0 ? i + 1 < glide->frame_count : i > 0;) {
        i = step > 0 ? i + 1 : i - 1;
        double slope, foretold = trend_at(&trend, (double)i, &slope);
        double nearest = GATE_HZ + GATE_SHARE * fabs(slope) * (double)(missed + TREND / 2), value = NAN;
        for (size_t k = 0; k < CANDIDATES; k++) {
            double candidate = glide->frames[i].frequency_hz[k];
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

bool dw_glide_speed_course(const DwGlide *glide, DwSpeedCourse *speed_course)
{
    *speed_course = (DwSpeedCourse){.lowest_hz = LOWEST_BIN * glide->rate_hz / FRAME};
    size_t from, to, anchor = 0;
    find_steady(glide, &from, &to);
    if (to > from)
        anchor = (from + to) / 2;
    else if (!find_first(glide, &anchor))
        return false;
    while (glide->frames[anchor].frequency_hz[0] <= 0)
        anchor++;
    double *found = dw_memory_new(glide->frame_count, sizeof *found);
    for (size_t i = 0; i < glide->frame_count; i++)
        found[i] = NAN;
    found[anchor] = glide->frames[anchor].frequency_hz[0];
    follow(glide, anchor, 1, found);
    follow(glide, anchor, -1, found);
    speed_course->seconds = dw_memory_new(glide->frame_count, sizeof(double));
    speed_course->frequency_hz = dw_memory_new(glide->frame_count, sizeof(double));
    for (size_t i = 0; i < glide->frame_count; i++) {
        if (i == from)
            speed_course->steady_from = speed_course->count;
        if (isnan(found[i]))
            continue;
        // Between the middles of two spectra.
        speed_course->seconds[speed_course->count] = ((double)i * HOP + (FRAME + HOP) / 2.0) / glide->rate_hz;
        speed_course->frequency_hz[speed_course->count++] = found[i];
        if (i < to)
            speed_course->steady_to = speed_course->count;
    }
    speed_course->steady_from = to > from ? speed_course->steady_from : speed_course->steady_to;
    free(found);
    return speed_course->count > 2;
}

void dw_glide_speed_course_clear(DwSpeedCourse *speed_course)
{
    free(speed_course->seconds);
    free(speed_course->frequency_hz);
    *speed_course = (DwSpeedCourse){0};
}
