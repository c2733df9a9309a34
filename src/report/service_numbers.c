// SPDX-License-Identifier: MIT
// Which numbers stand on page one, and what each means to a listener.
#include "base/arm_key.h"
#include "base/heard_speed.h"
#include "base/memory.h"
#include "base/text.h"
#include "book/job/set_up.h"
#include "chart/draw/number.h"
#include "report/papers.h"
#include "report/sentence/sentence.h"
#include "report/standing.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

// One number of page one: what stands of a thing, and what it is held against.
typedef struct {
    char *key; // that its plain name goes by
    const DwReading *reading;
    const DwReading *before; // NULL without one to compare with
    const DwSheet *sheet;    // that the reading stands on, or NULL
    bool is_left;
} Number;

static const DwSheet *sheet_of(const DwDossier *d, const DwMeasurement *from)
{
    for (size_t i = 0; i < d->comparison.measurements.count; i++)
        if ((const DwMeasurement *)dw_records_at(&d->comparison.measurements, i) == from)
            return d->comparison.sheets[i];
    return NULL;
}

static bool same_limit(const DwLimit *a, const DwLimit *b)
{
    if (!a || !b)
        return a == b;
    return (a->low == b->low || (isnan(a->low) && isnan(b->low))) &&
           (a->high == b->high || (isnan(a->high) && isnan(b->high)));
}

// What stands of THING; false when nothing does that is a number.
static bool find_number(const DwDossier *d, const char *thing, Number *number)
{
    const DwPair *pair = dw_standing_pair(d, thing);
    const DwReading *set = dw_standing_setting(d, thing, pair);
    bool left = pair && dw_standing_is_number(pair->after);
    if (!pair)
        return false; // a setting alone is no number that was measured
    *number = (Number){.reading = set ? set : left ? pair->after : pair->before, .is_left = set || left};
    if (!set) {
        number->sheet = sheet_of(d, left ? pair->after_from : pair->before_from);
        number->before =
            left && pair->comparable && same_limit(pair->before->limit, pair->after->limit) ? pair->before : NULL;
    }
    number->key = dw_memory_text(thing);
    return true;
}

void dw_service_read_settings(DwDossier *d)
{
    d->noted = dw_sheet_new("settings", "");
    if (dw_set_up_standing(d->book, d->job.record.id, DW_PHASE_AS_LEFT, &d->left, NULL) != DW_OK)
        return;
    for (size_t i = 0; i < d->left.count; i++) {
        const DwSetUp *set = (const DwSetUp *)dw_records_at(&d->left, i);
        const DwQuantity *quantity = dw_arm_key_quantity(set->key);
        char *text = dw_text_format("%s %s", set->value, set->unit ? set->unit : "");
        double value;
        bool number = quantity && quantity->kind == DW_QUANTITY_NUMBER &&
                      dw_quantity_read(quantity, text, &value, NULL, NULL) == DW_OK;
        if (number)
            dw_sheet_add_reading(d->noted, set->key, set->label, value, quantity->unit, quantity->digits);
        free(text);
    }
    for (size_t i = 0; i < d->noted->reading_count; i++) {
        DwReading *reading = &d->noted->readings[i];
        char *thing = dw_standing_thing(d, reading->key);
        const DwPair *pair = dw_standing_pair(d, thing);
        const DwReading *measured = !pair ? NULL : pair->after ? pair->after : pair->before;
        const DwLimit *limit = measured && strcmp(measured->unit, reading->unit) == 0 ? measured->limit : NULL;
        if (limit)
            dw_reading_set_limit(reading, (DwRange){limit->low, limit->high},
                                 (DwRange){limit->good_low, limit->good_high}, limit->source);
        free(thing);
    }
}

static bool is_chosen(const Number *numbers, size_t count, const char *thing)
{
    for (size_t i = 0; i < count; i++)
        if (strcmp(numbers[i].key, thing) == 0)
            return true;
    return false;
}

static size_t choose(const DwDossier *d, const char *key, bool judged_only, Number *numbers, size_t count, size_t most)
{
    char *thing = dw_standing_thing(d, key);
    Number number;
    if (count < most && !is_chosen(numbers, count, thing) && find_number(d, thing, &number)) {
        if (!judged_only || number.reading->verdict != DW_VERDICT_NONE)
            numbers[count++] = number;
        else
            free(number.key);
    }
    free(thing);
    return count;
}

// The keys that the words put first, then whatever else has a verdict.
static size_t choose_all(const DwDossier *d, Number *numbers, size_t most)
{
    char *keys = dw_memory_text(dw_dossier_say(d, "service", "numbers.first")), *rest = keys;
    size_t count = 0;
    for (char *key; (key = strsep(&rest, " ,"));)
        if (*key)
            count = choose(d, key, false, numbers, count, most);
    free(keys);
    for (size_t i = 0; i < d->comparison.count; i++) {
        const DwPair *pair = &d->comparison.pairs[i];
        count = choose(d, (pair->after ? pair->after : pair->before)->key, true, numbers, count, most);
    }
    return count;
}

