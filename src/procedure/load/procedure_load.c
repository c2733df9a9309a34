// SPDX-License-Identifier: MIT
#include "procedure/registry/procedures.h"

#include "procedure/load/load_coil.h"
#include "physics/load_network.h"

#include <math.h>

static double natural_hz(const DwLoading *loading)
{
    return dw_loading_shape(loading).natural_hz;
}

static double quality(const DwLoading *loading)
{
    return dw_loading_shape(loading).q;
}

static double peak_hz(const DwLoading *loading)
{
    double db, hz;
    return dw_loading_peak(loading, &db, &hz) ? hz : NAN;
}

static double peak_db(const DwLoading *loading)
{
    double db, hz;
    return dw_loading_peak(loading, &db, &hz) ? db : 0;
}

// How far VALUE moves when capacitance and inductance move by their spreads.
static double spread_of(double (*value)(const DwLoading *), const DwLoadNetwork *network)
{
    DwLoading other = network->seen;
    double middle = value(&network->seen), capacitance = 0, inductance = 0;
    for (int sign = -1; sign <= 1; sign += 2) {
        other = network->seen;
        // A spread wider than the capacitance itself stops at a tenth of it.
        other.load_capacitance_f =
            fmax(0.1 * other.load_capacitance_f, other.load_capacitance_f + sign * network->capacitance_spread_f);
        capacitance = fmax(capacitance, fabs(value(&other) - middle));
        other = network->seen;
        other.inductance_h += sign * network->inductance_spread_h;
        inductance = fmax(inductance, fabs(value(&other) - middle));
    }
    return hypot(capacitance, inductance);
}

static void add_shape(DwSheet *sheet, const DwInputs *inputs, const DwLoadNetwork *network)
{
    static const struct {
        const char *key, *label, *unit;
        int digits;
        double (*value)(const DwLoading *);
    } rows[] = {
        {"load.natural", "Electrical resonance", "Hz", 0, natural_hz},
        {"load.q", "Q", "", 2, quality},
        {"load.peak_frequency", "Peak at", "Hz", 0, peak_hz},
        {"load.peak", "Height of the peak", "dB", 2, peak_db},
        {"load.corner", "−3 dB at", "Hz", 0, dw_loading_corner_hz},
    };
    static const char method[] = "coil and load as a second-order network";
    bool peaks = isfinite(peak_hz(&network->seen));
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        if (!peaks && rows[i].value == peak_hz) {
            dw_sheet_not_measured(sheet, rows[i].key, "The response has no peak: its Q is below 0.71.");
            continue;
        }
        dw_sheet_add_estimate(sheet, rows[i].key, rows[i].label, rows[i].value(&network->seen), rows[i].unit,
                              rows[i].digits, spread_of(rows[i].value, network), method);
    }
    static const DwLoadingTip none = {0, 1};
    double top = dw_inputs_in(inputs, "load.top", "Hz");
    dw_sheet_add_estimate(sheet, "load.departure", "Greatest departure from level, electrical",
                          dw_loading_departure_db(&network->seen, &none, top), "dB", 2, NAN,
                          "20 Hz to the top frequency, re low frequencies");
    dw_sheet_add_estimate(sheet, "load.at_top", "Level at the top frequency",
                          dw_loading_response_db(&network->seen, top), "dB", 2, NAN, method);
    dw_sheet_add_estimate(sheet, "load.divider", "Level lost into the load",
                          dw_loading_shape(&network->seen).divider_db, "dB", 2, NAN,
                          "load resistance over load and coil");
}

