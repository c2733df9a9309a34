// SPDX-License-Identifier: MIT
// From the spectrum of a silent groove to readings, tables and remarks.
#include "measure/band/noise_analysis.h"

#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"
#include "measure/band/noise_scratch.h"
#include "physics/riaa.h"
#include "physics/trace.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double GOOD_LENGTH_S = 10;
static const double MAINS_BINS = 0.2;              // of a spectrum's step: how finely a line is read
static const double HIDDEN = 0.02;                 // share of ticks that lie so near the limit that they are missed
enum { BUZZ_FROM = 5 };                            // the harmonic that a buzz begins with
static const double BUZZES = 0.5, PURE = 0.1;      // of the mains itself, amplitude (common practice, no source)
static const double NEARLY = 0.3;                  // the same of the harmonics below a buzz, which a field has some of
static const double ALONE = 100, ONE_CHANNEL = 10; // of the other channel's hum, power: 20 dB, 10 dB
static const double ONE_SIDED_DB = 6;              // one direction over the other, before it is worth saying

typedef struct {
    const DwNoise *noise;
    const DwNoiseRun *run;
    const DwNoiseReference *reference;
    DwSheet *sheet;
    DwNoiseMains mains;
} Filling;

// Decibels under the reference of a mean square.
static double under(const DwNoiseReference *reference, double mean_square)
{
    return -10 * log10(mean_square / (reference->rms * reference->rms));
}

static unsigned doubts(const Filling *filling, const DwNoiseCurve *curve)
{
    unsigned flags = 0;
    if (filling->run->end_s - filling->run->start_s < 0.99 * GOOD_LENGTH_S)
        flags |= DW_FLAG_SHORT;
    if ((curve && !curve->checked) || filling->reference->own_level)
        flags |= DW_FLAG_APPROXIMATE;
    return flags;
}

// A power known within RELATIVE_OFF, in decibels to the farther side.
static double in_db(double relative_off)
{
    return isnan(relative_off) ? NAN : -10 * log10(1 - fmin(relative_off, 0.9));
}

// The ± of a level under the reference: the stretch's own scatter, and what the record's level is off.
static double off_db(const Filling *filling, double relative_off)
{
    return hypot(in_db(relative_off), filling->reference->off_db);
}

static void add_rumble(const Filling *filling, const char *key, const char *label, const DwNoiseCurve *curve,
                       size_t offset)
{
    if (*curve->missing) {
        dw_sheet_not_measured(filling->sheet, key, "%s. Put the file back.", curve->missing);
        return;
    }
    if (isnan(filling->reference->rms)) {
        dw_sheet_not_measured(filling->sheet, key,
                              "there is no reference: give a second recording with the reference tone, or "
                              "noise.reference=from:to, or noise.reference_level.");
        return;
    }
    double off, mean = dw_noise_mean(filling->run, offset, &off);
    char *method = dw_text_format("%s, %s", curve->name, N_("under the reference tone"));
    DwReading *reading = dw_sheet_add_estimate(filling->sheet, key, label, under(filling->reference, mean), "dB", 1,
                                               off_db(filling, off), method);
    free(method);
    reading->flags |= doubts(filling, curve);
    reading->unjudged = filling->reference->own_level;
}

static void add_rumbles(const Filling *filling)
{
    const DwNoiseCurve *a = &filling->noise->settings.unweighted, *b = &filling->noise->settings.weighted;
    size_t unweighted = offsetof(DwNoiseSegment, groove.unweighted),
           weighted = offsetof(DwNoiseSegment, groove.weighted);
    add_rumble(filling, "noise.rumble_unweighted", "Rumble, unweighted", a, unweighted);
    add_rumble(filling, "noise.rumble_weighted", "Rumble, weighted", b, weighted);
    if (filling->noise->settings.channels == 1) {
        static const char why[] = "lateral and vertical are the sum and difference of two channels; only one is heard.";
        dw_sheet_not_measured(filling->sheet, "noise.rumble_lateral", "%s", why);
        dw_sheet_not_measured(filling->sheet, "noise.rumble_vertical", "%s", why);
        return;
    }
    add_rumble(filling, "noise.rumble_lateral", "Rumble, lateral, unweighted", a,
               unweighted + DW_NOISE_LATERAL * sizeof(double));
    add_rumble(filling, "noise.rumble_vertical", "Rumble, vertical, unweighted", a,
               unweighted + DW_NOISE_VERTICAL * sizeof(double));
}

