// SPDX-License-Identifier: MIT
// The recording's own noise: how dense it is beside the tone, what it adds to a speed
// deviation, and a filter that takes it out again.
#include "measure/speed/speed_noise.h"

#include "base/memory.h"
#include "dsp/flutter_weighting.h"
#include "dsp/statistics.h"

#include <math.h>
#include <stdlib.h>

enum { SEGMENT = 2048, TAPS = 513 };

static const double LOW_HZ = 60, HIGH_HZ = 250; // beside the tone, where its own level does not swing
static const double TOP_HZ = 208;               // up to which the deviation is flat
static const double LINE_OVER = 3;              // in power, over what is about
static const double SPARED_HZ = 12, SPARED_HIGH_HZ = 5, TAPER_HZ = 6; // on either side of a line, and what follows
static const double NEGLIGIBLE = 2e-4;                                // of the deviation's power

// The middle of a chi-squared spread with FREEDOM degrees over its mean (E. B. Wilson and
// M. M. Hilferty, Proc. Natl. Acad. Sci. 17 (1931) 684–688).
static double middle_over_mean(double freedom)
{
    double root = 1 - 2 / (9 * freedom);
    return root * root * root;
}

double dw_speed_noise_density(const DwDemodulator *demodulator, const DwToneRun *run, const unsigned char *used,
                              size_t from, size_t to, double amplitude)
{
    size_t count = to - from;
    double *level = dw_memory_new(count, sizeof *level), last = amplitude;
    for (size_t n = 0; n < count; n++) {
        last = used[from + n] ? (double)run->amplitude[from + n] : last;
        level[n] = last / amplitude - 1;
    }
    DwSpectrum spectrum = dw_spectrum_of(level, count, SEGMENT);
    free(level);
    double step_hz = spectrum.step * run->rate_hz;
    size_t low = (size_t)(LOW_HZ / step_hz), high = (size_t)(HIGH_HZ / step_hz), kept = 0;
    float *density = dw_memory_new(high - low + 1, sizeof *density);
    for (size_t k = low; k <= high && k < spectrum.bins; k++) {
        double gain = dw_demodulator_gain(demodulator, (double)k * step_hz);
        density[kept++] = (float)(spectrum.power[k] / (3 * step_hz) / (gain * gain));
    }
    double middle = dw_statistics_quantile(density, kept, 0.5);
    double freedom = 1.9 * (double)spectrum.segments;
    free(density);
    dw_spectrum_clear(&spectrum);
    // White noise of one-sided density N0 gives the amplitude 2·N0.
    return middle / middle_over_mean(freedom) / 2;
}

// One-sided density of the noise in the deviation, %²/Hz: 2·N0·f²/A² of the frequency
// (S. O. Rice 1948, from memory, agreed with a simulation).
double dw_speed_noise_at(const DwSpeedAnalysis *analysis, double f)
{
    double percent = 100 / analysis->mean_hz;
    return f < TOP_HZ ? 2 * analysis->noise_density * f * f * percent * percent : 0;
}

double dw_speed_noise_rms(const DwSpeedAnalysis *analysis, bool weighted)
{
    double sum = 0, step = 0.25;
    for (double f = 0.2 + step / 2; f < 200; f += step) {
        double gain = weighted ? dw_flutter_weighting_gain(f) : 1;
        sum += dw_speed_noise_at(analysis, f) * gain * gain * step;
    }
    return sqrt(sum);
}

// What the noise leaves of each bin's amplitude when it is taken out of the power.
typedef struct {
    double *gain;
    size_t bins;
    double step; // of the bins, as a fraction of the rate
} Quiet;

static double quiet_gain(double frequency, const void *user)
{
    const Quiet *quiet = user;
    double place = frequency / quiet->step;
    size_t k = (size_t)place;
    if (k + 1 >= quiet->bins)
        return quiet->gain[quiet->bins - 1];
    return quiet->gain[k] + (place - (double)k) * (quiet->gain[k + 1] - quiet->gain[k]);
}

// The mean power about bin K, over as many bins as the eye takes for one place.
static double power_about(const DwSpectrum *spectrum, size_t k)
{
    size_t reach = 3 + k / 12, from = k > reach ? k - reach : 1;
    double sum = 0;
    size_t count = 0;
    for (size_t i = from; i <= k + reach && i < spectrum->bins; i++, count++)
        sum += spectrum->power[i];
    return count ? sum / (double)count : 0;
}

