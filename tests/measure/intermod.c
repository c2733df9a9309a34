// SPDX-License-Identifier: MIT
// Intermodulation against a high tone that is modulated by known amounts.
#include "measure/band/intermod.h"
#include "measure/band/intermod_difference.h"
#include "support/band_signal.h"
#include "support/sheet_checks.h"
#include "support/suite.h"
#include "support/two_tone.h"

static DwSheet *sheet_of(const BandSignal *signal, double rate_hz, unsigned channels)
{
    DwBandSet *set = dw_intermod_new_set(NAN, NAN);
    band_feed(set, signal, rate_hz, channels, 4096);
    DwSheet *sheet = dw_sheet_new("intermod", "Intermodulation");
    DwMessage message = {""};
    ck_assert_msg(dw_intermod_read(set, sheet, &message) == DW_OK, "%s", message.text);
    dw_band_set_free(set);
    check_sound(sheet);
    return sheet;
}

// Level modulation by m gives two side tones of m/2 each, pitch modulation by a
// small β two of β/2: together they read m and β.
START_TEST(products_come_back)
{
    for (int i = 0; i < 4; i++) {
        BandDeck deck = band_deck_real(i % 2 ? 96000 : 48000);
        TwoTone tone = {.low_hz = i < 2 ? 400 : 60, .vertical = i < 2 ? 1 : -1, .level = {0.01, 0}, .pitch = {0, 0.03}};
        BandSignal signal = {0};
        band_gap(&signal, &deck, 0.5);
        two_tone_play(&signal, &deck, &tone, 4);
        band_gap(&signal, &deck, 0.5);
        DwSheet *sheet = sheet_of(&signal, deck.rate_hz, 2);
        ck_assert_double_eq_tol(value(sheet, "intermod.left"), 1, 0.05);
        ck_assert_double_eq_tol(value(sheet, "intermod.right"), 3, 0.1);
        const DwTable *table = dw_sheet_table(sheet, "intermod.bands");
        ck_assert_str_eq(dw_table_cell(table, 0, 0)->word, i < 2 ? "in phase" : "in opposite phase");
        ck_assert_double_eq_tol(dw_table_cell(table, 0, 6)->number, 1, 0.05); // left is in level
        ck_assert_double_lt(dw_table_cell(table, 0, 7)->number, 0.2);
        ck_assert_double_lt(dw_table_cell(table, 0, 10)->number, 0.2);
        ck_assert_double_eq_tol(dw_table_cell(table, 0, 11)->number, 3, 0.1); // right is in pitch
        dw_sheet_free(sheet);
        band_clear(&signal);
    }
}
END_TEST

START_TEST(two_bands_in_one_recording)
{
    BandDeck deck = band_deck_real(48000);
    TwoTone first = {.low_hz = 60, .vertical = -1, .level = {0.02, 0.02}};
    TwoTone second = {.low_hz = 400, .vertical = 1, .level = {0.005, 0.015}};
    BandSignal signal = {0};
    two_tone_play(&signal, &deck, &first, 3);
    two_tone_play(&signal, &deck, &second, 3); // no gap between
    DwSheet *sheet = sheet_of(&signal, 48000, 2);
    ck_assert_uint_eq(dw_sheet_table(sheet, "intermod.bands")->row_count, 2);
    ck_assert_double_eq_tol(value(sheet, "intermod.left"), 0.5, 0.05); // of 400 Hz
    ck_assert_double_eq_tol(value(sheet, "intermod.right"), 1.5, 0.05);
    dw_sheet_free(sheet);
    sheet = sheet_of(&signal, 48000, 1);
    ck_assert_double_eq_tol(value(sheet, "intermod.mono"), 0.5, 0.05);
    ck_assert(says_not_measured(sheet, "intermod.left"));
    dw_sheet_free(sheet);
    band_clear(&signal);
}
END_TEST

