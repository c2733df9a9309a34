// SPDX-License-Identifier: MIT
#include "measure/tone/carrier.h"

#include "base/memory.h"
#include "base/wide.h"
#include "measure/tone/front_end.h"
#include "measure/tone/tone_join.h"
#include "measure/tone/tone_search.h"
#include "measure/tone/window.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double HISTORY_S = 4;    // of samples, for a tone noticed late
static const double WATCH_S = 0.064;  // pieces in which a running tone is watched
static const double LOST_S = 0.6;     // as long as this without it, the tone has ended
static const double LEAST_RUN_S = 1;  // shorter stretches are not worth keeping
static const double LONG_RUN_S = 6;   // three turns and a little
static const double SAME_TONE = 0.01; // runs as near to the tone as this are equally near
static const double LEAST_DOMINANCE = 0.4;
static const double FARTHEST_OFF = 0.35;    // of the tone's frequency, while it runs
static const double RETUNE_HZ = 45;         // the mixer follows a tone that strays further
static const double LEAD_HZ = 60;           // and goes ahead of it by this at most
static const double QUIETEST_POWER = 1e-8;  // of a tone at −80 dBFS
static const double BELOW_NYQUIST_HZ = 220; // room that the tone's sidebands need

enum { PASSAGES_MOST = 32 };

// The tone being followed.
typedef struct {
    DwToneRun run;
    DwToneJoin join;
    size_t begun, taken_to; // stream places between which samples were demodulated
    size_t values;          // demodulated so far
    // The watch on it.
    size_t watched; // values of the series that were watched
    size_t good_to; // values up to the last good piece
} Following;

struct DwCarrier {
    DwCarrierSettings settings;
    DwFrontEnd *front_end;
    double rate_hz; // of the front end
    DwDemodulator *demodulator;
    DwToneSearch *search;
    size_t search_at; // stream place of the next frame to search
    DwWindow history[2];
    DwWindow heard; // power of the channels above rumble and hum, sample by sample
    float *pending; // what the next whole block has so far
    size_t pending_count, block;
    bool is_following;
    Following following;
    DwToneRun best;
    DwTonePassage passage[PASSAGES_MOST];
    size_t passages;
    size_t frames; // taken
    size_t blocks;
    bool met_bad_sample;
    double bad_second;
};

static unsigned channels_of(const DwCarrierSettings *settings)
{
    return settings->channels > 1 ? 2 : 1;
}

DwCarrier *dw_carrier_new(DwCarrierSettings settings)
{
    assert(settings.rate_hz >= 6000 && settings.channels >= 1);
    DwCarrier *carrier = dw_memory_new(1, sizeof *carrier);
    carrier->settings = settings;
    double top_hz = dw_tone_fit_highest_hz(settings.tone_hz);
    carrier->front_end = dw_front_end_new_for(settings.rate_hz, settings.channels, top_hz);
    carrier->rate_hz = dw_front_end_rate_hz(carrier->front_end);
    carrier->demodulator = dw_demodulator_new(carrier->rate_hz);
    carrier->search = dw_tone_search_new(carrier->rate_hz);
    carrier->block = settings.rate_hz < 20000 ? 1024 : settings.rate_hz < 40000 ? 2048 : DW_FRONT_END_BLOCK;
    carrier->pending = dw_memory_new(DW_FRONT_END_BLOCK * channels_of(&settings), sizeof(float));
    return carrier;
}

static void clear_run(DwToneRun *run)
{
    free(run->deviation_hz);
    free(run->amplitude);
    *run = (DwToneRun){0};
}

void dw_carrier_free(DwCarrier *carrier)
{
    if (!carrier)
        return;
    dw_front_end_free(carrier->front_end);
    dw_demodulator_free(carrier->demodulator);
    dw_tone_search_free(carrier->search);
    free(carrier->history[0].values);
    free(carrier->history[1].values);
    free(carrier->heard.values);
    free(carrier->pending);
    clear_run(&carrier->following.run);
    clear_run(&carrier->best);
    free(carrier);
}

const DwDemodulator *dw_carrier_demodulator(const DwCarrier *carrier)
{
    return carrier->demodulator;
}

double dw_carrier_length_s(const DwCarrier *carrier)
{
    return (double)carrier->frames / carrier->settings.rate_hz;
}

bool dw_carrier_met_bad_sample(const DwCarrier *carrier, double *second)
{
    if (carrier->met_bad_sample)
        *second = carrier->bad_second;
    return carrier->met_bad_sample;
}

// --- what the tone is --------------------------------------------------------

