// SPDX-License-Identifier: MIT
// Rumble, hum and hiss of signals whose spectrum is known in closed form: sines
// of known level and noise behind a one-pole low-pass. The curves are those of
// this file, so the truth is exact whatever the standard's table says.
#include "measure/band/noise.h"
#include "measure/tone/reference_tone.h"
#include "support/sheet_checks.h"
#include "support/signal.h"
#include "support/suite.h"

#include <string.h>

static const double REFERENCE = 0.25; // rms of the reference

static DwNoiseSettings settings_for(double rate_hz, bool find)
{
    DwNoiseSettings settings = {.rate_hz = rate_hz, .channels = 2, .find = find, .mains_hz = 50};
    static const double a[][2] = {{5, -6}, {10, 0}, {315, 0}, {630, -12}};
    static const double b[][2] = {{39.375, -36}, {78.75, -24}, {157.5, -12}, {315, 0}, {630, -12}, {1260, -24}};
    for (size_t i = 0; i < 4; i++)
        ck_assert(dw_weighting_curve_add(&settings.unweighted.points, a[i][0], a[i][1]));
    for (size_t i = 0; i < 6; i++)
        ck_assert(dw_weighting_curve_add(&settings.weighted.points, b[i][0], b[i][1]));
    strcpy(settings.unweighted.name, "A");
    strcpy(settings.weighted.name, "B");
    return settings;
}

// The curves once more, by their slopes.
static double curve_a(double f)
{
    return f < 10 ? pow(f / 10, 6 / (10 * log10(2))) : f < 315 ? 1 : pow(f / 315, -12 / (10 * log10(2)));
}

static double curve_b(double f)
{
    return pow(f < 315 ? f / 315 : 315 / f, 12 / (10 * log10(2)));
}

static double hiss_band(double f)
{
    return f >= 1000 && f <= 20000;
}

// The power of white noise of RMS through CURVE and, with POLE, the low-pass.
static double noise_power(double (*curve)(double), double rms, double pole, double rate_hz)
{
    double sum = 0, step = 0.1;
    for (double f = 1 + step / 2; f < rate_hz / 2; f += step)
        sum += step * curve(f) * (pole > 0 ? signal_rumble_gain(pole, f, rate_hz) : 1);
    return rms * rms * sum / (rate_hz / 2);
}

static DwSheet *measure(const Signal *signal, const DwNoiseSettings *settings, size_t block)
{
    DwNoise *noise = dw_noise_new(settings);
    for (size_t n = 0; n < signal->frames; n += block)
        dw_noise_push(noise, signal->samples + 2 * n, signal->frames - n < block ? signal->frames - n : block);
    dw_noise_finish(noise);
    DwNoiseReference reference = {.rms = REFERENCE, .words = "a reference"};
    DwNoiseDrive drive = {.rates = {{DW_PART_PLATTER, 1 / 1.8, 1e-4}, {DW_PART_MOTOR, 24.6, 0.05}}, .count = 2};
    DwSheet *sheet = dw_sheet_new("noise", "Noise");
    DwMessage message = {""};
    ck_assert_msg(dw_noise_read(noise, &reference, &drive, sheet, &message) == DW_OK, "%s", message.text);
    dw_noise_free(noise);
    return sheet;
}

static double under_reference(double power)
{
    return -10 * log10(power / (REFERENCE * REFERENCE));
}

// A lateral rumble with a motor line, a vertical one, hiss and a wow.
static Signal groove(double rate_hz, double seconds, double *pole)
{
    Signal signal = signal_new(rate_hz, seconds);
    *pole = 1 - exp(-2 * M_PI * 40 / rate_hz);
    double density = sqrt(rate_hz / 48000); // so that both rates have the same spectrum
    signal_rumble(&signal, 0.02 * density, *pole, 1, 1, 11);
    signal_rumble(&signal, 0.01 * density, *pole, 1, -1, 12);
    signal_hiss(&signal, 2e-4 * density, 13);
    signal_tone(&signal, 0, seconds, 24.6, 4e-4, 4e-4, 0.002);
    return signal;
}

