// SPDX-License-Identifier: MIT
#include "procedure/registry/procedures.h"

#include "base/tongue.h"
#include "physics/force.h"
#include "physics/resonance.h"

#include <math.h>

// Below this warps live, above that the recorded sound begins; common practice.
#define WARP_HZ 6.0
#define AUDIO_HZ 20.0

// One direction's resonance and how far it may be off either way.
typedef struct {
    double hz, low_hz, high_hz;
    double mass_g, compliance;
} Direction;

// What sweeps of this very arm found; it counts for more than any sheet.
typedef struct {
    bool is_known;
    double hz, half_width_hz, mass_g, mass_half_width_g, compliance;
} Swept;

// The resonance as found, with MASS_G in place of the mass that it was found with.
static Direction swept_direction(const Swept *swept, double mass_g)
{
    double hz = swept->hz * sqrt(swept->mass_g / mass_g), share = fmin(swept->half_width_hz / swept->hz, 0.9);
    return (Direction){hz, hz * (1 - share), hz * (1 + share), mass_g, swept->compliance};
}

// Mass and sample spread add to the band of the compliance as independent errors.
static Direction direction(const DwInputs *inputs, double mass_g, double stated)
{
    DwComplianceBand band =
        dw_resonance_compliance_at_10hz(stated, dw_inputs_in(inputs, "cartridge.compliance_frequency", "Hz"));
    double mass_share = dw_inputs_in(inputs, "arm.mass_tolerance", "g") / mass_g;
    double sample = dw_inputs_in(inputs, "cartridge.compliance_tolerance", "fraction");
    double common = hypot(mass_share, sample);
    Direction result = {.hz = dw_resonance_hz(mass_g, band.likely), .mass_g = mass_g, .compliance = band.likely};
    result.low_hz = result.hz * exp(-0.5 * hypot(common, log(band.high / band.likely)));
    result.high_hz = result.hz * exp(0.5 * hypot(common, log(band.likely / band.low)));
    return result;
}

static void add_direction(DwSheet *sheet, const char *key, const char *label, const Direction *found, bool swept,
                          bool unsaid)
{
    double spread = fmax(found->hz - found->low_hz, found->high_hz - found->hz);
    DwReading *reading = dw_sheet_add_estimate(sheet, key, label, found->hz, "Hz", 1, spread,
                                               swept ? "as the sweep found it, for this direction's mass"
                                                     : "1/(2π√(mass × compliance at 10 Hz))");
    if (unsaid)
        reading->flags |= DW_FLAG_APPROXIMATE;
}

static void add_band_row(DwTable *table, const char *label, const Direction *found)
{
    size_t row = dw_table_add_row(table);
    dw_table_set_word(table, row, 0, label);
    dw_table_set_number(table, row, 1, found->mass_g);
    dw_table_set_number(table, row, 2, found->compliance);
    dw_table_set_number(table, row, 3, found->low_hz);
    dw_table_set_number(table, row, 4, found->hz);
    dw_table_set_number(table, row, 5, found->high_hz);
}

static void add_added_mass(DwSheet *sheet, const DwInputs *inputs, const Direction *found, const Swept *swept)
{
    double target = dw_inputs_in(inputs, "resonance.target", "Hz");
    double added = dw_resonance_mass_g(target, found->compliance) - found->mass_g;
    double share = fmax(found->hz / found->low_hz, found->high_hz / found->hz);
    double spread = dw_resonance_mass_g(target, found->compliance) * (share * share - 1);
    if (swept->is_known) // the compliance follows from this mass, too
        spread = hypot(2 * (added + found->mass_g) * swept->half_width_hz / swept->hz,
                       added / found->mass_g * swept->mass_half_width_g);
    dw_sheet_add_estimate(sheet, "resonance.added", "Mass to add for the wanted resonance", added, "g", 1, spread,
                          "1/((2πf)² × compliance) less the present mass");
    if (found->hz > 12)
        dw_sheet_remark(sheet,
                        "The resonance is high, near the lowest sounds. About %.0f g more at the headshell (a heavier "
                        "shell or a plate under the cartridge) brings it to %.0f Hz; rebalance, and count "
                        "the counterweight's share.",
                        added, target);
    else if (found->hz < 8)
        dw_sheet_remark(sheet,
                        "The resonance is low, where warps excite it. It takes %.0f g less moving mass (lighter "
                        "headshell, screws, cartridge) or a stiffer cartridge to reach %.0f Hz; arm damping lowers "
                        "the peak but does not move it.",
                        -added, target);
    else
        dw_sheet_remark(sheet, "The resonance lies between warps (below about %.0f Hz) and sound (from %.0f Hz).",
                        WARP_HZ, AUDIO_HZ);
    if (!swept->is_known && (found->low_hz < 7 || found->high_hz > 14))
        dw_sheet_remark(sheet,
                        "The band reaches from %.1f to %.1f Hz: a sweep of a test record says more than the sheet's "
                        "compliance does.",
                        found->low_hz, found->high_hz);
}

