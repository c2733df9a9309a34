// SPDX-License-Identifier: MIT
#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"
#include "book/job/comparison.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

// One reading with the measurement and the sheet it stands in.
typedef struct {
    DwReading *reading;
    const DwMeasurement *from;
    const DwSheet *sheet;
} Candidate;

static const DwMeasurement *measurement_at(const DwComparison *comparison, size_t index)
{
    return (const DwMeasurement *)dw_records_at(&comparison->measurements, index);
}

// Whether an input describes how the reading was taken: the band and the chain,
// but not which seconds of the recording were used, nor the names, which the measurements themselves carry.
static bool is_condition(const char *key)
{
    static const char *const others[] = {"record.start", "record.end", "record.name", "chain.name"};
    for (size_t i = 0; i < sizeof others / sizeof *others; i++)
        if (strcmp(key, others[i]) == 0)
            return false;
    return strncmp(key, "record.", 7) == 0 || strncmp(key, "chain.", 6) == 0;
}

// The first condition stated in A that B states otherwise or not at all.
static char *other_condition(const DwSheet *a, const DwSheet *b, const char *when_a, const char *when_b)
{
    for (size_t i = 0; i < a->input_count; i++) {
        const DwSheetInput *input = &a->inputs[i];
        if (!is_condition(input->key))
            continue;
        const DwSheetInput *other = dw_measurement_input(b, input->key);
        if (!other)
            return dw_say("%s is stated %s (%s) but not %s.", dw_said_label(input->label), dw_said(when_a), input->text,
                          dw_said(when_b));
        if (strcmp(other->text, input->text) != 0)
            return dw_say("%s differs: %s %s, %s %s.", dw_said_label(input->label), input->text, dw_said(when_a),
                          other->text, dw_said(when_b));
    }
    return NULL;
}

// The sentence for NAMES (a record, a chain, an instrument) that are not the same on both sides; NULL when they are.
static char *other_name(const char *what, const char *before, const char *after)
{
    if (!*before && !*after)
        return dw_say("The %s is stated neither as received nor as left.", dw_said(what));
    if (!*before || !*after)
        return dw_say("The %s is not stated %s.", dw_said(what), *before ? dw_said("as left") : dw_said("as received"));
    if (strcmp(before, after) != 0)
        return dw_say("The %s differs: %s as received, %s as left.", dw_said(what), before, after);
    return NULL;
}

// Why the two cannot be compared; NULL when they can. The caller frees it.
static char *obstacle(const Candidate *before, const Candidate *after)
{
    const DwMeasurement *a = before->from, *b = after->from;
    if (strcmp(before->reading->unit, after->reading->unit) != 0)
        return dw_say("The unit differs: %s as received, %s as left.", before->reading->unit, after->reading->unit);
    if (strcmp(a->procedure, b->procedure) != 0)
        return dw_say("The procedure differs: %s as received, %s as left.", a->procedure, b->procedure);
    char *reason = NULL;
    bool recorded = *a->subject || *b->subject;
    if (recorded)
        reason = other_name(N_("test record"), a->test_record, b->test_record);
    if (!reason && recorded)
        reason = other_name(N_("recording chain"), a->chain, b->chain);
    if (!reason && strcmp(a->procedure, DW_MEASUREMENT_BY_HAND) == 0)
        reason = other_name(N_("instrument"), a->instrument, b->instrument);
    if (!reason)
        reason = other_condition(before->sheet, after->sheet, N_("as received"), N_("as left"));
    if (!reason)
        reason = other_condition(after->sheet, before->sheet, N_("as left"), N_("as received"));
    if (!reason && !before->reading->word != !after->reading->word)
        reason = dw_say("One of the two is a word and the other a number.");
    if (!reason && !before->reading->word && isnan(before->reading->value))
        reason = dw_say("No value could be found as received.");
    if (!reason && !after->reading->word && isnan(after->reading->value))
        reason = dw_say("No value could be found as left.");
    return reason;
}

// Whether the readings stand for the same thing: one key at one speed of one arm.
static bool is_same(const Candidate *candidate, const Candidate *other)
{
    return strcmp(candidate->reading->key, other->reading->key) == 0 &&
           strcmp(candidate->from->speed, other->from->speed) == 0 &&
           strcasecmp(dw_measurement_arm(candidate->sheet), dw_measurement_arm(other->sheet)) == 0;
}

static void judge(DwPair *pair)
{
    pair->difference = NAN;
    if (!pair->comparable)
        return;
    if (pair->before->word) {
        pair->change = strcmp(pair->before->word, pair->after->word) == 0 ? DW_CHANGE_NONE : DW_CHANGE_REAL;
        return;
    }
    pair->difference = pair->after->value - pair->before->value;
    double doubt = hypot(pair->before->uncertainty, pair->after->uncertainty);
    if (!isnan(doubt))
        pair->change = fabs(pair->difference) > doubt ? DW_CHANGE_REAL : DW_CHANGE_NONE;
}

