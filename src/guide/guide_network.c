// SPDX-License-Identifier: MIT
#include "guide/guide_network.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// A deck that is looked at rarely has nothing of what the list holds. Common practice, no source.
static const double nothing_factor = 0.1;
// What else a deck has besides what it came in for takes part in the complaint less often than by chance.
static const double share_factor = 0.4;
enum { EXACT_SIGNS_MOST = 15 }; // the exact sum has 2^signs terms

static bool counts(const DwGuideEvidence *evidence)
{
    return evidence->answer == DW_GUIDE_YES || evidence->answer == DW_GUIDE_NO;
}

// Faults that something points to; all that the deck may have where nothing does.
static void choose_faults(DwGuideNetwork *network, const DwGuideCase *guide_case)
{
    const DwGuideKnowledge *knowledge = guide_case->knowledge;
    bool any = false;
    bool *wanted = dw_memory_new(knowledge->fault_count, sizeof *wanted);
    for (size_t i = 0; i < knowledge->sign_count; i++) {
        const DwGuideEvidence *evidence = &guide_case->evidence[i];
        for (size_t k = 0; evidence->if_so > evidence->if_not && k < knowledge->signs[i].fault_count; k++)
            any = wanted[knowledge->signs[i].faults[k]] = true;
    }
    for (size_t f = 0; f < knowledge->fault_count; f++) {
        double prior = dw_guide_case_prior(guide_case, f);
        bool confirmed = guide_case->confirmed && guide_case->confirmed[f];
        if (prior <= 0 || (any && !wanted[f] && !confirmed))
            continue;
        network->relevant[network->relevant_count] = f;
        network->odds[network->relevant_count++] = share_factor * prior / (1 - prior);
    }
    free(wanted);
}

// What was answered, the measures of a complaint just before it.
static void list_signs(DwGuideNetwork *network, const DwGuideCase *guide_case)
{
    const DwGuideKnowledge *knowledge = guide_case->knowledge;
    for (size_t i = 0; i < knowledge->sign_count; i++) {
        if (!counts(&guide_case->evidence[i]) || dw_guide_case_measures(guide_case, i))
            continue;
        for (size_t m = knowledge->symptom_count; i < knowledge->symptom_count && m < knowledge->sign_count; m++)
            if (counts(&guide_case->evidence[m]) && dw_guide_case_measures(guide_case, m) &&
                knowledge->signs[m].measured == i) {
                network->joined[network->sign_count] = true;
                network->signs[network->sign_count++] = m;
            }
        network->signs[network->sign_count++] = i;
    }
}

// What the set of no fault counts: a complaint that was brought in already says by itself how rarely it comes of nothing.
static double nothing(const DwGuideCase *guide_case)
{
    for (size_t i = 0; i < guide_case->knowledge->symptom_count; i++)
        if (dw_guide_case_was_brought(guide_case, i))
            return 1;
    return nothing_factor;
}

static double sets_of(size_t faults, unsigned at_once)
{
    double count = 1, all = 1;
    for (unsigned k = 1; k <= at_once && k <= faults; k++) {
        count *= (double)(faults - k + 1) / k;
        all += count;
    }
    return all;
}

// What each fault leaves of the chance that a sign is not so: [sign][fault], fault running fastest.
static double *make_keep(const DwGuideNetwork *network, const DwGuideCase *guide_case)
{
    double *keep = dw_memory_new(network->sign_count * network->relevant_count + 1, sizeof *keep);
    for (size_t s = 0; s < network->sign_count; s++)
        for (size_t r = 0; r < network->relevant_count; r++)
            keep[s * network->relevant_count + r] =
                1 - dw_guide_sign_chance(&guide_case->knowledge->signs[network->signs[s]], network->relevant[r]);
    return keep;
}

static long double likelihood(const DwGuideNetwork *network, const DwGuideCase *guide_case, const double *keep,
                         const DwGuideSet *set)
{
    long double product = set->count ? 1 : network->nothing;
    for (unsigned i = 0; i < set->count; i++)
        product *= network->odds[set->faults[i]];
    double where_so = 1, where_not = 1; // what the measures of the next complaint make likely, as that is so or not
    for (size_t s = 0; s < network->sign_count; s++) {
        const DwGuideEvidence *evidence = &guide_case->evidence[network->signs[s]];
        double not_so = 1 - dw_guide_case_leak(guide_case, network->signs[s]);
        for (unsigned i = 0; i < set->count; i++)
            not_so *= keep[s * network->relevant_count + set->faults[i]];
        double missed = dw_guide_not_measured * not_so;
        if (network->joined[s]) {
            where_so *= evidence->if_so * (1 - missed) + evidence->if_not * missed;
            where_not *= evidence->if_so * (1 - not_so) + evidence->if_not * not_so;
            continue;
        }
        product *= where_so * evidence->if_so * (1 - not_so) + where_not * evidence->if_not * not_so;
        where_so = where_not = 1;
    }
    return product;
}

