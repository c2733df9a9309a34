// SPDX-License-Identifier: MIT
// From narrow bands of frequency to a channel's level at any frequency, by a
// local straight line over the logarithm of frequency.
#include "measure/sweep/response_analysis.h"

#include "physics/riaa.h"

#include <math.h>
#include <string.h>

static const double SWEPT = 0.6;            // of the bands between its ends that a sweep fills
static const double WIDEST_OCTAVES = 0.2;   // of half a window, where points are few or at a sweep's end
static const double ONE_SIDED = 0.35;       // of half a window that its points' middle may lie off
static const double BEYOND_OCTAVES = 0.085; // a sweep's end is read this far past its last spectrum
static const double SPOT_S = 0.25;
static const double LOST = 0.5;    // a crosstalk known less well than by half is not told
static const double NEARER = 0.75; // of the bands within a window, whose nearer count more in a straight line
// Hum and rumble are no even noise: a line is in step by half while the sweep is at it, half of that in phase, and not
// at all away from it; this of all of them holds 95 of 100.
static const double LINES_HZ = 170, LINES = 0.1;
static const double HANN_NOISE = 1.94; // Σw⁴·N/(Σw²)²: how noise under that window sums up with a tone

// The bands of a record that drives DRIVEN, and whether they are a sweep.
static const DwResponseBins *choose(const DwResponse *response, DwResponseChannel driven, bool *spots, size_t *covered)
{
    const DwResponseBins *sets[2] = {&response->moving[driven], &response->standing[driven]};
    size_t most = 0;
    const DwResponseBins *sweep = NULL;
    *spots = false;
    *covered = 0;
    for (size_t s = 0; s < 2; s++) {
        size_t filled = 0, first = DW_RESPONSE_BINS, last = 0;
        for (size_t i = 0; i < DW_RESPONSE_BINS; i++)
            if (sets[s]->bin[i].count > 0) {
                filled++;
                first = i < first ? i : first;
                last = i;
            }
        *covered = filled > *covered ? filled : *covered;
        bool swept = filled > DW_RESPONSE_PER_OCTAVE / 2 && (double)filled >= SWEPT * (double)(last - first + 1);
        if (swept && filled > most) {
            most = filled;
            sweep = sets[s];
        }
    }
    if (sweep)
        return sweep;
    *spots = true;
    return *covered ? sets[1] : NULL;
}

// The bands that drive CHANNEL: its own, else those that drive both; also when
// its own are but a remnant beside them.
static const DwResponseBins *bands_of(const DwResponse *response, size_t channel, bool *spots, bool *both)
{
    bool own_spots, both_spots;
    size_t own_covered, both_covered;
    const DwResponseBins *own =
        choose(response, channel ? DW_RESPONSE_RIGHT : DW_RESPONSE_LEFT, &own_spots, &own_covered);
    const DwResponseBins *common = choose(response, DW_RESPONSE_BOTH, &both_spots, &both_covered);
    *both = !own || (common && 2 * own_covered < both_covered);
    *spots = *both ? both_spots : own_spots;
    return *both ? common : own;
}

static double level_db(const DwResponseBin *bin, size_t channel)
{
    return 10 * log10(2 * bin->power[channel] / bin->count);
}

// The other channel over the driven one, by what the two have in common, so
// that noise and rumble in the other set no floor.
static double crosstalk_db(const DwResponseBin *bin, size_t channel)
{
    return 20 * log10(hypot(bin->common[0], bin->common[1]) / bin->power[channel]);
}

