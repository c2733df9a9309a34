// SPDX-License-Identifier: MIT
// Puts what was worked out about a tone on a sheet, in the bench's language.
#include "measure/speed/speed_judge.h"

#include "base/heard_speed.h"
#include "base/memory.h"
#include "base/text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double SMEARED_BINS = 3, SMEARED = 0.98; // about a line in a Hann window's spectrum
static const double MOST_ADDED = 0.02;                // of a reading's power, from lines that are no flutter
static const double GAPS_DOUBT = 0.1;                 // of a reading, were all of it left out
static const double MOST_GAPS = 0.25;                 // of the tone left out: beyond it flutter is withheld
static const double UNSTEADY_PERCENT = 1;             // of change within what is measured
static const double NEIGHBOUR_PERCENT = 15;           // so near another stretch may be the same band at another speed
static const double LEFT_S = 0.5;                     // of the tone, left out because the speed did not hold still
static const double GOOD_LENGTH_S = 29, STANDARD_LENGTH_S = 5;

// What the parts of the sheet are made from.
typedef struct {
    const DwSpeedAnalysis *analysis;
    const DwToneRun *run;
    const DwSpeedSettings *settings;
    DwSheet *sheet;
    double length_s;
    double engraved_hz; // the tone it is taken for
    DwSpeedJudgement judged;
    double error; // % fast; NAN where the tone may be one of several
    double turn_hz;
    unsigned flags; // that every reading of the tone shares
} Filling;

static double decibels(double ratio)
{
    return 20 * log10(ratio);
}

static DwReading *add(const Filling *filling, const char *key, const char *label, double value, double off,
                      const char *unit, int digits, const char *method)
{
    DwReading *reading = dw_sheet_add_reading(filling->sheet, key, label, value, unit, digits);
    reading->uncertainty = off;
    reading->flags = filling->flags;
    dw_reading_set_method(reading, method);
    return reading;
}

static void add_tone(const Filling *filling, double recording_rate_hz)
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

static void add_speed(const Filling *filling)
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
    if (filling->length_s < GOOD_LENGTH_S)
        drift->flags |= DW_FLAG_SHORT;
    if (isfinite(judged->tone_error))
        add(filling, "record.tone_error", "The record's own tone is off", judged->tone_error, judged->tone_error_off,
            "%", 3, "tone against the platter's own rate");
    else
        dw_sheet_not_measured(filling->sheet, "record.tone_error",
                              "nothing comes once a turn strongly enough to tell the platter's own rate.");
}

static void add_fluctuation(const Filling *filling, const char *kind, const char *word, const DwFluctuation *f)
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
    const DwSpeedFitness *fitness = &filling->analysis->fitness;
    double added = f == &filling->analysis->weighted ? fitness->added_weighted : fitness->added;
    bool withheld =
        fitness->is_drowned || filling->analysis->excluded > MOST_GAPS || added > MOST_ADDED * f->rms * f->rms;
    // What a room does to the level it does to the frequency alike; what is left out may have been other than the rest.
    double doubt = hypot(fitness->level_swing, GAPS_DOUBT * filling->analysis->excluded);
    bool noisy = filling->analysis->floor > 0.5 * filling->analysis->weighted.two_sigma;
    for (size_t i = 0; i < 4; i++) {
        char *key = dw_text_format("flutter.%s.%s", kind, rows[i].key);
        char *label = dw_text_format("%s, %s", word, rows[i].label);
        double off = withheld ? NAN : hypot(offs[i], doubt * values[i]);
        DwReading *reading = add(filling, key, label, withheld ? NAN : values[i], off, "%", 4, rows[i].method);
        if (filling->length_s < STANDARD_LENGTH_S)
            reading->flags |= DW_FLAG_SHORT;
        if (noisy)
            reading->flags |= DW_FLAG_NOISY;
        if (fitness->level_swing > 0)
            reading->flags |= DW_FLAG_APPROXIMATE;
        free(key);
        free(label);
    }
}

static double in_turn(double degrees)
{
    double turned = fmod(degrees, 360);
    return turned < 0 ? turned + 360 : turned;
}

