// SPDX-License-Identifier: MIT
// What is parted of several takes: readings, leaks, responses, and the once-a-turn line.
#include "base/memory.h"
#include "dsp/turn_shares.h"
#include "procedure/side/pressing_parts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

// What a record may have of its own. The arm's resonance is the deck's alone.
static const char *const keys[] = {
    "speed.error", "channels.balance", "azimuth.rotation",     "noise.rumble_unweighted", "noise.rumble_weighted",
    "noise.hiss",  "noise.ticks",      "tracking.passed_left", "tracking.passed_right",
};
enum { KEYS = sizeof keys / sizeof *keys, THIRDS_MOST = 40 };
static const double NOTHING = 1e-9;        // a ± that is none
static const double USUAL_RADIUS_MM = 100; // where the hole's play counts as it does half-way through a side

// Whether what is read of the channels is none of a take's at fault.
static bool is_left_out(const DwPressingTakes *takes, size_t take, const char *key)
{
    return takes->out[take] && strncmp(key, "speed.", 6) != 0;
}

// Parts READING of the takes where it is known (the others are NAN). Returned: false where too few are.
static bool part(const DwPressingTakes *takes, const double *reading, DwTwoWay *parted)
{
    double values[DW_TWO_WAY_MOST];
    size_t row[DW_TWO_WAY_MOST], column[DW_TWO_WAY_MOST], count = 0;
    for (size_t i = 0; i < takes->count; i++)
        if (isfinite(reading[i])) {
            values[count] = reading[i];
            row[count] = takes->of[DW_PRESSING_COPY][i];
            column[count++] = takes->of[DW_PRESSING_DECK][i];
        }
    return dw_two_way(values, row, column, count, takes->named[DW_PRESSING_COPY], takes->named[DW_PRESSING_DECK],
                      parted);
}

// What all takes share is not known better than one of them, and nothing is known without any doubt.
static void widen(DwTwoWay *parted, double off)
{
    if (isfinite(off) && isfinite(parted->common.off))
        parted->common.off = fmax(parted->common.off, off);
    DwTwoWayShare *shares[DW_PRESSING_KINDS] = {parted->row, parted->column};
    for (size_t w = 0; w < DW_PRESSING_KINDS; w++)
        for (size_t i = 0; i < DW_TWO_WAY_MOST; i++)
            if (fabs(shares[w][i].off) < NOTHING)
                shares[w][i].off = NAN;
    if (fabs(parted->common.off) < NOTHING)
        parted->common.off = NAN;
}

// OFF: the widest ± of the takes; NAN without one.
static void take_reading(const DwPressingTakes *takes, const char *key, const char *label, const char *unit,
                         const double *reading, double off, DwPressingReadings *readings, DwSheet *sheet)
{
    DwPressingReading *next = &readings->reading[readings->count];
    if (!part(takes, reading, &next->parted)) {
        dw_sheet_not_measured(sheet, key, "The takes that give it do not part the record from the deck.");
        return;
    }
    widen(&next->parted, off);
    next->key = key;
    next->unit = unit;
    snprintf(next->label, sizeof next->label, "%s", label);
    readings->count++;
}

static double reading_of(const DwSheet *sheet, const char *key)
{
    const DwReading *reading = dw_sheet_reading(sheet, key);
    return reading && !reading->word ? reading->value : NAN;
}

static void take_readings(const DwPressingTakes *takes, DwPressingReadings *readings, DwSheet *sheet)
{
    for (size_t k = 0; k < KEYS; k++) {
        double reading[DW_TWO_WAY_MOST], off = NAN;
        const DwReading *shown = NULL;
        for (size_t i = 0; i < takes->count; i++) {
            const DwReading *here = dw_sheet_reading(takes->sheets[i], keys[k]);
            bool out = is_left_out(takes, i, keys[k]);
            reading[i] = out ? NAN : reading_of(takes->sheets[i], keys[k]);
            shown = here ? here : shown;
            off = here && !out ? fmax(off, here->uncertainty) : off;
        }
        if (shown)
            take_reading(takes, keys[k], shown->label, shown->unit, reading, off, readings, sheet);
    }
}

// The in-phase part of a take's leak with CHANNEL (0 left) driven, percent, by the table that azimuth has: leaks of
// record and deck add up by it, as they do not by their decibels.
static double leak_of(const DwSheet *sheet, size_t channel)
{
    const DwTable *table = dw_sheet_table(sheet, "azimuth.sets");
    if (!table || table->row_count == 0 || table->column_count < 7)
        return NAN;
    double level_db = dw_table_cell(table, 0, 3 + 2 * channel)->number,
           phase_deg = dw_table_cell(table, 0, 4 + 2 * channel)->number;
    return 100 * pow(10, level_db / 20) * cos(phase_deg * M_PI / 180);
}