static void add_response(DwSheet *sheet, const Direction *found, double q)
{
    enum { POINTS = 201 };
    DwCurve *curve = dw_sheet_add_curve(sheet, "resonance.response", "Cartridge output for equal groove movement",
                                        (DwAxis){"Frequency", "Hz"},
                                        (DwAxis){"Output over that well above resonance", "dB"}, POINTS);
    for (size_t i = 0; i < POINTS; i++) {
        curve->x_values[i] = 2 * pow(25, (double)i / (POINTS - 1));
        curve->y_values[i] = dw_resonance_output_db(curve->x_values[i], found->hz, q);
    }
    double peak_db, peak_hz;
    if (dw_resonance_peak(found->hz, q, &peak_db, &peak_hz))
        dw_sheet_add_estimate(sheet, "resonance.peak", "Height of the peak", peak_db, "dB", 1, NAN,
                              "second-order response with the Q given");
    else
        dw_sheet_not_measured(sheet, "resonance.peak", "With a Q of %.2f there is no peak.", q);
    dw_sheet_add_estimate(sheet, "resonance.at_20hz", "Response at 20 Hz",
                          dw_resonance_output_db(AUDIO_HZ, found->hz, q), "dB", 1, NAN,
                          "second-order response with the Q given");
}

// What warps of usual size do; heights are peak to peak.
static void add_warps(DwSheet *sheet, const Direction *found, double q, double force_g)
{
    static const struct {
        const char *name;
        double height_mm, frequency_hz;
    } warps[] = {{"dish, once per turn at 33⅓", 1, 0.556},
                 {"saddle, twice per turn", 1, 1.111},
                 {N_("ripple"), 0.2, 4},
                 {"pimple or ridge", 0.1, 8}};
    static const char *const columns[] = {"warp|Warp||",
                                          "height|Peak to peak|mm|1",
                                          "frequency|At|Hz|2",
                                          "force|Force up and down|mN|2",
                                          "share|Of the tracking force|%|0",
                                          NULL};
    DwTable *table = dw_sheet_add_table(sheet, "resonance.warps", "What warps add to and take from the force", columns);
    for (size_t i = 0; i < sizeof warps / sizeof *warps; i++) {
        double force =
            dw_resonance_warp_force_mn(found->mass_g, found->hz, q, warps[i].height_mm / 2, warps[i].frequency_hz);
        size_t row = dw_table_add_row(table);
        dw_table_set_word(table, row, 0, warps[i].name);
        dw_table_set_number(table, row, 1, warps[i].height_mm);
        dw_table_set_number(table, row, 2, warps[i].frequency_hz);
        dw_table_set_number(table, row, 3, force);
        if (isfinite(force_g))
            dw_table_set_number(table, row, 4, force / (force_g * DW_FORCE_MN_PER_G) * 100);
    }
}

static double hung_mass_g(const DwInputs *inputs)
{
    return dw_inputs_in(inputs, "cartridge.mass", "g") + dw_inputs_in(inputs, "cartridge.hardware_mass", "g");
}

static void add_band(DwSheet *sheet, const Direction *sideways, const Direction *upright, bool swept)
{
    const char *const columns[] = {"direction|Direction||",
                                   "mass|Moving mass|g|1",
                                   swept ? "compliance|Compliance, found|µm/mN|1"
                                         : "compliance|Compliance at 10 Hz|µm/mN|1",
                                   "low|From|Hz|1",
                                   "likely|Likely|Hz|1",
                                   "high|To|Hz|1",
                                   NULL};
    DwTable *table = dw_sheet_add_table(sheet, "resonance.band", "How far the resonance may be off", columns);
    add_band_row(table, "lateral", sideways);
    add_band_row(table, "vertical", upright);
}

static void remark_compliance(DwSheet *sheet, const DwInputs *inputs)
{
    double stated_hz = dw_inputs_in(inputs, "cartridge.compliance_frequency", "Hz");
    if (!dw_inputs_given(inputs, "cartridge.compliance_frequency"))
        dw_sheet_remark(sheet,
                        "The sheet's compliance has no frequency: taken as at 10 Hz, with a band from static (×0.4) to "
                        "100 Hz (×2). Ask which it is and give cartridge.compliance_frequency.");
    else if (stated_hz != 10)
        dw_sheet_remark(
            sheet,
            "Compliance stated at %.0f Hz converts to 10 Hz by a rule of thumb (100 Hz: ×1.5 to ×2; static: "
            "×0.4 to ×1); the band carries that.",
            stated_hz);
}

