// SPDX-License-Identifier: MIT
// pressing: several takes of one side, of copies of the record on decks, which part what is the record's from what is
// the deck's.
#include "base/memory.h"
#include "base/text.h"
#include "procedure/registry/procedures.h"
#include "procedure/side/pressing_parts.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *const quantities[] = {
    "record.plan", "pressing.copies", "pressing.decks",     "deck.speed",        "record.name", "response.riaa",
    "deck.mains",  "chain.name",      "response.smoothing", "chain.clock_error", "reseat.play", NULL,
};

static void clear(DwPressingTakes *takes)
{
    for (size_t i = 0; i < takes->count; i++)
        dw_sheet_free(takes->sheets[i]);
    for (size_t w = 0; w < 2; w++)
        for (size_t i = 0; i < takes->named[w]; i++)
            free(takes->names[w][i]);
}

// The number of the one called NAME, which is added when it is new.
static size_t number_of(DwPressingTakes *takes, size_t which, char *name)
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
static DwStatus read_names(const DwInputs *inputs, const char *key, size_t which, size_t count, DwPressingTakes *takes,
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

static DwStatus measure(const DwRequest *request, DwPressingTakes *takes, DwMessage *message)
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

// Whether the readings of a take with FAULT are given as if it were put right.
static bool is_put_right(const char *fault)
{
    return strcmp(fault, "swapped") == 0 || strcmp(fault, "reversed") == 0 ||
           strcmp(fault, "swapped and reversed") == 0;
}

// The faults of the takes' channels, which are nobody's share: those that spoil the readings leave their take out.
static void add_faults(DwPressingTakes *takes, DwSheet *sheet)
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
static void remark_common(const DwPressingTakes *takes, DwSheet *sheet)
{
    size_t copies = takes->named[DW_PRESSING_COPY], decks = takes->named[DW_PRESSING_DECK];
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

static DwStatus fill(DwPressingTakes *takes, DwSheet *sheet, DwMessage *message)
{
    DwPressingReadings readings = {.count = 0};
    add_faults(takes, sheet);
    dw_pressing_part(takes, &readings, sheet);
    if (!readings.count)
        return dw_fail(
            message, DW_BAD_INPUT,
            "The takes do not part the record from the deck: each copy was played on a deck of its own. Play "
            "one copy on two decks, or two copies on one.");
    dw_sheet_add_estimate(sheet, "pressing.takes", "Takes compared", (double)takes->count, "", 0, NAN, "");
    dw_pressing_say_whose(takes, &readings, sheet);
    dw_pressing_add_turn(takes, sheet);
    dw_pressing_say_known(takes, &readings, sheet);
    dw_pressing_add_curves(takes, sheet);
    remark_common(takes, sheet);
    return DW_OK;
}

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    DwPressingTakes takes = {.play_mm = dw_inputs_in(request->inputs, "reseat.play", "mm")};
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