static void check_rumble(double rate_hz)
{
    double pole, density = sqrt(rate_hz / 48000);
    Signal signal = groove(rate_hz, 60, &pole);
    DwNoiseSettings settings = settings_for(rate_hz, false);
    DwSheet *sheet = measure(&signal, &settings, 8192);
    double hiss_a = noise_power(curve_a, 2e-4 * density, 0, rate_hz);
    double hiss_b = noise_power(curve_b, 2e-4 * density, 0, rate_hz);
    double lateral = noise_power(curve_a, 0.02 * density, pole, rate_hz) + 8e-8 + hiss_a / 2;
    double vertical = noise_power(curve_a, 0.01 * density, pole, rate_hz) + hiss_a / 2;
    double weighted = noise_power(curve_b, 0.02 * density, pole, rate_hz) +
                      noise_power(curve_b, 0.01 * density, pole, rate_hz) + 8e-8 * curve_b(24.6) + hiss_b;
    ck_assert_double_eq_tol(value(sheet, "noise.rumble_lateral"), under_reference(lateral), 0.3);
    ck_assert_double_eq_tol(value(sheet, "noise.rumble_vertical"), under_reference(vertical), 0.3);
    ck_assert_double_eq_tol(value(sheet, "noise.rumble_unweighted"), under_reference(lateral + vertical), 0.3);
    ck_assert_double_eq_tol(value(sheet, "noise.rumble_weighted"), under_reference(weighted), 0.3);
    double hiss = noise_power(hiss_band, 2e-4 * density, 0, rate_hz) +
                  noise_power(hiss_band, 0.02 * density, pole, rate_hz) +
                  noise_power(hiss_band, 0.01 * density, pole, rate_hz);
    ck_assert_double_eq_tol(value(sheet, "noise.hiss"), under_reference(hiss), 0.1);
    ck_assert(dw_sheet_reading(sheet, "noise.rumble_weighted")->flags & DW_FLAG_APPROXIMATE);
    dw_sheet_free(sheet);
    signal_free(&signal);
}

START_TEST(rumble_is_the_curve_s_exact_value_at_48_khz)
{
    check_rumble(48000);
}
END_TEST

START_TEST(rumble_is_the_curve_s_exact_value_at_96_khz)
{
    check_rumble(96000);
}
END_TEST

// Sines alone have an exact value without any scatter.
START_TEST(sines_read_exactly)
{
    Signal signal = signal_new(44100, 12);
    static const double tones[][3] = {{5.3, 0.01, 0.01}, {33.3, 0.002, -0.002}, {315, 0.001, 0.001}, {630, 0.003, 0}};
    double a = 0, b = 0, lateral = 0;
    for (size_t i = 0; i < 4; i++) {
        double f = tones[i][0], l = tones[i][1], r = tones[i][2];
        signal_tone(&signal, 0, 12, f, l, r, 0);
        a += curve_a(f) * (l * l + r * r) / 4;
        b += curve_b(f) * (l * l + r * r) / 4;
        lateral += curve_a(f) * (l + r) * (l + r) / 8;
    }
    DwNoiseSettings settings = settings_for(44100, false);
    settings.unweighted.checked = settings.weighted.checked = true;
    DwSheet *sheet = measure(&signal, &settings, 1000);
    ck_assert_double_eq_tol(value(sheet, "noise.rumble_unweighted"), under_reference(a), 0.02);
    ck_assert_double_eq_tol(value(sheet, "noise.rumble_weighted"), under_reference(b), 0.05);
    ck_assert_double_eq_tol(value(sheet, "noise.rumble_lateral"), under_reference(lateral), 0.02);
    ck_assert_uint_eq(dw_sheet_reading(sheet, "noise.rumble_weighted")->flags, 0);
    dw_sheet_free(sheet);
    signal_free(&signal);
}
END_TEST

