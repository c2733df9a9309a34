// SPDX-License-Identifier: MIT
#include "procedure/align/parts.h"

#include "base/text.h"
#include "physics/force.h"
#include "physics/skating.h"

#include <math.h>
#include <stdlib.h>

// What skating is computed from; the lengths are NAN when only the offset is known.
typedef struct {
    double pivot_mm, length_mm;
    double force_mn;    // as read, or the wanted one where nothing was read
    double wanted_mn;   // what the anti-skating is to be set for
    bool is_read;       // force_mn was read
    double friction[3]; // as likely, least, greatest
} Skating;

static void add_skating_curves(DwSheet *sheet, const Skating *skating)
{
    static const char *const keys[] = {"skating.force", "skating.force_low", "skating.force_high"};
    static const char *const labels[] = {"likely friction", "least friction", "greatest friction"};
    enum { POINTS = 47 };
    for (size_t k = 0; k < 3; k++) {
        DwCurve *curve = dw_sheet_add_curve(sheet, keys[k], labels[k], (DwAxis){"Groove radius", "mm"},
                                            (DwAxis){"Skating force", "mN"}, POINTS);
        for (size_t i = 0; i < POINTS; i++) {
            curve->x_values[i] = 56 + 2.0 * (double)i;
            double angle = dw_skating_angle(skating->pivot_mm, skating->length_mm, curve->x_values[i]);
            curve->y_values[i] =
                dw_skating_at(skating->friction[k], skating->force_mn, skating->length_mm, angle).radial_mn;
        }
    }
}

static void add_skating_table(DwSheet *sheet, const Skating *skating)
{
    static const char *const columns[] = {"radius|Radius|mm|0",
                                          "angle|Angle|deg|2",
                                          "radial|Side force|mN|2",
                                          "share|Of the force|%|1",
                                          "across|Square to the arm|mN|2",
                                          "torque|Torque|µN·m|0",
                                          NULL};
    char *title = dw_text_format("Skating by radius at %.2f g, likely friction", skating->force_mn / DW_FORCE_MN_PER_G);
    DwTable *table = dw_sheet_add_table(sheet, "skating.table", title, columns);
    free(title);
    for (double radius = 60; radius < 146; radius += 10) {
        double angle = dw_skating_angle(skating->pivot_mm, skating->length_mm, radius);
        DwSkating there = dw_skating_at(skating->friction[0], skating->force_mn, skating->length_mm, angle);
        size_t row = dw_table_add_row(table);
        dw_table_set_number(table, row, 0, radius);
        dw_table_set_number(table, row, 1, angle * 180 / M_PI);
        dw_table_set_number(table, row, 2, there.radial_mn);
        dw_table_set_number(table, row, 3, there.radial_mn / skating->force_mn * 100);
        dw_table_set_number(table, row, 4, there.across_mn);
        dw_table_set_number(table, row, 5, there.torque_unm);
    }
}

// The mean of the angle's tangent over the side, or at one radius.
static double mean_tangent(const Skating *skating, double radius_mm)
{
    if (isfinite(radius_mm))
        return tan(dw_skating_angle(skating->pivot_mm, skating->length_mm, radius_mm));
    double sum = 0;
    int count = 0;
    for (double radius = 60; radius <= 146; radius += 2) {
        sum += tan(dw_skating_angle(skating->pivot_mm, skating->length_mm, radius));
        count++;
    }
    return sum / count;
}

// FORCES_MN are square to the arm; TANGENT is that of the angle to the groove.
static void remark_bias(DwSheet *sheet, const double forces_mn[3], double tangent)
{
    dw_sheet_remark(sheet,
                    "Start the anti-skating at %.2f mN (%.2f g), pulled at the stylus square to the arm (the skating "
                    "force that it holds pulls towards the spindle with %.2f mN); anything from %.1f to %.1f mN can be "
                    "right, because friction changes with tip, record and modulation. Settle "
                    "it on 300 Hz bands: both channels shall begin to break up at the same step.",
                    forces_mn[0], forces_mn[0] / DW_FORCE_MN_PER_G, forces_mn[0] * sqrt(1 + tangent * tangent),
                    forces_mn[1], forces_mn[2]);
    dw_sheet_remark(sheet, "The pull is towards the spindle: the inner wall (left) carries more and the right channel "
                           "mistracks first. The figures on an anti-skating dial are tracking forces, not side forces; "
                           "a blank disc or the cantilever's lean does not show the right setting.");
}

