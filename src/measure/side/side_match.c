// SPDX-License-Identifier: MIT
#include "measure/side/side_match.h"

#include "measure/side/side_level.h"

#include <math.h>

static const double TONE_FREE = 0.006, TONE_MOST = 0.025; // of ln f: no penalty, no match
static const double LENGTH_FREE = 0.05;                   // of ln length
static const double LENGTH_PENALTY = 0.6, LENGTH_MOST = 0.5;
static const double LONGER_PENALTY = 1.8; // the same of a sweep that lasts longer than all of it would
static const double REPEAT_PENALTY = 0.02, REPEAT_OFF_S = 0.15;            // longer by whole turns: a groove repeats
static const double OTHER_SIDE = 0.85, OTHER_CUT = 0.5, OTHER_KIND = 0.35; // penalties
static const double LEAST_COVER = 0.3, ENDS_FREE = 0.15;                   // of a sweep's octaves
static const double PLACE_PENALTY = 0.1, PLACE_FAR_S = 60;                 // the more the farther off
static const double PIECE_GAP_S = 2.5, STEP_GAP_S = 8;                     // between the pieces of one band
static const double PIECE_PENALTY = 0.02;
static const double STEP_RANGE_DB = 4;
enum { REPEATS_MOST = 12 };
static const double LEAK_DB = 12; // under what it would be: a dead channel's band leaves no more in the other
static const double LEVEL_FREE_DB = 2, LEVEL_PENALTY = 0.1, LEVEL_MOST = 0.35; // a decibel off what the plan makes it

bool dw_side_wiring_is_swapped(DwSideWiring wiring)
{
    return wiring == DW_SIDE_SWAPPED || wiring == DW_SIDE_SWAPPED_REVERSED;
}

DwPlanChannel dw_side_wired(DwSideWiring wiring, DwPlanChannel channel)
{
    static const DwPlanChannel out[DW_SIDE_WIRINGS][DW_PLAN_CHANNELS] = {
        [DW_SIDE_AS_CUT] = {DW_PLAN_LEFT, DW_PLAN_RIGHT, DW_PLAN_LATERAL, DW_PLAN_VERTICAL},
        [DW_SIDE_SWAPPED] = {DW_PLAN_RIGHT, DW_PLAN_LEFT, DW_PLAN_LATERAL, DW_PLAN_VERTICAL},
        [DW_SIDE_REVERSED] = {DW_PLAN_LEFT, DW_PLAN_RIGHT, DW_PLAN_VERTICAL, DW_PLAN_LATERAL},
        [DW_SIDE_SWAPPED_REVERSED] = {DW_PLAN_RIGHT, DW_PLAN_LEFT, DW_PLAN_VERTICAL, DW_PLAN_LATERAL},
        [DW_SIDE_LEFT_ONLY] = {DW_PLAN_LEFT, DW_PLAN_LEFT, DW_PLAN_LEFT, DW_PLAN_LEFT},
        [DW_SIDE_RIGHT_ONLY] = {DW_PLAN_RIGHT, DW_PLAN_RIGHT, DW_PLAN_RIGHT, DW_PLAN_RIGHT},
        [DW_SIDE_JOINED] = {DW_PLAN_LATERAL, DW_PLAN_LATERAL, DW_PLAN_LATERAL, DW_PLAN_LATERAL},
        [DW_SIDE_OPEN] = {DW_PLAN_VERTICAL, DW_PLAN_VERTICAL, DW_PLAN_VERTICAL, DW_PLAN_VERTICAL},
    };
    return out[wiring][channel];
}

static bool is_one_sided(DwPlanChannel channel)
{
    return channel == DW_PLAN_LEFT || channel == DW_PLAN_RIGHT;
}

// How SEGMENT was cut where one channel alone is heard; DW_PLAN_CHANNELS where both are or where nothing tells.
static DwPlanChannel told_cut(const DwSideGuess *guess, const DwSideSegment *segment)
{
    bool alone = guess->wiring == DW_SIDE_LEFT_ONLY || guess->wiring == DW_SIDE_RIGHT_ONLY;
    return alone && !guess->mono ? segment->told[guess->wiring == DW_SIDE_RIGHT_ONLY] : DW_PLAN_CHANNELS;
}

bool dw_side_match_channel(const DwSideGuess *guess, const DwSideSegment *segment, const DwBandPlanBand *band)
{
    DwPlanChannel told = told_cut(guess, segment);
    return guess->mono || (segment->channel == dw_side_wired(guess->wiring, band->channel) &&
                           (told == DW_PLAN_CHANNELS || told == band->channel));
}

