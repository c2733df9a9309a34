// SPDX-License-Identifier: MIT
#include "physics/resonance.h"
#include "support/suite.h"

#include <math.h>

START_TEST(the_table_of_mass_and_compliance)
{
    // Hz for masses down and compliances across. Source (worked apart): NumPy.
    static const double compliances[] = {5, 8, 10, 12, 15, 20, 25, 30, 35, 40};
    static const double masses[] = {8, 10, 12, 15, 18, 20, 22, 25, 30, 35};
    static const double table[10][10] = {
        {25.165, 19.894, 17.794, 16.244, 14.529, 12.582, 11.254, 10.273, 9.511, 8.897},
        {22.508, 17.794, 15.915, 14.529, 12.995, 11.254, 10.066, 9.189, 8.507, 7.958},
        {20.547, 16.244, 14.529, 13.263, 11.863, 10.273, 9.189, 8.388, 7.766, 7.264},
        {18.378, 14.529, 12.995, 11.863, 10.610, 9.189, 8.219, 7.503, 6.946, 6.497},
        {16.776, 13.263, 11.863, 10.829, 9.686, 8.388, 7.503, 6.849, 6.341, 5.931},
        {15.915, 12.582, 11.254, 10.273, 9.189, 7.958, 7.118, 6.497, 6.015, 5.627},
        {15.175, 11.997, 10.730, 9.795, 8.761, 7.587, 6.786, 6.195, 5.736, 5.365},
        {14.235, 11.254, 10.066, 9.189, 8.219, 7.118, 6.366, 5.812, 5.380, 5.033},
        {12.995, 10.273, 9.189, 8.388, 7.503, 6.497, 5.812, 5.305, 4.912, 4.594},
        {12.031, 9.511, 8.507, 7.766, 6.946, 6.015, 5.380, 4.912, 4.547, 4.254},
    };
    for (size_t i = 0; i < 10; i++)
        for (size_t j = 0; j < 10; j++)
            ck_assert_double_eq_tol(dw_resonance_hz(masses[i], compliances[j]), table[i][j], 6e-4);
    // Source (worked apart): 17 g on 18 µm/mN let go, a quarter of a swing in small steps.
    double place = 1, speed = 0, seconds = 0, step = 1e-6;
    for (; place > 0; seconds += step) {
        speed -= step * place / (17e-3 * 18e-3);
        place += step * speed;
    }
    ck_assert_double_eq_tol(dw_resonance_hz(10 + 6 + 1, 18), 1 / (4 * seconds), 1e-3);
}
END_TEST

START_TEST(mass_and_compliance_from_a_frequency)
{
    // Source (recomputed): M·C for 7 … 12 Hz.
    static const double rows[][2] = {{7, 516.9}, {8, 395.8}, {9, 312.7}, {10, 253.3}, {11, 209.3}, {12, 175.9}};
    for (size_t i = 0; i < 6; i++) {
        ck_assert_double_eq_tol(dw_resonance_mass_g(rows[i][0], 1), rows[i][1], 0.051);
        ck_assert_double_eq_tol(dw_resonance_compliance(rows[i][0], 10), rows[i][1] / 10, 0.0051);
    }
}
END_TEST

START_TEST(compliance_is_a_band_unless_stated_at_10_hz)
{
    DwComplianceBand band = dw_resonance_compliance_at_10hz(18, 10);
    ck_assert_double_eq_tol(band.low, 18, 1e-9);
    ck_assert_double_eq_tol(band.high, 18, 1e-9);
    // A factor of 1.5 to 2.0 from 100 Hz moves the resonance by −18 to −29 %.
    band = dw_resonance_compliance_at_10hz(10, 100);
    ck_assert_double_eq_tol(band.low, 15, 1e-9);
    ck_assert_double_eq_tol(band.high, 20, 1e-9);
    double plain = dw_resonance_hz(17, 10);
    ck_assert_double_eq_tol(dw_resonance_hz(17, band.low) / plain - 1, -0.18, 0.005);
    ck_assert_double_eq_tol(dw_resonance_hz(17, band.high) / plain - 1, -0.29, 0.005);
    // Source (published): one pair, dynamic 18 at 100 Hz and static 35: the bands must meet.
    DwComplianceBand dynamic = dw_resonance_compliance_at_10hz(18, 100);
    DwComplianceBand deflected = dw_resonance_compliance_at_10hz(35, 0);
    ck_assert_double_lt(dynamic.low, deflected.high);
    ck_assert_double_gt(dynamic.high, deflected.low);
    ck_assert_double_eq_tol(deflected.likely, 17.5, 1e-9);
    DwComplianceBand unsaid = dw_resonance_compliance_at_10hz(10, NAN);
    ck_assert_double_eq_tol(unsaid.low, 4, 1e-9);
    ck_assert_double_eq_tol(unsaid.high, 20, 1e-9);
}
END_TEST

typedef struct {
    double output; // the stylus against the cartridge, over the groove's movement
    double force;  // on the groove for each gram and µm of movement, µN: its peak
} Driven;

