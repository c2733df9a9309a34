// SPDX-License-Identifier: MIT
#include "guide/guide_case.h"

#include "base/memory.h"
#include "base/text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

// How often an answer is not what the lists expect: a sign that is there is missed, one that is not there is seen. Of
// 100 questions 10 are answered wrongly and 15 not at all, and now and then the lists themselves are wrong. Who
// complains of something hardly ever does so for nothing. Common practice, no source.
static const double missed = 0.15, symptom_imagined = 0.0005, finding_imagined = 0.15;
// How often a second look repeats what the first got wrong: the same eye errs the same way. Common practice, no source.
static const double wrong_again = 0.3;
// What the decks of a mixed shop are, where it is not said. Common practice, no source.
static const double drive_shares[DW_GUIDE_DRIVES] = {0.5, 0.15, 0.35};
static const double trait_shares[DW_GUIDE_TRAITS] = {0.4, 0.1, 0.25, 0.05};
static const double old_years = 25;
static const double confirmed_prior = 0.999; // somebody looked and saw it

const char dw_guide_unheard_key[] = "owner.words";
// What is truly complained of is measured too, nine times in ten. Common practice, no source.
const double dw_guide_not_measured = 0.1;

void dw_guide_case_init(DwGuideCase *guide_case, const DwGuideKnowledge *knowledge)
{
    *guide_case = (DwGuideCase){.knowledge = knowledge,
                                .evidence = dw_memory_new(knowledge->sign_count, sizeof(DwGuideEvidence)),
                                .drive = -1,
                                .traits = {-1, -1, -1, -1},
                                .age = NAN};
    for (size_t i = 0; i < knowledge->sign_count; i++)
        guide_case->evidence[i] = (DwGuideEvidence){.if_so = 1, .if_not = 1};
}

void dw_guide_case_clear(DwGuideCase *guide_case)
{
    for (size_t i = 0; guide_case->evidence && i < guide_case->knowledge->sign_count; i++)
        free(guide_case->evidence[i].from);
    free(guide_case->evidence);
    free(guide_case->own);
    for (size_t i = 0; i < guide_case->own_unlisted_count; i++)
        free(guide_case->own_unlisted[i].cause);
    free(guide_case->own_unlisted);
    free(guide_case->own_said.brought);
    free(guide_case->own_said.said);
    free(guide_case->own_said.alone);
    free(guide_case->confirmed);
    free(guide_case->unheard);
    free(guide_case->unsafe);
    *guide_case = (DwGuideCase){0};
}

void dw_guide_case_confirm(DwGuideCase *guide_case, size_t fault)
{
    if (!guide_case->confirmed)
        guide_case->confirmed = dw_memory_new(guide_case->knowledge->fault_count + 1, sizeof *guide_case->confirmed);
    guide_case->confirmed[fault] = true;
}

void dw_guide_case_unsafe(DwGuideCase *guide_case, const char *what)
{
    char *all = guide_case->unsafe ? dw_text_format("%s, %s", guide_case->unsafe, what) : dw_memory_text(what);
    free(guide_case->unsafe);
    guide_case->unsafe = all;
}

void dw_guide_case_answer(DwGuideCase *guide_case, size_t sign, DwGuideAnswer answer)
{
    DwGuideEvidence *evidence = &guide_case->evidence[sign];
    double imagined = guide_case->knowledge->signs[sign].symptom ? symptom_imagined : finding_imagined;
    free(evidence->from);
    *evidence = (DwGuideEvidence){.answer = answer, .if_so = 1, .if_not = 1};
    if (answer == DW_GUIDE_OPEN)
        return;
    evidence->turn = ++guide_case->turns;
    evidence->from = dw_memory_text("answered");
    if (answer == DW_GUIDE_YES) {
        evidence->if_so = 1 - missed;
        evidence->if_not = imagined;
    } else if (answer == DW_GUIDE_NO) {
        evidence->if_so = missed;
        evidence->if_not = 1 - imagined;
    }
}

