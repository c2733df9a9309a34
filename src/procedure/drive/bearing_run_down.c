// SPDX-License-Identifier: MIT
#include "procedure/drive/parts.h"

#include "base/memory.h"
#include "base/text.h"
#include "measure/speed/startup.h"
#include "physics/bearing.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

static const double rpm = 2 * M_PI / 60;

// A run-down as given and as fitted.
typedef struct {
    size_t count;
    double *seconds, *speeds;
    DwCoast coast;
} RunDown;

// What the air brakes the platter by over its inertia, and how well that is known (standard); nought where it is to
// count with the oil. Without a diameter a platter is taken for the usual size.
static void find_air(const DwInputs *inputs, double *air, double *off)
{
    static const double usual_mm = 300, doubt = 0.25;
    double diameter = dw_inputs_in(inputs, "platter.diameter", "mm"), inertia = dw_platter_inertia(inputs);
    bool counts = strcmp(dw_inputs_word(inputs, "bearing.air"), "no") != 0 && inertia > 0;
    *air = counts ? dw_bearing_air(isfinite(diameter) ? diameter : usual_mm) / inertia : 0;
    *off = doubt * *air;
}

static DwStatus fit(const DwInputs *inputs, RunDown *run, DwMessage *message)
{
    double air, off;
    find_air(inputs, &air, &off);
    return dw_bearing_fit(run->seconds, run->speeds, run->count, air, off, &run->coast, message);
}

static void clear(RunDown *run)
{
    free(run->seconds);
    free(run->speeds);
}

static DwStatus read_run(const DwInputs *inputs, const char *key, RunDown *run, DwMessage *message)
{
    run->count = dw_inputs_count(inputs, key);
    run->seconds = dw_memory_new(run->count, sizeof *run->seconds);
    run->speeds = dw_memory_new(run->count, sizeof *run->speeds);
    for (size_t i = 0; i < run->count; i++)
        dw_inputs_pair_in(inputs, key, i, "s", "rad/s", &run->seconds[i], &run->speeds[i]);
    return fit(inputs, run, message);
}

// The same from the tone of a recording that goes on while the platter runs down.
static DwStatus record_run(const DwRequest *request, DwSheet *sheet, RunDown *run, DwMessage *message)
{
    enum { POINTS = 120 };
    DwStartup *startup = NULL;
    DwRunDown recorded;
    DwMessage why;
    const char *path = request->recordings[0];
    DwStatus status = dw_startup_recording_take(path, request->inputs, NAN, sheet, &startup, message);
    if (status != DW_OK)
        return status;
    status = dw_startup_run_down(startup, POINTS, &recorded, &why);
    dw_startup_free(startup);
    if (status != DW_OK)
        return dw_fail(message, status, "%s: %s", path, why.text);
    *run = (RunDown){.count = recorded.count, .seconds = recorded.seconds, .speeds = recorded.speed_rpm};
    for (size_t i = 0; i < run->count; i++)
        run->speeds[i] *= rpm;
    dw_sheet_remark(sheet,
                    "The tone needs the stylus in the groove: its drag, some 0.3 of the tracking force, brakes with "
                    "the bearing and counts as Coulomb drag. Compare only with a run-down in the same band under "
                    "the same force; for the bearing alone time a strobe with the stylus up (bearing.at).");
    if (isnan(dw_inputs_in(request->inputs, "record.tone", "Hz")))
        dw_sheet_remark(sheet,
                        "record.tone was not given; the tone before the run-down was taken for the nominal speed.");
    return fit(request->inputs, run, message);
}

static void add_drag(DwSheet *sheet, const char *prefix, const char *name, const char *label, double value,
                     double error, const char *unit)
{
    char *key = dw_text_format("bearing.%s%s", prefix, name);
    char *words = dw_text_format("%s%s", label, *prefix ? " as received" : "");
    DwReading *reading = dw_sheet_add_reading(sheet, key, words, value, unit, 4);
    reading->uncertainty = error;
    dw_reading_set_method(reading, "oil and dry friction fitted to the run-down by least squares, the air taken off");
    free(words);
    free(key);
}

