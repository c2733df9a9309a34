// SPDX-License-Identifier: MIT
// Lines in the spectrum of a silent groove: hum at the mains' harmonics, and
// whatever turns.
#include "measure/band/noise_analysis.h"

#include "base/memory.h"
#include "dsp/spectrum.h"
#include "dsp/statistics.h"

#include <math.h>
#include <stdlib.h>

static const double HANN = 1.0 / 3;
static const double HUM_HALF_HZ = 1;    // the mains wanders less than this at its 20th harmonic's bins
static const double SURE = 5;           // standard deviations of the floor that a line must exceed it by
static const double LINE_SCATTER = 0.5; // 95 %, of the root of its power and what could hide under it
static const double HANN_SPREAD = 1.94; // neighbouring bins of a Hann window share noise: 1 + 2(4/9 + 1/36)
static const double FLOOR_HZ = 6;       // the floor beside a hum line
static const double LINES_LOW_HZ = 1.5, LINES_HIGH_HZ = 500;
static const double STANDS_OUT = 8;         // a line's bin over the local floor
static const double MAINS_HZ = 0.15;        // a line this near a harmonic of the mains is one
static const double MAINS_RELATIVE = 0.001; // and this much for each hertz

static const double STATED = 1.01; // what decides between two that explain the lines alike
enum { LOW_ORDERS = 5 };           // the multiples that most of the hum is in
// Inverters of small supplies: lines at two of the first three multiples, half as much again as the mains explains.
static const double INVERTER_LOW_HZ = 40, INVERTER_HIGH_HZ = 70, INVERTER_STEP_HZ = 0.05, INVERTER_BETTER = 1.5;
static const double SLIP_LEAST_HZ = 0.7, SLIP_MOST_HZ = 8, SLIP_ALIKE_HZ = 0.15;
static const double LONE = 1; // of a line that stands alone, power: no other is stronger

// The median of POWER in bins FROM to TO but for those about MIDDLE.
static double floor_about(const double *power, size_t from, size_t to, size_t middle_from, size_t middle_to)
{
    float *values = dw_memory_new(to - from + 1, sizeof *values);
    size_t count = 0;
    for (size_t k = from; k <= to; k++)
        if (k < middle_from || k > middle_to)
            values[count++] = (float)power[k];
    double median = count ? dw_statistics_quantile(values, count, 0.5) : 0;
    free(values);
    return median;
}

// The power of a line at FREQUENCY_HZ over its floor, 0 when none stands out;
// CEILING is what could hide there. Sums over the segments.
static double line_power(const DwNoise *noise, const double *power, double frequency_hz, size_t segments,
                         double *ceiling)
{
    double step = noise->step_hz;
    size_t from = (size_t)ceil((frequency_hz - HUM_HALF_HZ) / step), to = (size_t)((frequency_hz + HUM_HALF_HZ) / step);
    size_t far_from = (size_t)((frequency_hz - FLOOR_HZ) / step), far_to = (size_t)((frequency_hz + FLOOR_HZ) / step);
    // A median of few averages lies under the mean: by a third for one, by 1/(3n) for n.
    double floor = floor_about(power, far_from, far_to, from - 1, to + 1) * (1 + 1 / (3.0 * (double)segments));
    double bins = (double)(to - from + 1), sum = 0;
    for (size_t k = from; k <= to; k++)
        sum += power[k];
    *ceiling = floor * fmax(0.5 * bins, SURE * sqrt(HANN_SPREAD * bins / (double)segments));
    return sum - bins * floor > *ceiling ? sum - bins * floor : 0;
}

double dw_noise_fundamental(const DwNoise *noise, const DwNoiseRun *run, double *power)
{
    double step = noise->step_hz, best = 0;
    size_t peak = 0, wide = (size_t)(HUM_HALF_HZ / step) + 1, far = (size_t)(FLOOR_HZ / step);
    for (size_t k = (size_t)(INVERTER_LOW_HZ / step); k <= (size_t)(INVERTER_HIGH_HZ / step); k++)
        if (run->left[k] + run->right[k] > best) {
            best = run->left[k] + run->right[k];
            peak = k;
        }
    double line = 0, beside = 0;
    for (size_t k = peak - far; peak && k <= peak + far; k++)
        *(k + wide >= peak && k <= peak + wide ? &line : &beside) += run->left[k] + run->right[k];
    *power = 0;
    if (!peak || line <= beside)
        return NAN;
    double both[3];
    for (size_t i = 0; i < 3; i++)
        both[i] = run->left[peak + i - 1] + run->right[peak + i - 1];
    double hz = ((double)peak - 1 + dw_spectrum_peak_bin(both, 1)) * step;
    for (size_t order = 1; order <= 5; order++)
        for (size_t k = (size_t)((double)order * hz / step) - wide; k <= (size_t)((double)order * hz / step) + wide;
             k++)
            *power += k < noise->bins ? run->left[k] + run->right[k] : 0;
    return hz;
}

