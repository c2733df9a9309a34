// SPDX-License-Identifier: MIT
// What the lines leave of a flutter: the share that is in no line and where it lies, and short jolts.
#include "measure/speed/speed_suspects.h"

#include "base/memory.h"
#include "dsp/statistics.h"

#include <math.h>
#include <stdlib.h>

enum { BANDS = 20, JOLTS_MOST = 400 };

static const double LOWEST_HZ = 0.2, HIGHEST_HZ = 200;
static const double BESIDE_BINS = 3;   // of a line: its own
static const double EDGE_SHARE = 0.25; // of the strongest band: where what is in no line ends
static const double WORTH_SAYING = 10; // % of the power
static const double HUNTING_SHARE = 25;
static const double NOISE_SHARE = 0.7; // of the unweighted flutter: from there on it is the recording that is heard
static const double PIECE_S = 0.1, APART_S = 0.6;
static const double JOLT = 4.5;           // times the usual piece: random flutter gets there once in an hour
static const double LEAST_JOLT = 0.4;     // of what is good: less troubles nobody
static const double IN_STEP = 0.9;        // 1: all at one angle of the turn
static const double RATIO = 1.4125375446; // of two bands: 20 span 0.2 to 200 Hz

static bool is_line(const DwSuspect *suspects, size_t count, double frequency_hz, double beside_hz)
{
    for (size_t i = 0; i < count; i++)
        for (size_t l = 0; l < suspects[i].waveform.count; l++)
            if (fabs(suspects[i].waveform.frequency_hz[l] - frequency_hz) < beside_hz)
                return true;
    return false;
}

// The band that most of what is in no line lies in.
static void find_band(const DwSpeedAnalysis *analysis, const DwSuspect *suspects, size_t count, double *low,
                      double *high)
{
    double power[BANDS] = {0}, step;
    DwSpectrum spectrum = dw_spectrum_of(analysis->work, analysis->count, 32768);
    step = spectrum.step * analysis->rate_hz;
    for (size_t k = 1; k < spectrum.bins; k++) {
        double hz = (double)k * step, place = log(hz / LOWEST_HZ) / log(RATIO);
        if (hz >= LOWEST_HZ && place < BANDS && !is_line(suspects, count, hz, BESIDE_BINS * step))
            power[(size_t)place] += spectrum.power[k];
    }
    dw_spectrum_clear(&spectrum);
    size_t best = 0;
    for (size_t i = 1; i < BANDS; i++)
        best = power[i] > power[best] ? i : best;
    size_t from = best, to = best;
    while (from > 0 && power[from - 1] > EDGE_SHARE * power[best])
        from--;
    while (to + 1 < BANDS && power[to + 1] > EDGE_SHARE * power[best])
        to++;
    *low = LOWEST_HZ * pow(RATIO, (double)from);
    *high = fmin(HIGHEST_HZ, LOWEST_HZ * pow(RATIO, (double)to + 1));
}

// The flutter's power less that of all lines, %: lines close to each other beat, so that a take holds less or more than
// the sum of theirs; never more is in none than what their fit leaves.
static double share_left(const DwSpeedAnalysis *analysis, const DwSuspect *suspects, size_t count)
{
    double share = 100, rms = analysis->unweighted.rms;
    for (size_t i = 0; i < count; i++)
        share -= suspects[i].share;
    return fmin(fmax(0, share), 100 * dw_speed_remainder_power(analysis) / (rms * rms));
}

// The share of lines that no described part makes in the band from LOW to HIGH Hz and an octave beside it, where there
// are two or more: a speed control that hunts slowly, in a short take, is all but such lines.
static double share_of_unknown(const DwSuspect *suspects, size_t count, double low, double high)
{
    double share = 0;
    size_t found = 0;
    for (size_t i = 0; i < count; i++) {
        bool is_near = suspects[i].frequency_hz > low / 2 && suspects[i].frequency_hz < 2 * high;
        if (suspects[i].finding->suspects[0].part != DW_PART_UNKNOWN || !is_near)
            continue;
        share += suspects[i].share;
        found++;
    }
    return found > 1 ? share : 0;
}

