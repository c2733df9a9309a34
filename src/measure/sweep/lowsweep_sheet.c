// SPDX-License-Identifier: MIT
// From sweeps to resonance, Q, compliance and curves.
#include "measure/sweep/lowsweep_analysis.h"

#include "base/memory.h"
#include "physics/resonance.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static const char *const names[2] = {"lateral", "vertical"};
static const double POOR_FIT_DB = 1.5;
static const double SPEED = 0.003; // of every frequency: what the platter may be off (common practice)
static const double BEYOND = 1.15; // a resonance must lie this far inside the sweep

static int by_frequency(const void *a, const void *b)
{
    double x = ((const DwResonancePoint *)a)->frequency_hz, y = ((const DwResonancePoint *)b)->frequency_hz;
    return (x > y) - (x < y);
}

static void add_curves(const DwLowsweepSweep *sweep, const DwResonanceFit *fit, size_t direction, DwSheet *sheet)
{
    char key[40], label[80];
    DwResonancePoint *points = dw_memory_new(sweep->count, sizeof *points);
    size_t count = 0;
    for (size_t i = 0; i < sweep->count; i++)
        points[i] = sweep->points[i];
    qsort(points, sweep->count, sizeof *points, by_frequency);
    for (size_t i = 0; i < sweep->count; i++)
        if (count == 0 || points[i].frequency_hz > points[count - 1].frequency_hz)
            points[count++] = points[i];
    snprintf(key, sizeof key, "lowsweep.response_%s", names[direction]);
    snprintf(label, sizeof label, "Low-frequency response, %s", names[direction]);
    DwCurve *curve = dw_sheet_add_curve(sheet, key, label, (DwAxis){"Frequency", "Hz"},
                                        (DwAxis){"Output re well above", "dB"}, count);
    for (size_t i = 0; i < count; i++) {
        curve->x_values[i] = points[i].frequency_hz;
        curve->y_values[i] = points[i].level_db - fit->gain_db;
    }
    snprintf(key, sizeof key, "lowsweep.fit_%s", names[direction]);
    snprintf(label, sizeof label, "Resonance fitted, %s", names[direction]);
    curve = dw_sheet_add_curve(sheet, key, label, (DwAxis){"Frequency", "Hz"}, (DwAxis){"Output re well above", "dB"},
                               count);
    for (size_t i = 0; i < count; i++) {
        curve->x_values[i] = points[i].frequency_hz;
        curve->y_values[i] = dw_resonance_output_db(points[i].frequency_hz, fit->resonance_hz, fit->q);
    }
    free(points);
}

static void add_compliance(const DwLowsweep *lowsweep, const DwResonanceFit *fit, size_t direction, DwSheet *sheet)
{
    char key[48], label[80];
    double mass = direction ? lowsweep->settings.vertical_g : lowsweep->settings.lateral_g;
    snprintf(key, sizeof key, "lowsweep.compliance_%s", names[direction]);
    snprintf(label, sizeof label, "Compliance at the resonance, %s", names[direction]);
    if (isnan(mass)) {
        dw_sheet_not_measured(sheet, key, "give arm.effective_mass and cartridge.mass.");
        return;
    }
    double compliance = dw_resonance_compliance(fit->resonance_hz, mass);
    dw_sheet_add_estimate(
        sheet, key, label, compliance, "µm/mN", 1,
        compliance * hypot(2 * fit->resonance_off_hz / fit->resonance_hz, lowsweep->settings.mass_off_g / mass),
        "1/((2πf)² × moving mass)");
}

static void list_missing(size_t direction, const char *why, DwSheet *sheet)
{
    char key[40];
    snprintf(key, sizeof key, "lowsweep.%s", names[direction]);
    dw_sheet_not_measured(sheet, key, "%s", why);
    snprintf(key, sizeof key, "lowsweep.q_%s", names[direction]);
    dw_sheet_not_measured(sheet, key, "%s", why);
}

static void add_direction(const DwLowsweep *lowsweep, size_t direction, DwSheet *sheet)
{
    const DwLowsweepSweep *sweep = &lowsweep->sweep[direction];
    char key[40], label[60];
    DwResonanceFit fit;
    if (!sweep->points) {
        list_missing(direction,
                     direction && !lowsweep->has_stereo ? "one channel alone does not tell a vertical sweep from a lateral one."
                                                        : "no sweep in this direction was found.",
                     sheet);
        return;
    }
    if (!dw_resonance_fit(sweep->points, sweep->count, lowsweep->window_s, &fit) ||
        fit.resonance_hz < BEYOND * sweep->low_hz || fit.resonance_hz * BEYOND > sweep->high_hz) {
        char why[160];
        snprintf(why, sizeof why, "the sweep goes from %.1f to %.1f Hz, and the resonance does not lie within.",
                 sweep->low_hz, sweep->high_hz);
        list_missing(direction, why, sheet);
        return;
    }
    fit.resonance_off_hz = hypot(fit.resonance_off_hz, SPEED * fit.resonance_hz);
    static const char method[] = "one resonance fitted to the sweep's level, its lag behind the sweep counted";
    snprintf(key, sizeof key, "lowsweep.%s", names[direction]);
    snprintf(label, sizeof label, "Resonance, %s", names[direction]);
    unsigned flags = fit.rest_db > POOR_FIT_DB ? DW_FLAG_APPROXIMATE : 0;
    dw_sheet_add_estimate(sheet, key, label, fit.resonance_hz, "Hz", 2, fit.resonance_off_hz, method)->flags |= flags;
    snprintf(key, sizeof key, "lowsweep.q_%s", names[direction]);
    snprintf(label, sizeof label, "Q of the resonance, %s", names[direction]);
    dw_sheet_add_estimate(sheet, key, label, fit.q, "", 1, fit.q_off, method)->flags |= flags;
    add_compliance(lowsweep, &fit, direction, sheet);
    add_curves(sweep, &fit, direction, sheet);
    if (flags)
        dw_sheet_remark(sheet,
                        "The %s sweep departs from one resonance by %.1f dB rms: a second resonance (counterweight, "
                        "loose joint), or lowsweep.cut, response.riaa or lowsweep.subsonic is stated wrong.",
                        names[direction], fit.rest_db);
    dw_sheet_remark(sheet, "The %s sweep was read from %.1f to %.1f s, %.1f to %.1f Hz.", names[direction],
                    sweep->start_s, sweep->end_s, sweep->low_hz, sweep->high_hz);
}

bool dw_lowsweep_met_bad_sample(const DwLowsweep *lowsweep)
{
    return lowsweep->bad > 0;
}

DwStatus dw_lowsweep_read(const DwLowsweep *lowsweep, DwSheet *sheet, DwMessage *message)
{
    if (lowsweep->bad)
        return dw_fail(message, DW_BAD_INPUT,
                       "%zu samples are not numbers (NaN or infinite). Export the recording again.", lowsweep->bad);
    if (!lowsweep->sweep[0].points && !lowsweep->sweep[1].points)
        return dw_fail(
            message, DW_BAD_INPUT,
            "No sweep between 4 and 45 Hz was found. Record the low-frequency band of a test record through a "
            "chain without a rumble filter, or give record.start and record.end.");
    for (size_t d = 0; d < 2; d++)
        add_direction(lowsweep, d, sheet);
    return DW_OK;
}
