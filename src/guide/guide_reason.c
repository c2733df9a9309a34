// SPDX-License-Identifier: MIT
#include "guide/guide_reason.h"

#include "base/memory.h"
#include "guide/guide_network.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double certain = 0.85;      // from here on a fault counts as found
static const double accounts = 0.15;     // a found fault that makes a complaint this often accounts for it
static const double bits_least = 0.08;   // below this a test is not worth making
static const double answer_wrong = 0.1;  // as in guide_case.c, for an answer still to come
static const double no_set_below = 1e-5; // sets this unlikely do not bear upon what to ask
// Minutes that every step costs beside its own, and what its risk counts as. Common practice, no source.
static const double every_step = 25, risk_minutes[] = {0, 1, 6, 15}, question_minutes = 1;
enum { TOGETHER_MOST = 6 }; // findings of a test that are weighed together

// --- likely faults ------------------------------------------------------------

// Sorted by insertion: the faults are few, and no two threads share a key.
static void sort_faults(DwGuideReasons *reasons)
{
    for (size_t i = 1; i < reasons->count; i++) {
        size_t fault = reasons->order[i], place = i;
        for (; place > 0 && reasons->chance[reasons->order[place - 1]] < reasons->chance[fault]; place--)
            reasons->order[place] = reasons->order[place - 1];
        reasons->order[place] = fault;
    }
}

static void add_chances(const DwGuideCase *guide_case, const DwGuideNetwork *network, DwGuideReasons *reasons)
{
    for (size_t f = 0; f < guide_case->knowledge->fault_count; f++)
        reasons->chance[f] = dw_guide_case_prior(guide_case, f);
    for (size_t r = 0; r < network->relevant_count; r++) {
        size_t fault = network->relevant[r];
        reasons->chance[fault] = 0;
        reasons->weighed[fault] = true;
        reasons->order[reasons->count++] = fault;
    }
    for (size_t i = 0; i < network->set_count; i++) {
        const DwGuideSet *set = &network->sets[i];
        for (unsigned k = 0; k < set->count; k++)
            reasons->chance[network->relevant[set->faults[k]]] += set->weight;
        if (!set->count)
            reasons->none = set->weight;
    }
}

// Names in each set the likeliest fault that is not found yet.
static void name_leaders(const DwGuideReasons *reasons, DwGuideNetwork *network)
{
    for (size_t i = 0; i < network->set_count; i++) {
        DwGuideSet *set = &network->sets[i];
        double most = 0;
        set->leader = (uint16_t)network->relevant_count;
        for (unsigned k = 0; k < set->count; k++) {
            double chance = reasons->chance[network->relevant[set->faults[k]]];
            if (chance < certain && chance > most) {
                most = chance;
                set->leader = set->faults[k];
            }
        }
    }
}

// --- what to ask --------------------------------------------------------------

// What is left of "not so" for one sign by each weighed fault, and where none of them is there.
typedef struct {
    double *keep; // of each of the network's faults
    double none;
} Column;

static Column column_of(const DwGuideNetwork *network, const DwGuideSign *sign)
{
    Column column = {dw_memory_new(network->relevant_count + 1, sizeof(double)), 1 - sign->leak};
    for (size_t r = 0; r < network->relevant_count; r++)
        column.keep[r] = 1 - dw_guide_sign_chance(sign, network->relevant[r]);
    return column;
}

// How likely the answer would be yes, were SET what is wrong.
static double would_answer_yes(const Column *column, const DwGuideSet *set)
{
    double not_so = column->none;
    for (unsigned i = 0; i < set->count; i++)
        not_so *= column->keep[set->faults[i]];
    return 1 - answer_wrong - (1 - 2 * answer_wrong) * not_so;
}

// Entropy of COUNT shares that add up to TOTAL, times TOTAL.
static double spread(const double *shares, size_t count, double total)
{
    double bits = 0;
    for (size_t i = 0; i < count; i++)
        bits -= shares[i] > 0 ? shares[i] * log2(shares[i] / total) : 0;
    return bits;
}

// Adds what SET would make likely of the outcomes of COUNT questions to OUTCOMES. Given the set, answers are
// independent of one another.
static void add_outcomes(const DwGuideSet *set, const Column *columns, size_t count, double *outcomes)
{
    double share[1 << TOGETHER_MOST] = {set->weight};
    for (size_t s = 0; s < count; s++) {
        double yes = would_answer_yes(&columns[s], set);
        for (size_t o = 0; o < (size_t)1 << s; o++) {
            share[o + ((size_t)1 << s)] = share[o] * yes;
            share[o] *= 1 - yes;
        }
    }
    for (size_t o = 0; o < (size_t)1 << count; o++)
        outcomes[o] += share[o];
}