static void add_capacitance(DwSheet *sheet, const DwInputs *inputs, const DwLoadNetwork *network)
{
    DwReading *total = dw_sheet_add_estimate(sheet, "load.capacitance", "Capacitance in all", network->total_pf, "pF",
                                             0, NAN, "arm wire + lead + input");
    if (!dw_inputs_given(inputs, "load.step_up"))
        total->uncertainty = network->capacitance_spread_f * 1e12;
    double low = dw_inputs_in(inputs, "cartridge.load_low", "pF"),
           high = dw_inputs_in(inputs, "cartridge.load_high", "pF");
    if (isfinite(low) || isfinite(high))
        dw_reading_set_limit(total, (DwRange){low, high}, (DwRange){NAN, NAN}, "the cartridge maker's range as given");
    if (!dw_inputs_given(inputs, "preamp.capacitance") || !dw_inputs_given(inputs, "arm.wire_capacitance"))
        dw_sheet_remark(sheet, "Arm wire or input were not given: usual values stand in, and the spreads say how much "
                               "that costs.");
}

// How many pF the load may still take, and what length of lead that is.
static void add_room(DwSheet *sheet, const DwInputs *inputs, const DwLoadNetwork *network, double best_pf)
{
    double limit = dw_inputs_in(inputs, "cartridge.load_high", "pF");
    bool maker = isfinite(limit);
    double room = (maker ? limit : best_pf) - network->total_pf;
    double per_metre = dw_inputs_in(inputs, "cable.capacitance_per_length", "pF/m");
    if (!isfinite(room))
        return;
    dw_sheet_add_estimate(sheet, "load.room",
                          maker ? "May be added up to the maker's limit" : "May be added up to the flattest load", room,
                          "pF", 0, network->capacitance_spread_f * 1e12, "limit less what is there");
    dw_sheet_add_estimate(sheet, "load.room_length", "As a length of lead", room / per_metre, "m", 2, NAN,
                          "over the lead's capacitance per length");
    double unused, lead = dw_load_network_lead_pf(inputs, &unused);
    if (room < -lead)
        dw_sheet_remark(sheet,
                        "There is %.0f pF too much, more than the whole lead has: no lead mends it. Lower the "
                        "input's capacitance or, where that is fixed, its resistance.",
                        -room);
    else if (room < 0)
        dw_sheet_remark(sheet,
                        "There is %.0f pF too much: %.2f m less of this lead, a lead of lower capacitance, or less "
                        "at the input.",
                        -room, -room / per_metre);
}

static void add_best(DwSheet *sheet, const DwInputs *inputs, const DwLoadNetwork *network, const DwLoadingTip *tip)
{
    double best = dw_loading_flat_capacitance_f(&network->seen);
    double resistance = dw_loading_flat_resistance_ohm(&network->seen);
    double top = dw_inputs_in(inputs, "load.top", "Hz");
    if (isfinite(best))
        dw_sheet_add_estimate(sheet, "load.best_capacitance", "Flattest capacitance at this resistance", best * 1e12,
                              "pF", 0, best * 1e12 * network->inductance_spread_h / network->seen.inductance_h,
                              "maximally flat, Q = 0.707");
    else
        dw_sheet_not_measured(sheet, "load.best_capacitance",
                              "The load resistance is below the coil's: no capacitance makes it flat.");
    if (isfinite(resistance))
        dw_sheet_add_estimate(sheet, "load.best_resistance", "Flattest resistance at this capacitance",
                              resistance / 1e3, "kΩ", 1, NAN, "maximally flat, Q = 0.707");
    else
        dw_sheet_not_measured(sheet, "load.best_resistance",
                              "No resistance makes it maximally flat at this capacitance.");
    double reference = 1 / (pow(2 * M_PI * top, 2) * network->seen.inductance_h);
    double least = dw_loading_least_departure_f(&network->seen, tip, top, reference / 30, reference * 30);
    DwLoading loading = network->seen;
    loading.load_capacitance_f = least;
    dw_sheet_add_estimate(sheet, "load.least_capacitance",
                          tip->frequency_hz > 0 ? "Capacitance of least departure, with the stylus"
                                                : "Capacitance of least departure",
                          least * 1e12, "pF", 0, NAN, "least greatest departure, 20 Hz to the top frequency");
    dw_sheet_add_estimate(sheet, "load.least_departure", "Departure left then",
                          dw_loading_departure_db(&loading, tip, top), "dB", 2, NAN,
                          "20 Hz to the top frequency, re low frequencies");
    add_room(sheet, inputs, network, (tip->frequency_hz > 0 ? least : best) * 1e12);
    if (tip->frequency_hz <= 0)
        dw_sheet_remark(sheet,
                        "This is the electrical part alone. Many cartridges are made to need some electrical rise "
                        "against a falling stylus: the maker's stated capacitance goes before the flattest sum. Give "
                        "cartridge.tip_resonance where it is known.");
}

