// SPDX-License-Identifier: MIT
// What a run-up tells, as readings, a curve and remarks.
#include "measure/speed/startup_run_up.h"

#include "base/text.h"
#include "dsp/statistics.h"

#include <math.h>
#include <stdio.h>

static const double LEAST_DOUBT_S = 0.004; // of a time, by starts of every kind that a model drew (scripts/trace-trial)
static const double OVER_STEADY = 0.95;    // of the steady fluctuation: what may stand on a crest
static const double BETWEEN_VALUES = 0.3;  // of their spacing: the time is found between them
// Of the steady fluctuation, in a mean over whole turns: what comes once a turn cancels. By drawn starts, as above.
static const double LEFT_OF_STEADY = 0.2;
static const double CLIMB_SHARE =
    0.33;                              // of the band: a change this large from one window to the next is no final speed
static const double TONE_LEEWAY = 0.5; // %: a record's tone may be off by this (IEC 60098)
static const double SWINGS_ON = 0.3;   // %: a steady fluctuation that is said
static const double DIES = 0.8;        // of the swing before: what is less is dying away
static const double WILD_PERCENT = 3;  // beyond it a speed swings wildly; what a steady stretch keeps within
static const double ENOUGH_TURNS = 1.95;                     // two, less what parts one value from the next
static const double DOUBTFUL_S = 0.1, DOUBTFUL_SHARE = 0.01; // of the time: a beginning no better known is marked
enum { CURVE_POINTS_MOST = 4000 };

static DwReading *add(DwSheet *sheet, const char *key, const char *label, double value, const char *unit, int digits,
                      const char *method)
{
    DwReading *reading = dw_sheet_add_reading(sheet, key, label, value, unit, digits);
    dw_reading_set_method(reading, method);
    return reading;
}

static void add_curve(const DwStartupSettings *s, const DwRunUp *up, DwSheet *sheet)
{
    const DwSpeedCourse *c = &up->speed_course;
    size_t size = c->steady_to / CURVE_POINTS_MOST + 1, points = c->steady_to / size;
    DwCurve *curve = dw_sheet_add_curve(sheet, "startup.speed", "Speed", (DwAxis){"Time", "s"},
                                        (DwAxis){"Share of the final speed", "%"}, points);
    for (size_t i = 0; i < points; i++) {
        curve->x_values[i] = s->skip_s + dw_statistics_mean(c->seconds + i * size, size);
        curve->y_values[i] = 100 * dw_statistics_mean(up->speed + i * size, size);
    }
}

// What the time is uncertain by: a value's spacing, and how long the speed takes
// through the fluctuation and the climb that the final speed is known within.
static double time_error_s(const DwRunUp *up)
{
    const DwSpeedCourse *c = &up->speed_course;
    size_t i = up->reached > 0 ? up->reached : 1, back = i > 8 ? i - 8 : 0;
    double step_s = c->seconds[1] - c->seconds[0];
    double per_s = (up->speed[i] - up->speed[back]) / (c->seconds[i] - c->seconds[back]);
    double doubt = hypot(LEFT_OF_STEADY * up->steady / sqrt(fmax(1, up->final_turns)), up->climb) / 100;
    double through = per_s > 0 ? doubt / per_s : 0;
    return hypot(hypot(fmax(LEAST_DOUBT_S, BETWEEN_VALUES * step_s), through), up->begins_doubt_s);
}

// Whether the speed still climbs or falls at the end: then no final speed is known, nor what is counted from it.
static bool is_moving(const DwStartupSettings *s, const DwRunUp *up)
{
    return fabs(up->climb) > fmax(CLIMB_SHARE * s->band_percent, 0.05);
}