// Expected information from the answers to COUNT signs, asked together, about which fault leads the set.
static double information(const DwGuideNetwork *network, const DwGuideKnowledge *knowledge, const size_t *signs,
                          size_t count)
{
    size_t leaders = network->relevant_count + 1, outcomes = (size_t)1 << count;
    double *by_leader = dw_memory_new(leaders * outcomes, sizeof *by_leader), all[1 << TOGETHER_MOST] = {0};
    double total = 0, known = 0;
    Column columns[TOGETHER_MOST];
    for (size_t s = 0; s < count; s++)
        columns[s] = column_of(network, &knowledge->signs[signs[s]]);
    for (size_t i = 0; i < network->set_count; i++)
        if (network->sets[i].weight >= no_set_below)
            add_outcomes(&network->sets[i], columns, count, by_leader + network->sets[i].leader * outcomes);
    for (size_t l = 0; l < leaders; l++) {
        double share = 0;
        for (size_t o = 0; o < outcomes; o++) {
            share += by_leader[l * outcomes + o];
            all[o] += by_leader[l * outcomes + o];
        }
        known += spread(by_leader + l * outcomes, outcomes, share);
        total += share;
    }
    for (size_t s = 0; s < count; s++)
        free(columns[s].keep);
    free(by_leader);
    return total > 0 ? fmax(0, spread(all, outcomes, total) - known) : 0;
}

// Whether a fault that is weighed makes SIGN.
static bool bears(const DwGuideSign *sign, const DwGuideReasons *reasons)
{
    for (size_t i = 0; i < sign->fault_count; i++)
        if (reasons->weighed[sign->faults[i]])
            return true;
    return false;
}

static bool is_open(const DwGuideCase *guide_case, size_t sign, const DwGuideReasons *reasons)
{
    return guide_case->evidence[sign].answer == DW_GUIDE_OPEN && bears(&guide_case->knowledge->signs[sign], reasons);
}

// The TOGETHER_MOST findings of TEST that tell most, into SIGNS; how many.
static size_t best_signs(const DwGuideCase *guide_case, const DwGuideNetwork *network, const DwGuideTest *test,
                         const DwGuideReasons *reasons, size_t signs[TOGETHER_MOST])
{
    double bits[TOGETHER_MOST + 1];
    size_t count = 0, places[TOGETHER_MOST + 1];
    for (size_t i = 0; i < test->sign_count; i++) {
        if (!is_open(guide_case, test->signs[i], reasons))
            continue;
        size_t place = count;
        double own = information(network, guide_case->knowledge, &test->signs[i], 1);
        for (; place > 0 && bits[place - 1] < own; place--) {
            bits[place] = bits[place - 1];
            places[place] = places[place - 1];
        }
        bits[place] = own;
        places[place] = test->signs[i];
        count += count < TOGETHER_MOST;
    }
    memcpy(signs, places, count * sizeof *signs);
    return count;
}

static void add_step(DwGuideReasons *reasons, DwGuideStep step, double minutes)
{
    step.worth = step.bits / (minutes + every_step);
    reasons->steps[reasons->step_count++] = step;
}

static void add_steps(const DwGuideCase *guide_case, const DwGuideNetwork *network, DwGuideReasons *reasons)
{
    const DwGuideKnowledge *knowledge = guide_case->knowledge;
    for (size_t i = 0; i < knowledge->test_count; i++) {
        size_t signs[TOGETHER_MOST], count = best_signs(guide_case, network, &knowledge->tests[i], reasons, signs);
        if (count)
            add_step(reasons, (DwGuideStep){.test = (int)i, .bits = information(network, knowledge, signs, count)},
                     knowledge->tests[i].minutes + risk_minutes[knowledge->tests[i].risk]);
    }
    for (size_t i = 0; i < knowledge->symptom_count; i++)
        if (is_open(guide_case, i, reasons))
            add_step(reasons, (DwGuideStep){.test = -1, .symptom = i, .bits = information(network, knowledge, &i, 1)},
                     question_minutes);
}

// Tests that must be passed before the deck is plugged in.
static void mark_safety(const DwGuideCase *guide_case, DwGuideReasons *reasons)
{
    for (size_t s = 0; s < reasons->step_count; s++)
        reasons->steps[s].safety =
            reasons->steps[s].test >= 0 && dw_guide_case_keeps_unplugged(guide_case, (size_t)reasons->steps[s].test);
}

