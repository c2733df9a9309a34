// SPDX-License-Identifier: MIT
// pressing: several takes of one side, of copies of the record on decks, which part what is the record's from what is
// the deck's.
#include "base/memory.h"
#include "base/text.h"
#include "dsp/two_way.h"
#include "procedure/registry/procedures.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *const quantities[] = {
    "record.plan", "pressing.copies", "pressing.decks",     "deck.speed",        "record.name", "response.riaa",
    "deck.mains",  "chain.name",      "response.smoothing", "chain.clock_error", NULL,
};

// What a record may have of its own. The arm's resonance is the deck's alone, and once a turn is reseat's to part.
static const char *const keys[] = {
    "speed.error", "channels.balance", "azimuth.rotation",     "noise.rumble_unweighted", "noise.rumble_weighted",
    "noise.hiss",  "noise.ticks",      "tracking.passed_left", "tracking.passed_right",
};
enum { KEYS = sizeof keys / sizeof *keys, THIRDS_MOST = 40 };

typedef struct {
    DwSheet *sheets[DW_TWO_WAY_MOST];
    size_t count;
    char *names[2][DW_TWO_WAY_MOST]; // of copies, of decks; each once
    size_t named[2];
    size_t of[2][DW_TWO_WAY_MOST]; // the number of each take's copy, of its deck
    bool out[DW_TWO_WAY_MOST];     // a fault of its channels leaves nothing of them to be compared
} Takes;

static void clear(Takes *takes)
{
    for (size_t i = 0; i < takes->count; i++)
        dw_sheet_free(takes->sheets[i]);
    for (size_t w = 0; w < 2; w++)
        for (size_t i = 0; i < takes->named[w]; i++)
            free(takes->names[w][i]);
}

// The number of the one called NAME, which is added when it is new.
static size_t number_of(Takes *takes, size_t which, char *name)
{
    for (size_t i = 0; i < takes->named[which]; i++)
        if (strcmp(takes->names[which][i], name) == 0) {
            free(name);
            return i;
        }
    takes->names[which][takes->named[which]] = name;
    return takes->named[which]++;
}

// Reads a list "A, B, A", a name for each of COUNT takes; one name, or none, is all takes'.
static DwStatus read_names(const DwInputs *inputs, const char *key, size_t which, size_t count, Takes *takes,
                           DwMessage *message)
{
    const char *at = dw_inputs_word(inputs, key);
    size_t found = 0;
    do {
        at += strspn(at, " ,;");
        size_t length = strcspn(at, ",;"), kept = length;
        while (kept && isspace((unsigned char)at[kept - 1]))
            kept--;
        if (found < count)
            takes->of[which][found] = number_of(takes, which, dw_text_format("%.*s", (int)kept, kept ? at : ""));
        found++;
        at += length;
    } while (at[strspn(at, " ,;")]);
    if (found == 1)
        for (size_t i = 1; i < count; i++)
            takes->of[which][i] = 0;
    else if (found != count)
        return dw_fail(message, DW_BAD_INPUT,
                       "%s names %zu, but there are %zu recordings: give a name for each in their order, with commas "
                       "between, or one for all.",
                       key, found, count);
    return DW_OK;
}

static DwStatus measure(const DwRequest *request, Takes *takes, DwMessage *message)
{
    for (size_t i = 0; i < request->recording_count; i++) {
        DwRequest one = {request->inputs, &request->recordings[i], 1};
        DwStatus status = dw_procedure_run(&dw_procedure_side, &one, &takes->sheets[i], message);
        if (status != DW_OK)
            return status;
        takes->count++;
    }
    return DW_OK;
}

static const double NOTHING = 1e-9; // a ± that is none

// --- what is parted ------------------------------------------------------------------------

typedef struct {
    const Takes *takes;
    DwSheet *sheet;
    DwTable *shares;
    size_t parted; // readings
} Filling;

// Whether what is read of the channels is none of a take's at fault.
static bool is_left_out(const Takes *takes, size_t take, const char *key)
{
    return takes->out[take] && strncmp(key, "speed.", 6) != 0;
}

// Parts READING of the takes where it is known (the others are NAN). Returned: false where too few are.
static bool part(const Takes *takes, const double *reading, DwTwoWay *parted)
{
    double values[DW_TWO_WAY_MOST];
    size_t row[DW_TWO_WAY_MOST], column[DW_TWO_WAY_MOST], count = 0;
    for (size_t i = 0; i < takes->count; i++)
        if (isfinite(reading[i])) {
            values[count] = reading[i];
            row[count] = takes->of[0][i];
            column[count++] = takes->of[1][i];
        }
    return dw_two_way(values, row, column, count, takes->named[0], takes->named[1], parted);
}

