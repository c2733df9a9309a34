// SPDX-License-Identifier: MIT
#include "physics/load_network.h"
#include "physics/loading.h"
#include "physics/a_weighting.h"
#include "physics/loading_noise.h"
#include "support/suite.h"

#include "loading_vectors.h"

#include <math.h>

static const DwLoadingTip no_tip = {0, 1};

static DwLoading network(double millihenry, double ohm, double kilohm, double picofarad)
{
    return (DwLoading){millihenry * 1e-3, ohm, kilohm * 1e3, picofarad * 1e-12};
}

// L mH, R Ω, R_L kΩ, C pF: f₀, Q, peak dB at Hz (0: none), −3 dB, then the level
// at 10, 15 and 20 kHz; Source (worked apart): another program, by the network's admittances, with its printed digits.
static const double table[][11] = {
    {500, 1000, 47, 100, 22746, 0.6655, 0, 0, 21328, -0.363, -1.144},
    {500, 1000, 47, 200, 16084, 0.9324, 0.865, 10484, 19774, 0.857, -0.075},
    {500, 1000, 47, 300, 13132, 1.1315, 2.017, 10253, 17524, 2.011, -0.460},
    {500, 1000, 47, 400, 11373, 1.2947, 2.945, 9527, 15773, 2.902, -1.999},
    {500, 1000, 47, 500, 10172, 1.4346, 3.697, 8851, 14426, 3.272, -3.866},
    {700, 1300, 47, 250, 12196, 0.8812, 0.589, 7278, 14521, 0.118, -3.446},
    {400, 500, 47, 250, 16000, 1.1641, 2.206, 12710, 21547, 1.807, 1.784},
    {80, 500, 47, 300, 32660, 2.6591, 8.651, 31484, 49471, 0.785, 1.855},
    {500, 1000, 100, 200, 15995, 1.9327, 6.024, 14886, 23666, 3.227, 6.021},
    {500, 1000, 33, 200, 16155, 0.6612, 0, 0, 15039, -0.993, -2.991},
};
static const double at_20_khz[] = {-2.546, -3.174, -5.505, -7.940, -10.039, -8.005, -1.671, 3.530, 1.331, -5.786};

START_TEST(the_check_table_to_its_printed_digits)
{
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        const double *row = table[i];
        DwLoading loading = network(row[0], row[1], row[2], row[3]);
        DwLoadingShape shape = dw_loading_shape(&loading);
        ck_assert_double_eq_tol(shape.natural_hz, row[4], 0.51);
        ck_assert_double_eq_tol(shape.q, row[5], 6e-5);
        double peak_db = 0, peak_hz = 0;
        ck_assert_int_eq(dw_loading_peak(&loading, &peak_db, &peak_hz), row[7] > 0);
        ck_assert_double_eq_tol(peak_db, row[6], 6e-4);
        ck_assert_double_eq_tol(peak_hz, row[7], 0.6);
        ck_assert_double_eq_tol(dw_loading_corner_hz(&loading), row[8], 1.1); // printed at −3 dB or −3.01 dB
        ck_assert_double_eq_tol(dw_loading_response_db(&loading, 10e3), row[9], 6e-4);
        ck_assert_double_eq_tol(dw_loading_response_db(&loading, 15e3), row[10], 6e-4);
        ck_assert_double_eq_tol(dw_loading_response_db(&loading, 20e3), at_20_khz[i], 6e-4);
    }
    DwLoading loading = network(500, 1000, 47, 200);
    ck_assert_double_eq_tol(dw_loading_shape(&loading).divider_db, -0.183, 5e-4);
}
END_TEST

START_TEST(a_nodal_solution_agrees)
{
    for (size_t i = 0; i < sizeof vectors / sizeof *vectors; i++) {
        DwLoading loading = {vectors[i].inductance, vectors[i].coil, vectors[i].load, vectors[i].capacitance};
        for (size_t f = 0; f < sizeof vector_frequencies / sizeof *vector_frequencies; f++)
            ck_assert_double_eq_tol(dw_loading_response_db(&loading, vector_frequencies[f]), vectors[i].level[f], 1e-5);
        ck_assert_double_eq_tol(dw_loading_corner_hz(&loading) / vectors[i].corner, 1, 1e-6);
        ck_assert_double_eq_tol(dw_loading_flat_capacitance_f(&loading) / vectors[i].flat, 1, 2e-4);
    }
}
END_TEST

