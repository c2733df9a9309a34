// SPDX-License-Identifier: MIT
// What the bands of a planned side hold, and what the pickup makes of them.
#include "synth/planned.h"
#include "support/suite.h"

#include <math.h>
#include <stdlib.h>

// 3.5355 cm/s in a channel is a lateral 5 cm/s.
static const char four_directions[] =
    RECORD "[band 1]\nkind=tone\nchannel=lateral\nfrequency=1000\nlevel=0 dB\nlength=1\n"
           "[band 2]\nkind=tone\nchannel=left\nfrequency=1000\nlevel=3.535534 cm/s\nlength=1\n"
           "[band 3]\nkind=tone\nchannel=right\nfrequency=1000\nlevel=3.535534 cm/s\nlength=1\n"
           "[band 4]\nkind=tone\nchannel=vertical\nfrequency=1000\nlevel=0 dB\nlength=1\n"
           "[band 5]\nkind=silence\nlength=1\n";
#define QUIET "synth.snr=200 "

static double level_db(const Recording *recording, size_t channel, size_t band)
{
    return 20 * log10(band_peak(recording, channel, band, 0.1, 1000));
}

START_TEST(each_band_drives_its_walls)
{
    Recording recording = planned_make(four_directions, QUIET "synth.level=-20");
    static const double table[5][2] = {{-20, -20}, {-20, -150}, {-150, -20}, {-20, -20}, {-150, -150}};
    for (size_t band = 0; band < 5; band++)
        for (size_t channel = 0; channel < 2; channel++) {
            double level = level_db(&recording, channel, band);
            if (table[band][channel] < -100)
                ck_assert_double_lt(level, table[band][channel]);
            else
                ck_assert_double_eq_tol(level, table[band][channel], 1e-3);
        }
    // Source (published): lateral movement comes out in phase, vertical in opposite phase (IEC 60098:2020, clause 6.2).
    const DwRecordSideBand *bands = planned_truth(&recording)->bands;
    for (size_t i = 1000; i < 2000; i++) {
        size_t lateral = (size_t)(bands[0].start_s * 48000) + i, vertical = (size_t)(bands[3].start_s * 48000) + i;
        ck_assert_double_eq_tol(recording_at(&recording, lateral, 0), recording_at(&recording, lateral, 1), 1e-7);
        ck_assert_double_eq_tol(recording_at(&recording, vertical, 0), -recording_at(&recording, vertical, 1), 1e-7);
    }
    recording_clear(&recording);
}
END_TEST

// The crosstalk of a pickup that leans by 2° is tan 2° = −29.14 dB; a lateral
// band comes out (1 − t)/(1 + t) left over right (docs/methods/azimuth.md).
START_TEST(a_lean_leaks_and_unbalances)
{
    Recording recording = planned_make(four_directions, QUIET "fault.azimuth=2deg");
    ck_assert_double_eq_tol(level_db(&recording, 1, 1) - level_db(&recording, 0, 1), -29.138, 2e-3);
    ck_assert_double_eq_tol(level_db(&recording, 0, 2) - level_db(&recording, 1, 2), -29.138, 2e-3);
    double t = tan(2 * M_PI / 180), lateral_db = 20 * log10((1 - t) / (1 + t));
    ck_assert_double_eq_tol(level_db(&recording, 0, 0) - level_db(&recording, 1, 0), lateral_db, 2e-3);
    ck_assert_double_eq_tol(level_db(&recording, 0, 3) - level_db(&recording, 1, 3), -lateral_db, 2e-3);
    ck_assert_double_eq_tol(planned_truth(&recording)->separation_db[0], 29.138, 1e-3);
    recording_clear(&recording);
}
END_TEST

START_TEST(separation_and_balance_are_as_stated)
{
    Recording recording = planned_make(four_directions, QUIET "cartridge.separation=25dB cartridge.balance=-1.5dB");
    const DwRecordSideTruth *truth = planned_truth(&recording);
    ck_assert_double_eq_tol(level_db(&recording, 1, 2) - level_db(&recording, 0, 1), -1.5, 2e-3);
    // Leaks against the other channel's own level, as `channels` counts them.
    ck_assert_double_eq_tol(level_db(&recording, 1, 2) - level_db(&recording, 1, 1), 25, 2e-3);
    ck_assert_double_eq_tol(level_db(&recording, 0, 1) - level_db(&recording, 0, 2), 25, 2e-3);
    ck_assert_double_eq_tol(truth->balance_db, -1.5, 1e-9);
    for (int i = 0; i < 2; i++)
        ck_assert_double_eq_tol(truth->separation_db[i], 25, 1e-9);
    recording_clear(&recording);
}
END_TEST

START_TEST(wiring_is_wrong_as_stated)
{
    Recording recording = planned_make(four_directions, QUIET "fault.wiring=swapped cartridge.balance=2dB");
    ck_assert_double_lt(level_db(&recording, 0, 1), -100);
    ck_assert_double_eq_tol(level_db(&recording, 0, 2), -22, 2e-3); // the right wall, 2 dB louder, on the left
    recording_clear(&recording);
    recording = planned_make(four_directions, QUIET "fault.wiring=strapped");
    for (size_t channel = 0; channel < 2; channel++) {
        ck_assert_double_eq_tol(level_db(&recording, channel, 1), -24 - 20 * log10(2), 2e-3);
        ck_assert_double_lt(level_db(&recording, channel, 3), -100); // vertical movement cancels
    }
    recording_clear(&recording);
}
END_TEST

