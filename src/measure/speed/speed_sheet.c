// SPDX-License-Identifier: MIT
// Puts what was worked out about a tone on a sheet, in the bench's language.
#include "measure/speed/speed_filling.h"

#include "base/text.h"

#include <math.h>
#include <stdlib.h>

static const double MOST_ADDED = 0.02; // of a reading's power, from lines that are no flutter
static const double GAPS_DOUBT = 0.08; // of a reading, were all of it left out
// Of a reading, were all of it one gap: two-sigma, quasi-peak, rms, average; unweighted, weighted. A weighted reading
// has less of the slow lines, whose course through a gap the rest of the take tells. By drawn decks.
static const double GAP_DOUBT[2][4] = {{0.8, 0.7, 0.85, 1.18}, {1.37, 1.1, 1.08, 1.36}};
static const double GAP_TURN_S = 0.5; // of what is left out in one go counts as a gap of its own
// Over what the level's swing would read, were it the phase that swings so: how far a room moves flutter. By
// drawn rooms.
static const double SWAY_DOUBT = 2;
static const double SPREAD_KNOWN = 0.02, SPREAD_GAPS = 0.8; // of the echo's spread; over the root of what is left out
// Over what a sound beside the tone adds to rms and average; two-sigma and quasi-peak go with its root.
static const double ADDED_DOUBT = 2, ADDED_TO_PEAKS = 0.6;
static const double STANDARD_LENGTH_S = 5;

const double dw_speed_good_length_s = 29, dw_speed_most_gaps = 0.25, dw_speed_most_swing = 0.015;

bool dw_speed_is_spoilt(const DwSpeedAnalysis *analysis, const DwFluctuation *f)
{
    const DwSpeedFitness *fitness = &analysis->fitness;
    double added = f == &analysis->weighted ? fitness->added_weighted : fitness->added;
    return added > MOST_ADDED * f->rms * f->rms;
}

static double decibels(double ratio)
{
    return 20 * log10(ratio);
}

static DwReading *add(const DwSpeedFilling *filling, const char *key, const char *label, double value, double off,
                      const char *unit, int digits, const char *method)
{
    DwReading *reading = dw_sheet_add_reading(filling->sheet, key, label, value, unit, digits);
    reading->uncertainty = off;
    reading->flags = filling->flags;
    reading->unjudged = filling->is_unjudged;
    dw_reading_set_method(reading, method);
    return reading;
}

static void add_tone(const DwSpeedFilling *filling, double recording_rate_hz)
{
    const DwSpeedAnalysis *a = filling->analysis;
    const DwToneRun *run = filling->run;
    double level = decibels(a->amplitude * fmax(run->share[0], run->share[1]));
    double snr = -10 * log10(a->noise_density * recording_rate_hz);
    add(filling, "tone.frequency", "Tone", filling->judged.true_hz,
        a->mean_off_hz * filling->judged.true_hz / a->mean_hz, "Hz", 3,
        isfinite(filling->settings->clock_error_ppm)
            ? "mean of the demodulated frequency, trend and lines fitted with it; the stated clock error put right"
            : "by the recording's own clock: mean of the demodulated frequency, trend and lines fitted with it");
    add(filling, "tone.level", "Tone level", level, NAN, "dBFS", 1, "median amplitude, the stronger channel");
    add(filling, "tone.snr", "Signal to noise", snr, NAN, "dB", 1,
        "noise beside the tone, as if white over the whole band");
    add(filling, "tone.start", "Measured from", a->start_s, NAN, "s", 1, "where the steady tone begins");
    add(filling, "tone.length", "Measured for", filling->length_s, NAN, "s", 1, "as long as the tone is steady");
    add(filling, "tone.excluded", "Left out", 100 * a->excluded, NAN, "%", 1, "ticks and dropouts within it");
}

static void add_speed(const DwSpeedFilling *filling)
{
    static const char *const methods[] = {
        [DW_SPEED_BY_TONE] = "tone against the engraved frequency",
        [DW_SPEED_BY_BOTH] = "tone within its tolerance, and the platter's own rate",
        [DW_SPEED_BY_PLATTER] = "the platter's own rate, for the tone stated contradicts it",
        [DW_SPEED_UNKNOWN] = "tone against the engraved frequency",
    };
    const DwSpeedAnalysis *a = filling->analysis;
    const DwSpeedJudgement *judged = &filling->judged;
    const char *method = methods[judged->by];
    double rpm = filling->settings->speed_rpm;
    unsigned flags = judged->by == DW_SPEED_BY_PLATTER || judged->is_doubtful ? DW_FLAG_APPROXIMATE : 0;
    add(filling, "speed.mean", "Speed", judged->ratio * rpm, judged->ratio_off * rpm, "rpm", 3, method)->flags |= flags;
    add(filling, "speed.error", "Speed error", filling->error, 100 * judged->ratio_off, "%", 3, method)->flags |= flags;
    DwReading *drift = add(filling, "speed.drift", "Drift", a->drift, a->drift_off, "%/min", 3,
                           "slope fitted together with every slow line");
    if (filling->length_s < dw_speed_good_length_s)
        drift->flags |= DW_FLAG_SHORT;
    if (isfinite(judged->tone_error))
        add(filling, "record.tone_error", "The record's own tone is off", judged->tone_error, judged->tone_error_off,
            "%", 3, "tone against the platter's own rate");
    else
        dw_sheet_not_measured(filling->sheet, "record.tone_error",
                              "nothing comes once a turn strongly enough to tell the platter's own rate.");
}

