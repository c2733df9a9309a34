// SPDX-License-Identifier: MIT
// Balance, separation, polarity and wiring faults against signals of known truth.
#include "measure/band/channels.h"
#include "measure/band/channel_breaks.h"
#include "support/band_signal.h"
#include "support/sheet_checks.h"
#include "support/suite.h"

static const DwChannelsSettings plain = {true, NAN, NAN, NAN, .crosstalk_db = NAN};

static DwSheet *read_as(const BandSignal *signal, double rate_hz, unsigned channels, size_t block,
                        const DwNamedBand *named, size_t named_count, const DwChannelsSettings *settings)
{
    DwBandSet *set = dw_channels_new_set(NAN);
    band_feed(set, signal, rate_hz, channels, block);
    DwSheet *sheet = dw_sheet_new("channels", "Channels");
    DwMessage message = {""};
    ck_assert_msg(dw_channels_read(set, named, named_count, settings, sheet, &message) == DW_OK, "%s", message.text);
    dw_band_set_free(set);
    check_sound(sheet);
    return sheet;
}

static DwSheet *record_of(const BandDeck *deck, double seconds)
{
    BandSignal signal = {0};
    band_play_record(&signal, deck, 0.25, seconds);
    DwSheet *sheet = read_as(&signal, deck->rate_hz, 2, 4096, NULL, 0, &plain);
    band_clear(&signal);
    return sheet;
}

// What a deck's matrix truly is.
typedef struct {
    double balance_db, left_db, right_db; // separations
} Truth;

static Truth truth_of(const BandDeck *deck)
{
    double complex left[2], right[2];
    band_matrix(deck, (const double[2]){1, 0}, left);
    band_matrix(deck, (const double[2]){0, 1}, right);
    return (Truth){20 * log10(cabs(right[1]) / cabs(left[0])), 20 * log10(cabs(right[1]) / cabs(left[1])),
                   20 * log10(cabs(left[0]) / cabs(right[0]))};
}

static void check_truth(const BandDeck *deck, double seconds)
{
    Truth truth = truth_of(deck);
    DwSheet *sheet = record_of(deck, seconds);
    ck_assert_double_eq_tol(value(sheet, "channels.balance"), truth.balance_db, 0.02);
    ck_assert_double_eq_tol(value(sheet, "channels.separation_left"), truth.left_db, 0.2);
    ck_assert_double_eq_tol(value(sheet, "channels.separation_right"), truth.right_db, 0.2);
    ck_assert_double_gt(value(sheet, "channels.floor"), 60);
    ck_assert_str_eq(dw_sheet_reading(sheet, "channels.polarity")->word, "in phase");
    ck_assert_str_eq(dw_sheet_reading(sheet, "channels.fault")->word, "none");
    dw_sheet_free(sheet);
}

START_TEST(balance_and_separation_come_back)
{
    static const struct {
        double rate_hz, tone_hz, rotation, leak[2], quadrature, gain[2];
    } cases[] = {
        {48000, 1000, 0, {0.01, 0.01}, 0, {1, 1}},         // 40 dB both ways
        {48000, 1000, 1.5, {0.02, 0.01}, 0.01, {1, 0.89}}, // unequal both ways
        {96000, 1000, -2, {0.005, 0.03}, 0.02, {0.8, 1.1}}, {96000, 315, 0.5, {0.015, 0.012}, 0, {1, 1.02}},
        {44100, 1000, 3, {0.02, 0.02}, 0, {1.1, 0.93}},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        BandDeck deck = band_deck_real(cases[i].rate_hz);
        deck.tone_hz = cases[i].tone_hz;
        deck.rotation_deg = cases[i].rotation;
        deck.quadrature = cases[i].quadrature;
        memcpy(deck.leak, cases[i].leak, sizeof deck.leak);
        memcpy(deck.gain, cases[i].gain, sizeof deck.gain);
        check_truth(&deck, 6);
    }
}
END_TEST

START_TEST(strong_wow_and_a_wrong_speed_change_nothing)
{
    BandDeck deck = band_deck_real(48000);
    deck.leak[0] = deck.leak[1] = 0.01;
    deck.wow = 0.01;
    deck.speed = 1.35; // 45 for 33⅓
    check_truth(&deck, 6);
    deck.speed = 0.94;
    check_truth(&deck, 6);
}
END_TEST

