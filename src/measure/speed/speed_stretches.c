// SPDX-License-Identifier: MIT
// The stretches of a tone that was not steady all along: which was measured, and what the others may be.
#include "measure/speed/speed_filling.h"

#include <math.h>

static const double UNSTEADY_PERCENT = 1;   // of change within what is measured
static const double NEIGHBOUR_PERCENT = 15; // so near another stretch may be the same band at another speed
static const double JUMP_PERCENT = 0.3;     // between two stretches, from which on neither speaks for the deck
static const double SAME_SPEED_PERCENT =
    0.5;                                     // two bands of a record at one speed: what IEC 60098:2020, 5.6 leaves them
static const double LEFT_S = 0.5;            // of the tone, left out because the speed did not hold still
static const double SAME_PERCENT = 0.05;     // within which a speed has come back
static const double AT_ONCE_S = 2.5;         // between two stretches: longer and it was no jump
static const double SETTLING_S = 3;          // at either end nobody minds, whatever the speed did there
static const double RUNNING_UP_PERCENT = 10; // slower than what follows: the motor was just switched on, or off
static const double EDGE_S = 0.1;

static double second_of(const DwSpeedAnalysis *analysis, size_t place)
{
    return analysis->whole.start_s + (double)place / analysis->whole.rate_hz;
}

// What the deck's speed was at HZ of the tone: by the tone that the readings take it for.
static double rpm_at(const DwSpeedFilling *filling, double hz)
{
    double rpm = filling->judged.ratio * filling->settings->speed_rpm; // NAN where the tone may be one of several
    return (isfinite(rpm) ? rpm : 60 * filling->turn_hz) * hz / filling->analysis->mean_hz;
}

// The tone's frequency over the turn next to the end of STRETCH, or to its beginning: its mean does not tell that of a
// stretch that changes within.
static double edge_hz(const DwSpeedFilling *filling, const DwStretch *stretch, bool at_end)
{
    const DwToneRun *whole = &filling->analysis->whole;
    size_t turn = (size_t)(whole->rate_hz / filling->turn_hz), count = stretch->to - stretch->from;
    if (!(fabs(stretch->change) > SAME_PERCENT) || turn == 0 || turn > count)
        return stretch->mean_hz;
    size_t from = at_end ? stretch->to - turn : stretch->from;
    double sum = 0;
    for (size_t n = from; n < from + turn; n++)
        sum += (double)whole->deviation_hz[n];
    return whole->centre_hz + sum / (double)turn;
}

// % by which the speed changes from the stretch I to the next one.
static double step_percent(const DwSpeedFilling *filling, size_t i)
{
    const DwStretch *before = &filling->analysis->steadiness.stretch[i];
    return 100 * (edge_hz(filling, before + 1, false) / edge_hz(filling, before, true) - 1);
}

static double percent_from(double hz, const DwStretch *chosen)
{
    return 100 * (hz / chosen->mean_hz - 1);
}

static double percent_off(const DwStretch *stretch, const DwStretch *chosen)
{
    return percent_from(stretch->mean_hz, chosen);
}

// The usual tone that another band would have, were STRETCH one at the same speed of the deck; 0 without one.
static double other_band_hz(const DwSpeedFilling *filling, const DwStretch *stretch, const DwStretch *chosen)
{
    double would_be = filling->engraved_hz * stretch->mean_hz / chosen->mean_hz;
    for (size_t i = 0; i < DW_TONE_USUAL; i++)
        if (100 * fabs(would_be / dw_tone_usual_hz[i] - 1) < SAME_SPEED_PERCENT &&
            100 * fabs(filling->engraved_hz / dw_tone_usual_hz[i] - 1) > SAME_SPEED_PERCENT)
            return dw_tone_usual_hz[i];
    return 0;
}

// Whether STRETCH is the same band at another speed, as far as anyone can tell.
static bool is_other_speed(const DwSpeedFilling *filling, const DwStretch *stretch, const DwStretch *chosen)
{
    double off = fabs(percent_off(stretch, chosen));
    return off > JUMP_PERCENT && off < NEIGHBOUR_PERCENT && other_band_hz(filling, stretch, chosen) == 0;
}

// Whether BEFORE and AFTER are one band, as far as anyone can tell.
static bool is_near(const DwSpeedFilling *filling, const DwStretch *before, const DwStretch *after)
{
    return fabs(percent_off(after, before)) < NEIGHBOUR_PERCENT && other_band_hz(filling, before, after) == 0 &&
           other_band_hz(filling, after, before) == 0;
}

// The mean of the run's frequency over EDGE_S from place FROM on.
static double mean_hz_at(const DwToneRun *run, size_t from)
{
    size_t count = (size_t)(EDGE_S * run->rate_hz);
    double sum = 0;
    for (size_t n = from; n < from + count; n++)
        sum += (double)run->deviation_hz[n] / (double)count;
    return run->centre_hz + sum;
}