// Leaks are told over the channels' own levels; what a copy's bands are off in level is put right first.
static void take_leaks(const DwPressingTakes *takes, DwPressingReadings *readings, DwSheet *sheet)
{
    static const char *const labels[2] = {"Leak, left driven", "Leak, right driven"};
    static const char *const leaks[2] = {"pressing.leak_left", "pressing.leak_right"};
    double balance[DW_TWO_WAY_MOST];
    DwTwoWay parted;
    for (size_t i = 0; i < takes->count; i++)
        balance[i] = takes->out[i] ? NAN : reading_of(takes->sheets[i], "channels.balance");
    if (!part(takes, balance, &parted))
        return;
    for (size_t c = 0; c < 2; c++) {
        double reading[DW_TWO_WAY_MOST];
        for (size_t i = 0; i < takes->count; i++)
            reading[i] = takes->out[i] ? NAN
                                       : leak_of(takes->sheets[i], c) *
                                             pow(10, (c ? -1 : 1) * parted.row[takes->of[0][i]].value / 20);
        take_reading(takes, leaks[c], labels[c], "%", reading, NAN, readings, sheet);
    }
}

void dw_pressing_part(const DwPressingTakes *takes, DwPressingReadings *readings, DwSheet *sheet)
{
    take_readings(takes, readings, sheet);
    take_leaks(takes, readings, sheet);
}

// The level of a take's channel (0 left) at HZ, by its table at thirds; NAN without it.
static double level_at(const DwSheet *sheet, double hz, size_t channel)
{
    const DwTable *table = dw_sheet_table(sheet, "response.thirds");
    for (size_t row = 0; table && row < table->row_count; row++)
        if (fabs(dw_table_cell(table, row, 0)->number / hz - 1) < 0.01)
            return dw_table_cell(table, row, 1 + channel)->number;
    return NAN;
}

// Adds the curve of all takes (COPY 0) or what a copy adds to it, at COUNT frequencies.
static void add_curve(const DwPressingTakes *takes, size_t channel, size_t copy, const double *hz,
                      const DwTwoWay *parted, size_t count, DwSheet *sheet)
{
    static const char *const names[2] = {"left", "right"};
    char key[60], label[200];
    if (copy) {
        snprintf(key, sizeof key, "pressing.%s_copy_%zu", names[channel], copy);
        snprintf(label, sizeof label, "Copy %s, %s", takes->names[DW_PRESSING_COPY][copy - 1], names[channel]);
    } else {
        snprintf(key, sizeof key, "pressing.%s", names[channel]);
        snprintf(label, sizeof label, "All takes, %s", names[channel]);
    }
    DwCurve *curve = dw_sheet_add_curve(sheet, key, label, (DwAxis){"Frequency", "Hz"},
                                        (DwAxis){copy ? "Own level" : "Level", copy ? "dB" : "dB re 1 kHz"}, count);
    for (size_t n = 0; n < count; n++) {
        curve->x_values[n] = hz[n];
        curve->y_values[n] = copy ? parted[n].row[copy - 1].value : parted[n].common.value;
    }
}

void dw_pressing_add_curves(const DwPressingTakes *takes, DwSheet *sheet)
{
    const DwTable *table = dw_sheet_table(takes->sheets[0], "response.thirds");
    for (size_t channel = 0; channel < 2; channel++) {
        double hz[THIRDS_MOST];
        DwTwoWay parted[THIRDS_MOST];
        size_t count = 0, copies = takes->named[DW_PRESSING_COPY];
        for (size_t row = 0; table && row < table->row_count && count < THIRDS_MOST; row++) {
            double reading[DW_TWO_WAY_MOST];
            hz[count] = dw_table_cell(table, row, 0)->number;
            for (size_t i = 0; i < takes->count; i++)
                reading[i] = takes->out[i] ? NAN : level_at(takes->sheets[i], hz[count], channel);
            count += part(takes, reading, &parted[count]);
        }
        for (size_t copy = 0; count && copy <= (copies > 1 ? copies : 0); copy++)
            add_curve(takes, channel, copy, hz, parted, count, sheet);
    }
}

// --- once a turn --------------------------------------------------------------------------