// LABEL, with the force that it is for where that is not the one read.
static void add_pull(DwSheet *sheet, const Skating *skating, const char *key, const char *label, double value,
                     const char *unit, int digits, double spread, const char *method, unsigned flags)
{
    char *full = dw_text_format("%s%s", label, skating->is_read ? "" : ", at the wanted force");
    dw_sheet_add_estimate(sheet, key, full, value, unit, digits, spread, method)->flags = flags;
    free(full);
}

static void add_skating_readings(DwSheet *sheet, const Skating *skating, double tangent, bool approximate)
{
    double forces[3];
    for (int k = 0; k < 3; k++)
        forces[k] = skating->friction[k] * skating->force_mn * tangent;
    double spread = fmax(fabs(forces[0] - forces[1]), fabs(forces[2] - forces[0]));
    static const char method[] = "friction × tracking force × tangent of the angle to the groove",
                      walls_method[] = "45° groove walls";
    unsigned flags = approximate ? DW_FLAG_APPROXIMATE : 0;
    add_pull(sheet, skating, "skating.force", "Skating force", forces[0], "mN", 2, spread, method, flags);
    add_pull(sheet, skating, "skating.force_g", "Skating force", forces[0] / DW_FORCE_MN_PER_G, "g", 2,
             spread / DW_FORCE_MN_PER_G, method, flags);
    add_pull(sheet, skating, "skating.low", "With the least friction", forces[1], "mN", 2, NAN, method, 0);
    add_pull(sheet, skating, "skating.high", "With the greatest friction", forces[2], "mN", 2, NAN, method, 0);
    DwSkating walls = dw_skating_at(skating->friction[0], skating->force_mn, 1, atan(tangent));
    add_pull(sheet, skating, "skating.inner_wall", "Inner wall carries, without bias", walls.inner_mn, "mN", 1, NAN,
             walls_method, 0);
    add_pull(sheet, skating, "skating.outer_wall", "Outer wall carries, without bias", walls.outer_mn, "mN", 1, NAN,
             walls_method, 0);
}

static bool is_underhung(const Skating *skating)
{
    return skating->pivot_mm > skating->length_mm;
}

// The anti-skating as it stands, as a force at the stylus square to the arm.
typedef struct {
    double force_mn, half_width_mn;
    const char *method;
} Bias;

static const double lever_error_mm = 1, weight_error = 0.02; // of what is held against a rule and laid on a scale

static Bias bias_of(const DwInputs *inputs, const Skating *skating)
{
    double pulled = dw_inputs_in(inputs, "force.antiskating_found", "mN");
    double weight = dw_inputs_in(inputs, "force.antiskating_weight", "g");
    double lever = dw_inputs_in(inputs, "force.antiskating_lever", "mm");
    double dial = dw_inputs_in(inputs, "force.antiskating_dial", "");
    double step = dw_inputs_in(inputs, "force.antiskating_step", "mN");
    if (isfinite(pulled))
        return (Bias){pulled, dw_inputs_in(inputs, "force.scale_accuracy", "mN"), "pulled at the stylus, by scale"};
    if (isfinite(weight) && isfinite(lever)) {
        double force = weight * DW_FORCE_MN_PER_G * lever / skating->length_mm;
        return (Bias){force, fabs(force) * hypot(lever_error_mm / lever, weight_error), "weight × lever over length"};
    }
    // A dial is read to a quarter of its step.
    return (Bias){dial * step, step / 4, "the dial's figure times what one of its steps pulls"};
}

