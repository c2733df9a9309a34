// SPDX-License-Identifier: MIT
// `bearing`: the platter's drag from its run-down, what an oil would make of it,
// and the clearance from how a spindle sinks.
#include "physics/bearing.h"
#include "procedure/drive/parts.h"
#include "procedure/registry/procedures.h"

#include <math.h>

static const double gravity = 9.80665; // m/s², standard
static const double leaning = 2.5;     // times faster the oil leaves where the spindle lies wholly to one side

typedef struct {
    DwSleeve sleeve; // NAN where not given
    double celsius;
    double density; // kg/m³ at that temperature
    double speed;   // rad/s
} Well;

static Well read_well(const DwInputs *inputs)
{
    double celsius = dw_inputs_in(inputs, "oil.temperature", "degC");
    return (Well){{dw_inputs_in(inputs, "bearing.spindle_diameter", "mm") / 2,
                   dw_inputs_in(inputs, "bearing.sleeve_length", "mm"),
                   dw_inputs_in(inputs, "bearing.clearance", "mm")},
                  celsius,
                  dw_oil_density(dw_inputs_in(inputs, "oil.density", "kg/m3"), celsius),
                  dw_inputs_in(inputs, "deck.speed", "rad/s")};
}

// Torque (mN·m) at the nominal speed; NAN where the sleeve is not known.
static double film_torque(const Well *well, double viscosity)
{
    return 1000 * well->speed * dw_bearing_petroff(&well->sleeve, viscosity);
}

static double dynamic_at(const Well *well, const DwOil *oil)
{
    return dw_oil_dynamic(dw_oil_viscosity(oil, well->celsius), well->density);
}

static void add_oils(DwSheet *sheet, const DwOilList *list, const Well *well)
{
    static const char *const columns[] = {"grade|Oil||0",
                                          "scale|Scale||0",
                                          "range|Range of the grade||0",
                                          "at_40|At 40 °C|mm2/s|1",
                                          "at_100|At 100 °C|mm2/s|1",
                                          "here|At the bearing|mm2/s|1",
                                          "dynamic|Dynamic|mPa.s|1",
                                          "torque|Drag|mN.m|3",
                                          NULL};
    if (*list->missing) {
        dw_sheet_remark(sheet, "No oils to compare with: %s. Put the file back.", list->missing);
        return;
    }
    DwTable *table = dw_sheet_add_table(sheet, "oil.grades", "Oils and the drag they would give", columns);
    for (size_t i = 0; i < list->count; i++) {
        const DwListedOil *oil = &list->oils[i];
        size_t row = dw_table_add_row(table);
        dw_table_set_word(table, row, 0, oil->name);
        dw_table_set_word(table, row, 1, oil->scale);
        dw_table_set_word(table, row, 2, oil->grade);
        dw_table_set_number(table, row, 3, oil->at_40);
        dw_table_set_number(table, row, 4, oil->at_100);
        dw_table_set_number(table, row, 5, dw_oil_viscosity(&oil->oil, well->celsius));
        dw_table_set_number(table, row, 6, 1000 * dynamic_at(well, &oil->oil));
        dw_table_set_number(table, row, 7, film_torque(well, dynamic_at(well, &oil->oil)));
    }
    dw_sheet_remark(sheet, "A gear oil's number is on another scale than an engine oil's: gear 90 is near engine 40 to "
                           "50; \"10 weight\" bearing oil is near VG32. Below 40 °C the viscosities are extrapolated.");
}