START_TEST(flat_loads_are_flat)
{
    // Source (worked apart): capacitance for Q = 1/√2 at 47 kΩ, from scipy's root finder on Q itself.
    static const double rows[][3] = {{500, 1000, 113.186193}, {700, 1300, 158.473050}, {300, 800, 67.908948}};
    for (size_t i = 0; i < 3; i++) {
        DwLoading loading = network(rows[i][0], rows[i][1], 47, 200);
        double flat = dw_loading_flat_capacitance_f(&loading);
        ck_assert_double_eq_tol(flat * 1e12, rows[i][2], 1e-5);
        loading.load_capacitance_f = flat;
        ck_assert_double_eq_tol(dw_loading_shape(&loading).q, M_SQRT1_2, 1e-12);
        loading.load_resistance_ohm = 10e3;
        loading.load_resistance_ohm = dw_loading_flat_resistance_ohm(&loading);
        ck_assert_double_eq_tol(loading.load_resistance_ohm, 47e3, 1e-4);
    }
    DwLoading hopeless = network(1, 1000, 1, 200);
    ck_assert(isnan(dw_loading_flat_capacitance_f(&hopeless)));
    hopeless.load_capacitance_f = 1e-6;
    ck_assert(isnan(dw_loading_flat_resistance_ohm(&hopeless)));
}
END_TEST

START_TEST(the_least_departure_is_least)
{
    DwLoading loading = network(500, 1000, 47, 200);
    double best = dw_loading_least_departure_f(&loading, &no_tip, 15e3, 20e-12, 1e-9);
    loading.load_capacitance_f = best;
    double least = dw_loading_departure_db(&loading, &no_tip, 15e3);
    for (double picofarad = 20; picofarad <= 1000; picofarad += 2.5) {
        loading.load_capacitance_f = picofarad * 1e-12;
        ck_assert_double_ge(dw_loading_departure_db(&loading, &no_tip, 15e3), least - 1e-6);
    }
    // At the least the hump and the loss at the top of the band are equal.
    loading.load_capacitance_f = best;
    double peak_db = 0, peak_hz = 0;
    ck_assert(dw_loading_peak(&loading, &peak_db, &peak_hz));
    ck_assert_double_eq_tol(peak_db, -dw_loading_response_db(&loading, 15e3), 2e-3);
}
END_TEST

START_TEST(a_tip_that_falls_wants_an_electrical_rise)
{
    DwLoading loading = network(500, 1000, 47, 200);
    DwLoadingTip falling = {20e3, 0.6};
    double alone = dw_loading_least_departure_f(&loading, &no_tip, 12e3, 20e-12, 1e-9);
    double together = dw_loading_least_departure_f(&loading, &falling, 12e3, 20e-12, 1e-9);
    ck_assert_double_gt(together, alone + 30e-12);
    ck_assert_double_eq_tol(dw_loading_tip_db(&falling, 20e3), 20 * log10(0.6), 1e-9);
}
END_TEST

START_TEST(a_transformer_reflects_the_load)
{
    // 1:10 from 47 kΩ and 200 pF: 470 Ω and 20 nF; 1:20: 117.5 Ω and 80 nF. Source (recomputed): the square of the
    // turns.
    DwLoading seen = dw_loading_through_transformer(network(0.05, 10, 47, 200), 10, 0);
    ck_assert_double_eq_tol(seen.load_resistance_ohm, 470, 1e-9);
    ck_assert_double_eq_tol(seen.load_capacitance_f, 20e-9, 1e-15);
    seen = dw_loading_through_transformer(network(0.05, 10, 47, 200), 20, 30e-12);
    ck_assert_double_eq_tol(seen.load_resistance_ohm, 117.5, 1e-9);
    ck_assert_double_eq_tol(seen.load_capacitance_f, 80.03e-9, 1e-15);
}
END_TEST

START_TEST(the_wanted_ratio_gives_the_wanted_voltage)
{
    for (double coil = 2; coil < 60; coil += 7) {
        double ratio = dw_loading_step_up_ratio(0.4e-3, 5e-3, coil, 47e3);
        DwLoading seen = dw_loading_through_transformer(network(0.05, coil, 47, 200), ratio, 0);
        ck_assert_double_eq_tol(0.4e-3 * ratio * pow(10, dw_loading_shape(&seen).divider_db / 20), 5e-3, 1e-12);
        ck_assert_double_lt(ratio, sqrt(47e3 / coil));
    }
    ck_assert(isnan(dw_loading_step_up_ratio(0.1e-3, 5e-3, 40, 47e3)));
}
END_TEST