static void add_revolution(const Filling *filling)
{
    const DwSpeedAnalysis *a = filling->analysis;
    const DwHarmonicFit *fit = &a->fit;
    double first = hypot(fit->cosine[0], fit->sine[0]), second = hypot(fit->cosine[1], fit->sine[1]);
    double phase = in_turn(a->turn_phase * 180 / M_PI);
    add(filling, "revolution.amplitude", "Once a revolution", first, a->turn_off[0], "% peak", 4,
        "fitted at the platter's rate");
    add(filling, "revolution.phase", "Its phase", phase, fmin(180, a->turn_phase_off * 180 / M_PI), "deg", 1,
        "of a cosine at the recording's start");
    add(filling, "revolution.second", "Twice a revolution", second, a->turn_off[1], "% peak", 4,
        "fitted at twice the platter's rate");
    if (!isfinite(filling->settings->radius_mm)) {
        dw_sheet_not_measured(filling->sheet, "revolution.eccentricity",
                              "the groove radius is not stated. Give record.radius, as in record.radius=100mm.");
        return;
    }
    // On a pivoted arm the swing has a part along the groove: peak = e/(r·cos offset).
    double lean = isfinite(filling->settings->offset_deg) ? cos(filling->settings->offset_deg * M_PI / 180) : 1;
    double scale = filling->settings->radius_mm / 100 * lean;
    add(filling, "revolution.eccentricity", "Off-centre, if it is the record", first * scale, a->turn_off[0] * scale,
        "mm", 3, "e = amplitude times radius, as if the platter had no share");
}

// The deviation as means of short pieces: at most as many as a picture shows.
static void add_deviation(const Filling *filling)
{
    enum { POINTS_MOST = 6000 };
    const DwSpeedAnalysis *a = filling->analysis;
    size_t size = (size_t)(0.01 * a->rate_hz);
    while (a->count / size > POINTS_MOST)
        size++;
    size_t points = a->count / size;
    DwCurve *curve = dw_sheet_add_curve(filling->sheet, "speed.deviation", "Speed deviation", (DwAxis){"Time", "s"},
                                        (DwAxis){"Deviation from the mean", "%"}, points);
    for (size_t i = 0; i < points; i++) {
        double sum = 0;
        size_t kept = 0;
        for (size_t n = i * size; n < (i + 1) * size; n++)
            if (a->used[n]) {
                sum += a->deviation[n];
                kept++;
            }
        curve->x_values[i] = a->start_s + ((double)i + 0.5) * (double)size / a->rate_hz;
        curve->y_values[i] = kept ? sum / (double)kept : NAN;
    }
}

// Lets the curve say of each line what the table says: the point nearest to it becomes the
// line, and what the window smears beside it stays below.
static void mark_lines(const DwSpeedAnalysis *a, double step, double *x, double *y, size_t points)
{
    for (size_t i = 0; i < points; i++) {
        double most = 0;
        for (size_t l = 0; l < a->line_count; l++)
            if (fabs(x[i] - a->lines[l].frequency_hz) < SMEARED_BINS * step)
                most = fmax(most, a->lines[l].amplitude);
        y[i] = most > 0 ? fmin(y[i], SMEARED * most) : y[i];
    }
    for (size_t l = a->line_count; points && l-- > 0;) { // the strongest last, where two are nearest to one point
        size_t nearest = 0;
        for (size_t i = 0; i < points; i++)
            nearest = fabs(x[i] - a->lines[l].frequency_hz) < fabs(x[nearest] - a->lines[l].frequency_hz) ? i : nearest;
        if (fabs(x[nearest] - a->lines[l].frequency_hz) < SMEARED_BINS * step) {
            x[nearest] = a->lines[l].frequency_hz;
            y[nearest] = a->lines[l].amplitude;
        }
    }
}