// Says in plain words what another metre of lead and a resistor across the input do.
static void remark_changes(DwSheet *sheet, const DwInputs *inputs, const DwLoadNetwork *network)
{
    double metre_pf = dw_inputs_in(inputs, "cable.capacitance_per_length", "pF/m");
    DwLoading longer = network->seen;
    longer.load_capacitance_f += metre_pf * 1e-12;
    dw_sheet_remark(
        sheet, "Another metre of lead (%.0f pF) moves the −3 dB point from %.1f to %.1f kHz and 15 kHz by %+.1f dB.",
        metre_pf, dw_loading_corner_hz(&network->seen) / 1e3, dw_loading_corner_hz(&longer) / 1e3,
        dw_loading_response_db(&longer, 15e3) - dw_loading_response_db(&network->seen, 15e3));
    double wanted = dw_loading_flat_resistance_ohm(&network->seen), present = network->seen.load_resistance_ohm;
    if (wanted < present * 0.97)
        dw_sheet_remark(sheet,
                        "A resistor of %.0f kΩ across the input makes the load %.1f kΩ, the flattest at this "
                        "capacitance.",
                        1e-3 / (1 / wanted - 1 / present), wanted / 1e3);
}

static void set_response_row(DwTable *table, size_t row, double first, const DwLoading *loading)
{
    dw_table_set_number(table, row, 0, first);
    dw_table_set_number(table, row, 1, peak_db(loading));
    dw_table_set_number(table, row, 2, peak_hz(loading));
    dw_table_set_number(table, row, 3, dw_loading_corner_hz(loading));
    for (size_t i = 0; i < 3; i++)
        dw_table_set_number(table, row, 4 + i, dw_loading_response_db(loading, 10e3 + 5e3 * (double)i));
}

// What a wrong lead or a wrong input resistance costs.
static void add_tables(DwSheet *sheet, const DwLoadNetwork *network)
{
    static const char *const by_capacitance[] = {
        "capacitance|In all|pF|0", "peak|Peak|dB|2",     "peak_frequency|At|Hz|0", "corner|−3 dB|Hz|0",
        "at_10k|10 kHz|dB|2",      "at_15k|15 kHz|dB|2", "at_20k|20 kHz|dB|2",     NULL};
    static const char *const by_resistance[] = {
        "resistance|Load|kΩ|1", "peak|Peak|dB|2",     "peak_frequency|At|Hz|0", "corner|−3 dB|Hz|0",
        "at_10k|10 kHz|dB|2",   "at_15k|15 kHz|dB|2", "at_20k|20 kHz|dB|2",     NULL};
    static const double steps_pf[] = {-150, -100, -50, 0, 50, 100, 150, 200, 300};
    static const double loads_ohm[] = {33e3, 47e3, 68e3, 100e3};
    DwTable *table =
        dw_sheet_add_table(sheet, "load.capacitances", "What more or less capacitance does", by_capacitance);
    for (size_t i = 0; i < sizeof steps_pf / sizeof *steps_pf; i++) {
        DwLoading loading = network->seen;
        loading.load_capacitance_f += steps_pf[i] * 1e-12;
        if (loading.load_capacitance_f > 10e-12)
            set_response_row(table, dw_table_add_row(table), network->total_pf + steps_pf[i], &loading);
    }
    table = dw_sheet_add_table(sheet, "load.resistances", "What another load resistance does", by_resistance);
    for (size_t i = 0; i < sizeof loads_ohm / sizeof *loads_ohm; i++) {
        DwLoading loading = network->seen;
        loading.load_resistance_ohm = loads_ohm[i];
        set_response_row(table, dw_table_add_row(table), loads_ohm[i] / 1e3, &loading);
    }
}

