// SPDX-License-Identifier: MIT
// From sweeps to resonance, Q, compliance and curves.
#include "measure/sweep/lowsweep_analysis.h"

#include "base/memory.h"
#include "base/saying.h"
#include "base/tongue.h"
#include "physics/resonance.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static const char *const names[DW_LOWSWEEP_DIRECTIONS] = {"lateral", "vertical", "either", "in_phase",
                                                          "opposite_phase"};
static const char *const words[DW_LOWSWEEP_DIRECTIONS] = {"lateral", "vertical", "lateral or vertical", "in phase",
                                                          "in opposite phase"};
static const double POOR_FIT_DB = 1.5;
static const double BEYOND = 1.15; // a resonance must lie this far inside the sweep
// What the window's mean leaves, of the resonance and of Q, by bandwidths passed in a window: what 95 of 100 sweeps
// drawn in python keep to, of 7 to 14 Hz, Q 2 to 9, 13 to 22 s, with rumble and ticks under them.
static const double RATE_FREQUENCY = 0.004, RATE_Q = 0.1;
static const double FAST = 0.7, TOO_FAST = 1.3;
// What a cut that is uneven by 0.1 dB rms, of its own in each octave, does (common practice, no source): of the
// resonance, less the sharper it is, and of Q. By the fit's equations on such sweeps.
static const double CUT_FREQUENCY = 0.0125, CUT_SHARPER = 0.85, CUT_Q = 0.026;

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
    snprintf(label, sizeof label, "%s, %s", N_("Low-frequency response"), words[direction]);
    DwCurve *curve = dw_sheet_add_curve(sheet, key, label, (DwAxis){"Frequency", "Hz"},
                                        (DwAxis){"Output over that well above resonance", "dB"}, count);
    for (size_t i = 0; i < count; i++) {
        curve->x_values[i] = points[i].frequency_hz;
        curve->y_values[i] = points[i].level_db - fit->gain_db;
    }
    snprintf(key, sizeof key, "lowsweep.fit_%s", names[direction]);
    snprintf(label, sizeof label, "%s, %s", N_("Resonance fitted"), words[direction]);
    curve = dw_sheet_add_curve(sheet, key, label, (DwAxis){"Frequency", "Hz"},
                               (DwAxis){"Output over that well above resonance", "dB"}, count);
    for (size_t i = 0; i < count; i++) {
        curve->x_values[i] = points[i].frequency_hz;
        curve->y_values[i] = dw_resonance_output_db(points[i].frequency_hz, fit->resonance_hz, fit->q);
    }
    free(points);
}

