// SPDX-License-Identifier: MIT
#include "measure/live/live_tone.h"

#include "base/memory.h"
#include "measure/tone/tone_join.h"
#include "measure/tone/tone_search.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double LOST_S = 0.6; // as long as this without it, the tone has ended
static const double LEAST_DOMINANCE = 0.4;
static const double FARTHEST_OFF = 0.06;   // of the tone's frequency, while it runs
static const double QUIETEST_POWER = 1e-8; // of a tone at −80 dBFS
static const double BELOW_NYQUIST_HZ = 220;
static const double SLACK_S = 3; // dropped at a time, so that little is moved
static const double FIT_S = 1;   // judged by the last second: a deck may have been running up

struct DwLiveTone {
    double rate_hz, tone_hz;
    size_t room; // values that the run's arrays hold
    DwDemodulator *demodulator;
    DwToneSearch *search;
    size_t search_at;
    DwLiveToneState state;
    size_t runs;
    bool is_following;
    DwToneRun run;
    DwToneJoin join;
    DwWindow heard;
    size_t begun, taken_to;  // stream places between which samples were demodulated
    size_t watched, good_to; // values since the run began
};

DwLiveTone *dw_live_tone_new(double rate_hz, double tone_hz, double keep_s)
{
    DwLiveTone *tone = dw_memory_new(1, sizeof *tone);
    tone->rate_hz = rate_hz;
    tone->tone_hz = tone_hz;
    tone->demodulator = dw_demodulator_new(rate_hz);
    tone->search = dw_tone_search_new(rate_hz);
    tone->room = (size_t)((keep_s + SLACK_S) * dw_demodulator_rate_hz(tone->demodulator));
    tone->run.deviation_hz = dw_memory_new(tone->room, sizeof(float));
    tone->run.amplitude = dw_memory_new(tone->room, sizeof(float));
    return tone;
}

void dw_live_tone_free(DwLiveTone *tone)
{
    if (!tone)
        return;
    dw_demodulator_free(tone->demodulator);
    dw_tone_search_free(tone->search);
    free(tone->run.deviation_hz);
    free(tone->run.amplitude);
    free(tone->heard.values);
    free(tone);
}

DwLiveToneState dw_live_tone_state(const DwLiveTone *tone)
{
    return tone->state;
}

const DwToneRun *dw_live_tone_run(const DwLiveTone *tone)
{
    return tone->is_following ? &tone->run : NULL;
}

size_t dw_live_tone_runs(const DwLiveTone *tone)
{
    return tone->runs;
}

size_t dw_live_tone_good_to(const DwLiveTone *tone)
{
    return tone->good_to;
}

const DwDemodulator *dw_live_tone_demodulator(const DwLiveTone *tone)
{
    return tone->demodulator;
}

static size_t values_of(const DwLiveTone *tone)
{
    return tone->run.dropped + tone->run.count;
}

// The stream place of the centre of the INDEXth value since the run began.
static size_t value_place(const DwLiveTone *tone, size_t index)
{
    return tone->begun + dw_demodulator_lead(tone->demodulator) + index * dw_demodulator_step(tone->demodulator);
}

static void begin(DwLiveTone *tone, const DwWindow channel[2], size_t from, size_t to, double frequency_hz)
{
    tone->join = dw_tone_join_find(channel, from, to, frequency_hz, tone->rate_hz);
    if (from < channel[0].start + tone->join.lag)
        from += tone->join.lag;
    DwToneRun *run = &tone->run;
    *run = (DwToneRun){.centre_hz = frequency_hz,
                       .rate_hz = dw_demodulator_rate_hz(tone->demodulator),
                       .deviation_hz = run->deviation_hz,
                       .amplitude = run->amplitude,
                       .share = {tone->join.share[0], tone->join.share[1]},
                       .reversed = tone->join.reversed};
    run->fit = dw_tone_fit_of(frequency_hz, tone->tone_hz, &run->engraved_hz);
    dw_demodulator_start(tone->demodulator, frequency_hz, tone->join.weight);
    tone->begun = tone->taken_to = from;
    tone->watched = tone->good_to = 0;
    run->start_s = (double)value_place(tone, 0) / tone->rate_hz;
    dw_window_restart(&tone->heard, from);
    tone->is_following = true;
    tone->state = DW_LIVE_TONE_HEARD;
    tone->runs++;
}

static void end(DwLiveTone *tone, DwLiveToneState state, size_t place)
{
    tone->search_at = place;
    tone->is_following = false;
    tone->state = state;
    dw_tone_search_reset(tone->search);
}

void dw_live_tone_break(DwLiveTone *tone, size_t place)
{
    end(tone, DW_LIVE_TONE_LOST, place);
}