static void add_rest(const DwSpeedAnalysis *analysis, const DwSuspect *suspects, size_t count,
                     const DwSpeedSettings *settings, DwSheet *sheet)
{
    double low, high, share = share_left(analysis, suspects, count);
    DwReading *reading = dw_sheet_add_reading(sheet, "flutter.no_line", "In no line", share, "%", 0);
    dw_reading_set_method(reading, "the flutter's power less that of all lines");
    bool is_recording = analysis->noise > NOISE_SHARE * analysis->unweighted.two_sigma;
    if (share < WORTH_SAYING || is_recording) // no part is told of what the recording itself hisses
        return;
    find_band(analysis, suspects, count, &low, &high);
    bool hunts = dw_drive_is_controlled(&settings->drive) && high <= dw_drive_hunting_high_hz &&
                 share + share_of_unknown(suspects, count, low, high) > HUNTING_SHARE;
    dw_sheet_remark(sheet, "%.0f %% of the flutter's power is in no line, most of it from %.*f to %.*f Hz%s", share,
                    low < 10 ? 1 : 0, low, high < 10 ? 1 : 0, high,
                    hunts       ? ": a speed control that hunts looks like this. Look at its tacho, its supply and its "
                                  "damping."
                    : high > 20 ? ": noise of bearings, of the groove or of rubber."
                                : ": nothing there turns at a steady rate.");
}

// --- what comes and goes -----------------------------------------------------

typedef struct {
    double second, peak; // in the recording; %
} Jolt;

static size_t piece_size(const DwSpeedAnalysis *analysis)
{
    return (size_t)fmax(1, PIECE_S * analysis->rate_hz);
}

// The deviation less all lines, one piece of a tenth of a second.
typedef struct {
    double sum, squares, low, high; // of what is used
    size_t used, all;
    double rms, peak; // about what the pieces around have in the middle
} Piece;

static size_t cut(const DwSpeedAnalysis *a, const DwSuspect *suspects, size_t count, Piece *pieces)
{
    size_t size = piece_size(a), made = 0;
    DwWaveform *lines = dw_memory_new(count + 1, sizeof *lines);
    for (size_t i = 0; i < count; i++)
        lines[i] = dw_waveform_unweighted(&suspects[i].waveform);
    double middle = (double)a->count / a->rate_hz / 2;
    for (size_t from = 0; from + size <= a->count; from += size) {
        Piece *piece = &pieces[made++];
        *piece = (Piece){.low = INFINITY, .high = -INFINITY, .all = (size + 3) / 4};
        for (size_t n = from; n < from + size; n += 4) { // 200 Hz at some 1 kHz: every fourth value tells a jolt
            if (!a->used[n])
                continue;
            double rest = a->work[n];
            for (size_t i = 0; i < count; i++)
                rest -= dw_waveform_at(&lines[i], (double)n / a->rate_hz - middle, false);
            piece->sum += rest;
            piece->squares += rest * rest;
            piece->low = fmin(piece->low, rest);
            piece->high = fmax(piece->high, rest);
            piece->used++;
        }
    }
    free(lines);
    return made;
}

// Takes out what goes slowly, which is no jolt: a warm-up is no straight line.
static void take_out_slow(Piece *pieces, size_t count)
{
    enum { AROUND = 10 };
    for (size_t i = 0; i < count; i++) {
        float means[2 * AROUND + 1];
        size_t known = 0, reach = i < AROUND ? i : AROUND; // as far to either side
        reach = count - 1 - i < reach ? count - 1 - i : reach;
        for (size_t k = i - reach; k <= i + reach; k++)
            if (pieces[k].used)
                means[known++] = (float)(pieces[k].sum / (double)pieces[k].used);
        Piece *piece = &pieces[i];
        if (!piece->used)
            continue;
        double level = dw_statistics_quantile(means, known, 0.5), used = (double)piece->used;
        double squares = piece->squares - 2 * level * piece->sum + used * level * level;
        piece->rms = sqrt(fmax(0, squares) / (double)piece->all);
        piece->peak = fmax(piece->high - level, level - piece->low);
    }
}