// A line and its neighbourhood stay whole: a short filter cannot pick it out of its noise. Beyond, the filter sets in
// evenly: from an edge it would ring as far as the slow lines. SPARED: by how much each bin is left as it is, 0 to 1.
static void spare(const Quiet *quiet, double *spared, size_t k, double step_hz)
{
    double whole = (double)k * step_hz < 20 ? SPARED_HZ : SPARED_HIGH_HZ;
    size_t reach = (size_t)ceil((whole + TAPER_HZ) / step_hz);
    for (size_t i = k > reach ? k - reach : 0; i <= k + reach && i < quiet->bins; i++) {
        double beyond = fabs((double)i - (double)k) * step_hz - whole;
        double left = 0.5 + 0.5 * cos(M_PI * fmin(1, fmax(0, beyond / TAPER_HZ)));
        spared[i] = fmax(spared[i], left);
    }
}

// Leaves what is SPARED in QUIET, and notes how much noise that keeps.
static void leave_spared(const DwSpeedAnalysis *analysis, const double *spared, double step_hz, const Quiet *quiet,
                         DwNoiseBudget *weighted, DwNoiseBudget *unweighted)
{
    for (size_t k = 0; k < quiet->bins; k++) {
        double f = (double)k * step_hz, gain = k ? dw_flutter_weighting_gain(f) : 0;
        double before = quiet->gain[k], after = before + spared[k] * (1 - before);
        double kept = before < 1 ? (after * after - before * before) / (1 - before * before) : 0;
        double noise = kept * dw_speed_noise_at(analysis, f) * step_hz;
        quiet->gain[k] = after;
        unweighted->kept += noise;
        weighted->kept += gain * gain * noise;
    }
}

// Puts FIR's taps right by one factor, so that its ripple leaves the LINES, where these are not 0, the power that they
// have.
static void keep_lines(const DwSpectrum *spectrum, const unsigned char *lines, const Quiet *quiet, DwFir *fir)
{
    double before = 0, after = 0;
    for (size_t k = 1; k < quiet->bins; k++)
        if (lines[k]) {
            double gain = dw_fir_gain(fir, (double)k * quiet->step);
            before += spectrum->power[k];
            after += gain * gain * spectrum->power[k];
        }
    for (size_t i = 0; i < fir->count && after > 0; i++)
        fir->taps[i] *= sqrt(before / after);
}

DwFir dw_speed_noise_filter(const DwSpeedAnalysis *analysis, DwNoiseBudget *weighted, DwNoiseBudget *unweighted)
{
    const DwSpeedAnalysis *a = analysis;
    *weighted = *unweighted = (DwNoiseBudget){0};
    DwSpectrum spectrum = dw_spectrum_of(a->deviation, a->count, SEGMENT);
    double step_hz = spectrum.step * a->rate_hz, seconds = (double)a->count / a->rate_hz;
    Quiet quiet = {dw_memory_new(spectrum.bins, sizeof(double)), (size_t)(TOP_HZ / step_hz) + 1, spectrum.step};
    double *spared = dw_memory_new(quiet.bins, sizeof *spared);
    unsigned char *lines = dw_memory_new(quiet.bins, 1);
    for (size_t k = 0; k < quiet.bins; k++) {
        double f = (double)k * step_hz, density = spectrum.power[k] / (3 * step_hz), noise = dw_speed_noise_at(a, f);
        double about = k ? power_about(&spectrum, k) / (3 * step_hz) : 0;
        quiet.gain[k] = about > 0 ? sqrt(fmax(0, 1 - noise / about)) : 1;
        lines[k] = k && density > LINE_OVER * fmax(noise, about);
        if (lines[k])
            spare(&quiet, spared, k, step_hz);
        if (k == 0)
            continue;
        double gain = dw_flutter_weighting_gain(f), square = gain * gain, signal = fmax(0, density - noise);
        DwNoiseBudget *const budgets[] = {unweighted, weighted};
        const double by[] = {1, square};
        for (size_t i = 0; i < 2; i++) {
            budgets[i]->noise += by[i] * noise * step_hz;
            budgets[i]->power += by[i] * density * step_hz;
            budgets[i]->variance += by[i] * by[i] * noise * (2 * signal + noise) * step_hz / seconds;
        }
    }
    leave_spared(a, spared, step_hz, &quiet, weighted, unweighted);
    DwFir fir = {0};
    if (unweighted->noise > NEGLIGIBLE * unweighted->power) {
        fir = dw_fir_follow(quiet_gain, &quiet, TAPS, 5);
        keep_lines(&spectrum, lines, &quiet, &fir);
    }
    free(lines);
    free(spared);
    dw_spectrum_clear(&spectrum);
    free(quiet.gain);
    return fir;
}