// What the maker's figures would have said beside what was found.
static void remark_swept(DwSheet *sheet, const Swept *swept, const Direction *stated)
{
    bool agrees =
        swept->hz + swept->half_width_hz > stated->low_hz && swept->hz - swept->half_width_hz < stated->high_hz;
    dw_sheet_remark(
        sheet,
        "The sweep counts: %.1f Hz as found. By the stated mass and compliance it would be %.1f Hz (%.1f to %.1f)%s",
        swept->hz, stated->hz, stated->low_hz, stated->high_hz,
        agrees ? "." : ": one of them is not what this cartridge or arm has.");
}

// Where the two resonances lie: as the sweep found them, else as the sheet's figures say.
static void add_expected(DwSheet *sheet, const DwInputs *inputs, const Swept *swept)
{
    double arm = dw_inputs_in(inputs, "arm.effective_mass", "g"),
           lateral = dw_inputs_in(inputs, "arm.lateral_mass", "g"), hung = hung_mass_g(inputs);
    double compliance = dw_inputs_in(inputs, "cartridge.compliance", "um/mN");
    double vertical_compliance = dw_inputs_in(inputs, "cartridge.compliance_vertical", "um/mN");
    bool stated = isfinite(arm + hung + compliance);
    if (!stated && !swept->is_known) {
        dw_sheet_not_measured(sheet, "resonance.lateral",
                              "Give arm.effective_mass, cartridge.mass and cartridge.compliance.");
        return;
    }
    Direction sideways = {0}, upright = {0};
    if (stated) {
        sideways = direction(inputs, (isfinite(lateral) ? lateral : arm) + hung, compliance);
        upright = direction(inputs, arm + hung, isfinite(vertical_compliance) ? vertical_compliance : compliance);
    }
    if (swept->is_known && stated)
        remark_swept(sheet, swept, &upright);
    if (swept->is_known) {
        sideways = swept_direction(swept, swept->mass_g + (isfinite(lateral - arm) ? lateral - arm : 0));
        upright = swept_direction(swept, swept->mass_g);
    }
    bool unsaid = !swept->is_known && !dw_inputs_given(inputs, "cartridge.compliance_frequency");
    add_direction(sheet, "resonance.lateral", "Lateral resonance", &sideways, swept->is_known, unsaid);
    add_direction(sheet, "resonance.vertical", "Vertical resonance", &upright, swept->is_known, unsaid);
    add_band(sheet, &sideways, &upright, swept->is_known);
    if (!isfinite(lateral))
        dw_sheet_remark(sheet, "The lateral resonance assumes the vertical effective mass; arms whose base or weights "
                               "turn only sideways lie lower. Give arm.lateral_mass where it is known.");
    if (stated)
        remark_compliance(sheet, inputs);
    double q = dw_inputs_in(inputs, "resonance.q", "");
    add_added_mass(sheet, inputs, &upright, swept);
    add_response(sheet, &upright, q);
    add_warps(sheet, &upright, q, dw_inputs_in(inputs, "force.target", "g"));
}

// The added mass as the arm feels it: the counterweight goes out to balance it.
static double added_effect_g(DwSheet *sheet, const DwInputs *inputs)
{
    double added = dw_inputs_in(inputs, "resonance.added_mass", "g");
    double weight = dw_inputs_in(inputs, "arm.counterweight_mass", "g");
    double place = dw_inputs_in(inputs, "arm.counterweight_position", "mm");
    double length = dw_inputs_in(inputs, "arm.effective_length", "mm");
    if (isfinite(weight + place + length))
        return added +
               dw_force_mass_change_g(weight, place, place - dw_force_shift_mm(0, added, length, weight), length);
    dw_sheet_remark(sheet,
                    "Rebalancing moves the counterweight out, which adds up to a third to the added mass. Give "
                    "arm.counterweight_mass, arm.counterweight_position and arm.effective_length to count it; without "
                    "them the mass found is too small by that share.");
    return added;
}