// Decibels under the reference or, without one, over full scale (a sine's rms).
static double level_shown(const Filling *filling, double mean_square)
{
    return isnan(filling->reference->rms) ? 10 * log10(2 * mean_square) : -under(filling->reference, mean_square);
}

static const char *unit_shown(const Filling *filling)
{
    return isnan(filling->reference->rms) ? "dBFS" : "dB";
}

static void add_hum_lines(const Filling *filling, const DwNoiseHum *hum)
{
    static const char *const columns[] = {"frequency|Frequency|Hz|1", "left|Left|dB|1", "right|Right|dB|1", NULL};
    DwTable *table = NULL;
    for (size_t i = 0; i < DW_NOISE_HUM_LINES; i++) {
        if (hum->left[i] + hum->right[i] <= 0)
            continue;
        if (!table)
            table = dw_sheet_add_table(filling->sheet, "noise.hum_lines",
                                       isnan(filling->reference->rms) ? "Hum lines, dB of full scale"
                                                                      : "Hum lines, dB against the reference",
                                       columns);
        size_t row = dw_table_add_row(table);
        dw_table_set_number(table, row, 0, hum->hz[i]);
        dw_table_set_number(table, row, 1, hum->left[i] > 0 ? level_shown(filling, hum->left[i]) : NAN);
        if (filling->noise->settings.channels > 1)
            dw_table_set_number(table, row, 2, hum->right[i] > 0 ? level_shown(filling, hum->right[i]) : NAN);
    }
}

// The mains alone, or a buzz of its harmonics, by their size before the replay curve.
static void say_buzz(const Filling *filling, const DwNoiseHum *hum)
{
    double high = 0, low = 0,
           ground = (hum->left[0] + hum->right[0]) / pow(10, dw_riaa_replay_db(filling->mains.hz, false) / 10);
    for (size_t i = 1; i < DW_NOISE_HUM_ORDERS; i++)
        *(i < BUZZ_FROM - 1 ? &low : &high) +=
            (hum->left[i] + hum->right[i]) / pow(10, dw_riaa_replay_db(hum->hz[i], false) / 10);
    bool buzzes = high > BUZZES * BUZZES * ground;
    bool pure = ground > 0 && high < PURE * PURE * ground && low < NEARLY * NEARLY * ground;
    if (filling->noise->settings.paired) {
        if (buzzes || pure)
            dw_sheet_remark(filling->sheet, "The hum is %s.",
                            buzzes ? "rich in harmonics, a buzz" : "nearly the mains alone, without a buzz");
    } else if (buzzes)
        dw_sheet_remark(filling->sheet,
                        "The hum is rich in harmonics, a buzz: an earth loop or an open return that picks up supplies "
                        "and dimmers makes that rather than the motor's field. Record it with the arm over the lead-in "
                        "and over the label (noise.compare=position) to be sure.");
    else if (pure)
        dw_sheet_remark(filling->sheet,
                        "The hum is nearly the mains alone, without a buzz: the field of motor or transformer makes "
                        "that, and so does a plain earth loop. Record it with the arm over the lead-in and over the "
                        "label: a field changes, a loop does not (noise.compare=position).");
}

// The channel that the hum is in, alone or far more than in the other.
static void remark_hum_channel(const Filling *filling, double left, double right, double hidden)
{
    const char *name = left > right ? "left" : "right";
    double more = fmax(left, right), less = fmin(left, right) + hidden;
    bool alone = more > ALONE * less;
    if (filling->noise->settings.channels == 1 || more <= ONE_CHANNEL * less)
        return;
    dw_sheet_remark(filling->sheet, "The hum %s the %s channel%s.", alone ? "is in" : "is far stronger in", name,
                    alone && filling->noise->settings.paired ? " alone"
                    : filling->noise->settings.paired        ? ""
                    : alone ? " alone: look for that channel's return, open at the clip, the plug or the headshell"
                            : ": look at that channel's return first, at the clip, the plug and the headshell");
}