// Whether what lies before the first stretch, or behind the last one, is a motor that was just switched on or off.
static bool is_switching(const DwSpeedAnalysis *analysis, bool at_end)
{
    const DwSteadiness *steadiness = &analysis->steadiness;
    const DwToneRun *whole = &analysis->whole;
    const DwStretch *next = &steadiness->stretch[at_end ? steadiness->count - 1 : 0];
    size_t left = at_end ? whole->count - next->to : next->from, edge = (size_t)(2 * EDGE_S * whole->rate_hz);
    if ((double)left < SETTLING_S * whole->rate_hz || whole->count < 2 * edge)
        return true;
    double there = mean_hz_at(whole, at_end ? whole->count - edge : edge / 2);
    return 100 * (1 - there / next->mean_hz) > RUNNING_UP_PERCENT;
}

// Seconds between stretches, and at ends that no switching on or off explains, that hold no steady speed.
static double astray_s(const DwSpeedAnalysis *analysis)
{
    const DwSteadiness *steadiness = &analysis->steadiness;
    size_t left = 0, end = analysis->whole.count;
    for (size_t i = 1; i < steadiness->count; i++)
        left += steadiness->stretch[i].from - steadiness->stretch[i - 1].to;
    if (!is_switching(analysis, false))
        left += steadiness->stretch[0].from;
    if (!is_switching(analysis, true))
        left += end - steadiness->stretch[steadiness->count - 1].to;
    return (double)left / analysis->whole.rate_hz;
}

// Whether the speed left its value between the stretches I and I + 1, which have the same.
static bool leaves_between(const DwSpeedFilling *filling, size_t i)
{
    const DwStretch *before = &filling->analysis->steadiness.stretch[i], *after = before + 1;
    double between_s = second_of(filling->analysis, after->from) - second_of(filling->analysis, before->to);
    return fabs(percent_off(after, before)) < SAME_PERCENT && between_s > LEFT_S;
}

void dw_speed_stretches_judge(DwSpeedFilling *filling)
{
    const DwSpeedAnalysis *analysis = filling->analysis;
    const DwSteadiness *steadiness = &analysis->steadiness;
    const DwToneRun *run = filling->run;
    if (run->clipped_blocks * 50 > run->blocks)
        filling->flags |= DW_FLAG_CLIPPED;
    if (analysis->excluded > dw_speed_most_gaps)
        filling->flags |= DW_FLAG_GAPS;
    if (!steadiness->count)
        return;
    const DwStretch *chosen = &steadiness->stretch[steadiness->chosen];
    bool bends = fabs(chosen->change) > UNSTEADY_PERCENT;
    if (steadiness->left_s > LEFT_S || steadiness->count > 1 || bends)
        filling->flags |= DW_FLAG_UNSTEADY;
    bool jumps = false;
    for (size_t i = 0; i < steadiness->count; i++)
        jumps = jumps || is_other_speed(filling, &steadiness->stretch[i], chosen);
    for (size_t i = 0; i + 1 < steadiness->count; i++) {
        const DwStretch *before = &steadiness->stretch[i];
        bool is_step = fabs(step_percent(filling, i)) > JUMP_PERCENT && is_near(filling, before, before + 1);
        jumps = jumps || is_step || leaves_between(filling, i);
    }
    filling->is_unjudged = bends || jumps || (steadiness->count == 1 && astray_s(analysis) > LEFT_S);
}

void dw_speed_stretches_list(const DwSpeedFilling *filling)
{
    static const char *const columns[] = {"start|From|s|1",        "end|To|s|1", "frequency|Tone|Hz|2",
                                          "change|Changes by|%|2", "use|Use||0", NULL};
    const DwSpeedAnalysis *a = filling->analysis;
    const DwSteadiness *steadiness = &a->steadiness;
    const DwToneRun *whole = &a->whole;
    if (!steadiness->count)
        return;
    DwTable *table = dw_sheet_add_table(filling->sheet, "tone.stretches", "Steady stretches of a tone", columns);
    for (size_t i = 0; i < steadiness->count; i++) {
        const DwStretch *stretch = &steadiness->stretch[i];
        size_t row = dw_table_add_row(table);
        dw_table_set_number(table, row, 0, second_of(a, stretch->from));
        dw_table_set_number(table, row, 1, second_of(a, stretch->to));
        dw_table_set_number(table, row, 2, stretch->mean_hz);
        dw_table_set_number(table, row, 3, stretch->change);
        dw_table_set_word(table, row, 4, i == steadiness->chosen ? "measured" : "left out");
    }
    for (size_t i = 0; i < a->passages; i++) {
        double start = a->passage[i].start_s + filling->settings->skip_s, end = a->passage[i].end_s;
        if (start < whole->start_s + (double)whole->count / whole->rate_hz &&
            end + filling->settings->skip_s > whole->start_s)
            continue; // the run that was measured
        size_t row = dw_table_add_row(table);
        dw_table_set_number(table, row, 0, start);
        dw_table_set_number(table, row, 1, end + filling->settings->skip_s);
        dw_table_set_number(table, row, 2, a->passage[i].mean_hz);
        double off = percent_from(a->passage[i].mean_hz, &steadiness->stretch[steadiness->chosen]);
        dw_table_set_word(table, row, 4, fabs(off) < SAME_SPEED_PERCENT ? "the same tone, left out" : "another band");
    }
}