// The takes that tell the once-a-turn line. Returned: how many.
static size_t turn_takes(const DwPressingTakes *takes, DwTurnTake *told)
{
    size_t count = 0;
    for (size_t i = 0; i < takes->count; i++) {
        const DwReading *reading = dw_sheet_reading(takes->sheets[i], "revolution.amplitude");
        if (reading && isfinite(reading->value) && isfinite(reading->uncertainty))
            told[count++] = (DwTurnTake){reading->value, reading->uncertainty, takes->of[DW_PRESSING_COPY][i],
                                         takes->of[DW_PRESSING_DECK][i]};
    }
    return count;
}

static bool each_is_told(const DwTurnTake *told, size_t count, const DwPressingTakes *takes)
{
    bool met[DW_PRESSING_KINDS][DW_TWO_WAY_MOST] = {{false}};
    for (size_t i = 0; i < count; i++)
        met[DW_PRESSING_COPY][told[i].record] = met[DW_PRESSING_DECK][told[i].platter] = true;
    for (size_t w = 0; w < DW_PRESSING_KINDS; w++)
        for (size_t i = 0; i < takes->named[w]; i++)
            if (!met[w][i])
                return false;
    return true;
}

// Says of the share that is surely above all others' whose it is.
static void say_turn(const DwPressingTakes *takes, const DwTurnShare *shares[DW_PRESSING_KINDS], DwSheet *sheet)
{
    static const char *const what[DW_PRESSING_KINDS] = {"copy", "deck"};
    for (size_t w = 0; w < DW_PRESSING_KINDS; w++) {
        double low = INFINITY, other = 0;
        for (size_t i = 0; i < takes->named[w]; i++)
            low = fmin(low, shares[w][i].low);
        for (size_t i = 0; i < takes->named[1 - w]; i++)
            other = fmax(other, shares[1 - w][i].high);
        if (low > other) {
            dw_sheet_remark(sheet,
                            w == DW_PRESSING_COPY
                                ? "Once a turn: the records' own, which lie off centre; no deck has as much of it."
                                : "Once a turn: the decks' own; no copy has as much of it.");
            return;
        }
    }
    for (size_t w = 0; w < DW_PRESSING_KINDS; w++)
        for (size_t i = 0; i < takes->named[w]; i++) {
            double most = 0;
            for (size_t v = 0; v < DW_PRESSING_KINDS; v++)
                for (size_t k = 0; k < takes->named[v]; k++)
                    most = v == w && k == i ? most : fmax(most, shares[v][k].high);
            if (shares[w][i].low > most) {
                dw_sheet_remark(sheet, "Once a turn: most of it is %s %s's own.", what[w],
                                *takes->names[w][i] ? takes->names[w][i] : "one");
                return;
            }
        }
    dw_sheet_remark(sheet,
                    "Once a turn: the takes do not tell whose it is. Play each copy once more on each deck, laid on "
                    "at other angles; reseat tells it from a mark.");
}

void dw_pressing_add_turn(const DwPressingTakes *takes, DwSheet *sheet)
{
    static const char *const what[DW_PRESSING_KINDS] = {"copy", "deck"};
    static const char *const columns[] = {"whose|Whose||",     "name|Which||",     "share|Once a turn|% peak|3",
                                          "low|From|% peak|3", "high|To|% peak|3", NULL};
    DwTurnTake told[DW_TWO_WAY_MOST];
    DwTurnShare of[DW_PRESSING_KINDS][DW_TWO_WAY_MOST];
    size_t count = turn_takes(takes, told);
    double play = 100 * takes->play_mm / 2 / USUAL_RADIUS_MM;
    if (!each_is_told(told, count, takes) ||
        !dw_turn_shares(told, count, takes->named[DW_PRESSING_COPY], takes->named[DW_PRESSING_DECK], play,
                        of[DW_PRESSING_COPY], of[DW_PRESSING_DECK])) {
        dw_sheet_not_measured(sheet, "pressing.turn",
                              "It takes three takes or more with a steady tone of some turns, of each copy and deck.");
        return;
    }
    DwTable *table = dw_sheet_add_table(sheet, "pressing.turn", "Once a turn: whose share is what", columns);
    for (size_t w = 0; w < DW_PRESSING_KINDS; w++)
        for (size_t i = 0; i < takes->named[w]; i++) {
            size_t row = dw_table_add_row(table);
            dw_table_set_word(table, row, 0, what[w]);
            dw_table_set_word(table, row, 1, *takes->names[w][i] ? takes->names[w][i] : "all");
            dw_table_set_number(table, row, 2, of[w][i].middle);
            dw_table_set_number(table, row, 3, of[w][i].low);
            dw_table_set_number(table, row, 4, of[w][i].high);
        }
    say_turn(takes, (const DwTurnShare *[]){of[DW_PRESSING_COPY], of[DW_PRESSING_DECK]}, sheet);
}