static void add_row(const Filling *filling, const char *label, const char *whose, const char *name, DwTwoWayShare share,
                    const char *unit)
{
    size_t row = dw_table_add_row(filling->shares);
    dw_table_set_word(filling->shares, row, 0, label);
    dw_table_set_word(filling->shares, row, 1, whose);
    dw_table_set_word(filling->shares, row, 2, *name ? name : "all");
    dw_table_set_number(filling->shares, row, 3, share.value);
    dw_table_set_number(filling->shares, row, 4, share.off);
    dw_table_set_word(filling->shares, row, 5, unit);
}

// What all takes share is not known better than one of them, and nothing is known without any doubt.
static void widen(DwTwoWay *parted, double off)
{
    if (isfinite(off) && isfinite(parted->common.off))
        parted->common.off = fmax(parted->common.off, off);
    DwTwoWayShare *shares[2] = {parted->row, parted->column};
    for (size_t w = 0; w < 2; w++)
        for (size_t i = 0; i < DW_TWO_WAY_MOST; i++)
            if (fabs(shares[w][i].off) < NOTHING)
                shares[w][i].off = NAN;
    if (fabs(parted->common.off) < NOTHING)
        parted->common.off = NAN;
}

// OFF: the widest ± of the takes; NAN without one.
static void add_shares(Filling *filling, const char *key, const char *label, const char *unit, const double *reading,
                       double off)
{
    static const char *const whose[2] = {"copy", "deck"};
    DwTwoWay parted;
    if (!part(filling->takes, reading, &parted)) {
        dw_sheet_not_measured(filling->sheet, key, "The takes that give it do not part the record from the deck.");
        return;
    }
    widen(&parted, off);
    filling->parted++;
    add_row(filling, label, "common", "", parted.common, unit);
    for (size_t w = 0; w < 2; w++)
        for (size_t i = 0; i < filling->takes->named[w] && filling->takes->named[w] > 1; i++)
            add_row(filling, label, whose[w], filling->takes->names[w][i], w ? parted.column[i] : parted.row[i], unit);
}

static double reading_of(const DwSheet *sheet, const char *key)
{
    const DwReading *reading = dw_sheet_reading(sheet, key);
    return reading && !reading->word ? reading->value : NAN;
}

