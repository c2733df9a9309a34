// SPDX-License-Identifier: MIT
#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"
#include "guide/guide_check.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { NAME_MOST = 64 };
// How often an owner says the one complaint for another that is like it. Common practice, no source.
static const double taken_for_another = 0.06;

// The next of LIST's names, parted by commas, into NAME; what follows it is returned, NULL at the end.
static const char *next_name(const char *list, char name[NAME_MOST])
{
    list += strspn(list, " ,");
    if (!*list)
        return NULL;
    size_t length = strcspn(list, ","), kept = length;
    while (kept && isspace((unsigned char)list[kept - 1]))
        kept--;
    kept = kept < NAME_MOST ? kept : NAME_MOST - 1;
    memcpy(name, list, kept);
    name[kept] = 0;
    return list + length;
}

static const char *const drive_words[DW_GUIDE_DRIVES] = {"belt", "idler", "direct"};
static const char *const trait_words[DW_GUIDE_TRAITS] = {"automatic", "changer", "suspended", "linear"};

static int word_place(const char *const *words, size_t count, const char *word)
{
    for (size_t i = 0; i < count; i++)
        if (strcmp(words[i], word) == 0)
            return (int)i;
    return -1;
}

static void add_place(size_t **places, size_t *count, size_t place)
{
    *places = dw_memory_resize(*places, *count + 1, sizeof **places);
    (*places)[(*count)++] = place;
}

static void link_fault(DwGuideKnowledge *knowledge, DwGuideFault *fault, DwGuideTroubles *troubles)
{
    char name[NAME_MOST];
    for (size_t d = 0; d < DW_GUIDE_DRIVES; d++)
        fault->on[d] = !fault->drives;
    for (const char *at = fault->drives; at && (at = next_name(at, name));) {
        int drive = word_place(drive_words, DW_GUIDE_DRIVES, name);
        if (drive < 0)
            dw_guide_trouble(troubles, "faults.ini", fault->line, "[%s] '%s' is no drive. Use belt, idler or direct.",
                             fault->key, name);
        else
            fault->on[drive] = true;
    }
    fault->trait = fault->has ? word_place(trait_words, DW_GUIDE_TRAITS, fault->has) : -1;
    if (fault->has && fault->trait < 0)
        dw_guide_trouble(troubles, "faults.ini", fault->line,
                         "[%s] '%s' is nothing that a deck has here. Use automatic, changer, suspended or linear.",
                         fault->key, fault->has);
    for (const char *at = fault->remedy; at && (at = next_name(at, name));) {
        int remedy = dw_guide_remedy_find(knowledge, name);
        if (remedy < 0)
            dw_guide_trouble(troubles, "faults.ini", fault->line, "[%s] there is no remedy '%s' in remedies.ini.",
                             fault->key, name);
        else
            add_place(&fault->remedies, &fault->remedy_count, (size_t)remedy);
    }
}

static const char *file_of(const DwGuideSign *sign)
{
    return sign->symptom ? "symptoms.ini" : "findings.ini";
}

// One "FAULT CHANCE" of a `by` line.
static void link_chance(const DwGuideKnowledge *knowledge, DwGuideSign *sign, unsigned line, const char *text,
                        DwGuideTroubles *troubles)
{
    char name[NAME_MOST];
    size_t length = strcspn(text, " ");
    memcpy(name, text, length);
    name[length] = 0;
    double chance = NAN;
    const char *after = dw_text_number(text + length + strspn(text + length, " "), &chance);
    int fault = dw_guide_fault_find(knowledge, name);
    if (fault < 0)
        dw_guide_trouble(troubles, file_of(sign), line, "[%s] there is no fault '%s' in faults.ini.", sign->key, name);
    else if (!after || *after || !(chance > 0 && chance < 1))
        dw_guide_trouble(troubles, file_of(sign), line, "[%s] '%s': a chance lies between 0 and 1, as in %s 0.4.",
                         sign->key, text, name);
    else if (dw_guide_sign_chance(sign, (size_t)fault) > 0)
        dw_guide_trouble(troubles, file_of(sign), line, "[%s] %s stands twice. Keep one.", sign->key, name);
    else {
        sign->chances = dw_memory_resize(sign->chances, sign->fault_count + 1, sizeof *sign->chances);
        sign->chances[sign->fault_count] = chance;
        add_place(&sign->faults, &sign->fault_count, (size_t)fault);
    }
}

static void link_sign(DwGuideKnowledge *knowledge, size_t place, DwGuideTroubles *troubles)
{
    DwGuideSign *sign = &knowledge->signs[place];
    char name[NAME_MOST];
    sign->symptom = place < knowledge->symptom_count;
    sign->from_test = sign->test ? dw_guide_test_find(knowledge, sign->test) : -1;
    for (size_t i = 0; i < sign->by.count; i++)
        for (const char *at = sign->by.texts[i]; (at = next_name(at, name));)
            link_chance(knowledge, sign, sign->by.lines[i], name, troubles);
    for (const char *at = sign->first; at && (at = next_name(at, name));) {
        int test = dw_guide_test_find(knowledge, name);
        if (test < 0)
            dw_guide_trouble(troubles, file_of(sign), sign->line, "[%s] there is no test '%s' in tests.ini.", sign->key,
                             name);
        else
            add_place(&sign->first_tests, &sign->first_count, (size_t)test);
    }
    if (sign->from_test >= 0) {
        DwGuideTest *test = &knowledge->tests[sign->from_test];
        add_place(&test->signs, &test->sign_count, place);
    } else if (sign->test)
        dw_guide_trouble(troubles, file_of(sign), sign->line, "[%s] there is no test '%s' in tests.ini.", sign->key,
                         sign->test);
}

