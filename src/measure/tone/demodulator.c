// SPDX-License-Identifier: MIT
#include "measure/tone/demodulator.h"

#include "base/memory.h"
#include "base/wide.h"
#include "dsp/fir.h"
#include "dsp/halfband.h"
#include "measure/tone/window.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double BASEBAND_HZ = 1000; // the least rate of the values
static const double PASS_HZ = 260;      // FM to 200 Hz on a tone that strays
static const double STOP_HZ = 600;      // what lies between folds to where nothing is read
static const double NARROW_HZ = 2400;   // the least rate at which the narrow low-pass runs

enum {
    PIECE = 512,
    HALVINGS_MOST = 5,
    TUNINGS = 32 // kept back: values come out later than samples go in
};

// A mixer that jumps rings through the low-pass, as if the tone had jolted: it glides.
static const double GLIDE_S = 0.05;

// Where the mixer stands from one sample on: its phase over that of the frequency begun with.
typedef struct {
    size_t from;
    double phase, step, bend; // at `from`, a sample, and a sample of that
} Tuning;

struct DwDemodulator {
    double rate_hz;
    size_t halvings;  // from there to the narrow stream
    double narrow_hz; // its rate
    size_t step;      // narrow samples from value to value
    DwFir lowpass;
    float *taps;
    // The tone begun with.
    double complex weight[2];
    double step_angle;         // the mixer's turn a sample at the frequency begun with
    Tuning tuning[TUNINGS];    // the latest last: a glide, and where it ends
    double complex oscillator; // where it stands after `mixed` samples
    size_t mixed;
    float table[2][PIECE]; // cosine and sine of the turns within a piece
    bool table_steady;     // those of every piece to come, too
    DwHalfband *halve[2][HALVINGS_MOST];
    DwWindow narrow[2];    // the narrow stream, real and imaginary
    size_t next;           // place in it of the next value's centre
    double complex before; // the value before
    bool has_before;
};

DwDemodulator *dw_demodulator_new(double rate_hz)
{
    DwDemodulator *d = dw_memory_new(1, sizeof *d);
    d->rate_hz = d->narrow_hz = rate_hz;
    for (; d->narrow_hz >= 2 * NARROW_HZ && d->halvings < HALVINGS_MOST; d->halvings++)
        d->narrow_hz /= 2;
    d->step = (size_t)(d->narrow_hz / BASEBAND_HZ);
    d->lowpass = dw_fir_lowpass(PASS_HZ / d->narrow_hz, STOP_HZ / d->narrow_hz, 85);
    d->taps = dw_memory_new(d->lowpass.count, sizeof(float));
    for (size_t i = 0; i < d->lowpass.count; i++)
        d->taps[i] = (float)d->lowpass.taps[i];
    return d;
}

static void clear_halvings(DwDemodulator *d)
{
    for (size_t i = 0; i < 2; i++)
        for (size_t k = 0; k < HALVINGS_MOST; k++) {
            dw_halfband_free(d->halve[i][k]);
            d->halve[i][k] = NULL;
        }
}

void dw_demodulator_free(DwDemodulator *demodulator)
{
    if (!demodulator)
        return;
    dw_fir_clear(&demodulator->lowpass);
    free(demodulator->taps);
    clear_halvings(demodulator);
    free(demodulator->narrow[0].values);
    free(demodulator->narrow[1].values);
    free(demodulator);
}

static const Tuning *tuning_at(const DwDemodulator *d, size_t place)
{
    size_t i = TUNINGS - 1;
    while (i > 0 && d->tuning[i].from > place)
        i--;
    return &d->tuning[i];
}

// The mixer's phase at sample PLACE over that of the frequency begun with.
static double tuned_phase(const DwDemodulator *d, size_t place)
{
    const Tuning *tuning = tuning_at(d, place);
    double past = (double)place - (double)tuning->from;
    return tuning->phase + (tuning->step + 0.5 * tuning->bend * past) * past;
}

