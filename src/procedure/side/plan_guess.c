// SPDX-License-Identifier: MIT
#include "procedure/side/plan_guess.h"

#include "base/memory.h"
#include "dsp/statistics.h"
#include "measure/side/side_finder.h"
#include "physics/riaa.h"
#include "procedure/input/measure_inputs.h"
#include "procedure/input/recording.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// What test records engrave (trade and standards: DIN 45 541 to 45 545, thirds of
// an octave); those in common use for speed and level count more. Common practice, no source.
static const double usual_hz[] = {4,    5,    10,   15,   20,    25,    30,    31.5,  40,    50,   60,
                                  63,   80,   100,  125,  160,   200,   250,   300,   315,   400,  440,
                                  500,  630,  800,  1000, 1250,  1600,  2000,  2500,  3000,  3150, 4000,
                                  5000, 6300, 7000, 8000, 10000, 12500, 15000, 16000, 18000, 20000};
static const double common_hz[] = {300, 315, 400, 1000, 3000, 3150, 4000, 10000};
static const double MOST_ERROR = 0.065, RATIO_STEP = 0.0002, FIT = 0.0015; // of ln of the speed ratio
static const double UNLIKELY = 0.15;                                       // how a speed error is held against a ratio
static const double GOOD_FIT = 0.003, END_FIT = 0.08;
static const double LOW_END_HZ = 10, LOW_END_FIT = 0.16; // where an end is heard worst
static const double SILENCE_LEAST_S = 8, GAP_ALIKE_S = 0.15, JOIN_S = 0.3, STEPS_RISE_DB = 1.5;
static const double USUAL_REFERENCE_CM_S = 5;

// --- speed ------------------------------------------------------------------------------

static double nearest(double hz, const double *list, size_t count)
{
    double best = list[0];
    for (size_t i = 1; i < count; i++)
        if (fabs(log(hz / list[i])) < fabs(log(hz / best)))
            best = list[i];
    return best;
}

static double nearest_usual(double hz)
{
    return nearest(hz, usual_hz, sizeof usual_hz / sizeof *usual_hz);
}

static double nearest_common(double hz)
{
    return nearest(hz, common_hz, sizeof common_hz / sizeof *common_hz);
}

static double fit(double played_hz, double engraved_hz, double ratio)
{
    double off = log(played_hz / (ratio * engraved_hz)) / FIT;
    return exp(-0.5 * off * off);
}

static double score(const DwSideSegment *segments, size_t count, double ratio)
{
    double sum = 0;
    for (size_t i = 0; i < count; i++) {
        const double hz[2] = {segments[i].frequency_hz,
                              segments[i].kind == DW_PLAN_TWO_TONE ? segments[i].from_hz : NAN};
        for (size_t k = 0; k < 2; k++)
            if (!isnan(hz[k]) && hz[k] > 150) // a lower one is not heard finely enough
                sum += 0.6 * fit(hz[k], nearest_usual(hz[k] / ratio), ratio) +
                       0.4 * fit(hz[k], nearest_common(hz[k] / ratio), ratio);
    }
    return sum - UNLIKELY * fabs(log(ratio)) / MOST_ERROR;
}

// The mean of what the tones that fit say, each by itself.
static double refine_ratio(const DwSideSegment *segments, size_t count, double ratio)
{
    double sum = 0, weights = 0;
    for (size_t i = 0; i < count; i++) {
        double hz = segments[i].frequency_hz, off = isnan(hz) ? NAN : log(hz / (ratio * nearest_usual(hz / ratio)));
        if (!(fabs(off) < GOOD_FIT))
            continue;
        double weight = (segments[i].end_s - segments[i].start_s) * hz; // high and long tones tell it best
        sum += weight * off;
        weights += weight;
    }
    return weights > 0 ? ratio * exp(sum / weights) : ratio;
}

