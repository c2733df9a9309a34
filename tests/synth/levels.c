// SPDX-License-Identifier: MIT
// Levels, noise, hum, rumble, ticks, drop-outs and channels.
#include "synth/recording.h"
#include "support/suite.h"

#include "base/memory.h"

#include <math.h>
#include <string.h>

static double decibels(double power_ratio)
{
    return 10 * log10(power_ratio);
}

// Power of what is left when the tone (of known frequency, no fault) is fitted
// by least squares over a whole number of its periods and taken out.
static double power_without_tone(const Recording *recording, size_t channel, double *tone_power)
{
    double real = 0, imaginary = 0;
    double step = 2 * M_PI * recording->truth->tone_hz / recording->rate_hz;
    for (size_t i = 0; i < recording->frames; i++) {
        real += recording_at(recording, i, channel) * cos(step * (double)i);
        imaginary += recording_at(recording, i, channel) * sin(step * (double)i);
    }
    double half = (double)recording->frames / 2, left = 0;
    real /= half;
    imaginary /= half;
    for (size_t i = 0; i < recording->frames; i++) {
        double rest =
            recording_at(recording, i, channel) - real * cos(step * (double)i) - imaginary * sin(step * (double)i);
        left += rest * rest / (double)recording->frames;
    }
    *tone_power = (real * real + imaginary * imaginary) / 2;
    return left;
}

START_TEST(tone_and_noise_have_the_stated_levels)
{
    static const double stated_snr_db[] = {20, 60};
    static const char *const operands[] = {"synth.length=10 synth.snr=20", "synth.length=10"};
    for (int i = 0; i < 2; i++) {
        Recording recording = recording_make(operands[i]);
        for (size_t channel = 0; channel < 2; channel++) {
            double tone, noise = power_without_tone(&recording, channel, &tone);
            // A full-scale sine has power 1/2.
            ck_assert_double_eq_tol(decibels(2 * tone), -12, 0.01);
            ck_assert_double_eq_tol(decibels(tone / noise), stated_snr_db[i], 0.1);
            ck_assert_double_eq_tol(recording.truth->noise_rms, sqrt(noise), 0.01 * sqrt(noise));
        }
        recording_clear(&recording);
    }
}
END_TEST

START_TEST(noise_is_white_and_its_channels_strangers)
{
    Recording recording = recording_make("synth.length=10 synth.snr=0 synth.level=-100 synth.rate=8000");
    double lag[4] = {0}, across = 0, power = 0;
    double step = 2 * M_PI * 3150 / 8000, peak = recording.truth->tone_peak;
    double *left = dw_memory_new(recording.frames, sizeof *left);
    for (size_t i = 0; i < recording.frames; i++) {
        double tone = peak * sin(step * (double)i);
        left[i] = recording_at(&recording, i, 0) - tone;
        power += left[i] * left[i];
        across += left[i] * (recording_at(&recording, i, 1) - tone);
        for (size_t k = 1; k < 4 && i >= 3; k++)
            lag[k] += left[i] * left[i - k];
    }
    double five = 5 / sqrt((double)recording.frames); // standard errors
    ck_assert_double_eq_tol(across / power, 0, five);
    for (size_t k = 1; k < 4; k++)
        ck_assert_double_eq_tol(lag[k] / power, 0, five);
    free(left);
    recording_clear(&recording);
}
END_TEST

static const char everything[] =
    "synth.length=4 synth.rate=16000 synth.lead_silence=0.3 synth.lead_crackle=0.5 synth.announcement=1 "
    "synth.band_before=315:1 synth.band_after=1000:1 record.radius=100 fault.speed_error=0.3 fault.wow=0.1 "
    "fault.flutter_noise=0.1 fault.hum=-40 fault.rumble=-30 fault.am=3:5 fault.ticks=200 fault.dropouts=60";

START_TEST(block_size_changes_no_sample)
{
    static const size_t sizes[] = {1, 7, 480, 4096};
    Recording whole = recording_make(everything);
    for (size_t s = 0; s < sizeof sizes / sizeof *sizes; s++)
        recording_check_blocks(&whole, everything, sizes[s]);
    recording_clear(&whole);
}
END_TEST