void dw_guide_case_answer_asked(DwGuideCase *guide_case, size_t sign, DwGuideAnswer answer)
{
    dw_guide_case_answer(guide_case, sign, answer);
    if (!guide_case->knowledge->signs[sign].symptom || answer == DW_GUIDE_OPEN)
        return;
    guide_case->evidence[sign].asked = true;
    if (answer == DW_GUIDE_YES)
        guide_case->evidence[sign].if_not = finding_imagined;
    else if (answer == DW_GUIDE_NO)
        guide_case->evidence[sign].if_not = 1 - finding_imagined;
}

void dw_guide_case_keep_unheard(DwGuideCase *guide_case, const char *words)
{
    free(guide_case->unheard);
    guide_case->unheard = words && *words ? dw_memory_text(words) : NULL;
}

bool dw_guide_case_was_brought(const DwGuideCase *guide_case, size_t sign)
{
    const DwGuideEvidence *evidence = &guide_case->evidence[sign];
    return sign < guide_case->knowledge->symptom_count && evidence->answer == DW_GUIDE_YES && !evidence->asked;
}

double dw_guide_case_leak(const DwGuideCase *guide_case, size_t sign)
{
    double leak = guide_case->knowledge->signs[sign].leak;
    return dw_guide_case_was_brought(guide_case, sign) ? leak * dw_guide_own_unlisted_share(guide_case) : leak;
}

bool dw_guide_case_measures(const DwGuideCase *guide_case, size_t sign)
{
    const DwGuideSign *row = &guide_case->knowledge->signs[sign];
    if (!row->is_measure)
        return false;
    DwGuideAnswer said = guide_case->evidence[row->measured].answer;
    return said == DW_GUIDE_YES || said == DW_GUIDE_NO;
}

double dw_guide_measured_not_so(const DwGuideEvidence *said, double complaint_not_so, double not_so)
{
    double so = said->if_so * (1 - complaint_not_so), not = said->if_not * complaint_not_so;
    return not_so * (so * dw_guide_not_measured + not ) / (so + not );
}

bool dw_guide_case_may_look_again(const DwGuideCase *guide_case, size_t sign)
{
    const DwGuideEvidence *evidence = &guide_case->evidence[sign];
    return !guide_case->knowledge->signs[sign].symptom && evidence->before == DW_GUIDE_OPEN &&
           (evidence->answer == DW_GUIDE_YES || evidence->answer == DW_GUIDE_NO) &&
           strcmp(evidence->from, "answered") == 0;
}

void dw_guide_case_second_look(const DwGuideCase *guide_case, size_t sign, double *yes_if_so, double *yes_if_not)
{
    bool said = guide_case->evidence[sign].answer == DW_GUIDE_YES;
    *yes_if_so = said ? 1 - missed : 1 - wrong_again;
    *yes_if_not = said ? wrong_again : finding_imagined;
}

// Whether SIGN is found by a test that some complaint asks for before all else.
static bool decides_danger(const DwGuideCase *guide_case, size_t sign)
{
    const DwGuideKnowledge *knowledge = guide_case->knowledge;
    for (size_t i = 0; i < knowledge->symptom_count; i++)
        for (size_t k = 0; k < knowledge->signs[i].first_count; k++)
            if ((int)knowledge->signs[i].first_tests[k] == knowledge->signs[sign].from_test)
                return true;
    return false;
}

void dw_guide_case_look_again(DwGuideCase *guide_case, size_t sign, DwGuideAnswer answer)
{
    DwGuideEvidence *evidence = &guide_case->evidence[sign];
    if (answer == DW_GUIDE_OPEN || !dw_guide_case_may_look_again(guide_case, sign)) {
        dw_guide_case_answer(guide_case, sign, answer);
        return;
    }
    double yes_if_so, yes_if_not;
    dw_guide_case_second_look(guide_case, sign, &yes_if_so, &yes_if_not);
    DwGuideAnswer before = evidence->answer;
    evidence->turn = ++guide_case->turns;
    evidence->before = answer == DW_GUIDE_UNKNOWN ? DW_GUIDE_UNKNOWN : evidence->answer;
    if (answer == DW_GUIDE_UNKNOWN)
        return; // the first look stands
    evidence->answer = answer;
    if (decides_danger(guide_case, sign)) { // the later look leads
        dw_guide_case_answer(guide_case, sign, answer);
        evidence->before = before;
        return;
    }
    evidence->if_so *= answer == DW_GUIDE_YES ? yes_if_so : 1 - yes_if_so;
    evidence->if_not *= answer == DW_GUIDE_YES ? yes_if_not : 1 - yes_if_not;
}

