// SPDX-License-Identifier: MIT
#include "measure/band/band_doubt.h"

#include "base/memory.h"
#include "base/tongue.h"
#include "dsp/fit.h"
#include "dsp/statistics.h"

#include <float.h>
#include <math.h>
#include <stdlib.h>

static const double PLAIN = 0.99;       // of the power in the tone's range: 20 dB over the rest
static const double HARMONIC = 1.0 / 3; // of the tone, as a test tone's are never
static const double OF_MAINS = 1e-3, STEADY = 5e-5, LEAST_S = 3;
static const double FALL_DB = 2, FALL_DB_S = 0.25; // of a tone that dies away, in all and a second
static const double ON_LINE = 0.1;                 // the rms about that line as its share
static const double WAVER = 0.006;                 // rms, with no turn: three times what a poor deck has
static const double WRONG_SPEED = 0.06;            // that the platter may turn with
static const double BEYOND_DB = 60;
enum { SPEEDS = 4 }; // to either side

// How BAND is no test record's.
typedef struct {
    const DwToneBand *band;
    double purity, harmonics, fall_db_s, waver;
} Doubt;

// The median over the blocks: a tick spoils some.
static double purity_of(const DwToneBand *band)
{
    float *shares = dw_memory_new(band->count + 1, sizeof *shares);
    size_t heard = 0;
    for (size_t i = 0; i < band->count; i++)
        if (band->blocks[i].heard)
            shares[heard++] = (float)band->blocks[i].purity;
    double purity = heard ? dw_statistics_quantile(shares, heard, 0.5) : 0;
    free(shares);
    return purity;
}

// All harmonics over the tone, in the channel that has more of the tone.
static double harmonics_of(const DwToneBand *band, size_t harmonics)
{
    size_t channel = dw_tone_band_power(band, 1, 0) > dw_tone_band_power(band, 0, 0);
    double sum = 0;
    for (size_t k = 1; k < harmonics; k++)
        sum += dw_tone_band_power(band, channel, k);
    return sqrt(sum / dw_tone_band_power(band, channel, 0));
}

// The blocks of BAND that heard its tone: when, how loud and how high.
typedef struct {
    double *at, *level_db, *relative_hz, *weight;
    size_t count;
} Course;

static Course course_of(const DwToneBand *band)
{
    Course course = {.at = dw_memory_new(band->count + 1, sizeof(double)),
                     .level_db = dw_memory_new(band->count + 1, sizeof(double)),
                     .relative_hz = dw_memory_new(band->count + 1, sizeof(double)),
                     .weight = dw_memory_new(band->count + 1, sizeof(double))};
    for (size_t i = 0; i < band->count; i++) {
        const DwToneBlock *block = &band->blocks[i];
        if (!block->heard)
            continue;
        double power = fmax(dw_tone_block_power(block, 0, 0), dw_tone_block_power(block, 1, 0));
        course.at[course.count] = block->start_s;
        course.weight[course.count] = 1;
        course.relative_hz[course.count] = block->frequency_hz / band->frequency_hz;
        course.level_db[course.count++] = 10 * log10(power + DBL_MIN);
    }
    return course;
}

static void clear_course(Course *course)
{
    free(course->at);
    free(course->level_db);
    free(course->relative_hz);
    free(course->weight);
}

// The rms that HARMONICS of RATE_HZ and a line leave of VALUE along COURSE; *SLOPE is the line's, a second.
static double rest_of(const Course *course, const double *value, double rate_hz, size_t harmonics, double *slope)
{
    DwHarmonicFit fit = dw_fit_harmonics(course->at, value, course->weight, course->count, rate_hz, harmonics);
    double squares = 0;
    for (size_t i = 0; i < course->count; i++) {
        double law = fit.level + fit.slope * (course->at[i] - fit.centre) + dw_fit_periodic(&fit, course->at[i]);
        squares += pow(value[i] - law, 2);
    }
    *slope = fit.slope;
    return sqrt(squares / fmax(1, (double)course->count - 2 - 2 * (double)harmonics));
}

// How fast the tone dies away [dB/s]: a straight line's fall, next to which it swings little. 0: it does not.
static double fall_of(const DwToneBand *band)
{
    Course course = course_of(band);
    double slope, rest = rest_of(&course, course.level_db, 1, 0, &slope);
    double fall_db = course.count > 0 ? -slope * (course.at[course.count - 1] - course.at[0]) : 0;
    clear_course(&course);
    return fall_db > FALL_DB && -slope > FALL_DB_S && rest < ON_LINE * fall_db ? -slope : 0;
}