// LEAST: the smallest swing that counts, %.
static size_t find_jolts(const DwSpeedAnalysis *a, const Piece *piece, size_t pieces, double least, Jolt *jolts)
{
    float *sorted = dw_memory_new(pieces + 1, sizeof *sorted);
    for (size_t i = 0; i < pieces; i++)
        sorted[i] = (float)piece[i].rms;
    double usual = pieces ? dw_statistics_quantile(sorted, pieces, 0.5) : 0, last = -APART_S;
    size_t count = 0, edge = 10; // the filters swing in and out at both ends
    free(sorted);
    for (size_t i = edge; i + edge < pieces && count < JOLTS_MOST; i++) {
        double second = ((double)i + 0.5) * (double)piece_size(a) / a->rate_hz;
        if (piece[i].rms < JOLT * usual || piece[i].peak < least)
            continue;
        if (second - last > APART_S)
            jolts[count++] = (Jolt){a->start_s + second, 0};
        jolts[count - 1].peak = fmax(jolts[count - 1].peak, piece[i].peak);
        last = second;
    }
    return count;
}

// How nearly all jolts come at one angle of a turn at TURN_HZ: 1 at best.
static double in_step(const Jolt *jolts, size_t count, double turn_hz)
{
    double real = 0, imaginary = 0;
    for (size_t i = 0; i < count; i++) {
        real += cos(2 * M_PI * turn_hz * jolts[i].second);
        imaginary += sin(2 * M_PI * turn_hz * jolts[i].second);
    }
    return hypot(real, imaginary) / (double)count;
}

static void add_jolts(const Jolt *jolts, size_t count, double turn_hz, DwSheet *sheet)
{
    static const char *const columns[] = {"second|At|s|1", "peak|Swing|% peak|3", NULL};
    size_t largest = 0;
    DwReading *reading = dw_sheet_add_reading(sheet, "flutter.jolts", "Jolts", (double)count, "", 0);
    dw_reading_set_method(reading, "tenths of a second in which the speed, less all lines, swings many times more "
                                   "than usual");
    if (!count)
        return;
    DwTable *table = dw_sheet_add_table(sheet, "flutter.jolts", "Jolts", columns);
    for (size_t i = 0; i < count; i++) {
        size_t row = dw_table_add_row(table);
        dw_table_set_number(table, row, 0, jolts[i].second);
        dw_table_set_number(table, row, 1, jolts[i].peak);
        largest = jolts[i].peak > jolts[largest].peak ? i : largest;
    }
    bool steps = count >= 4 && in_step(jolts, count, turn_hz) > IN_STEP;
    dw_sheet_remark(sheet, "The speed was jolted %zu time%s, by up to %.2f %% (at %.1f s)%s", count,
                    count == 1 ? "" : "s", jolts[largest].peak, jolts[largest].second,
                    steps
                        ? ", always at the same place of the platter's turn: a rim, belt joint or bearing that knocks."
                        : ", in no step with the platter: footfall or a knocked bench, else a belt, idler or bearing "
                          "that sticks and slips. Record again with nobody walking.");
}

void dw_speed_rest(const DwSpeedAnalysis *analysis, const DwSuspect *suspects, size_t count,
                   const DwSpeedSettings *settings, double turn_hz, DwSheet *sheet)
{
    size_t most = analysis->count / piece_size(analysis) + 1;
    Piece *piece = dw_memory_new(most, sizeof *piece);
    Jolt jolts[JOLTS_MOST];
    if (analysis->unweighted.rms > 0)
        add_rest(analysis, suspects, count, settings, sheet);
    if (isfinite(analysis->hidden_hz)) {
        dw_sheet_not_measured(sheet, "flutter.jolts",
                              "what turns nearly as often as the platter is not told apart from it, and what the two "
                              "leave of each other looks like a jolt. Record longer.");
        free(piece);
        return;
    }
    size_t pieces = cut(analysis, suspects, count, piece);
    take_out_slow(piece, pieces);
    double least = LEAST_JOLT * dw_speed_good_flutter(settings);
    add_jolts(jolts, find_jolts(analysis, piece, pieces, least, jolts), turn_hz, sheet);
    free(piece);
}