static void add_readings(Filling *filling)
{
    for (size_t k = 0; k < KEYS; k++) {
        double reading[DW_TWO_WAY_MOST], off = NAN;
        const DwReading *shown = NULL;
        for (size_t i = 0; i < filling->takes->count; i++) {
            const DwReading *here = dw_sheet_reading(filling->takes->sheets[i], keys[k]);
            bool out = is_left_out(filling->takes, i, keys[k]);
            reading[i] = out ? NAN : reading_of(filling->takes->sheets[i], keys[k]);
            shown = here ? here : shown;
            off = here && !out ? fmax(off, here->uncertainty) : off;
        }
        if (shown)
            add_shares(filling, keys[k], shown->label, shown->unit, reading, off);
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
static void add_leaks(Filling *filling)
{
    static const char *const labels[2] = {"Leak, left driven", "Leak, right driven"};
    static const char *const leaks[2] = {"pressing.leak_left", "pressing.leak_right"};
    const Takes *takes = filling->takes;
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
        add_shares(filling, leaks[c], labels[c], "%", reading, NAN);
    }
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

// The responses, parted at each third: the common curve and each copy's own.
static void add_curves(const Filling *filling, size_t channel)
{
    static const char *const names[2] = {"left", "right"};
    const Takes *takes = filling->takes;
    const DwTable *table = dw_sheet_table(takes->sheets[0], "response.thirds");
    double hz[THIRDS_MOST];
    DwTwoWay parted[THIRDS_MOST];
    size_t count = 0;
    for (size_t row = 0; table && row < table->row_count && count < THIRDS_MOST; row++) {
        double reading[DW_TWO_WAY_MOST];
        hz[count] = dw_table_cell(table, row, 0)->number;
        for (size_t i = 0; i < takes->count; i++)
            reading[i] = takes->out[i] ? NAN : level_at(takes->sheets[i], hz[count], channel);
        count += part(takes, reading, &parted[count]);
    }
    for (size_t i = 0; count && i <= (takes->named[0] > 1 ? takes->named[0] : 0); i++) {
        char key[60], label[200];
        if (i)
            snprintf(key, sizeof key, "pressing.%s_copy_%zu", names[channel], i);
        else
            snprintf(key, sizeof key, "pressing.%s", names[channel]);
        if (i)
            snprintf(label, sizeof label, "Copy %s, %s", takes->names[0][i - 1], names[channel]);
        else
            snprintf(label, sizeof label, "All takes, %s", names[channel]);
        DwCurve *curve = dw_sheet_add_curve(filling->sheet, key, label, (DwAxis){"Frequency", "Hz"},
                                            (DwAxis){i ? "Own level" : "Level", i ? "dB" : "dB re 1 kHz"}, count);
        for (size_t n = 0; n < count; n++) {
            curve->x_values[n] = hz[n];
            curve->y_values[n] = i ? parted[n].row[i - 1].value : parted[n].common.value;
        }
    }
}

// Whether the readings of a take with FAULT are given as if it were put right.
static bool is_put_right(const char *fault)
{
    return strcmp(fault, "swapped") == 0 || strcmp(fault, "reversed") == 0 ||
           strcmp(fault, "swapped and reversed") == 0;
}

// The faults of the takes' channels, which are nobody's share: those that spoil the readings leave their take out.
static void add_faults(Takes *takes, DwSheet *sheet)
{
    DwText words = {0};
    DwVerdict verdict = DW_VERDICT_NONE;
    size_t out = 0;
    for (size_t i = 0; i < takes->count; i++) {
        const DwReading *fault = dw_sheet_reading(takes->sheets[i], "channels.fault");
        if (!fault || !(fault->flags & DW_FLAG_FAULT))
            continue;
        dw_text_add(&words, "%stake %zu: %s", words.length ? "; " : "", i + 1, fault->word);
        verdict = fault->verdict > verdict ? fault->verdict : verdict;
        takes->out[i] = !is_put_right(fault->word);
        out += takes->out[i];
    }
    if (words.length) {
        DwReading *reading = dw_sheet_add_word(sheet, "pressing.faults", "Faults of the channels", words.chars);
        reading->verdict = verdict;
        reading->flags |= DW_FLAG_FAULT;
        dw_sheet_remark(sheet,
                        "A fault of the channels is of that take's deck or leads. %s Mend it, record that take "
                        "again and compare once more.",
                        out ? "Where it spoils what is read of them, that take was compared by its speed alone."
                            : "What is read through it is given as if it were put right.");
    }
    dw_text_clear(&words);
}

// What is common to all takes, and whose it is.
static void remark_common(const Takes *takes, DwSheet *sheet)
{
    size_t copies = takes->named[0], decks = takes->named[1];
    dw_sheet_remark(sheet, "%zu takes: %zu cop%s of the record on %zu deck%s or cartridge%s.", takes->count, copies,
                    copies == 1 ? "y" : "ies", decks, decks == 1 ? "" : "s", decks == 1 ? "" : "s");
    if (decks > 1)
        dw_sheet_remark(sheet,
                        "What is common to all decks is the record's own, as far as the decks do not err alike: "
                        "its ± is how decks, and copies, differ, and no less than a take's. What a deck adds to that "
                        "is its own.");
    else
        dw_sheet_remark(sheet, "With one deck its own errors stand in the common part; what a copy adds to that is the "
                               "copy's own. Play one copy on another deck to part the record from the deck.");
    if (takes->count < copies + decks)
        dw_sheet_remark(sheet,
                        "No take is to spare: what differs by chance cannot be told, so a copy's or a deck's own "
                        "share has no ±. Record one of them once more.");
}

static DwStatus fill(Takes *takes, DwSheet *sheet, DwMessage *message)
{
    static const char *const columns[] = {"reading|Reading||",
                                          "whose|Whose||",
                                          "name|Which||",
                                          "share|Share||3",
                                          "uncertainty|±||3",
                                          "unit|Unit||",
                                          NULL};
    Filling filling = {.takes = takes, .sheet = sheet};
    add_faults(takes, sheet);
    filling.shares = dw_sheet_add_table(sheet, "pressing.shares", "Whose share is what", columns);
    add_readings(&filling);
    add_leaks(&filling);
    if (!filling.parted)
        return dw_fail(
            message, DW_BAD_INPUT,
            "The takes do not part the record from the deck: each copy was played on a deck of its own. Play "
            "one copy on two decks, or two copies on one.");
    dw_sheet_add_estimate(sheet, "pressing.takes", "Takes compared", (double)takes->count, "", 0, NAN, "");
    for (size_t c = 0; c < 2; c++)
        add_curves(&filling, c);
    remark_common(takes, sheet);
    return DW_OK;
}

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    Takes takes = {0};
    DwStatus status = read_names(request->inputs, "pressing.copies", 0, request->recording_count, &takes, message);
    if (status == DW_OK)
        status = read_names(request->inputs, "pressing.decks", 1, request->recording_count, &takes, message);
    if (status == DW_OK)
        status = measure(request, &takes, message);
    if (status == DW_OK)
        status = fill(&takes, sheet, message);
    clear(&takes);
    return status;
}

const DwProcedure dw_procedure_pressing = {
    .name = "pressing",
    .title = "The record's own errors",
    .summary = "Part what is the record's from what is the deck's, by several takes of one side.",
    .quantities = quantities,
    .recordings_least = 2,
    .recordings_most = DW_TWO_WAY_MOST,
    .takes_differ = true,
    .run = run,
};
