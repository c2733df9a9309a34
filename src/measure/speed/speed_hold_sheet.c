// SPDX-License-Identifier: MIT
// How the speed holds over a take, turn by turn, as readings and sentences.
#include "measure/speed/speed_filling.h"

#include "base/memory.h"
#include "base/text.h"
#include "dsp/statistics.h"
#include "measure/speed/speed_hold.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double LONG_S = 240;        // from here on a take tells how a deck warms up
static const double SETTLED = 0.1;       // %, within which a speed counts as settled
static const double WORTH_SAYING = 0.05; // %: a smaller change is none
static const double LEAST_USED = 0.5;    // of a turn, that must be heard
static const double CENTRE = 0.1;        // %: no slider's centre is trimmed closer
static const double TONE_MOST = 0.5;     // % that a record's tone may be off (IEC 60098:2020, 5.6)
enum { ROUNDS = 3 };

static DwTurns list_turns(const DwSpeedFilling *filling)
{
    const DwSpeedAnalysis *a = filling->analysis;
    size_t size = (size_t)fmax(1, round(a->rate_hz / filling->turn_hz));
    DwTurns turns = {.count = a->count / size};
    turns.seconds = dw_memory_new(turns.count + 1, sizeof(double));
    turns.percent = dw_memory_new(turns.count + 1, sizeof(double));
    for (size_t i = 0; i < turns.count; i++) {
        size_t kept;
        double mean = dw_statistics_mean_used(a->deviation + i * size, a->used + i * size, size, &kept);
        turns.seconds[i] = (double)i * (double)size / a->rate_hz;
        turns.percent[i] = (double)kept > LEAST_USED * (double)size ? mean : NAN;
    }
    return turns;
}

// Leaves out of TURNS what lies within EXCURSIONS; ALL is what they were. Returned: whether others are left now.
static bool leave_out(DwTurns *turns, const double *all, const DwExcursion *excursions, size_t count)
{
    bool changed = false;
    for (size_t i = 0; i < turns->count; i++) {
        double kept = all[i];
        for (size_t e = 0; e < count; e++)
            if (turns->seconds[i] >= excursions[e].from_s && turns->seconds[i] <= excursions[e].to_s)
                kept = NAN;
        changed = changed || isnan(kept) != isnan(turns->percent[i]);
        turns->percent[i] = kept;
    }
    return changed;
}

// What lies off must not bend the law that it is held against.
static size_t fit(DwTurns *turns, DwWarming *warming, DwExcursion *excursions)
{
    size_t count = 0;
    double *all = dw_memory_new(turns->count + 1, sizeof *all);
    memcpy(all, turns->percent, turns->count * sizeof *all);
    bool fitted = dw_warming_fit(turns, SETTLED, warming), changed = true;
    for (size_t round = 0; fitted && changed && round < ROUNDS; round++) {
        DwTurns whole = {turns->seconds, all, turns->count};
        count = dw_excursions_find(&whole, warming, excursions);
        changed = leave_out(turns, all, excursions, count);
        if (changed)
            fitted = dw_warming_fit(turns, SETTLED, warming);
    }
    free(all);
    return fitted ? count : 0;
}

static void add(DwSheet *sheet, const char *key, const char *label, double value, double off, const char *unit,
                int digits, const char *method)
{
    DwReading *reading = dw_sheet_add_reading(sheet, key, label, value, unit, digits);
    reading->uncertainty = off;
    dw_reading_set_method(reading, method);
}

// The law goes from the middle of the first turn to that of the last; the take begins and ends half a turn beyond.
static DwWarming over_the_take(const DwWarming *warming, const DwTurns *turns, double turn_s)
{
    DwWarming whole = *warming;
    double last_s = turns->seconds[turns->count - 1], from_s = -turn_s / 2, to_s = last_s + turn_s / 2;
    double change = dw_warming_at(warming, to_s) - dw_warming_at(warming, from_s);
    whole.change_off *= fabs(warming->change) > 0 ? fabs(change / warming->change) : 1;
    whole.change = change;
    if (whole.settled_s > 0)
        whole.settled_s += turn_s / 2;
    return whole;
}