// Whether nothing of F is told: a number would be the recording's more than the deck's.
static bool is_withheld(const DwSpeedFilling *filling, const DwFluctuation *f)
{
    const DwSpeedAnalysis *a = filling->analysis;
    return a->fitness.is_drowned || a->excluded > dw_speed_most_gaps || a->fitness.level_swing > dw_speed_most_swing ||
           dw_speed_is_spoilt(a, f);
}

// Half-width of what the gaps leave unknown of reading WHICH, WEIGHTED or not, a share of it. What is left out may have
// been other than the rest by as much as one moment is than another; many gaps level each other out, but for what comes
// at each of them.
static double gaps_doubt(const DwSpeedAnalysis *a, bool weighted, size_t which)
{
    double gaps = (double)dw_speed_gaps(a);
    gaps += a->excluded * (double)a->count / a->rate_hz / GAP_TURN_S;
    return a->excluded > 0 ? a->excluded * hypot(GAPS_DOUBT, GAP_DOUBT[weighted][which] / sqrt(fmax(1, gaps))) : 0;
}

// Half-width of what a room or a sound beside the tone leaves unknown of reading WHICH of F, a share of it.
static double sway_doubt(const DwSpeedAnalysis *a, const DwFluctuation *f, size_t which)
{
    const DwSpeedFitness *fitness = &a->fitness;
    bool weighted = f == &a->weighted, is_peak = which < 2;
    double power = f->rms * f->rms, swayed = weighted ? fitness->swayed_weighted : fitness->swayed;
    double added = (weighted ? fitness->added_weighted : fitness->added) / power;
    double moved = is_peak ? ADDED_TO_PEAKS * sqrt(added) : ADDED_DOUBT * (1 - sqrt(fmax(0, 1 - added)));
    return hypot(SWAY_DOUBT * sqrt(swayed / power), moved);
}

static void add_fluctuation(const DwSpeedFilling *filling, const char *kind, const char *word, const DwFluctuation *f)
{
    static const struct {
        const char *key, *label, *method;
    } rows[] = {
        {"two_sigma", "two-sigma", "magnitude exceeded for 5 % of the time"},
        {"quasi_peak", "quasi-peak", "pointer deflection exceeded for 5 % of the time"},
        {"rms", "rms", "root mean square"},
        {"average", "average", "rectified average, scaled to the rms of a sine"},
    };
    const double values[] = {f->two_sigma, f->quasi_peak, f->rms, f->average};
    const double offs[] = {f->two_sigma_off, f->quasi_peak_off, f->rms_off, f->average_off};
    bool withheld = is_withheld(filling, f);
    bool noisy = filling->analysis->floor > 0.5 * filling->analysis->weighted.two_sigma;
    for (size_t i = 0; i < 4; i++) {
        char *key = dw_text_format("flutter.%s.%s", kind, rows[i].key);
        char *label = dw_text_format("%s, %s", word, rows[i].label);
        double doubt = hypot(gaps_doubt(filling->analysis, f == &filling->analysis->weighted, i),
                             sway_doubt(filling->analysis, f, i));
        double off = withheld ? NAN : hypot(offs[i], doubt * values[i]);
        DwReading *reading = add(filling, key, label, withheld ? NAN : values[i], off, "%", 4, rows[i].method);
        if (filling->length_s < STANDARD_LENGTH_S)
            reading->flags |= DW_FLAG_SHORT;
        if (noisy)
            reading->flags |= DW_FLAG_NOISY;
        if (filling->analysis->fitness.level_swing > 0)
            reading->flags |= DW_FLAG_APPROXIMATE;
        free(key);
        free(label);
    }
}

static void add_room(const DwSpeedFilling *filling)
{
    const DwSpeedAnalysis *a = filling->analysis;
    double spread_ms = 1000 * a->fitness.spread_s, off = hypot(SPREAD_KNOWN, SPREAD_GAPS * sqrt(a->excluded));
    add(filling, "room.swing", "Level swing of the room", 100 * a->fitness.level_swing, NAN, "%", 1,
        "rms by which the level follows the flutter's lines");
    if (filling->flags & DW_FLAG_CLIPPED)
        dw_sheet_not_measured(filling->sheet, "room.reverberation",
                              "the recording is clipped, which cuts off what a room does to the level.");
    else
        add(filling, "room.reverberation", "Reverberation spreads the tone by", spread_ms, off * spread_ms, "ms", 1,
            "swing of the level over that of the tone's frequency, 0.2 to 20 Hz");
}

