// SPDX-License-Identifier: MIT
#include "guide/guide_reason.h"

#include "base/memory.h"
#include "guide/guide_network.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double certain = 0.88;             // from here on a fault counts as found
static const double accounts = 0.15;            // a found fault that makes a complaint this often accounts for it
static const double seen_bits = 0.3;            // a finding that speaks for a fault this much has seen it
static const double bits_least = 0.03;          // below this a test is not worth making
static const double bits_least_untested = 0.02; // the same while nothing was tested yet
// One answer in ten misleads. A fault that one test alone has found is believed from `sure` on, or where no other test
// tells as much as `bits_second`; from TESTS_ENOUGH tests on whatever counts as found is. Judgement, no source.
static const double sure = 0.96, bits_second = 0.1;
enum { TESTS_ENOUGH = 2 };

// What the sum over the sets makes of a chance is too modest above the middle. The line through the log odds of what
// was so in 1,136 sessions drawn by scripts/guide-trial (seeds 1 to 4, with and without --shop) puts that right.
static const double stretch = 1.17, lift = 0.35;

double dw_guide_calibrated(double chance)
{
    if (!(chance > 0 && chance < 1))
        return chance;
    return 1 / (1 + exp(-stretch * log(chance / (1 - chance)) - lift));
}

// --- likely faults ------------------------------------------------------------

// What is likelier than not by its chance, then the others by their rank, then those behind no complaint by their
// chance.
static bool goes_before(const DwGuideReasons *reasons, const double *rank, size_t a, size_t b)
{
    if (reasons->chance[a] > 0.5 || reasons->chance[b] > 0.5 || (rank[a] <= 0 && rank[b] <= 0))
        return reasons->chance[a] > reasons->chance[b];
    return rank[a] > rank[b];
}

// Sorted by insertion: the faults are few, and no two threads share a key.
static void sort_faults(const DwGuideCase *guide_case, const DwGuideNetwork *network, DwGuideReasons *reasons)
{
    double *rank = dw_memory_new(guide_case->knowledge->fault_count + 1, sizeof *rank);
    dw_guide_rank(guide_case, network, rank);
    for (size_t i = 1; i < reasons->count; i++) {
        size_t fault = reasons->order[i], place = i;
        for (; place > 0 && goes_before(reasons, rank, fault, reasons->order[place - 1]); place--)
            reasons->order[place] = reasons->order[place - 1];
        reasons->order[place] = fault;
    }
    free(rank);
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
            reasons->chance[network->relevant[set->faults[k]]] += (double)set->weight;
        if (!set->count)
            reasons->none = (double)set->weight;
    }
    for (size_t r = 0; r < network->relevant_count; r++)
        reasons->chance[network->relevant[r]] = dw_guide_calibrated(reasons->chance[network->relevant[r]]);
}

// Whether something that was found, and not a complaint alone, speaks for FAULT.
static bool is_seen(const DwGuideCase *guide_case, size_t fault)
{
    const DwGuideKnowledge *knowledge = guide_case->knowledge;
    bool seen = guide_case->confirmed && guide_case->confirmed[fault];
    for (size_t i = knowledge->symptom_count; !seen && i < knowledge->sign_count; i++)
        seen = guide_case->evidence[i].turn && dw_guide_weight(guide_case, i, fault) >= seen_bits;
    return seen;
}

// How many tests have anything answered.
static size_t tests_made(const DwGuideCase *guide_case)
{
    size_t count = 0;
    for (size_t t = 0; t < guide_case->knowledge->test_count; t++) {
        const DwGuideTest *test = &guide_case->knowledge->tests[t];
        bool made = false;
        for (size_t i = 0; i < test->sign_count; i++)
            made |= guide_case->evidence[test->signs[i]].turn > 0;
        count += made;
    }
    return count;
}

// What the steps are to tell apart: faults that are found count no more as leaders, unless a complaint alone speaks for
// them.
static void name_classes(const DwGuideCase *guide_case, const DwGuideReasons *reasons, DwGuideNetwork *network)
{
    bool *found = dw_memory_new(network->relevant_count + 1, sizeof *found);
    double from = tests_made(guide_case) >= TESTS_ENOUGH ? certain : sure;
    for (size_t r = 0; r < network->relevant_count; r++)
        found[r] = reasons->chance[network->relevant[r]] >= from && is_seen(guide_case, network->relevant[r]);
    dw_guide_lead(guide_case, reasons, found, network);
    free(found);
}

