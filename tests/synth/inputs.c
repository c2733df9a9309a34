// SPDX-License-Identifier: MIT
// What is taken, what is refused, and in which order things are played.
#include "synth/recording.h"
#include "support/suite.h"

#include <math.h>
#include <string.h>

START_TEST(nothing_stated_is_a_clean_minute)
{
    DwInputs *inputs = dw_inputs_new();
    DwSynth *synth = NULL;
    ck_assert_int_eq(dw_synth_new(inputs, &synth, NULL), DW_OK);
    const DwSynthTruth *truth = dw_synth_truth(synth);
    ck_assert_double_eq(dw_synth_rate(synth), 48000);
    ck_assert_int_eq(dw_synth_channels(synth), 2);
    ck_assert_uint_eq(dw_synth_frames(synth), 60 * 48000);
    ck_assert_double_eq(truth->tone_hz, 3150);
    ck_assert_double_eq(truth->tone_start_s, 0);
    ck_assert_double_eq(truth->tone_end_s, 60);
    ck_assert_double_eq(truth->mean_error_percent, 0);
    ck_assert_uint_eq(truth->line_count + truth->ticks + truth->dropouts, 0);
    dw_synth_free(synth);
    dw_inputs_free(inputs);
    dw_synth_free(NULL);
}
END_TEST

START_TEST(what_cannot_be_played_is_refused_by_one_line)
{
    static const char *const bad[][2] = {
        {"synth.rate=4000", "out of range"},
        {"synth.rate=44100.5", "not whole"},
        {"synth.channels=3", "not one of its choices"},
        {"synth.length=0", "out of range"},
        {"synth.band_before=315", "colon"},
        {"synth.band_before=315:0", "no length for a band"},
        {"synth.band_after=315:9999", "no length for a band"},
        {"synth.channels=1 fault.dead_channel=left", "no left and right"},
        {"synth.channels=1 synth.side=right", "no left and right"},
        {"fault.separation=20", "synth.side=left"},
        {"fault.eccentricity=0.2", "record.radius"},
        {"fault.belt_hump=0.1", "synth.belt_rate"},
        {"fault.line=7:0", "out of range"},
        {"fault.line=7:60", "out of range"},
        {"fault.am=7:150", "a depth of 150 %"},
        {"fault.line=7:50 fault.line=8:50", "fall to nothing"},
        {"fault.drift=-100", "fall to nothing"},
        {"fault.dropouts=6000 fault.dropout_length=100", "fewer or shorter"},
        {"synth.rate=8000 synth.band_after=10000:5", "half of synth.rate"},
        {"synth.rate=8000 fault.speed_error=35", "half of synth.rate"},
    };
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        DwMessage message = {""};
        DwSynth *synth = NULL;
        DwInputs *inputs = inputs_of(bad[i][0], &message);
        if (inputs)
            ck_assert_msg(dw_synth_new(inputs, &synth, &message) == DW_BAD_INPUT, "%s is taken", bad[i][0]);
        ck_assert_msg(!synth, "%s", bad[i][0]);
        ck_assert_msg(strstr(message.text, bad[i][1]), "%s: %s", bad[i][0], message.text);
        ck_assert_msg(!strchr(message.text, '\n') && strlen(message.text) < 300, "%s", message.text);
        dw_inputs_free(inputs);
    }
}
END_TEST

