// SPDX-License-Identifier: MIT
#include "measure/side/side_level.h"

#include "base/memory.h"
#include "physics/riaa.h"

#include <math.h>
#include <stdlib.h>

static const double PAIR_FITS = 0.5;   // a match this good votes for the level
static const double AGREE_DB = 1.5;    // of levels that agree
static const double SAME_TONE = 0.006; // of ln f
static const double LEVEL_DB = 1.5;    // that a tone of one level may rise or fall
static const double LEAK_DB = 12;      // under the loudest of its tone: what is left of a lost band
// Shares of what is in common, over the greatest: below the one it is crosstalk, above the other it was cut for both.
static const double OWN_MOST = 0.35, BOTH_LEAST = 0.65;
static const double BOTH_MOST = 1.5; // more is the leak of a sweep that is lost
static const double COUNTS = 0.01;   // of the heard channel's amplitude: −40 dB
static const double SURE = 4;        // standard deviations
static const double APART = 0.5;     // of the greatest, that the shares of one tone spread over
enum { EITHER = 2 };                 // of the channels, the louder
enum { LEVELS_MOST = 400 };          // that are held against all others

bool dw_side_is_level(const DwSideSegment *segment)
{
    return segment->kind == DW_PLAN_TONE && fabs(segment->rise_db) < LEVEL_DB;
}

static double tone_of(const DwSideSegment *segment)
{
    return segment->kind == DW_PLAN_TWO_TONE ? segment->from_hz : segment->frequency_hz;
}

static bool is_one_tone(const DwSideSegment *one, const DwSideSegment *other)
{
    return fabs(log(tone_of(one) / tone_of(other))) < SAME_TONE;
}

// How far the one at OWN is under the loudest of its own tone in CHANNEL; EITHER: each as loud as its louder channel.
static double under_db(const DwSideSegment *segments, size_t count, size_t own, size_t channel)
{
    double loudest_db = -INFINITY, own_db = NAN;
    for (size_t i = 0; i < count; i++) {
        double here_db =
            channel == EITHER ? fmax(segments[i].level_db[0], segments[i].level_db[1]) : segments[i].level_db[channel];
        own_db = i == own ? here_db : own_db;
        if (is_one_tone(&segments[i], &segments[own]) &&
            (dw_side_is_level(&segments[i]) || !dw_side_is_level(&segments[own])))
            loudest_db = fmax(loudest_db, here_db);
    }
    return fmax(0, loudest_db - own_db);
}

void dw_side_compare_levels(DwSideSegment *segments, size_t count)
{
    for (size_t i = 0; i < count; i++)
        segments[i].under_db = under_db(segments, count, i, EITHER);
}

double dw_side_made_db(const DwBandPlanBand *band, DwSideWiring wiring)
{
    bool one_sided = band->channel == DW_PLAN_LEFT || band->channel == DW_PLAN_RIGHT,
         alone = wiring == DW_SIDE_LEFT_ONLY || wiring == DW_SIDE_RIGHT_ONLY;
    double share = !one_sided ? M_SQRT1_2 : alone ? 1 : 0.5;
    double hz = band->kind == DW_PLAN_TWO_TONE ? band->from_hz : band->frequency_hz;
    if (band->kind == DW_PLAN_SWEEP && band->cut == DW_PLAN_CUT_VELOCITY)
        hz = sqrt(band->from_hz * band->to_hz);
    else if (band->kind == DW_PLAN_SWEEP)
        hz = band->cut == DW_PLAN_CUT_RIAA ? 1000 : NAN;
    return isnan(hz) || band->kind == DW_PLAN_STEPS
               ? NAN
               : 20 * log10(share * band->velocity_cm_s) + dw_riaa_replay_db(hz, false);
}

// The level of SEGMENT in the channel that WIRING leaves, or the louder.
static double level_of(const DwSideSegment *segment, DwSideWiring wiring)
{
    if (wiring == DW_SIDE_LEFT_ONLY || wiring == DW_SIDE_RIGHT_ONLY)
        return segment->level_db[wiring == DW_SIDE_RIGHT_ONLY];
    return fmax(segment->level_db[0], segment->level_db[1]);
}

// The same over what the plan makes BAND; NAN for what is no steady tone.
static double over_made_db(const DwSideSegment *segment, const DwBandPlanBand *band, DwSideWiring wiring)
{
    bool tones = segment->kind != DW_PLAN_SWEEP && segment->kind == band->kind;
    return tones && !band->broken ? level_of(segment, wiring) - dw_side_made_db(band, wiring) : NAN;
}