// A deck that is to stay unplugged is offered nothing but the tests that may let it be plugged in again.
static void drop_unsafe(const DwGuideCase *guide_case, DwGuideReasons *reasons)
{
    if (!dw_guide_case_is_dangerous(guide_case))
        return;
    size_t kept = 0;
    for (size_t s = 0; s < reasons->step_count; s++)
        if (reasons->steps[s].safety)
            reasons->steps[kept++] = reasons->steps[s];
    reasons->step_count = kept;
}

static bool comes_before(const DwGuideStep *a, const DwGuideStep *b)
{
    return a->safety != b->safety ? a->safety : a->worth > b->worth;
}

static void sort_steps(DwGuideReasons *reasons)
{
    for (size_t i = 1; i < reasons->step_count; i++) {
        DwGuideStep step = reasons->steps[i];
        size_t place = i;
        for (; place > 0 && comes_before(&step, &reasons->steps[place - 1]); place--)
            reasons->steps[place] = reasons->steps[place - 1];
        reasons->steps[place] = step;
    }
}

// --- how it stands ------------------------------------------------------------

static bool accounts_for(const DwGuideKnowledge *knowledge, size_t sign, const DwGuideReasons *reasons)
{
    for (size_t i = 0; i < reasons->found; i++)
        if (dw_guide_sign_chance(&knowledge->signs[sign], reasons->order[i]) >= accounts)
            return true;
    return false;
}

static DwGuideStanding stand(const DwGuideCase *guide_case, const DwGuideReasons *reasons)
{
    bool said = false, accounted = reasons->found > 0;
    for (size_t i = 0; i < guide_case->knowledge->sign_count; i++) {
        bool yes = guide_case->evidence[i].answer == DW_GUIDE_YES;
        said |= yes;
        if (yes && i < guide_case->knowledge->symptom_count)
            accounted &= accounts_for(guide_case->knowledge, i, reasons);
    }
    if (!said)
        return DW_GUIDE_NOTHING_SAID;
    if (reasons->step_count && reasons->steps[0].safety)
        return DW_GUIDE_ASKING;
    if (accounted)
        return DW_GUIDE_CLEAR;
    for (size_t i = 0; i < reasons->step_count; i++)
        if (reasons->steps[i].bits >= bits_least)
            return DW_GUIDE_ASKING;
    return DW_GUIDE_CANNOT_TELL;
}

void dw_guide_reason(const DwGuideCase *guide_case, DwGuideReasons *reasons)
{
    const DwGuideKnowledge *knowledge = guide_case->knowledge;
    DwGuideNetwork network;
    dw_guide_network_init(&network, guide_case);
    *reasons = (DwGuideReasons){
        .chance = dw_memory_new(knowledge->fault_count + 1, sizeof(double)),
        .weighed = dw_memory_new(knowledge->fault_count + 1, sizeof(bool)),
        .order = dw_memory_new(knowledge->fault_count + 1, sizeof(size_t)),
        .steps = dw_memory_new(knowledge->test_count + knowledge->symptom_count + 1, sizeof(DwGuideStep)),
        .at_once = network.at_once,
        .left_out = network.left_out};
    add_chances(guide_case, &network, reasons);
    sort_faults(reasons);
    while (reasons->found < reasons->count && reasons->chance[reasons->order[reasons->found]] >= certain)
        reasons->found++;
    name_leaders(reasons, &network);
    add_steps(guide_case, &network, reasons);
    mark_safety(guide_case, reasons);
    drop_unsafe(guide_case, reasons);
    sort_steps(reasons);
    reasons->standing = stand(guide_case, reasons);
    dw_guide_network_clear(&network);
}

void dw_guide_reasons_clear(DwGuideReasons *reasons)
{
    free(reasons->chance);
    free(reasons->weighed);
    free(reasons->order);
    free(reasons->steps);
    *reasons = (DwGuideReasons){0};
}

double dw_guide_weight(const DwGuideCase *guide_case, size_t sign, size_t fault)
{
    const DwGuideSign *row = &guide_case->knowledge->signs[sign];
    const DwGuideEvidence *evidence = &guide_case->evidence[sign];
    double without = 1 - row->leak, with = without * (1 - dw_guide_sign_chance(row, fault));
    double likely_with = evidence->if_so * (1 - with) + evidence->if_not * with;
    double likely_without = evidence->if_so * (1 - without) + evidence->if_not * without;
    return log2(likely_with / likely_without);
}
