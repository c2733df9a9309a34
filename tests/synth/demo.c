// SPDX-License-Identifier: MIT
// The demonstration decks can be read, are plausible, and play as they say.
#include "synth/recording.h"
#include "support/suite.h"

#include "base/keyfile.h"

#include <math.h>
#include <stdio.h>

static DwInputs *deck(const char *name)
{
    char path[500];
    snprintf(path, sizeof path, "%s/demo/%s.deck", DW_DATA_FOLDER, name);
    DwKeyfile file;
    DwMessage message = {""};
    ck_assert_msg(dw_keyfile_read(path, &file, &message) == DW_OK, "%s", message.text);
    DwInputs *inputs = dw_inputs_new();
    for (size_t i = 0; i < file.count; i++) {
        char key[200];
        snprintf(key, sizeof key, "%s.%s", file.lines[i].group, file.lines[i].key);
        ck_assert_msg(dw_inputs_set(inputs, key, file.lines[i].value, &message) == DW_OK, "%s line %u: %s", path,
                      file.lines[i].line, message.text);
        DwRange plausible = dw_quantity_find(key)->plausible;
        if (dw_range_is_set(plausible) && !(name[0] == 'f' && dw_inputs_number(inputs, key) > 35))
            ck_assert_msg(dw_inputs_number(inputs, key) >= plausible.low &&
                              dw_inputs_number(inputs, key) <= plausible.high,
                          "%s: %s is not plausible", path, key);
    }
    dw_keyfile_clear(&file);
    return inputs;
}

static DwSynth *synth_of(const char *name)
{
    DwInputs *inputs = deck(name);
    DwSynth *synth = NULL;
    DwMessage message = {""};
    ck_assert_msg(dw_synth_new(inputs, &synth, &message) == DW_OK, "%s", message.text);
    dw_inputs_free(inputs);
    return synth;
}

START_TEST(worn_belt_deck_is_what_its_comments_say)
{
    DwSynth *synth = synth_of("worn-belt-deck");
    double belt_hz = M_PI * (160 + 0.8) * 100.0 / 3 / 60 * 1.0031 / 576.08;
    ck_assert_double_eq_tol(belt_hz, 0.4887, 1e-4);
    ck_assert_double_eq_tol(dw_synth_line(synth, belt_hz, 1e-3, NULL), 0.07, 1e-9);
    ck_assert_double_eq_tol(dw_synth_line(synth, 6.979 * 1.0031, 1e-3, NULL), 0.09, 1e-9);
    ck_assert_double_eq_tol(dw_synth_truth(synth)->steady_error_percent, 0.31, 1e-9);
    dw_synth_free(synth);
}
END_TEST

START_TEST(good_deck_is_good)
{
    DwSynth *synth = synth_of("good-deck");
    const DwSynthTruth *truth = dw_synth_truth(synth);
    ck_assert_double_lt(fabs(truth->mean_error_percent), 0.05);
    for (size_t i = 0; i < truth->line_count; i++)
        ck_assert_double_lt(truth->lines[i].peak_percent, 0.05);
    dw_synth_free(synth);
}
END_TEST

START_TEST(a_record_at_45_sounds_35_per_cent_high)
{
    DwSynth *synth = synth_of("forty-five-by-mistake");
    const DwSynthTruth *truth = dw_synth_truth(synth);
    ck_assert_double_eq_tol(truth->rotation_hz, 0.75, 0.001);
    // Crossings upwards in ten seconds of the tone, counted.
    size_t skip = (size_t)(truth->tone_start_s * dw_synth_rate(synth)) + 4800, crossings = 0;
    float frame[2], last = 0;
    for (size_t i = 0; i < skip; i++)
        dw_synth_read(synth, frame, 1);
    for (size_t i = 0; i < 480000; i++) {
        dw_synth_read(synth, frame, 1);
        crossings += last < 0 && frame[0] >= 0;
        last = frame[0];
    }
    ck_assert_double_eq_tol((double)crossings / 10, 3150 * 1.3503, 3);
    dw_synth_free(synth);
}
END_TEST

DW_SUITE("demo", worn_belt_deck_is_what_its_comments_say, good_deck_is_good, a_record_at_45_sounds_35_per_cent_high)
