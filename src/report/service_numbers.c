// SPDX-License-Identifier: MIT
// Which numbers stand on page one, and what each means to a listener.
#include "base/memory.h"
#include "base/text.h"
#include "chart/draw/number.h"
#include "report/papers.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const DwReading *shown(const DwPair *pair)
{
    return pair->after && !pair->after->word && isfinite(pair->after->value) ? pair->after : pair->before;
}

static bool can_be_shown(const DwPair *pair)
{
    const DwReading *reading = shown(pair);
    return reading && !reading->word && isfinite(reading->value);
}

static char *plain_name(const DwDossier *d, const DwReading *reading);

// Whether a reading of the same plain name stands there already: two measures of
// one thing would only raise a question.
static bool is_named(const DwDossier *d, const DwReading *reading, const DwPair *const *chosen, size_t count)
{
    bool named = false;
    char *name = plain_name(d, reading);
    for (size_t i = 0; i < count && !named; i++) {
        char *other = plain_name(d, shown(chosen[i]));
        named = strcmp(name, other) == 0;
        free(other);
    }
    free(name);
    return named;
}

// Adds pairs called KEY, or (NULL) whose reading has a verdict, that are not yet chosen.
static size_t choose(const DwDossier *d, const char *key, const DwPair **chosen, size_t count, size_t most)
{
    const DwComparison *comparison = &d->comparison;
    for (size_t i = 0; i < comparison->count && count < most; i++) {
        const DwPair *pair = &comparison->pairs[i];
        if (!can_be_shown(pair))
            continue;
        bool wanted = key ? strcmp(shown(pair)->key, key) == 0 : shown(pair)->verdict != DW_VERDICT_NONE;
        if (wanted && !is_named(d, shown(pair), chosen, count))
            chosen[count++] = pair;
    }
    return count;
}

// The keys that the words put first, then whatever else has a verdict.
static size_t choose_all(const DwDossier *d, const DwPair **chosen, size_t most)
{
    char *keys = dw_memory_text(dw_dossier_say(d, "service", "numbers.first")), *rest = keys;
    size_t count = 0;
    for (char *key; (key = strsep(&rest, " ,"));)
        if (*key)
            count = choose(d, key, chosen, count, most);
    free(keys);
    return choose(d, NULL, chosen, count, most);
}

static char *plain_name(const DwDossier *d, const DwReading *reading)
{
    const char *name = dw_dossier_say(d, "names", reading->key);
    char *text = dw_memory_text(*name ? name : reading->label);
    text[0] = (char)toupper((unsigned char)text[0]);
    return text;
}

// The sentence for a reading's verdict, else for the reading, else for the verdict alone.
static const char *find_sentence(const DwDossier *d, const DwReading *reading)
{
    const char *word = dw_verdict_word(reading->verdict);
    char *key = dw_text_format("%s.%s", reading->key, *word ? word : "none");
    const char *text = dw_dossier_say(d, "readings", key);
    if (!*text)
        text = dw_dossier_say(d, "readings", reading->key);
    if (!*text)
        text = dw_dossier_say(d, "readings", *word ? word : "none");
    free(key);
    return text;
}

static char *replace(char *text, const char *name, const char *value)
{
    char *replaced = dw_text_replace(text, name, value);
    free(text);
    return replaced;
}

// Given: a speed error [%].
// Returned: the pitch's error in cents, 1200 log2 of the ratio of speeds, and by
// how many seconds a side of twenty minutes ends early (positive) or late.
// Reference: definition of the cent, Alexander J. Ellis, "On the Musical Scales
// of Various Nations", 1885 (from memory); the time is arithmetic.
static void hear_speed(double error_percent, double *cents, double *seconds)
{
    double ratio = 1 + error_percent / 100;
    *cents = 1200 * log2(ratio);
    *seconds = 1200 * (1 - 1 / ratio);
}

static char *sentence(const DwDossier *d, const DwReading *reading)
{
    char *text = dw_memory_text(find_sentence(d, reading));
    text = replace(text, "value", dw_number_print(reading->value, reading->digits, false).text);
    if (reading->limit) {
        text = replace(text, "low", dw_number_print(reading->limit->low, reading->digits, false).text);
        text = replace(text, "high", dw_number_print(reading->limit->high, reading->digits, false).text);
    }
    if (strcmp(reading->unit, "%") == 0 && reading->value > -99) {
        double cents, seconds;
        hear_speed(reading->value, &cents, &seconds);
        text = replace(text, "cents", dw_number_print(fabs(cents), fabs(cents) < 1 ? 1 : 0, false).text);
        text = replace(text, "seconds", dw_number_print(fabs(seconds), fabs(seconds) < 10 ? 1 : 0, false).text);
        text = replace(text, "sharp", dw_dossier_say(d, "service", cents >= 0 ? "sharp" : "flat"));
        text = replace(text, "early", dw_dossier_say(d, "service", cents >= 0 ? "early" : "late"));
    }
    return text;
}

static DwPieceNumber make_number(const DwDossier *d, const DwPair *pair)
{
    const DwReading *reading = shown(pair);
    bool is_left = reading == pair->after;
    return (DwPieceNumber){.name = plain_name(d, reading),
                           .reading = reading,
                           .before = is_left && pair->comparable ? pair->before : NULL,
                           .now_word = dw_dossier_say(d, "service", is_left ? "left" : "received"),
                           .before_word = dw_dossier_say(d, "service", "received"),
                           .sentence = sentence(d, reading)};
}

void dw_service_add_numbers(DwDossier *d, size_t most)
{
    const DwPair *chosen[DW_SERVICE_NUMBERS_MOST];
    size_t count = choose_all(d, chosen, most);
    if (!count)
        return;
    dw_piece_heading(d->flow, dw_dossier_say(d, "service", "numbers"));
    bool before = false;
    for (size_t i = 0; i < count; i += 2) {
        DwPieceNumber numbers[2];
        size_t row = count - i < 2 ? 1 : 2;
        for (size_t j = 0; j < row; j++) {
            numbers[j] = make_number(d, chosen[i + j]);
            before = before || numbers[j].before;
        }
        dw_piece_numbers(d->flow, numbers, row);
        for (size_t j = 0; j < row; j++) {
            free((void *)numbers[j].name);
            free((void *)numbers[j].sentence);
        }
    }
    dw_piece_quiet(d->flow, dw_dossier_say(d, "service", before ? "numbers.key" : "numbers.key_alone"));
}
