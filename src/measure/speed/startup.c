// SPDX-License-Identifier: MIT
#include "measure/speed/startup.h"

#include "base/memory.h"
#include "base/text.h"
#include "dsp/statistics.h"
#include "measure/tone/sweep_tracker.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double LEAST_DOUBT_S = 0.006; // of a time, by starts of every kind that a model drew (scripts/trace-trial)
static const double FALLEN = 0.95;         // of the final speed: the recording ends in a run-down
static const double OFF_MARGIN_S = 0.4;    // before a fall is seen
static const double KEEP_S = 900;          // a platter on a good bearing runs down for minutes
static const double STILL_SHARE = 0.12;    // of the final speed: up to here a run-up is a straight line
static const double LATE_SHARE = 0.4;      // first heard above this, the start was missed
static const double LEAST_SWING = 0.05;    // %: what is smaller is no hunting
static const double OVER_STEADY = 1.5;     // nor what is within this of the steady fluctuation
static const double CLIMB_SHARE =
    0.33;                              // of the band: a change this large from one window to the next is no final speed
static const double TONE_LEEWAY = 0.5; // %: a record's tone may be off by this (IEC 60098)
static const double SWINGS_ON = 0.3;   // %: a steady fluctuation that is said
static const double SWING_LOWEST_HZ = 0.25, SWING_HIGHEST_HZ = 5, SWING_TURNS = 1.5; // of hunting that goes on
static const double LASTING_SWING = 0.15;                                            // % peak
static const double LASTING_SHARE = 0.4; // of the mean square of all that the final speed strays by
static const double DIES = 0.8;          // of the swing before: what is less is dying away
static const double WILD_PERCENT = 3;    // beyond it a speed swings wildly; what a steady stretch keeps within
static const double ENOUGH_TURNS = 1.95; // two, less what parts one value from the next
enum { MEDIAN = 5, CURVE_POINTS_MOST = 4000, TURNS_MOST = 64 };

struct DwStartup {
    DwStartupSettings settings;
    DwSweepTracker *tracker;
};

DwStartup *dw_startup_new(DwStartupSettings settings)
{
    DwStartup *startup = dw_memory_new(1, sizeof *startup);
    startup->settings = settings;
    startup->tracker = dw_sweep_tracker_new((DwSweepTrackerSettings){settings.rate_hz, settings.channels, KEEP_S});
    return startup;
}

void dw_startup_free(DwStartup *startup)
{
    if (!startup)
        return;
    dw_sweep_tracker_free(startup->tracker);
    free(startup);
}

void dw_startup_push(DwStartup *startup, const float *interleaved, size_t frames)
{
    dw_sweep_tracker_push(startup->tracker, interleaved, frames);
}

void dw_startup_finish(DwStartup *startup)
{
    dw_sweep_tracker_finish(startup->tracker);
}

