// SPDX-License-Identifier: MIT
// Whose it is what several takes differ by, a row a reading and in words, and what is known of each copy from then on.
#include "base/text.h"
#include "dsp/two_way.h"
#include "measure/band/record_tolerance.h"
#include "procedure/side/pressing_parts.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double SURE = 2; // times its ± that a share is worth a word: a sheet has two dozen of them

static const char *name_of(const DwPressingTakes *takes, size_t kind, size_t number)
{
    return *takes->names[kind][number] ? takes->names[kind][number] : "all";
}

static const DwTwoWayShare *shares_of(const DwTwoWay *parted, size_t kind)
{
    return kind == DW_PRESSING_COPY ? parted->row : parted->column;
}

// What the highest share of KIND has over the lowest; which those are; 0 with one.
static double spread_of(const DwPressingTakes *takes, const DwTwoWay *parted, size_t kind, size_t *high, size_t *low)
{
    const DwTwoWayShare *shares = shares_of(parted, kind);
    *high = *low = 0;
    for (size_t i = 1; i < takes->named[kind]; i++) {
        *high = shares[i].value > shares[*high].value ? i : *high;
        *low = shares[i].value < shares[*low].value ? i : *low;
    }
    return shares[*high].value - shares[*low].value;
}

typedef enum { UNKNOWN, ALIKE, DIFFER } Told;

// Whether the shares of KIND differ beyond their ±; unknown with one alone, or no take to spare.
static Told told_of(const DwPressingTakes *takes, const DwTwoWay *parted, size_t kind)
{
    const DwTwoWayShare *shares = shares_of(parted, kind);
    Told told = takes->named[kind] > 1 ? ALIKE : UNKNOWN;
    for (size_t i = 0; i < takes->named[kind] && told != UNKNOWN; i++) {
        if (isnan(shares[i].off))
            return UNKNOWN;
        if (fabs(shares[i].value) > SURE * shares[i].off)
            told = DIFFER;
    }
    return told;
}

static const char *whose(Told copies, Told decks)
{
    if (copies == DIFFER && decks == DIFFER)
        return "copies and decks";
    if (copies == DIFFER || decks == DIFFER)
        return copies == DIFFER ? "the copies" : "the decks";
    return copies == UNKNOWN && decks == UNKNOWN ? "cannot tell" : "no difference shows";
}

static void add_whose(const DwPressingTakes *takes, const DwPressingReadings *readings, DwSheet *sheet)
{
    static const char *const columns[] = {"reading|Reading||",          "unit|Unit||",
                                          "common|All takes||3",        "uncertainty|±||3",
                                          "copies|Copies differ by||3", "decks|Decks differ by||3",
                                          "whose|Whose it is||",        NULL};
    DwTable *table = dw_sheet_add_table(sheet, "pressing.whose", "Whose is what the takes differ by", columns);
    for (size_t n = 0; n < readings->count; n++) {
        const DwPressingReading *reading = &readings->reading[n];
        size_t row = dw_table_add_row(table), high, low;
        dw_table_set_word(table, row, 0, reading->label);
        dw_table_set_word(table, row, 1, reading->unit);
        dw_table_set_number(table, row, 2, reading->parted.common.value);
        dw_table_set_number(table, row, 3, reading->parted.common.off);
        for (size_t kind = 0; kind < DW_PRESSING_KINDS; kind++)
            if (takes->named[kind] > 1)
                dw_table_set_number(table, row, 4 + kind, spread_of(takes, &reading->parted, kind, &high, &low));
        dw_table_set_word(table, row, 6,
                          whose(told_of(takes, &reading->parted, DW_PRESSING_COPY),
                                told_of(takes, &reading->parted, DW_PRESSING_DECK)));
    }
}

