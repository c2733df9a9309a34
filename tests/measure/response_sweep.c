// SPDX-License-Identifier: MIT
// Responses of signals whose level against frequency is a closed form: sweeps
// and spot tones through a known law, with noise, rumble and wow.
#include "measure/sweep/response.h"
#include "measure/sweep/response_fit.h"
#include "support/sheet_checks.h"
#include "support/signal.h"
#include "support/suite.h"

#include <complex.h>
#include <stdio.h>
#include <string.h>

// A second-order low-pass as a loaded cartridge has: 14 kHz, Q 1.1.
static double complex load(double f)
{
    double x = f / 14000;
    return 1 / (1 - x * x + I * x / 1.1);
}

// The leak into the other channel: −30 dB at 1 kHz, rising by 6 dB an octave
// from 5 kHz, 60° late.
static double complex leak(double f)
{
    return 0.0316 * cexp(-I * M_PI / 3) * (1 + I * f / 5000);
}

// The replay curve once more, from its time constants. Source (published): IEC 60098.
static double riaa_db(double f)
{
    static const double t[3] = {3180e-6, 318e-6, 75e-6};
    double a[3], k[3];
    for (int i = 0; i < 3; i++) {
        a[i] = 1 + pow(2 * M_PI * f * t[i], 2);
        k[i] = 1 + pow(2 * M_PI * 1000 * t[i], 2);
    }
    return 10 * log10(a[1] / a[0] / a[2]) - 10 * log10(k[1] / k[0] / k[2]);
}

typedef enum { FLAT, LOADED, TREBLE_CUT, TREBLE_LIFT, TREBLE_OFF } Law;

typedef struct {
    double from_hz, to_hz, seconds, wow;
    Law law;
    double riaa; // times the replay curve
} Sweep;

static double complex gain(const Sweep *sweep, double f)
{
    double complex treble = 1 + I * 2 * M_PI * f * 75e-6;
    double complex off = treble / (1 + I * 2 * M_PI * f * 86e-6); // a preamplifier of 86 µs in place of 75
    double complex law = sweep->law == LOADED        ? load(f)
                         : sweep->law == TREBLE_OFF  ? load(f) * off
                         : sweep->law == TREBLE_CUT  ? 1 / treble
                         : sweep->law == TREBLE_LIFT ? treble / 10
                                                     : 1;
    return law * pow(10, sweep->riaa * riaa_db(f) / 20);
}

// Adds a logarithmic sweep that drives one channel (0, 1) or, with 2, both.
static void add_sweep(Signal *signal, const Sweep *sweep, double start, int channel)
{
    double k = log(sweep->to_hz / sweep->from_hz) / sweep->seconds;
    for (size_t n = (size_t)(start * signal->rate_hz); n < signal->frames; n++) {
        double t = signal_bent((double)n / signal->rate_hz - start, sweep->wow);
        if (t > sweep->seconds)
            return;
        double f = sweep->from_hz * exp(k * t), phase = 2 * M_PI * (f - sweep->from_hz) / k;
        double complex tone = 0.1 * gain(sweep, f) * cexp(I * phase), leaked = tone * leak(f);
        for (int c = 0; c < 2; c++)
            signal->samples[2 * n + (size_t)c] += (float)creal(channel == 2 || channel == c ? tone : leaked);
    }
}

static DwSheet *read_signal(const Signal *signal, const DwResponseSettings *settings, unsigned channels)
{
    DwResponse *response = dw_response_new(settings);
    dw_response_begin(response, signal->rate_hz, channels);
    for (size_t n = 0; n < signal->frames; n += 8192)
        dw_response_push(response, signal->samples + channels * n,
                         signal->frames - n < 8192 ? signal->frames - n : 8192);
    dw_response_end(response);
    DwSheet *sheet = dw_sheet_new("response", "Response");
    DwMessage message = {""};
    ck_assert_msg(dw_response_read(response, sheet, &message) == DW_OK, "%s", message.text);
    dw_response_free(response);
    return sheet;
}

static const DwResponseSettings plain = {.equalised = true, .parts = 12};

static bool not_measured(const DwSheet *sheet, const char *key)
{
    return says_not_measured(sheet, key) && !dw_sheet_curve(sheet, key);
}