// Hum at 50.03 Hz and its third harmonic, in one channel, beside rumble.
START_TEST(hum_reads_its_lines_and_names_the_channel)
{
    double pole;
    Signal signal = groove(48000, 30, &pole);
    signal_tone(&signal, 0, 30, 50.03, 2e-3, 0, 0);
    signal_tone(&signal, 0, 30, 150.09, 1e-3, 0, 0);
    DwNoiseSettings settings = settings_for(48000, false);
    DwSheet *sheet = measure(&signal, &settings, 4096);
    ck_assert_double_eq_tol(value(sheet, "noise.hum"), under_reference((4e-6 + 1e-6) / 4), 0.3);
    const DwTable *table = dw_sheet_table(sheet, "noise.hum_lines");
    ck_assert_uint_eq(table->row_count, 2);
    ck_assert_double_eq_tol(dw_table_cell(table, 0, 1)->number, -under_reference(2e-6), 0.3);
    ck_assert(isnan(dw_table_cell(table, 0, 2)->number));
    ck_assert(remarks(sheet, "left channel alone"));
    dw_sheet_free(sheet);
    signal_free(&signal);
}
END_TEST

START_TEST(no_hum_is_a_flagged_bound)
{
    double pole;
    Signal signal = groove(48000, 30, &pole);
    DwNoiseSettings settings = settings_for(48000, false);
    DwSheet *sheet = measure(&signal, &settings, 4096);
    ck_assert(dw_sheet_reading(sheet, "noise.hum")->flags & DW_FLAG_NOISY);
    ck_assert_ptr_null(dw_sheet_table(sheet, "noise.hum_lines"));
    dw_sheet_free(sheet);
    signal_free(&signal);
}
END_TEST

// Of 40 recordings of noise alone, with 20 harmonics in two channels each, one at
// most may seem to hum.
START_TEST(noise_alone_does_not_hum)
{
    int heard = 0;
    for (unsigned i = 0; i < 40; i++) {
        Signal signal = signal_new(8000, 12);
        signal_hiss(&signal, 1e-3, 500 + i);
        DwNoiseSettings settings = settings_for(8000, false);
        DwSheet *sheet = measure(&signal, &settings, 4096);
        heard += dw_sheet_table(sheet, "noise.hum_lines") != NULL;
        dw_sheet_free(sheet);
        signal_free(&signal);
    }
    ck_assert_int_le(heard, 1);
}
END_TEST

START_TEST(a_line_is_named_by_the_part_that_turns)
{
    double pole;
    Signal signal = groove(48000, 30, &pole);
    signal_tone(&signal, 0, 30, 24.6, 4e-3, 4e-3, 0.001);
    signal_tone(&signal, 0, 30, 100, 2e-3, -2e-3, 0);
    DwNoiseSettings settings = settings_for(48000, false);
    DwSheet *sheet = measure(&signal, &settings, 4096);
    const DwTable *table = dw_sheet_table(sheet, "noise.lines");
    bool motor = false, mains = false;
    for (size_t i = 0; i < table->row_count; i++) {
        double hz = dw_table_cell(table, i, 0)->number;
        if (fabs(hz - 24.6) < 0.1) {
            motor = strcmp(dw_table_cell(table, i, 3)->word, "motor") == 0;
            ck_assert_double_eq_tol(dw_table_cell(table, i, 1)->number, -under_reference(4.4e-3 * 4.4e-3 / 2), 0.5);
        }
        if (fabs(hz - 100) < 0.1)
            mains = strcmp(dw_table_cell(table, i, 3)->word, "mains × 2") == 0;
    }
    ck_assert(motor && mains);
    dw_sheet_free(sheet);
    signal_free(&signal);
}
END_TEST

START_TEST(block_size_changes_nothing)
{
    double pole;
    Signal signal = groove(48000, 15, &pole);
    DwNoiseSettings settings = settings_for(48000, true);
    DwSheet *one = measure(&signal, &settings, 977), *other = measure(&signal, &settings, 65536);
    ck_assert_uint_eq(one->reading_count, other->reading_count);
    for (size_t i = 0; i < one->reading_count; i++)
        ck_assert_double_eq(one->readings[i].value, other->readings[i].value);
    dw_sheet_free(one);
    dw_sheet_free(other);
    signal_free(&signal);
}
END_TEST