START_TEST(another_seed_is_another_recording)
{
    Recording one = recording_make("synth.length=1 synth.seed=1"), two = recording_make("synth.length=1 synth.seed=2");
    ck_assert(memcmp(one.samples, two.samples, one.frames * sizeof(float)) != 0);
    recording_clear(&one);
    recording_clear(&two);
}
END_TEST

START_TEST(one_channel_is_the_left_of_two)
{
    Recording mono = recording_make("synth.length=1 synth.channels=1 fault.rumble=-20 fault.ticks=60"),
              stereo = recording_make("synth.length=1 fault.rumble=-20 fault.ticks=60");
    for (size_t i = 0; i < mono.frames; i++)
        ck_assert_float_eq(mono.samples[i], stereo.samples[2 * i]);
    recording_clear(&mono);
    recording_clear(&stereo);
}
END_TEST

START_TEST(hum_stands_at_the_mains)
{
    Recording recording = recording_make("synth.length=10 synth.snr=120 deck.mains=60 fault.hum=-30");
    double *left = recording_channel(&recording, 0);
    double tone = line_peak(left, recording.frames, 48000, 3150, NULL);
    double hum = line_peak(left, recording.frames, 48000, 60, NULL);
    ck_assert_double_eq_tol(20 * log10(hum / tone), -30, 0.01);
    ck_assert_double_eq_tol(line_peak(left, recording.frames, 48000, 180, NULL) / hum, 0.5, 0.001);
    ck_assert_double_lt(line_peak(left, recording.frames, 48000, 50, NULL), 1e-3 * hum);
    free(left);
    recording_clear(&recording);
}
END_TEST

START_TEST(rumble_has_its_level_and_its_vertical_share)
{
    Recording recording = recording_make("synth.length=60 synth.rate=8000 synth.snr=200 fault.rumble=-10 "
                                         "fault.rumble_vertical=20");
    double sum = 0, difference = 0, left = 0, step = 2 * M_PI * 3150 / 8000, peak = recording.truth->tone_peak;
    for (size_t i = 0; i < recording.frames; i++) {
        double tone = peak * sin(step * (double)i);
        double a = recording_at(&recording, i, 0) - tone, b = recording_at(&recording, i, 1) - tone;
        left += a * a / (double)recording.frames;
        sum += (a + b) * (a + b);
        difference += (a - b) * (a - b);
    }
    // 60 s of about 50 Hz: 1.8 % standard error of a power, 0.08 dB.
    ck_assert_double_eq_tol(decibels(left / (peak * peak / 2)), -10, 0.4);
    ck_assert_double_eq_tol(difference / (sum + difference), 0.2, 0.04);
    recording_clear(&recording);
}
END_TEST

START_TEST(ticks_are_counted_and_placed)
{
    Recording recording =
        recording_make("synth.length=60 synth.snr=80 synth.level=-30 fault.ticks=90 fault.tick_level=18");
    double limit = recording.truth->tone_peak * 3, times[400];
    size_t found = 0, room = sizeof times / sizeof *times;
    double last = -1, worst = 0;
    size_t stated = dw_synth_ticks(recording.synth, times, room);
    for (size_t i = 0; i < recording.frames; i++) {
        double t = (double)i / recording.rate_hz;
        double loudest = fmax(fabs(recording_at(&recording, i, 0)), fabs(recording_at(&recording, i, 1)));
        if (loudest < limit || t - last < 2e-3)
            continue;
        ck_assert_uint_lt(found, stated);
        worst = fmax(worst, fabs(t - times[found++]));
        last = t;
    }
    ck_assert_uint_eq(found, stated);
    ck_assert_uint_eq(recording.truth->ticks, stated);
    ck_assert_double_eq_tol(worst, 0, 1e-9);
    ck_assert_double_eq_tol((double)stated, 90, 5 * sqrt(90)); // of a Poisson count
    recording_clear(&recording);
}
END_TEST

