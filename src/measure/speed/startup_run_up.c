// SPDX-License-Identifier: MIT
#include "measure/speed/startup_run_up.h"

#include "base/memory.h"
#include "dsp/statistics.h"

#include <math.h>
#include <stdlib.h>

static const double OFF_MARGIN_S = 0.4;                    // before a fall is seen
static const double STILL_SHARE = 0.12;                    // of the final speed: up to here a run-up is a straight line
static const double SOFT_SHARE = 0.2, LATE_STRETCH = 0.15; // up to here it tells how it began by its bend
static const double SURELY_HEARD = 1.2; // of the lowest speed followed: beside it a spectrum's edge draws values up
static const double SEEN_TO_RISE = 0.8; // of what another law leaves
static const double MUCH_SURER = 0.6;   // of the doubt that is left without
static const double LEAST_SWING = 0.05; // %: what is smaller is no hunting
static const double OVER_STEADY = 1.5;  // nor what is within this of the steady fluctuation
static const double SWING_LOWEST_HZ = 0.25, SWING_HIGHEST_HZ = 5, SWING_TURNS = 1.5; // of hunting that goes on
static const double SETTLE_DOUBT = 0.2;   // of the steady fluctuation: how well a swing is known against the band
static const double LASTING_SWING = 0.15; // % peak
static const double LASTING_SHARE = 0.4;  // of the mean square of all that the final speed strays by
enum {
    TURNS_MOST = 64,
    CREST = 3,
    ENDS = 5,
    UNSURE = 16
}; // values that a steady stretch has at least; while a stylus lands

// Ends the steady stretch where a run-down begins, so that nothing of that counts as the final speed.
static void leave_run_down(const DwStartupSettings *settings, DwRunUp *up)
{
    DwSpeedCourse *c = &up->speed_course;
    up->off_s = dw_startup_switched_off(c, settings->speed_rpm / 60);
    while (isfinite(up->off_s) && c->steady_to > c->steady_from + ENDS &&
           c->seconds[c->steady_to - 1] > up->off_s - OFF_MARGIN_S)
        c->steady_to--;
}