START_TEST(a_clean_record_reads_its_noise)
{
    BandDeck deck = band_deck_real(48000);
    TwoTone clean = {.low_hz = 400, .vertical = 1};
    BandSignal signal = {0};
    two_tone_play(&signal, &deck, &clean, 4);
    DwSheet *sheet = sheet_of(&signal, 48000, 2);
    ck_assert_double_lt(value(sheet, "intermod.left"), 0.1);
    ck_assert(dw_sheet_reading(sheet, "intermod.left")->flags & DW_FLAG_NOISY);
    dw_sheet_free(sheet);
    band_clear(&signal);
}
END_TEST

// Two tones of A each through y = x + a·x² + b·x³: A²·a at their difference, ¾·A³·b beside them (the binomial's terms).
START_TEST(difference_tones_come_back)
{
    static const struct {
        double low_hz, high_hz, second, third;
    } cases[] = {{3000, 3080, 0.2, 0.3}, {4000, 5950, 0.1, 0}, {5000, 6000, 0, 0.5}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        BandDeck deck = band_deck_real(i == 1 ? 96000 : 48000);
        BandSignal signal = {0};
        for (size_t n = 0; n < (size_t)(4 * deck.rate_hz); n++) {
            double time = (double)signal.frames / deck.rate_hz, out[2];
            double x =
                0.15 * (sin(band_angle(&deck, cases[i].low_hz, time)) + sin(band_angle(&deck, cases[i].high_hz, time)));
            out[0] = x + cases[i].second * x * x + cases[i].third * x * x * x;
            out[1] = x;
            band_append(&signal, &deck, out, time);
        }
        ck_assert(dw_intermod_difference_fits(cases[i].low_hz, cases[i].high_hz));
        DwBandSet *set = dw_intermod_difference_new_set(cases[i].low_hz, cases[i].high_hz);
        band_feed(set, &signal, deck.rate_hz, 2, 4096);
        DwSheet *sheet = dw_sheet_new("intermod", "Intermodulation");
        DwMessage message = {""};
        ck_assert_msg(dw_intermod_difference_read(set, sheet, &message) == DW_OK, "%s", message.text);
        double sum = 2 * 0.15 * (1 + 2.25 * cases[i].third * 0.15 * 0.15);
        double second = 100 * cases[i].second * 0.15 * 0.15 / sum,
               beside = 100 * 0.75 * cases[i].third * pow(0.15, 3) / sum;
        ck_assert_double_eq_tol(value(sheet, "intermod.difference_second_left"), second, 0.03);
        ck_assert_double_eq_tol(value(sheet, "intermod.difference_third_left"), 2 * beside, 0.03);
        ck_assert_double_eq_tol(value(sheet, "intermod.difference_total_left"), hypot(second, beside), 0.03);
        ck_assert_double_lt(value(sheet, "intermod.difference_total_right"), 0.05);
        dw_sheet_free(sheet);
        dw_band_set_free(set);
        band_clear(&signal);
    }
    ck_assert(!dw_intermod_difference_fits(400, 4000) && !dw_intermod_difference_fits(3000, 3020) &&
              !dw_intermod_difference_fits(NAN, NAN));
}
END_TEST

START_TEST(one_tone_is_not_two)
{
    BandDeck deck = band_deck_real(48000);
    BandSignal signal = {0};
    deck.tone_hz = 4000;
    band_play(&signal, &deck, 0.2, 0.2, 4);
    DwBandSet *set = dw_intermod_new_set(NAN, NAN);
    band_feed(set, &signal, 48000, 2, 4096);
    DwSheet *sheet = dw_sheet_new("intermod", "Intermodulation");
    DwMessage message = {""};
    ck_assert_int_eq(dw_intermod_read(set, sheet, &message), DW_BAD_INPUT);
    ck_assert(strstr(message.text, "two-tone band"));
    dw_sheet_free(sheet);
    dw_band_set_free(set);
    band_clear(&signal);
}
END_TEST

DW_SUITE("measure intermod", difference_tones_come_back, products_come_back, two_bands_in_one_recording,
         a_clean_record_reads_its_noise, one_tone_is_not_two)