static double loaded_db(double f)
{
    return 20 * log10(cabs(load(f)) / cabs(load(1000)));
}

// Every row of the table against the law; counts the rows.
static size_t check_thirds(const DwSheet *sheet, size_t column, double (*law)(double), double tolerance)
{
    const DwTable *table = dw_sheet_table(sheet, "response.thirds");
    size_t rows = 0;
    for (size_t i = 0; i < table->row_count; i++) {
        double hz = dw_table_cell(table, i, 0)->number, db = dw_table_cell(table, i, column)->number;
        if (isnan(db))
            continue;
        ck_assert_msg(fabs(db - law(hz)) <= tolerance, "%g Hz: %.3f dB, not %.3f", hz, db, law(hz));
        rows++;
    }
    return rows;
}

static double leak_db(double f)
{
    return 20 * log10(cabs(leak(f)));
}

// A left and a right band after another, each led in by 1 kHz at another level.
static void check_bands(double rate_hz)
{
    Sweep sweep = {20, 20000, 40, 0.002, LOADED, 0};
    Signal signal = signal_new(rate_hz, 96);
    signal_tone(&signal, 0.5, 4, 1000, 0.12, 0.12 * 0.0316, 0.002);
    add_sweep(&signal, &sweep, 5, 0);
    signal_tone(&signal, 47, 50, 1000, 0.12 * 0.0316, 0.12, 0.002);
    add_sweep(&signal, &sweep, 52, 1);
    signal_hiss(&signal, 1e-4, 3);
    signal_rumble(&signal, 0.02, 1 - exp(-2 * M_PI * 40 / rate_hz), 1, 1, 4);
    DwSheet *sheet = read_signal(&signal, &plain, 2);
    ck_assert_uint_ge(check_thirds(sheet, 1, loaded_db, 0.1), 31);
    ck_assert_uint_ge(check_thirds(sheet, 2, loaded_db, 0.1), 31);
    const DwTable *table = dw_sheet_table(sheet, "response.thirds");
    for (size_t i = 0; i < table->row_count; i++)
        for (size_t c = 3; c < 5; c++) {
            double hz = dw_table_cell(table, i, 0)->number, db = dw_table_cell(table, i, c)->number;
            // Rumble of the same frequency is only averaged out where the sweep lingers.
            if (hz >= 200)
                ck_assert_msg(fabs(db - leak_db(hz)) < 0.5, "%g Hz: %.2f dB, not %.2f", hz, db, leak_db(hz));
        }
    ck_assert_double_eq_tol(dw_sheet_reading(sheet, "response.departure_left")->value, loaded_db(10000), 0.2);
    dw_sheet_free(sheet);
    signal_free(&signal);
}

START_TEST(left_and_right_bands_at_48_khz)
{
    check_bands(48000);
}
END_TEST

START_TEST(left_and_right_bands_at_96_khz)
{
    check_bands(96000);
}
END_TEST

static double flat_db(double f)
{
    (void)f;
    return 0;
}

// A falling lateral sweep of a flat preamplifier: 20 dB down to the bass.
START_TEST(a_lateral_sweep_without_equalisation_is_counted_back)
{
    Sweep sweep = {20000, 20, 50, 0.001, FLAT, -1};
    Signal signal = signal_new(48000, 52);
    add_sweep(&signal, &sweep, 1, 2);
    signal_hiss(&signal, 1e-4, 9);
    DwResponseSettings settings = plain;
    settings.equalised = false;
    DwSheet *sheet = read_signal(&signal, &settings, 2);
    ck_assert_uint_ge(check_thirds(sheet, 1, flat_db, 0.1), 31);
    ck_assert_uint_ge(check_thirds(sheet, 2, flat_db, 0.1), 31);
    ck_assert(not_measured(sheet, "response.crosstalk_left") && not_measured(sheet, "response.crosstalk_right"));
    ck_assert(!remarks(sheet, "RIAA replay curve") && !remarks(sheet, "RIAA recording curve"));
    dw_sheet_free(sheet);
    signal_free(&signal);
}
END_TEST

