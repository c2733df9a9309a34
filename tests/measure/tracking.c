// SPDX-License-Identifier: MIT
// The highest step tracked, against channels whose tops are squeezed at a known level.
#include "measure/band/tracking.h"
#include "support/band_signal.h"
#include "support/sheet_checks.h"
#include "support/suite.h"

enum { STEPS = 5 };
static const double microns[STEPS] = {50, 60, 70, 80, 90};
static const double FULL = 0.005; // full scale a micron

static BandDeck deck_of(double rate_hz)
{
    BandDeck deck = band_deck_real(rate_hz);
    deck.tone_hz = 300;
    deck.third = 0.01;
    deck.leak[0] = deck.leak[1] = 0.02;
    return deck;
}

// Distortion of one channel at LEVEL: a naive sum over one period of the wave.
static double true_distortion(const BandDeck *deck, size_t channel, double level)
{
    enum { POINTS = 4096 };
    double complex harmonic[6] = {0}, size[2];
    band_matrix(deck, (const double[2]){level, level}, size);
    for (size_t n = 0; n < POINTS; n++) {
        double angle = 2 * M_PI * (double)n / POINTS;
        double wave = band_wave(deck, channel, cabs(size[channel]), carg(size[channel]), angle);
        for (size_t h = 1; h < 6; h++)
            harmonic[h] += wave * cexp(-I * (double)h * angle);
    }
    double sum = 0;
    for (size_t h = 2; h < 6; h++)
        sum += pow(cabs(harmonic[h]) / cabs(harmonic[1]), 2);
    return sqrt(sum);
}

static double true_passed(const BandDeck *deck, size_t channel, double limit)
{
    double passed = NAN;
    for (size_t i = 0; i < STEPS && true_distortion(deck, channel, FULL * microns[i]) <= limit; i++)
        passed = microns[i];
    return passed;
}

static void play_steps(BandSignal *signal, const BandDeck *deck, double gap_s, DwTrackingStep *steps)
{
    band_gap(signal, deck, 0.5);
    for (size_t i = 0; i < STEPS; i++) {
        steps[i] = (DwTrackingStep){
            .level = microns[i],
            .start_s = band_play(signal, deck, FULL * microns[i], FULL * microns[i], 2.5),
        };
        band_gap(signal, deck, gap_s);
    }
    band_gap(signal, deck, 0.5);
}

static DwSheet *read_set(DwBandSet *set, const DwTrackingSettings *settings)
{
    DwSheet *sheet = dw_sheet_new("tracking", "Tracking");
    DwMessage message = {""};
    ck_assert_msg(dw_tracking_read(set, settings, sheet, &message) == DW_OK, "%s", message.text);
    dw_band_set_free(set);
    check_sound(sheet);
    return sheet;
}

static const DwTrackingSettings by_level = {
    .levels = microns, .level_count = STEPS, .limit_percent = 5, .force_g = NAN, .force_high_g = NAN};

static DwSheet *sheet_of(const BandSignal *signal, double rate_hz, unsigned channels,
                         const DwTrackingSettings *settings)
{
    DwBandSet *set = dw_tracking_new_set(NAN, settings->step_count > 0);
    band_feed(set, signal, rate_hz, channels, 4096);
    return read_set(set, settings);
}

START_TEST(the_step_is_exact)
{
    // Limits in microns left and right; 0 is none. What to expect is worked
    // out above from the wave itself.
    static const struct {
        double limit[2];
        const char *words;
    } cases[] = {
        {{0, 0}, "Every step found is passed"}, {{0, 62}, "raise the anti-skating"},
        {{66, 0}, "lower the anti-skating"},    {{64, 64}, "Both channels distort together"},
        {{72, 48}, "raise the anti-skating"},
    };
    for (size_t i = 0; i < 2 * sizeof cases / sizeof *cases; i++) {
        double rate_hz = i % 2 ? 96000 : 48000;
        BandDeck deck = deck_of(rate_hz);
        for (size_t c = 0; c < 2; c++)
            deck.limit[c] = FULL * cases[i / 2].limit[c];
        BandSignal signal = {0};
        DwTrackingStep steps[STEPS];
        play_steps(&signal, &deck, i % 2 ? 0.6 : 0, steps); // with gaps and without
        DwTrackingSettings timed = by_level;
        timed.level_count = 0;
        timed.steps = steps;
        timed.step_count = STEPS;
        const DwTrackingSettings *ways[2] = {&by_level, &timed};
        for (size_t w = 0; w < 2; w++) {
            DwSheet *sheet = sheet_of(&signal, rate_hz, 2, ways[w]);
            ck_assert_double_eq(value(sheet, "tracking.passed_left"), true_passed(&deck, 0, 0.05));
            ck_assert_double_eq(value(sheet, "tracking.passed_right"), true_passed(&deck, 1, 0.05));
            ck_assert_msg(remarks(sheet, cases[i / 2].words), "case %zu", i);
            ck_assert(!says_not_measured(sheet, "tracking.asymmetry") ==
                      (i / 2 > 0)); // nothing fails, nothing is uneven
            const DwTable *table = dw_sheet_table(sheet, "tracking.steps");
            for (size_t row = 0; row < STEPS; row++)
                for (size_t c = 0; c < 2; c++) {
                    double truth = 100 * true_distortion(&deck, c, FULL * microns[row]);
                    ck_assert_double_eq_tol(dw_table_cell(table, row, 4 + c)->number, truth, 0.05 + 0.02 * truth);
                }
            dw_sheet_free(sheet);
        }
        band_clear(&signal);
    }
}
END_TEST

