// SPDX-License-Identifier: MIT
// What the next answer is to tell: which fault leads, and which is behind each complaint that was brought in.
#include "guide/guide_network.h"

#include "base/memory.h"

#include <stdlib.h>
#include <string.h>

enum { COMPLAINTS_MOST = 4 }; // that are told apart

// How often each of the network's faults makes each complaint that was brought in.
typedef struct {
    double *chances[COMPLAINTS_MOST];
    size_t count;
} Brought;

static void list_brought(const DwGuideCase *guide_case, const DwGuideNetwork *network, Brought *brought)
{
    const DwGuideKnowledge *knowledge = guide_case->knowledge;
    for (size_t i = 0; i < knowledge->symptom_count && brought->count < COMPLAINTS_MOST; i++) {
        if (!dw_guide_case_was_brought(guide_case, i))
            continue;
        double *chances = dw_memory_new(network->relevant_count + 1, sizeof *chances);
        for (size_t r = 0; r < network->relevant_count; r++)
            chances[r] = dw_guide_case_chance(guide_case, i, network->relevant[r]);
        brought->chances[brought->count++] = chances;
    }
}

static void brought_clear(Brought *brought)
{
    for (size_t c = 0; c < brought->count; c++)
        free(brought->chances[c]);
}

// The fault of SET that makes a complaint most often, by its CHANCES; NONE where none of them makes it.
static size_t behind(const DwGuideSet *set, const double *chances, size_t none)
{
    size_t place = none;
    double most = 0;
    for (unsigned k = 0; k < set->count; k++)
        if (chances[set->faults[k]] > most) {
            most = chances[set->faults[k]];
            place = set->faults[k];
        }
    return place;
}

// The likeliest fault of SET that is not FOUND yet; NONE without one.
static size_t leader(const DwGuideNetwork *network, const DwGuideReasons *reasons, const bool *found,
                     const DwGuideSet *set, size_t none)
{
    size_t place = none;
    double most = 0;
    for (unsigned k = 0; k < set->count; k++) {
        double chance = reasons->chance[network->relevant[set->faults[k]]];
        if (!found[set->faults[k]] && chance > most) {
            most = chance;
            place = set->faults[k];
        }
    }
    return place;
}

static int compare_keys(const void *a, const void *b)
{
    uint64_t left = *(const uint64_t *)a, right = *(const uint64_t *)b;
    return (left > right) - (left < right);
}

void dw_guide_lead(const DwGuideCase *guide_case, const DwGuideReasons *reasons, const bool *found,
                   DwGuideNetwork *network)
{
    Brought brought = {.count = 0};
    list_brought(guide_case, network, &brought);
    size_t none = network->relevant_count, count = 0;
    uint64_t *keys = dw_memory_new(network->set_count + 1, sizeof *keys);
    uint64_t *classes = dw_memory_new(network->set_count + 1, sizeof *classes);
    for (size_t i = 0; i < network->set_count; i++) {
        keys[i] = leader(network, reasons, found, &network->sets[i], none);
        for (size_t c = 0; c < brought.count; c++)
            keys[i] = keys[i] * (none + 1) + behind(&network->sets[i], brought.chances[c], none);
        classes[count++] = keys[i];
    }
    qsort(classes, count, sizeof *classes, compare_keys);
    network->class_count = 0;
    for (size_t i = 0; i < count; i++)
        if (i == 0 || classes[i] != classes[network->class_count - 1])
            classes[network->class_count++] = classes[i];
    for (size_t i = 0; i < network->set_count; i++) {
        const uint64_t *at = bsearch(&keys[i], classes, network->class_count, sizeof *classes, compare_keys);
        network->sets[i].class = at ? (uint32_t)(at - classes) : 0;
    }
    free(keys);
    free(classes);
    brought_clear(&brought);
}

// Whether fault FAULT of SET is behind one of the complaints.
static bool is_behind(const Brought *brought, const DwGuideSet *set, size_t fault)
{
    bool is = !brought->count;
    for (size_t c = 0; c < brought->count && !is; c++)
        is = behind(set, brought->chances[c], SIZE_MAX) == fault;
    return is;
}

void dw_guide_rank(const DwGuideCase *guide_case, const DwGuideNetwork *network, double *rank)
{
    Brought brought = {.count = 0};
    list_brought(guide_case, network, &brought);
    for (size_t r = 0; r < network->relevant_count; r++)
        rank[network->relevant[r]] = 0;
    for (size_t i = 0; i < network->set_count; i++) {
        const DwGuideSet *set = &network->sets[i];
        for (unsigned k = 0; k < set->count; k++)
            if (is_behind(&brought, set, set->faults[k]))
                rank[network->relevant[set->faults[k]]] += set->weight;
    }
    brought_clear(&brought);
}