static double channel_penalty(const DwSideGuess *guess, const DwSideSegment *segment, const DwBandPlanBand *band)
{
    if (dw_side_match_channel(guess, segment, band))
        return 0;
    DwPlanChannel told = told_cut(guess, segment),
                  wanted = told == DW_PLAN_CHANNELS ? dw_side_wired(guess->wiring, band->channel) : band->channel,
                  heard = told == DW_PLAN_CHANNELS ? segment->channel : told;
    return is_one_sided(wanted) == is_one_sided(heard) ? OTHER_SIDE : OTHER_CUT;
}

// The penalty for a frequency, or 1 (no match).
static double tone_penalty(double played_hz, double engraved_hz, double ratio)
{
    double off = fabs(log(played_hz / (engraved_hz * ratio)));
    return off < TONE_FREE ? 0 : off > TONE_MOST ? 1 : (off - TONE_FREE) / (TONE_MOST - TONE_FREE);
}

unsigned dw_side_match_repeats(double played_s, double wanted_s, double turn_s)
{
    double turns = round((played_s - wanted_s) / turn_s);
    bool whole = turns >= 1 && turns <= REPEATS_MOST && fabs(played_s - wanted_s - turns * turn_s) < REPEAT_OFF_S;
    return whole ? (unsigned)turns : 0;
}

// LONGER: what each factor of e beyond the wanted length costs.
static double length_penalty(double played_s, double wanted_s, double longer)
{
    double off = log(played_s / wanted_s);
    return fmin(LENGTH_MOST, (off > 0 ? longer : LENGTH_PENALTY) * fmax(0, fabs(off) - LENGTH_FREE));
}

// The same of a tone, that a groove may repeat.
static double tone_length_penalty(double played_s, double wanted_s, double turn_s)
{
    double penalty = length_penalty(played_s, wanted_s, LENGTH_PENALTY);
    return dw_side_match_repeats(played_s, wanted_s, turn_s) ? fmin(penalty, REPEAT_PENALTY) : penalty;
}

// The frequency that rules a stretch: of two tones the lower.
static double ruling_hz(const DwSideSegment *segment)
{
    return segment->kind == DW_PLAN_TWO_TONE ? segment->from_hz : segment->frequency_hz;
}

// Whether the pieces follow on one another as those of one band.
static bool is_one_band(const DwSideSegment *segments, size_t count, double gap_s)
{
    for (size_t i = 1; i < count; i++) {
        const DwSideSegment *last = &segments[i - 1], *here = &segments[i];
        if (here->start_s - last->end_s > gap_s || here->channel != segments->channel || here->kind != segments->kind)
            return false;
        bool tone = here->kind != DW_PLAN_SWEEP;
        if (tone && fabs(log(ruling_hz(here) / ruling_hz(segments))) > TONE_FREE)
            return false;
        if (!tone && (here->to_hz > here->from_hz) != (segments->to_hz > segments->from_hz))
            return false;
    }
    return true;
}

static double match_sweep(const DwSideGuess *guess, const DwSideSegment *segments, size_t count,
                          const DwBandPlanBand *band)
{
    if (segments->kind != DW_PLAN_SWEEP || !is_one_band(segments, count, PIECE_GAP_S))
        return 0;
    double from = log(segments->from_hz / guess->ratio), to = log(segments[count - 1].to_hz / guess->ratio);
    double wanted_from = log(band->from_hz), wanted_to = log(band->to_hz);
    if ((to > from) != (wanted_to > wanted_from))
        return 0;
    double low = fmin(from, to), high = fmax(from, to), wanted_low = fmin(wanted_from, wanted_to),
           wanted_high = fmax(wanted_from, wanted_to);
    double common = fmin(high, wanted_high) - fmax(low, wanted_low);
    double cover = common / (wanted_high - wanted_low), beyond = 1 - common / (high - low);
    if (cover < LEAST_COVER || beyond > 1 - LEAST_COVER)
        return 0;
    // Below hearing the ends are hidden in rumble, above 18 kHz by the filters.
    double ends = fmax(0, 1 - cover - ENDS_FREE) + 0.5 * fmax(0, beyond - 0.1);
    double played_s = segments[count - 1].end_s - segments->start_s;
    // How much of it the tone was followed over is known worse than where it begins and ends.
    double whole_s = band->length_s / guess->ratio;
    return 1 - ends - length_penalty(played_s, fmax(cover * whole_s, fmin(played_s, whole_s)), LONGER_PENALTY);
}