static void add_curve(DwSheet *sheet, const char *key, const char *label, const DwLoading *loading,
                      const DwLoadingTip *tip)
{
    enum { POINTS = 241 };
    DwCurve *curve = dw_sheet_add_curve(sheet, key, label, (DwAxis){"Frequency", "Hz"},
                                        (DwAxis){"Level re low frequencies", "dB"}, POINTS);
    for (size_t i = 0; i < POINTS; i++) {
        double frequency = 50 * pow(500, (double)i / (POINTS - 1));
        curve->x_values[i] = frequency;
        curve->y_values[i] = dw_loading_response_db(loading, frequency) + dw_loading_tip_db(tip, frequency);
    }
}

static void add_curves(DwSheet *sheet, const DwLoadNetwork *network, const DwLoadingTip *tip)
{
    static const DwLoadingTip none = {0, 1};
    add_curve(sheet, "load.response", "as it is, electrical", &network->seen, &none);
    DwLoading best = network->seen;
    best.load_capacitance_f = dw_loading_flat_capacitance_f(&best);
    if (isfinite(best.load_capacitance_f))
        add_curve(sheet, "load.response_flattest", "flattest capacitance, electrical", &best, &none);
    if (tip->frequency_hz > 0)
        add_curve(sheet, "load.response_with_stylus", "as it is, with the stylus", &network->seen, tip);
}

// What a bad contact in series or a leaking lead takes away.
static void add_worn_lead(DwSheet *sheet, const DwInputs *inputs, const DwLoadNetwork *network)
{
    double contact = dw_inputs_in(inputs, "cable.contact_resistance", "ohm");
    double leakage = dw_inputs_in(inputs, "cable.leakage_resistance", "ohm");
    if (!isfinite(contact) && !isfinite(leakage))
        return;
    if (dw_inputs_given(inputs, "load.step_up")) {
        dw_sheet_not_measured(sheet, "load.lead_loss",
                              "Not computed with a step-up: say on which side of it the fault lies.");
        return;
    }
    DwLoading worn = network->seen;
    if (isfinite(contact))
        worn.resistance_ohm += contact;
    if (isfinite(leakage))
        worn.load_resistance_ohm = 1 / (1 / worn.load_resistance_ohm + 1 / leakage);
    static const struct {
        const char *key, *label;
        double frequency_hz;
    } rows[] = {{"load.lead_loss", "Lost by the worn lead at 1 kHz", 1e3},
                {"load.lead_loss_10k", "and at 10 kHz", 10e3}};
    double divider = dw_loading_shape(&worn).divider_db - dw_loading_shape(&network->seen).divider_db;
    for (size_t i = 0; i < 2; i++) {
        double change = divider + dw_loading_response_db(&worn, rows[i].frequency_hz) -
                        dw_loading_response_db(&network->seen, rows[i].frequency_hz);
        dw_sheet_add_estimate(sheet, rows[i].key, rows[i].label, -change, "dB", 2, NAN,
                              "network with the fault less network without");
    }
    dw_sheet_remark(sheet, "A fault in one channel only shows as that much imbalance between the channels.");
}