static double find_ratio(const DwSideSegment *segments, size_t count)
{
    double best = 1, most = score(segments, count, 1);
    for (double octave = -MOST_ERROR; octave <= MOST_ERROR; octave += RATIO_STEP) {
        double here = score(segments, count, exp(octave));
        if (here > most) {
            most = here;
            best = exp(octave);
        }
    }
    return refine_ratio(segments, count, best);
}

// --- bands -------------------------------------------------------------------------------

typedef struct {
    const DwSideFinder *finder;
    DwPlanGuess *guess;
    bool equalised;
    double scale;                   // cm/s of one channel for full scale at 1 kHz; NAN: unknown
    const DwSideSegment *reference; // that says so; NULL without one
} Guessing;

// The velocity of the movement that gives a channel LEVEL_DB.
static double velocity_of(const Guessing *work, const DwSideSegment *segment, double level_db, double hz)
{
    double replay_db = work->equalised ? dw_riaa_replay_db(hz * work->guess->speed_ratio, false) : 0;
    double channel = work->scale * pow(10, (level_db - replay_db) / 20);
    return segment->channel >= DW_PLAN_LATERAL ? sqrt(2) * channel : channel;
}

// The level of the channel driven, or the mean of both.
static double level_of(const DwSideSegment *segment)
{
    const double *level_db = segment->level_db;
    if (segment->channel < DW_PLAN_LATERAL)
        return fmax(level_db[0], level_db[1]);
    return 10 * log10((pow(10, level_db[0] / 10) + pow(10, level_db[1] / 10)) / 2);
}

static double snapped(double hz, double share)
{
    double usual = nearest_usual(hz);
    return fabs(log(hz / usual)) < share ? usual : round(hz * 10) / 10;
}

// Full scale by the first lateral tone near 1 kHz, else by the first lateral tone.
static void find_reference(Guessing *work, const DwSideSegment *segments, size_t count)
{
    const DwSideSegment *reference = NULL;
    for (size_t i = 0; i < count; i++) {
        const DwSideSegment *segment = &segments[i];
        if (segment->kind != DW_PLAN_TONE || segment->channel != DW_PLAN_LATERAL)
            continue;
        bool near = segment->frequency_hz > 900 && segment->frequency_hz < 1100;
        if (!reference || (near && !(reference->frequency_hz > 900 && reference->frequency_hz < 1100)))
            reference = segment;
    }
    work->scale = 1;
    work->scale = reference ? USUAL_REFERENCE_CM_S / velocity_of(work, reference, level_of(reference),
                                                                 reference->frequency_hz / work->guess->speed_ratio)
                            : NAN;
    work->reference = reference;
}

static DwBandPlanBand *add_band(DwBandPlan *plan, const DwSideSegment *segment)
{
    plan->bands = dw_memory_resize(plan->bands, plan->count + 1, sizeof *plan->bands);
    DwBandPlanBand *band = &plan->bands[plan->count];
    *band = (DwBandPlanBand){
        .number = (unsigned)++plan->count,
        .kind = segment->kind,
        .channel = segment->channel,
        .frequency_hz = NAN,
        .from_hz = NAN,
        .to_hz = NAN,
        .velocity_cm_s = NAN,
        .high_db = NAN,
        .length_s = NAN,
        .gap_s = NAN,
        .radius_mm = NAN,
    };
    return band;
}

// A tone whose level rises in steps becomes a band of steps.
static bool fill_steps(const Guessing *work, const DwSideSegment *segment, DwBandPlanBand *band)
{
    double level_db[DW_BAND_PLAN_STEPS_MOST], start_s[DW_BAND_PLAN_STEPS_MOST];
    if (fabs(segment->rise_db) < STEPS_RISE_DB || isnan(work->scale))
        return false;
    size_t count = dw_side_finder_steps(work->finder, segment->start_s, segment->end_s, level_db, start_s,
                                        DW_BAND_PLAN_STEPS_MOST);
    if (count < 2)
        return false;
    band->kind = DW_PLAN_STEPS;
    band->steps_um = dw_memory_new(count, sizeof *band->steps_um);
    band->step_count = count;
    for (size_t i = 0; i < count; i++) {
        // The finder counts both channels' power; one of two alike has half of it.
        double one_db = level_db[i] - (segment->channel >= DW_PLAN_LATERAL ? 10 * log10(2) : 0);
        double velocity = velocity_of(work, segment, one_db, band->frequency_hz);
        band->steps_um[i] = round(velocity / (2 * M_PI * band->frequency_hz) * 1e5) / 10;
        band->velocity_cm_s = i ? fmax(band->velocity_cm_s, velocity) : velocity;
    }
    return true;
}