static void add_value(DwLiveTone *tone, double deviation_hz, double amplitude)
{
    DwToneRun *run = &tone->run;
    if (run->count == tone->room) {
        size_t drop = (size_t)(SLACK_S * run->rate_hz);
        run->count -= drop;
        memmove(run->deviation_hz, run->deviation_hz + drop, run->count * sizeof(float));
        memmove(run->amplitude, run->amplitude + drop, run->count * sizeof(float));
        run->dropped += drop;
        run->start_s += (double)drop / run->rate_hz;
    }
    run->deviation_hz[run->count] = (float)deviation_hz;
    run->amplitude[run->count++] = (float)amplitude;
}

// Judges what the tone is by its last second.
static void settle_fit(DwLiveTone *tone)
{
    DwToneRun *run = &tone->run;
    size_t span = (size_t)(FIT_S * run->rate_hz), from = run->count > span ? run->count - span : 0;
    double sum = 0;
    for (size_t i = from; i < run->count; i++)
        sum += (double)run->deviation_hz[i];
    if (run->count > from)
        run->fit = dw_tone_fit_of(run->centre_hz + sum / (double)(run->count - from), tone->tone_hz, &run->engraved_hz);
}

// The mean power heard beside and with the values from FIRST on.
static double heard_power(const DwLiveTone *tone, size_t first)
{
    size_t from = value_place(tone, first), to = value_place(tone, values_of(tone));
    double sum = 0;
    for (size_t n = from; n < to; n++)
        sum += (double)tone->heard.values[n - tone->heard.start];
    return to > from ? sum / (double)(to - from) : 0;
}

// Looks at the new values: is the tone still what is heard?
static void watch(DwLiveTone *tone)
{
    const DwToneRun *run = &tone->run;
    size_t total = values_of(tone), count = total - tone->watched;
    if (count == 0)
        return;
    double power = 0, deviation = 0;
    for (size_t i = run->count - count; i < run->count; i++) {
        double each = (double)run->amplitude[i] * (double)run->amplitude[i];
        power += each;
        deviation += each * (double)run->deviation_hz[i];
    }
    double heard = heard_power(tone, tone->watched), mean = power / (double)count;
    double dominance = heard > 0 ? mean / heard / tone->join.power_of_pure : 0;
    bool steady = power > 0 && fabs(deviation / power) <= FARTHEST_OFF * run->centre_hz;
    bool is_there = dominance >= LEAST_DOMINANCE && mean > QUIETEST_POWER;
    tone->watched = total;
    if (is_there && steady) {
        tone->good_to = total;
        tone->state = DW_LIVE_TONE_HEARD;
        settle_fit(tone);
    } else if (is_there)
        tone->state = DW_LIVE_TONE_WANDERED;
    else if (tone->state == DW_LIVE_TONE_HEARD)
        tone->state = DW_LIVE_TONE_FADED;
    if ((double)(total - tone->good_to) >= LOST_S * run->rate_hz)
        end(tone, tone->state == DW_LIVE_TONE_WANDERED ? tone->state : DW_LIVE_TONE_LOST,
            value_place(tone, tone->good_to));
}

static void follow(DwLiveTone *tone, const DwWindow channel[2])
{
    double deviation_hz = 0, amplitude = 0;
    size_t end = dw_window_end(&channel[0]);
    dw_tone_join_demodulate(&tone->join, channel, tone->taken_to, end, tone->demodulator, &tone->heard);
    tone->taken_to = end;
    while (dw_demodulator_next(tone->demodulator, &deviation_hz, &amplitude))
        add_value(tone, deviation_hz, amplitude);
    watch(tone);
    if (tone->is_following)
        dw_window_forget(&tone->heard, value_place(tone, tone->watched));
}

static void search(DwLiveTone *tone, const DwWindow channel[2])
{
    size_t frame = dw_tone_search_frame(tone->search), hop = dw_tone_search_hop(tone->search);
    const DwWindow *left = &channel[0], *right = &channel[1];
    if (tone->search_at < left->start)
        tone->search_at = left->start;
    while (!tone->is_following && tone->search_at + frame <= dw_window_end(left)) {
        size_t at = tone->search_at - left->start, last = tone->search_at;
        double frequency_hz = 0;
        bool found = dw_tone_search_push(tone->search, left->values + at, right->values ? right->values + at : NULL,
                                         &frequency_hz);
        tone->search_at += hop;
        size_t back = dw_tone_search_hops_back() * hop;
        if (found && frequency_hz + BELOW_NYQUIST_HZ < tone->rate_hz / 2)
            begin(tone, channel, last > left->start + back ? last - back : left->start, last + frame, frequency_hz);
    }
}

void dw_live_tone_take(DwLiveTone *tone, const DwWindow channel[2])
{
    if (!tone->is_following)
        search(tone, channel);
    if (tone->is_following)
        follow(tone, channel);
}