// The oil in the well: by its data sheet, or from the list; false: none was stated.
static DwStatus choose_oil(const DwInputs *inputs, const DwOilList *list, DwOil *oil, bool *stated, DwMessage *message)
{
    double at_40 = dw_inputs_in(inputs, "oil.viscosity_40", "mm2/s");
    double at_100 = dw_inputs_in(inputs, "oil.viscosity_100", "mm2/s");
    const char *grade = dw_inputs_word(inputs, "oil.grade");
    *stated = true;
    if (!isnan(at_40) && !isnan(at_100))
        return dw_oil_fit(at_40, 40, at_100, 100, oil, message);
    if (!isnan(at_40) || !isnan(at_100))
        return dw_fail(message, DW_BAD_INPUT,
                       "An oil needs its viscosity at both temperatures. Give oil.viscosity_40 "
                       "and oil.viscosity_100 from its data sheet, or oil.grade.");
    *stated = *grade != 0;
    if (!*stated)
        return DW_OK;
    const DwListedOil *listed = dw_oil_list_find(list, grade);
    if (!listed && *list->missing)
        return dw_fail(message, DW_BAD_INPUT,
                       "oil.grade: %s. Put the file back, or give oil.viscosity_40 and oil.viscosity_100.",
                       list->missing);
    if (!listed)
        return dw_fail(message, DW_BAD_INPUT,
                       "oil.grade: '%s' is not in the list of oils (VG10 to VG220, gear-75W-90 …). "
                       "Add it to data/oils.ini, or give oil.viscosity_40 and oil.viscosity_100.",
                       grade);
    *oil = listed->oil;
    return DW_OK;
}

// Half-widths of what is stated, 95 % (common practice): a grade's own range is ±10 % (ISO 3448), a data sheet's
// figures 3 %; the temperature of the well; a bore gauge and micrometer together; a rule; a balance; a stop watch.
static const double grade_share = 0.10, sheet_share = 0.03, temperature_off = 2, clearance_off_mm = 0.002,
                    depth_off_mm = 0.5, weight_share = 0.02, time_off_s = 1;

// Of the viscosity, relative.
static double viscosity_share(const DwInputs *inputs, const Well *well, const DwOil *oil)
{
    Well warmer = *well;
    warmer.celsius += temperature_off;
    double warm = 1 - dynamic_at(&warmer, oil) / dynamic_at(well, oil);
    return hypot(dw_inputs_given(inputs, "oil.viscosity_40") ? sheet_share : grade_share, warm);
}

static void add_film(DwSheet *sheet, const Well *well, double viscosity, double share)
{
    DwReading *reading = dw_sheet_add_reading(sheet, "oil.viscosity", "Viscosity at the bearing's temperature",
                                              1000 * viscosity, "mPa.s", 1);
    reading->uncertainty = share * reading->value;
    dw_reading_set_method(reading, "ASTM D341 between 40 and 100 °C, times density; the grade's range and 2 °C");
    double torque = film_torque(well, viscosity);
    if (isnan(torque)) {
        dw_sheet_not_measured(sheet, "bearing.film_torque",
                              "needs bearing.spindle_diameter, bearing.sleeve_length and bearing.clearance");
        return;
    }
    reading = dw_sheet_add_reading(sheet, "bearing.film_torque", "Drag of the oil film", torque, "mN.m", 3);
    reading->uncertainty = torque * hypot(share, clearance_off_mm / well->sleeve.clearance_mm);
    dw_reading_set_method(reading, "Petroff, a centred spindle in a full film; the oil's doubt and 2 um of clearance");
}

// Says it where the clearance that was stated (um) is none that sinking leaves room for, leaning or not.
static void remark_other_clearance(DwSheet *sheet, double stated, double sunk, double off)
{
    double doubt = hypot(off, 1000 * clearance_off_mm);
    if (stated < sunk / cbrt(leaning) - doubt || stated > sunk + doubt)
        dw_sheet_remark(sheet,
                        "Sinking gives %.0f um where bearing.clearance says %.0f um: a worn or another sleeve, or not "
                        "the oil, the warmth or the depth that was stated. Measure spindle and bore.",
                        sunk, stated);
}