// Pure viscous drag never stops; then the time to a tenth of the speed is stated.
static void add_stop(const DwCoast *coast, const char *prefix, double speed, DwSheet *sheet)
{
    double stop = dw_bearing_coast_time(coast, speed, 0);
    if (isfinite(stop))
        add_drag(sheet, prefix, "stop_time", "Runs down from nominal speed in", stop, NAN, "s");
    else
        add_drag(sheet, prefix, "tenth_time", "Runs down to a tenth of nominal speed in",
                 dw_bearing_coast_time(coast, speed, speed / 10), NAN, "s");
    sheet->readings[sheet->reading_count - 1].digits = 1;
}

// The drags in torque, where the platter's inertia is known, and what needs none.
static void add_run(const RunDown *run, const char *prefix, double inertia, double speed, DwSheet *sheet)
{
    const DwCoast *coast = &run->coast;
    double milli = 1000 * inertia;
    if (isfinite(inertia)) {
        add_drag(sheet, prefix, "viscous", "Viscous drag", milli * coast->viscous,
                 milli * coast->coverage * coast->viscous_error, "mN.m.s");
        add_drag(sheet, prefix, "coulomb", "Coulomb drag", milli * coast->coulomb,
                 milli * coast->coverage * coast->coulomb_error, "mN.m");
        add_drag(sheet, prefix, "torque", "Torque at the nominal speed",
                 milli * (coast->viscous * speed + coast->coulomb + coast->air * pow(speed, 1.5)), NAN, "mN.m");
        if (coast->air > 0) {
            double air = milli * coast->air * pow(speed, 1.5);
            add_drag(sheet, prefix, "air_torque", "Air drag at the nominal speed", air, air / 2, "mN.m");
            dw_reading_set_method(&sheet->readings[sheet->reading_count - 1],
                                  "a free disc in still air, laminar; half to one and a half of it beside a plinth");
        }
    }
    add_stop(coast, prefix, speed, sheet);
    add_drag(sheet, prefix, "half_ratio", "Second halving over first", dw_bearing_half_ratio(coast), NAN, "");
    sheet->readings[sheet->reading_count - 1].digits = 2;
}

static void remark_kind(const DwCoast *coast, bool recorded, DwSheet *sheet)
{
    double ratio = dw_bearing_half_ratio(coast);
    // Neither is known to half its value: nothing is parted.
    bool is_parted = coast->coverage * coast->viscous_error < 0.5 * coast->viscous ||
                     coast->coverage * coast->coulomb_error < 0.5 * coast->coulomb;
    if (!is_parted)
        dw_sheet_remark(sheet, "Oil and dry friction cannot be told apart by these points. Take more of them, down to "
                               "a slow turn.");
    else if (ratio > 0.9)
        dw_sheet_remark(sheet, "The drag is nearly all viscous: it is the oil, and falls as the oil warms.");
    else if (ratio < 0.6)
        dw_sheet_remark(sheet, "The drag is nearly all dry friction: look at ball and thrust pad, a dry or gummed "
                               "sleeve, and for anything that rubs.");
    else
        dw_sheet_remark(sheet, "Oil and dry friction both brake the platter.");
    dw_sheet_remark(sheet, "%s Belt off or idler retracted%s.",
                    coast->air > 0 ? "The air's drag is reckoned from the diameter and taken out of the oil's."
                                   : "Air drag is counted as viscous.",
                    recorded ? "" : ", stylus up");
}