// What lies between the stretches I and I + 1.
static void remark_change(const DwSpeedFilling *filling, size_t i)
{
    const DwSpeedAnalysis *a = filling->analysis;
    const DwStretch *before = &a->steadiness.stretch[i], *after = before + 1;
    double from_s = second_of(a, before->to), to_s = second_of(a, after->from), by = step_percent(filling, i);
    if (!is_near(filling, before, after))
        return;
    bool leaves = leaves_between(filling, i);
    double rpm_before = rpm_at(filling, leaves ? before->mean_hz : edge_hz(filling, before, true)),
           rpm_after = rpm_at(filling, edge_hz(filling, after, false));
    if (leaves)
        dw_sheet_remark(filling->sheet, "From %.1f to %.1f s the speed left %.2f rpm and came back. %s", from_s, to_s,
                        rpm_before, dw_speed_lost_advice(filling->settings));
    else if (to_s - from_s < AT_ONCE_S)
        dw_sheet_remark(filling->sheet, "At %.1f s the speed jumps by %+.2f %%, from %.2f to %.2f rpm.",
                        (from_s + to_s) / 2, by, rpm_before, rpm_after);
    else
        dw_sheet_remark(filling->sheet, "From %.1f to %.1f s the speed changes by %+.2f %%, from %.2f to %.2f rpm.",
                        from_s, to_s, by, rpm_before, rpm_after);
}

// Whether the stretch I + 2 has the speed of the stretch I again, and what is between them not.
static void remark_return(const DwSpeedFilling *filling, size_t i)
{
    const DwSpeedAnalysis *a = filling->analysis;
    const DwStretch *before = &a->steadiness.stretch[i], *between = before + 1, *after = before + 2;
    double away = fabs(percent_off(between, before));
    if (away < SAME_PERCENT || away > NEIGHBOUR_PERCENT || fabs(percent_off(after, before)) > SAME_PERCENT ||
        other_band_hz(filling, between, before) > 0)
        return;
    dw_sheet_remark(filling->sheet, "From %.1f s on it is back at %.2f rpm. %s", second_of(a, after->from),
                    rpm_at(filling, after->mean_hz), dw_speed_lost_advice(filling->settings));
}

// The part at one end that holds no steady stretch.
static void remark_end(const DwSpeedFilling *filling, bool at_end)
{
    const DwSpeedAnalysis *a = filling->analysis;
    const DwSteadiness *steadiness = &a->steadiness;
    double first_s = second_of(a, steadiness->stretch[0].from), last_s = second_of(a, a->whole.count);
    double from_s = at_end ? second_of(a, steadiness->stretch[steadiness->count - 1].to) : a->whole.start_s;
    double to_s = at_end ? last_s : first_s;
    if (to_s - from_s > LEFT_S)
        dw_sheet_remark(filling->sheet, "From %.1f to %.1f s the speed does not hold still; this part is left out.",
                        from_s, to_s);
}

void dw_speed_stretches_remark(const DwSpeedFilling *filling)
{
    const DwSteadiness *steadiness = &filling->analysis->steadiness;
    DwSheet *sheet = filling->sheet;
    if (!(filling->flags & DW_FLAG_UNSTEADY))
        return;
    const DwStretch *chosen = &steadiness->stretch[steadiness->chosen];
    for (size_t i = 0; i + 1 < steadiness->count; i++)
        remark_change(filling, i);
    for (size_t i = 0; i + 2 < steadiness->count; i++)
        remark_return(filling, i);
    remark_end(filling, false);
    remark_end(filling, true);
    for (size_t i = 0; i < steadiness->count; i++) {
        double band = other_band_hz(filling, &steadiness->stretch[i], chosen);
        if (i != steadiness->chosen && band > 0)
            dw_sheet_remark(sheet,
                            "From %.1f to %.1f s another band is heard, of %g Hz by the same speed; it is left out.",
                            second_of(filling->analysis, steadiness->stretch[i].from),
                            second_of(filling->analysis, steadiness->stretch[i].to), band);
    }
    if (fabs(chosen->change) > UNSTEADY_PERCENT)
        dw_sheet_remark(sheet, "While it was measured the speed changed by %.2f %%: its mean says little.",
                        chosen->change);
    if (filling->is_unjudged)
        dw_sheet_remark(sheet,
                        "Nothing here is judged: the readings are those of one stretch, and a deck that changes its "
                        "speed is not in order. Find out what changes it: switch, control, belt or supply. If it was a "
                        "second band of the record, record one band alone.");
}
