// SPDX-License-Identifier: MIT
#include "procedure/load/load_coil.h"

#include "physics/loading_noise.h"

#include <math.h>

#define USUAL_OUTPUT_MV 5.0 // what a moving-magnet input is made for

bool dw_load_coil_is_moving(const DwInputs *inputs)
{
    return dw_inputs_in(inputs, "cartridge.inductance", "mH") < 5 &&
           dw_inputs_in(inputs, "cartridge.resistance", "ohm") < 250;
}

static double loss_db(double coil_ohm, double load_ohm)
{
    return -20 * log10(1 + coil_ohm / load_ohm);
}

static void add_loads(DwSheet *sheet, double coil_ohm)
{
    static const char *const columns[] = {"times|Load over coil||0", "load|Load|Ω|0", "loss|Level|dB|2", NULL};
    static const double times[] = {1, 2, 5, 10, 20};
    DwTable *table = dw_sheet_add_table(sheet, "load.coil_loads", "What a load costs in level", columns);
    for (size_t i = 0; i < sizeof times / sizeof *times; i++) {
        size_t row = dw_table_add_row(table);
        dw_table_set_number(table, row, 0, times[i]);
        dw_table_set_number(table, row, 1, times[i] * coil_ohm);
        dw_table_set_number(table, row, 2, loss_db(coil_ohm, times[i] * coil_ohm));
    }
}

static void add_ratios(DwSheet *sheet, const DwInputs *inputs, double coil_ohm)
{
    static const char *const columns[] = {"ratio|Step-up 1:||0", "load|Coil sees|Ω|0",       "times|Over the coil||1",
                                          "loss|Level|dB|2",     "output|At the input|mV|2", NULL};
    static const double ratios[] = {5, 10, 15, 20, 30, 40};
    double input_ohm = dw_inputs_in(inputs, "preamp.resistance", "ohm");
    double output_mv = dw_inputs_in(inputs, "cartridge.output", "mV");
    DwTable *table = dw_sheet_add_table(sheet, "load.ratios", "Step-up transformers into this input", columns);
    for (size_t i = 0; i < sizeof ratios / sizeof *ratios; i++) {
        double load = input_ohm / (ratios[i] * ratios[i]);
        size_t row = dw_table_add_row(table);
        dw_table_set_number(table, row, 0, ratios[i]);
        dw_table_set_number(table, row, 1, load);
        dw_table_set_number(table, row, 2, load / coil_ohm);
        dw_table_set_number(table, row, 3, loss_db(coil_ohm, load));
        dw_table_set_number(table, row, 4, output_mv * ratios[i] * pow(10, loss_db(coil_ohm, load) / 20));
    }
    if (!dw_inputs_given(inputs, "cartridge.output")) {
        dw_sheet_not_measured(sheet, "load.step_up_wanted", "Give cartridge.output, the coil's own.");
        return;
    }
    double wanted = dw_loading_step_up_ratio(output_mv, USUAL_OUTPUT_MV, coil_ohm, input_ohm);
    if (isfinite(wanted))
        dw_sheet_add_estimate(sheet, "load.step_up_wanted", "Step-up for 5 mV at the input, 1:", wanted, "", 1, NAN,
                              "ratio and loss together");
    else
        dw_sheet_not_measured(sheet, "load.step_up_wanted",
                              "No ratio reaches 5 mV into this input; the most comes at 1:%.0f.",
                              sqrt(input_ohm / coil_ohm));
}

// Of all that is A-weighted.
static const char a_method[] = "RIAA, 20 Hz to 20 kHz, A-weighting of IEC 61672-1; a tone of 1 kHz stays as it is";

void dw_load_coil_add(DwSheet *sheet, const DwInputs *inputs, const DwLoading *seen)
{
    double coil = dw_inputs_in(inputs, "cartridge.resistance", "ohm");
    double times = seen->load_resistance_ohm / coil;
    dw_sheet_add_estimate(sheet, "load.seen", "Load that the coil sees", seen->load_resistance_ohm, "Ω", 0, NAN,
                          "input over the square of the step-up");
    dw_sheet_add_estimate(sheet, "load.times", "Load over coil", times, "", 1, NAN, "ratio of resistances");
    if (times < 5)
        dw_sheet_remark(sheet,
                        "The coil is loaded with less than five times its resistance and loses %.1f dB; five to "
                        "ten times, or 100 Ω and more, is common practice (from memory).",
                        -loss_db(coil, seen->load_resistance_ohm));
    if (dw_inputs_given(inputs, "load.step_up"))
        dw_sheet_not_measured(sheet, "load.transformer",
                              "The transformer's own inductance, capacitance and resistance are "
                              "not counted; sweep it with the cartridge's resistance as source.");
    add_loads(sheet, coil);
    add_ratios(sheet, inputs, coil);
}