// The mean of the last third of the steady stretch, over whole turns where there are any.
static void find_final(const DwStartupSettings *settings, DwRunUp *up)
{
    const DwSpeedCourse *c = &up->speed_course;
    double turn_hz = settings->speed_rpm / 60, end = c->seconds[c->steady_to - 1];
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

// How many values of the run-up come before the speed is MOST.
static size_t values_below(const DwRunUp *up, double most)
{
    size_t count = 0;
    while (count < up->speed_course.count && (up->speed[count] <= most || count < 4))
        count++;
    return count;
}

// Hears when the torque came up in the first waves, below what can be followed; false where they do not show it much
// better, or contradict how the speed goes on.
static bool hear_beginning(DwRunUp *up, const DwBeginning *line, const DwSoftBeginning *soft)
{
    DwFirstWaves waves = {up->final_hz, line->line_s, line->line_per_s, up->speed[0], 0, 0};
    bool heard = false;
    for (size_t c = 0; c < 2 && !heard; c++)
        heard = up->sound[c].count && dw_startup_first_waves(&up->sound[c], &waves);
    if (!heard || waves.doubt_s > MUCH_SURER * soft->doubt_s || waves.begins_s + waves.doubt_s < soft->earliest_s ||
        waves.begins_s - waves.doubt_s > soft->latest_s)
        return false;
    up->begins_s = waves.begins_s;
    up->begins_doubt_s = waves.doubt_s;
    return true;
}

// When the platter starts to move: the first stretch of the run-up, back to nothing.
static void find_beginning(DwRunUp *up)
{
    const double *seconds = up->speed_course.seconds;
    DwBeginning line =
        dw_startup_beginning(seconds, up->speed, values_below(up, fmax(STILL_SHARE, up->speed[0] + 0.03)));
    up->begins_s = line.begins_s;
    up->begins_doubt_s = line.doubt_s;
    DwSoftBeginning soft;
    double most = up->is_late ? up->speed[0] + LATE_STRETCH : SOFT_SHARE;
    size_t first = up->is_late ? UNSURE : values_below(up, SURELY_HEARD * up->speed[0]);
    size_t count = values_below(up, most);
    if (count <= first ||
        !dw_startup_soft_beginning(seconds + first, up->speed + first, count - first, up->is_late, &soft)) {
        up->begins_doubt_s = hypot(line.doubt_s, up->speed[0] / line.line_per_s / 2);
        return;
    }
    // A torque that is seen to come up to its full is known better than by how the speed bends.
    if (line.rises && line.rest_s < SEEN_TO_RISE * soft.rest_s)
        return;
    if (!up->is_late && !line.rises && hear_beginning(up, &line, &soft))
        return;
    up->begins_s = soft.begins_s;
    up->begins_doubt_s = soft.doubt_s;
    // Where both may be, the doubt reaches from the one to the other.
    if (line.rises && line.begins_s > soft.earliest_s && line.begins_s < soft.latest_s)
        up->begins_doubt_s = fmax(soft.doubt_s, fabs(line.begins_s - soft.begins_s) + line.doubt_s);
}

// From when on the speed stays within BAND, from the beginning on; NAN where it does not.
static double settled_within(const DwRunUp *up, double band)
{
    const DwSpeedCourse *c = &up->speed_course;
    size_t outside = c->steady_to;
    while (outside > up->reached && fabs(up->speed[outside - 1] - 1) <= band)
        outside--;
    if (outside == up->reached)
        return up->time_s;
    return outside <= up->tail ? c->seconds[outside] - up->begins_s : NAN;
}

// When the speed first comes within BAND of the final one, between two values.
static void find_reached(DwRunUp *up, double band)
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
    up->settle_s = settled_within(up, band);
    // A swing that just touches the band ends inside or outside by chance, and by what the final speed is off.
    double doubt = hypot(SETTLE_DOUBT * up->steady, up->climb) / 100;
    double sooner = up->settle_s - settled_within(up, band + doubt),
           later = settled_within(up, fmax(band / 2, band - doubt)) - up->settle_s;
    up->settle_doubt_s = fmax(fmax(0, sooner), isfinite(later) ? later : 0);
}

// The turning points of the speed after it was reached, each further than LEAST
// from the one before: percent over the final speed, and when.
static size_t list_turns(const DwRunUp *up, double least, double *percent, double *seconds)
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

static void find_hunting(DwRunUp *up)
{
    double percent[TURNS_MOST], seconds[TURNS_MOST], least = up->least_swing, highest;
    size_t count = list_turns(up, 2 * least, percent, seconds); // from peak to peak
    size_t top = up->reached;
    for (size_t i = up->reached; i < up->tail; i++)
        top = up->speed[i] > up->speed[top] ? i : top;
    highest = 100 * (up->speed[top] - 1);
    up->overshoot = highest > least ? highest : 0;
    if (top >= CREST && top + CREST < up->tail) // what short spectra and a median take off a sharp crest
        up->crest = 100 * (up->speed[top] - (up->speed[top - CREST] + up->speed[top + CREST]) / 2);
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
static void find_lasting_swing(const DwStartupSettings *settings, DwRunUp *up)
{
    const DwSpeedCourse *c = &up->speed_course;
    double turn_hz = settings->speed_rpm / 60, best = 0, best_hz = 0, squares = 0;
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

void dw_run_up_settle(const DwStartupSettings *settings, DwRunUp *up)
{
    leave_run_down(settings, up);
    find_final(settings, up);
    up->least_swing = fmax(LEAST_SWING, OVER_STEADY * up->steady);
    up->is_late = up->speed[0] > STILL_SHARE;
}

void dw_run_up_find(const DwStartupSettings *settings, DwRunUp *up)
{
    find_beginning(up);
    find_reached(up, settings->band_percent / 100);
    find_hunting(up);
    find_lasting_swing(settings, up);
}