// The next set in the order (), (0), (0 1), (0 1 2), … (0 2), … (1), …; false after the last.
static bool next_set(DwGuideSet *set, size_t faults, unsigned at_once)
{
    uint16_t next = set->count ? (uint16_t)(set->faults[set->count - 1] + 1) : 0;
    if (set->count < at_once && next < faults) {
        set->faults[set->count++] = next;
        return true;
    }
    while (set->count) {
        if (++set->faults[set->count - 1] < faults)
            return true;
        set->count--;
    }
    return false;
}

// The sum over all sets of whatever size, of the relevant faults. Each answer is worth
// a + b·(not so), so that the sum over faults parts into products: 2^signs of them. WHERE_SO and WHERE_NOT are the
// factor so far as the complaint whose measures are gone through is so or is not.
// Reference: Heckerman, D. (1989), A tractable inference algorithm for diagnosing multiple diseases (from memory),
// there with certain answers.
static long double exact_sum(const DwGuideNetwork *network, const DwGuideCase *guide_case, const double *keep,
                             size_t sign, long double where_so, long double where_not, const long double *left)
{
    size_t faults = network->relevant_count;
    if (sign == network->sign_count) {
        for (size_t r = 0; r < faults; r++)
            where_so *= 1 + network->odds[r] * left[r];
        return where_so;
    }
    const DwGuideEvidence *evidence = &guide_case->evidence[network->signs[sign]];
    double not_so = 1 - dw_guide_case_leak(guide_case, network->signs[sign]);
    long double *with = dw_memory_new(faults + 1, sizeof *with);
    for (size_t r = 0; r < faults; r++)
        with[r] = left[r] * keep[sign * faults + r];
    long double a_so = where_so * evidence->if_so, a_not = where_not * evidence->if_so;
    long double b_not = where_not * (evidence->if_not - evidence->if_so) * not_so;
    long double b_so = where_so * (evidence->if_not - evidence->if_so) * not_so * dw_guide_not_measured;
    if (!network->joined[sign]) {
        a_not = a_so;
        b_so = b_not = (where_not * evidence->if_not - where_so * evidence->if_so) * not_so;
    }
    long double sum = exact_sum(network, guide_case, keep, sign + 1, a_so, a_not, left) +
                      exact_sum(network, guide_case, keep, sign + 1, b_so, b_not, with);
    free(with);
    return sum;
}

static double left_out(const DwGuideNetwork *network, const DwGuideCase *guide_case, const double *keep)
{
    if (network->sign_count > EXACT_SIGNS_MOST)
        return NAN;
    long double *left = dw_memory_new(network->relevant_count + 1, sizeof *left);
    for (size_t r = 0; r < network->relevant_count; r++)
        left[r] = 1;
    long double all = exact_sum(network, guide_case, keep, 0, 1, 1, left);
    free(left);
    all -= (1 - network->nothing) / network->nothing *
           likelihood(network, guide_case, keep, &(DwGuideSet){.count = 0});
    double share = (double)(1 - network->total / all);
    return share > 0 ? share : 0;
}

void dw_guide_network_init(DwGuideNetwork *network, const DwGuideCase *guide_case)
{
    const DwGuideKnowledge *knowledge = guide_case->knowledge;
    *network = (DwGuideNetwork){.relevant = dw_memory_new(knowledge->fault_count + 1, sizeof(size_t)),
                                .odds = dw_memory_new(knowledge->fault_count + 1, sizeof(double)),
                                .signs = dw_memory_new(knowledge->sign_count + 1, sizeof(size_t)),
                                .joined = dw_memory_new(knowledge->sign_count + 1, sizeof(bool)),
                                .nothing = nothing(guide_case),
                                .at_once = DW_GUIDE_AT_ONCE};
    choose_faults(network, guide_case);
    list_signs(network, guide_case);
    if (!network->sign_count)
        network->at_once = 1; // nothing bears upon any: sets of several tell nothing more
    while (network->at_once > 1 && sets_of(network->relevant_count, network->at_once) > DW_GUIDE_SETS_MOST)
        network->at_once--;
    size_t room = (size_t)(sets_of(network->relevant_count, network->at_once) + 0.5);
    network->sets = dw_memory_new(room, sizeof *network->sets);
    double *keep = make_keep(network, guide_case);
    DwGuideSet set = {.count = 0};
    do {
        set.weight = likelihood(network, guide_case, keep, &set);
        network->total += set.weight;
        network->sets[network->set_count++] = set;
    } while (next_set(&set, network->relevant_count, network->at_once));
    network->left_out = left_out(network, guide_case, keep);
    for (size_t i = 0; i < network->set_count; i++)
        network->sets[i].weight /= network->total;
    free(keep);
}

void dw_guide_network_clear(DwGuideNetwork *network)
{
    free(network->relevant);
    free(network->odds);
    free(network->signs);
    free(network->joined);
    free(network->sets);
    *network = (DwGuideNetwork){0};
}