static double over_db(double signal_v, DwLoadingNoiseLevel level)
{
    return 20 * log10(signal_v / hypot(level.source_v, level.amplifier_v));
}

static void add_preamplifier(DwSheet *sheet, double signal_v, DwLoadingNoiseLevel level, DwLoadingNoiseLevel weighted)
{
    static const char method[] = "noise voltage and current on the network, RIAA, 20 Hz to 20 kHz";
    double together = hypot(level.source_v, level.amplifier_v);
    dw_sheet_add_estimate(sheet, "load.preamp_noise", "Preamplifier's hiss, equalised", level.amplifier_v * 1e6, "µV",
                          3, NAN, method);
    dw_sheet_add_estimate(sheet, "load.total_signal_to_noise", "Signal over all hiss", over_db(signal_v, level), "dB",
                          1, NAN, method);
    dw_sheet_add_estimate(sheet, "load.total_signal_to_noise_a", "Signal over all hiss, A-weighted",
                          over_db(signal_v, weighted), "dB", 1, NAN, a_method);
    double added = 20 * log10(together / level.source_v);
    dw_sheet_add_estimate(sheet, "load.noise_added", "Hiss that the preamplifier adds", added, "dB", 1, NAN, method);
    dw_sheet_remark(sheet,
                    added < 1 ? "The preamplifier adds %.1f dB: the cartridge itself sets the hiss, a quieter "
                                "preamplifier would hardly be heard."
                              : "The preamplifier adds %.1f dB of hiss to the cartridge's own.",
                    added);
}

static void add_hiss(DwSheet *sheet, double signal_v, double flat_v, double equalised_v, double weighted_v)
{
    static const char method[] = "thermal noise of coil and load, 20 Hz to 20 kHz";
    dw_sheet_add_estimate(sheet, "load.noise_flat", "Hiss of coil and load, flat", flat_v * 1e6, "µV", 3, NAN, method);
    dw_sheet_add_estimate(sheet, "load.noise", "Hiss of coil and load, equalised", equalised_v * 1e6, "µV", 3, NAN,
                          method);
    dw_sheet_add_estimate(sheet, "load.noise_a", "Hiss of coil and load, A-weighted", weighted_v * 1e6, "µV", 3, NAN,
                          a_method);
    dw_sheet_add_estimate(sheet, "load.signal_to_noise", "Signal over that hiss", 20 * log10(signal_v / equalised_v),
                          "dB", 1, NAN, method);
    dw_sheet_add_estimate(sheet, "load.signal_to_noise_a", "Signal over that hiss, A-weighted",
                          20 * log10(signal_v / weighted_v), "dB", 1, NAN, a_method);
}

void dw_load_coil_add_noise(DwSheet *sheet, const DwInputs *inputs, const DwLoading *seen)
{
    double ratio = dw_inputs_given(inputs, "load.step_up") ? dw_inputs_in(inputs, "load.step_up", "") : 1;
    double density_v = dw_inputs_in(inputs, "preamp.noise_voltage", "V/rtHz");
    DwLoadingNoise noise = {
        .voltage_v = isfinite(density_v) ? density_v / ratio : 0,
        .current_a = dw_inputs_in(inputs, "preamp.noise_current", "A/rtHz") * ratio,
        .temperature_k = dw_inputs_in(inputs, "load.temperature", "K"),
    };
    if (dw_load_coil_is_moving(inputs) && !dw_inputs_given(inputs, "cartridge.output")) {
        dw_sheet_not_measured(sheet, "load.signal_to_noise", "Give cartridge.output, the coil's own.");
        return;
    }
    // The sheet's output is understood as into 47 kΩ, as it is usually stated.
    double coil = dw_inputs_in(inputs, "cartridge.resistance", "ohm");
    double signal = dw_inputs_in(inputs, "cartridge.output", "V") *
                    pow(10, (loss_db(coil, seen->load_resistance_ohm) - loss_db(coil, 47e3)) / 20);
    DwLoadingNoiseLevel flat = dw_loading_noise(seen, &noise);
    noise.equalised = true;
    DwLoadingNoiseLevel equalised = dw_loading_noise(seen, &noise);
    noise.a_weighted = true;
    DwLoadingNoiseLevel weighted = dw_loading_noise(seen, &noise);
    add_hiss(sheet, signal, flat.source_v, equalised.source_v, weighted.source_v);
    if (isfinite(density_v))
        add_preamplifier(sheet, signal, equalised, weighted);
    else
        dw_sheet_not_measured(sheet, "load.preamp_noise",
                              "Give preamp.noise_voltage (and preamp.noise_current) from its sheet.");
}
