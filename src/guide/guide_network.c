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
// An owner who names his complaints leaves out a more striking one, were it so, one time in five. Common practice, no
// source.
static const double unsaid_share = 0.8;
// Sets this unlikely do not bear upon the order and upon what to ask.
static const double no_set_below = 3e-4;
enum { EXACT_SIGNS_MOST = 10 }; // the exact sum has 2^signs terms

static bool counts(const DwGuideEvidence *evidence)
{
    return evidence->answer == DW_GUIDE_YES || evidence->answer == DW_GUIDE_NO;
}

// Whether complaint SIGN may be what was meant by one that was brought in.
static bool may_be_meant(const DwGuideCase *guide_case, size_t sign)
{
    const DwGuideKnowledge *knowledge = guide_case->knowledge;
    for (size_t i = 0; i < knowledge->symptom_count; i++)
        for (size_t a = 0; dw_guide_case_was_brought(guide_case, i) && a < knowledge->signs[i].alike_count; a++)
            if (knowledge->signs[i].alikes[a] == sign)
                return true;
    return false;
}

// How likely it is that FAULT, were it there, left unsaid what it makes be said oftener than what was brought in: the
// most striking is named first.
static double unsaid(const DwGuideCase *guide_case, size_t fault)
{
    const DwGuideKnowledge *knowledge = guide_case->knowledge;
    double most = 0, silent = 1;
    for (size_t i = 0; i < knowledge->symptom_count; i++)
        if (dw_guide_case_was_brought(guide_case, i))
            most = fmax(most, dw_guide_case_chance(guide_case, i, fault));
    for (size_t i = 0; most > 0 && i < knowledge->symptom_count; i++) {
        double chance = dw_guide_sign_own_chance(&knowledge->signs[i], fault);
        if (chance > most && !counts(&guide_case->evidence[i]) && !may_be_meant(guide_case, i))
            silent *= 1 - unsaid_share * chance;
    }
    return silent;
}

