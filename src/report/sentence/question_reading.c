// SPDX-License-Identifier: MIT
// Questions about the numbers of page one and the instruments they were taken with.
#include "report/sentence/question.h"

#include "base/text.h"

#include <math.h>
#include <string.h>

static DwReply shown_before(const DwDossier *d, const void *about, const char *word)
{
    const DwShown *shown = about;
    (void)d;
    (void)word;
    return !shown || !shown->shown ? DW_NOT_KNOWN : shown->with_before ? DW_YES : DW_NO;
}

static DwReply shown_limit(const DwDossier *d, const void *about, const char *word)
{
    const DwShown *shown = about;
    (void)d;
    (void)word;
    return !shown || !shown->shown ? DW_NOT_KNOWN : shown->with_limit ? DW_YES : DW_NO;
}

static DwReply check(const DwDossier *d, const void *about, const char *word)
{
    const DwCheckedWith *with = about;
    (void)d;
    return !with || !with->state ? DW_NOT_KNOWN : strcmp(with->state, word) == 0 ? DW_YES : DW_NO;
}

// Whether LIST ("good|serviceable") holds VERDICT's word.
static bool lists(const char *list, DwVerdict verdict)
{
    const char *word = dw_verdict_word(verdict);
    size_t length = strlen(word);
    for (const char *at = list; *at; at += strcspn(at, "|"), at += *at == '|')
        if (strcspn(at, "|") == length && strncmp(at, word, length) == 0)
            return true;
    return false;
}

static bool is_judged(DwVerdict verdict)
{
    return verdict != DW_VERDICT_NONE && verdict != DW_VERDICT_NOT_TESTED;
}

// WORD is "KEY=verdict" for that verdict, "KEY!verdict" for any other, "KEY~verdict" for any other or none
// at all, or the key alone; "=verdict" and "=none" are of any reading.
static DwReply is_reading(const DwDossier *d, const void *about, const char *word)
{
    const DwHeard *heard = about;
    size_t length = strcspn(word, "=!~");
    (void)d;
    if (!heard || !heard->reading)
        return DW_NOT_KNOWN;
    if (length && (strlen(heard->key) != length || strncmp(heard->key, word, length) != 0))
        return DW_NOT_ASKED;
    DwVerdict verdict = heard->reading->verdict;
    const char *verdicts = word + length + (word[length] != '\0');
    switch (word[length]) {
    case '=':
        if (strcmp(verdicts, "none") == 0)
            return heard->reading->limit ? DW_NO : DW_YES;
        return !is_judged(verdict) ? DW_NOT_KNOWN : lists(verdicts, verdict) ? DW_YES : DW_NO;
    case '!':
        return !is_judged(verdict) ? DW_NOT_KNOWN : lists(verdicts, verdict) ? DW_NO : DW_YES;
    case '~':
        return is_judged(verdict) && lists(verdicts, verdict) ? DW_NO : DW_YES;
    default:
        return DW_YES;
    }
}

static double in_grams(double value, const char *unit)
{
    const double mn_per_g = 9.80665; // standard gravity, ISO 80000-4
    return strcmp(unit, "mN") == 0 ? value / mn_per_g : strcmp(unit, "g") == 0 ? value : NAN;
}

static double given_in_grams(const DwSheet *sheet, const char *key)
{
    for (size_t i = 0; sheet && i < sheet->input_count; i++)
        if (strcmp(sheet->inputs[i].key, key) == 0 && sheet->inputs[i].given)
            return in_grams(sheet->inputs[i].value, sheet->inputs[i].unit);
    return NAN;
}

// The maker's range is what stands at the cartridge in the book, else what was given to the sheet as such.
static DwReply in_makers_range(const DwDossier *d, const void *about, const char *word)
{
    const DwHeard *heard = about;
    DwReply of_it = is_reading(d, about, word);
    if (of_it != DW_YES)
        return of_it == DW_NO ? DW_NOT_ASKED : of_it;
    double value = in_grams(heard->reading->value, heard->reading->unit);
    bool in_book =
        d->cartridge.record.id && isfinite(d->cartridge.force_low_mn) && isfinite(d->cartridge.force_high_mn);
    double low = in_book ? in_grams(d->cartridge.force_low_mn, "mN") : given_in_grams(heard->sheet, "force.low");
    double high = in_book ? in_grams(d->cartridge.force_high_mn, "mN") : given_in_grams(heard->sheet, "force.high");
    if (!isfinite(value) || !isfinite(low) || !isfinite(high))
        return DW_NOT_KNOWN;
    // What is printed with two places is held against the range with two.
    return value >= low - 0.005 && value <= high + 0.005 ? DW_YES : DW_NO;
}

// A limit that is the cartridge's, whatever the deck.
static bool is_of_cartridge(const char *key)
{
    static const char *const groups[] = {"force.", "skating.", "rake.", "load."};
    for (size_t i = 0; i < sizeof groups / sizeof *groups; i++)
        if (strncmp(key, groups[i], strlen(groups[i])) == 0)
            return true;
    return false;
}

// Whether the limit is the one for the deck's own class.
static DwReply of_class(const DwDossier *d, const void *about, const char *word)
{
    const DwHeard *heard = about;
    DwReply of_it = is_reading(d, about, word);
    if (of_it != DW_YES)
        return of_it == DW_NO ? DW_NOT_ASKED : of_it;
    const char *class = d->deck.record.id && d->deck.class ? d->deck.class : "";
    if (!*class || is_of_cartridge(heard->reading->key))
        return DW_NOT_KNOWN;
    const char *judged_by = dw_heard_class(heard);
    return !*judged_by || strcmp(judged_by, class) == 0 ? DW_YES : DW_NO;
}

const char *dw_heard_class(const DwHeard *heard)
{
    const DwSheetInput *input = heard->sheet ? dw_measurement_input(heard->sheet, "deck.class") : NULL;
    return input ? input->text : "";
}

const DwPaperQuestion dw_question_shown_before = {"is a number of page one shown as received and as left?",
                                                  shown_before};
const DwPaperQuestion dw_question_shown_limit = {"has a number of page one an allowed range?", shown_limit};
const DwPaperQuestion dw_question_check = {"is the instrument's check {word}?", check};
const DwPaperQuestion dw_question_reading = {"is the reading one of {word}?", is_reading};
const DwPaperQuestion dw_question_makers_range = {"does the maker's range hold the reading ({word})?", in_makers_range};
const DwPaperQuestion dw_question_class = {"was it judged by the class of the deck ({word})?", of_class};