// The time to sink against the clearance, whichever of the two was given.
static void add_sinking(const DwInputs *inputs, DwSheet *sheet, const Well *well, double viscosity, double share)
{
    double weight = dw_inputs_in(inputs, "platter.mass", "kg") * gravity;
    double from = dw_inputs_in(inputs, "bearing.sink_from", "mm"), to = dw_inputs_in(inputs, "bearing.sink_to", "mm");
    double seconds = dw_inputs_in(inputs, "bearing.sink_time", "s");
    double expected = dw_bearing_sink_seconds(&well->sleeve, viscosity, weight, from, to);
    double clearance =
        1000 * dw_bearing_sink_clearance_mm(well->sleeve.radius_mm, viscosity, weight, from, to, seconds);
    double depth = 2 * depth_off_mm * hypot(from, to) / (to * to - from * from);
    double known = hypot(hypot(share, weight_share), depth); // of the time, but for clearance and watch
    if (isfinite(clearance)) {
        DwReading *reading =
            dw_sheet_add_reading(sheet, "bearing.sink_clearance", "Radial clearance by sinking", clearance, "um", 1);
        reading->uncertainty = clearance * hypot(known, time_off_s / seconds) / 3;
        dw_reading_set_method(reading, "slit flow past a centred piston; time goes as 1 over clearance cubed");
        dw_sheet_remark(sheet, "If the spindle leaned to one side while sinking, the clearance is nearer %.1f um.",
                        clearance / cbrt(leaning));
        remark_other_clearance(sheet, 1000 * well->sleeve.clearance_mm, clearance, reading->uncertainty);
    }
    if (isfinite(expected)) {
        DwReading *reading =
            dw_sheet_add_reading(sheet, "bearing.sink_expected", "Sinking time for this clearance", expected, "s", 0);
        reading->uncertainty = expected * hypot(known, 3 * clearance_off_mm / well->sleeve.clearance_mm);
        dw_reading_set_method(reading, "slit flow past a centred piston");
    }
    if (!isfinite(clearance) && !isnan(seconds))
        dw_sheet_not_measured(sheet, "bearing.sink_clearance",
                              "needs bearing.spindle_diameter, bearing.sink_to and platter.mass");
}

static DwStatus run_oils(const DwInputs *inputs, const DwOilList *list, DwSheet *sheet, DwMessage *message)
{
    if (dw_inputs_in(inputs, "bearing.sink_to", "mm") <= dw_inputs_in(inputs, "bearing.sink_from", "mm"))
        return dw_fail(message, DW_BAD_INPUT,
                       "bearing.sink_to must be more than bearing.sink_from: the spindle sinks in.");
    Well well = read_well(inputs);
    DwOil oil;
    bool stated;
    DwStatus status = choose_oil(inputs, list, &oil, &stated, message);
    if (status != DW_OK)
        return status;
    if (stated) {
        double share = viscosity_share(inputs, &well, &oil);
        add_film(sheet, &well, dynamic_at(&well, &oil), share);
        add_sinking(inputs, sheet, &well, dynamic_at(&well, &oil), share);
        status = dw_oil_scales_remark(sheet, dw_oil_viscosity(&oil, 40), dw_oil_viscosity(&oil, 100), message);
        if (status != DW_OK)
            return status;
    } else {
        dw_sheet_not_measured(sheet, "bearing.film_torque", "needs the oil: oil.grade, or both of its viscosities");
        if (dw_inputs_given(inputs, "bearing.sink_time"))
            dw_sheet_not_measured(sheet, "bearing.sink_clearance",
                                  "needs the oil: oil.grade, or both of its viscosities");
    }
    add_oils(sheet, list, &well);
    return DW_OK;
}

// What a platter that rocks tells of the spindle's play. Half-widths of 95 % (common practice): a dial gauge read
// twice, a rule along sleeve and radius.
static const double gauge_off_mm = 0.02, span_off_mm = 1, worn_um = 60;

