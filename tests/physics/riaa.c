// SPDX-License-Identifier: MIT
#include "physics/riaa.h"
#include "support/suite.h"

#include <math.h>

// Source (published): replay level re 1 kHz, without and with the 7950 µs term, three decimals,
// computed from the published time constants (DIN 45547; 3180, 318, 75 µs) by
// another program. The values at 20 Hz, 100 Hz, 10 kHz and 20 kHz are the ones
// every preamplifier handbook prints (+19.274, +13.088, −13.734, −19.620).
static const struct {
    double frequency_hz, plain_db, subsonic_db;
} rows[] = {
    {2, 19.904, -0.146},       {4, 19.884, 5.727},        {8, 19.802, 11.194},       {10, 19.743, 12.748},
    {16, 19.493, 15.403},      {20, 19.274, 16.261},      {25, 18.954, 16.804},      {30, 18.593, 16.995},
    {31.5, 18.478, 17.006},    {40, 17.792, 16.823},      {50, 16.946, 16.302},      {60, 16.101, 15.644},
    {63, 15.852, 15.436},      {70, 15.283, 14.943},      {80, 14.506, 14.244},      {90, 13.774, 13.566},
    {100, 13.088, 12.920},     {125, 11.563, 11.454},     {150, 10.271, 10.196},     {160, 9.809, 9.743},
    {200, 8.219, 8.178},       {250, 6.677, 6.651},       {300, 5.484, 5.467},       {315, 5.179, 5.163},
    {400, 3.784, 3.775},       {500, 2.648, 2.642},       {600, 1.841, 1.838},       {630, 1.642, 1.639},
    {700, 1.234, 1.232},       {800, 0.751, 0.750},       {900, 0.349, 0.349},       {1000, 0.000, 0.000},
    {1250, -0.744, -0.743},    {1500, -1.395, -1.394},    {1600, -1.643, -1.642},    {2000, -2.589, -2.587},
    {2500, -3.700, -3.699},    {3000, -4.740, -4.739},    {3150, -5.038, -5.036},    {4000, -6.605, -6.604},
    {5000, -8.210, -8.208},    {6000, -9.599, -9.597},    {6300, -9.980, -9.979},    {7000, -10.816, -10.814},
    {8000, -11.894, -11.892},  {9000, -12.860, -12.859},  {10000, -13.734, -13.733}, {11000, -14.531, -14.530},
    {12000, -15.264, -15.262}, {12500, -15.609, -15.607}, {13000, -15.941, -15.939}, {14000, -16.570, -16.568},
    {15000, -17.157, -17.155}, {16000, -17.708, -17.706}, {17000, -18.226, -18.224}, {18000, -18.716, -18.714},
    {19000, -19.180, -19.178}, {20000, -19.620, -19.619},
};

START_TEST(every_row_of_the_table_within_a_thousandth)
{
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        ck_assert_double_eq_tol(dw_riaa_replay_db(rows[i].frequency_hz, false), rows[i].plain_db, 0.00051);
        ck_assert_double_eq_tol(dw_riaa_replay_db(rows[i].frequency_hz, true), rows[i].subsonic_db, 0.00051);
    }
}
END_TEST

START_TEST(corners_are_those_of_the_standard)
{
    // Source (published): beside the time constants stand 50.049, 500.487, 2122.07 Hz, and 20.02 Hz.
    ck_assert_double_eq_tol(dw_riaa_corner_hz(DW_RIAA_BASS), 50.049, 5e-4);
    ck_assert_double_eq_tol(dw_riaa_corner_hz(DW_RIAA_MIDDLE), 500.487, 5e-4);
    ck_assert_double_eq_tol(dw_riaa_corner_hz(DW_RIAA_TREBLE), 2122.07, 5e-3);
    ck_assert_double_eq_tol(dw_riaa_corner_hz(DW_RIAA_SUBSONIC), 20.02, 5e-3);
}
END_TEST

START_TEST(a_speed_error_hardly_changes_the_level)
{
    // +1 % of frequency: −0.033 dB at 1 kHz, −0.062 dB at 315 and at 3150 Hz. Source (recomputed): from the constants.
    ck_assert_double_eq_tol(dw_riaa_replay_db(1010, false), -0.033, 5e-4);
    ck_assert_double_eq_tol(dw_riaa_replay_db(318.15, false) - dw_riaa_replay_db(315, false), -0.062, 5e-4);
    ck_assert_double_eq_tol(dw_riaa_replay_db(3181.5, false) - dw_riaa_replay_db(3150, false), -0.062, 5e-4);
}
END_TEST

// One pole of 75 µs by hand: 10 lg (1 + (2π·10⁴·75e-6)²) is 13.656 dB, at 1 kHz 0.871 dB.
START_TEST(the_treble_pole_alone)
{
    ck_assert_double_eq_tol(dw_riaa_treble_db(10000), 0.871 - 13.656, 2e-3);
    ck_assert_double_eq_tol(dw_riaa_treble_db(1000), 0, 1e-12);
}
END_TEST

// By differences: the level at 315 Hz over that at 1 kHz with each time constant 1 % longer.
START_TEST(parts_that_are_off_move_the_level)
{
    const double tau[3] = {3180e-6, 318e-6, 75e-6};
    double squares = 0;
    for (int i = 0; i < 3; i++) {
        double moved[2];
        for (int k = 0; k < 2; k++) {
            double w = 2 * M_PI * (k ? 1000 : 315), longer = 1.01 * w * tau[i], plain = w * tau[i];
            moved[k] = 10 * log10((1 + longer * longer) / (1 + plain * plain));
        }
        squares += pow((moved[0] - moved[1]) / 0.01, 2);
    }
    ck_assert_double_eq_tol(dw_riaa_parts_off_db(315), 1.96 * 0.05 * sqrt(squares), 5e-3);
    ck_assert_double_eq_tol(dw_riaa_parts_off_db(1000), 0, 1e-12);
}
END_TEST

DW_SUITE("riaa", parts_that_are_off_move_the_level, every_row_of_the_table_within_a_thousandth,
         corners_are_those_of_the_standard, a_speed_error_hardly_changes_the_level, the_treble_pole_alone)