START_TEST(ticks_change_nothing)
{
    BandDeck deck = band_deck_real(48000);
    deck.leak[0] = deck.leak[1] = 0.01;
    deck.ticks = 1; // twice the tone
    check_truth(&deck, 8);
}
END_TEST

START_TEST(a_pure_pickup_reads_its_noise_floor)
{
    BandDeck deck = band_deck(48000);
    deck.noise = 0.002;
    DwSheet *sheet = record_of(&deck, 5);
    const DwReading *left = dw_sheet_reading(sheet, "channels.separation_left");
    double floor_db = value(sheet, "channels.floor");
    ck_assert(strstr(left->label, "at least") && !left->flags);
    // Noise of 0.002 in a tone of 0.25, in the bandwidth of five seconds:
    // 20 log(0.25/0.002) + 10 log(12000 Hz · 5 s) less 95 % and window losses.
    ck_assert_double_eq_tol(floor_db, 41.9 + 47.8 - 8, 6);
    ck_assert_double_gt(left->value, floor_db - 8);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(harmonics_in_step_with_the_tone)
{
    for (int i = 0; i < 2; i++) {
        BandDeck deck = band_deck_real(i ? 96000 : 48000);
        deck.second = 0.012;
        deck.third = 0.005;
        deck.wow = 0.005;
        DwSheet *sheet = record_of(&deck, 5);
        ck_assert_double_eq_tol(value(sheet, "channels.distortion_left"), 1.3, 0.03); // √(1.2² + 0.5²)
        ck_assert_double_eq_tol(value(sheet, "channels.distortion_right"), 1.3, 0.03);
        ck_assert_double_eq_tol(value(sheet, "channels.level_left"), 20 * log10(0.25), 0.02);
        dw_sheet_free(sheet);
    }
}
END_TEST

START_TEST(wiring_faults_have_names)
{
    static const struct {
        const char *name;
        bool swapped, reversed, strapped, dead[2];
        double polarity; // NAN: not measured
    } cases[] = {
        {"none", .polarity = 1},
        {"swapped", .swapped = true, .polarity = 1},
        {"reversed", .reversed = true, .polarity = -1},
        {"swapped and reversed", .swapped = true, .reversed = true, .polarity = -1},
        {"strapped", .strapped = true, .polarity = NAN},
        {"left dead", .dead = {true, false}, .polarity = NAN},
        {"right dead", .dead = {false, true}, .polarity = NAN},
    };
    for (size_t k = 0; k < sizeof cases / sizeof *cases; k++) {
        BandDeck deck = band_deck_real(k % 2 ? 96000 : 48000);
        deck.leak[0] = deck.leak[1] = 0.03;
        deck.rotation_deg = 1;
        deck.swapped = cases[k].swapped;
        deck.reversed = cases[k].reversed;
        deck.strapped = cases[k].strapped;
        memcpy(deck.dead, cases[k].dead, sizeof deck.dead);
        DwSheet *sheet = record_of(&deck, 2.5);
        ck_assert_str_eq(dw_sheet_reading(sheet, "channels.fault")->word, cases[k].name);
        if (isnan(cases[k].polarity))
            ck_assert(says_not_measured(sheet, "channels.polarity"));
        else
            ck_assert_str_eq(dw_sheet_reading(sheet, "channels.polarity")->word,
                             cases[k].polarity > 0 ? "in phase" : "in opposite phase");
        if (deck.swapped || deck.reversed) // read as if it were put right
            ck_assert_double_eq_tol(value(sheet, "channels.separation_left"), truth_of(&deck).left_db, 0.2);
        dw_sheet_free(sheet);
    }
}
END_TEST

START_TEST(lateral_bands_alone_are_no_fault)
{
    BandDeck deck = band_deck_real(48000);
    BandSignal signal = {0};
    for (int i = 0; i < 3; i++) {
        band_gap(&signal, &deck, 0.5);
        band_play(&signal, &deck, 0.25, 0.25, 2.5);
    }
    DwSheet *sheet = read_as(&signal, 48000, 2, 4096, NULL, 0, &plain);
    ck_assert(says_not_measured(sheet, "channels.fault") && says_not_measured(sheet, "channels.separation_left"));
    ck_assert_str_eq(dw_sheet_reading(sheet, "channels.polarity")->word, "in phase");
    dw_sheet_free(sheet);
    // Named as the one-sided bands, the same is a strapped pickup.
    const DwNamedBand named[] = {{DW_BAND_LEFT, 0, 0.5, 3}, {DW_BAND_RIGHT, 0, 3.5, 6}};
    sheet = read_as(&signal, 48000, 2, 4096, named, 2, &plain);
    ck_assert_str_eq(dw_sheet_reading(sheet, "channels.fault")->word, "strapped");
    dw_sheet_free(sheet);
    band_clear(&signal);
}
END_TEST

START_TEST(named_bands_in_any_order)
{
    BandDeck deck = band_deck_real(48000);
    deck.leak[0] = 0.02;
    BandSignal signal = {0};
    band_gap(&signal, &deck, 0.5);
    double both = band_play(&signal, &deck, 0.25, 0.25, 3);
    band_gap(&signal, &deck, 0.5);
    double right = band_play(&signal, &deck, 0, 0.25, 3);
    band_gap(&signal, &deck, 0.5);
    double left = band_play(&signal, &deck, 0.25, 0, 3);
    band_gap(&signal, &deck, 3);
    const DwNamedBand named[] = {{DW_BAND_LEFT, 0, left, left + 3},
                                 {DW_BAND_RIGHT, 0, right, right + 3},
                                 {DW_BAND_LATERAL, 0, both, both + 3},
                                 {DW_BAND_VERTICAL, 0, left + 3.5, left + 6}}; // nothing there
    DwSheet *sheet = read_as(&signal, 48000, 2, 4096, named, 4, &plain);
    ck_assert_str_eq(dw_sheet_reading(sheet, "channels.fault")->word, "none");
    ck_assert_double_eq_tol(value(sheet, "channels.separation_left"), truth_of(&deck).left_db, 0.2);
    dw_sheet_free(sheet);
    // Without names the order of the record decides, and can be given.
    sheet = read_as(&signal, 48000, 2, 4096, NULL, 0, &plain);
    ck_assert_str_eq(dw_sheet_reading(sheet, "channels.fault")->word, "swapped");
    ck_assert(remarks(sheet, "channels.order"));
    dw_sheet_free(sheet);
    DwChannelsSettings right_first = plain;
    right_first.left_first = false;
    sheet = read_as(&signal, 48000, 2, 4096, NULL, 0, &right_first);
    ck_assert_str_eq(dw_sheet_reading(sheet, "channels.fault")->word, "none");
    dw_sheet_free(sheet);
    band_clear(&signal);
}
END_TEST

START_TEST(what_is_missing_is_listed)
{
    BandDeck deck = band_deck_real(48000);
    deck.leak[0] = 0.02;
    BandSignal signal = {0};
    band_gap(&signal, &deck, 0.5);
    band_play(&signal, &deck, 0.25, 0, 3);
    band_gap(&signal, &deck, 0.5);
    band_play(&signal, &deck, 0.25, 0.25, 3);
    DwSheet *sheet = read_as(&signal, 48000, 2, 4096, NULL, 0, &plain);
    ck_assert(says_not_measured(sheet, "channels.separation_right"));
    ck_assert(says_not_measured(sheet, "channels.fault"));
    ck_assert_str_eq(dw_sheet_reading(sheet, "channels.polarity")->word, "in phase");
    ck_assert(dw_sheet_reading(sheet, "channels.balance")->flags & DW_FLAG_APPROXIMATE);
    ck_assert_double_eq_tol(value(sheet, "channels.separation_left"), 33.98, 0.4);
    dw_sheet_free(sheet);
    // A file of one channel.
    sheet = read_as(&signal, 48000, 1, 4096, NULL, 0, &plain);
    ck_assert(says_not_measured(sheet, "channels.balance") && says_not_measured(sheet, "channels.fault"));
    ck_assert_double_eq_tol(value(sheet, "channels.level_mono"), 20 * log10(0.25), 0.03);
    dw_sheet_free(sheet);
    band_clear(&signal);
    // Half a band, cut off before it ends, is still read.
    band_play_record(&signal, &deck, 0.25, 4);
    signal.frames -= (size_t)(3 * 48000); // 1 s gap and half of the last band
    sheet = read_as(&signal, 48000, 2, 4096, NULL, 0, &plain);
    ck_assert_str_eq(dw_sheet_reading(sheet, "channels.fault")->word, "none");
    dw_sheet_free(sheet);
    band_clear(&signal);
}
END_TEST

START_TEST(noise_and_bad_samples_are_refused)
{
    BandDeck deck = band_deck_real(48000);
    BandSignal signal = {0};
    band_gap(&signal, &deck, 4);
    for (int i = 0; i < 2; i++) {
        if (i == 1)
            signal.samples[100000] = NAN;
        DwBandSet *set = dw_channels_new_set(NAN);
        band_feed(set, &signal, 48000, 2, 4096);
        DwSheet *sheet = dw_sheet_new("channels", "Channels");
        DwMessage message = {""};
        ck_assert_int_eq(dw_channels_read(set, NULL, 0, &plain, sheet, &message), DW_BAD_INPUT);
        ck_assert_msg(strstr(message.text, i ? "not a number" : "No steady tone"), "%s", message.text);
        dw_sheet_free(sheet);
        dw_band_set_free(set);
    }
    band_clear(&signal);
}
END_TEST

START_TEST(block_size_changes_nothing)
{
    BandDeck deck = band_deck_real(48000);
    deck.leak[1] = 0.02;
    BandSignal signal = {0};
    band_play_record(&signal, &deck, 0.25, 2.5);
    static const size_t blocks[] = {4096, 1, 777, 100000};
    double first = NAN;
    for (size_t i = 0; i < 4; i++) {
        DwSheet *sheet = read_as(&signal, 48000, 2, blocks[i], NULL, 0, &plain);
        double right = value(sheet, "channels.separation_right");
        if (i == 0)
            first = right;
        ck_assert_double_eq(right, first);
        dw_sheet_free(sheet);
    }
    band_clear(&signal);
}
END_TEST

START_TEST(sensitivity_from_the_stated_velocity)
{
    // 3.54 cm/s peak is 2.503 rms; full scale at 20 mV rms and a tone of 0.25
    // are 5 mV: 1.997 mV/(cm/s), at 5 cm/s rms twice a sheet's 5 mV.
    BandDeck deck = band_deck_real(48000);
    BandSignal signal = {0};
    band_play_record(&signal, &deck, 0.25, 3);
    DwChannelsSettings stated = {true, 3.54, 20, 5, .crosstalk_db = NAN};
    DwSheet *sheet = read_as(&signal, 48000, 2, 4096, NULL, 0, &stated);
    ck_assert_double_eq_tol(value(sheet, "channels.sensitivity_left"), 1.9975, 0.01);
    ck_assert_double_eq_tol(value(sheet, "channels.output_right"), 6.01, 0.05);
    dw_sheet_free(sheet);
    band_clear(&signal);
}
END_TEST

// Sixteen bits make a quiet wave flat at its top, and a low one too: that is no clipping. A squeezed top is.
START_TEST(a_quiet_wave_in_sixteen_bits_is_not_clipped)
{
    static const struct {
        double rate_hz, tone_hz, level, limit;
    } cases[] = {{96000, 315, 0.002, 0}, {96000, 315, 0.02, 0},    {192000, 315, 0.2, 0},   {48000, 315, 0.004, 0},
                 {48000, 1000, 0.25, 0}, {96000, 315, 0.25, 0.22}, {48000, 1000, 0.25, 0.2}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        BandDeck deck = band_deck(cases[i].rate_hz);
        deck.tone_hz = cases[i].tone_hz;
        BandSignal signal = {0};
        band_play_record(&signal, &deck, cases[i].level, 3);
        for (size_t n = 0; n < 2 * signal.frames; n++) {
            float sample = signal.samples[n], most = cases[i].limit > 0 ? (float)cases[i].limit : 1;
            sample = sample > most ? most : sample < -most ? -most : sample;
            signal.samples[n] = roundf(sample * 32768) / 32768;
        }
        DwSheet *sheet = read_as(&signal, deck.rate_hz, 2, 4096, NULL, 0, &plain);
        const DwReading *level = dw_sheet_reading(sheet, "channels.level_left");
        ck_assert_msg(level && !(level->flags & DW_FLAG_CLIPPED) == !(cases[i].limit > 0), "case %zu", i);
        dw_sheet_free(sheet);
        band_clear(&signal);
    }
}
END_TEST

// A burst of a few milliseconds once a turn, alike in both channels and far over the quiet one.
static void scratch(BandSignal *signal, double rate_hz)
{
    for (double at = 0.4; at * rate_hz < (double)signal->frames - 1000; at += 1.8)
        for (size_t n = 0; n < 1000; n++) {
            float burst = (float)(0.8 * exp(-(double)n / 300) * sin(2 * M_PI * 1000 * (double)n / rate_hz));
            signal->samples[2 * ((size_t)(at * rate_hz) + n)] += burst;
            signal->samples[2 * ((size_t)(at * rate_hz) + n) + 1] += burst;
        }
}

START_TEST(a_scratch_is_no_loose_lead)
{
    BandDeck deck = band_deck_real(48000);
    deck.leak[0] = deck.leak[1] = 0.05;
    BandSignal signal = {0};
    band_play_record(&signal, &deck, 0.1, 15);
    scratch(&signal, 48000);
    DwSheet *sheet = read_as(&signal, 48000, 2, 4096, NULL, 0, &plain);
    ck_assert_str_eq(dw_sheet_reading(sheet, "channels.fault")->word, "none");
    dw_sheet_free(sheet);
    band_clear(&signal);
}
END_TEST

START_TEST(what_rises_for_a_moment_is_no_channel_that_returns)
{
    DwChannelBreaks ticks, gaps;
    dw_channel_breaks_forget(&ticks);
    dw_channel_breaks_forget(&gaps);
    ticks.returns = gaps.returns = 0;
    for (size_t n = 0; n < 100; n++) {
        dw_channel_breaks_push(&ticks, n % 10 < 2 ? -25 : -46, -20); // a burst in two moments that overlap
        dw_channel_breaks_push(&gaps, n % 10 < 2 ? -46 : -21, -20);
    }
    ck_assert_uint_eq(ticks.returns, 0);
    ck_assert_uint_eq(gaps.returns, 9);
}
END_TEST

START_TEST(balance_by_the_lateral_band_holds_the_leaks)
{
    // One way only: the lateral band gives the right channel the left's leak on top.
    static const double leaks[] = {0.03, 0.05, 0.1};
    for (size_t i = 0; i < sizeof leaks / sizeof *leaks; i++)
        for (int named = 0; named < 2; named++) {
            BandDeck deck = band_deck(48000);
            deck.leak[0] = leaks[i];
            BandSignal signal = {0};
            for (int side = 0; side < 2; side++) {
                band_gap(&signal, &deck, 0.5);
                band_play(&signal, &deck, 0.25, side ? 0 : 0.25, 2.5);
            }
            const DwNamedBand bands[] = {{DW_BAND_LATERAL, 0, 0.6, 2.9}, {DW_BAND_LEFT, 0, 3.6, 5.9}};
            DwSheet *sheet = read_as(&signal, 48000, 2, 4096, bands, named ? 2 : 1, &plain);
            const DwReading *balance = dw_sheet_reading(sheet, "channels.balance");
            ck_assert_msg(fabs(balance->value) <= balance->uncertainty, "leak %g: %.2f ± %.2f dB", leaks[i],
                          balance->value, balance->uncertainty);
            dw_sheet_free(sheet);
            band_clear(&signal);
        }
}
END_TEST

DW_SUITE("measure channels", a_scratch_is_no_loose_lead, what_rises_for_a_moment_is_no_channel_that_returns,
         balance_by_the_lateral_band_holds_the_leaks, a_quiet_wave_in_sixteen_bits_is_not_clipped,
         balance_and_separation_come_back, strong_wow_and_a_wrong_speed_change_nothing, ticks_change_nothing,
         a_pure_pickup_reads_its_noise_floor, harmonics_in_step_with_the_tone, wiring_faults_have_names,
         lateral_bands_alone_are_no_fault, named_bands_in_any_order, what_is_missing_is_listed,
         noise_and_bad_samples_are_refused, block_size_changes_nothing, sensitivity_from_the_stated_velocity)