static void add_rocking(const DwInputs *inputs, DwSheet *sheet)
{
    double rock = dw_inputs_in(inputs, "bearing.rock", "mm"),
           radius = dw_inputs_in(inputs, "bearing.rock_radius", "mm");
    double span = dw_inputs_in(inputs, "bearing.rock_span", "mm"),
           stated = dw_inputs_in(inputs, "bearing.clearance", "um");
    if (isnan(rock))
        return;
    radius = isnan(radius) ? dw_inputs_in(inputs, "platter.diameter", "mm") / 2 : radius;
    span = isnan(span) ? dw_inputs_in(inputs, "bearing.sleeve_length", "mm") : span;
    double clearance = 1000 * dw_bearing_rock_clearance_mm(rock, radius, span);
    if (isnan(clearance)) {
        dw_sheet_not_measured(sheet, "bearing.play",
                              "needs bearing.rock_span, the sleeve from end to end, and bearing.rock_radius or "
                              "platter.diameter.");
        return;
    }
    double off =
        1000 * hypot(gauge_off_mm * span / (4 * radius), clearance / 1000 * span_off_mm * hypot(1 / span, 1 / radius));
    DwReading *reading = dw_sheet_add_reading(sheet, "bearing.play", "Radial clearance by rocking", clearance, "um", 1);
    reading->uncertainty = off;
    dw_reading_set_method(reading, "the spindle leans from one corner of its sleeve to the other; rim over sleeve");
    if (isfinite(stated) && fabs(clearance - stated) > hypot(off, 1000 * clearance_off_mm))
        dw_sheet_remark(
            sheet,
            "Rocking gives %.0f um where bearing.clearance says %.0f um: a worn or another sleeve, or a platter "
            "that rocks on its cone and not in its bearing. Measure spindle and bore.",
            clearance, stated);
    else if (isnan(stated) && clearance - off > worn_um)
        dw_sheet_remark(
            sheet, "So much play is that of a worn sleeve or spindle, if the platter does not rock on its cone: close "
                   "bearings have 10 to 13 µm, up to 60 µm is usual (common practice, no source).");
}

static void add_cautions(DwSheet *sheet)
{
    dw_sheet_caution(sheet, "Do not over-fill: enough to cover the ball and wet the sleeve. What wells up ends on belt "
                            "and rim; wipe it off, and lower the spindle slowly so that air can leave.");
    dw_sheet_caution(sheet, "Never oil a belt, pulley, rim or idler tread, nor a trip clutch or trip pawl.");
    dw_sheet_caution(sheet, "Clean out old oil rather than topping it up. Gear oils with sulphur additives can attack "
                            "bronze sleeves. Where the maker names an oil, that one is right.");
}

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    DwStatus status = dw_bearing_add_run_down(request, sheet, message);
    if (status != DW_OK)
        return status;
    DwOilList list;
    status = dw_oil_list_read(&list, message);
    if (status != DW_OK)
        return status;
    status = run_oils(request->inputs, &list, sheet, message);
    dw_oil_list_clear(&list);
    if (status == DW_OK)
        add_rocking(request->inputs, sheet);
    add_cautions(sheet);
    return status;
}

static const char *const quantities[] = {
    "deck.speed",
    "deck.class",
    "platter.mass",
    "platter.diameter",
    "platter.inner_diameter",
    "platter.inertia",
    "bearing.at",
    "bearing.air",
    "bearing.before",
    "bearing.spindle_diameter",
    "bearing.sleeve_length",
    "bearing.clearance",
    "oil.grade",
    "oil.viscosity_40",
    "oil.viscosity_100",
    "oil.density",
    "oil.temperature",
    "bearing.sink_time",
    "bearing.sink_from",
    "bearing.sink_to",
    "bearing.rock",
    "bearing.rock_radius",
    "bearing.rock_span",
    "record.tone",
    "record.start",
    "record.end",
    NULL,
};

const DwProcedure dw_procedure_bearing = {
    .name = "bearing",
    .title = "The platter's bearing",
    .summary = "Find a bearing's drag from a run-down, the oil by temperature, the clearance by sinking or rocking.",
    .quantities = quantities,
    .recordings_most = 1,
    .run = run,
};