const char *dw_guide_answer_word(DwGuideAnswer answer)
{
    static const char *const words[] = {"open", "yes", "no", "unknown"};
    return words[answer];
}

static bool answer_of(const char *word, DwGuideAnswer *answer)
{
    for (DwGuideAnswer a = DW_GUIDE_OPEN; a <= DW_GUIDE_UNKNOWN; a++)
        if (strcmp(word, dw_guide_answer_word(a)) == 0) {
            *answer = a;
            return true;
        }
    return false;
}

bool dw_guide_case_take_word(DwGuideCase *guide_case, size_t sign, const char *word)
{
    DwGuideAnswer answer, again;
    if (strcmp(word, "asked") == 0 && guide_case->knowledge->signs[sign].symptom) {
        dw_guide_case_answer_asked(guide_case, sign, DW_GUIDE_YES);
        return true;
    }
    const char *comma = strchr(word, ',');
    char *first = dw_text_format("%.*s", (int)strcspn(word, ","), word);
    bool good = answer_of(first, &answer) &&
                (!comma || (!guide_case->knowledge->signs[sign].symptom && answer_of(comma + 1, &again) &&
                            (answer == DW_GUIDE_YES || answer == DW_GUIDE_NO) && again != DW_GUIDE_OPEN));
    free(first);
    if (!good)
        return false;
    dw_guide_case_answer(guide_case, sign, answer);
    if (comma)
        dw_guide_case_look_again(guide_case, sign, again);
    return true;
}

char *dw_guide_case_word(const DwGuideCase *guide_case, size_t sign)
{
    const DwGuideEvidence *evidence = &guide_case->evidence[sign];
    if (evidence->asked && evidence->answer == DW_GUIDE_YES)
        return dw_memory_text("asked");
    if (evidence->before == DW_GUIDE_OPEN)
        return dw_memory_text(dw_guide_answer_word(evidence->answer));
    if (evidence->before == DW_GUIDE_UNKNOWN)
        return dw_text_format("%s,unknown", dw_guide_answer_word(evidence->answer));
    return dw_text_format("%s,%s", dw_guide_answer_word(evidence->before), dw_guide_answer_word(evidence->answer));
}

const char *dw_guide_case_word_before(const DwGuideCase *guide_case, size_t sign)
{
    const DwGuideEvidence *evidence = &guide_case->evidence[sign];
    bool first_stands = evidence->before == DW_GUIDE_UNKNOWN; // the second look could not tell
    return dw_guide_answer_word(first_stands ? evidence->answer : evidence->before);
}

static const char *const drive_words[DW_GUIDE_DRIVES] = {"belt", "idler", "direct"};

const char *dw_guide_drive_word(const DwGuideCase *guide_case)
{
    return guide_case->drive >= 0 ? drive_words[guide_case->drive] : "unknown";
}

static DwStatus set_drive(DwGuideCase *guide_case, const char *value, DwMessage *message)
{
    bool taken_back = strcmp(value, dw_guide_answer_word(DW_GUIDE_OPEN)) == 0;
    int drive = -1;
    for (int i = 0; i < DW_GUIDE_DRIVES; i++)
        if (strcmp(value, drive_words[i]) == 0)
            drive = i;
    if (drive < 0 && !taken_back && strcmp(value, "unknown") != 0)
        return dw_fail(message, DW_BAD_INPUT, "drive.kind: '%s' is no drive. Use belt, idler, direct or unknown.",
                       value);
    guide_case->drive = drive;
    guide_case->drive_asked = !taken_back;
    guide_case->drive_turn = taken_back ? 0 : ++guide_case->turns;
    return DW_OK;
}