// The tone's wavering [rms, relative] that is no drift and no turn of a platter, nor half of one; 0 where it is too
// short to tell.
static double waver_of(const DwToneBand *band)
{
    static const double turns_hz[] = {100.0 / 180, 45.0 / 60, 78.26 / 60};
    Course course = course_of(band);
    double least = INFINITY, slope;
    for (size_t i = 0; i < sizeof turns_hz / sizeof *turns_hz; i++)
        for (int step = -SPEEDS; step <= SPEEDS; step++) {
            double turn_hz = turns_hz[i] * (1 + WRONG_SPEED * step / SPEEDS);
            least = fmin(least, rest_of(&course, course.relative_hz, turn_hz, 2, &slope));
        }
    clear_course(&course);
    return band->end_s - band->start_s < LEAST_S ? 0 : least;
}

static Doubt doubt_of(const DwToneBand *band, size_t harmonics)
{
    return (Doubt){.band = band,
                   .purity = purity_of(band),
                   .harmonics = harmonics_of(band, harmonics),
                   .fall_db_s = fall_of(band),
                   .waver = waver_of(band)};
}

static bool is_plain(const Doubt *doubt)
{
    return doubt->purity >= PLAIN && doubt->harmonics <= HARMONIC && doubt->fall_db_s <= 0 && doubt->waver <= WAVER;
}

static DwStatus refuse(const Doubt *doubt, DwMessage *message)
{
    const char *what = dw_said("Record the left, the right and the band of both channels, or name the seconds "
                               "(channels.left=2s:12s) if it is one.");
    double hz = doubt->band->frequency_hz;
    if (doubt->purity < PLAIN)
        return dw_fail(
            message, DW_BAD_INPUT,
            "The steady tone of %.0f Hz stands only %.0f dB over what else is heard about it, as a whistle or hum "
            "does and no band of a test record. %s",
            hz, 10 * log10(fmax(doubt->purity, 0.01) / (1 - doubt->purity)), what);
    if (doubt->harmonics > HARMONIC)
        return dw_fail(
            message, DW_BAD_INPUT,
            "The steady tone of %.0f Hz has harmonics of %.0f %%, as an instrument's has and no test record's. "
            "%s",
            hz, 100 * doubt->harmonics, what);
    if (doubt->fall_db_s > 0)
        return dw_fail(message, DW_BAD_INPUT,
                       "The tone of %.0f Hz dies away by %.1f dB a second, as a bell's or a string's does and no test "
                       "record's. %s",
                       hz, doubt->fall_db_s, what);
    return dw_fail(message, DW_BAD_INPUT,
                   "The tone of %.0f Hz wavers by %.1f %% rms, and not with the platter's turn, as a voice or a flute "
                   "does and no band of a test record. %s",
                   hz, 100 * doubt->waver, what);
}

DwStatus dw_band_doubt_check(const DwToneBand *bands, size_t count, size_t harmonics, DwMessage *message)
{
    Doubt best = {0};
    for (size_t i = 0; i < count; i++) {
        Doubt doubt = doubt_of(&bands[i], harmonics);
        if (is_plain(&doubt))
            return DW_OK;
        if (!best.band || doubt.purity > best.purity)
            best = doubt;
    }
    return best.band ? refuse(&best, message) : DW_OK;
}

bool dw_band_doubt_beyond_grooves(const double separation_db[2], DwSheet *sheet)
{
    bool beyond = separation_db[0] > BEYOND_DB && separation_db[1] > BEYOND_DB;
    if (beyond)
        dw_sheet_caution(sheet,
                         "Left and right are parted by %.0f dB. No groove and no cartridge does that (40 dB is rare): "
                         "what is heard is hum, a generator or an instrument, not a test record's bands.",
                         fmin(separation_db[0], separation_db[1]));
    return beyond;
}

bool dw_band_doubt_may_be_hum(const DwToneBand *band)
{
    double sum = 0, squares = 0, count = 0;
    for (size_t i = 0; i < band->count; i++)
        if (band->blocks[i].heard) {
            double off = band->blocks[i].frequency_hz / band->frequency_hz - 1;
            sum += off;
            squares += off * off;
            count++;
        }
    double fifty = fabs(band->frequency_hz / 50 / round(band->frequency_hz / 50) - 1),
           sixty = fabs(band->frequency_hz / 60 / round(band->frequency_hz / 60) - 1);
    return band->end_s - band->start_s >= LEAST_S && fmin(fifty, sixty) < OF_MAINS && count > 0 &&
           squares / count - pow(sum / count, 2) < STEADY * STEADY;
}
