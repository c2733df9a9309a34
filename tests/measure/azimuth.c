// SPDX-License-Identifier: MIT
// The pickup's tilt, its sign and what is not tilt, against signals of known truth.
#include "measure/band/azimuth_bands.h"
#include "measure/band/channels.h"
#include "support/band_signal.h"
#include "support/sheet_checks.h"
#include "support/suite.h"

static const DwAzimuthSettings plain = {.left_first = true, .limit_deg = 2, .width_mm = 18, .crosstalk_db = NAN};

static DwSheet *read_set(DwBandSet *set, const DwAzimuthSettings *settings)
{
    DwSheet *sheet = dw_sheet_new("azimuth", "Azimuth");
    DwMessage message = {""};
    ck_assert_msg(dw_azimuth_bands_read(set, NULL, 0, settings, sheet, &message) == DW_OK, "%s", message.text);
    dw_band_set_free(set);
    check_sound(sheet);
    return sheet;
}

static DwSheet *record_of(const BandDeck *deck, double seconds)
{
    BandSignal signal = {0};
    band_play_record(&signal, deck, 0.25, seconds);
    DwBandSet *set = dw_channels_new_set(NAN);
    band_feed(set, &signal, deck->rate_hz, 2, 4096);
    band_clear(&signal);
    return read_set(set, &plain);
}

START_TEST(the_angle_comes_back)
{
    // The rotation is the truth; a leak in phase and a quarter turn late are
    // what it must not be mistaken for (3 % leaks cost it 0.002°).
    static const struct {
        double rate_hz, tone_hz, rotation, leak, quadrature, gain[2];
    } cases[] = {
        {48000, 1000, 2, 0, 0, {1.1, 0.93}},    {48000, 1000, -1, 0.03, 0, {1, 1.2}},
        {96000, 1000, 0.5, 0.02, 0.02, {1, 1}}, {96000, 315, 3, 0.01, 0, {0.9, 1}},
        {48000, 315, 0, 0.03, 0, {1, 1}},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        BandDeck deck = band_deck_real(cases[i].rate_hz);
        deck.tone_hz = cases[i].tone_hz;
        deck.rotation_deg = cases[i].rotation;
        deck.leak[0] = deck.leak[1] = cases[i].leak;
        deck.quadrature = cases[i].quadrature;
        memcpy(deck.gain, cases[i].gain, sizeof deck.gain);
        DwSheet *sheet = record_of(&deck, 6);
        ck_assert_double_eq_tol(value(sheet, "azimuth.rotation"), cases[i].rotation, 0.05);
        double leak = hypot(cases[i].leak, cases[i].quadrature);
        if (leak > 0) // what is left when the tilt is undone
            ck_assert_double_eq_tol(value(sheet, "azimuth.separation_possible"), -20 * log10(leak), 0.3);
        else
            ck_assert_double_gt(value(sheet, "azimuth.separation_possible"), 60);
        dw_sheet_free(sheet);
    }
}
END_TEST

START_TEST(which_way_to_turn)
{
    // Seen from the front, with the arm over the right of the platter, the
    // spindle is to the left. A top that leans to it must go right: clockwise.
    for (int way = -1; way <= 1; way += 2) {
        BandDeck deck = band_deck_real(48000);
        deck.rotation_deg = 1.2 * way;
        DwSheet *sheet = record_of(&deck, 4);
        ck_assert_double_eq_tol(value(sheet, "azimuth.rotation"), 1.2 * way, 0.05);
        ck_assert(remarks(sheet, way > 0 ? "headshell clockwise" : "headshell anticlockwise"));
        ck_assert(remarks(sheet, way > 0 ? "away from the spindle (right" : "towards the spindle (left"));
        ck_assert(remarks(sheet, way > 0 ? "its top goes outward, away" : "its top goes inward, towards"));
        ck_assert_double_eq_tol(value(sheet, "azimuth.shim"), 0.377, 0.02); // 18 tan 1.2°
        dw_sheet_free(sheet);
    }
}
END_TEST

START_TEST(wiring_faults_do_not_turn_the_sign)
{
    for (int fault = 0; fault < 3; fault++) {
        BandDeck deck = band_deck_real(48000);
        deck.rotation_deg = 1;
        deck.swapped = fault != 1;
        deck.reversed = fault != 0;
        DwSheet *sheet = record_of(&deck, 3);
        ck_assert_double_eq_tol(value(sheet, "azimuth.rotation"), 1, 0.05);
        dw_sheet_free(sheet);
    }
}
END_TEST