// The signs that TEXT names, parted by commas, each by WHOLE ("symptom.slow") or by its key alone.
static void link_names(const DwGuideKnowledge *knowledge, const DwGuideSign *sign, const char *text, bool whole,
                       size_t **places, size_t *count, DwGuideTroubles *troubles)
{
    char name[NAME_MOST];
    for (const char *at = text; at && (at = next_name(at, name));) {
        char *key = dw_text_format("%s%s", whole ? "" : "symptom.", name);
        int found = dw_guide_sign_find(knowledge, key);
        if (found < 0 || &knowledge->signs[found] == sign)
            dw_guide_trouble(troubles, file_of(sign), sign->line, "[%s] there is no other %s '%s'.", sign->key,
                             whole ? dw_said("complaint or finding") : dw_said("complaint"), name);
        else
            add_place(places, count, (size_t)found);
        free(key);
    }
}

// The complaint that SIGN measures.
static void link_measured(const DwGuideKnowledge *knowledge, DwGuideSign *sign, DwGuideTroubles *troubles)
{
    size_t *places = NULL, count = 0;
    link_names(knowledge, sign, sign->measures, false, &places, &count, troubles);
    sign->is_measure = count == 1;
    sign->measured = count == 1 ? places[0] : 0;
    if (count > 1)
        dw_guide_trouble(troubles, file_of(sign), sign->line, "[%s] measures more than one complaint. Keep one.",
                         sign->key);
    free(places);
}

// What makes a complaint alike makes SIGN be said now and then.
static void link_alikes(const DwGuideKnowledge *knowledge, DwGuideSign *sign)
{
    for (size_t a = 0; a < sign->alike_count; a++) {
        const DwGuideSign *alike = &knowledge->signs[sign->alikes[a]];
        for (size_t i = 0; i < alike->own_count; i++) {
            if (dw_guide_sign_chance(sign, alike->faults[i]) > 0)
                continue;
            sign->chances = dw_memory_resize(sign->chances, sign->fault_count + 1, sizeof *sign->chances);
            sign->chances[sign->fault_count] = taken_for_another * alike->chances[i];
            add_place(&sign->faults, &sign->fault_count, alike->faults[i]);
        }
    }
}

static void link_test(DwGuideTest *test, DwGuideTroubles *troubles)
{
    static const char *const words[] = {"none", "low", "medium", "high"};
    int risk = word_place(words, sizeof words / sizeof *words, test->risk_word ? test->risk_word : "");
    if (risk < 0)
        dw_guide_trouble(troubles, "tests.ini", test->line, "[%s] risk is none, low, medium or high.", test->key);
    test->risk = risk < 0 ? DW_GUIDE_RISK_HIGH : (DwGuideRisk)risk;
}

// The complaints with which TEST is never offered.
static void link_test_against(const DwGuideKnowledge *knowledge, DwGuideTest *test, DwGuideTroubles *troubles)
{
    char name[NAME_MOST];
    for (const char *at = test->not_with; at && (at = next_name(at, name));) {
        int found = dw_guide_sign_find(knowledge, name);
        if (found < 0)
            dw_guide_trouble(troubles, "tests.ini", test->line, "[%s] there is no complaint '%s'.", test->key, name);
        else
            add_place(&test->against, &test->against_count, (size_t)found);
    }
}

static void link_remedy(DwGuideRemedy *remedy, DwGuideTroubles *troubles)
{
    remedy->minutes_least = remedy->minutes_most = NAN;
    if (!remedy->minutes)
        return;
    const char *after = dw_text_number(remedy->minutes, &remedy->minutes_least);
    const char *dots = strstr(remedy->minutes, "..");
    remedy->minutes_most = remedy->minutes_least;
    if (dots)
        after = dw_text_number(dots + 2 + strspn(dots + 2, " "), &remedy->minutes_most);
    if (!after || *after || !(remedy->minutes_least > 0) || !(remedy->minutes_most >= remedy->minutes_least)) {
        remedy->minutes_least = remedy->minutes_most = NAN;
        dw_guide_trouble(troubles, "remedies.ini", remedy->line, "[%s] minutes are written 20 or 15 .. 30.",
                         remedy->key);
    }
}

void dw_guide_link(DwGuideKnowledge *knowledge, DwGuideTroubles *troubles)
{
    for (size_t i = 0; i < knowledge->fault_count; i++)
        link_fault(knowledge, &knowledge->faults[i], troubles);
    for (size_t i = 0; i < knowledge->test_count; i++)
        link_test(&knowledge->tests[i], troubles);
    for (size_t i = 0; i < knowledge->remedy_count; i++)
        link_remedy(&knowledge->remedies[i], troubles);
    for (size_t i = 0; i < knowledge->sign_count; i++)
        link_sign(knowledge, i, troubles);
    for (size_t i = 0; i < knowledge->sign_count; i++) {
        DwGuideSign *sign = &knowledge->signs[i];
        sign->own_count = sign->fault_count;
        link_names(knowledge, sign, sign->alike, false, &sign->alikes, &sign->alike_count, troubles);
        link_measured(knowledge, sign, troubles);
        link_names(knowledge, sign, sign->not_with, true, &sign->against, &sign->against_count, troubles);
    }
    for (size_t i = 0; i < knowledge->sign_count; i++)
        link_alikes(knowledge, &knowledge->signs[i]);
    for (size_t i = 0; i < knowledge->test_count; i++)
        link_test_against(knowledge, &knowledge->tests[i], troubles);
}
