// SPDX-License-Identifier: MIT
// The demonstration decks can be read, are plausible, and play as they say.
#include "synth/planned.h"
#include "support/suite.h"

#include "base/keyfile.h"
#include "base/place.h"

#include <math.h>
#include <stdio.h>
#include <unistd.h>

static DwInputs *deck(const char *name)
{
    char path[4200];
    snprintf(path, sizeof path, "%s/demo/%s.deck", dw_data_folder(), name);
    DwKeyfile file;
    DwMessage message = {""};
    ck_assert_msg(dw_keyfile_read(path, &file, &message) == DW_OK, "%s", message.text);
    DwInputs *inputs = dw_inputs_new();
    for (size_t i = 0; i < file.count; i++) {
        char key[200];
        snprintf(key, sizeof key, "%s.%s", file.lines[i].group, file.lines[i].key);
        ck_assert_msg(dw_inputs_set(inputs, key, file.lines[i].value, &message) == DW_OK, "%s line %u: %s", path,
                      file.lines[i].line, message.text);
        double value = NAN, second;
        dw_inputs_own(inputs, dw_quantity_find(key), 0, &value, &second);
        DwRange plausible = dw_quantity_find(key)->plausible;
        if (dw_range_is_set(plausible) && !(name[0] == 'f' && value > 35))
            ck_assert_msg(value >= plausible.low && value <= plausible.high, "%s: %s is not plausible", path, key);
    }
    dw_keyfile_clear(&file);
    return inputs;
}

// PLAN: of the side it plays, or NULL.
static DwSynth *synth_of(const char *name, const char *plan)
{
    DwInputs *inputs = deck(name);
    DwSynth *synth = NULL;
    char path[40];
    if (plan) {
        plan_write(plan, path);
        dw_inputs_set(inputs, "record.plan", path, NULL);
    }
    DwMessage message = {""};
    ck_assert_msg(dw_synth_new(inputs, &synth, &message) == DW_OK, "%s", message.text);
    dw_inputs_free(inputs);
    if (plan)
        unlink(path);
    return synth;
}

START_TEST(worn_belt_deck_is_what_its_comments_say)
{
    DwSynth *synth = synth_of("worn-belt-deck", NULL);
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
    DwSynth *synth = synth_of("good-deck", NULL);
    const DwSynthTruth *truth = dw_synth_truth(synth);
    ck_assert_double_lt(fabs(truth->mean_error_percent), 0.05);
    for (size_t i = 0; i < truth->line_count; i++)
        ck_assert_double_lt(truth->lines[i].peak_percent, 0.05);
    dw_synth_free(synth);
}
END_TEST

START_TEST(a_record_at_45_sounds_35_per_cent_high)
{
    DwSynth *synth = synth_of("forty-five-by-mistake", NULL);
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

// 0.85 g is 8.336 mN; on 9 µm/mN it holds 75.0 µm, less outside by μ·tan φ (0.12 or so).
START_TEST(the_unset_cartridge_leans_and_lets_go_of_the_outer_wall)
{
    DwSynth *synth = synth_of("unset-cartridge", RECORD "[band 1]\nkind=steps\nchannel=lateral\nfrequency=315\n"
                                                        "level=50 60 70 80 90 um\nlength=5\nradius=100 mm\n");
    const DwRecordSideTruth *truth = dw_record_side_truth(dw_synth_side(synth));
    ck_assert_double_eq_tol(truth->rotation_deg, 1.6, 1e-9);
    ck_assert_double_eq_tol((truth->bands[0].held_um[0] + truth->bands[0].held_um[1]) / 2, 8.3357 * 9, 0.01);
    ck_assert_double_eq_tol(truth->bands[0].passed_um[0], 80, 1e-9);
    ck_assert_double_eq_tol(truth->bands[0].passed_um[1], 60, 1e-9);
    ck_assert_double_gt(fabs(truth->bands[0].tracking_error_deg), 0.5);
    dw_synth_free(synth);
}
END_TEST

DW_SUITE("demo", worn_belt_deck_is_what_its_comments_say, good_deck_is_good, a_record_at_45_sounds_35_per_cent_high,
         the_unset_cartridge_leans_and_lets_go_of_the_outer_wall)