START_TEST(dropouts_are_counted_and_timed)
{
    Recording recording = recording_make("synth.length=60 synth.snr=80 fault.dropouts=40 fault.dropout_length=30");
    double times[200];
    size_t stated = dw_synth_dropouts(recording.synth, times, 200), found = 0, quiet = 0, longest = 0, in_all = 0;
    for (size_t i = 0; i < recording.frames; i++) {
        if (fabs(recording_at(&recording, i, 0)) < 0.01 * recording.truth->tone_peak) {
            quiet++;
            continue;
        }
        if (quiet > 480) { // 10 ms: far over a zero crossing
            in_all += quiet;
            longest = quiet > longest ? quiet : longest;
            ck_assert_double_eq_tol((double)(i - quiet) / 48000, times[found] + 1e-3, 0.5e-3);
            found++;
        }
        quiet = 0;
    }
    // One that the end of the recording cuts off has no end to be found.
    ck_assert_uint_eq(found, stated - (times[stated - 1] > 60 - 0.031));
    ck_assert_uint_eq(recording.truth->dropouts, stated);
    ck_assert_double_eq_tol((double)longest / 48000, 0.0285, 0.001); // 30 ms less most of two edges of 1 ms
    ck_assert_double_eq_tol((double)in_all / 48000 / (double)found, 0.0285, 0.001);
    ck_assert_double_eq_tol((double)stated, 40, 5 * sqrt(40));
    recording_clear(&recording);
}
END_TEST

START_TEST(amplitude_modulation_has_its_depth)
{
    Recording recording = recording_make("synth.length=10 synth.snr=120 fault.am=5:10");
    double *left = recording_channel(&recording, 0);
    // Each sideband of a sinusoidal modulation of depth m is m/2 of the carrier.
    double tone = line_peak(left, recording.frames, 48000, 3150, NULL);
    ck_assert_double_eq_tol(line_peak(left, recording.frames, 48000, 3155, NULL) / tone, 0.05, 1e-4);
    ck_assert_double_eq_tol(line_peak(left, recording.frames, 48000, 3145, NULL) / tone, 0.05, 1e-4);
    free(left);
    recording_clear(&recording);
}
END_TEST

START_TEST(channels_can_die_turn_leak_and_clip)
{
    Recording recording = recording_make("synth.length=1 synth.snr=60 fault.dead_channel=right");
    double left = recording_power(&recording, 0, 0, 1), right = recording_power(&recording, 1, 0, 1);
    ck_assert_double_eq_tol(decibels(left / right), 60, 0.2);
    recording_clear(&recording);

    recording = recording_make("synth.length=1 synth.snr=300 fault.reversed_channel=left");
    for (size_t i = 0; i < recording.frames; i++)
        ck_assert_float_eq_tol(recording.samples[2 * i], -recording.samples[2 * i + 1], 1e-7f);
    recording_clear(&recording);

    recording = recording_make("synth.length=1 synth.snr=300 synth.side=left fault.separation=25");
    left = recording_power(&recording, 0, 0, 1), right = recording_power(&recording, 1, 0, 1);
    ck_assert_double_eq_tol(decibels(left / right), 25, 1e-3);
    recording_clear(&recording);

    recording = recording_make("synth.length=1 synth.snr=300 synth.side=right");
    ck_assert_double_lt(recording_power(&recording, 0, 0, 1), 1e-20);
    recording_clear(&recording);

    recording = recording_make("synth.length=1 synth.snr=300 fault.clip=-18");
    float highest = 0;
    size_t cut = 0;
    for (size_t i = 0; i < recording.frames; i++) {
        highest = fmaxf(highest, recording.samples[2 * i]);
        cut += fabsf(recording.samples[2 * i]) > 0.999f * powf(10, -18.0f / 20);
    }
    ck_assert_float_eq_tol(highest, powf(10, -18.0f / 20), 1e-6f);
    // A sine is over half its peak for 2/3 of the time, here 10^(−6/20) = 0.5012.
    ck_assert_double_eq_tol((double)cut / (double)recording.frames, 1 - 2 / M_PI * asin(pow(10, -0.3)), 0.005);
    recording_clear(&recording);
}
END_TEST

DW_SUITE("levels", tone_and_noise_have_the_stated_levels, noise_is_white_and_its_channels_strangers,
         block_size_changes_no_sample, another_seed_is_another_recording, one_channel_is_the_left_of_two,
         hum_stands_at_the_mains, rumble_has_its_level_and_its_vertical_share, ticks_are_counted_and_placed,
         dropouts_are_counted_and_timed, amplitude_modulation_has_its_depth, channels_can_die_turn_leak_and_clip)