DwGuideLast dw_guide_case_last(const DwGuideCase *guide_case)
{
    unsigned turn = guide_case->drive_turn;
    DwGuideLast last = {.any = turn > 0, .drive = turn > 0};
    for (size_t i = 0; i < guide_case->knowledge->sign_count; i++) {
        const DwGuideEvidence *evidence = &guide_case->evidence[i];
        if (evidence->turn > turn && strcmp(evidence->from, "answered") == 0) {
            turn = evidence->turn;
            last = (DwGuideLast){.any = true, .sign = i};
        }
    }
    return last;
}

void dw_guide_case_take_back(DwGuideCase *guide_case)
{
    DwGuideLast last = dw_guide_case_last(guide_case);
    DwMessage message;
    if (last.drive)
        set_drive(guide_case, dw_guide_answer_word(DW_GUIDE_OPEN), &message);
    else if (last.any)
        dw_guide_case_take_word(guide_case, last.sign, dw_guide_case_word_before(guide_case, last.sign));
}

static DwStatus set_age(DwGuideCase *guide_case, const char *value, DwMessage *message)
{
    double years;
    const char *after = dw_text_number(value, &years);
    if (!after || (*after && strcmp(after, " a") != 0 && strcmp(after, "a") != 0) || years < 0 || years > 150)
        return dw_fail(message, DW_BAD_INPUT, "deck.age: '%s' is no age. Give it in years, as in deck.age=30.", value);
    guide_case->age = years;
    return DW_OK;
}

static DwStatus set_own(DwGuideCase *guide_case, const char *value, DwMessage *message)
{
    bool no = strcmp(value, "no") == 0;
    if (!no && strcmp(value, "yes") != 0)
        return dw_fail(message, DW_BAD_INPUT, "shop.own: '%s' is neither yes nor no.", value);
    guide_case->without_own = no;
    return DW_OK;
}

static DwStatus refuse(const DwGuideKnowledge *knowledge, const char *key, DwMessage *message)
{
    char *nearest = NULL;
    size_t least = strlen(key) / 2 + 1;
    for (size_t i = 0; i < knowledge->sign_count; i++) {
        char *name = dw_guide_sign_name(&knowledge->signs[i]);
        size_t distance = dw_text_distance(key, name);
        if (distance < least) {
            free(nearest);
            nearest = dw_memory_text(name);
            least = distance;
        }
        free(name);
    }
    DwStatus status =
        nearest ? dw_fail(message, DW_BAD_INPUT, "'%s' is nothing that the guide asks. Did you mean %s?", key, nearest)
                : dw_fail(message, DW_BAD_INPUT,
                          "'%s' is nothing that the guide asks. 'deckwright guide list' shows what it does.", key);
    free(nearest);
    return status;
}

static DwStatus set_key(DwGuideCase *guide_case, const char *key, const char *value, DwMessage *message)
{
    static const char *const traits[DW_GUIDE_TRAITS] = {"deck.automatic", "deck.changer", "deck.suspended",
                                                        "deck.linear"};
    if (strcmp(key, "drive.kind") == 0)
        return set_drive(guide_case, value, message);
    if (strcmp(key, "deck.age") == 0)
        return set_age(guide_case, value, message);
    if (strcmp(key, "shop.own") == 0)
        return set_own(guide_case, value, message);
    DwGuideAnswer answer = DW_GUIDE_OPEN;
    int sign = dw_guide_sign_find(guide_case->knowledge, key), trait = -1;
    for (int i = 0; i < DW_GUIDE_TRAITS; i++)
        if (strcmp(key, traits[i]) == 0)
            trait = i;
    if (sign < 0 && trait < 0)
        return refuse(guide_case->knowledge, key, message);
    if (trait >= 0 ? !answer_of(value, &answer) : !dw_guide_case_take_word(guide_case, (size_t)sign, value))
        return dw_fail(message, DW_BAD_INPUT, "%s: '%s' is no answer. Say yes, no or unknown, or open to take it back.",
                       key, value);
    if (trait >= 0)
        guide_case->traits[trait] = answer == DW_GUIDE_YES ? 1 : answer == DW_GUIDE_NO ? 0 : -1;
    return DW_OK;
}