// Settles what the tone was by the latter half of the run: the deck may still
// have been running up when it was noticed.
static void settle_fit(const DwCarrier *carrier, DwToneRun *run)
{
    double sum = 0;
    size_t from = run->count / 2;
    for (size_t i = from; i < run->count; i++)
        sum += (double)run->deviation_hz[i];
    if (run->count > from) {
        run->late_hz = run->centre_hz + sum / (double)(run->count - from);
        run->fit = dw_tone_fit_of(run->late_hz, carrier->settings.tone_hz, &run->engraved_hz);
    }
}

static double distance(const DwToneRun *run)
{
    return isfinite(run->engraved_hz) ? fabs(log(run->late_hz / run->engraved_hz)) : INFINITY;
}

// Of two that fit alike and are long enough the nearer to the tone, else the longer.
static bool is_better(const DwToneRun *a, const DwToneRun *b)
{
    if (a->fit != b->fit)
        return a->fit > b->fit;
    double least = LONG_RUN_S * a->rate_hz;
    bool both = (double)a->count >= least && (double)b->count >= least;
    if (both && isfinite(a->engraved_hz) && fabs(distance(a) - distance(b)) > SAME_TONE)
        return distance(a) < distance(b);
    return a->count > b->count;
}

bool dw_carrier_best(const DwCarrier *carrier, DwToneRun *view)
{
    *view = carrier->best;
    if (carrier->is_following) {
        DwToneRun running = carrier->following.run;
        running.count = carrier->following.good_to;
        settle_fit(carrier, &running);
        if (running.count && (!view->count || is_better(&running, view)))
            *view = running;
    }
    return view->count > 0;
}

size_t dw_carrier_passages(const DwCarrier *carrier, const DwTonePassage **passages)
{
    *passages = carrier->passage;
    return carrier->passages;
}

// --- beginning and ending a run ----------------------------------------------

// The stream place of the centre of the INDEXth value since the run began.
static size_t value_place(const DwCarrier *carrier, size_t index)
{
    return carrier->following.begun + dw_demodulator_lead(carrier->demodulator) +
           index * dw_demodulator_step(carrier->demodulator);
}

static void begin_following(DwCarrier *carrier, size_t from, size_t to, double frequency_hz)
{
    Following *following = &carrier->following;
    *following = (Following){0};
    DwToneRun *run = &following->run;
    run->centre_hz = frequency_hz;
    run->rate_hz = dw_demodulator_rate_hz(carrier->demodulator);
    run->fit = dw_tone_fit_of(frequency_hz, carrier->settings.tone_hz, &run->engraved_hz);
    DwToneJoin *join = &following->join;
    *join = dw_tone_join_find(carrier->history, from, to, frequency_hz, carrier->rate_hz);
    run->share[0] = join->share[0];
    run->share[1] = join->share[1];
    run->reversed = join->reversed;
    if (from < carrier->history[0].start + join->lag)
        from += join->lag;
    dw_demodulator_start(carrier->demodulator, frequency_hz, join->weight);
    following->begun = following->taken_to = from;
    run->start_s = (double)value_place(carrier, 0) / carrier->rate_hz;
    dw_window_restart(&carrier->heard, from);
    carrier->is_following = true;
}

static void end_following(DwCarrier *carrier)
{
    Following *following = &carrier->following;
    DwToneRun *run = &following->run;
    carrier->search_at = value_place(carrier, following->good_to + run->dropped);
    size_t kept = following->good_to;
    run->count = kept < run->count ? kept : run->count;
    settle_fit(carrier, run);
    if ((double)run->count >= LEAST_RUN_S * run->rate_hz && carrier->passages < PASSAGES_MOST)
        carrier->passage[carrier->passages++] =
            (DwTonePassage){run->start_s, run->start_s + (double)run->count / run->rate_hz, run->late_hz};
    if ((double)run->count >= LEAST_RUN_S * run->rate_hz && (!carrier->best.count || is_better(run, &carrier->best))) {
        clear_run(&carrier->best);
        carrier->best = *run;
        *run = (DwToneRun){0};
    } else
        clear_run(run);
    carrier->is_following = false;
    dw_tone_search_reset(carrier->search);
}

// --- following ----------------------------------------------------------------