// Two sweeps, without and with a known mass.
static DwStatus add_two(DwSheet *sheet, const DwInputs *inputs, Swept *swept, DwMessage *message)
{
    double plain = dw_inputs_in(inputs, "resonance.found", "Hz"),
           loaded = dw_inputs_in(inputs, "resonance.found_loaded", "Hz");
    DwResonanceFound found;
    if (loaded >= plain)
        return dw_fail(message, DW_BAD_INPUT,
                       "The resonance with the added mass (%.2f Hz) is not lower than without (%.2f Hz). Are the two "
                       "exchanged, or was the mass too small to see?",
                       loaded, plain);
    double error = dw_inputs_in(inputs, "resonance.found_error", "Hz");
    dw_resonance_from_two(plain, loaded, added_effect_g(sheet, inputs), error, &found);
    *swept = (Swept){true, plain, 1.96 * error, found.mass_g, 1.96 * found.mass_deviation_g, found.compliance};
    static const char method[] = "two resonances, with and without a known mass";
    dw_sheet_add_estimate(sheet, "resonance.mass", "Moving mass, found", found.mass_g, "g", 1,
                          1.96 * found.mass_deviation_g, method);
    dw_sheet_add_estimate(sheet, "resonance.compliance", "Compliance at the resonance, found", found.compliance,
                          "µm/mN", 1, 1.96 * found.compliance_deviation, method);
    if (isfinite(hung_mass_g(inputs)))
        dw_sheet_add_estimate(sheet, "resonance.arm_mass", "Effective mass of the arm, found",
                              found.mass_g - hung_mass_g(inputs), "g", 1, 1.96 * found.mass_deviation_g, method);
    else
        dw_sheet_not_measured(sheet, "resonance.arm_mass", "Give cartridge.mass to take it off the mass found.");
    if (plain - loaded < 4 * error)
        dw_sheet_remark(
            sheet, "The two resonances lie only %.2f Hz apart, little more than their reading error. Add more mass.",
            plain - loaded);
    return DW_OK;
}

// One sweep: with the mass known, the compliance follows.
static void add_one(DwSheet *sheet, const DwInputs *inputs, Swept *swept)
{
    double found = dw_inputs_in(inputs, "resonance.found", "Hz"),
           mass = dw_inputs_in(inputs, "arm.effective_mass", "g") + hung_mass_g(inputs);
    if (!isfinite(mass)) {
        dw_sheet_not_measured(
            sheet, "resonance.compliance",
            "Give arm.effective_mass and cartridge.mass, or a second sweep (resonance.found_loaded and "
            "resonance.added_mass).");
        return;
    }
    double compliance = dw_resonance_compliance(found, mass);
    *swept = (Swept){true,
                     found,
                     1.96 * dw_inputs_in(inputs, "resonance.found_error", "Hz"),
                     mass,
                     dw_inputs_in(inputs, "arm.mass_tolerance", "g"),
                     compliance};
    double share = hypot(2 * 1.96 * dw_inputs_in(inputs, "resonance.found_error", "Hz") / found,
                         dw_inputs_in(inputs, "arm.mass_tolerance", "g") / mass);
    dw_sheet_add_estimate(sheet, "resonance.compliance", "Compliance at the resonance, found", compliance, "µm/mN", 1,
                          compliance * share, "1/((2πf)² × moving mass)");
}

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    const DwInputs *inputs = request->inputs;
    bool found = dw_inputs_given(inputs, "resonance.found");
    bool second = dw_inputs_given(inputs, "resonance.found_loaded"),
         added = dw_inputs_given(inputs, "resonance.added_mass");
    if (second != added || (second && !found))
        return dw_fail(message, DW_BAD_INPUT,
                       "Two sweeps need all of resonance.found, resonance.found_loaded and resonance.added_mass.");
    if (!found && !dw_inputs_given(inputs, "cartridge.compliance"))
        return dw_fail(
            message, DW_BAD_INPUT,
            "resonance needs cartridge.compliance with arm.effective_mass and cartridge.mass, or resonance.found "
            "from a sweep.");
    DwStatus status = DW_OK;
    Swept swept = {.is_known = false};
    if (second)
        status = add_two(sheet, inputs, &swept, message);
    else if (found)
        add_one(sheet, inputs, &swept);
    if (status != DW_OK)
        return status;
    add_expected(sheet, inputs, &swept);
    dw_sheet_caution(sheet,
                     "Weights at the headshell: fasten them with the stylus guard on, rebalance, and set the force "
                     "again before the stylus meets a record.");
    return DW_OK;
}

static const char *const quantities[] = {"arm.name",
                                         "arm.effective_mass",
                                         "arm.mass_tolerance",
                                         "arm.lateral_mass",
                                         "cartridge.mass",
                                         "cartridge.hardware_mass",
                                         "cartridge.compliance",
                                         "cartridge.compliance_frequency",
                                         "cartridge.compliance_vertical",
                                         "cartridge.compliance_tolerance",
                                         "resonance.q",
                                         "resonance.target",
                                         "force.target",
                                         "resonance.found",
                                         "resonance.found_loaded",
                                         "resonance.added_mass",
                                         "resonance.found_error",
                                         "arm.effective_length",
                                         "arm.counterweight_mass",
                                         "arm.counterweight_position",
                                         NULL};

const DwProcedure dw_procedure_resonance = {
    .name = "resonance",
    .title = "Arm and cartridge resonance",
    .summary = "Work out where the arm's mass resonates on the cartridge's compliance, what brings it into range, and "
               "mass and compliance from what was found.",
    .quantities = quantities,
    .run = run,
};