static void remark_hum(const Filling *filling, const DwNoiseHum *hum)
{
    double left = 0, right = 0, odd = 0, even = 0, hidden = 0;
    for (size_t i = 0; i < DW_NOISE_HUM_LINES; i++) {
        hidden += hum->ceiling[i];
        left += hum->left[i];
        right += hum->right[i];
        *(i % 2 ? &even : &odd) += hum->left[i] + hum->right[i];
    }
    remark_hum_channel(filling, left, right, hidden);
    if (!filling->mains.is_lone)
        say_buzz(filling, hum);
    if (even > 10 * (odd + hidden) && !filling->noise->settings.paired)
        dw_sheet_remark(filling->sheet,
                        "The hum is at even multiples of the mains: a supply's rectifier, or the pull of the motor or "
                        "a transformer, which shakes at twice the mains. Record once more with the arm on its rest "
                        "and noise.compare=arm to tell them apart.");
}

// Which mains hums, and whether it is the one that was stated.
static void add_mains(const Filling *filling)
{
    const DwNoiseMains *mains = &filling->mains;
    double stated = filling->noise->settings.mains_hz;
    if (!mains->heard) {
        dw_sheet_not_measured(filling->sheet, "noise.mains", "No line of 50 Hz, 60 Hz or an inverter stands out.");
        return;
    }
    dw_sheet_add_estimate(filling->sheet, "noise.mains", "Mains, by its hum", mains->hz, "Hz", 2,
                          MAINS_BINS * filling->noise->step_hz, "the frequency that the hum lines are multiples of");
    if (mains->is_lone)
        dw_sheet_remark(
            filling->sheet,
            "A line of %.2f Hz stands alone, neither 50 nor 60: an inverter's hum, or a motor that shakes at "
            "that rate. Record with the motor off as well (noise.compare=motor): hum stays.",
            mains->hz);
    else if (!mains->is_common)
        dw_sheet_remark(filling->sheet,
                        "The hum is of %.2f Hz, neither 50 nor 60: an inverter or a motor's own supply makes it.",
                        mains->hz);
    else if (filling->noise->settings.mains_given && fabs(mains->hz - stated) > 1)
        dw_sheet_remark(
            filling->sheet,
            "The mains was stated as %g Hz, but the hum is of %.0f Hz. The readings go by the hum; correct the "
            "statement if it is the deck's.",
            stated, mains->hz);
    if (!isnan(mains->second_hz))
        dw_sheet_remark(filling->sheet,
                        "There is a second hum, of %.2f Hz: the hum holds both. Mains and an inverter hum so together; "
                        "record with the motor off as well (noise.compare=motor): the mains' stays.",
                        mains->second_hz);
}

static void add_hum(const Filling *filling)
{
    DwNoiseHum hum;
    bool heard;
    double off;
    dw_noise_find_hum(filling->noise, filling->run, &filling->mains, &hum);
    double total = dw_noise_hum_total(&hum, &heard, &off);
    if (isnan(filling->reference->rms))
        dw_sheet_not_measured(filling->sheet, "noise.hum",
                              "there is no reference; the table of lines is in dB of full "
                              "scale.");
    else {
        DwReading *reading = dw_sheet_add_estimate(
            filling->sheet, "noise.hum", "Hum", under(filling->reference, total), "dB", 1, off_db(filling, off),
            "lines at 1 to 20 times the mains, their floor taken off, unweighted, mean of the channels");
        reading->flags |= doubts(filling, NULL) | (heard ? 0u : (unsigned)DW_FLAG_NOISY);
        if (!heard)
            dw_sheet_remark(
                filling->sheet,
                "No hum line stands out of the noise, at 50 Hz, 60 Hz or between; the reading is what could "
                "hide in it.");
    }
    add_hum_lines(filling, &hum);
    if (heard)
        remark_hum(filling, &hum);
}