double dw_side_over_plan_db(const DwSideGuess *guess, const DwSideSegment *segment, const DwBandPlanBand *band)
{
    return over_made_db(segment, band, guess->wiring) - guess->level_db;
}

double dw_side_likely_level_db(const DwSideSegment *segments, size_t count, const DwBandPlan *plan, DwSideGuess guess)
{
    guess.offset_s = guess.level_db = NAN;
    size_t pairs = 0;
    double *level_db = dw_memory_new(count * plan->count + 1, sizeof *level_db),
           *weight = dw_memory_new(count * plan->count + 1, sizeof *weight), most = 0, likely_db = NAN;
    for (size_t i = 0; i < count; i++)
        for (size_t j = 0; j < plan->count; j++) {
            double over_db = over_made_db(&segments[i], &plan->bands[j], guess.wiring);
            double match = isfinite(over_db) && !dw_side_match_is_lost(&guess, &plan->bands[j])
                               ? dw_side_match(&guess, &segments[i], 1, plan, j)
                               : 0;
            if (!(match > PAIR_FITS))
                continue;
            level_db[pairs] = over_db;
            weight[pairs++] = match;
        }
    for (size_t i = 0; i < pairs && i < LEVELS_MOST; i++) {
        double sum = 0;
        for (size_t k = 0; k < pairs; k++)
            sum += weight[k] * exp(-fabs(level_db[k] - level_db[i]) / AGREE_DB);
        if (sum > most) {
            most = sum;
            likely_db = level_db[i];
        }
    }
    free(level_db);
    free(weight);
    return likely_db;
}

// --- how a stretch was cut -------------------------------------------------------------

// The tones as one channel alone shows them.
typedef struct {
    const DwSideSegment *segments;
    size_t count, heard;
    double *under_db; // the loudest of their tone, in that channel
    double greatest;  // share of any tone
} Heard;

// Whether what the one at OWN has in common is known within LEAST, and no leak's.
static bool is_sure(const Heard *all, size_t own, double least)
{
    return SURE * all->segments[own].shared_off[all->heard] < least && all->under_db[own] < LEAK_DB;
}

// The greatest share that a tone of the frequency of the one at OWN has in common; 0 where they do not differ.
static double greatest_share(const Heard *all, size_t own)
{
    double greatest = 0, least = INFINITY, most = -INFINITY;
    for (size_t i = 0; i < all->count; i++) {
        double share = all->segments[i].shared[all->heard];
        if (!is_one_tone(&all->segments[i], &all->segments[own]) || !is_sure(all, i, fmax(COUNTS, fabs(share))))
            continue;
        greatest = fmax(greatest, fabs(share));
        least = fmin(least, share);
        most = fmax(most, share);
    }
    return greatest > COUNTS && most - least > APART * greatest ? greatest : 0;
}

// A sweep is compared with the tone that has most in common.
static DwPlanChannel told(const Heard *all, size_t own)
{
    bool is_sweep = all->segments[own].kind == DW_PLAN_SWEEP;
    double greatest = is_sweep ? all->greatest : greatest_share(all, own),
           share = all->segments[own].shared[all->heard] / greatest;
    if (!(greatest > 0) || !is_sure(all, own, OWN_MOST * greatest))
        return DW_PLAN_CHANNELS;
    if (fabs(share) < OWN_MOST)
        return all->heard ? DW_PLAN_RIGHT : DW_PLAN_LEFT;
    if (fabs(share) < BOTH_LEAST || fabs(share) > BOTH_MOST)
        return DW_PLAN_CHANNELS;
    return share > 0 ? DW_PLAN_LATERAL : DW_PLAN_VERTICAL;
}

void dw_side_tell_cut(DwSideSegment *segments, size_t count)
{
    Heard all = {segments, count, 0, dw_memory_new(count + 1, sizeof *all.under_db), 0};
    for (; all.heard < 2; all.heard++) {
        for (size_t i = 0; i < count; i++)
            all.under_db[i] = under_db(segments, count, i, all.heard);
        all.greatest = 0;
        for (size_t i = 0; i < count; i++)
            all.greatest = fmax(all.greatest, greatest_share(&all, i));
        for (size_t i = 0; i < count; i++)
            segments[i].told[all.heard] = told(&all, i);
    }
    free(all.under_db);
}
