// SPDX-License-Identifier: MIT
#include "support/computation.h"
#include "support/suite.h"

#include <math.h>

// 500 mH, 1 kΩ into 47 kΩ and 300 pF in all: the row of tests/physics/loading.c, with what the sheet
// adds to it. Source (worked apart): the network's admittances.
START_TEST(a_moving_magnet_by_the_table)
{
    DwSheet *sheet = COMPUTE("load", "cartridge.inductance=0.5H", "cartridge.resistance=1kohm", "cable.capacitance=120",
                             "arm.wire_capacitance=30", "preamp.capacitance=150pF");
    check_sound(sheet);
    ck_assert_double_eq_tol(value(sheet, "load.capacitance"), 300, 1e-9);
    ck_assert_double_eq_tol(value(sheet, "load.natural"), 13132, 0.51);
    ck_assert_double_eq_tol(value(sheet, "load.q"), 1.1315, 6e-5);
    ck_assert_double_eq_tol(value(sheet, "load.peak_frequency"), 10253, 0.6);
    ck_assert_double_eq_tol(value(sheet, "load.peak"), 2.017, 6e-4);
    ck_assert_double_eq_tol(value(sheet, "load.corner"), 17524, 1.1);
    ck_assert_double_eq_tol(value(sheet, "load.at_top"), -5.505, 6e-4);
    ck_assert_double_eq_tol(value(sheet, "load.departure"), 5.505, 6e-4);
    ck_assert_double_eq_tol(value(sheet, "load.divider"), -0.183, 6e-4);
    ck_assert_double_eq_tol(value(sheet, "load.best_capacitance"), 113.186, 1e-3); // Source (worked apart): scipy
    ck_assert_double_eq_tol(value(sheet, "load.room"), 113.186 - 300, 1e-3);
    ck_assert_double_eq_tol(value(sheet, "load.room_length"), (113.186 - 300) / 100, 1e-4);
    ck_assert(remarks(sheet, "no lead mends it"));
    ck_assert(remarks(sheet, "electrical part alone"));
    // From 300 to 400 pF in the same table: 17524 to 15773 Hz, −0.460 to −1.999 dB at 15 kHz.
    ck_assert(remarks(sheet, "from 17.5 to 15.8 kHz and 15 kHz by -1.5 dB"));
    // ±9 pF and ±10 % of inductance: half the root of the squares of 3 and 10 %.
    ck_assert_double_eq_tol(dw_sheet_reading(sheet, "load.natural")->uncertainty / 13132, 0.5 * hypot(0.0289, 0.1),
                            5e-3);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(the_curve_is_the_network)
{
    DwSheet *sheet = COMPUTE("load", "cartridge.inductance=0.5H", "cartridge.resistance=1kohm", "cable.capacitance=200",
                             "arm.wire_capacitance=0", "preamp.capacitance=0", "cartridge.tip_resonance=20kHz",
                             "cartridge.tip_q=0.5");
    const DwCurve *plain = dw_sheet_curve(sheet, "load.response"),
                  *tip = dw_sheet_curve(sheet, "load.response_with_stylus");
    ck_assert_ptr_nonnull(dw_sheet_curve(sheet, "load.response_flattest"));
    for (size_t i = 0; i < plain->count; i++) {
        // Ladder of complex impedances, in real arithmetic: current divider of
        // the coil into load resistor and capacitor.
        double w = 2 * M_PI * plain->x_values[i], g = 1 / 47e3, b = w * 200e-12;
        double real = 1 + 1000 * g - w * 0.5 * b, imaginary = w * 0.5 * g + 1000 * b;
        double level = 20 * log10((1 + 1000 * g) / hypot(real, imaginary));
        ck_assert_double_eq_tol(plain->y_values[i], level, 1e-9);
        double x = plain->x_values[i] / 20e3;
        ck_assert_double_eq_tol(tip->y_values[i] - plain->y_values[i], -20 * log10(1 + x * x),
                                1e-9); // Q ½: two equal corners
    }
    ck_assert_double_gt(value(sheet, "load.least_capacitance"), 113.2); // a falling stylus wants a rise
    ck_assert(!remarks(sheet, "electrical part alone"));
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(the_makers_range_rules_the_room)
{
    DwSheet *sheet = COMPUTE("load", "cartridge.inductance=400", "cartridge.resistance=500", "cable.length=1.2m",
                             "cable.capacitance_per_length=70", "cartridge.load_low=150", "cartridge.load_high=300");
    ck_assert_double_eq_tol(value(sheet, "load.capacitance"), 84 + 30 + 120, 1e-9);
    ck_assert_double_gt(dw_sheet_reading(sheet, "load.capacitance")->uncertainty, 80); // the input was not measured
    ck_assert_int_eq(dw_sheet_reading(sheet, "load.capacitance")->verdict, DW_VERDICT_CANNOT_TELL);
    ck_assert_double_eq_tol(value(sheet, "load.room"), 66, 1e-9);
    ck_assert_double_eq_tol(value(sheet, "load.room_length"), 66 / 70.0, 1e-9);
    dw_sheet_free(sheet);
    sheet = COMPUTE("load", "cartridge.inductance=400", "cartridge.resistance=500", "cable.length=1.2m",
                    "cable.capacitance_per_length=70", "cartridge.load_low=150", "cartridge.load_high=300",
                    "arm.wire_capacitance=30", "preamp.capacitance=120");
    ck_assert_int_eq(dw_sheet_reading(sheet, "load.capacitance")->verdict, DW_VERDICT_GOOD);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(no_peak_is_said)
{
    DwSheet *sheet = COMPUTE("load", "cartridge.inductance=500", "cartridge.resistance=1kohm", "cable.capacitance=100",
                             "arm.wire_capacitance=0", "preamp.capacitance=0");
    ck_assert(says_not_measured(sheet, "load.peak_frequency"));
    ck_assert_double_eq_tol(value(sheet, "load.peak"), 0, 1e-12);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(a_moving_coil_and_its_step_up)
{
    // 1:10 into 47 kΩ: 470 Ω, Source (recomputed): the square of the turns; 10 Ω into 470 Ω: −0.183 dB.
    DwSheet *sheet = COMPUTE("load", "cartridge.inductance=50uH", "cartridge.resistance=10", "cable.length=1m",
                             "load.step_up=10", "cartridge.output=0.4", "preamp.noise_voltage=5");
    check_sound(sheet);
    ck_assert_double_eq_tol(value(sheet, "load.seen"), 470, 1e-9);
    ck_assert_double_eq_tol(value(sheet, "load.times"), 47, 1e-9);
    ck_assert_double_eq_tol(value(sheet, "load.divider"), -0.183, 6e-4);
    double ratio = value(sheet, "load.step_up_wanted"), load = 47e3 / (ratio * ratio);
    ck_assert_double_eq_tol(0.4 * ratio * load / (load + 10), 5, 1e-9);
    ck_assert(says_not_measured(sheet, "load.best_capacitance"));
    ck_assert(says_not_measured(sheet, "load.transformer"));
    ck_assert_ptr_nonnull(dw_sheet_table(sheet, "load.ratios"));
    // A load of the coil's own resistance takes half of the voltage.
    ck_assert_double_eq_tol(dw_table_cell(dw_sheet_table(sheet, "load.coil_loads"), 0, 2)->number, -6.0206, 1e-4);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(hiss_of_the_coil_and_of_the_preamplifier)
{
    // 0.5 H, 1 kΩ, 200 pF: 2.854 µV flat, 0.627 µV equalised, 78.0 dB under 5 mV
    // Source (worked apart): another program, by quadrature.
    DwSheet *sheet = COMPUTE("load", "cartridge.inductance=500", "cartridge.resistance=1000", "cable.capacitance=200",
                             "arm.wire_capacitance=0", "preamp.capacitance=0", "preamp.noise_voltage=0");
    ck_assert_double_eq_tol(value(sheet, "load.noise_flat"), 2.854, 6e-4);
    ck_assert_double_eq_tol(value(sheet, "load.noise"), 0.627, 6e-4);
    ck_assert_double_eq_tol(value(sheet, "load.signal_to_noise"), 78.0, 0.06);
    ck_assert_double_eq_tol(value(sheet, "load.noise_added"), 0, 1e-9);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(a_worn_lead_costs_level)
{
    // 10 kΩ in series into 48 kΩ of the loop: 20 lg(58/48) at low frequencies.
    DwSheet *sheet = COMPUTE("load", "cartridge.inductance=5.1", "cartridge.resistance=1000", "cable.capacitance=100",
                             "cable.contact_resistance=10kohm");
    ck_assert_double_eq_tol(value(sheet, "load.lead_loss"), 20 * log10(58.0 / 48), 2e-3);
    ck_assert_double_gt(value(sheet, "load.lead_loss_10k"), value(sheet, "load.lead_loss"));
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(bad_calls_say_what_to_give)
{
    REFUSE("load", "cartridge.inductance=500mH", "cable.capacitance=100");
    REFUSE("load", "cable.length=1.2m", "cartridge.inductance=500", "cartridge.resistance=1000");
    REFUSE("load", "no capacitance", "cartridge.inductance=500", "cartridge.resistance=1000", "cable.capacitance=0",
           "arm.wire_capacitance=0", "preamp.capacitance=0");
    REFUSE("load", "not a unit", "cartridge.inductance=500mm");
}
END_TEST

// Of three leads the lowest suits a maker's 200 to 300 pF, with what lacks put across the input; 430 pF is too much.
START_TEST(the_lead_to_take_is_named)
{
#define SHELF                                                                                                          \
    "cartridge.inductance=500mH", "cartridge.resistance=1000ohm", "cable.capacitance=120pF",                           \
        "preamp.capacitance=100pF", "arm.wire_capacitance=30pF"
    DwSheet *sheet = COMPUTE("load", SHELF, "load.lead=300pF", "load.lead=60pF", "load.lead=150pF",
                             "cartridge.load_low=200pF", "cartridge.load_high=300pF");
    const DwTable *table = dw_sheet_table(sheet, "load.shelf");
    ck_assert_double_eq(dw_table_cell(table, 0, 1)->number, 430);
    ck_assert_str_eq(dw_table_cell(table, 0, 4)->word, "no, too much");
    ck_assert_double_eq(dw_table_cell(table, 1, 2)->number, 10);
    ck_assert(remarks(sheet, "take the one of 60 pF and put 10 pF across the input"));
    dw_sheet_free(sheet);
    sheet = COMPUTE("load", SHELF, "load.lead=400pF", "load.lead=300pF", "cartridge.load_high=300pF");
    ck_assert(remarks(sheet, "No lead on the shelf is low enough: the lowest makes 430 pF"));
    dw_sheet_free(sheet);
    sheet = COMPUTE("load", SHELF);
    ck_assert_ptr_null(dw_sheet_table(sheet, "load.shelf"));
    ck_assert_double_gt(value(sheet, "load.signal_to_noise_a"), value(sheet, "load.signal_to_noise"));
    dw_sheet_free(sheet);
}
END_TEST

DW_SUITE("load", the_lead_to_take_is_named, a_moving_magnet_by_the_table, the_curve_is_the_network,
         the_makers_range_rules_the_room, no_peak_is_said, a_moving_coil_and_its_step_up,
         hiss_of_the_coil_and_of_the_preamplifier, a_worn_lead_costs_level, bad_calls_say_what_to_give)