// The spectrum from 0.2 to 200 Hz: bins where they lie apart, the highest of
// each group where they crowd.
static void add_spectrum(const Filling *filling)
{
    enum { POINTS_MOST = 1500 };
    const DwSpeedAnalysis *a = filling->analysis;
    const DwSpectrum *spectrum = &a->spectrum;
    double step = spectrum->step * a->rate_hz, low_hz = 0.2, high_hz = 200;
    double *x = dw_memory_new(POINTS_MOST, sizeof *x), *y = dw_memory_new(POINTS_MOST, sizeof *y);
    size_t points = 0, bin = (size_t)ceil(low_hz / step);
    for (size_t i = 0; i < POINTS_MOST; i++) {
        double end = low_hz * pow(high_hz / low_hz, (double)(i + 1) / POINTS_MOST);
        size_t peak = bin, last = (size_t)(end / step);
        if (last < bin || last >= spectrum->bins)
            continue;
        for (; bin <= last; bin++)
            if (spectrum->power[bin] > spectrum->power[peak])
                peak = bin;
        x[points] = (double)peak * step;
        y[points++] = sqrt(spectrum->power[peak]);
    }
    mark_lines(a, step, x, y, points);
    DwCurve *curve = dw_sheet_add_curve(filling->sheet, "flutter.spectrum", "Flutter spectrum",
                                        (DwAxis){"Frequency", "Hz"}, (DwAxis){"Amplitude", "% peak"}, points);
    memcpy(curve->x_values, x, points * sizeof *x);
    memcpy(curve->y_values, y, points * sizeof *y);
    free(x);
    free(y);
}

// One row a revolution, platter angle across, unweighted deviation.
static void add_raster(const Filling *filling)
{
    enum { COLUMNS = 180 };
    const DwSpeedAnalysis *a = filling->analysis;
    double turn = a->rate_hz / filling->turn_hz; // values a revolution
    size_t rows = (size_t)((double)a->count / turn);
    DwRaster *raster =
        dw_sheet_add_raster(filling->sheet, "speed.raster", "Revolution raster", (DwAxis){"Platter angle", "deg"},
                            (DwAxis){"Revolution", ""}, "%", rows, COLUMNS);
    raster->across_span = 360;
    raster->down_start = 1;
    raster->down_step = 1;
    for (size_t i = 0; i < rows * COLUMNS; i++) {
        size_t from = (size_t)((double)i * turn / COLUMNS), to = (size_t)((double)(i + 1) * turn / COLUMNS);
        double sum = 0;
        size_t kept = 0;
        for (size_t n = from; n < to && n < a->count; n++)
            if (a->used[n]) {
                sum += a->work[n];
                kept++;
            }
        if (kept)
            raster->values[i] = (float)(sum / (double)kept);
    }
}

// Which other speed or pulley makes a deck run at RATIO times the nominal speed; NULL: none known.
static const char *cause_of(double ratio)
{
    static const struct {
        double ratio;
        const char *cause;
    } causes[] = {
        {1.350, "This is 45 instead of 33⅓ rpm: check the speed setting, and deck.speed."},
        {1 / 1.350, "This is 33⅓ instead of 45 rpm: check the speed setting, and deck.speed."},
        {1.200, "This is what a 50 Hz pulley does on 60 Hz mains: check the pulley where the motor keeps to the mains; "
                "else the speed setting, its control and deck.speed."},
        {1 / 1.2,
         "This is what a 60 Hz pulley does on 50 Hz mains: check the pulley where the motor keeps to the mains; "
         "else the speed setting, its control and deck.speed."},
        {2.348, "This is 78 instead of 33⅓ rpm: check the speed setting, and deck.speed."},
        {1 / 2.348, "This is 33⅓ instead of 78 rpm: check the speed setting, and deck.speed."},
        {1.739, "This is 78 instead of 45 rpm: check the speed setting, and deck.speed."},
        {1 / 1.739, "This is 45 instead of 78 rpm: check the speed setting, and deck.speed."},
        {1.620, "This is 45 instead of 33⅓ rpm together with a 50 Hz pulley on 60 Hz mains."},
        {1.125, "This is 45 instead of 33⅓ rpm together with a 60 Hz pulley on 50 Hz mains."},
    };
    for (size_t i = 0; i < sizeof causes / sizeof *causes; i++)
        if (fabs(ratio / causes[i].ratio - 1) < 0.025)
            return causes[i].cause;
    return NULL;
}