static double rounded(double value)
{
    return isnan(value) ? NAN : round(value * 10) / 10;
}

static void fill_tone(const Guessing *work, const DwSideSegment *segment, DwBandPlanBand *band)
{
    double ratio = work->guess->speed_ratio, hz = segment->frequency_hz / ratio;
    band->frequency_hz = snapped(hz, GOOD_FIT);
    work->guess->tones++;
    work->guess->tones_that_fit += fabs(log(hz / nearest_usual(hz))) < GOOD_FIT;
    if (segment->kind == DW_PLAN_TWO_TONE) {
        band->from_hz = snapped(segment->from_hz / ratio, GOOD_FIT);
        double low_db = work->equalised ? dw_riaa_replay_db(segment->from_hz, false) : 0,
               high_db = work->equalised ? dw_riaa_replay_db(segment->frequency_hz, false) : 0;
        band->high_db = round(segment->high_db - (high_db - low_db));
        band->velocity_cm_s = round(100 * velocity_of(work, segment, level_of(segment), band->from_hz)) / 100;
    } else if (!fill_steps(work, segment, band))
        band->velocity_cm_s = round(100 * velocity_of(work, segment, level_of(segment), band->frequency_hz)) / 100;
}

static void fill_sweep(const Guessing *work, const DwSideSegment *segment, DwBandPlanBand *band)
{
    double from_hz = segment->from_hz / work->guess->speed_ratio, to_hz = segment->to_hz / work->guess->speed_ratio;
    band->from_hz = snapped(from_hz, from_hz < LOW_END_HZ ? LOW_END_FIT : END_FIT);
    band->to_hz = snapped(to_hz, to_hz < LOW_END_HZ ? LOW_END_FIT : END_FIT);
    band->cut = fmax(band->from_hz, band->to_hz) >= 1000 ? DW_PLAN_CUT_RIAA : DW_PLAN_CUT_VELOCITY;
}

static bool is_band(const DwSideSegment *segment)
{
    return segment->kind != DW_PLAN_SILENCE || segment->end_s - segment->start_s >= SILENCE_LEAST_S;
}

// Takes the usual gap for all that do not differ from it, and out of the silent
// bands, with which the gaps about them sound as one.
static void set_gaps(DwBandPlan *plan)
{
    float *gaps = dw_memory_new(plan->count + 1, sizeof *gaps);
    size_t count = 0;
    for (size_t j = 0; j + 1 < plan->count; j++)
        if (plan->bands[j].kind != DW_PLAN_SILENCE && plan->bands[j + 1].kind != DW_PLAN_SILENCE)
            gaps[count++] = (float)plan->bands[j].gap_s;
    plan->gap_s = count ? rounded(dw_statistics_quantile(gaps, count, 0.5)) : 0;
    free(gaps);
    for (size_t j = 0; j < plan->count; j++) {
        DwBandPlanBand *band = &plan->bands[j];
        bool silent = band->kind == DW_PLAN_SILENCE,
             before = j + 1 < plan->count && plan->bands[j + 1].kind == DW_PLAN_SILENCE;
        double taken_s = silent ? plan->gap_s * ((j > 0) + (j + 1 < plan->count)) : 0;
        if (silent && band->length_s > 2 * taken_s)
            band->length_s = rounded(band->length_s - taken_s);
        if (silent || before || fabs(band->gap_s - plan->gap_s) < GAP_ALIKE_S)
            band->gap_s = plan->gap_s;
    }
}