// Whether what stands at HZ is counted as a multiple of MAINS_HZ.
static bool counted(double mains_hz, double hz)
{
    double order = round(hz / mains_hz);
    return order >= 1 && order <= DW_NOISE_HUM_ORDERS && fabs(hz - order * mains_hz) < 2 * HUM_HALF_HZ;
}

void dw_noise_find_hum(const DwNoise *noise, const DwNoiseRun *run, const DwNoiseMains *mains, DwNoiseHum *hum)
{
    *hum = (DwNoiseHum){0};
    // Where ticks are bridged over the hum is left out with them: its amplitude by as much, of which half is made up.
    double share = HANN / (double)run->segment_count / (1 - dw_noise_ticks(run).spoilt);
    for (size_t i = 0; i < DW_NOISE_HUM_LINES; i++) {
        bool second = i >= DW_NOISE_HUM_ORDERS;
        double left_ceiling, right_ceiling = 0;
        double hz = hum->hz[i] = (second ? mains->second_hz : mains->hz) * (double)(i % DW_NOISE_HUM_ORDERS + 1);
        if (isnan(hz) || hz + FLOOR_HZ >= 0.5 * noise->settings.rate_hz || (second && counted(mains->hz, hz)))
            continue;
        hum->left[i] = share * line_power(noise, run->left, hz, run->segment_count, &left_ceiling);
        if (noise->settings.channels > 1)
            hum->right[i] = share * line_power(noise, run->right, hz, run->segment_count, &right_ceiling);
        hum->ceiling[i] = share * fmax(left_ceiling, right_ceiling);
        if (noise->settings.channels == 1)
            hum->right[i] = hum->left[i];
    }
}

double dw_noise_hum_total(const DwNoiseHum *hum, bool *heard, double *relative_off)
{
    double sum = 0, ceiling = 0, scatter = 0, hidden = 0;
    for (size_t i = 0; i < DW_NOISE_HUM_LINES; i++) {
        double line = 0.5 * (hum->left[i] + hum->right[i]);
        sum += line;
        scatter += line * hum->ceiling[i];
        ceiling += hum->ceiling[i];
        hidden += line > 0 || i % DW_NOISE_HUM_ORDERS >= LOW_ORDERS ? 0 : hum->ceiling[i];
    }
    *heard = sum > hidden; // a harmonic that shows tells nothing of a fundamental that does not
    // A line in noise scatters by twice the root of both their powers; what could hide is some ten times the noise.
    *relative_off = *heard ? LINE_SCATTER * sqrt(scatter) / sum : NAN;
    return *heard ? sum : ceiling;
}

// How far HZ is from the nearest multiple of MAINS_HZ; far where that is NAN.
static double off_multiple(double mains_hz, double hz)
{
    double off_hz = fabs(hz - mains_hz * fmax(1, round(hz / mains_hz)));
    return isnan(off_hz) ? INFINITY : off_hz;
}

void dw_noise_beside_hum(const DwNoise *noise, const DwNoiseRun *run, const DwNoiseMains *mains,
                         double power[DW_NOISE_DIRECTIONS])
{
    double share = HANN / (double)run->segment_count;
    for (size_t d = 0; d < DW_NOISE_DIRECTIONS; d++)
        power[d] = 0;
    for (size_t k = 1; k < noise->bins; k++) {
        double hz = (double)k * noise->step_hz, here[DW_NOISE_DIRECTIONS];
        double off_hz = fmin(off_multiple(mains->hz, hz), off_multiple(mains->second_hz, hz));
        if (noise->unweighted[k] <= 0 || off_hz <= HUM_HALF_HZ)
            continue;
        dw_noise_directions(noise, run, k, here);
        for (size_t d = 0; d < DW_NOISE_DIRECTIONS; d++)
            power[d] += share * noise->unweighted[k] * here[d];
    }
}

unsigned dw_noise_mains_harmonic(double mains_hz, double frequency_hz)
{
    double number = round(frequency_hz / mains_hz);
    double off = fabs(frequency_hz - number * mains_hz);
    return number >= 1 && off <= MAINS_HZ + MAINS_RELATIVE * frequency_hz ? (unsigned)number : 0;
}

static int by_power(const void *a, const void *b)
{
    double x = ((const DwNoiseLine *)a)->lateral + ((const DwNoiseLine *)a)->vertical;
    double y = ((const DwNoiseLine *)b)->lateral + ((const DwNoiseLine *)b)->vertical;
    return (x < y) - (x > y);
}