static double match_tone(const DwSideGuess *guess, const DwSideSegment *segments, size_t count,
                         const DwBandPlanBand *band, double turn_s)
{
    bool steps = band->kind == DW_PLAN_STEPS, two = band->kind == DW_PLAN_TWO_TONE;
    double played_s = segments[count - 1].end_s - segments->start_s, wanted_s = band->length_s / guess->ratio;
    // Pieces that make up the planned length are one band, however long its channel was gone between them.
    bool whole = fabs(log(played_s / wanted_s)) < LENGTH_FREE;
    if (segments->kind == DW_PLAN_SWEEP || segments->kind == DW_PLAN_SILENCE ||
        !is_one_band(segments, count, steps || whole ? STEP_GAP_S : PIECE_GAP_S))
        return 0;
    double penalty = tone_penalty(ruling_hz(segments), two ? band->from_hz : band->frequency_hz, guess->ratio);
    if (two && segments->kind == DW_PLAN_TWO_TONE)
        penalty += tone_penalty(segments->frequency_hz, band->frequency_hz, guess->ratio);
    if (two != (segments->kind == DW_PLAN_TWO_TONE))
        penalty += OTHER_KIND;
    double rise =
        10 * log10((pow(10, segments[count - 1].level_db[0] / 10) + pow(10, segments[count - 1].level_db[1] / 10)) /
                   (pow(10, segments->level_db[0] / 10) + pow(10, segments->level_db[1] / 10)));
    double wanted_rise = steps ? 20 * log10(band->steps_um[band->step_count - 1] / band->steps_um[0]) : 0;
    if (fabs(rise + segments[count - 1].rise_db - wanted_rise) > STEP_RANGE_DB)
        penalty += OTHER_KIND;
    return 1 - penalty - tone_length_penalty(played_s, wanted_s, turn_s);
}

bool dw_side_match_is_lost(const DwSideGuess *guess, const DwBandPlanBand *band)
{
    return !guess->mono && ((guess->wiring == DW_SIDE_LEFT_ONLY && band->channel == DW_PLAN_RIGHT) ||
                            (guess->wiring == DW_SIDE_RIGHT_ONLY && band->channel == DW_PLAN_LEFT) ||
                            (guess->wiring == DW_SIDE_JOINED && band->channel == DW_PLAN_VERTICAL) ||
                            (guess->wiring == DW_SIDE_OPEN && band->channel == DW_PLAN_LATERAL));
}

// What it costs that only a leak, or another level than the plan makes BAND, is heard where the channels do not tell.
static double level_penalty(const DwSideGuess *guess, const DwSideSegment *segment, const DwBandPlanBand *band,
                            bool is_leak)
{
    if (guess->mono || guess->wiring <= DW_SIDE_SWAPPED_REVERSED || dw_side_match_is_lost(guess, band))
        return 0;
    double off_db = fabs(dw_side_over_plan_db(guess, segment, band));
    if (is_leak)
        return OTHER_KIND; // rather that of a band that is lost
    return isnan(off_db) ? 0 : fmin(LEVEL_MOST, LEVEL_PENALTY * fmax(0, off_db - LEVEL_FREE_DB));
}

double dw_side_match(const DwSideGuess *guess, const DwSideSegment *segments, size_t count, const DwBandPlan *plan,
                     size_t index)
{
    const DwBandPlanBand *band = &plan->bands[index];
    double over_db = dw_side_over_plan_db(guess, segments, band);
    bool is_leak = isnan(over_db) ? segments->under_db > LEAK_DB : over_db < -LEAK_DB;
    if (band->broken || (dw_side_match_is_lost(guess, band) && !is_leak))
        return 0;
    double score = band->kind == DW_PLAN_SWEEP
                       ? match_sweep(guess, segments, count, band)
                       : match_tone(guess, segments, count, band, 60 / plan->speed_rpm / guess->ratio);
    score -= level_penalty(guess, segments, band, is_leak) + channel_penalty(guess, segments, band) +
             PIECE_PENALTY * (double)(count - 1);
    if (!isnan(guess->offset_s)) {
        double expected_s = guess->offset_s + dw_band_plan_start_s(plan, index) / guess->ratio;
        score -= PLACE_PENALTY * fmin(1, fabs(segments->start_s - expected_s) / PLACE_FAR_S);
    }
    return score > 0.15 ? score : 0;
}