static int compare(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

// A tick spoils single values: each becomes the median of those about it.
static void take_medians(DwSpeedCourse *speed_course)
{
    double *smooth = dw_memory_new(speed_course->count, sizeof *smooth), about[MEDIAN];
    for (size_t i = 0; i < speed_course->count; i++) {
        size_t from = i < MEDIAN / 2 ? 0 : i - MEDIAN / 2;
        from = from + MEDIAN > speed_course->count ? speed_course->count - MEDIAN : from;
        memcpy(about, speed_course->frequency_hz + from, sizeof about);
        qsort(about, MEDIAN, sizeof *about, compare);
        bool edge = i < MEDIAN / 2 || i + MEDIAN / 2 >= speed_course->count;
        smooth[i] = edge ? speed_course->frequency_hz[i] : about[MEDIAN / 2];
    }
    free(speed_course->frequency_hz);
    speed_course->frequency_hz = smooth;
}

static DwStatus get_speed_course(const DwStartup *startup, DwSpeedCourse *speed_course, DwMessage *message)
{
    double skip = startup->settings.skip_s, length = dw_sweep_tracker_length_s(startup->tracker);
    if (dw_sweep_tracker_met_bad_sample(startup->tracker))
        return dw_fail(message, DW_BAD_INPUT,
                       "A sample at %.1f s is not a number (NaN or infinite). Export the recording again.",
                       skip + length);
    bool found = dw_sweep_tracker_course(startup->tracker, speed_course);
    if (!found || speed_course->count < MEDIAN) {
        dw_sweep_tracker_course_clear(speed_course);
        return dw_fail(
            message, DW_BAD_INPUT,
            "No tone was found between %.1f and %.1f s that could be followed. Record the tone band of a test "
            "record with the stylus in the groove.",
            skip, skip + length);
    }
    take_medians(speed_course);
    return DW_OK;
}

// --- the run-up -------------------------------------------------------------

typedef struct {
    DwSpeedCourse speed_course;
    double *speed; // share of the final speed
    size_t tail;   // from here on the speed counts as final
    double final_hz, final_turns;
    double climb;    // % from the window before the final one to it
    double steady;   // % peak, of the fluctuation in the tail
    double begins_s; // when the platter starts to move, by the recording's clock
    double begins_doubt_s;
    size_t reached;                     // first value within the band
    double time_s, settle_s, overshoot; // NAN where there is none
    double swing, swing_hz;             // of hunting
    bool goes_on;                       // it does so to the end
    double early_swing, late_swing;     // of what goes on: over its first half and its last, % peak
    double off_s;                       // when the deck was switched off, by the recording's clock; NAN when it was not
} RunUp;

// Ends the steady stretch where a run-down begins, so that nothing of that counts as the final speed.
static void leave_run_down(RunUp *up)
{
    DwSpeedCourse *c = &up->speed_course;
    size_t from = c->steady_from, count = c->steady_to - from;
    up->off_s = NAN;
    if (c->count - c->steady_to < MEDIAN)
        return;
    double *sorted = dw_memory_new(count, sizeof *sorted);
    memcpy(sorted, c->frequency_hz + from, count * sizeof *sorted);
    qsort(sorted, count, sizeof *sorted, compare);
    double middle = sorted[count / 2], low = sorted[count / 10];
    free(sorted);
    if (dw_statistics_mean(c->frequency_hz + c->count - MEDIAN, MEDIAN) > FALLEN * middle)
        return;
    // Back to where it was last among what it is usually, and a little before: flutter hides the first of the fall.
    size_t to = c->steady_to;
    while (to > from + count / 3 && c->frequency_hz[to - 1] < low)
        to--;
    up->off_s = c->seconds[to - 1];
    while (to > from + count / 3 && c->seconds[to - 1] > up->off_s - OFF_MARGIN_S)
        to--;
    c->steady_to = to;
}

// The mean of the last third of the steady stretch, over whole turns where there are any.
static void find_final(const DwStartup *startup, RunUp *up)
{
    const DwSpeedCourse *c = &up->speed_course;
    double turn_hz = startup->settings.speed_rpm / 60, end = c->seconds[c->steady_to - 1];
    double third = (end - c->seconds[c->steady_from]) / 3;
    double turns = fmax(1, floor(third * turn_hz));
    double from = fmax(end - turns / turn_hz, c->seconds[c->steady_from]);
    up->tail = c->steady_to - 1;
    while (up->tail > c->steady_from && c->seconds[up->tail - 1] >= from)
        up->tail--;
    up->final_turns = (end - from) * turn_hz;
    up->final_hz = dw_statistics_mean(c->frequency_hz + up->tail, c->steady_to - up->tail);
    // As many turns before, so that what comes once a turn cancels.
    size_t before = up->tail;
    while (before > c->steady_from && c->seconds[before - 1] >= 2 * from - end)
        before--;
    if (before < up->tail)
        up->climb = 100 * (1 - dw_statistics_mean(c->frequency_hz + before, up->tail - before) / up->final_hz);
    up->speed = dw_memory_new(c->count, sizeof *up->speed);
    for (size_t i = 0; i < c->count; i++)
        up->speed[i] = c->frequency_hz[i] / up->final_hz;
    for (size_t i = up->tail; i < c->steady_to; i++)
        up->steady = fmax(up->steady, 100 * fabs(up->speed[i] - 1));
}

// When the platter starts to move: the first stretch of the run-up, back to nothing.
static void find_beginning(RunUp *up)
{
    double most = fmax(STILL_SHARE, up->speed[0] + 0.03);
    size_t count = 0;
    while (count < up->speed_course.count && (up->speed[count] <= most || count < 4))
        count++;
    dw_startup_beginning(up->speed_course.seconds, up->speed, count, &up->begins_s, &up->begins_doubt_s);
}

// When the speed first comes within BAND of the final one, between two values.
static void find_reached(RunUp *up, double band)
{
    const DwSpeedCourse *c = &up->speed_course;
    while (up->reached < c->steady_to && up->speed[up->reached] < 1 - band)
        up->reached++;
    size_t i = up->reached;
    double at = c->seconds[i];
    if (i > 0) {
        double share = (1 - band - up->speed[i - 1]) / (up->speed[i] - up->speed[i - 1]);
        at = c->seconds[i - 1] + share * (c->seconds[i] - c->seconds[i - 1]);
    }
    up->time_s = at - up->begins_s;
    size_t outside = c->steady_to;
    while (outside > up->reached && fabs(up->speed[outside - 1] - 1) <= band)
        outside--;
    if (outside == up->reached)
        up->settle_s = up->time_s;
    else if (outside <= up->tail)
        up->settle_s = c->seconds[outside] - up->begins_s;
    else
        up->settle_s = NAN;
}

// The turning points of the speed after it was reached, each further than LEAST
// from the one before: percent over the final speed, and when.
static size_t list_turns(const RunUp *up, double least, double *percent, double *seconds)
{
    size_t count = 0, best = up->reached;
    int way = 1; // upwards first
    for (size_t i = up->reached; i < up->tail && count < TURNS_MOST; i++) {
        double now = 100 * (up->speed[i] - 1), extreme = 100 * (up->speed[best] - 1);
        if (way * (now - extreme) > 0)
            best = i;
        else if (way * (extreme - now) > least) {
            percent[count] = extreme;
            seconds[count++] = up->speed_course.seconds[best];
            way = -way;
            best = i;
        }
    }
    return count;
}

static void find_hunting(RunUp *up)
{
    double percent[TURNS_MOST], seconds[TURNS_MOST], least = fmax(LEAST_SWING, OVER_STEADY * up->steady), highest = 0;
    size_t count = list_turns(up, 2 * least, percent, seconds); // from peak to peak
    for (size_t i = up->reached; i < up->tail; i++)
        highest = fmax(highest, 100 * (up->speed[i] - 1));
    up->overshoot = highest > least ? highest : 0;
    up->swing = up->swing_hz = NAN;
    if (count < 3) // over, under and over again
        return;
    up->swing = fabs(percent[0] - percent[1]) / 2;
    up->swing_hz = (double)(count - 1) / 2 / (seconds[count - 1] - seconds[0]);
}

// How strongly the final speed swings at HZ, % peak, what comes once and twice a turn taken out beforehand.
static double swing_at(const double *seconds, const double *percent, size_t count, double hz)
{
    double c = 0, s = 0;
    for (size_t i = 0; i < count; i++) {
        double window = 1 - cos(2 * M_PI * ((double)i + 0.5) / (double)count), angle = 2 * M_PI * hz * seconds[i];
        c += window * percent[i] * cos(angle);
        s += window * percent[i] * sin(angle);
    }
    return 2 * hypot(c, s) / (double)count;
}

// A control that goes on hunting swings at one rate that is no turn of the platter's, by most of what the final
// speed strays.
static void find_lasting_swing(const DwStartup *startup, RunUp *up)
{
    const DwSpeedCourse *c = &up->speed_course;
    double turn_hz = startup->settings.speed_rpm / 60, best = 0, best_hz = 0, squares = 0;
    size_t from = up->reached + (c->steady_to - up->reached) / 4, count = c->steady_to - from;
    double span = c->seconds[c->steady_to - 1] - c->seconds[from];
    if (span < SWING_TURNS / SWING_LOWEST_HZ)
        return;
    double *percent = dw_memory_new(count, sizeof *percent);
    for (size_t i = 0; i < count; i++) {
        percent[i] = 100 * (up->speed[from + i] - 1);
        squares += percent[i] * percent[i] / (double)count;
    }
    for (double hz = SWING_LOWEST_HZ; hz < SWING_HIGHEST_HZ; hz += 0.25 / span) {
        double nearest = fmax(1, round(hz / turn_hz)) * turn_hz;
        double swing = nearest <= 2 * turn_hz && fabs(hz - nearest) * span < 2.5
                           ? 0
                           : swing_at(c->seconds + from, percent, count, hz);
        if (swing > best) {
            best = swing;
            best_hz = hz;
        }
    }
    up->early_swing = swing_at(c->seconds + from, percent, count / 2, best_hz);
    up->late_swing = swing_at(c->seconds + from + count / 2, percent + count / 2, count - count / 2, best_hz);
    free(percent);
    if (best < LASTING_SWING || best * best / 2 < LASTING_SHARE * squares)
        return;
    up->swing = best;
    up->swing_hz = best_hz;
    up->goes_on = true;
}

static DwReading *add(DwSheet *sheet, const char *key, const char *label, double value, const char *unit, int digits,
                      const char *method)
{
    DwReading *reading = dw_sheet_add_reading(sheet, key, label, value, unit, digits);
    dw_reading_set_method(reading, method);
    return reading;
}

static void add_curve(const DwStartup *startup, const RunUp *up, DwSheet *sheet)
{
    const DwSpeedCourse *c = &up->speed_course;
    size_t size = c->steady_to / CURVE_POINTS_MOST + 1, points = c->steady_to / size;
    DwCurve *curve = dw_sheet_add_curve(sheet, "startup.speed", "Speed", (DwAxis){"Time", "s"},
                                        (DwAxis){"Share of the final speed", "%"}, points);
    for (size_t i = 0; i < points; i++) {
        curve->x_values[i] = startup->settings.skip_s + dw_statistics_mean(c->seconds + i * size, size);
        curve->y_values[i] = 100 * dw_statistics_mean(up->speed + i * size, size);
    }
}

// What the time is uncertain by: a value's spacing, and how long the speed takes
// through the fluctuation and the climb that the final speed is known within.
static double time_error_s(const RunUp *up)
{
    const DwSpeedCourse *c = &up->speed_course;
    size_t i = up->reached > 0 ? up->reached : 1, back = i > 8 ? i - 8 : 0;
    double step_s = c->seconds[1] - c->seconds[0];
    double per_s = (up->speed[i] - up->speed[back]) / (c->seconds[i] - c->seconds[back]);
    double doubt = hypot(up->steady / sqrt(fmax(1, up->final_turns)), up->climb) / 100;
    double through = per_s > 0 ? doubt / per_s : 0;
    return hypot(hypot(fmax(LEAST_DOUBT_S, step_s), through), up->begins_doubt_s);
}

// Whether the speed still climbs or falls at the end: then no final speed is known, nor what is counted from it.
static bool is_moving(const DwStartupSettings *s, const RunUp *up)
{
    return fabs(up->climb) > fmax(CLIMB_SHARE * s->band_percent, 0.05);
}

// Whether the platter arrives: its final speed is one, and is the nominal one. Says why not.
static bool arrives(const DwStartupSettings *s, const RunUp *up, DwSheet *sheet)
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

static void add_overshoot(const RunUp *up, DwSheet *sheet)
{
    DwReading *reading = add(sheet, "startup.overshoot", "Overshoot", up->overshoot, "%", 2,
                             "highest speed after it was reached, over the final speed");
    reading->uncertainty = up->steady;
    if (up->overshoot == 0)
        dw_sheet_remark(sheet, "No overshoot beyond the steady fluctuation of %.2f %%.", up->steady);
    if (up->steady > SWINGS_ON)
        dw_sheet_remark(sheet,
                        "At its final speed it still swings by %.2f %%: measure wow and flutter (speed) on a "
                        "recording of a minute.",
                        up->steady);
    else if (isnan(up->swing))
        dw_sheet_remark(sheet, "No hunting beyond %.2f %% was found.", fmax(LEAST_SWING, OVER_STEADY * up->steady));
}

static void add_lasting_hunting(const RunUp *up, DwSheet *sheet)
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

static void add_hunting(const RunUp *up, DwSheet *sheet)
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

static void add_times(const DwStartupSettings *s, const RunUp *up, DwSheet *sheet)
{
    double doubt = time_error_s(up);
    DwReading *reading = add(sheet, "startup.time", "Time to reach speed", up->time_s, "s", 2,
                             "from the first movement to the first time within the band");
    reading->uncertainty = doubt;
    if (up->speed[0] > STILL_SHARE)
        reading->flags |= DW_FLAG_APPROXIMATE;
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
    reading->uncertainty = doubt;
}

// What is counted from the final speed: nothing of it is known while the speed moves.
static void add_final(const DwStartupSettings *s, const RunUp *up, DwSheet *sheet)
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

static void remark_beginning(const DwStartupSettings *s, const RunUp *up, DwSheet *sheet)
{
    char begins[32];
    double first = up->speed[0];
    dw_text_decimal(begins, sizeof begins, s->skip_s + up->begins_s, 1);
    if (is_moving(s, up))
        dw_sheet_remark(sheet, "The platter begins to move %s s into the recording.", begins);
    else
        dw_sheet_remark(sheet,
                        "The platter begins to move %s s into the recording; its speed counts as reached within %g %% "
                        "of the final one.",
                        begins, s->band_percent);
    if (first > STILL_SHARE)
        dw_sheet_remark(sheet,
                        "The tone is first heard at %.0f %% of the speed; the start was reckoned back from there.",
                        100 * first);
}

static void fill_sheet(const DwStartup *startup, const RunUp *up, DwSheet *sheet)
{
    const DwStartupSettings *s = &startup->settings;
    if (arrives(s, up, sheet))
        add_times(s, up, sheet);
    add_final(s, up, sheet);
    add_hunting(up, sheet);
    add_curve(startup, up, sheet);
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

DwStatus dw_startup_read(const DwStartup *startup, DwSheet *sheet, DwMessage *message)
{
    RunUp up = {.steady = 0};
    DwStatus status = get_speed_course(startup, &up.speed_course, message);
    if (status != DW_OK)
        return status;
    if (up.speed_course.steady_to <= up.speed_course.steady_from)
        status =
            dw_fail(message, DW_BAD_INPUT,
                    "The tone never stays steady for two seconds. Let the recording go on for 15 s after the speed "
                    "is reached.");
    if (status == DW_OK) {
        leave_run_down(&up);
        find_final(startup, &up);
        if (up.speed[0] > LATE_SHARE)
            status =
                dw_fail(message, DW_BAD_INPUT,
                        "The tone is first heard at %.0f %% of its speed: the start is not in the recording. Begin "
                        "recording with the stylus down and the motor off.",
                        100 * up.speed[0]);
    }
    if (status == DW_OK) {
        find_beginning(&up);
        find_reached(&up, startup->settings.band_percent / 100);
        find_hunting(&up);
        find_lasting_swing(startup, &up);
        fill_sheet(startup, &up, sheet);
    }
    free(up.speed);
    dw_sweep_tracker_course_clear(&up.speed_course);
    return status;
}

// --- the run-down -------------------------------------------------------------

DwStatus dw_startup_run_down(const DwStartup *startup, size_t points, DwRunDown *run_down, DwMessage *message)
{
    static const double fallen = 0.98, least_fall = 0.9;
    DwSpeedCourse speed_course;
    DwStatus status = get_speed_course(startup, &speed_course, message);
    if (status != DW_OK)
        return status;
    bool steady = speed_course.steady_to > speed_course.steady_from && !speed_course.swings;
    double full_hz = steady ? dw_statistics_mean(speed_course.frequency_hz + speed_course.steady_from,
                                                 speed_course.steady_to - speed_course.steady_from)
                            : dw_statistics_mean(speed_course.frequency_hz, MEDIAN);
    double tone_hz = isfinite(startup->settings.tone_hz) ? startup->settings.tone_hz : full_hz;
    size_t from = steady ? speed_course.steady_from : 0;
    if (speed_course.frequency_hz[speed_course.count - 1] > least_fall * full_hz) {
        dw_sweep_tracker_course_clear(&speed_course);
        return dw_fail(message, DW_BAD_INPUT, "The tone does not fall: no run-down is in the recording.");
    }
    for (size_t i = from; i < speed_course.count; i++) // where it was last above
        if (speed_course.frequency_hz[i] > fallen * full_hz)
            from = i;
    size_t count = speed_course.count - from;
    points = count < points ? count : points;
    *run_down = (DwRunDown){.count = points, .tone_hz = tone_hz};
    run_down->seconds = dw_memory_new(points, sizeof(double));
    run_down->speed_rpm = dw_memory_new(points, sizeof(double));
    for (size_t i = 0; i < points; i++) {
        size_t begin = from + i * count / points, end = from + (i + 1) * count / points;
        double seconds = dw_statistics_mean(speed_course.seconds + begin, end - begin);
        double hz = dw_statistics_mean(speed_course.frequency_hz + begin, end - begin);
        run_down->seconds[i] = seconds;
        run_down->speed_rpm[i] = startup->settings.speed_rpm * hz / tone_hz;
    }
    for (size_t i = points; i-- > 0;)
        run_down->seconds[i] -= run_down->seconds[0];
    dw_sweep_tracker_course_clear(&speed_course);
    return DW_OK;
}