// A row a reading, a column for each copy or deck: its share over the mean of all.
static void add_shares(const DwPressingTakes *takes, const DwPressingReadings *readings, size_t kind, DwSheet *sheet)
{
    static const char *const keys[DW_PRESSING_KINDS] = {"pressing.copies", "pressing.decks"};
    static const char *const labels[DW_PRESSING_KINDS] = {"What each copy adds", "What each deck adds"};
    char text[DW_TWO_WAY_MOST][120];
    const char *columns[DW_TWO_WAY_MOST + 4] = {"reading|Reading||", "unit|Unit||"};
    size_t named = takes->named[kind];
    if (named < 2)
        return;
    for (size_t i = 0; i < named; i++) {
        snprintf(text[i], sizeof text[i], "%s_%zu|%.60s||3", kind == DW_PRESSING_COPY ? "copy" : "deck", i + 1,
                 name_of(takes, kind, i));
        for (char *bar = strchr(text[i], '|') + 1; (bar = strchr(bar, '|')) && bar[1] != '|' && bar[1] != '3';)
            *bar = '/'; // of a name
        columns[2 + i] = text[i];
    }
    columns[2 + named] = "uncertainty|± of each||3";
    DwTable *table = dw_sheet_add_table(sheet, keys[kind], labels[kind], columns);
    for (size_t n = 0; n < readings->count; n++) {
        const DwTwoWayShare *shares = shares_of(&readings->reading[n].parted, kind);
        size_t row = dw_table_add_row(table);
        double off = 0;
        dw_table_set_word(table, row, 0, readings->reading[n].label);
        dw_table_set_word(table, row, 1, readings->reading[n].unit);
        for (size_t i = 0; i < named; i++) {
            dw_table_set_number(table, row, 2 + i, shares[i].value);
            off = isnan(shares[i].off) ? NAN : fmax(off, shares[i].off);
        }
        dw_table_set_number(table, row, 2 + named, off);
    }
}

// Of what is told in dB under a reference, and of levels that are passed, the one that has less is at fault: it is
// named first.
static bool less_is_worse(const char *key)
{
    static const char *const beginnings[] = {"noise.", "channels.separation", "azimuth.separation", "tracking.passed"};
    for (size_t i = 0; i < sizeof beginnings / sizeof *beginnings; i++)
        if (strncmp(key, beginnings[i], strlen(beginnings[i])) == 0)
            return true;
    return false;
}

// One line for all readings in which those of KIND differ.
static void say_differences(const DwPressingTakes *takes, const DwPressingReadings *readings, size_t kind,
                            DwSheet *sheet)
{
    DwText text = {0};
    for (size_t n = 0; n < readings->count; n++) {
        const DwPressingReading *reading = &readings->reading[n];
        size_t high, low;
        double spread = spread_of(takes, &reading->parted, kind, &high, &low);
        if (told_of(takes, &reading->parted, kind) == DIFFER)
            dw_text_add(&text, "%s%s (%s %.2f%s%s %s %s)", text.length ? "; " : "", reading->label,
                        name_of(takes, kind, less_is_worse(reading->key) ? low : high), spread,
                        *reading->unit ? " " : "", reading->unit, less_is_worse(reading->key) ? "below" : "above",
                        name_of(takes, kind, less_is_worse(reading->key) ? high : low));
    }
    if (text.length)
        dw_sheet_remark(sheet,
                        kind == DW_PRESSING_COPY
                            ? "Of the copies of the record, whatever they are played on: %s. No deck is "
                              "to be set for that."
                            : "Of the decks or their cartridges, whichever copy they play: %s. That is "
                              "to be mended there.",
                        text.chars);
    dw_text_clear(&text);
}

static void say_alike(const DwPressingTakes *takes, const DwPressingReadings *readings, DwSheet *sheet)
{
    DwText text = {0};
    for (size_t n = 0; n < readings->count; n++) {
        Told copies = told_of(takes, &readings->reading[n].parted, DW_PRESSING_COPY),
             decks = told_of(takes, &readings->reading[n].parted, DW_PRESSING_DECK);
        if (copies != DIFFER && decks != DIFFER && (copies == ALIKE || decks == ALIKE))
            dw_text_add(&text, "%s%s", text.length ? "; " : "", readings->reading[n].label);
    }
    if (text.length)
        dw_sheet_remark(sheet, "No difference shows beyond twice its ±: %s.", text.chars);
    dw_text_clear(&text);
}