static void fill_table(DwDemodulator *d)
{
    double begun = tuned_phase(d, d->mixed);
    for (size_t n = 0; n < PIECE; n++) {
        double turned = d->step_angle * (double)n + tuned_phase(d, d->mixed + n) - begun;
        d->table[0][n] = (float)cos(turned);
        d->table[1][n] = -(float)sin(turned);
    }
    d->table_steady = d->tuning[TUNINGS - 1].from <= d->mixed;
}

void dw_demodulator_retune(DwDemodulator *demodulator, double off_hz)
{
    DwDemodulator *d = demodulator;
    size_t last = TUNINGS - 1, count = (size_t)(GLIDE_S * d->rate_hz);
    const Tuning *now = tuning_at(d, d->mixed);
    double past = (double)d->mixed - (double)now->from, step = now->step + now->bend * past;
    double wanted = 2 * M_PI * off_hz / d->rate_hz;
    Tuning glide = {d->mixed, tuned_phase(d, d->mixed), step, (wanted - step) / (double)count};
    Tuning there = {d->mixed + count, glide.phase + 0.5 * (step + wanted) * (double)count, wanted, 0};
    size_t kept = d->tuning[last].from > d->mixed ? last - 1 : last; // a glide under way ends here
    memmove(d->tuning, d->tuning + kept - (TUNINGS - 3), (TUNINGS - 2) * sizeof *d->tuning);
    d->tuning[last - 1] = glide;
    d->tuning[last] = there;
    fill_table(d);
}

double dw_demodulator_tuned_hz(const DwDemodulator *demodulator)
{
    return demodulator->tuning[TUNINGS - 1].step * demodulator->rate_hz / (2 * M_PI);
}

void dw_demodulator_start(DwDemodulator *demodulator, double frequency_hz, const double complex weight[2])
{
    DwDemodulator *d = demodulator;
    d->weight[0] = weight[0];
    d->weight[1] = weight[1];
    d->step_angle = 2 * M_PI * frequency_hz / d->rate_hz;
    d->oscillator = 2; // the mixer halves a real tone's amplitude
    d->mixed = 0;
    memset(d->tuning, 0, sizeof d->tuning);
    fill_table(d);
    clear_halvings(d);
    for (size_t i = 0; i < 2; i++) {
        double rate_hz = d->rate_hz;
        for (size_t k = 0; k < d->halvings; k++, rate_hz /= 2)
            d->halve[i][k] = dw_halfband_new(STOP_HZ / rate_hz, 90);
        dw_window_restart(&d->narrow[i], 0);
    }
    d->next = d->lowpass.count / 2;
    d->has_before = false;
}

// One piece mixed down, joined: (w₀x₀ + w₁x₁)·e^−jωt. The piece's first phase
// goes into the weights, the phases within it come from a table, so that the
// loop vectorises. X[1] is NULL in mono.
DW_WIDE static void mix_piece(const DwDemodulator *d, const float *const x[2], size_t count, float *restrict real,
                              float *restrict imaginary)
{
    double complex w0 = d->weight[0] * d->oscillator, w1 = d->weight[1] * d->oscillator;
    float w0_re = (float)creal(w0), w0_im = (float)cimag(w0), w1_re = (float)creal(w1), w1_im = (float)cimag(w1);
    const float *restrict c = d->table[0], *restrict s = d->table[1];
    const float *restrict left = x[0], *restrict right = x[1] ? x[1] : x[0];
    if (!x[1])
        w1_re = w1_im = 0;
    for (size_t n = 0; n < count; n++) {
        float re = w0_re * left[n] + w1_re * right[n], im = w0_im * left[n] + w1_im * right[n];
        real[n] = re * c[n] - im * s[n];
        imaginary[n] = re * s[n] + im * c[n];
    }
}

// Halves the rate of one part of the mixed signal as often as its narrow band allows.
static void narrow(DwDemodulator *d, size_t part, const float *samples, size_t count)
{
    float buffer[2][PIECE];
    for (size_t k = 0; k < d->halvings; k++) {
        count = dw_halfband_push(d->halve[part][k], samples, count, buffer[k % 2]);
        samples = buffer[k % 2];
    }
    dw_window_append(&d->narrow[part], samples, count);
}