static double in_turn(double degrees)
{
    double turned = fmod(degrees, 360);
    return turned < 0 ? turned + 360 : turned;
}

static void add_revolution(const DwSpeedFilling *filling)
{
    const DwSpeedAnalysis *a = filling->analysis;
    const DwHarmonicFit *fit = &a->fit;
    double first = hypot(fit->cosine[0], fit->sine[0]), second = hypot(fit->cosine[1], fit->sine[1]);
    double phase = in_turn(a->turn_phase * 180 / M_PI);
    unsigned flags = a->fitness.level_swing > 0 ? DW_FLAG_APPROXIMATE : 0; // through a room
    // Of a drive that is not described a belt may turn nearly as often as the platter.
    bool blended = filling->length_s < dw_speed_good_length_s && !filling->settings->drive_given;
    flags |= blended || a->belt_hides || isfinite(a->hidden_hz) ? DW_FLAG_SHORT : 0;
    add(filling, "revolution.amplitude", "Once a revolution", first, a->turn_off[0], "% peak", 4,
        "fitted at the platter's rate")
        ->flags |= flags;
    add(filling, "revolution.phase", "Its phase", phase, fmin(180, a->turn_phase_off * 180 / M_PI), "deg", 1,
        "of a cosine at the recording's start")
        ->flags |= flags & DW_FLAG_SHORT;
    add(filling, "revolution.second", "Twice a revolution", second, a->turn_off[1], "% peak", 4,
        "fitted at twice the platter's rate")
        ->flags |= flags;
    if (!isfinite(filling->settings->radius_mm)) {
        dw_sheet_not_measured(filling->sheet, "revolution.eccentricity",
                              "the groove radius is not stated. Give record.radius, as in record.radius=100mm.");
        return;
    }
    // On a pivoted arm the swing has a part along the groove: peak = e/(r·cos offset).
    double lean = isfinite(filling->settings->offset_deg) ? cos(filling->settings->offset_deg * M_PI / 180) : 1;
    double scale = filling->settings->radius_mm / 100 * lean;
    add(filling, "revolution.eccentricity", "Off-centre, if it is the record", first * scale, a->turn_off[0] * scale,
        "mm", 3, "e = amplitude times radius, as if the platter had no share")
        ->flags |= flags;
}

void dw_speed_fill_sheet(const DwSpeedAnalysis *analysis, const DwToneRun *run, const DwSpeedSettings *settings,
                         double recording_rate_hz, DwSheet *sheet)
{
    DwSpeedJudgement judged = dw_speed_judge(analysis, run->engraved_hz, settings);
    double engraved_hz = run->engraved_hz;
    if (isnan(settings->tone_hz) && isfinite(judged.tone_hz)) { // a guess that the platter corrects
        engraved_hz = judged.tone_hz;
        judged = dw_speed_judge(analysis, engraved_hz, settings);
    }
    DwSpeedFilling filling = {
        .analysis = analysis,
        .run = run,
        .settings = settings,
        .sheet = sheet,
        .length_s = (double)analysis->count / analysis->rate_hz,
        .engraved_hz = engraved_hz,
        .judged = judged,
        .error = 100 * (judged.ratio - 1),
        .turn_hz =
            (isfinite(judged.platter_rpm) ? judged.platter_rpm : settings->speed_rpm * judged.true_hz / engraved_hz) /
            60,
    };
    dw_speed_stretches_judge(&filling);
    add_tone(&filling, recording_rate_hz);
    dw_speed_stretches_list(&filling);
    add_speed(&filling);
    add_fluctuation(&filling, "weighted", "Weighted", &analysis->weighted);
    add_fluctuation(&filling, "unweighted", "Unweighted", &analysis->unweighted);
    bool withheld = is_withheld(&filling, &analysis->unweighted);
    add(&filling, "flutter.wow", "Wow", withheld ? NAN : analysis->wow, NAN, "%", 4,
        "unweighted two-sigma below the split");
    add(&filling, "flutter.flutter", "Flutter", withheld ? NAN : analysis->flutter, NAN, "%", 4,
        "unweighted two-sigma above the split");
    add(&filling, "tone.noise", "Noise of the recording", analysis->noise, NAN, "%", 4,
        "unweighted two-sigma of the noise beside the tone; taken out of the readings");
    add(&filling, "flutter.floor", "Floor of the recording", analysis->floor, NAN, "%", 4,
        "weighted two-sigma of the noise beside the tone");
    if (analysis->fitness.level_swing > 0)
        add_room(&filling);
    add_revolution(&filling);
    bool tone_fits = judged.by == DW_SPEED_BY_TONE || judged.by == DW_SPEED_BY_BOTH;
    double by_tone = settings->speed_rpm / 60 * judged.true_hz / engraved_hz;
    dw_speed_trace(analysis, settings, filling.turn_hz, tone_fits ? by_tone : NAN, sheet);
    dw_speed_hold_add(&filling);
    dw_speed_pictures_add(&filling);
    dw_speed_remainder_add(&filling);
    dw_speed_remarks_add(&filling);
}
