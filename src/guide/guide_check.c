// SPDX-License-Identifier: MIT
#include "guide/guide_check.h"

#include "base/text.h"

#include <math.h>
#include <string.h>

static bool is_chance(double value)
{
    return value > 0 && value < 1;
}

static void check_fault(const DwGuideKnowledge *knowledge, size_t place, DwGuideTroubles *troubles)
{
    const DwGuideFault *fault = &knowledge->faults[place];
    size_t symptoms = 0, findings = 0;
    for (size_t i = 0; i < knowledge->sign_count; i++)
        if (dw_guide_sign_chance(&knowledge->signs[i], place) > 0)
            *(knowledge->signs[i].symptom ? &symptoms : &findings) += 1;
    if (!isnan(fault->prior) && !is_chance(fault->prior))
        dw_guide_trouble(troubles, "faults.ini", fault->line, "[%s] prior lies between 0 and 1.", fault->key);
    for (size_t d = 0; d < DW_GUIDE_DRIVES; d++)
        if (!isnan(fault->by_drive[d]) && (!is_chance(fault->by_drive[d]) || !fault->on[d]))
            dw_guide_trouble(troubles, "faults.ini", fault->line,
                             "[%s] a prior of a drive lies between 0 and 1, on a drive that it can be on.", fault->key);
    if (!isnan(fault->old) && !(fault->old >= 0.1 && fault->old <= 10))
        dw_guide_trouble(troubles, "faults.ini", fault->line, "[%s] old is a factor between 0.1 and 10.", fault->key);
    if (!symptoms)
        dw_guide_trouble(troubles, "faults.ini", fault->line, "[%s] no symptom is made by it.", fault->key);
    if (!findings)
        dw_guide_trouble(troubles, "faults.ini", fault->line, "[%s] no test can find it.", fault->key);
}

static void check_test(const DwGuideTest *test, DwGuideTroubles *troubles)
{
    if (!test->sign_count)
        dw_guide_trouble(troubles, "tests.ini", test->line, "[%s] no finding of findings.ini comes from it.",
                         test->key);
    if (!isnan(test->minutes) && !(test->minutes > 0 && test->minutes <= 240))
        dw_guide_trouble(troubles, "tests.ini", test->line, "[%s] minutes lie between 0 and 240.", test->key);
    if (test->risk != DW_GUIDE_RISK_NONE && !test->caution)
        dw_guide_trouble(troubles, "tests.ini", test->line, "[%s] has a risk and says no caution.", test->key);
}

static size_t count_parts(const char *list)
{
    size_t count = list && *list;
    for (const char *at = list ? list : ""; *at; at++)
        count += *at == ';';
    return count;
}

// The kinds of stock that the job book has.
static bool is_shelf(const char *word, size_t length)
{
    static const char *const shelves[] = {"belt", "idler",   "stylus",    "cartridge", "capacitor", "electronic",
                                          "lamp", "bearing", "lubricant", "cable",     "rubber",    "other"};
    for (size_t i = 0; i < sizeof shelves / sizeof *shelves; i++)
        if (strlen(shelves[i]) == length && strncmp(word, shelves[i], length) == 0)
            return true;
    return false;
}

// Which shelf each part comes from is told of all of them, and how tight is told of a point.
static void check_stock(const DwGuideRemedy *remedy, DwGuideTroubles *troubles)
{
    if (remedy->stock && count_parts(remedy->parts) != count_parts(remedy->stock))
        dw_guide_trouble(troubles, "remedies.ini", remedy->line,
                         "[%s] stock names the shelf of each part, separated by semicolons as they are.", remedy->key);
    for (const char *at = remedy->stock ? remedy->stock : ""; *at;) {
        at += strspn(at, "; ");
        size_t length = strcspn(at, ";");
        if (!is_shelf(at, length))
            dw_guide_trouble(troubles, "remedies.ini", remedy->line, "[%s] there is no shelf '%.*s' in the stock.",
                             remedy->key, (int)length, at);
        at += length;
    }
    for (size_t i = 0; i < remedy->torque.count; i++)
        if (!strchr(remedy->torque.texts[i], ':'))
            dw_guide_trouble(troubles, "remedies.ini", remedy->torque.lines[i],
                             "[%s] torque is written POINT: HOW TIGHT, or with what care.", remedy->key);
}