// A straight line through the bands within HALF octaves of OCTAVE, near ones
// counting more, read at OCTAVE. Returned: whether that many bands took part, and
// on both sides, that the line rests on them.
static bool fit_at(const DwResponseBins *bands, size_t channel, double octave, double half, double *level,
                   double *crosstalk)
{
    double w = 0, x = 0, xx = 0, y[2] = {0}, xy[2] = {0}, nearest = INFINITY;
    size_t count = 0, from = dw_response_bin(exp2(octave - half)), to = dw_response_bin(exp2(octave + half));
    for (size_t i = from; i <= to; i++) {
        const DwResponseBin *bin = &bands->bin[i];
        double off = bin->count > 0 ? bin->octave / bin->count - octave : INFINITY;
        double weight = 1 - fabs(off) / half;
        if (!(weight > 0))
            continue;
        double values[2] = {level_db(bin, channel), crosstalk_db(bin, channel)};
        count++;
        nearest = fmin(nearest, fabs(off));
        w += weight;
        x += weight * off;
        xx += weight * off * off;
        for (size_t v = 0; v < 2; v++) {
            y[v] += weight * values[v];
            xy[v] += weight * off * values[v];
        }
    }
    double spread = w * xx - x * x;
    if (count == 0 || nearest > BEYOND_OCTAVES)
        return false;
    bool line = spread > 1e-12 * w * w;
    *level = line ? (xx * y[0] - x * xy[0]) / spread : y[0] / w;
    *crosstalk = line ? (xx * y[1] - x * xy[1]) / spread : y[1] / w;
    return count >= 3 && fabs(x / w) < ONE_SIDED * half;
}

// 95 % half-width of the crosstalk of BANDS within HALF octaves of OCTAVE, read from as many of them as lie within
// READ octaves. The noise beside the tone lies in all bins that are counted to it, and only what of it is in step with
// the tone adds to the crosstalk: one part in so many bins, and half of that in phase.
static double crosstalk_off_db(const DwResponseBins *bands, size_t channel, double octave, double half, double read)
{
    double driven = 0, other = 0, common[2] = {0}, count = 0;
    size_t from = dw_response_bin(exp2(octave - half)), to = dw_response_bin(exp2(octave + half));
    for (size_t i = from; i <= to; i++) {
        const DwResponseBin *bin = &bands->bin[i];
        driven += bin->power[channel];
        other += bin->power[1 - channel];
        common[0] += bin->common[0];
        common[1] += bin->common[1];
        count += bin->count;
    }
    double leak = hypot(common[0], common[1]) / driven, apart = fmax(0, other / driven - leak * leak);
    double tell = fmax(1, count * NEARER * fmin(1, read / half) / dw_response_alike(exp2(octave)));
    double in_step = HANN_NOISE / (2 * dw_tone_track_bins(dw_response_window_s(exp2(octave)), exp2(octave)));
    if (octave < log2(LINES_HZ))
        in_step = fmax(in_step, LINES);
    double share = count > 0 ? 1.96 * sqrt(apart * in_step / tell) / leak : INFINITY;
    return share < LOST ? 20 * log10(1 + share) : INFINITY;
}

double dw_response_crosstalk_off_db(const DwResponse *response, size_t channel, double frequency_hz)
{
    bool spots, both;
    const DwResponseBins *bands = bands_of(response, channel, &spots, &both);
    if (!bands || both)
        return NAN;
    double read = 0.5 / response->settings.parts;
    double half = spots ? WIDEST_OCTAVES / 2 : fmax(read, BEYOND_OCTAVES);
    return crosstalk_off_db(bands, channel, log2(frequency_hz), half, spots ? half / NEARER : read);
}

void dw_response_at(const DwResponse *response, size_t channel, double frequency_hz, double *level, double *crosstalk)
{
    bool spots, both;
    const DwResponseBins *bands = bands_of(response, channel, &spots, &both);
    *level = *crosstalk = NAN;
    if (!bands)
        return;
    double half = 0.5 / response->settings.parts;
    while (!fit_at(bands, channel, log2(frequency_hz), half, level, crosstalk) && half < WIDEST_OCTAVES)
        half *= 1.3;
    if (both || isinf(dw_response_crosstalk_off_db(response, channel, frequency_hz)))
        *crosstalk = NAN;
}