// What is wrong with what was stated, where the platter's own lines say so.
static void remark_statement(const Filling *filling)
{
    const DwSpeedJudgement *judged = &filling->judged;
    DwSheet *sheet = filling->sheet;
    double by_tone = filling->settings->speed_rpm * judged->true_hz / filling->engraved_hz;
    if (isfinite(judged->tone_hz))
        dw_sheet_remark(
            sheet,
            "The tone says %.2f rpm, what comes once a turn says %.2f rpm: this is the wrong tone, or the wrong "
            "band. A tone engraved at %g Hz fits; record.tone says %g Hz.",
            by_tone, judged->platter_rpm, judged->tone_hz, filling->engraved_hz);
    else if (isfinite(judged->speed_rpm))
        dw_sheet_remark(
            sheet,
            "The tone says %.2f rpm, what comes once a turn says %.2f rpm: this is the wrong speed. A record for "
            "%.4g rpm fits; deck.speed says %.4g rpm.",
            by_tone, judged->platter_rpm, judged->speed_rpm, filling->settings->speed_rpm);
    else
        dw_sheet_remark(
            sheet,
            "The tone says %.2f rpm, what comes once a turn says %.2f rpm: the record's tone is off by %.2f %%, or "
            "record.tone or deck.speed is wrong.",
            by_tone, judged->platter_rpm, judged->tone_error);
}

static void remark_speed(const Filling *filling)
{
    const DwSpeedJudgement *judged = &filling->judged;
    double error = filling->error, ratio = judged->ratio;
    if (judged->by == DW_SPEED_UNKNOWN) {
        double one = filling->engraved_hz, other = judged->rival_hz, hz = judged->true_hz;
        dw_sheet_not_measured(
            filling->sheet, "speed.error",
            "the tone of %.1f Hz is %g Hz at %+.2f %% or %g Hz at %+.2f %%, and nothing comes once a turn "
            "to tell. Give record.tone.",
            hz, one, 100 * (hz / one - 1), other, 100 * (hz / other - 1));
        return;
    }
    if (judged->by == DW_SPEED_BY_PLATTER)
        remark_statement(filling);
    else if (judged->is_doubtful)
        dw_sheet_remark(
            filling->sheet,
            "The tone says %.2f rpm, what comes once a turn says %.2f rpm, and the take is too short to tell "
            "which is right. Check deck.speed and record.tone, or record 60 s or more.",
            filling->settings->speed_rpm * judged->true_hz / filling->engraved_hz, judged->platter_rpm);
    const char *cause = fabs(error) > 6 ? cause_of(ratio) : NULL;
    if (cause) {
        dw_sheet_remark(filling->sheet, "The deck turns at %.2f rpm, %.3f times the nominal speed. %s",
                        filling->turn_hz * 60, ratio, cause);
        return;
    }
    DwHeardSpeed heard = dw_heard_speed(100 * (ratio - 1));
    if (fabs(error) < 0.005)
        dw_sheet_remark(filling->sheet, "The speed is right within 0.005 %%.");
    else
        dw_sheet_remark(filling->sheet, "%.2f %% %s: a 20-minute side ends %.1f s %s, %.0f cent%s %s.", fabs(error),
                        error > 0 ? "fast" : "slow", fabs(heard.early_s), error > 0 ? "early" : "late",
                        fabs(heard.cents), lround(fabs(heard.cents)) == 1 ? "" : "s", error > 0 ? "sharp" : "flat");
}

static void remark_channels(const Filling *filling)
{
    const DwToneRun *run = filling->run;
    if (filling->settings->channels > 1) {
        double least = fmin(run->share[0], run->share[1]);
        if (least < 0.03)
            dw_sheet_remark(filling->sheet, "The %s channel carries no tone; the other one was measured.",
                            run->share[0] < run->share[1] ? "left" : "right");
        else if (run->reversed)
            dw_sheet_remark(filling->sheet, "The channels are in opposite phase: one is reversed, or the band is a "
                                            "vertical one. The readings here do not suffer.");
    }
    if (filling->flags & DW_FLAG_CLIPPED)
        dw_sheet_remark(filling->sheet, "The recording is clipped. Lower the recording gain and record again; speed "
                                        "and flutter hardly suffer, levels do.");
}

static void remark_recording(const Filling *filling)
{
    const DwSpeedAnalysis *a = filling->analysis;
    const DwToneRun *run = filling->run;
    DwSheet *sheet = filling->sheet;
    dw_sheet_remark(sheet, "Measured on the steady tone from %.1f to %.1f s of the recording%s.", a->start_s,
                    a->start_s + filling->length_s, a->excluded > 0.0005 ? ", ticks and dropouts left out" : "");
    if (run->dropped)
        dw_sheet_remark(sheet, "The tone lasts longer than the %.0f minutes that are kept; the last part was measured.",
                        filling->settings->keep_s / 60);
    if (!isfinite(filling->settings->tone_hz))
        dw_sheet_remark(sheet, "record.tone was not given; the tone was taken for %g Hz.", filling->engraved_hz);
    if (filling->length_s < GOOD_LENGTH_S)
        dw_sheet_remark(sheet,
                        "Only %.0f s of tone: record 30 s or more to tell drift from wow and to part lines that "
                        "lie close, such as belt and platter.",
                        filling->length_s);
    if (a->floor > 0.5 * a->weighted.two_sigma)
        dw_sheet_remark(sheet,
                        "The weighted flutter is near the %.4f %% that the recording's own noise reads: the deck "
                        "may be better than this.",
                        a->floor);
    remark_channels(filling);
}