START_TEST(never_beyond_the_limit)
{
    BandDeck deck = band_deck_real(48000);
    deck.rotation_deg = 4;
    DwSheet *sheet = record_of(&deck, 3);
    ck_assert_double_eq_tol(value(sheet, "azimuth.rotation"), 4, 0.05);
    ck_assert(remarks(sheet, "by 2.00°"));
    ck_assert_uint_eq(sheet->caution_count, 1);
    ck_assert_double_eq_tol(value(sheet, "azimuth.shim"), 0.6286, 1e-3); // 18 tan 2°
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(what_tilt_does_not_mend)
{
    for (int coupled = 0; coupled < 2; coupled++) {
        BandDeck deck = band_deck_real(48000);
        deck.leak[0] = deck.leak[1] = coupled ? 0 : 0.1;
        deck.quadrature = coupled ? 0.1 : 0;
        deck.rotation_deg = 0.4;
        DwSheet *sheet = record_of(&deck, 3);
        ck_assert(remarks(sheet, "Tilt is not the cause"));
        ck_assert(remarks(sheet, coupled ? "out of phase" : "same sign"));
        ck_assert(says_not_measured(sheet, "azimuth.shim"));
        dw_sheet_free(sheet);
    }
}
END_TEST

START_TEST(lateral_and_vertical_agree)
{
    BandDeck deck = band_deck_real(48000);
    deck.rotation_deg = 1.5;
    deck.gain[0] = 1.05;
    BandSignal signal = {0};
    band_play_record(&signal, &deck, 0.25, 4);
    band_play(&signal, &deck, 0.25, -0.25, 4);
    DwBandSet *set = dw_channels_new_set(NAN);
    band_feed(set, &signal, 48000, 2, 4096);
    DwSheet *sheet = read_set(set, &plain);
    ck_assert_double_eq_tol(value(sheet, "azimuth.rotation"), 1.5, 0.05);
    ck_assert_double_eq_tol(value(sheet, "azimuth.rotation_balance"), 1.5, 0.05);
    dw_sheet_free(sheet);
    band_clear(&signal);
}
END_TEST

// Left and both, with or without the vertical band, of a pickup that leaks alike both ways.
static DwSheet *without_right(bool vertical, double rotation_deg, double leak)
{
    BandDeck deck = band_deck_real(48000);
    deck.rotation_deg = rotation_deg;
    deck.leak[0] = deck.leak[1] = leak;
    deck.gain[1] = 1.1;
    BandSignal signal = {0};
    band_play(&signal, &deck, 0.35, 0, 4);
    band_play(&signal, &deck, 0.25, 0.25, 4);
    if (vertical)
        band_play(&signal, &deck, 0.25, -0.25, 4);
    DwBandSet *set = dw_channels_new_set(NAN);
    band_feed(set, &signal, 48000, 2, 4096);
    DwSheet *sheet = read_set(set, &plain);
    band_clear(&signal);
    return sheet;
}

START_TEST(one_band_alone_does_not_tell_tilt_from_leak)
{
    for (int sign = -1; sign <= 1; sign += 2) {
        DwSheet *sheet = without_right(false, 0.2, 0.04 * sign);
        const DwReading *rotation = dw_sheet_reading(sheet, "azimuth.rotation");
        ck_assert_double_lt(fabs(rotation->value - 0.2), rotation->uncertainty);
        ck_assert(!remarks(sheet, "Turn the headshell") && says_not_measured(sheet, "azimuth.shim"));
        dw_sheet_free(sheet);
        sheet = without_right(true, 0.2, 0.04 * sign); // the levels of both tell it
        ck_assert_double_eq_tol(value(sheet, "azimuth.rotation"), 0.2, 0.05);
        ck_assert(!remarks(sheet, "Turn the headshell") && remarks(sheet, "levels of the lateral"));
        dw_sheet_free(sheet);
    }
}
END_TEST

// The sheet of recordings with the headshell turned to each of TILTS [COUNT], where 1.4° is right.
static DwSheet *with_tilts(const double *tilts, size_t count)
{
    // Turning the headshell clockwise by t takes t off the lean toward the spindle.
    DwAzimuthSettings settings = plain;
    settings.tilt_deg = tilts;
    settings.tilt_count = count;
    DwBandSet *set = dw_channels_new_set(NAN);
    for (size_t i = 0; i < count; i++) {
        BandDeck deck = band_deck_real(48000);
        deck.rotation_deg = 1.4 - tilts[i];
        deck.leak[0] = deck.leak[1] = 0.015;
        BandSignal signal = {0};
        band_play_record(&signal, &deck, 0.25, 3);
        band_feed(set, &signal, 48000, 2, 4096);
        band_clear(&signal);
    }
    return read_set(set, &settings);
}

START_TEST(several_tilts_find_the_best)
{
    // In whatever order they were tried; of the second row the first and the last are in the middle of all.
    static const double tilts[][4] = {{-1, 0.5, 1}, {0, -1, 1, 0}};
    static const size_t counts[] = {3, 4};
    for (size_t i = 0; i < 2; i++) {
        DwSheet *sheet = with_tilts(tilts[i], counts[i]);
        double last = tilts[i][counts[i] - 1];
        ck_assert_double_eq_tol(value(sheet, "azimuth.best_tilt"), 1.4, 0.05);
        ck_assert_double_eq_tol(value(sheet, "azimuth.rotation"), 1.4 - last, 0.05); // from where it stands last
        ck_assert_uint_eq(dw_sheet_table(sheet, "azimuth.sets")->row_count, counts[i]);
        dw_sheet_free(sheet);
    }
}
END_TEST

START_TEST(what_is_missing_is_listed)
{
    BandDeck deck = band_deck_real(48000);
    deck.rotation_deg = 1;
    BandSignal signal = {0};
    band_gap(&signal, &deck, 0.5);
    band_play(&signal, &deck, 0.25, 0, 3);
    for (int mono = 0; mono < 2; mono++) {
        DwBandSet *set = dw_channels_new_set(NAN);
        band_feed(set, &signal, 48000, mono ? 1 : 2, 4096);
        DwSheet *sheet = read_set(set, &plain);
        ck_assert(says_not_measured(sheet, "azimuth.separation_possible"));
        if (!mono) {
            ck_assert_double_eq_tol(value(sheet, "azimuth.rotation"), 1, 0.05);
            ck_assert(dw_sheet_reading(sheet, "azimuth.rotation")->flags & DW_FLAG_APPROXIMATE);
        }
        dw_sheet_free(sheet);
    }
    band_clear(&signal);
}
END_TEST

DW_SUITE("measure azimuth", the_angle_comes_back, which_way_to_turn, wiring_faults_do_not_turn_the_sign,
         never_beyond_the_limit, what_tilt_does_not_mend, lateral_and_vertical_agree,
         one_band_alone_does_not_tell_tilt_from_leak, several_tilts_find_the_best, what_is_missing_is_listed)