// Whether the platter arrives: its final speed is one, and is the nominal one. Says why not.
static bool arrives(const DwStartupSettings *s, const DwRunUp *up, DwSheet *sheet)
{
    char why[300];
    double error = 100 * (up->final_hz / s->tone_hz - 1);
    bool still = is_moving(s, up);
    bool off = isfinite(error) && fabs(error) > s->band_percent + TONE_LEEWAY;
    if (!still && !off)
        return true;
    if (still)
        snprintf(why, sizeof why,
                 "the speed still %s at the end of the recording, by %.2f %% over the last %.0f turns. Let it run on.",
                 up->climb > 0 ? "climbs" : "falls", fabs(up->climb), up->final_turns);
    else
        snprintf(why, sizeof why,
                 "the platter settles %.1f %% %s and never runs at its nominal speed. Set the speed first, or "
                 "correct record.tone or deck.speed if one of them is wrong.",
                 fabs(error), error > 0 ? "fast" : "slow");
    dw_sheet_not_measured(sheet, "startup.time", "%s", why);
    dw_sheet_not_measured(sheet, "startup.settle", "%s", why);
    return false;
}

static void add_overshoot(const DwRunUp *up, DwSheet *sheet)
{
    DwReading *reading = add(sheet, "startup.overshoot", "Overshoot", up->overshoot, "%", 2,
                             "highest speed after it was reached, over the final speed");
    reading->uncertainty = hypot(OVER_STEADY * up->steady, up->crest);
    if (up->overshoot == 0)
        dw_sheet_remark(sheet, "No overshoot beyond the steady fluctuation of %.2f %%.", up->steady);
    if (up->steady > SWINGS_ON)
        dw_sheet_remark(sheet,
                        "At its final speed it still swings by %.2f %%: measure wow and flutter (speed) on a "
                        "recording of a minute.",
                        up->steady);
    else if (isnan(up->swing))
        dw_sheet_remark(sheet, "No hunting beyond %.2f %% was found.", up->least_swing);
}

static void add_lasting_hunting(const DwRunUp *up, DwSheet *sheet)
{
    static const char causes[] = "a control that is not damped, or a belt or idler that turns at this rate; speed with "
                                 "the drive described tells.";
    add(sheet, "startup.hunting_rate", "Rate of the hunting", up->swing_hz, "Hz", 2, "where it is strongest");
    if (up->late_swing < DIES * up->early_swing)
        dw_sheet_remark(
            sheet,
            "Its hunting at %.2f Hz is slow to calm, by %.2f %% in the first half and %.2f %% in the last: a control "
            "that is hardly damped.",
            up->swing_hz, up->early_swing, up->late_swing);
    else
        dw_sheet_remark(sheet, "The speed goes on hunting at %.2f Hz by %.2f %%: %s", up->swing_hz, up->swing, causes);
}

static void add_hunting(const DwRunUp *up, DwSheet *sheet)
{
    if (isnan(up->swing))
        return;
    add(sheet, "startup.hunting", "Hunting", up->swing, "% peak", 2,
        up->goes_on ? "the strongest swing of the final speed that is no turn of the platter's"
                    : "half the first swing, from over to under");
    if (up->goes_on) {
        add_lasting_hunting(up, sheet);
        return;
    }
    add(sheet, "startup.hunting_rate", "Rate of the hunting", up->swing_hz, "Hz", 2, "mean between turning points");
    dw_sheet_remark(sheet,
                    "The speed hunts at %.2f Hz before it settles: a servo's damping, or a belt's spring against "
                    "the platter.",
                    up->swing_hz);
}

// Marks a time whose beginning was missed, or is not known to a tenth of a second nor a hundredth of the time.
static bool is_doubtful(const DwRunUp *up)
{
    return up->is_late || up->begins_doubt_s > fmax(DOUBTFUL_S, DOUBTFUL_SHARE * up->time_s);
}

static void mark_doubt(const DwRunUp *up, DwReading *reading)
{
    if (is_doubtful(up))
        reading->flags |= DW_FLAG_APPROXIMATE;
}