// A cartridge at its cantilever's end while the groove moves up and down, in small steps: the spring and the damper
// between them move it, and their force is the groove's. Swings until it is steady, then read over one swing.
static Driven drive_arm(double resonance_hz, double q, double frequency_hz)
{
    double spring = pow(2 * M_PI * resonance_hz, 2), damper = 2 * M_PI * resonance_hz / q; // for each gram
    double step = 1 / (4000 * fmax(frequency_hz, resonance_hz)), end = (12 * q + 4) / resonance_hz + 2 / frequency_hz;
    double place = 0, speed = 0, stretched = 0, pulled = 0;
    for (double time = 0; time < end; time += step) {
        double phase = 2 * M_PI * frequency_hz * (time + step / 2);
        double middle = place + speed * step / 2;
        double between = sin(phase) - middle;
        double parting = 2 * M_PI * frequency_hz * cos(phase);
        double force = spring * between + damper * (parting - speed); // as the step begins, then as in its middle
        force = spring * between + damper * (parting - speed - force * step / 2);
        speed += force * step;
        place += speed * step - force * step * step / 2;
        if (time > end - 1.01 / frequency_hz) {
            stretched = fmax(stretched, fabs(between));
            pulled = fmax(pulled, fabs(force));
        }
    }
    return (Driven){stretched, pulled};
}

START_TEST(response_is_that_of_a_driven_arm)
{
    // Source (worked apart): small steps of the arm's movement.
    static const double qs[] = {1, 3, 8}, places[] = {0.5, 1.029, 2};
    for (size_t i = 0; i < 3; i++) {
        for (size_t j = 0; j < 3; j++)
            ck_assert_double_eq_tol(dw_resonance_output_db(9 * places[j], 9, qs[i]),
                                    20 * log10(drive_arm(9, qs[i], 9 * places[j]).output), 0.01);
        // The peak is higher than what lies close by.
        double peak_db = 0, peak_hz = 0;
        ck_assert(dw_resonance_peak(9, qs[i], &peak_db, &peak_hz));
        ck_assert_double_eq_tol(dw_resonance_output_db(peak_hz, 9, qs[i]), peak_db, 1e-9);
        ck_assert_double_lt(dw_resonance_output_db(0.999 * peak_hz, 9, qs[i]), peak_db);
        ck_assert_double_lt(dw_resonance_output_db(1.001 * peak_hz, 9, qs[i]), peak_db);
    }
    ck_assert(!dw_resonance_peak(9, 0.7, &(double){0}, &(double){0}));
}
END_TEST

START_TEST(a_warp_adds_and_takes_force)
{
    // Source (worked apart): the same arm on a warp. M = 17 g, C = 18, Q = 3; heights from peak to peak in mm, Hz.
    static const double rows[][2] = {{1, 0.556}, {1, 1.111}, {0.2, 4}, {0.1, 8}};
    double resonance = dw_resonance_hz(17, 18);
    for (size_t i = 0; i < 4; i++) {
        double force = 17e-3 * rows[i][0] / 2 * drive_arm(resonance, 3, rows[i][1]).force; // kg by mm/s² is mN
        ck_assert_double_eq_tol(dw_resonance_warp_force_mn(17, resonance, 3, rows[i][0] / 2, rows[i][1]) / force, 1,
                                2e-3);
    }
}
END_TEST

START_TEST(two_resonances_give_mass_and_compliance_back)
{
    double plain = dw_resonance_hz(17.3, 16.4), loaded = dw_resonance_hz(17.3 + 4, 16.4);
    DwResonanceFound found;
    ck_assert(dw_resonance_from_two(plain, loaded, 4, 0.1, &found));
    ck_assert_double_eq_tol(found.mass_g, 17.3, 1e-9);
    ck_assert_double_eq_tol(found.compliance, 16.4, 1e-9);
    // The spread against numerical derivatives by each frequency.
    DwResonanceFound up, down;
    double mass = 0, compliance = 0;
    for (int which = 0; which < 2; which++) {
        double step = 1e-5;
        dw_resonance_from_two(plain + (which ? 0 : step), loaded + (which ? step : 0), 4, 0, &up);
        dw_resonance_from_two(plain - (which ? 0 : step), loaded - (which ? step : 0), 4, 0, &down);
        mass = hypot(mass, (up.mass_g - down.mass_g) / (2 * step));
        compliance = hypot(compliance, (up.compliance - down.compliance) / (2 * step));
    }
    ck_assert_double_eq_tol(found.mass_deviation_g, 0.1 * mass, 1e-5);
    ck_assert_double_eq_tol(found.compliance_deviation, 0.1 * compliance, 1e-5);
    ck_assert(!dw_resonance_from_two(9, 9.5, 4, 0.1, &found));
}
END_TEST

DW_SUITE("resonance", the_table_of_mass_and_compliance, mass_and_compliance_from_a_frequency,
         compliance_is_a_band_unless_stated_at_10_hz, response_is_that_of_a_driven_arm, a_warp_adds_and_takes_force,
         two_resonances_give_mass_and_compliance_back)