// Faults that something points to; all that the deck may have where nothing does.
static void choose_faults(DwGuideNetwork *network, const DwGuideCase *guide_case)
{
    const DwGuideKnowledge *knowledge = guide_case->knowledge;
    bool any = false;
    bool *wanted = dw_memory_new(knowledge->fault_count, sizeof *wanted);
    for (size_t i = 0; i < knowledge->sign_count; i++) {
        const DwGuideEvidence *evidence = &guide_case->evidence[i];
        for (size_t f = 0; evidence->if_so > evidence->if_not && f < knowledge->fault_count; f++)
            if (dw_guide_case_chance(guide_case, i, f) > 0)
                any = wanted[f] = true;
    }
    for (size_t f = 0; f < knowledge->fault_count; f++) {
        network->place[f] = SIZE_MAX;
        double prior = dw_guide_case_prior(guide_case, f);
        bool confirmed = guide_case->confirmed && guide_case->confirmed[f];
        if (prior <= 0 || (any && !wanted[f] && !confirmed))
            continue;
        network->place[f] = network->relevant_count;
        network->relevant[network->relevant_count] = f;
        network->odds[network->relevant_count++] = share_factor * unsaid(guide_case, f) * prior / (1 - prior);
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

// What the set of no fault counts: a complaint that was brought in already says by itself how rarely it comes of
// nothing.
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

// What the walk through the sets goes by. The likelihoods of a sign's answer are divided by the root of their product,
// which weighs all sets alike: with many answers the weights would else be too small for a double.
typedef struct {
    DwGuideNetwork *network;
    double *keep; // what each fault leaves of the chance that a sign is not so: [sign][fault], fault running fastest
    double *so, *not_so;                // of each sign: how likely its answer is where it is so and where it is not
    double *left[DW_GUIDE_AT_ONCE + 1]; // of each sign: the chance that it is not so with the first faults of the set
    double *weights, *where_so, *where_not; // of each fault that may come next
} Walk;

static void walk_init(Walk *walk, DwGuideNetwork *network, const DwGuideCase *guide_case)
{
    size_t signs = network->sign_count, faults = network->relevant_count;
    *walk = (Walk){.network = network,
                   .keep = dw_memory_new(signs * faults + 1, sizeof(double)),
                   .so = dw_memory_new(signs + 1, sizeof(double)),
                   .not_so = dw_memory_new(signs + 1, sizeof(double)),
                   .weights = dw_memory_new(faults + 1, sizeof(double)),
                   .where_so = dw_memory_new(faults + 1, sizeof(double)),
                   .where_not = dw_memory_new(faults + 1, sizeof(double))};
    for (unsigned k = 0; k <= DW_GUIDE_AT_ONCE; k++)
        walk->left[k] = dw_memory_new(signs + 1, sizeof(double));
    for (size_t s = 0; s < signs; s++) {
        const DwGuideEvidence *evidence = &guide_case->evidence[network->signs[s]];
        double middle = sqrt(evidence->if_so * evidence->if_not);
        walk->so[s] = evidence->if_so / middle;
        walk->not_so[s] = evidence->if_not / middle;
        walk->left[0][s] = 1 - dw_guide_case_leak(guide_case, network->signs[s]);
        for (size_t r = 0; r < faults; r++)
            walk->keep[s * faults + r] = 1 - dw_guide_case_chance(guide_case, network->signs[s], network->relevant[r]);
    }
}

static void walk_clear(Walk *walk)
{
    for (unsigned k = 0; k <= DW_GUIDE_AT_ONCE; k++)
        free(walk->left[k]);
    free(walk->keep);
    free(walk->so);
    free(walk->not_so);
    free(walk->weights);
    free(walk->where_so);
    free(walk->where_not);
}

// What sign SIGN makes of the weights of COUNT sets, with what KEEP leaves of LEFT, that it is not so. WHERE_SO and
// WHERE_NOT gather what the measures of the next complaint make likely, as that is so or not.
static void weigh_sign(const Walk *walk, size_t sign, double left, const double *keep, double *weights, size_t count)
{
    double so = walk->so[sign], not_so = walk->not_so[sign], *where_so = walk->where_so, *where_not = walk->where_not;
    bool joined = walk->network->joined[sign], was_joined = sign && walk->network->joined[sign - 1];
    for (size_t i = 0; joined && !was_joined && i < count; i++)
        where_so[i] = where_not[i] = 1;
    for (size_t i = 0; joined && i < count; i++) {
        where_so[i] *= so + (not_so - so) * dw_guide_not_measured * left * keep[i];
        where_not[i] *= so + (not_so - so) * left * keep[i];
    }
    for (size_t i = 0; !joined && was_joined && i < count; i++)
        weights[i] *= where_so[i] * so * (1 - left * keep[i]) + where_not[i] * not_so * left * keep[i];
    for (size_t i = 0; !joined && !was_joined && i < count; i++)
        weights[i] *= so + (not_so - so) * left * keep[i];
}

static void add_set(DwGuideNetwork *network, DwGuideSet set)
{
    network->total += set.weight;
    network->sets[network->set_count++] = set;
}

// Adds all sets that have the faults of SET, of PRIOR together, and more that come after them.
static void walk_on(Walk *walk, const DwGuideSet *set, double prior)
{
    DwGuideNetwork *network = walk->network;
    size_t from = set->count ? set->faults[set->count - 1] + 1u : 0, faults = network->relevant_count;
    if (set->count == network->at_once || from == faults)
        return;
    for (size_t r = from; r < faults; r++)
        walk->weights[r] = prior * network->odds[r];
    for (size_t s = 0; s < network->sign_count; s++)
        weigh_sign(walk, s, walk->left[set->count][s], walk->keep + s * faults + from, walk->weights + from,
                   faults - from);
    DwGuideSet next = *set;
    next.count++;
    for (size_t r = from; r < faults; r++) {
        next.faults[set->count] = (uint16_t)r;
        next.weight = walk->weights[r];
        add_set(network, next);
    }
    for (size_t r = from; r < faults; r++) {
        next.faults[set->count] = (uint16_t)r;
        for (size_t s = 0; s < network->sign_count; s++)
            walk->left[next.count][s] = walk->left[set->count][s] * walk->keep[s * faults + r];
        walk_on(walk, &next, prior * network->odds[r]);
    }
}

static void walk_all(Walk *walk)
{
    static const double all = 1; // no fault takes nothing away
    DwGuideSet empty = {.weight = walk->network->nothing};
    for (size_t s = 0; s < walk->network->sign_count; s++)
        weigh_sign(walk, s, walk->left[0][s], &all, &empty.weight, 1);
    add_set(walk->network, empty);
    walk_on(walk, &empty, 1);
}

// The sum over all sets of whatever size, of the relevant faults. Each answer is worth
// a + b·(not so), so that the sum over faults parts into products: 2^signs of them. WHERE_SO and WHERE_NOT are the
// factor so far as the complaint whose measures are gone through is so or is not.
// Reference: Heckerman, D. (1989), A tractable inference algorithm for diagnosing multiple diseases (from memory),
// there with certain answers.
static double exact_sum(const Walk *walk, size_t sign, double where_so, double where_not, const double *left)
{
    const DwGuideNetwork *network = walk->network;
    size_t faults = network->relevant_count;
    if (sign == network->sign_count) {
        for (size_t r = 0; r < faults; r++)
            where_so *= 1 + network->odds[r] * left[r];
        return where_so;
    }
    double so = walk->so[sign], not_so = walk->not_so[sign], absent = walk->left[0][sign];
    double *with = dw_memory_new(faults + 1, sizeof *with);
    for (size_t r = 0; r < faults; r++)
        with[r] = left[r] * walk->keep[sign * faults + r];
    double a_so = where_so * so, a_not = where_not * so;
    double b_not = where_not * (not_so - so) * absent, b_so = where_so * (not_so - so) * absent * dw_guide_not_measured;
    if (!network->joined[sign]) {
        a_not = a_so;
        b_so = b_not = (where_not * not_so - where_so * so) * absent;
    }
    double sum = exact_sum(walk, sign + 1, a_so, a_not, left) + exact_sum(walk, sign + 1, b_so, b_not, with);
    free(with);
    return sum;
}

// The empty set stands first.
static double left_out(const Walk *walk)
{
    const DwGuideNetwork *network = walk->network;
    if (network->sign_count > EXACT_SIGNS_MOST)
        return NAN;
    double *left = dw_memory_new(network->relevant_count + 1, sizeof *left);
    for (size_t r = 0; r < network->relevant_count; r++)
        left[r] = 1;
    double all = exact_sum(walk, 0, 1, 1, left) - (1 - network->nothing) / network->nothing * network->sets[0].weight;
    free(left);
    double share = 1 - network->total / all;
    return share > 0 ? share : 0;
}

void dw_guide_network_init(DwGuideNetwork *network, const DwGuideCase *guide_case)
{
    const DwGuideKnowledge *knowledge = guide_case->knowledge;
    *network = (DwGuideNetwork){.relevant = dw_memory_new(knowledge->fault_count + 1, sizeof(size_t)),
                                .place = dw_memory_new(knowledge->fault_count + 1, sizeof(size_t)),
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
    Walk walk;
    walk_init(&walk, network, guide_case);
    walk_all(&walk);
    network->left_out = left_out(&walk);
    walk_clear(&walk);
    for (size_t i = 0; i < network->set_count; i++)
        network->sets[i].weight /= network->total;
}

void dw_guide_network_prune(DwGuideNetwork *network)
{
    size_t kept = 0;
    double left = 0;
    for (size_t i = 0; i < network->set_count; i++)
        if (network->sets[i].weight >= no_set_below) {
            left += network->sets[i].weight;
            network->sets[kept++] = network->sets[i];
        }
    for (size_t i = 0; i < kept; i++)
        network->sets[i].weight /= left;
    network->set_count = kept;
}

void dw_guide_network_clear(DwGuideNetwork *network)
{
    free(network->relevant);
    free(network->place);
    free(network->odds);
    free(network->signs);
    free(network->joined);
    free(network->sets);
    *network = (DwGuideNetwork){0};
}