static void add_compliance(const DwLowsweep *lowsweep, const DwResonanceFit *fit, size_t direction, DwSheet *sheet)
{
    char key[48], label[80];
    if (direction >= DW_LOWSWEEP_EITHER)
        return;
    double mass = direction ? lowsweep->settings.vertical_g : lowsweep->settings.lateral_g;
    snprintf(key, sizeof key, "lowsweep.compliance_%s", names[direction]);
    snprintf(label, sizeof label, "Compliance at the resonance, %s", words[direction]);
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

// How many bandwidths of the resonance the sweep passes while one spectrum is taken.
static double smear_of(const DwLowsweepSweep *sweep, const DwResonanceFit *fit)
{
    double rate_hz_s = 0, nearest = INFINITY;
    for (size_t i = 0; i < sweep->count; i++) {
        double off = fabs(sweep->points[i].frequency_hz - fit->resonance_hz);
        if (off < nearest) {
            nearest = off;
            rate_hz_s = fabs(sweep->points[i].rate_hz_s);
        }
    }
    return rate_hz_s * DW_LOWSWEEP_WINDOW_S * fit->q / fit->resonance_hz;
}

// One row of what a reading's ± is made of.
static void add_share(DwTable *table, const char *what, double frequency, double q)
{
    size_t row = dw_table_add_row(table);
    dw_table_set_word(table, row, 0, what);
    dw_table_set_number(table, row, 1, frequency);
    dw_table_set_number(table, row, 2, q);
}

// Puts all that makes the fit uncertain into it, and lists the shares.
static void add_budget(const DwLowsweepSweep *sweep, DwResonanceFit *fit, size_t direction, DwSheet *sheet)
{
    static const char *const columns[] = {"what|Share of the ±, 95 %||", "frequency|Resonance|Hz|3", "q|Q||3", NULL};
    char key[40], label[80];
    double smear = smear_of(sweep, fit);
    double by_rate_hz = RATE_FREQUENCY * pow(smear, 4) * fit->resonance_hz, by_rate = RATE_Q * pow(smear, 4) * fit->q;
    double by_cut_hz = CUT_FREQUENCY * fit->resonance_hz * pow(fit->q, -CUT_SHARPER), by_cut = CUT_Q * fit->q;
    snprintf(key, sizeof key, "lowsweep.budget_%s", names[direction]);
    snprintf(label, sizeof label, "What the ± is made of, %s", words[direction]);
    DwTable *table = dw_sheet_add_table(sheet, key, label, columns);
    add_share(table, "scatter about the fit", fit->resonance_off_hz, fit->q_off);
    add_share(table, "speed of the sweep", by_rate_hz, by_rate);
    add_share(table, "level of the cut along the sweep", by_cut_hz, by_cut);
    fit->resonance_off_hz = hypot(hypot(fit->resonance_off_hz, by_rate_hz), by_cut_hz);
    fit->q_off = hypot(hypot(fit->q_off, by_rate), by_cut);
}

static void add_readings(const DwLowsweepSweep *sweep, const DwResonanceFit *fit, size_t direction, DwSheet *sheet)
{
    static const char method[] = "one resonance fitted to the sweep's level, its lag behind the sweep counted";
    char key[40], label[80];
    double smear = smear_of(sweep, fit);
    unsigned flags = fit->rest_db > POOR_FIT_DB || smear > FAST ? DW_FLAG_APPROXIMATE : 0;
    snprintf(key, sizeof key, "lowsweep.%s", names[direction]);
    snprintf(label, sizeof label, "Resonance, %s", words[direction]);
    dw_sheet_add_estimate(sheet, key, label, fit->resonance_hz, "Hz", 2, fit->resonance_off_hz, method)->flags |= flags;
    snprintf(key, sizeof key, "lowsweep.q_%s", names[direction]);
    snprintf(label, sizeof label, "%s, %s", N_("Q of the resonance"), words[direction]);
    if (smear > TOO_FAST)
        dw_sheet_not_measured(sheet, key,
                              "the sweep passes the resonance faster than it can follow. Record a slower band.");
    else
        dw_sheet_add_estimate(sheet, key, label, fit->q, "", 1, fit->q_off, method)->flags |= flags;
    if (smear > FAST)
        dw_sheet_remark(sheet,
                        "The %s sweep is fast for so sharp a resonance: it passes %.1f times its width in one reading. "
                        "The lag is taken off; what is left of it is in the ±.",
                        words[direction], smear);
}

// Which of the sweeps met is that of each direction.
typedef struct {
    const DwLowsweepSweep *sweep[DW_LOWSWEEP_DIRECTIONS];
    bool reversed; // what was stated and how the channels come contradict each other
} Sweeps;

// Why there is none of a direction.
static const char *why_missing(const Sweeps *sweeps)
{
    if (sweeps->sweep[DW_LOWSWEEP_IN_PHASE]->points || sweeps->sweep[DW_LOWSWEEP_OPPOSITE]->points)
        return "nothing tells a lateral sweep from a vertical one. State lowsweep.order, or measure the whole side by "
               "its plan (side).";
    if (sweeps->sweep[DW_LOWSWEEP_EITHER]->points)
        return "one channel alone does not tell a lateral sweep from a vertical one. Record both, or one sweep at a "
               "time with lowsweep.order.";
    return "no sweep in this direction was found.";
}

static void add_direction(const DwLowsweep *lowsweep, const Sweeps *sweeps, size_t direction, DwSheet *sheet)
{
    const DwLowsweepSweep *sweep = sweeps->sweep[direction];
    DwResonanceFit fit;
    if (!sweep->points) {
        if (direction < DW_LOWSWEEP_EITHER)
            list_missing(direction, why_missing(sweeps), sheet);
        return;
    }
    if (!dw_resonance_fit(sweep->points, sweep->count, lowsweep->window_s, &fit) ||
        fit.resonance_hz < BEYOND * sweep->low_hz || fit.resonance_hz * BEYOND > sweep->high_hz) {
        char *why = dw_saying_phrase("the sweep goes from %.1f to %.1f Hz, and the resonance does not lie within.",
                                     sweep->low_hz, sweep->high_hz);
        list_missing(direction, why, sheet);
        free(why);
        return;
    }
    add_budget(sweep, &fit, direction, sheet);
    add_readings(sweep, &fit, direction, sheet);
    add_compliance(lowsweep, &fit, direction, sheet);
    add_curves(sweep, &fit, direction, sheet);
    if (fit.rest_db > POOR_FIT_DB)
        dw_sheet_remark(sheet,
                        "The %s sweep departs from one resonance by %.1f dB rms: a second resonance (counterweight, "
                        "loose joint), or lowsweep.cut, response.riaa or lowsweep.subsonic is stated wrong.",
                        words[direction], fit.rest_db);
    dw_sheet_remark(sheet, "Sweep read, %s: from %.1f to %.1f s, %.1f to %.1f Hz.", words[direction], sweep->start_s,
                    sweep->end_s, sweep->low_hz, sweep->high_hz);
}

// Which of two sweeps was played first; one that is not there was not.
static bool is_before(const DwLowsweepSweep *one, const DwLowsweepSweep *two)
{
    if (!one->points || !two->points)
        return one->points != NULL;
    return one->recording == two->recording ? one->start_s < two->start_s : one->recording < two->recording;
}

// Tells the directions apart by what was stated, where the channels alone do not.
static Sweeps tell_directions(const DwLowsweep *lowsweep)
{
    static const DwLowsweepSweep none = {0};
    Sweeps sweeps = {{NULL}, false};
    for (size_t d = 0; d < DW_LOWSWEEP_DIRECTIONS; d++)
        sweeps.sweep[d] = &lowsweep->sweep[d];
    if (lowsweep->settings.order == DW_LOWSWEEP_ORDER_UNKNOWN)
        return sweeps;
    const DwLowsweepSweep *both[2] = {sweeps.sweep[DW_LOWSWEEP_IN_PHASE], sweeps.sweep[DW_LOWSWEEP_OPPOSITE]};
    bool lateral_first = lowsweep->settings.order == DW_LOWSWEEP_LATERAL_FIRST;
    if (both[0]->points || both[1]->points) {
        sweeps.reversed = is_before(both[0], both[1]) != lateral_first;
        sweeps.sweep[DW_LOWSWEEP_LATERAL] = both[sweeps.reversed];
        sweeps.sweep[DW_LOWSWEEP_VERTICAL] = both[!sweeps.reversed];
        sweeps.sweep[DW_LOWSWEEP_IN_PHASE] = sweeps.sweep[DW_LOWSWEEP_OPPOSITE] = &none;
    } else if (lowsweep->alone_met == 1) {
        sweeps.sweep[lateral_first ? DW_LOWSWEEP_LATERAL : DW_LOWSWEEP_VERTICAL] = sweeps.sweep[DW_LOWSWEEP_EITHER];
        sweeps.sweep[DW_LOWSWEEP_EITHER] = &none;
    }
    return sweeps;
}

// Where a channel is reversed or the order stated wrong, which of the two is which nobody knows: nothing is judged.
static void leave_unjudged(DwSheet *sheet)
{
    for (size_t d = DW_LOWSWEEP_LATERAL; d <= DW_LOWSWEEP_VERTICAL; d++) {
        char key[40];
        snprintf(key, sizeof key, "lowsweep.%s", names[d]);
        DwReading *reading = dw_sheet_reading(sheet, key);
        if (reading)
            reading->unjudged = true;
    }
}

static void remark_directions(const Sweeps *sweeps, DwSheet *sheet)
{
    if (sweeps->reversed) {
        leave_unjudged(sheet);
        dw_sheet_remark(
            sheet,
            "One channel is reversed, or lowsweep.order is stated the other way round: a lateral sweep comes "
            "in phase, and the one stated to be lateral does not. The readings go by what was stated, unjudged. The "
            "bands for the channels show whether one is reversed.");
    }
    if (sweeps->sweep[DW_LOWSWEEP_IN_PHASE]->points || sweeps->sweep[DW_LOWSWEEP_OPPOSITE]->points)
        dw_sheet_remark(sheet,
                        "The sweep whose channels come in phase is the lateral one unless a channel is reversed: then "
                        "it is the vertical one, and nothing in the sweeps tells. So neither is judged. State "
                        "lowsweep.order by the record's label, or measure the whole side by its plan (side).");
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
    bool any = false;
    for (size_t d = 0; d < DW_LOWSWEEP_DIRECTIONS; d++)
        any = any || lowsweep->sweep[d].points;
    if (!any)
        return dw_fail(
            message, DW_BAD_INPUT,
            "No sweep between 4 and 45 Hz was found. Record the low-frequency band of a test record through a "
            "chain without a rumble filter, or give record.start and record.end.");
    Sweeps sweeps = tell_directions(lowsweep);
    for (size_t i = 0; i < DW_LOWSWEEP_DIRECTIONS; i++) // what is wrong with a sweep is said before whose it is
        add_direction(lowsweep, &sweeps, (i + DW_LOWSWEEP_EITHER) % DW_LOWSWEEP_DIRECTIONS, sheet);
    remark_directions(&sweeps, sheet);
    return DW_OK;
}