static void check_remedy(const DwGuideKnowledge *knowledge, size_t place, DwGuideTroubles *troubles)
{
    const DwGuideRemedy *remedy = &knowledge->remedies[place];
    static const char *const openings[] = {"nothing", "top", "underside", "mechanism", "arm", "cartridge"};
    bool opens = false, used = false;
    for (size_t i = 0; remedy->opens && i < sizeof openings / sizeof *openings; i++)
        opens |= strcmp(remedy->opens, openings[i]) == 0;
    for (size_t i = 0; i < knowledge->fault_count; i++)
        for (size_t k = 0; k < knowledge->faults[i].remedy_count; k++)
            used |= knowledge->faults[i].remedies[k] == place;
    if (remedy->opens && !opens)
        dw_guide_trouble(troubles, "remedies.ini", remedy->line,
                         "[%s] opens is nothing, top, underside, mechanism, arm or cartridge.", remedy->key);
    if (!remedy->operation && !remedy->minutes)
        dw_guide_trouble(troubles, "remedies.ini", remedy->line, "[%s] says neither operation nor minutes.",
                         remedy->key);
    if (!isnan(remedy->order) && !(remedy->order >= 1 && remedy->order <= 12))
        dw_guide_trouble(troubles, "remedies.ini", remedy->line, "[%s] order lies between 1 and 12.", remedy->key);
    check_stock(remedy, troubles);
    if (!used)
        dw_guide_trouble(troubles, "remedies.ini", remedy->line, "[%s] no fault is put right by it.", remedy->key);
}

// Whether TEXT is "KEY above|below|beyond NUMBER UNIT" or "KEY says WORDS".
static bool is_rule(const char *text)
{
    static const char *const relations[] = {" above ", " below ", " beyond ", " says "};
    double number;
    size_t length = strcspn(text, " ");
    for (size_t i = 0; i < sizeof relations / sizeof *relations; i++)
        if (length && strncmp(text + length, relations[i], strlen(relations[i])) == 0) {
            const char *after = text + length + strlen(relations[i]);
            return i == 3 ? *after != 0 : dw_text_number(after, &number) != NULL;
        }
    return false;
}

static void check_rules(const DwGuideSign *sign, DwGuideTroubles *troubles)
{
    for (size_t i = 0; i < sign->reading.count; i++)
        if (!is_rule(sign->reading.texts[i]))
            dw_guide_trouble(troubles, "findings.ini", sign->reading.lines[i],
                             "[%s] reading is written KEY above|below|beyond NUMBER UNIT, or KEY says WORDS.",
                             sign->key);
    for (size_t i = 0; i < sign->flutter_line.count; i++)
        if (!is_rule(sign->flutter_line.texts[i]) || !strstr(sign->flutter_line.texts[i], " above "))
            dw_guide_trouble(troubles, "findings.ini", sign->flutter_line.lines[i],
                             "[%s] line is written PART above NUMBER, in %% peak.", sign->key);
}

void dw_guide_check(const DwGuideKnowledge *knowledge, DwGuideTroubles *troubles)
{
    for (size_t i = 0; i < knowledge->fault_count; i++)
        check_fault(knowledge, i, troubles);
    for (size_t i = 0; i < knowledge->sign_count; i++) {
        const DwGuideSign *sign = &knowledge->signs[i];
        if (!isnan(sign->leak) && !is_chance(sign->leak))
            dw_guide_trouble(troubles, sign->symptom ? "symptoms.ini" : "findings.ini", sign->line,
                             "[%s] leak lies between 0 and 1.", sign->key);
        check_rules(sign, troubles);
    }
    for (size_t i = 0; i < knowledge->test_count; i++)
        check_test(&knowledge->tests[i], troubles);
    for (size_t i = 0; i < knowledge->remedy_count; i++)
        check_remedy(knowledge, i, troubles);
    dw_guide_harm(knowledge, troubles);
}