// Keeps the series within its bound by dropping a tenth from the front.
static void bound_run(const DwCarrier *carrier, Following *following)
{
    DwToneRun *run = &following->run;
    size_t most = (size_t)(carrier->settings.keep_s * run->rate_hz);
    if (run->count < most || most == 0)
        return;
    size_t drop = most / 10 + 1;
    memmove(run->deviation_hz, run->deviation_hz + drop, (run->count - drop) * sizeof(float));
    memmove(run->amplitude, run->amplitude + drop, (run->count - drop) * sizeof(float));
    run->count -= drop;
    run->dropped += drop;
    run->start_s += (double)drop / run->rate_hz;
    following->watched -= drop;
    following->good_to = following->good_to > drop ? following->good_to - drop : 0;
}

// Grows both arrays by an eighth at a time: a side's series is the largest thing held.
static void add_value(DwToneRun *run, double deviation_hz, double amplitude)
{
    if (run->count % 65536 == 0) {
        run->deviation_hz = dw_memory_resize(run->deviation_hz, run->count + 65536, sizeof(float));
        run->amplitude = dw_memory_resize(run->amplitude, run->count + 65536, sizeof(float));
    }
    run->deviation_hz[run->count] = (float)deviation_hz;
    run->amplitude[run->count] = (float)amplitude;
    run->count++;
}

// In lanes, so that the loop vectorises.
DW_WIDE static double sum_of(const float *values, size_t count)
{
    enum { LANES = 16 };
    double lane[LANES] = {0}, sum = 0;
    size_t n = 0;
    for (; n + LANES <= count; n += LANES)
        for (size_t i = 0; i < LANES; i++)
            lane[i] += (double)values[n + i];
    for (; n < count; n++)
        sum += (double)values[n];
    for (size_t i = 0; i < LANES; i++)
        sum += lane[i];
    return sum;
}

// The mean power heard over the last COUNT values.
static double heard_power(const DwCarrier *carrier, size_t count)
{
    size_t samples = count * dw_demodulator_step(carrier->demodulator);
    size_t end = value_place(carrier, carrier->following.values);
    return sum_of(carrier->heard.values + (end - samples - carrier->heard.start), samples) / (double)samples;
}

// Lets the mixer follow where the last piece of COUNT values heads: what it is told now
// holds for samples that are read a while later.
static void retune(const DwCarrier *carrier, const Following *following, size_t count)
{
    const DwToneRun *run = &following->run;
    size_t half = count / 2;
    double early = 0, late = 0;
    for (size_t i = 0; i < half; i++) {
        early += (double)run->deviation_hz[run->count - count + i] / (double)half;
        late += (double)run->deviation_hz[run->count - half + i] / (double)half;
    }
    if (fabs(late - dw_demodulator_tuned_hz(carrier->demodulator)) < RETUNE_HZ)
        return;
    double ahead = (double)(following->taken_to - value_place(carrier, following->values)) / carrier->rate_hz;
    double slope = (late - early) * run->rate_hz / (double)(count - half);
    double lead = fmax(-LEAD_HZ, fmin(LEAD_HZ, slope * ahead)), farthest = FARTHEST_OFF * run->centre_hz;
    dw_demodulator_retune(carrier->demodulator, fmax(-farthest, fmin(farthest, late + lead)));
}

// Looks at the last piece of the run: is the tone still what is heard?
// Returned: false when it has been missing for too long.
static bool watch(const DwCarrier *carrier, Following *following)
{
    const DwToneRun *run = &following->run;
    double tone = 0, deviation = 0;
    size_t count = run->count - following->watched;
    for (size_t i = following->watched; i < run->count; i++) {
        double power = (double)run->amplitude[i] * (double)run->amplitude[i];
        tone += power;
        deviation += power * (double)run->deviation_hz[i];
    }
    double heard = heard_power(carrier, count);
    double dominance = heard > 0 ? tone / (double)count / heard / following->join.power_of_pure : 0;
    bool steady = tone > 0 && fabs(deviation / tone) <= FARTHEST_OFF * run->centre_hz;
    bool loud = tone / (double)count > QUIETEST_POWER;
    following->watched = run->count;
    if (dominance >= LEAST_DOMINANCE && steady && loud) {
        following->good_to = run->count;
        retune(carrier, following, count);
    }
    return (double)(run->count - following->good_to) < LOST_S * run->rate_hz;
}

// Hands the demodulator the next samples that came in, and notes their power: few enough
// for the mixer to keep up with a tone that strays. Returned: false without any.
static bool take_samples(DwCarrier *carrier)
{
    Following *following = &carrier->following;
    size_t end = dw_window_end(&carrier->history[0]), most = (size_t)(WATCH_S * carrier->rate_hz);
    if (following->taken_to >= end)
        return false;
    end = end - following->taken_to > most ? following->taken_to + most : end;
    dw_tone_join_demodulate(&following->join, carrier->history, following->taken_to, end, carrier->demodulator,
                            &carrier->heard);
    following->taken_to = end;
    return true;
}