static void judge_bias(DwSheet *sheet, DwReading *found, const Bias *bias, const double wanted_mn[3])
{
    found->explained = true;
    if (bias->force_mn + bias->half_width_mn < wanted_mn[1])
        dw_sheet_remark(sheet,
                        "The anti-skating is too weak: raise it by %.1f mN at the stylus, then judge it on the "
                        "300 Hz bands.",
                        wanted_mn[0] - bias->force_mn);
    else if (bias->force_mn - bias->half_width_mn > wanted_mn[2])
        dw_sheet_remark(sheet,
                        "The anti-skating is too strong: lower it by %.1f mN at the stylus, then judge it on the "
                        "300 Hz bands.",
                        bias->force_mn - wanted_mn[0]);
    else if (found->verdict == DW_VERDICT_CANNOT_TELL)
        dw_sheet_remark(sheet,
                        "Whether the anti-skating lies within what friction leaves open is not known at its "
                        "±%.2f mN; the 300 Hz bands tell.",
                        bias->half_width_mn);
    else
        dw_sheet_remark(sheet,
                        "The anti-skating lies within what friction leaves open; the 300 Hz bands settle the rest.");
}

static bool has_bias(const DwInputs *inputs)
{
    return dw_inputs_given(inputs, "force.antiskating_found") || dw_inputs_given(inputs, "force.antiskating_weight") ||
           dw_inputs_given(inputs, "force.antiskating_dial");
}

// What the wanted force needs, square to the arm at the stylus: as likely, at least, at most.
static void add_wanted(DwSheet *sheet, const Skating *skating, double tangent, bool approximate, double wanted_mn[3])
{
    double across = sin(atan(tangent)) * skating->wanted_mn;
    for (int i = 0; i < 3; i++)
        wanted_mn[i] = skating->friction[i] * across;
    dw_sheet_add_estimate(sheet, "force.antiskating_wanted", "Anti-skating that the wanted force needs", wanted_mn[0],
                          "mN", 2, fmax(wanted_mn[0] - wanted_mn[1], wanted_mn[2] - wanted_mn[0]),
                          "friction × wanted force × sine of the angle to the groove")
        ->flags = approximate ? DW_FLAG_APPROXIMATE : 0;
}

static const char *what_lacks(const DwInputs *inputs)
{
    return dw_inputs_given(inputs, "force.antiskating_dial")
               ? "a dial's figure is no side force: give force.antiskating_step, the difference of two pulls at the "
                 "stylus with a spring scale, one step of the dial apart"
               : "a thread's weight needs arm.effective_length beside it";
}

// The bias as found against what the wanted force needs; WANTED_MN is NULL where that is not known.
static void add_found(DwSheet *sheet, const DwInputs *inputs, const Skating *skating, const double *wanted_mn)
{
    Bias bias = bias_of(inputs, skating);
    if (!isfinite(bias.force_mn)) {
        dw_sheet_not_measured(sheet, "force.antiskating_found", "%s", what_lacks(inputs));
        return;
    }
    DwReading *found = dw_sheet_add_estimate(sheet, "force.antiskating_found", "Anti-skating as found", bias.force_mn,
                                             "mN", 2, bias.half_width_mn, bias.method);
    if (wanted_mn) {
        dw_reading_set_limit(found, (DwRange){wanted_mn[1], wanted_mn[2]}, (DwRange){NAN, NAN},
                             "what the least and the greatest friction ask for");
        judge_bias(sheet, found, &bias, wanted_mn);
    } else
        dw_sheet_remark(sheet, "What the anti-skating should be is not known without the arm's measures, so that it "
                               "cannot be judged here.");
    if (isfinite(skating->length_mm))
        dw_sheet_add_estimate(sheet, "force.antiskating_torque", "Its torque about the pivot",
                              bias.force_mn * skating->length_mm, "µN·m", 0, bias.half_width_mn * skating->length_mm,
                              "force at the stylus × effective length");
}

static void add_antiskating(DwSheet *sheet, const DwInputs *inputs, const Skating *skating, double tangent,
                            bool approximate)
{
    double wanted[3];
    if (is_underhung(skating)) {
        dw_sheet_remark(sheet,
                        "An underhung arm is pulled inwards outside its null radius and outwards inside it, where "
                        "the table's force is negative: one bias cannot serve both, and none is common practice.");
        if (has_bias(inputs))
            dw_sheet_not_measured(sheet, "force.antiskating_found",
                                  "an underhung arm needs none: its pull changes sides at the null radius");
        return;
    }
    add_wanted(sheet, skating, tangent, approximate, wanted);
    remark_bias(sheet, wanted, tangent);
    if (has_bias(inputs))
        add_found(sheet, inputs, skating, wanted);
}