// The same signal stated three ways, and a record that was cut without treble lift.
START_TEST(an_equalisation_too_many_or_too_few_is_known_by_its_shape)
{
    static const struct {
        Law law;
        double riaa;
        const char *part;
    } cases[] = {{FLAT, 1, "shape of an RIAA replay curve"},
                 {FLAT, -1, "shape of an RIAA recording curve"},
                 {TREBLE_CUT, 0, "falls as 75 µs do"},
                 {TREBLE_LIFT, 0, "rises as 75 µs do"},
                 {LOADED, 0, NULL}};
    for (size_t i = 0; i < 5; i++) {
        Sweep sweep = {20, 20000, 12, 0, cases[i].law, cases[i].riaa};
        Signal signal = signal_new(48000, 13);
        add_sweep(&signal, &sweep, 0.5, 2);
        DwSheet *sheet = read_signal(&signal, &plain, 2);
        if (cases[i].part) {
            ck_assert_msg(remarks(sheet, cases[i].part), "%s", cases[i].part);
            ck_assert(dw_sheet_reading(sheet, "response.departure_left")->flags & DW_FLAG_APPROXIMATE);
        } else {
            ck_assert(!remarks(sheet, "shape of an RIAA") && !remarks(sheet, "75 µs"));
            ck_assert_uint_eq(dw_sheet_reading(sheet, "response.departure_left")->flags, 0);
        }
        dw_sheet_free(sheet);
        signal_free(&signal);
    }
}
END_TEST

// The three cuts behind an applied RIAA: what is stated is taken off.
START_TEST(the_record_s_cut_is_taken_off)
{
    Sweep sweep = {20, 20000, 25, 0, FLAT, 1}; // constant velocity through a replay curve
    Signal signal = signal_new(48000, 26);
    add_sweep(&signal, &sweep, 0.5, 2);
    DwResponseSettings settings = plain;
    settings.cut = DW_RESPONSE_CUT_VELOCITY;
    DwSheet *sheet = read_signal(&signal, &settings, 2);
    ck_assert_uint_ge(check_thirds(sheet, 1, flat_db, 0.1), 31);
    dw_sheet_free(sheet);
    settings.cut = DW_RESPONSE_CUT_BASS; // then what is left falls as the bass lines of the curve do
    sheet = read_signal(&signal, &settings, 2);
    ck_assert_double_eq_tol(dw_sheet_curve(sheet, "response.left")->y_values[0],
                            riaa_db(20) + 10 * log10((1 + pow(2 * M_PI * 20 * 75e-6, 2)) / (1 + pow(0.15 * M_PI, 2))),
                            0.2);
    dw_sheet_free(sheet);
    signal_free(&signal);
}
END_TEST

START_TEST(spot_tones_are_read_at_their_frequencies)
{
    static const double tones[] = {1000, 30, 63, 125, 400, 2000, 4000, 8000, 12500, 16000};
    Signal signal = signal_new(48000, 45);
    for (size_t i = 0; i < 10; i++) {
        double level = 0.1 * cabs(load(tones[i])) / cabs(load(1000));
        signal_tone(&signal, 1 + 4.3 * (double)i, 4 + 4.3 * (double)i, tones[i], level, level, 0.002);
    }
    signal_hiss(&signal, 1e-4, 6);
    DwSheet *sheet = read_signal(&signal, &plain, 2);
    const DwTable *table = dw_sheet_table(sheet, "response.thirds");
    ck_assert_uint_eq(table->row_count, 10);
    ck_assert_uint_eq(check_thirds(sheet, 1, loaded_db, 0.1), 10);
    ck_assert_double_eq_tol(dw_table_cell(table, 0, 0)->number, 30, 0.3);
    ck_assert(remarks(sheet, "10 steady tones"));
    dw_sheet_free(sheet);
    signal_free(&signal);
}
END_TEST

// Cut short before 1 kHz: what was played is shown, from the nearest frequency.
START_TEST(a_sweep_cut_short_is_measured_as_far_as_it_goes)
{
    Sweep sweep = {20, 20000, 40, 0, FLAT, 0};
    Signal signal = signal_new(48000, 17); // ends near 320 Hz
    add_sweep(&signal, &sweep, 0, 0);
    DwSheet *sheet = read_signal(&signal, &plain, 2);
    const DwCurve *curve = dw_sheet_curve(sheet, "response.left");
    ck_assert_double_eq_tol(curve->x_values[curve->count - 1], 375, 25);
    ck_assert(remarks(sheet, "1 kHz was not played") && not_measured(sheet, "left treble"));
    ck_assert(not_measured(sheet, "response.departure_left") && not_measured(sheet, "response.right"));
    dw_sheet_free(sheet);
    signal_free(&signal);
}
END_TEST