static void fill_bands(Guessing *work, const DwSideSegment *segments, size_t count)
{
    DwBandPlan *plan = &work->guess->plan;
    double ratio = work->guess->speed_ratio, last_s = NAN;
    for (size_t i = 0; i < count; i++) {
        DwSideSegment segment = segments[i];
        // Silence before the first band is the run-in.
        if (!is_band(&segment) || (segment.kind == DW_PLAN_SILENCE && plan->count == 0))
            continue;
        while (i + 1 < count && segment.kind == DW_PLAN_TONE && segments[i + 1].kind == DW_PLAN_TONE &&
               segments[i + 1].channel == segment.channel && segments[i + 1].start_s - segment.end_s < JOIN_S &&
               fabs(segments[i + 1].frequency_hz / segment.frequency_hz - 1) < 0.005) {
            segment.end_s = segments[++i].end_s;
            segment.rise_db = level_of(&segments[i]) + segments[i].rise_db - level_of(&segment);
        }
        if (plan->count)
            plan->bands[plan->count - 1].gap_s = rounded(fmax(0, segment.start_s - last_s) * ratio);
        else
            plan->lead_in_s = rounded(segment.start_s * ratio);
        DwBandPlanBand *band = add_band(plan, &segment);
        if (work->reference && segment.start_s == work->reference->start_s)
            work->guess->reference_band = band->number;
        band->length_s = rounded((segment.end_s - segment.start_s) * ratio);
        if (segment.kind == DW_PLAN_SWEEP)
            fill_sweep(work, &segment, band);
        else if (segment.kind != DW_PLAN_SILENCE)
            fill_tone(work, &segment, band);
        last_s = segment.end_s;
    }
    if (plan->count)
        plan->bands[plan->count - 1].gap_s = 0;
    set_gaps(plan);
}

static DwStatus guess_plan(const char *path, const DwSideFinder *finder, bool equalised, DwPlanGuess *guess,
                           DwMessage *message)
{
    size_t count;
    const DwSideSegment *segments = dw_side_finder_segments(finder, &count);
    *guess = (DwPlanGuess){.plan = {.name = dw_memory_text("Guessed from a recording"),
                                    .number = dw_memory_text(""),
                                    .speed_rpm = 100.0 / 3,
                                    .reference_cm_s = USUAL_REFERENCE_CM_S}};
    guess->speed_ratio = find_ratio(segments, count);
    Guessing work = {.finder = finder, .guess = guess, .equalised = equalised};
    find_reference(&work, segments, count);
    fill_bands(&work, segments, count);
    if (guess->plan.count)
        return DW_OK;
    dw_band_plan_clear(&guess->plan);
    return dw_fail(message, DW_BAD_INPUT,
                   "%s: no tone, sweep or silent groove was found in it. Record a side of a test record.", path);
}

static void push(void *finder, const float *interleaved, size_t frames)
{
    dw_side_finder_push(finder, interleaved, frames);
}

DwStatus dw_plan_guess_read(const char *path, const DwInputs *inputs, DwPlanGuess *guess, DwMessage *message)
{
    DwRecording recording;
    DwStatus status = dw_recording_open(path, inputs, &recording, message);
    if (status != DW_OK)
        return status;
    bool equalised = dw_measure_inputs_equalised(inputs);
    DwSideFinder *finder =
        dw_side_finder_new(recording.rate_hz, recording.channels > 1 ? 2 : 1, !equalised, recording.start_s);
    status = dw_recording_play(&recording, push, finder, message);
    if (status == DW_OK) {
        dw_side_finder_finish(finder);
        status = dw_side_finder_check(finder, message);
    }
    if (status == DW_OK)
        status = guess_plan(path, finder, equalised, guess, message);
    dw_side_finder_free(finder);
    dw_recording_close(&recording);
    return status;
}