// The pull and the walls are those of the force read; the bias is set for the wanted one.
static Skating skating_of(const DwInputs *inputs, double found_g)
{
    double target_g = dw_inputs_in(inputs, "force.target", "g");
    bool is_read = isfinite(found_g);
    return (Skating){
        .pivot_mm = dw_inputs_in(inputs, "arm.pivot_to_spindle", "mm"),
        .length_mm = dw_inputs_in(inputs, "arm.effective_length", "mm"),
        .force_mn = (is_read ? found_g : target_g) * DW_FORCE_MN_PER_G,
        .wanted_mn = (isfinite(target_g) ? target_g : found_g) * DW_FORCE_MN_PER_G,
        .is_read = is_read,
        .friction = {dw_inputs_in(inputs, "force.friction", ""), dw_inputs_in(inputs, "force.friction_low", ""),
                     dw_inputs_in(inputs, "force.friction_high", "")},
    };
}

static void remark_forces(DwSheet *sheet, const Skating *skating, double found_half_width_g)
{
    double found_g = skating->force_mn / DW_FORCE_MN_PER_G, wanted_g = skating->wanted_mn / DW_FORCE_MN_PER_G;
    if (fabs(wanted_g - found_g) > fmax(found_half_width_g, 0.03))
        dw_sheet_remark(sheet,
                        "Skating force and walls are those of the %.2f g read; the anti-skating is for the wanted "
                        "%.2f g: set the force first, then the anti-skating.",
                        found_g, wanted_g);
}

void dw_force_skating(DwSheet *sheet, const DwInputs *inputs, double found_g, double found_half_width_g)
{
    double offset = dw_inputs_in(inputs, "arm.offset", "deg");
    Skating skating = skating_of(inputs, found_g);
    bool geometry = isfinite(skating.pivot_mm) && isfinite(skating.length_mm);
    if (!geometry && !isfinite(offset)) {
        dw_sheet_not_measured(sheet, "skating.force",
                              "Give arm.pivot_to_spindle and arm.effective_length (or at least arm.offset).");
        if (has_bias(inputs))
            add_found(sheet, inputs, &skating, NULL);
        return;
    }
    double tangent =
        geometry ? mean_tangent(&skating, dw_inputs_in(inputs, "record.radius", "mm")) : tan(offset * M_PI / 180);
    if (!isfinite(tangent)) {
        dw_sheet_not_measured(sheet, "skating.force",
                              "An arm of these measures does not reach the grooves. Are "
                              "arm.pivot_to_spindle and arm.effective_length exchanged with others?");
        return;
    }
    add_skating_readings(sheet, &skating, tangent, !geometry);
    add_antiskating(sheet, inputs, &skating, tangent, !geometry);
    remark_forces(sheet, &skating, found_half_width_g);
    if (!geometry) {
        dw_sheet_remark(sheet,
                        "Only the offset was given: this is the force at the two null radii; it is up to a tenth "
                        "greater at the ends of the side.");
        return;
    }
    add_skating_table(sheet, &skating);
    add_skating_curves(sheet, &skating);
}

DwStatus dw_force_skating_check(const DwInputs *inputs, DwMessage *message)
{
    bool weight = dw_inputs_given(inputs, "force.antiskating_weight"),
         dial = dw_inputs_given(inputs, "force.antiskating_dial");
    bool lever = dw_inputs_given(inputs, "force.antiskating_lever"),
         step = dw_inputs_given(inputs, "force.antiskating_step");
    if (weight + dial + dw_inputs_given(inputs, "force.antiskating_found") > 1)
        return dw_fail(message, DW_BAD_INPUT,
                       "The anti-skating as found: give one of force.antiskating_found (pulled at the stylus), "
                       "force.antiskating_weight with its lever, force.antiskating_dial with its step.");
    if (weight != lever)
        return dw_fail(message, DW_BAD_INPUT,
                       "A thread and weight need both force.antiskating_weight and force.antiskating_lever.");
    if (step && !dial)
        return dw_fail(message, DW_BAD_INPUT, "force.antiskating_step needs force.antiskating_dial beside it.");
    return DW_OK;
}