static int by_frequency(const void *a, const void *b)
{
    double x = ((const DwNoiseLine *)a)->frequency_hz, y = ((const DwNoiseLine *)b)->frequency_hz;
    return (x > y) - (x < y);
}

// The line whose peak is BIN of BOTH, the floor taken off.
static DwNoiseLine line_at(const DwNoise *noise, const DwNoiseRun *run, const double *both, size_t bin, double floor)
{
    DwNoiseLine line = {.frequency_hz = dw_spectrum_peak_bin(both, bin) * noise->step_hz};
    double total = 0;
    for (size_t k = bin - 2; k <= bin + 2; k++) {
        double power[DW_NOISE_DIRECTIONS];
        dw_noise_directions(noise, run, k, power);
        line.lateral += power[DW_NOISE_LATERAL];
        line.vertical += power[DW_NOISE_VERTICAL];
        total += power[DW_NOISE_BOTH];
    }
    double share = HANN / (double)run->segment_count * fmax(0, 1 - 5 * floor / total);
    line.lateral *= share;
    line.vertical *= share;
    return line;
}

size_t dw_noise_find_lines(const DwNoise *noise, const DwNoiseRun *run, DwNoiseLine lines[DW_NOISE_LINES_MOST])
{
    double *both = dw_memory_new(noise->bins, sizeof *both);
    for (size_t k = 0; k < noise->bins; k++) {
        double power[DW_NOISE_DIRECTIONS];
        dw_noise_directions(noise, run, k, power);
        both[k] = power[DW_NOISE_BOTH];
    }
    size_t first = (size_t)ceil(LINES_LOW_HZ / noise->step_hz), last = (size_t)(LINES_HIGH_HZ / noise->step_hz);
    first = first < 4 ? 4 : first;
    DwNoiseLine *found = dw_memory_new(last + 1, sizeof *found);
    size_t count = 0;
    for (size_t k = first; k <= last && k + 40 < noise->bins; k++) {
        if (both[k] < both[k - 1] || both[k] <= both[k + 1])
            continue;
        size_t reach = k / 8 < 12 ? 12 : k / 8 > 40 ? 40 : k / 8;
        size_t from = k > reach + 2 ? k - reach : 3;
        double floor = floor_about(both, from, k + reach, k - 2, k + 2);
        if (both[k] > STANDS_OUT * floor)
            found[count++] = line_at(noise, run, both, k, floor);
    }
    qsort(found, count, sizeof *found, by_power);
    count = count < DW_NOISE_LINES_MOST ? count : DW_NOISE_LINES_MOST;
    for (size_t i = 0; i < count; i++)
        lines[i] = found[i];
    qsort(lines, count, sizeof *lines, by_frequency);
    free(found);
    free(both);
    return count;
}

// --- which mains ---------------------------------------------------------------------------

// How much of COUNT lines stands at multiples of HZ, by amplitude; *ORDERS: at how many of the first three.
static double at_multiples(const DwNoiseLine *lines, size_t count, double hz, unsigned *orders)
{
    double sum = 0;
    bool met[3] = {false};
    for (size_t i = 0; i < count; i++) {
        unsigned number = dw_noise_mains_harmonic(hz, lines[i].frequency_hz);
        if (!number)
            continue;
        sum += sqrt(lines[i].lateral + lines[i].vertical);
        if (number <= 3)
            met[number - 1] = true;
    }
    *orders = (unsigned)met[0] + met[1] + met[2];
    return sum;
}

// The fundamental nearest to HZ that the lines at its multiples are of, each by its amplitude and number.
static double refine(const DwNoiseLine *lines, size_t count, double hz)
{
    double sum = 0, weights = 0;
    for (size_t i = 0; i < count; i++) {
        unsigned number = dw_noise_mains_harmonic(hz, lines[i].frequency_hz);
        double weight = number * sqrt(lines[i].lateral + lines[i].vertical);
        sum += number ? weight * lines[i].frequency_hz / number : 0;
        weights += number ? weight : 0;
    }
    return weights > 0 ? sum / weights : hz;
}