static void set_pair(DwPair *pair, const Candidate *before, const Candidate *after, char *reason)
{
    free(pair->reason);
    *pair = (DwPair){.comparable = before && after && !reason,
                     .reason = reason ? reason : dw_memory_text(""),
                     .arm = after    ? dw_measurement_arm(after->sheet)
                            : before ? dw_measurement_arm(before->sheet)
                                     : ""};
    if (before) {
        pair->before = before->reading;
        pair->before_from = before->from;
    }
    if (after) {
        pair->after = after->reading;
        pair->after_from = after->from;
    }
    judge(pair);
}

void dw_comparison_of(const DwMeasurement *a, const DwSheet *before, const DwMeasurement *b, const DwSheet *after,
                      const char *key, DwPair *pair)
{
    const Candidate first = {dw_sheet_reading(before, key), a, before}, last = {dw_sheet_reading(after, key), b, after};
    char *reason = NULL;
    if (!first.reading || !last.reading)
        reason = dw_say(first.reading ? "It was not measured as left." : "It was not measured as received.");
    else if (strcmp(a->speed, b->speed) != 0)
        reason = other_name(N_("speed"), a->speed, b->speed);
    else
        reason = obstacle(&first, &last);
    *pair = (DwPair){0};
    set_pair(pair, first.reading ? &first : NULL, last.reading ? &last : NULL, reason);
}

static const Candidate *last_left(const Candidate *all, size_t count, const Candidate *like)
{
    for (size_t i = count; i-- > 0;)
        if (all[i].from->phase == DW_PHASE_AS_LEFT && is_same(&all[i], like))
            return &all[i];
    return NULL;
}

// What was measured last as left stands as left, whatever it can be compared with. It is held against
// the first reading as received that it can be compared with, else against the first with the reason.
static void choose(const Candidate *all, size_t count, const Candidate *like, DwPair *pair)
{
    const Candidate *first = NULL, *last = last_left(all, count, like);
    for (size_t b = 0; b < count; b++) {
        if (all[b].from->phase != DW_PHASE_AS_RECEIVED || !is_same(&all[b], like))
            continue;
        first = first ? first : &all[b];
        char *reason = last ? obstacle(&all[b], last) : NULL;
        if (last && !reason) {
            set_pair(pair, &all[b], last, NULL);
            return;
        }
        free(reason);
    }
    char *reason = first && last ? obstacle(first, last)
                   : first       ? dw_say("It was not measured as left.")
                                 : dw_say("It was not measured as received.");
    set_pair(pair, first, last, reason);
}

// Parses all sheets and lists the readings as received and as left.
static DwStatus gather(DwComparison *comparison, Candidate **all, size_t *count, DwMessage *message)
{
    size_t measurements = comparison->measurements.count, room = 0;
    comparison->sheets = dw_memory_new(measurements, sizeof *comparison->sheets);
    for (size_t i = 0; i < measurements; i++) {
        const DwMeasurement *from = measurement_at(comparison, i);
        if (from->phase != DW_PHASE_AS_RECEIVED && from->phase != DW_PHASE_AS_LEFT)
            continue;
        DwStatus status = dw_measurement_sheet(from, &comparison->sheets[i], message);
        if (status != DW_OK)
            return status;
        DwSheet *sheet = comparison->sheets[i];
        room += sheet->reading_count;
        *all = dw_memory_resize(*all, room, sizeof **all);
        for (size_t r = 0; r < sheet->reading_count; r++)
            (*all)[(*count)++] = (Candidate){&sheet->readings[r], from, sheet};
    }
    return DW_OK;
}

static bool came_before(const Candidate *all, size_t index)
{
    for (size_t i = 0; i < index; i++)
        if (is_same(&all[i], &all[index]))
            return true;
    return false;
}

DwStatus dw_comparison_make(DwBook *book, int64_t job, DwComparison *comparison, DwMessage *message)
{
    DwComparison made = {0};
    DwStatus status = dw_measurement_standing(book, job, &made.measurements, message);
    if (status != DW_OK)
        return status;
    Candidate *all = NULL;
    size_t count = 0;
    status = gather(&made, &all, &count, message);
    made.pairs = dw_memory_new(count, sizeof *made.pairs);
    for (size_t i = 0; status == DW_OK && i < count; i++)
        if (!came_before(all, i))
            choose(all, count, &all[i], &made.pairs[made.count++]);
    free(all);
    if (status == DW_OK)
        *comparison = made;
    else
        dw_comparison_clear(&made);
    return status;
}

void dw_comparison_clear(DwComparison *comparison)
{
    for (size_t i = 0; i < comparison->count; i++)
        free(comparison->pairs[i].reason);
    free(comparison->pairs);
    for (size_t i = 0; comparison->sheets && i < comparison->measurements.count; i++)
        dw_sheet_free(comparison->sheets[i]);
    free(comparison->sheets);
    dw_records_clear(&comparison->measurements);
    *comparison = (DwComparison){0};
}