START_TEST(moving_coils_lose_level_and_resonate_far_up)
{
    // Load over coil and the loss; 50 µH, 10 Ω, 500 pF near 1.0 MHz with Q 0.33,
    // 2.9 and 26 at 100 Ω, 1 kΩ and 47 kΩ. Source (recomputed): another program.
    static const double losses[][2] = {{1, -6.02}, {2, -3.52}, {5, -1.58}, {10, -0.83}, {20, -0.42}};
    for (size_t i = 0; i < 5; i++) {
        DwLoading loading = network(0.05, 10, losses[i][0] * 10e-3, 500);
        ck_assert_double_eq_tol(dw_loading_shape(&loading).divider_db, losses[i][1], 6e-3);
    }
    static const double qualities[][3] = {{0.1, 0.33, 0.006}, {1, 2.9, 0.06}, {47, 26, 0.6}};
    for (size_t i = 0; i < 3; i++) {
        DwLoading loading = network(0.05, 10, qualities[i][0], 500);
        ck_assert_double_eq_tol(dw_loading_shape(&loading).q, qualities[i][1], qualities[i][2]);
        ck_assert_double_eq_tol(dw_loading_shape(&loading).natural_hz, 1.0e6, 0.06e6);
    }
}
END_TEST

START_TEST(thermal_noise_agrees_with_quadrature)
{
    for (size_t i = 0; i < sizeof vectors / sizeof *vectors; i++) {
        DwLoading loading = {vectors[i].inductance, vectors[i].coil, vectors[i].load, vectors[i].capacitance};
        DwLoadingNoise noise = {.temperature_k = 298.15};
        ck_assert_double_eq_tol(dw_loading_noise(&loading, &noise).source_v / vectors[i].noise_flat, 1, 1e-4);
        noise.equalised = true;
        ck_assert_double_eq_tol(dw_loading_noise(&loading, &noise).source_v / vectors[i].noise_riaa, 1, 1e-4);
        ck_assert_double_eq(dw_loading_noise(&loading, &noise).amplifier_v, 0);
    }
}
END_TEST

START_TEST(thermal_noise_as_tabulated)
{
    // At 25 °C: 47 kΩ 27.8 nV/√Hz, 1 kΩ 4.06; 0.5 H + 1 kΩ with 200 pF 2.854 µV
    // flat and 0.627 µV equalised, 78.0 dB under 5 mV; with 100 pF 0.591 µV and
    // 78.5 dB. Source (worked apart): another program, by quadrature.
    ck_assert_double_eq_tol(dw_loading_thermal_density(47e3, 298.15), 27.8e-9, 0.06e-9);
    ck_assert_double_eq_tol(dw_loading_thermal_density(1e3, 298.15), 4.06e-9, 0.006e-9);
    DwLoading loading = network(500, 1000, 47, 200);
    DwLoadingNoise noise = {.temperature_k = 298.15};
    ck_assert_double_eq_tol(dw_loading_noise(&loading, &noise).source_v, 2.854e-6, 6e-10);
    noise.equalised = true;
    double hiss = dw_loading_noise(&loading, &noise).source_v;
    ck_assert_double_eq_tol(hiss, 0.627e-6, 6e-10);
    ck_assert_double_eq_tol(20 * log10(5e-3 / hiss), 78.0, 0.06);
    loading.load_capacitance_f = 100e-12;
    hiss = dw_loading_noise(&loading, &noise).source_v;
    ck_assert_double_eq_tol(hiss, 0.591e-6, 6e-10);
    ck_assert_double_eq_tol(20 * log10(5e-3 / hiss), 78.5, 0.06);
}
END_TEST

START_TEST(the_amplifiers_current_meets_the_impedance)
{
    // A bare 1 kΩ: 1 nV/√Hz and 1 pA/√Hz are √2 nV/√Hz over 19 980 Hz; its own
    // hiss 0.574 µV flat and 0.377 µV equalised. Source (worked apart): another program, by quadrature.
    DwLoading loading = network(1e-6, 1000, 1e6, 1e-3);
    DwLoadingNoise noise = {.voltage_v = 1e-9, .current_a = 1e-12, .temperature_k = 298.15};
    DwLoadingNoiseLevel level = dw_loading_noise(&loading, &noise);
    ck_assert_double_eq_tol(level.amplifier_v, sqrt(2 * 19980.0) * 1e-9, 1e-11);
    ck_assert_double_eq_tol(level.source_v, 0.574e-6, 6e-10);
    noise.equalised = true;
    ck_assert_double_eq_tol(dw_loading_noise(&loading, &noise).source_v, 0.377e-6, 6e-10);
}
END_TEST