START_TEST(one_channel_gives_one_curve)
{
    Sweep sweep = {20, 20000, 20, 0, LOADED, 0};
    Signal signal = signal_new(48000, 21), mono = signal_new(48000, 21);
    add_sweep(&signal, &sweep, 0.5, 0);
    for (size_t n = 0; n < signal.frames; n++)
        mono.samples[n] = signal.samples[2 * n];
    DwSheet *sheet = read_signal(&mono, &plain, 1);
    ck_assert_uint_ge(check_thirds(sheet, 1, loaded_db, 0.1), 30);
    ck_assert(not_measured(sheet, "response.right") && not_measured(sheet, "response.crosstalk_left"));
    dw_sheet_free(sheet);
    DwResponseSettings settings = plain;
    settings.channel = DW_RESPONSE_RIGHT;
    sheet = read_signal(&mono, &settings, 1);
    ck_assert_uint_ge(check_thirds(sheet, 2, loaded_db, 0.1), 30);
    ck_assert(not_measured(sheet, "response.left"));
    dw_sheet_free(sheet);
    signal_free(&signal);
    signal_free(&mono);
}
END_TEST

// 500 mH and 1 kΩ into 47 kΩ and 300 pF peak by 2.0 dB near 10 kHz, a tip that rolls off does not.
// Source (worked apart): the voltage divider.
START_TEST(a_loading_peak_is_told_from_a_lost_treble)
{
    DwLoading loading = {0.5, 1000, 47000, 300e-12};
    DwResponseSettings settings = plain;
    settings.loading = &loading;
    Signal signal = signal_new(48000, 21);
    double k = log(1000.0) / 20;
    for (size_t n = 0; n < signal.frames && (double)n < 20 * 48000; n++) {
        double f = 20 * exp(k * (double)n / 48000);
        double complex s = 2 * I * M_PI * f, z = 47000 / (1 + s * 47000 * 300e-12), h = z / (z + 1000 + s * 0.5);
        double complex tone = 0.1 * h * cexp(I * 2 * M_PI * (f - 20) / k);
        double worn = pow(10, -f / 12000 * 5 / 20); // 5 dB at 12 kHz
        signal.samples[2 * n] = (float)creal(tone);
        signal.samples[2 * n + 1] = (float)(creal(tone) * worn);
    }
    DwSheet *sheet = read_signal(&signal, &settings, 2);
    ck_assert(remarks(sheet, "left treble peak of") && remarks(sheet, "is the loading's"));
    ck_assert(remarks(sheet, "right treble lies") && remarks(sheet, "worn, dirty or wrong tip"));
    ck_assert(!remarks(sheet, "left treble lies"));
    ck_assert(remarks(sheet, "right treble is"));
    dw_sheet_free(sheet);
    signal_free(&signal);
}
END_TEST

START_TEST(bad_signals_are_refused_with_a_line)
{
    Signal signal = signal_new(48000, 5);
    for (int bad = 0; bad < 2; bad++) {
        signal_hiss(&signal, 0.01, 8);
        if (bad)
            signal.samples[5] = INFINITY;
        DwResponse *response = dw_response_new(&plain);
        dw_response_begin(response, 48000, 2);
        dw_response_push(response, signal.samples, signal.frames);
        dw_response_end(response);
        DwMessage message = {""};
        DwSheet *sheet = dw_sheet_new("response", "Response");
        ck_assert_int_eq(dw_response_read(response, sheet, &message), DW_BAD_INPUT);
        ck_assert_ptr_nonnull(strstr(message.text, bad ? "not numbers" : "No sweep"));
        dw_sheet_free(sheet);
        dw_response_free(response);
    }
    signal_free(&signal);
}
END_TEST