static void add_hiss(const Filling *filling)
{
    double off, mean = dw_noise_mean(filling->run, offsetof(DwNoiseSegment, groove.hiss), &off);
    if (isnan(filling->reference->rms)) {
        dw_sheet_not_measured(filling->sheet, "noise.hiss", "there is no reference.");
        return;
    }
    DwReading *reading =
        dw_sheet_add_estimate(filling->sheet, "noise.hiss", "Hiss", under(filling->reference, mean), "dB", 1,
                              off_db(filling, off), "1 to 20 kHz, unweighted, mean of the channels");
    reading->flags |= doubts(filling, NULL);
}

// A scratch is told from dirt by coming once a turn.
static void remark_scratch(const Filling *filling)
{
    const DwNoiseRun *run = filling->run;
    DwScratch scratch = dw_scratch_find(run->tick_s, run->tick_count, filling->noise->settings.turn_s);
    if (scratch.hits)
        dw_sheet_remark(filling->sheet,
                        "A tick comes once a turn, every %.3f s from %.1f s on, in %zu of %zu turns: a scratch across "
                        "the grooves. Dirt comes at random.",
                        scratch.turn_s, scratch.first_s + filling->noise->settings.skip_s, scratch.hits, scratch.turns);
}

// Ticks are counted, taken out of every other reading, and their own weight is told.
static void add_ticks(const Filling *filling)
{
    static const struct {
        const char *key, *label;
        size_t offset;
    } rows[] = {
        {"noise.with_ticks.unweighted", "Rumble, unweighted, ticks left in",
         offsetof(DwNoiseSegment, with_ticks.unweighted)},
        {"noise.with_ticks.weighted", "Rumble, weighted, ticks left in", offsetof(DwNoiseSegment, with_ticks.weighted)},
        {"noise.with_ticks.hiss", "Hiss, ticks left in", offsetof(DwNoiseSegment, with_ticks.hiss)},
    };
    DwNoiseTicks ticks = dw_noise_ticks(filling->run);
    double minutes = (filling->run->end_s - filling->run->start_s) / 60;
    DwReading *reading =
        dw_sheet_add_estimate(filling->sheet, "noise.ticks", "Ticks", ticks.count / minutes, "1/min", 1,
                              (1 + 1.96 * sqrt(HIDDEN * ticks.count)) / minutes,
                              "jumps over eight times the groove's own noise; the ± holds those that hide near it");
    if (ticks.buzz) {
        reading->flags |= DW_FLAG_NOISY;
        dw_sheet_remark(filling->sheet,
                        "So many ticks come in a row that they could not be taken out: a buzz (a dimmer, a "
                        "switching supply) or a worn-out groove. The readings hold them.");
    }
    remark_scratch(filling);
    if (ticks.count == 0 || isnan(filling->reference->rms))
        return;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double off, mean = dw_noise_mean(filling->run, rows[i].offset, &off);
        dw_sheet_add_estimate(filling->sheet, rows[i].key, rows[i].label, under(filling->reference, mean), "dB", 1,
                              off_db(filling, off), "the same stretch as it stands");
    }
    if (ticks.buzz) // not cut out, as was said
        return;
    if (ticks.count == 1)
        dw_sheet_remark(filling->sheet,
                        "One tick was cut out (%.1f %% of the time): the other readings are the groove without it.",
                        100 * ticks.spoilt);
    else
        dw_sheet_remark(filling->sheet,
                        "%u ticks were cut out (%.1f %% of the time): the other readings are the groove without them.",
                        ticks.count, 100 * ticks.spoilt);
}