// A tone band, a silent groove, and the needle lifted at the end.
START_TEST(the_silent_groove_is_found_between_a_tone_and_a_lifted_arm)
{
    double pole;
    Signal signal = groove(48000, 52, &pole);
    signal_tone(&signal, 0, 15, 1000, 0.3, 0.3, 0.001);
    for (size_t n = 44 * 48000; n < signal.frames; n++)
        for (size_t c = 0; c < 2; c++)
            signal.samples[2 * n + c] *= 0.02f;
    DwNoiseSettings settings = settings_for(48000, true);
    DwSheet *sheet = measure(&signal, &settings, 4096);
    double a = noise_power(curve_a, 0.02, pole, 48000) + noise_power(curve_a, 0.01, pole, 48000) + 8e-8 +
               noise_power(curve_a, 2e-4, 0, 48000);
    ck_assert_double_eq_tol(value(sheet, "noise.rumble_unweighted"), under_reference(a), 0.5);
    dw_sheet_free(sheet);
    signal_free(&signal);
}
END_TEST

static DwStatus refusal(const Signal *signal, DwMessage *message)
{
    DwNoiseSettings settings = settings_for(signal->rate_hz, true);
    DwNoise *noise = dw_noise_new(&settings);
    dw_noise_push(noise, signal->samples, signal->frames);
    dw_noise_finish(noise);
    DwNoiseReference reference = {.rms = NAN};
    DwSheet *sheet = dw_sheet_new("noise", "Noise");
    DwStatus status = dw_noise_read(noise, &reference, &(DwNoiseDrive){0}, sheet, message);
    dw_sheet_free(sheet);
    dw_noise_free(noise);
    return status;
}

START_TEST(bad_signals_are_refused_with_a_line)
{
    DwMessage message;
    Signal signal = signal_new(48000, 10);
    ck_assert_int_eq(refusal(&signal, &message), DW_BAD_INPUT); // digital silence
    ck_assert_ptr_nonnull(strstr(message.text, "record.start"));
    signal_tone(&signal, 0, 10, 1000, 0.5, 0.5, 0);
    ck_assert_int_eq(refusal(&signal, &message), DW_BAD_INPUT); // a tone is no silence
    signal.samples[300000] = NAN;
    ck_assert_int_eq(refusal(&signal, &message), DW_BAD_INPUT);
    ck_assert_ptr_nonnull(strstr(message.text, "not a number"));
    signal_free(&signal);
    signal = signal_new(48000, 0.5);
    ck_assert_int_eq(refusal(&signal, &message), DW_BAD_INPUT);
    ck_assert_ptr_nonnull(strstr(message.text, "0.50 s"));
    signal_free(&signal);
}
END_TEST

START_TEST(a_reference_tone_reads_its_level_in_noise_and_wow)
{
    Signal signal = signal_new(96000, 6);
    signal_hiss(&signal, 1e-3, 5);
    signal_tone(&signal, 1, 5, 315, 0.2, -0.1, 0.003);
    DwReferenceTones *tones = dw_reference_tones_new(96000, 2);
    dw_reference_tones_push(tones, signal.samples, signal.frames);
    DwReferenceTone tone;
    ck_assert(dw_reference_tones_read(tones, &tone));
    ck_assert_double_eq_tol(20 * log10(tone.rms[0] * sqrt(2) / 0.2), 0, 0.02);
    ck_assert_double_eq_tol(20 * log10(tone.rms[1] * sqrt(2) / 0.1), 0, 0.02);
    ck_assert_double_eq_tol(tone.frequency_hz, 315, 0.5);
    ck_assert_double_eq_tol(tone.correlation, -1, 0.01);
    dw_reference_tones_free(tones);
    signal_free(&signal);
}
END_TEST

DW_SUITE("noise", rumble_is_the_curve_s_exact_value_at_48_khz, rumble_is_the_curve_s_exact_value_at_96_khz,
         sines_read_exactly, hum_reads_its_lines_and_names_the_channel, no_hum_is_a_flagged_bound,
         noise_alone_does_not_hum, a_line_is_named_by_the_part_that_turns, block_size_changes_nothing,
         the_silent_groove_is_found_between_a_tone_and_a_lifted_arm, bad_signals_are_refused_with_a_line,
         a_reference_tone_reads_its_level_in_noise_and_wow)