static void add_curve(const RunDown *run, DwSheet *sheet)
{
    enum { POINTS = 101 };
    DwCurve *curve = dw_sheet_add_curve(sheet, "bearing.run_down", "Run-down as fitted", (DwAxis){"Time", "s"},
                                        (DwAxis){"Speed", "rpm"}, POINTS);
    double first = run->seconds[0], span = run->seconds[run->count - 1] - first;
    for (size_t i = 0; i < POINTS; i++) {
        curve->x_values[i] = first + span * (double)i / (POINTS - 1);
        curve->y_values[i] = dw_bearing_coast_speed(&run->coast, curve->x_values[i] - first) / rpm;
    }
    static const char *const columns[] = {"time|Time|s|1", "speed|Speed|rpm|2", "off|Off the fit by|rpm|2", NULL};
    DwTable *table = dw_sheet_add_table(sheet, "bearing.points", "Run-down as taken", columns);
    for (size_t i = 0; i < run->count; i++) {
        size_t row = dw_table_add_row(table);
        double fitted = dw_bearing_coast_speed(&run->coast, run->seconds[i] - first);
        dw_table_set_number(table, row, 0, run->seconds[i]);
        dw_table_set_number(table, row, 1, run->speeds[i] / rpm);
        dw_table_set_number(table, row, 2, (run->speeds[i] - fitted) / rpm);
    }
}

// One drag before and after: a change within both uncertainties is none.
static void compare_drag(const char *name, double before, double before_error, double after, double after_error,
                         DwSheet *sheet)
{
    double doubt = hypot(isnan(before_error) ? 0 : before_error, isnan(after_error) ? 0 : after_error);
    if (fabs(after - before) <= doubt)
        dw_sheet_remark(sheet, "%s drag did not change beyond its uncertainty.", name);
    else if (before > 0)
        dw_sheet_remark(sheet, "%s drag went %s by %.0f %%.", name, after < before ? "down" : "up",
                        100 * fabs(after / before - 1));
    else
        dw_sheet_remark(sheet, "%s drag was not there before.", name);
}

static DwStatus add_before(const DwInputs *inputs, const DwCoast *after, double inertia, double speed, DwSheet *sheet,
                           DwMessage *message)
{
    RunDown run = {0};
    DwStatus status = read_run(inputs, "bearing.before", &run, message);
    if (status == DW_OK) {
        const DwCoast *before = &run.coast;
        add_run(&run, "before_", inertia, speed, sheet);
        compare_drag("Viscous", before->viscous, before->coverage * before->viscous_error, after->viscous,
                     after->coverage * after->viscous_error, sheet);
        compare_drag("Coulomb", before->coulomb, before->coverage * before->coulomb_error, after->coulomb,
                     after->coverage * after->coulomb_error, sheet);
    }
    clear(&run);
    return status;
}

DwStatus dw_bearing_add_run_down(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    const DwInputs *inputs = request->inputs;
    bool recorded = request->recording_count > 0, stated = dw_inputs_given(inputs, "bearing.at");
    double inertia = dw_platter_inertia(inputs), speed = dw_inputs_in(inputs, "deck.speed", "rad/s");
    if (recorded && stated)
        return dw_fail(message, DW_BAD_INPUT, "bearing takes a recording of the run-down or bearing.at, not both.");
    if (!recorded && !stated) {
        if (dw_inputs_given(inputs, "bearing.before"))
            return dw_fail(message, DW_BAD_INPUT,
                           "bearing.before has nothing to be compared with. Give the present "
                           "run-down as bearing.at=time:speed, or its recording.");
        dw_sheet_not_measured(sheet, "bearing.viscous", "needs a run-down: bearing.at=time:speed, four times or more");
        return DW_OK;
    }
    RunDown run = {0};
    DwStatus status =
        recorded ? record_run(request, sheet, &run, message) : read_run(inputs, "bearing.at", &run, message);
    if (status == DW_OK) {
        if (isfinite(inertia))
            dw_sheet_add_reading(sheet, "bearing.inertia", "Platter inertia", inertia, "kg.m2", 5);
        else
            dw_sheet_not_measured(sheet, "bearing.viscous",
                                  "needs the platter's inertia: platter.mass and platter.diameter, or platter.inertia");
        add_run(&run, "", inertia, speed, sheet);
        remark_kind(&run.coast, recorded, sheet);
        add_curve(&run, sheet);
        if (dw_inputs_given(inputs, "bearing.before"))
            status = add_before(inputs, &run.coast, inertia, speed, sheet, message);
    }
    clear(&run);
    return status;
}