// Source (published): IEC 61672-1:2013, table 3 (figures from memory), rounded to 0.1 dB there; the frequencies are its
// exact ones, 10^(n/10).
START_TEST(a_weighting_as_tabulated)
{
    static const struct {
        int tenths; // of a decade over 1 Hz
        double level_db;
    } points[] = {{13, -50.5}, {15, -39.4}, {18, -26.2}, {20, -19.1}, {24, -8.6}, {27, -3.2},
                  {30, 0},     {33, 1.2},   {36, 1.0},   {40, -2.5},  {42, -6.6}, {43, -9.3}};
    for (size_t i = 0; i < sizeof points / sizeof *points; i++)
        ck_assert_double_eq_tol(dw_a_weighting_db(pow(10, points[i].tenths / 10.0)), points[i].level_db, 0.06);
}
END_TEST

static DwLoadNetwork network_of(const char *const *operands)
{
    DwMessage message = {""};
    DwInputs *inputs = dw_inputs_new();
    for (; *operands; operands++)
        ck_assert_msg(dw_inputs_set_operand(inputs, *operands, &message) == DW_OK, "%s", message.text);
    DwLoadNetwork network = dw_load_network_find(inputs);
    dw_inputs_free(inputs);
    return network;
}

// By hand: wire, lead and input add up; what is not measured is doubtful by more; a transformer 1:10 makes what lies
// behind it a hundred times as much and a hundredth of the resistance.
START_TEST(the_network_is_put_together_from_its_parts)
{
    static const char *const told[] = {"cartridge.inductance=0.5H",
                                       "cartridge.resistance=700ohm",
                                       "preamp.resistance=47kohm",
                                       "arm.wire_capacitance=20pF",
                                       "cable.capacitance=90pF",
                                       "preamp.capacitance=100pF",
                                       NULL};
    DwLoadNetwork network = network_of(told);
    ck_assert_double_eq_tol(network.total_pf, 210, 1e-9);
    ck_assert_double_eq_tol(network.seen.load_capacitance_f, 210e-12, 1e-18);
    ck_assert_double_eq_tol(network.capacitance_spread_f, 5e-12 * sqrt(3), 1e-15);
    static const char *const by_length[] = {"cartridge.inductance=0.5H",
                                            "cartridge.resistance=700ohm",
                                            "cable.length=1.2m",
                                            "cable.capacitance_per_length=100pF/m",
                                            "arm.wire_capacitance=20pF",
                                            "preamp.capacitance=100pF",
                                            NULL};
    network = network_of(by_length);
    ck_assert_double_eq_tol(network.total_pf, 240, 1e-9);
    ck_assert_double_eq_tol(network.capacitance_spread_f, hypot(24e-12, hypot(5e-12, 5e-12)), 1e-15);
    static const char *const stepped[] = {"cartridge.inductance=0.0001H",
                                          "cartridge.resistance=10ohm",
                                          "preamp.resistance=47kohm",
                                          "arm.wire_capacitance=20pF",
                                          "cable.capacitance=90pF",
                                          "preamp.capacitance=100pF",
                                          "load.step_up=10",
                                          NULL};
    network = network_of(stepped);
    ck_assert_double_eq_tol(network.seen.load_capacitance_f, 20e-12 + 100 * 190e-12, 1e-15);
    ck_assert_double_eq_tol(network.seen.load_resistance_ohm, 470, 1e-9);
    ck_assert_double_eq_tol(network.capacitance_spread_f, hypot(5e-12, 100 * hypot(5e-12, 5e-12)), 1e-15);
}
END_TEST

DW_SUITE("loading", the_network_is_put_together_from_its_parts, the_check_table_to_its_printed_digits,
         a_nodal_solution_agrees, flat_loads_are_flat, the_least_departure_is_least,
         a_tip_that_falls_wants_an_electrical_rise, a_transformer_reflects_the_load,
         the_wanted_ratio_gives_the_wanted_voltage, moving_coils_lose_level_and_resonate_far_up,
         a_weighting_as_tabulated, thermal_noise_agrees_with_quadrature, thermal_noise_as_tabulated,
         the_amplifiers_current_meets_the_impedance)