static const char *class_name(const DwDossier *d, const DwHeard *heard)
{
    char *key = dw_text_format("deck.class.%s", dw_heard_class(heard));
    const char *name = dw_dossier_say(d, "choices", key);
    free(key);
    return *name ? name : dw_heard_class(heard);
}

// The sentence KEY for HEARD, its values filled in.
static char *fill(const DwDossier *d, const char *key, const DwHeard *heard)
{
    const DwReading *reading = heard->reading;
    const DwLimit none = {NAN, NAN, NAN, NAN, NULL}, *limit = reading->limit ? reading->limit : &none;
    bool is_ratio = strcmp(reading->unit, "%") == 0 && reading->value > -99;
    DwHeardSpeed speed = is_ratio ? dw_heard_speed(reading->value) : (DwHeardSpeed){0};
    double seconds = fabs(speed.early_s);
    DwNumber in_cents = dw_number_print(fabs(speed.cents), fabs(speed.cents) < 1 ? 1 : 0, false);
    DwNumber in_seconds = dw_number_print(seconds, seconds < 10 ? 1 : 0, false);
    DwNumber within = dw_number_print(fmax(ceil(seconds * 10 - 1e-9) / 10, 0.1), 1, false);
    return dw_sentence(
        d, "readings", key, heard, "value", dw_number_print(reading->value, reading->digits, false).text, "low",
        dw_number_print(limit->low, reading->digits, false).text, "high",
        dw_number_print(limit->high, reading->digits, false).text, "cents", is_ratio ? in_cents.text : "", "seconds",
        is_ratio ? in_seconds.text : "", "within", is_ratio ? within.text : "", "sharp",
        dw_dossier_say(d, "service", speed.cents >= 0 ? "sharp" : "flat"), "early",
        dw_dossier_say(d, "service", speed.cents >= 0 ? "early" : "late"), "class", class_name(d, heard), NULL);
}

// The sentence for a reading's verdict, else for the reading: by its own key, else by that of its plain name;
// else for the verdict alone. The first that stands.
static char *sentence(const DwDossier *d, const Number *number)
{
    const char *word = dw_verdict_word(number->reading->verdict);
    const char *verdict = *word ? word : "none", *own = number->reading->key;
    const struct {
        const char *of;
        char *key;
    } tries[] = {
        {own, dw_text_format("%s.%s", own, verdict)},
        {own, dw_memory_text(own)},
        {number->key, dw_text_format("%s.%s", number->key, verdict)},
        {number->key, dw_memory_text(number->key)},
        {number->key, dw_memory_text(verdict)},
        {number->key, dw_text_format("%s.other", verdict)},
        {number->key, dw_text_format("%s.any", verdict)},
    };
    char *text = dw_memory_text("");
    for (size_t i = 0; i < sizeof tries / sizeof *tries; i++) {
        const DwHeard heard = {tries[i].of, number->reading, number->sheet};
        if (!*text) {
            free(text);
            text = fill(d, tries[i].key, &heard);
        }
        free(tries[i].key);
    }
    return text;
}

static DwPieceNumber make_number(const DwDossier *d, const Number *number)
{
    return (DwPieceNumber){.name = dw_standing_name(d, number->reading->key, number->reading->label),
                           .reading = number->reading,
                           .before = number->before,
                           .now_word = dw_dossier_say(d, "service", number->is_left ? "left" : "received"),
                           .before_word = dw_dossier_say(d, "service", "received"),
                           .sentence = sentence(d, number)};
}

// Which mark is which, and what the thick part of a line is, where there are such.
static void add_key(DwDossier *d, const DwShown *shown)
{
    char *marks = dw_sentence(d, "service", "numbers.key", shown, NULL);
    char *range = dw_sentence(d, "service", "numbers.range", shown, NULL);
    char *text = dw_text_format("%s%s%s", marks, *marks && *range ? " " : "", range);
    dw_piece_quiet(d->flow, text);
    free(text);
    free(range);
    free(marks);
}

void dw_service_add_numbers(DwDossier *d, size_t most)
{
    Number chosen[DW_SERVICE_NUMBERS_MOST];
    size_t count = choose_all(d, chosen, most);
    DwShown shown = {.shown = count};
    if (!count)
        return;
    dw_piece_heading(d->flow, dw_dossier_say(d, "service", "numbers"));
    for (size_t i = 0; i < count; i += 2) {
        DwPieceNumber numbers[2];
        size_t row = count - i < 2 ? 1 : 2;
        for (size_t j = 0; j < row; j++) {
            numbers[j] = make_number(d, &chosen[i + j]);
            shown.with_before += numbers[j].before != NULL;
            shown.with_limit += numbers[j].reading->limit != NULL;
        }
        dw_piece_numbers(d->flow, numbers, row);
        for (size_t j = 0; j < row; j++) {
            free((void *)numbers[j].name);
            free((void *)numbers[j].sentence);
        }
    }
    add_key(d, &shown);
    for (size_t i = 0; i < count; i++)
        free(chosen[i].key);
}