// What makes the recording less than fit, with what would help.
static void remark_fitness(const Filling *filling)
{
    const DwSpeedAnalysis *a = filling->analysis;
    const DwSpeedFitness *fitness = &a->fitness;
    DwSheet *sheet = filling->sheet;
    if (fitness->level_swing > 0) {
        add(filling, "room.reverberation", "Reverberation of the room", fitness->reverberation_s,
            fitness->reverberation_off, "s", 2, "rate up to which the level follows the speed");
        dw_sheet_remark(
            sheet,
            "The level follows the speed by %.0f %%: this was recorded through a room, whose echo changes the "
            "flutter. Record from the deck's leads.",
            100 * fitness->level_swing);
    }
    if (fitness->is_locked)
        dw_sheet_remark(sheet,
                        "This is a locked groove: each turn is the same one again, with a tick and a jump of the "
                        "tone's phase where it closes.");
    if (fitness->is_drowned)
        dw_sheet_not_measured(sheet, "flutter.weighted.two_sigma",
                              "the noise is too near to the tone to follow it. Clean record and stylus, raise the "
                              "recording level, and record again.");
    else if (a->excluded > MOST_GAPS)
        dw_sheet_not_measured(
            sheet, "flutter.weighted.two_sigma",
            "%.0f %% of the tone are spoilt by ticks and dropouts: too much to tell its flutter. Clean "
            "record and stylus, and record again.",
            100 * a->excluded);
    else if (fitness->added > MOST_ADDED * a->unweighted.rms * a->unweighted.rms)
        dw_sheet_not_measured(
            sheet, "flutter.unweighted.two_sigma",
            "hum or another sound lies so near to the tone of %.0f Hz that it reads as flutter. Use a "
            "band of 3000 or 3150 Hz, and look after the earth lead.",
            a->mean_hz);
}

static void list_not_measured(const Filling *filling)
{
    DwSheet *sheet = filling->sheet;
    dw_sheet_not_measured(sheet, "record's own share",
                          "an off-centre pressing and an uneven platter look alike in one recording; record the band "
                          "again with the disc turned half round on the platter (reseat).");
    if (!isfinite(filling->settings->tone_tolerance_percent) && !isfinite(filling->judged.tone_error))
        dw_sheet_not_measured(sheet, "record's own speed error",
                              "the engraved tone is taken as exact; IEC 60098 lets a record be off by 0.5 %%. State "
                              "record.tone_tolerance where its maker does.");
    if (!isfinite(filling->settings->clock_error_ppm))
        dw_sheet_not_measured(sheet, "sampling clock",
                              "taken as exact within 0.01 %%, as is common. State chain.clock_error once it has been "
                              "checked.");
}

// Says which parts of the tone were left out, and lists all that was heard.
static void add_stretches(const Filling *filling)
{
    static const char *const columns[] = {"start|From|s|1",        "end|To|s|1", "frequency|Tone|Hz|2",
                                          "change|Changes by|%|2", "use|Use||0", NULL};
    const DwSpeedAnalysis *a = filling->analysis;
    const DwSteadiness *steadiness = &a->steadiness;
    const DwToneRun *whole = &a->whole;
    if (!steadiness->count)
        return;
    DwTable *table = dw_sheet_add_table(filling->sheet, "tone.stretches", "Steady stretches of a tone", columns);
    for (size_t i = 0; i < steadiness->count; i++) {
        const DwStretch *stretch = &steadiness->stretch[i];
        size_t row = dw_table_add_row(table);
        dw_table_set_number(table, row, 0, whole->start_s + (double)stretch->from / whole->rate_hz);
        dw_table_set_number(table, row, 1, whole->start_s + (double)stretch->to / whole->rate_hz);
        dw_table_set_number(table, row, 2, stretch->mean_hz);
        dw_table_set_number(table, row, 3, stretch->change);
        dw_table_set_word(table, row, 4, i == steadiness->chosen ? "measured" : "left out");
    }
    for (size_t i = 0; i < a->passages; i++) {
        double start = a->passage[i].start_s + filling->settings->skip_s, end = a->passage[i].end_s;
        if (start < whole->start_s + (double)whole->count / whole->rate_hz &&
            end + filling->settings->skip_s > whole->start_s)
            continue; // the run that was measured
        size_t row = dw_table_add_row(table);
        dw_table_set_number(table, row, 0, start);
        dw_table_set_number(table, row, 1, end + filling->settings->skip_s);
        dw_table_set_number(table, row, 2, a->passage[i].mean_hz);
        dw_table_set_word(table, row, 4, "another band");
    }
}