static void add_times(const DwStartupSettings *s, const DwRunUp *up, DwSheet *sheet)
{
    double doubt = time_error_s(up);
    DwReading *reading = add(sheet, "startup.time", "Time to reach speed", up->time_s, "s", 2,
                             "from the first movement to the first time within the band");
    reading->uncertainty = doubt;
    mark_doubt(up, reading);
    if (isnan(up->settle_s)) {
        dw_sheet_not_measured(
            sheet, "startup.settle",
            "the speed leaves the band of %g %% again to the end. Let it run longer, or state a wider "
            "startup.band.",
            s->band_percent);
        return;
    }
    reading = add(sheet, "startup.settle", "Time to settle", up->settle_s, "s", 2,
                  "from the first movement until it stays within the band");
    reading->uncertainty = hypot(doubt, up->settle_doubt_s);
    mark_doubt(up, reading);
}

// What is counted from the final speed: nothing of it is known while the speed moves.
static void add_final(const DwStartupSettings *s, const DwRunUp *up, DwSheet *sheet)
{
    const char *moves = up->climb > 0 ? "climbs" : "falls";
    if (is_moving(s, up)) {
        dw_sheet_not_measured(sheet, "startup.overshoot", "the speed still %s at the end of the recording.", moves);
        dw_sheet_not_measured(sheet, "startup.final", "the speed still %s at the end of the recording.", moves);
        return;
    }
    add_overshoot(up, sheet);
    if (isfinite(s->tone_hz))
        add(sheet, "startup.final", "Final speed", s->speed_rpm * up->final_hz / s->tone_hz, "rpm", 2,
            "tone against the engraved frequency, last third");
    else
        dw_sheet_not_measured(sheet, "startup.final",
                              "record.tone is not stated: whether the final speed is the right one is not known.");
    if (up->final_turns < ENOUGH_TURNS)
        dw_sheet_remark(sheet, "The final speed was taken from %.1f turns only: let it run for 15 s more.",
                        up->final_turns);
}

static void remark_beginning(const DwStartupSettings *s, const DwRunUp *up, DwSheet *sheet)
{
    char begins[32];
    dw_text_decimal(begins, sizeof begins, s->skip_s + up->begins_s, 1);
    if (is_moving(s, up))
        dw_sheet_remark(sheet, "The platter begins to move %s s into the recording.", begins);
    else
        dw_sheet_remark(sheet,
                        "The platter begins to move %s s into the recording; its speed counts as reached within %g %% "
                        "of the final one.",
                        begins, s->band_percent);
    if (up->is_late)
        dw_sheet_remark(sheet,
                        "The tone is first heard at %.0f %% of the speed; the start was reckoned back from there.",
                        100 * up->speed[0]);
    else if (is_doubtful(up))
        dw_sheet_remark(sheet,
                        "It begins to move so softly that the first %.0f %% of the speed are not heard; the beginning "
                        "was reckoned back from how the speed goes on, to within %.2f s.",
                        100 * up->speed[0], up->begins_doubt_s);
}

void dw_run_up_fill_sheet(const DwStartupSettings *s, const DwRunUp *up, DwSheet *sheet)
{
    if (arrives(s, up, sheet))
        add_times(s, up, sheet);
    add_final(s, up, sheet);
    add_hunting(up, sheet);
    add_curve(s, up, sheet);
    remark_beginning(s, up, sheet);
    if (isfinite(up->off_s))
        dw_sheet_remark(sheet, "The motor was switched off %.1f s into the recording; the run-down is left out.",
                        s->skip_s + up->off_s);
    if (up->speed_course.swings && up->steady > WILD_PERCENT)
        dw_sheet_remark(sheet, "The speed swings by more than %g %% all along. Find out what makes it hunt first.",
                        WILD_PERCENT);
    else if (up->speed_course.swings)
        dw_sheet_remark(sheet,
                        "The speed takes long to calm: it swings by up to %.2f %% in the last third. Find out "
                        "what makes it hunt first.",
                        up->steady);
    dw_sheet_remark(sheet, "The stylus rode in the groove: its drag is part of this start.");
}