// Each tone of a record of spots: neighbouring bands together.
static void list_spots(const DwResponseBins *bands, size_t channel, DwResponseLine *line)
{
    for (size_t i = 0; i < DW_RESPONSE_BINS && line->count < DW_RESPONSE_POINTS_MOST; i++) {
        DwResponseBin tone = {0};
        for (; i < DW_RESPONSE_BINS && bands->bin[i].count > 0; i++) {
            const DwResponseBin *bin = &bands->bin[i];
            tone.count += bin->count;
            tone.seconds += bin->seconds;
            tone.octave += bin->octave;
            for (size_t c = 0; c < 2; c++) {
                tone.power[c] += bin->power[c];
                tone.common[c] += bin->common[c];
            }
        }
        if (tone.seconds < SPOT_S)
            continue;
        line->frequency_hz[line->count] = exp2(tone.octave / tone.count);
        line->level_db[line->count] = level_db(&tone, channel);
        line->crosstalk_db[line->count++] = line->both ? NAN : crosstalk_db(&tone, channel);
    }
}

// Between which frequencies BANDS were met.
static void find_ends(const DwResponseBins *bands, double swept_hz[2])
{
    swept_hz[0] = INFINITY;
    swept_hz[1] = 0;
    for (size_t i = 0; i < DW_RESPONSE_BINS; i++) {
        const DwResponseBin *bin = &bands->bin[i];
        double hz = bin->count > 0 ? exp2(bin->octave / bin->count) : NAN;
        swept_hz[0] = fmin(swept_hz[0], hz);
        swept_hz[1] = fmax(swept_hz[1], hz);
    }
}

bool dw_response_line(const DwResponse *response, size_t channel, DwResponseLine *line)
{
    enum { CURVE_PER_OCTAVE = 24 };
    memset(line, 0, sizeof *line);
    const DwResponseBins *bands = bands_of(response, channel, &line->spots, &line->both);
    if (!bands)
        return false;
    find_ends(bands, line->swept_hz);
    if (line->spots)
        list_spots(bands, channel, line);
    else
        for (int k = -136; k <= 104; k++) { // 1/24 octaves about 1 kHz, 20 Hz to 20 kHz
            double hz = 1000 * exp2((double)k / CURVE_PER_OCTAVE), level, crosstalk;
            dw_response_at(response, channel, hz, &level, &crosstalk);
            if (isnan(level) || hz > response->top_hz)
                continue;
            line->frequency_hz[line->count] = hz;
            line->level_db[line->count] = level;
            line->crosstalk_db[line->count++] = crosstalk;
        }
    return line->count > 0;
}

// The record's velocity at FREQUENCY_HZ, as engraved, over that at 1 kHz.
static double recorded_db(DwResponseCut cut, double frequency_hz)
{
    double riaa = dw_riaa_replay_db(frequency_hz, false);
    double treble = dw_riaa_treble_db(frequency_hz);
    switch (cut) {
    case DW_RESPONSE_CUT_RIAA:
        return -riaa;
    case DW_RESPONSE_CUT_BASS:
        return treble - riaa;
    case DW_RESPONSE_CUT_VELOCITY:
        return 0;
    case DW_RESPONSE_CUT_AMPLITUDE:
        return 20 * log10(frequency_hz / 1000);
    }
    return 0;
}

static double heard_db(const DwResponseSettings *settings, double frequency_hz)
{
    double ratio = settings->speed_ratio > 0 ? settings->speed_ratio : 1;
    double chain = settings->equalised ? dw_riaa_replay_db(frequency_hz, false) : 0;
    return chain + recorded_db(settings->cut, frequency_hz / ratio);
}

double dw_response_expected_db(const DwResponseSettings *settings, double frequency_hz)
{
    return heard_db(settings, frequency_hz) - heard_db(settings, 1000);
}