// A line of an inverter that has no harmonics: the strongest above the groove's rumble, and none of a lower line's own.
static DwNoiseMains find_lone(const DwNoiseLine *lines, size_t count, DwNoiseMains mains)
{
    const DwNoiseLine *best = NULL;
    for (size_t i = 0; i < count; i++) {
        bool here = lines[i].frequency_hz >= INVERTER_LOW_HZ && lines[i].frequency_hz <= INVERTER_HIGH_HZ;
        if (here && (!best || lines[i].lateral + lines[i].vertical > best->lateral + best->vertical))
            best = &lines[i];
    }
    for (size_t i = 0; best && i < count; i++) {
        unsigned order = lines[i].frequency_hz < 0.6 * best->frequency_hz
                             ? dw_noise_mains_harmonic(lines[i].frequency_hz, best->frequency_hz)
                             : 0;
        if (order || lines[i].lateral + lines[i].vertical > LONE * (best->lateral + best->vertical))
            return mains;
    }
    return best ? (DwNoiseMains){best->frequency_hz, true, false, true, NAN} : mains;
}

// Hum that no line of the spectrum stands out for, but that shows where a mains is looked for.
static DwNoiseMains find_faint(const DwNoise *noise, const DwNoiseRun *run, DwNoiseMains mains)
{
    double most = 0;
    for (size_t i = 0; i < 2; i++) {
        DwNoiseHum hum;
        bool heard;
        double off, hz = i ? 60 : 50;
        DwNoiseMains tried = {.hz = hz, .is_common = true, .second_hz = NAN};
        dw_noise_find_hum(noise, run, &tried, &hum);
        double total = dw_noise_hum_total(&hum, &heard, &off) * (hz == noise->settings.mains_hz ? STATED : 1);
        if (heard && total > most) {
            most = total;
            mains = tried;
        }
    }
    return mains;
}

double dw_noise_slip_at(const DwNoiseMains *mains, const DwNoiseLine *lines, size_t count, double hz)
{
    double middle = round(hz / mains->hz) * mains->hz, off = hz - middle;
    if (!mains->heard || fabs(off) < SLIP_LEAST_HZ || fabs(off) > SLIP_MOST_HZ)
        return NAN;
    for (size_t i = 0; i < count; i++)
        if (fabs(middle - off - lines[i].frequency_hz) < SLIP_ALIKE_HZ)
            return fabs(off);
    return NAN;
}

// Another hum among what MAINS leaves of LINES: one of 50 or 60 Hz, beside an inverter by its fundamental alone, else,
// and an inverter, by two of its first three multiples with the fundamental among them. NAN without one.
static double find_second(const DwNoiseLine *lines, size_t count, const DwNoiseMains *mains)
{
    DwNoiseLine left[DW_NOISE_LINES_MOST];
    size_t left_count = 0;
    for (size_t i = 0; i < count; i++)
        if (!dw_noise_mains_harmonic(mains->hz, lines[i].frequency_hz) &&
            isnan(dw_noise_slip_at(mains, lines, count, lines[i].frequency_hz)))
            left[left_count++] = lines[i];
    double second_hz = NAN, most = 0;
    for (size_t i = 0; i < left_count; i++) {
        double hz = left[i].frequency_hz;
        unsigned orders;
        bool common = fabs(hz - 50) < MAINS_HZ || fabs(hz - 60) < MAINS_HZ;
        double here = at_multiples(left, left_count, hz, &orders);
        if (hz < INVERTER_LOW_HZ || hz > INVERTER_HIGH_HZ || here <= most)
            continue;
        if (orders >= 2 || (common && !mains->is_common)) {
            most = here;
            second_hz = refine(left, left_count, hz);
        }
    }
    return second_hz;
}

DwNoiseMains dw_noise_find_mains(const DwNoise *noise, const DwNoiseRun *run)
{
    DwNoiseLine lines[DW_NOISE_LINES_MOST];
    size_t count = dw_noise_find_lines(noise, run, lines);
    DwNoiseMains mains = {.hz = noise->settings.mains_hz, .is_common = true, .second_hz = NAN};
    double most = 0;
    unsigned orders;
    for (size_t i = 0; i < 2; i++) {
        double hz = i ? 60 : 50, here = at_multiples(lines, count, hz, &orders);
        here *= hz == noise->settings.mains_hz ? STATED : 1; // 300 Hz is a multiple of both
        if (orders > 0 && here > most) {
            most = here;
            mains = (DwNoiseMains){hz, true, true, false, NAN};
        }
    }
    for (double hz = INVERTER_LOW_HZ; hz < INVERTER_HIGH_HZ; hz += INVERTER_STEP_HZ) {
        double here = at_multiples(lines, count, hz, &orders);
        if (orders >= 2 && here > INVERTER_BETTER * most) {
            most = here / INVERTER_BETTER;
            mains = (DwNoiseMains){hz, true, false, false, NAN};
        }
    }
    if (!mains.heard)
        mains = find_lone(lines, count, mains);
    if (!mains.heard)
        mains = find_faint(noise, run, mains);
    else {
        mains.hz = refine(lines, count, mains.hz);
        mains.second_hz = find_second(lines, count, &mains);
    }
    return mains;
}