DwStatus dw_guide_case_set(DwGuideCase *guide_case, const char *operand, DwMessage *message)
{
    size_t length = strcspn(operand, "=");
    if (!operand[length])
        return dw_fail(message, DW_BAD_INPUT, "'%s' says nothing. Use KEY=VALUE, as in symptom.hum=yes.", operand);
    char *key = dw_text_format("%.*s", (int)length, operand);
    DwStatus status = set_key(guide_case, key, operand + length + 1, message);
    free(key);
    return status;
}

// Whether a complaint asks for TEST first: one that was made, or with ANY one that might be.
static bool is_asked_first(const DwGuideCase *guide_case, size_t test, bool any)
{
    for (size_t i = 0; i < guide_case->knowledge->sign_count; i++) {
        const DwGuideSign *sign = &guide_case->knowledge->signs[i];
        bool counts = any || guide_case->evidence[i].answer == DW_GUIDE_YES;
        for (size_t k = 0; counts && k < sign->first_count; k++)
            if (sign->first_tests[k] == test)
                return true;
    }
    return false;
}

bool dw_guide_case_keeps_unplugged(const DwGuideCase *guide_case, size_t test)
{
    const DwGuideTest *row = &guide_case->knowledge->tests[test];
    bool passed = row->sign_count > 0, failed = false;
    for (size_t i = 0; i < row->sign_count; i++) {
        DwGuideAnswer answer = guide_case->evidence[row->signs[i]].answer;
        // Looks that contradict each other pass nothing.
        passed = passed && answer == DW_GUIDE_NO && guide_case->evidence[row->signs[i]].before != DW_GUIDE_YES;
        failed = failed || answer == DW_GUIDE_YES;
    }
    return !passed && (is_asked_first(guide_case, test, false) || (failed && is_asked_first(guide_case, test, true)));
}

bool dw_guide_case_is_dangerous(const DwGuideCase *guide_case)
{
    bool dangerous = guide_case->unsafe;
    for (size_t i = 0; i < guide_case->knowledge->test_count && !dangerous; i++)
        dangerous = dw_guide_case_keeps_unplugged(guide_case, i);
    return dangerous;
}

bool dw_guide_case_was_dangerous(const DwGuideCase *guide_case)
{
    bool danger = false;
    for (size_t i = 0; i < guide_case->knowledge->symptom_count; i++)
        danger |= guide_case->evidence[i].answer == DW_GUIDE_YES && guide_case->knowledge->signs[i].first_count;
    return danger && !dw_guide_case_is_dangerous(guide_case);
}

static double drive_prior(const DwGuideFault *fault, size_t drive)
{
    if (!fault->on[drive])
        return 0;
    return isnan(fault->by_drive[drive]) ? fault->prior : fault->by_drive[drive];
}

double dw_guide_drive_share(size_t drive)
{
    return drive_shares[drive];
}

double dw_guide_drive_prior(const DwGuideCase *guide_case, size_t fault, size_t drive)
{
    return drive_prior(&guide_case->knowledge->faults[fault], drive);
}

double dw_guide_case_prior(const DwGuideCase *guide_case, size_t fault)
{
    const DwGuideFault *row = &guide_case->knowledge->faults[fault];
    double prior = 0, old = isnan(row->old) ? 1 : row->old;
    if (guide_case->drive >= 0)
        prior = drive_prior(row, (size_t)guide_case->drive);
    else
        for (size_t d = 0; d < DW_GUIDE_DRIVES; d++)
            prior += drive_shares[d] * drive_prior(row, d);
    if (row->trait >= 0) {
        int has = guide_case->traits[row->trait];
        prior *= has < 0 ? trait_shares[row->trait] : has;
    }
    if (isnan(guide_case->age))
        prior *= (1 + old) / 2;
    else if (guide_case->age >= old_years)
        prior *= old;
    if (guide_case->confirmed && guide_case->confirmed[fault])
        return confirmed_prior;
    prior = dw_guide_own_prior(guide_case, fault, prior);
    return prior < 0.5 ? prior : 0.5;
}