// Names each line: of the mains, of a part of the drive, or unknown.
static void add_lines(const Filling *filling, const DwNoiseDrive *drive)
{
    DwNoiseLine lines[DW_NOISE_LINES_MOST];
    DwTraceLine traced[DW_NOISE_LINES_MOST];
    DwTraceFinding findings[DW_NOISE_LINES_MOST];
    size_t count = dw_noise_find_lines(filling->noise, filling->run, lines);
    if (count == 0)
        return;
    for (size_t i = 0; i < count; i++) {
        double hz = lines[i].frequency_hz;
        // A lone line is read to a tenth of a bin; the deck may run half a percent off.
        traced[i] = (DwTraceLine){hz, hypot(0.1 * filling->noise->step_hz, 0.0025 * hz),
                                  sqrt(2 * (lines[i].lateral + lines[i].vertical))};
    }
    dw_trace_lines(traced, count, drive->rates, drive->count, filling->run->end_s - filling->run->start_s, NAN,
                   findings);
    static const char *const columns[] = {"frequency|Frequency|Hz|2", "lateral|Lateral|dB|1",
                                          "vertical|Vertical|dB|1",   "cause|Turns or hums at this rate||",
                                          "confidence|Confidence||2", NULL};
    DwTable *table = dw_sheet_add_table(
        filling->sheet, "noise.lines",
        isnan(filling->reference->rms) ? "Lines, dB of full scale" : "Lines, dB against the reference", columns);
    for (size_t i = 0; i < count; i++) {
        size_t row = dw_table_add_row(table);
        unsigned harmonic = dw_noise_mains_harmonic(filling->mains.hz, lines[i].frequency_hz);
        char words[120];
        dw_table_set_number(table, row, 0, lines[i].frequency_hz);
        dw_table_set_number(table, row, 1, level_shown(filling, lines[i].lateral));
        if (filling->noise->settings.channels > 1)
            dw_table_set_number(table, row, 2, level_shown(filling, fmax(lines[i].vertical, 1e-20)));
        double slip_hz = harmonic ? NAN : dw_noise_slip_at(&filling->mains, lines, count, lines[i].frequency_hz);
        unsigned second = harmonic ? 0 : dw_noise_mains_harmonic(filling->mains.second_hz, lines[i].frequency_hz);
        if (harmonic)
            snprintf(words, sizeof words, "mains × %u", harmonic);
        else if (second)
            snprintf(words, sizeof words, "second hum × %u", second);
        else if (!isnan(slip_hz))
            snprintf(words, sizeof words, "beside the mains by %.2f Hz: a slip that beats", slip_hz);
        else
            dw_trace_words(&findings[i], words, sizeof words);
        dw_table_set_word(table, row, 3, words);
        if (!harmonic && !second)
            dw_table_set_number(table, row, 4, findings[i].confidence);
    }
    if (drive->count == 0)
        dw_sheet_remark(filling->sheet, "Describe the drive (drive.kind, drive.pulley_diameter …) to have the lines "
                                        "named by the part that turns at their rate.");
}

// The highest bin of each of many groups, which keeps lines and shows the floor.
static void add_spectrum(const Filling *filling, const char *key, const char *label, DwNoiseDirection direction)
{
    enum { POINTS_MOST = 900 };
    const DwNoise *noise = filling->noise;
    double low_hz = 2, high_hz = fmin(20000, 0.49 * noise->settings.rate_hz);
    double share = 0.5 / (double)filling->run->segment_count; // a line's mean square from its peak bin
    double x[POINTS_MOST], y[POINTS_MOST];
    size_t points = 0, bin = (size_t)ceil(low_hz / noise->step_hz);
    for (size_t i = 0; i < POINTS_MOST; i++) {
        size_t last = (size_t)(low_hz * pow(high_hz / low_hz, (double)(i + 1) / POINTS_MOST) / noise->step_hz);
        double most = 0;
        size_t peak = bin;
        if (last < bin)
            continue;
        for (; bin <= last; bin++) {
            double power[DW_NOISE_DIRECTIONS];
            dw_noise_directions(noise, filling->run, bin, power);
            if (power[direction] > most) {
                most = power[direction];
                peak = bin;
            }
        }
        x[points] = (double)peak * noise->step_hz;
        y[points++] = most > 0 ? level_shown(filling, share * most) : NAN;
    }
    DwCurve *curve = dw_sheet_add_curve(filling->sheet, key, label, (DwAxis){"Frequency", "Hz"},
                                        (DwAxis){"Level of a line", (char *)unit_shown(filling)}, points);
    memcpy(curve->x_values, x, points * sizeof *x);
    memcpy(curve->y_values, y, points * sizeof *y);
}