static void remark_stretches(const Filling *filling)
{
    const DwSteadiness *steadiness = &filling->analysis->steadiness;
    if (!(filling->flags & DW_FLAG_UNSTEADY))
        return;
    const DwStretch *chosen = &steadiness->stretch[steadiness->chosen];
    if (steadiness->left_s > LEFT_S || steadiness->count > 1)
        dw_sheet_remark(
            filling->sheet,
            "The speed did not hold still all along: %zu steady stretch%s found, one is measured (see the table).",
            steadiness->count, steadiness->count == 1 ? " was" : "es were");
    for (size_t i = 0; i < steadiness->count; i++) {
        double off = 100 * (steadiness->stretch[i].mean_hz / chosen->mean_hz - 1);
        if (i != steadiness->chosen && fabs(off) > UNSTEADY_PERCENT && fabs(off) < NEIGHBOUR_PERCENT) {
            dw_sheet_remark(filling->sheet,
                            "Another stretch lies %.2f %% %s: a second band of the record, or a deck that changed its "
                            "speed. The readings and verdicts here are of the measured stretch alone.",
                            fabs(off), off > 0 ? "higher" : "lower");
            break;
        }
    }
    if (fabs(chosen->change) > UNSTEADY_PERCENT)
        dw_sheet_remark(filling->sheet, "Within it the speed changes by %.2f %%: its mean says little.",
                        chosen->change);
}

static unsigned flags_of(const DwSpeedAnalysis *analysis, const DwToneRun *run)
{
    const DwSteadiness *steadiness = &analysis->steadiness;
    unsigned flags = 0;
    if (run->clipped_blocks * 50 > run->blocks)
        flags |= DW_FLAG_CLIPPED;
    if (analysis->excluded > MOST_GAPS)
        flags |= DW_FLAG_GAPS;
    if (steadiness->count && (steadiness->left_s > LEFT_S || steadiness->count > 1 ||
                              fabs(steadiness->stretch[steadiness->chosen].change) > UNSTEADY_PERCENT))
        flags |= DW_FLAG_UNSTEADY;
    return flags;
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
    Filling filling = {
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
        .flags = flags_of(analysis, run),
    };
    add_tone(&filling, recording_rate_hz);
    add_stretches(&filling);
    add_speed(&filling);
    add_fluctuation(&filling, "weighted", "Weighted", &analysis->weighted);
    add_fluctuation(&filling, "unweighted", "Unweighted", &analysis->unweighted);
    add(&filling, "flutter.wow", "Wow", analysis->wow, NAN, "%", 4, "unweighted two-sigma below the split");
    add(&filling, "flutter.flutter", "Flutter", analysis->flutter, NAN, "%", 4, "unweighted two-sigma above the split");
    add(&filling, "tone.noise", "Noise of the recording", analysis->noise, NAN, "%", 4,
        "unweighted two-sigma of the noise beside the tone; taken out of the readings");
    add(&filling, "flutter.floor", "Floor of the recording", analysis->floor, NAN, "%", 4,
        "weighted two-sigma of the noise beside the tone");
    add_revolution(&filling);
    dw_speed_trace(analysis, settings, filling.turn_hz, sheet);
    add_deviation(&filling);
    add_spectrum(&filling);
    add_raster(&filling);
    remark_speed(&filling);
    remark_stretches(&filling);
    remark_recording(&filling);
    remark_fitness(&filling);
    list_not_measured(&filling);
}