// A sweep of both channels by LAW.
static DwSheet *swept(Law law, const DwLoading *loading)
{
    Signal signal = signal_new(48000, 14);
    add_sweep(&signal, &(Sweep){.from_hz = 20, .to_hz = 20000, .seconds = 12, .law = law}, 1, 2);
    DwResponseSettings settings = plain;
    settings.loading = loading;
    settings.inductance_off = 0.1;
    DwSheet *sheet = read_signal(&signal, &settings, 2);
    signal_free(&signal);
    return sheet;
}

static void check_within(const DwSheet *sheet, const char *key, double truth, double most)
{
    const DwReading *reading = dw_sheet_reading(sheet, key);
    ck_assert_msg(reading, "no reading %s", key);
    ck_assert_msg(fabs(reading->value - truth) <= reading->uncertainty, "%s is %g ± %g, not %g", key, reading->value,
                  reading->uncertainty, truth);
    ck_assert_msg(reading->uncertainty < most, "%s: ± %g", key, reading->uncertainty);
}

START_TEST(the_preamplifier_is_told_from_the_cartridge)
{
    for (int off = 0; off < 2; off++) {
        DwSheet *sheet = swept(off ? TREBLE_OFF : LOADED, NULL);
        check_within(sheet, "response.resonance_left", 14, 2);
        check_within(sheet, "response.q_right", 1.1, 0.4);
        const DwTable *table = dw_sheet_table(sheet, "response.equalisation");
        ck_assert_double_eq_tol(dw_table_cell(table, 2, 1)->number, off ? 86 : 75, dw_table_cell(table, 2, 2)->number);
        ck_assert_double_lt(dw_table_cell(table, 2, 2)->number, 7);
        ck_assert_int_eq(remarks(sheet, "The replay curve's 75 µs is"), off);
        const DwCurve *difference = dw_sheet_curve(sheet, "response.difference");
        for (size_t i = 0; i < difference->count; i++)
            ck_assert_double_lt(fabs(difference->y_values[i]), 0.01);
        dw_sheet_free(sheet);
    }
}
END_TEST

START_TEST(the_load_that_the_treble_asks_for_is_found)
{
    // ω₀² = (1 + R/R_L)/(LC) and Q = ω₀/(R/L + 1/(R_L C)) of 0.4 H, 800 ohm, 280 pF, 47 kohm.
    double l = 0.4, r = 800, c = 280e-12, load_ohm = 47e3, w = sqrt((1 + r / load_ohm) / (l * c)), farad, ohm;
    ck_assert(dw_response_load_of(w / (2 * M_PI), w / (r / l + 1 / (load_ohm * c)), l, r, &farad, &ohm));
    ck_assert_double_eq_tol(farad, c, 1e-18);
    ck_assert_double_eq_tol(ohm, load_ohm, 1e-4);
    ck_assert(!dw_response_load_of(12000, 200, l, r, &farad, &ohm)); // the coil alone damps more
    // 14 kHz and Q 1.1 of the law, by the same two.
    DwLoading stated = {
        .inductance_h = l, .resistance_ohm = r, .load_resistance_ohm = 47e3, .load_capacitance_f = 150e-12};
    DwSheet *sheet = swept(LOADED, &stated);
    double pole = 2 * M_PI * 14000, leak = pole / 1.1 - r / l, inverse = l * pole * pole - r * leak;
    check_within(sheet, "response.capacitance_left", 1e12 / inverse, 120);
    check_within(sheet, "response.load_right", inverse / leak / 1000, 25);
    ck_assert(remarks(sheet, "not what the stated load of 150 pF"));
    dw_sheet_free(sheet);
}
END_TEST

DW_SUITE("response", the_preamplifier_is_told_from_the_cartridge, the_load_that_the_treble_asks_for_is_found,
         left_and_right_bands_at_48_khz, left_and_right_bands_at_96_khz,
         a_lateral_sweep_without_equalisation_is_counted_back,
         an_equalisation_too_many_or_too_few_is_known_by_its_shape, the_record_s_cut_is_taken_off,
         spot_tones_are_read_at_their_frequencies, a_sweep_cut_short_is_measured_as_far_as_it_goes,
         one_channel_gives_one_curve, a_loading_peak_is_told_from_a_lost_treble, bad_signals_are_refused_with_a_line)