void dw_demodulator_push(DwDemodulator *demodulator, const float *const channel[2], size_t count)
{
    DwDemodulator *d = demodulator;
    float real[PIECE], imaginary[PIECE];
    for (size_t at = 0; at < count;) {
        size_t piece = count - at < PIECE ? count - at : PIECE;
        const float *x[2] = {channel[0] + at, channel[1] ? channel[1] + at : NULL};
        mix_piece(d, x, piece, real, imaginary);
        narrow(d, 0, real, piece);
        narrow(d, 1, imaginary, piece);
        at += piece;
        d->mixed += piece;
        double phase = fmod(d->step_angle * (double)d->mixed, 2 * M_PI) + tuned_phase(d, d->mixed);
        d->oscillator = 2 * cexp(-I * phase);
        if (!d->table_steady)
            fill_table(d);
    }
}

// The low-passed signal at place CENTRE: one dot product, in lanes so that it
// vectorises without reordering a sum behind the compiler's back.
DW_WIDE static double complex value_at(const DwDemodulator *d, size_t centre)
{
    enum { LANES = 16 };
    size_t from = centre - d->lowpass.count / 2 - d->narrow[0].start, count = d->lowpass.count;
    const float *re = d->narrow[0].values + from, *im = d->narrow[1].values + from, *taps = d->taps;
    float sum_re[LANES] = {0}, sum_im[LANES] = {0};
    size_t n = 0;
    for (; n + LANES <= count; n += LANES)
        for (size_t i = 0; i < LANES; i++) {
            sum_re[i] += taps[n + i] * re[n + i];
            sum_im[i] += taps[n + i] * im[n + i];
        }
    double real = 0, imaginary = 0;
    for (; n < count; n++) {
        real += (double)(taps[n] * re[n]);
        imaginary += (double)(taps[n] * im[n]);
    }
    for (size_t i = 0; i < LANES; i++) {
        real += (double)sum_re[i];
        imaginary += (double)sum_im[i];
    }
    return real + I * imaginary;
}

// The angle of VALUE; most are small.
static double angle_of(double complex value)
{
    double real = creal(value), imaginary = cimag(value);
    return real > fabs(imaginary) ? atan(imaginary / real) : atan2(imaginary, real);
}

bool dw_demodulator_next(DwDemodulator *demodulator, double *deviation_hz, double *amplitude)
{
    DwDemodulator *d = demodulator;
    size_t half = d->lowpass.count / 2;
    if (d->next + half >= dw_window_end(&d->narrow[0])) {
        for (size_t i = 0; i < 2; i++)
            dw_window_forget(&d->narrow[i], d->next - half);
        return false;
    }
    double complex value = value_at(d, d->next);
    bool turned = d->has_before && d->before != 0;
    size_t place = d->next << d->halvings, step = dw_demodulator_step(d);
    double tuned = turned ? tuned_phase(d, place) - tuned_phase(d, place - step) : 0;
    *deviation_hz = turned ? (angle_of(value * conj(d->before)) + tuned) * dw_demodulator_rate_hz(d) / (2 * M_PI) : 0;
    *amplitude = sqrt(creal(value) * creal(value) + cimag(value) * cimag(value));
    d->before = value;
    d->has_before = true;
    d->next += d->step;
    return true;
}

double dw_demodulator_rate_hz(const DwDemodulator *demodulator)
{
    return demodulator->narrow_hz / (double)demodulator->step;
}

size_t dw_demodulator_step(const DwDemodulator *demodulator)
{
    return demodulator->step << demodulator->halvings;
}

size_t dw_demodulator_lead(const DwDemodulator *demodulator)
{
    return (demodulator->lowpass.count / 2) << demodulator->halvings;
}

double dw_demodulator_gain(const DwDemodulator *demodulator, double frequency_hz)
{
    return dw_fir_gain(&demodulator->lowpass, frequency_hz / demodulator->narrow_hz);
}

double dw_demodulator_smear_s(const DwDemodulator *demodulator)
{
    return 0.5 * (double)demodulator->lowpass.count / demodulator->narrow_hz;
}