static void add_warming(const DwSpeedFilling *filling, const DwTurns *turns, const DwWarming *warming)
{
    DwSheet *sheet = filling->sheet;
    const DwWarming whole = over_the_take(warming, turns, 1 / filling->turn_hz), *w = &whole;
    bool moves = fabs(w->change) > fmax(WORTH_SAYING, w->change_off);
    add(sheet, "warmup.change", "Change over the take", w->change, w->change_off, "%", 2,
        w->settles ? "an exponential through the mean of each turn" : "a straight line through the mean of each turn");
    if (!moves) {
        dw_sheet_remark(sheet,
                        "Over %.0f minutes the speed changes by less than %.2f %%: it was warm, or warmth does "
                        "nothing to it.",
                        filling->length_s / 60, fmax(WORTH_SAYING, fabs(w->change) + w->change_off));
        return;
    }
    if (!w->settles) {
        dw_sheet_not_measured(sheet, "warmup.settle",
                              "the speed moves evenly, by %+.3f %% a minute, and does not settle in this take. Let it "
                              "run longer.",
                              w->slope);
        return;
    }
    add(sheet, "warmup.constant", "Time constant of the warm-up", w->constant_s / 60, w->constant_off_s / 60, "min", 1,
        "an exponential through the mean of each turn");
    add(sheet, "warmup.settle", "Settled after", w->settled_s / 60, w->settled_off_s / 60, "min", 1,
        "from the beginning of the take until within 0.1 % of the speed that the exponential ends at");
    dw_sheet_remark(sheet,
                    "It %s %.2f %% while it warms up and is within 0.1 %% of its final speed after %.1f minutes: "
                    "set its speed then, not before.",
                    w->change > 0 ? "gains" : "loses", fabs(w->change), w->settled_s / 60);
}

const char *dw_speed_lost_advice(const DwSpeedSettings *settings)
{
    const DwDrive *drive = &settings->drive;
    if (!settings->drive_given || !dw_drive_is_controlled(drive))
        return "Something holds the platter or slips: look at belt, idler, bearing and what touches it.";
    if (drive->motor == DW_MOTOR_QUARTZ)
        return "Its lock was lost and regained: look at the supply, the crystal's stage and the sensors, and, "
               "unplugged, for cold joints.";
    return "Its control lost the speed and found it again: look at the speed switch, the trimmers, the tacho or "
           "sensors and the supply.";
}

// What leaves its speed and comes back.
static void add_excursions(const DwSpeedFilling *filling, const DwExcursion *excursions, size_t count)
{
    static const char *const columns[] = {"start|From|s|1", "end|To|s|1", "by|Off by|%|2", NULL};
    double start_s = filling->analysis->start_s, turn_s = 1 / filling->turn_hz;
    size_t farthest = 0;
    if (!count)
        return;
    DwTable *table = dw_sheet_add_table(filling->sheet, "speed.excursions", "Off its speed and back", columns);
    for (size_t i = 0; i < count; i++) {
        size_t row = dw_table_add_row(table);
        dw_table_set_number(table, row, 0, start_s + excursions[i].from_s);
        dw_table_set_number(table, row, 1, start_s + excursions[i].to_s + turn_s);
        dw_table_set_number(table, row, 2, excursions[i].by);
        farthest = fabs(excursions[i].by) > fabs(excursions[farthest].by) ? i : farthest;
    }
    dw_sheet_remark(filling->sheet,
                    "The speed left its value %zu time%s and came back, farthest by %+.2f %% (from %.1f to %.1f s). %s",
                    count, count == 1 ? "" : "s", excursions[farthest].by, start_s + excursions[farthest].from_s,
                    start_s + excursions[farthest].to_s + turn_s, dw_speed_lost_advice(filling->settings));
    // A mean over what was lost and regained is no speed of the deck's.
    static const char *const means[] = {"speed.mean", "speed.error", "speed.drift"};
    for (size_t i = 0; i < sizeof means / sizeof *means; i++) {
        DwReading *reading = dw_sheet_reading(filling->sheet, means[i]);
        if (reading) {
            reading->flags |= DW_FLAG_UNSTEADY;
            reading->unjudged = true;
        }
    }
}

// What the speed error of a controlled deck says of its centre.
static void remark_centre(const DwSpeedFilling *filling)
{
    DwMotorKind motor = filling->settings->drive.motor;
    double off = fabs(filling->error);
    if (!filling->settings->drive_given || !(off > fmax(CENTRE, 100 * filling->judged.ratio_off)))
        return;
    if (motor == DW_MOTOR_SERVO)
        dw_sheet_remark(filling->sheet,
                        "If the pitch slider stood in its centre, its centre is %.2f %% %s: set the trimmer of this "
                        "speed until the centre is right, warm, and the ends of the slider after it.",
                        off, filling->error > 0 ? "fast" : "slow");
    if (motor == DW_MOTOR_QUARTZ)
        dw_sheet_remark(filling->sheet,
                        "A crystal is right within 0.01 %%. Is the pitch slider out of its centre, or unlocked? Else "
                        "the record's tone may be off by this: try another record%s.",
                        off > TONE_MOST ? ", though this is more than a record's tone usually is" : "");
}

void dw_speed_hold_add(const DwSpeedFilling *filling)
{
    DwWarming warming;
    DwExcursion excursions[DW_EXCURSIONS_MOST];
    if (!(filling->turn_hz > 0) || filling->analysis->count == 0)
        return;
    remark_centre(filling);
    DwTurns turns = list_turns(filling);
    size_t count = fit(&turns, &warming, excursions);
    add_excursions(filling, excursions, count);
    if (filling->length_s >= LONG_S && isfinite(warming.change))
        add_warming(filling, &turns, &warming);
    free(turns.seconds);
    free(turns.percent);
}