// Reads the values that are complete. Returned: false when the tone has ended.
static bool read_values(DwCarrier *carrier)
{
    Following *following = &carrier->following;
    size_t piece = (size_t)(WATCH_S * following->run.rate_hz);
    double deviation_hz = 0, amplitude = 0;
    while (dw_demodulator_next(carrier->demodulator, &deviation_hz, &amplitude)) {
        following->values++;
        bound_run(carrier, following);
        add_value(&following->run, deviation_hz, amplitude);
        if (following->run.count - following->watched >= piece && !watch(carrier, following))
            return false;
    }
    size_t behind = piece + 1; // the piece under watch is still needed
    if (following->values > behind)
        dw_window_forget(&carrier->heard, value_place(carrier, following->values - behind));
    return true;
}

static void follow(DwCarrier *carrier)
{
    while (take_samples(carrier))
        if (!read_values(carrier)) {
            end_following(carrier);
            return;
        }
}

// --- the stream ---------------------------------------------------------------

static void search(DwCarrier *carrier)
{
    size_t frame = dw_tone_search_frame(carrier->search), hop = dw_tone_search_hop(carrier->search);
    const DwWindow *left = &carrier->history[0], *right = &carrier->history[1];
    if (carrier->search_at < left->start)
        carrier->search_at = left->start;
    while (!carrier->is_following && carrier->search_at + frame <= dw_window_end(left)) {
        size_t at = carrier->search_at - left->start;
        double frequency_hz = 0;
        bool found = dw_tone_search_push(carrier->search, left->values + at, right->values ? right->values + at : NULL,
                                         &frequency_hz);
        size_t last = carrier->search_at;
        carrier->search_at += hop;
        if (found && frequency_hz + BELOW_NYQUIST_HZ < carrier->rate_hz / 2) {
            size_t back = dw_tone_search_hops_back() * hop;
            size_t from = last > left->start + back ? last - back : left->start;
            begin_following(carrier, from, last + frame, frequency_hz);
        }
    }
}

static void push_block(DwCarrier *carrier, const float *interleaved, size_t frames)
{
    // One block in eight is looked at for clipping: three a second, and the rest is left in peace.
    bool look = carrier->is_following && carrier->blocks++ % 8 == 0;
    double tone_hz = look ? carrier->following.run.centre_hz : NAN;
    DwFrontBlock block = dw_front_end_push(carrier->front_end, interleaved, frames, tone_hz);
    if (!block.finite) {
        carrier->met_bad_sample = true;
        carrier->bad_second = dw_carrier_length_s(carrier);
        return;
    }
    carrier->frames += frames;
    if (look) {
        carrier->following.run.blocks++;
        carrier->following.run.clipped_blocks += block.clipped[0] || block.clipped[1];
    }
    for (unsigned c = 0; c < 2 && block.channel[c]; c++)
        dw_window_append(&carrier->history[c], block.channel[c], block.count);
    for (bool again = true; again;) { // a run that ends here may be followed by another
        if (!carrier->is_following)
            search(carrier);
        again = false;
        if (carrier->is_following) {
            follow(carrier);
            again = !carrier->is_following;
        }
    }
    size_t end = carrier->history[0].start + carrier->history[0].count;
    size_t keep = (size_t)(HISTORY_S * carrier->rate_hz);
    if (end > keep)
        for (unsigned c = 0; c < 2 && carrier->history[c].values; c++)
            dw_window_forget(&carrier->history[c], end - keep);
}

void dw_carrier_push(DwCarrier *carrier, const float *interleaved, size_t frames)
{
    // Blocks of one size, whatever the caller's: what is found never depends on it.
    unsigned channels = channels_of(&carrier->settings);
    while (frames > 0 && !carrier->met_bad_sample) {
        size_t count = carrier->block - carrier->pending_count;
        count = frames < count ? frames : count;
        bool whole = count == carrier->block;
        if (!whole)
            memcpy(carrier->pending + carrier->pending_count * channels, interleaved, count * channels * sizeof(float));
        carrier->pending_count += count;
        if (carrier->pending_count == carrier->block) {
            push_block(carrier, whole ? interleaved : carrier->pending, carrier->block);
            carrier->pending_count = 0;
        }
        interleaved += count * channels;
        frames -= count;
    }
}

void dw_carrier_finish(DwCarrier *carrier)
{
    if (carrier->pending_count && !carrier->met_bad_sample)
        push_block(carrier, carrier->pending, carrier->pending_count);
    carrier->pending_count = 0;
}