START_TEST(the_parts_follow_one_another)
{
    Recording recording = recording_make("synth.length=3 synth.snr=70 synth.lead_silence=1 synth.lead_crackle=2 "
                                         "synth.announcement=3 synth.band_before=1000:2 synth.band_before=315:1 "
                                         "synth.band_after=300:2 fault.speed_error=1");
    // 1 lifted, 2 run-in, 3 voice, quiet, 2, quiet, 1, quiet, 3 tone, quiet, 2.
    ck_assert_uint_eq(recording.frames, 18 * 48000);
    ck_assert_double_eq_tol(recording.truth->tone_start_s, 12, 1e-12);
    ck_assert_double_eq_tol(recording.truth->tone_end_s, 15, 1e-12);
    double tone = recording_power(&recording, 0, 12, 15);
    static const double quiet[][2] = {{0, 1}, {6.1, 7}, {9, 10}, {11, 12}, {15, 16}};
    for (size_t i = 0; i < sizeof quiet / sizeof *quiet; i++)
        ck_assert_double_lt(recording_power(&recording, 0, quiet[i][0], quiet[i][1]), tone * 1e-6);
    double crackle = 10 * log10(recording_power(&recording, 0, 1, 3) / tone);
    double voice = 10 * log10(recording_power(&recording, 0, 3, 6) / tone);
    ck_assert_msg(crackle > -50 && crackle < -15, "run-in %g dB", crackle);
    ck_assert_msg(voice > -25 && voice < -3, "voice %g dB", voice);
    static const struct {
        double from, to, hz;
    } bands[] = {{7, 9, 1000}, {10, 11, 315}, {12, 15, 3150}, {16, 18, 300}};
    for (size_t i = 0; i < sizeof bands / sizeof *bands; i++) {
        double values[4800]; // 0.1 s of each: 10 Hz wide
        size_t from = (size_t)((bands[i].from + 0.5) * 48000);
        for (size_t k = 0; k < 4800; k++)
            values[k] = recording_at(&recording, from + k, 0);
        double peak = line_peak(values, 4800, 48000, bands[i].hz * 1.01, NULL);
        ck_assert_double_eq_tol(peak, recording.truth->tone_peak, 1e-3 * peak);
    }
    recording_clear(&recording);
}
END_TEST

START_TEST(a_voice_has_pauses_and_is_no_steady_tone)
{
    Recording recording = recording_make("synth.length=1 synth.snr=80 synth.announcement=10");
    double tone = recording_power(&recording, 0, 11, 12);
    size_t silent = 0, loud = 0;
    float highest = 0;
    for (int i = 0; i < 200; i++) {
        double level = 10 * log10(recording_power(&recording, 0, i * 0.05, i * 0.05 + 0.05) / tone);
        silent += level < -40;
        loud += level > -20;
    }
    for (size_t i = 0; i < 10 * 48000; i++)
        highest = fmaxf(highest, fabsf(recording.samples[2 * i]));
    ck_assert_msg(silent > 30 && loud > 60, "%zu silent, %zu loud of 200", silent, loud);
    ck_assert_double_lt((double)highest, 2 * recording.truth->tone_peak);
    // No line holds more than a small part of its power.
    double values[48000], power = recording_power(&recording, 0, 2, 3);
    for (size_t k = 0; k < 48000; k++)
        values[k] = recording_at(&recording, 96000 + k, 0);
    for (int f = 80; f < 1000; f += 2)
        ck_assert_double_lt(pow(line_peak(values, 48000, 48000, f, NULL), 2) / 2, 0.2 * power);
    recording_clear(&recording);
}
END_TEST

// Once drive.* is in the catalogue, a belt's rate follows from its measures:
// D = 160, t = 0.8, L = 576.08 mm give 0.4872 Hz.
// Source (recomputed): π·(D + t)·n/L.
START_TEST(belt_rate_follows_from_the_drive)
{
    const char *operands =
        dw_quantity_find("drive.belt_thickness") && dw_quantity_find("drive.belt_length")
            ? "fault.belt_hump=0.1 drive.rim_diameter=160 drive.belt_thickness=0.8 drive.belt_length=576.08"
            : "fault.belt_hump=0.1 synth.belt_rate=0.4872";
    DwInputs *inputs = inputs_of(operands, NULL);
    ck_assert_ptr_nonnull(inputs);
    DwSynth *synth = NULL;
    ck_assert_int_eq(dw_synth_new(inputs, &synth, NULL), DW_OK);
    ck_assert_uint_gt(dw_synth_truth(synth)->line_count, 1);
    for (size_t k = 0; k < dw_synth_truth(synth)->line_count; k++)
        ck_assert_double_eq_tol(dw_synth_truth(synth)->lines[k].frequency_hz, 0.4872 * (double)(k + 1),
                                1e-4 * (double)(k + 1));
    dw_synth_free(synth);
    dw_inputs_free(inputs);
}
END_TEST

DW_SUITE("inputs", nothing_stated_is_a_clean_minute, what_cannot_be_played_is_refused_by_one_line,
         the_parts_follow_one_another, a_voice_has_pauses_and_is_no_steady_tone, belt_rate_follows_from_the_drive)