static void remark_direction(const Filling *filling)
{
    size_t unweighted = offsetof(DwNoiseSegment, groove.unweighted);
    double off, power[DW_NOISE_DIRECTIONS];
    for (size_t d = 0; d < DW_NOISE_DIRECTIONS; d++)
        power[d] = dw_noise_mean(filling->run, unweighted + d * sizeof(double), &off);
    if (filling->mains.heard) // hum is no rumble
        dw_noise_beside_hum(filling->noise, filling->run, &filling->mains, power);
    double ratio_db = 10 * log10(power[DW_NOISE_LATERAL] / power[DW_NOISE_VERTICAL]);
    if (*filling->noise->settings.unweighted.missing)
        return;
    const char *condition = filling->noise->settings.polarity_known
                                ? ""
                                : ", provided that no channel is reversed: then it is the other way (the bands for the "
                                  "channels show whether one is)";
    if (ratio_db > ONE_SIDED_DB)
        dw_sheet_remark(filling->sheet,
                        "The rumble is mostly lateral: motor thrust, the belt's pull or an idler do that%s.",
                        condition);
    else if (ratio_db < -ONE_SIDED_DB)
        dw_sheet_remark(filling->sheet,
                        "The rumble is mostly vertical: the thrust bearing, a warp or the mat do that%s.", condition);
}

static void remark_curves(const Filling *filling)
{
    const DwNoiseCurve *curves[2] = {&filling->noise->settings.unweighted, &filling->noise->settings.weighted};
    for (size_t i = 0; i < 2; i++)
        if (!curves[i]->checked && !*curves[i]->missing)
            dw_sheet_remark(filling->sheet,
                            "Approximate: curve %s of data/weighting is not from the standard's own table. Source: %s.",
                            curves[i]->name, curves[i]->source);
}

static void remark_recording(const Filling *filling)
{
    const DwNoise *noise = filling->noise;
    double start = filling->run->start_s + noise->settings.skip_s, length = filling->run->end_s - filling->run->start_s;
    dw_sheet_remark(filling->sheet, "Measured on the silent groove from %.1f to %.1f s%s.", start, start + length,
                    noise->settings.find ? ", the quiet stretch found; give record.start and record.end when it is "
                                           "another"
                                         : "");
    if (filling->reference->own_level)
        dw_sheet_remark(filling->sheet,
                        "The reference tone's velocity was not stated: the readings are under that tone's "
                        "own level, compare only with the same record's, and are not judged.");
    else if (!isnan(filling->reference->rms))
        dw_sheet_remark(filling->sheet, "Referred to %s.", filling->reference->words);
    if (filling->reference->doubt)
        dw_sheet_remark(filling->sheet, "%s", filling->reference->doubt);
    if (length < 0.99 * GOOD_LENGTH_S)
        dw_sheet_remark(filling->sheet, "Only %.1f s of silence: record %.0f s or more.", length, GOOD_LENGTH_S);
    if (noise->settings.equalise)
        dw_sheet_remark(filling->sheet, "The recording has no replay equalisation; the RIAA curve was applied here, "
                                        "without a low cut.");
    dw_sheet_not_measured(filling->sheet, "record's own rumble",
                          "a pressing's rumble cannot be told from the deck's; another pressing, or a coupler on the "
                          "spindle, shows how much is the deck's.");
}

DwStatus dw_noise_read(const DwNoise *noise, const DwNoiseReference *reference, const DwNoiseDrive *drive,
                       DwSheet *sheet, DwMessage *message)
{
    DwStatus status = dw_noise_check(noise, message);
    if (status != DW_OK)
        return status;
    Filling filling = {noise, dw_noise_stretch(noise), reference, sheet, {0}};
    filling.mains = dw_noise_find_mains(noise, filling.run);
    add_rumbles(&filling);
    add_mains(&filling);
    add_hum(&filling);
    add_hiss(&filling);
    add_ticks(&filling);
    add_lines(&filling, drive);
    if (noise->settings.channels > 1) {
        add_spectrum(&filling, "noise.spectrum_lateral", "Noise, lateral", DW_NOISE_LATERAL);
        add_spectrum(&filling, "noise.spectrum_vertical", "Noise, vertical", DW_NOISE_VERTICAL);
        remark_direction(&filling);
    } else
        add_spectrum(&filling, "noise.spectrum", "Noise", DW_NOISE_BOTH);
    remark_curves(&filling);
    remark_recording(&filling);
    return DW_OK;
}
