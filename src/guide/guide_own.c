// SPDX-License-Identifier: MIT
// What the shop itself found before moves what data/guide says.
#include "guide/guide_case.h"

#include "base/memory.h"

#include <math.h>
#include <string.h>

// Nine in ten complaints that are brought in come of something on the list. Common practice, no source.
static const double unlisted = 0.1;
// So many decks weigh the priors of data/guide as much as the shop's own of this drive, and what these make as much as
// those of the same model. Judgement, no source.
static const double prior_decks = 50, prior_of_model = 10;
// So many decks with a fault alone weigh as much as what data/guide says of the complaints that it makes; no count
// makes a complaint surer than this. Judgement, no source.
static const double prior_said = 10, said_most = 0.95;

void dw_guide_case_own_all(DwGuideCase *guide_case, DwGuideShare all, const DwGuideShare with[DW_GUIDE_TRAITS])
{
    if (!guide_case->own && all.decks > 0)
        guide_case->own = dw_memory_new(guide_case->knowledge->fault_count + 1, sizeof *guide_case->own);
    guide_case->own_all = all;
    memcpy(guide_case->own_with, with, sizeof guide_case->own_with);
}

void dw_guide_case_own(DwGuideCase *guide_case, size_t fault, DwGuideShare share)
{
    guide_case->own[fault] = share;
}

// Owners name some of what is so, the most striking: the share of it that they named here, by what data/guide says.
static double named_share(const DwGuideKnowledge *knowledge, const double *said, const double *alone)
{
    double named = 0, so = 0;
    for (size_t i = 0; i < knowledge->symptom_count; i++)
        for (size_t f = 0; f < knowledge->fault_count; f++) {
            named += said[i * knowledge->fault_count + f];
            so += alone[f] * dw_guide_sign_own_chance(&knowledge->signs[i], f);
        }
    return so > named && named > 0 ? named / so : 1;
}

void dw_guide_case_own_complaints(DwGuideCase *guide_case, DwGuideSaid counts)
{
    guide_case->own_said = counts;
    guide_case->own_named = named_share(guide_case->knowledge, counts.said, counts.alone);
}

double dw_guide_case_own_alike(const DwGuideCase *guide_case, size_t fault)
{
    const DwGuideKnowledge *knowledge = guide_case->knowledge;
    double most = 0;
    for (size_t i = 0; guide_case->own_said.brought && i < knowledge->symptom_count; i++)
        if (dw_guide_case_was_brought(guide_case, i))
            most = fmax(most, guide_case->own_said.brought[i * knowledge->fault_count + fault]);
    return most;
}

double dw_guide_case_chance(const DwGuideCase *guide_case, size_t sign, size_t fault)
{
    double chance = dw_guide_sign_chance(&guide_case->knowledge->signs[sign], fault);
    if (!guide_case->own_said.said || guide_case->without_own || !dw_guide_case_was_brought(guide_case, sign))
        return chance;
    double said = guide_case->own_said.said[sign * guide_case->knowledge->fault_count + fault] / guide_case->own_named;
    return fmin(fmax(said_most, chance),
                (prior_said * chance + said) / (prior_said + guide_case->own_said.alone[fault]));
}

void dw_guide_case_own_unlisted(DwGuideCase *guide_case, const char *cause, DwGuideShare share)
{
    guide_case->own_unlisted = dw_memory_resize(guide_case->own_unlisted, guide_case->own_unlisted_count + 1,
                                                sizeof *guide_case->own_unlisted);
    guide_case->own_unlisted[guide_case->own_unlisted_count++] = (DwGuideUnlisted){dw_memory_text(cause), share};
}

// The mean of a Dirichlet prior after counting: (weight·prior + counted)/(weight + all), for the drive, then the model.
static double counted(double prior, const DwGuideShare *share, const DwGuideShare *all)
{
    prior = (prior_decks * prior + share->decks) / (prior_decks + all->decks);
    return (prior_of_model * prior + share->of_model) / (prior_of_model + all->of_model);
}

double dw_guide_own_unlisted_share(const DwGuideCase *guide_case)
{
    DwGuideShare found = {0};
    if (!guide_case->own || guide_case->without_own)
        return unlisted;
    for (size_t i = 0; i < guide_case->own_unlisted_count; i++) {
        found.decks += guide_case->own_unlisted[i].share.decks;
        found.of_model += guide_case->own_unlisted[i].share.of_model;
    }
    found.decks = fmin(found.decks, guide_case->own_all.decks); // one deck may have had several
    found.of_model = fmin(found.of_model, guide_case->own_all.of_model);
    return counted(unlisted, &found, &guide_case->own_all);
}

// A fault of decks with a trait is counted among those alone, where the deck at hand has it: what was never on a manual
// deck is no rarer on automatic ones for the manual decks that came in.
double dw_guide_own_prior(const DwGuideCase *guide_case, size_t fault, double prior)
{
    int trait = guide_case->knowledge->faults[fault].trait;
    if (!guide_case->own || guide_case->without_own || prior <= 0)
        return prior;
    bool among = trait >= 0 && guide_case->traits[trait] == 1 && guide_case->own_with[trait].decks > 0;
    return counted(prior, &guide_case->own[fault], among ? &guide_case->own_with[trait] : &guide_case->own_all);
}