START_TEST(asymmetry_has_a_sign)
{
    BandDeck deck = deck_of(48000);
    deck.limit[1] = FULL * 62;
    BandSignal signal = {0};
    DwTrackingStep steps[STEPS];
    play_steps(&signal, &deck, 0.5, steps);
    DwSheet *sheet = sheet_of(&signal, 48000, 2, &by_level);
    size_t onset = 0;
    while (true_distortion(&deck, 1, FULL * microns[onset]) <= 0.05)
        onset++;
    double left = true_distortion(&deck, 0, FULL * microns[onset]),
           right = true_distortion(&deck, 1, FULL * microns[onset]);
    ck_assert_double_eq_tol(value(sheet, "tracking.asymmetry"), 100 * (right - left) / (right + left), 2);
    dw_sheet_free(sheet);
    band_clear(&signal);
}
END_TEST

START_TEST(radii_tell_alignment_from_force)
{
    static const double radii[2] = {140, 65};
    for (int inner_only = 0; inner_only < 2; inner_only++) {
        DwBandSet *set = dw_tracking_new_set(NAN, false);
        for (int r = 0; r < 2; r++) {
            BandDeck deck = deck_of(48000);
            if (!inner_only || r == 1)
                deck.limit[0] = deck.limit[1] = FULL * 62;
            BandSignal signal = {0};
            DwTrackingStep steps[STEPS];
            play_steps(&signal, &deck, 0.4, steps);
            band_feed(set, &signal, 48000, 2, 4096);
            band_clear(&signal);
        }
        DwTrackingSettings settings = by_level;
        settings.radius_mm = radii;
        settings.radius_count = 2;
        settings.force_g = 1.5;
        settings.force_high_g = inner_only ? 2 : 1.6;
        DwSheet *sheet = read_set(set, &settings);
        ck_assert_str_eq(dw_sheet_reading(sheet, "tracking.radii")->word, inner_only ? "worse inside" : "even");
        ck_assert(remarks(sheet, inner_only ? "alignment and tip" : "not alignment or tip"));
        ck_assert(remarks(sheet, inner_only ? "from 1.50 to 1.75 g" : "leaves no room"));
        dw_sheet_free(sheet);
    }
}
END_TEST

START_TEST(steps_missing_and_out_of_order)
{
    // 80, 50 and 70 µm only, in that order: loudness says which is which.
    BandDeck deck = deck_of(48000);
    deck.limit[1] = FULL * 60;
    ck_assert_double_gt(true_distortion(&deck, 1, FULL * 80), 0.05);
    static const double played[] = {80, 50, 70};
    BandSignal signal = {0};
    for (size_t i = 0; i < 3; i++) {
        band_gap(&signal, &deck, 0.5);
        band_play(&signal, &deck, FULL * played[i], FULL * played[i], 2.5);
    }
    DwSheet *sheet = sheet_of(&signal, 48000, 2, &by_level);
    ck_assert_double_eq(value(sheet, "tracking.passed_left"), 80);
    ck_assert_double_eq(value(sheet, "tracking.passed_right"), true_passed(&deck, 1, 0.05));
    ck_assert(dw_sheet_reading(sheet, "tracking.passed_left")->flags & DW_FLAG_APPROXIMATE);
    ck_assert_uint_ge(sheet->not_measured_count, 2); // 60 and 90 µm
    dw_sheet_free(sheet);
    // One channel, no levels stated: decibels above the quietest.
    DwTrackingSettings bare = by_level;
    bare.level_count = 0;
    sheet = sheet_of(&signal, 48000, 1, &bare);
    ck_assert_double_eq_tol(value(sheet, "tracking.passed_mono"), 4.08, 0.05); // 20 log 80/50
    ck_assert(says_not_measured(sheet, "tracking.passed_right"));
    dw_sheet_free(sheet);
    band_clear(&signal);
}
END_TEST

DW_SUITE("measure tracking", the_step_is_exact, asymmetry_has_a_sign, radii_tell_alignment_from_force,
         steps_missing_and_out_of_order)