// A stylus that stands wrong by 2° at 80 mm. Source (published): second harmonic V/V_g·tan ε (Baerwald
// 1941), V 5 cm/s and V_g 2π·8 cm·(100/3)/60 = 27.925 cm/s: 0.6253 %.
START_TEST(tracking_error_makes_a_second_harmonic)
{
    static const char plan[] = RECORD "[band 1]\nkind=tone\nchannel=lateral\nfrequency=1000\nlevel=5 cm/s\nlength=2\n"
                                      "radius=80 mm\n[band 2]\nkind=tone\nchannel=vertical\nfrequency=1000\n"
                                      "level=5 cm/s\nlength=2\n";
    Recording recording =
        planned_make(plan, QUIET "response.riaa=none arm.kind=linear found.twist=2deg synth.level=-6");
    double share = band_peak(&recording, 0, 0, 0.2, 2000) / band_peak(&recording, 0, 0, 0.2, 1000);
    ck_assert_double_eq_tol(100 * share, 5 / 27.9253 * 100 * tan(2 * M_PI / 180), 1e-3);
    ck_assert_double_eq_tol(planned_truth(&recording)->bands[0].second_percent, 100 * share, 1e-3);
    // Vertical movement alone is not touched by it.
    ck_assert_double_lt(band_peak(&recording, 0, 1, 0.2, 2000), 1e-8);
    recording_clear(&recording);
}
END_TEST

// A pivoted arm at 120 mm: the cosine rule and the offset by hand.
START_TEST(an_arm_errs_by_its_own_geometry)
{
    static const char plan[] = RECORD "[band 1]\nkind=tone\nchannel=lateral\nfrequency=1000\nlevel=5 cm/s\nlength=2\n"
                                      "radius=120 mm\n";
    Recording recording = planned_make(plan, QUIET "response.riaa=none arm.pivot_to_spindle=222mm "
                                                   "arm.effective_length=239mm arm.offset=20deg synth.level=-6");
    double sine = (239.0 * 239 + 120.0 * 120 - 222.0 * 222) / (2 * 239.0 * 120);
    double error = asin(sine) * 180 / M_PI - 20, groove = 2 * M_PI * 12 * (100.0 / 3) / 60;
    ck_assert_double_eq_tol(planned_truth(&recording)->bands[0].tracking_error_deg, error, 1e-9);
    double share = band_peak(&recording, 1, 0, 0.2, 2000) / band_peak(&recording, 1, 0, 0.2, 1000);
    ck_assert_double_eq_tol(share, 5 / groove * tan(error * M_PI / 180), 1e-5);
    recording_clear(&recording);
}
END_TEST

// d₂ and d₃ of the higher tone as `intermod` counts them, against the angle's
// depth of frequency modulation V/V_g·(tan 20° − tan 24°), times 4000/400.
START_TEST(a_wrong_vertical_angle_modulates_the_higher_tone)
{
    static const char plan[] = RECORD "[band 1]\nkind=two-tone\nchannel=vertical\nfrequency=400 Hz 4 kHz\n"
                                      "level=5 cm/s\nhigh=-12 dB\nlength=3\nradius=90 mm\n";
    Recording recording = planned_make(plan, QUIET "response.riaa=none cartridge.vertical_angle=24deg synth.level=-12");
    double u[5];
    for (int k = -2; k <= 2; k++)
        u[k + 2] = band_peak(&recording, 0, 0, 0.2, 4000 + 400 * k);
    double low = band_peak(&recording, 0, 0, 0.2, 400);
    ck_assert_double_eq_tol(20 * log10(u[2] / low), -12, 0.05);
    double second = (u[1] + u[3]) / u[2], third = (u[0] + u[4]) / u[2];
    double groove = 2 * M_PI * 9 * (100.0 / 3) / 60;
    double index = 10 * 5 / groove * (tan(24 * M_PI / 180) - tan(20 * M_PI / 180));
    // To second order x + κ(x²)'/2 puts κ·A₁A₂·(ω₂ ± ω₁)²/2 beside ω₂A₂: together β(1 + (ω₁/ω₂)²);
    // the next order is β²/8 = 0.2 %.
    ck_assert_double_eq_tol(second / (index * 1.01), 1, 0.003);
    ck_assert_double_eq_tol(planned_truth(&recording)->bands[0].intermod_percent, 100 * hypot(second, third), 0.01);
    recording_clear(&recording);
}
END_TEST

// The arm's pivot 4.18 mm too high on 239.3 mm adds a degree to the vertical angle
// Source (recomputed): 0.2394 deg/mm of arm height for an axis across the cartridge.
START_TEST(arm_height_turns_the_vertical_angle)
{
    static const char plan[] = RECORD "[band 1]\nkind=tone\nchannel=vertical\nfrequency=500\nlevel=5 cm/s\nlength=1\n"
                                      "radius=90 mm\n";
    const char *operands = QUIET "cartridge.vertical_angle=20deg arm.pivot_to_spindle=222mm "
                                 "arm.effective_length=239.3mm arm.offset=21.9deg fault.arm_height=4.18mm";
    Recording recording = planned_make(plan, operands);
    double groove = 2 * M_PI * 9 * (100.0 / 3) / 60;
    double percent = 100 * 5 / groove * (tan(21.0787 * M_PI / 180) - tan(20 * M_PI / 180));
    ck_assert_double_eq_tol(planned_truth(&recording)->bands[0].second_percent, percent, 2e-3);
    recording_clear(&recording);
}
END_TEST

DW_SUITE("side bands", each_band_drives_its_walls, wiring_is_wrong_as_stated, an_arm_errs_by_its_own_geometry,
         a_wrong_vertical_angle_modulates_the_higher_tone, DW_FIGURES, a_lean_leaks_and_unbalances,
         separation_and_balance_are_as_stated, tracking_error_makes_a_second_harmonic,
         arm_height_turns_the_vertical_angle)