void dw_pressing_say_whose(const DwPressingTakes *takes, const DwPressingReadings *readings, DwSheet *sheet)
{
    add_whose(takes, readings, sheet);
    for (size_t kind = 0; kind < DW_PRESSING_KINDS; kind++)
        add_shares(takes, readings, kind, sheet);
    for (size_t kind = 0; kind < DW_PRESSING_KINDS; kind++)
        say_differences(takes, readings, kind, sheet);
    say_alike(takes, readings, sheet);
}

// --- what is known from then on -------------------------------------------------------------

static const double TONE_OFF = 0.5; // %, 95 %: IEC 60098:2020, 5.6

// The reading KEY, where its shares of the copies have a ±; NULL otherwise.
static const DwPressingReading *known_reading(const DwPressingReadings *readings, const char *key)
{
    for (size_t n = 0; n < readings->count; n++)
        if (strcmp(readings->reading[n].key, key) == 0 && isfinite(readings->reading[n].parted.row[0].off))
            return &readings->reading[n];
    return NULL;
}

// Whether each take reads KEY as it is meant, not by another band for want of its own.
static bool is_exact(const DwPressingTakes *takes, const char *key)
{
    for (size_t i = 0; i < takes->count; i++) {
        const DwReading *reading = dw_sheet_reading(takes->sheets[i], key);
        if (reading && !takes->out[i] && reading->flags & DW_FLAG_APPROXIMATE)
            return false;
    }
    return true;
}

// Sets what a copy is off and how well that is known. BEFOREHAND: what is taken of a copy of which nothing is known, 95
// %; the mean of several is known better by the root of their number.
static void set_known(DwTable *table, size_t row, size_t column, const DwPressingReading *reading, size_t copy,
                      double beforehand, double scale)
{
    if (!reading)
        return;
    double off = hypot(beforehand, scale * reading->parted.row[copy].off);
    dw_table_set_number(table, row, column, scale * reading->parted.row[copy].value);
    dw_table_set_number(table, row, column + 1, off);
}

void dw_pressing_say_known(const DwPressingTakes *takes, const DwPressingReadings *readings, DwSheet *sheet)
{
    static const char *const columns[] = {"copy|Copy||",
                                          "balance|Its own balance|dB|3",
                                          "balance_uncertainty|±|dB|3",
                                          "tone|Its tone is off|ppm|0",
                                          "tone_uncertainty|±|ppm|0",
                                          NULL};
    const DwPressingReading *tone = known_reading(readings, "speed.error"),
                            *balance = is_exact(takes, "channels.balance") ? known_reading(readings, "channels.balance")
                                                                           : NULL;
    size_t copies = takes->named[DW_PRESSING_COPY];
    if (copies < 2 || (!balance && !tone))
        return;
    double share = 1 / sqrt((double)copies);
    DwTable *table = dw_sheet_add_table(sheet, "pressing.known", "What is known of each copy from now on", columns);
    for (size_t i = 0; i < copies; i++) {
        size_t row = dw_table_add_row(table);
        dw_table_set_word(table, row, 0, takes->names[DW_PRESSING_COPY][i]);
        set_known(table, row, 1, balance, i, share * sqrt(2) * dw_record_tolerance_level_db(), 1);
        if (tone && told_of(takes, &tone->parted, DW_PRESSING_COPY) == DIFFER) // one master's tone is one
            set_known(table, row, 3, tone, i, share * 1e4 * TONE_OFF, 1e4);
    }
    dw_sheet_remark(sheet,
                    "Kept on a job, this is used wherever one of these copies is measured by its name (record.name): "
                    "record.balance and record.tone_offset are taken from it.");
}