// --- how it stands ------------------------------------------------------------

static bool makes(const DwGuideSign *sign, const DwGuideReasons *reasons)
{
    for (size_t i = 0; i < reasons->found; i++)
        if (dw_guide_sign_own_chance(sign, reasons->order[i]) >= accounts)
            return true;
    return false;
}

bool dw_guide_accounts_for(const DwGuideKnowledge *knowledge, const DwGuideReasons *reasons, size_t sign)
{
    bool made = makes(&knowledge->signs[sign], reasons);
    for (size_t a = 0; !made && a < knowledge->signs[sign].alike_count; a++)
        made = makes(&knowledge->signs[knowledge->signs[sign].alikes[a]], reasons);
    return made;
}

static bool is_said(const DwGuideCase *guide_case)
{
    for (size_t i = 0; i < guide_case->knowledge->sign_count; i++)
        if (guide_case->evidence[i].answer == DW_GUIDE_YES)
            return true;
    return false;
}

// Whether a finding was answered.
static bool is_tested(const DwGuideCase *guide_case)
{
    for (size_t i = guide_case->knowledge->symptom_count; i < guide_case->knowledge->sign_count; i++)
        if (guide_case->evidence[i].turn)
            return true;
    return false;
}

// Whether the first of the faults that count as found needs no further test.
static bool is_believed(const DwGuideCase *guide_case, const DwGuideReasons *reasons)
{
    double most = 0;
    for (size_t i = 0; i < reasons->step_count; i++)
        most = fmax(most, reasons->steps[i].bits);
    return tests_made(guide_case) >= TESTS_ENOUGH || reasons->chance[reasons->order[0]] >= sure || most < bits_second;
}

static DwGuideStanding stand(const DwGuideCase *guide_case, const DwGuideReasons *reasons)
{
    bool accounted = reasons->found > 0;
    for (size_t i = 0; i < guide_case->knowledge->symptom_count; i++)
        if (guide_case->evidence[i].answer == DW_GUIDE_YES)
            accounted &= dw_guide_accounts_for(guide_case->knowledge, reasons, i);
    if (!is_said(guide_case))
        return DW_GUIDE_NOTHING_SAID;
    if (reasons->step_count && reasons->steps[0].safety)
        return DW_GUIDE_ASKING;
    if (accounted && is_seen(guide_case, reasons->order[0]) && is_believed(guide_case, reasons))
        return DW_GUIDE_CLEAR;
    double least = is_tested(guide_case) ? bits_least : bits_least_untested;
    for (size_t i = 0; i < reasons->step_count; i++)
        if (reasons->steps[i].bits >= least)
            return DW_GUIDE_ASKING;
    return accounted ? DW_GUIDE_CLEAR : DW_GUIDE_CANNOT_TELL;
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
        .steps = dw_memory_new(knowledge->test_count + knowledge->symptom_count + 2, sizeof(DwGuideStep)),
        .at_once = network.at_once,
        .left_out = network.left_out};
    add_chances(guide_case, &network, reasons);
    dw_guide_network_prune(&network);
    sort_faults(guide_case, &network, reasons);
    while (reasons->found < reasons->count && reasons->chance[reasons->order[reasons->found]] >= certain)
        reasons->found++;
    name_classes(guide_case, reasons, &network);
    if (is_said(guide_case)) // else every fault may be there, and nothing bears upon any
        dw_guide_steps(guide_case, &network, reasons);
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
    double without = 1 - dw_guide_case_leak(guide_case, sign);
    double with = without * (1 - dw_guide_case_chance(guide_case, sign, fault));
    if (dw_guide_case_measures(guide_case, sign)) {
        const DwGuideEvidence *said = &guide_case->evidence[row->measured];
        double not_so = 1 - dw_guide_case_leak(guide_case, row->measured);
        double complaint_not_so = not_so * (1 - dw_guide_case_chance(guide_case, row->measured, fault));
        with = dw_guide_measured_not_so(said, complaint_not_so, with);
        without = dw_guide_measured_not_so(said, not_so, without);
    }
    double likely_with = evidence->if_so * (1 - with) + evidence->if_not * with;
    double likely_without = evidence->if_so * (1 - without) + evidence->if_not * without;
    return log2(likely_with / likely_without);
}