static DwStatus check(const DwInputs *inputs, DwMessage *message)
{
    if (!dw_inputs_given(inputs, "cartridge.inductance") || !dw_inputs_given(inputs, "cartridge.resistance"))
        return dw_fail(
            message, DW_BAD_INPUT,
            "load needs the coil: give cartridge.inductance=500mH and cartridge.resistance=1kohm from its sheet.");
    if (!dw_inputs_given(inputs, "cable.capacitance") && !dw_inputs_given(inputs, "cable.length"))
        return dw_fail(message, DW_BAD_INPUT,
                       "load needs the lead: give cable.capacitance=120pF or cable.length=1.2m.");
    if (dw_inputs_in(inputs, "cartridge.load_low", "pF") > dw_inputs_in(inputs, "cartridge.load_high", "pF"))
        return dw_fail(message, DW_BAD_INPUT,
                       "cartridge.load_low is greater than cartridge.load_high. Are the two exchanged?");
    double unused;
    if (dw_load_network_lead_pf(inputs, &unused) + dw_inputs_in(inputs, "arm.wire_capacitance", "pF") +
            dw_inputs_in(inputs, "preamp.capacitance", "pF") <=
        0)
        return dw_fail(message, DW_BAD_INPUT,
                       "Arm wire, lead and input come to no capacitance at all. Give what is there.");
    return DW_OK;
}

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    const DwInputs *inputs = request->inputs;
    DwStatus status = check(inputs, message);
    if (status != DW_OK)
        return status;
    DwLoadNetwork network = dw_load_network_find(inputs);
    double tip_hz = dw_inputs_in(inputs, "cartridge.tip_resonance", "Hz");
    DwLoadingTip tip = {isfinite(tip_hz) ? tip_hz : 0, dw_inputs_in(inputs, "cartridge.tip_q", "")};
    add_capacitance(sheet, inputs, &network);
    add_shape(sheet, inputs, &network);
    bool moving_coil = dw_load_coil_is_moving(inputs);
    if (moving_coil || dw_inputs_given(inputs, "load.step_up")) {
        dw_load_coil_add(sheet, inputs, &network.seen);
        dw_sheet_not_measured(
            sheet, "load.best_capacitance",
            "For a moving coil or a step-up the load resistance matters, not the lead's capacitance.");
        if (dw_inputs_given(inputs, "load.lead"))
            dw_sheet_not_measured(sheet, "load.shelf", "Any lead serves a moving coil: its capacitance hardly counts.");
    } else {
        add_best(sheet, inputs, &network, &tip);
        dw_load_shelf_add(sheet, inputs, &network, &tip);
        add_tables(sheet, &network);
        remark_changes(sheet, inputs, &network);
    }
    add_worn_lead(sheet, inputs, &network);
    dw_load_coil_add_noise(sheet, inputs, &network.seen);
    add_curves(sheet, &network, &tip);
    dw_sheet_remark(sheet,
                    "A real coil's inductance falls and its losses rise with frequency, so the true peak is lower "
                    "and broader than this sum.");
    dw_sheet_caution(sheet,
                     "Never put an ohmmeter across a moving-coil cartridge: its current can magnetise or burn the "
                     "coil. Unplug the cartridge's clips before measuring arm wire or leads.");
    dw_sheet_caution(sheet, "Turn the amplifier's volume down before a lead is unplugged; leave the stylus guard on.");
    return DW_OK;
}

static const char *const quantities[] = {"arm.name",
                                         "cartridge.inductance",
                                         "cartridge.resistance",
                                         "cable.capacitance",
                                         "cable.length",
                                         "cable.capacitance_per_length",
                                         "arm.wire_capacitance",
                                         "preamp.resistance",
                                         "preamp.capacitance",
                                         "cartridge.load_low",
                                         "cartridge.load_high",
                                         "cartridge.inductance_tolerance",
                                         "cartridge.tip_resonance",
                                         "cartridge.tip_q",
                                         "load.top",
                                         "load.lead",
                                         "load.step_up",
                                         "cartridge.output",
                                         "preamp.noise_voltage",
                                         "preamp.noise_current",
                                         "load.temperature",
                                         "cable.contact_resistance",
                                         "cable.leakage_resistance",
                                         NULL};

const DwProcedure dw_procedure_load = {
    .name = "load",
    .title = "Cartridge loading",
    .summary = "Work out the electrical response into arm wire, lead and input: the flattest load, room for lead, "
               "moving coil, hiss.",
    .quantities = quantities,
    .run = run,
};
