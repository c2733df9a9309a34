// SPDX-License-Identifier: MIT
// The network itself: sets of faults that may be there together, and how well each explains
// what was answered.
#ifndef DW_GUIDE_GUIDE_NETWORK_H
#define DW_GUIDE_GUIDE_NETWORK_H

#include "guide/guide_case.h"
#include "guide/guide_reason.h"

#include <stdint.h>

enum { DW_GUIDE_AT_ONCE = 4, DW_GUIDE_SETS_MOST = 230000 };

// Faults that are there together.
typedef struct {
    uint16_t faults[DW_GUIDE_AT_ONCE]; // places in `relevant`
    uint16_t count;
    uint32_t class; // sets of one class have the same leader and the same faults behind what was complained of
    double weight;  // its share; all sets add up to 1
} DwGuideSet;

typedef struct {
    size_t *relevant; // the faults that something answered with yes may come from
    size_t *place;    // of each fault of the knowledge in `relevant`; `relevant_count` or more where it is not there
    double *odds;     // prior over its complement, of each
    size_t relevant_count;
    size_t *signs; // what was answered with yes or no; what measures a complaint stands just before it
    bool *joined;  // of each sign: it measures the complaint that follows, and is weighed with that
    size_t sign_count;
    DwGuideSet *sets;
    size_t set_count;
    size_t class_count;
    unsigned at_once;
    double nothing;  // what the set of no fault counts
    double total;    // of the weights before they were made to add up to 1
    double left_out; // as in DwGuideReasons
} DwGuideNetwork;

// Goes through all sets for CASE. The caller clears NETWORK with dw_guide_network_clear().
void dw_guide_network_init(DwGuideNetwork *network, const DwGuideCase *guide_case);
// Frees what NETWORK holds and empties it.
void dw_guide_network_clear(DwGuideNetwork *network);

// Leaves the sets that bear upon the order and upon what to ask, which add up to 1 again.
void dw_guide_network_prune(DwGuideNetwork *network);
// Gives each set of NETWORK its class, by which fault leads it (the likeliest of REASONS that is not FOUND yet; FOUND
// as `relevant`) and which are behind the complaints that were brought in.
void dw_guide_lead(const DwGuideCase *guide_case, const DwGuideReasons *reasons, const bool *found,
                   DwGuideNetwork *network);
// Fills RANK, of each weighed fault: the share of the sets in which it is behind a complaint.
void dw_guide_rank(const DwGuideCase *guide_case, const DwGuideNetwork *network, double *rank);

// What is worth asking or trying next, best first.

// Fills the steps of REASONS from NETWORK, in which each set has its class. REASONS has room for every test, every
// complaint and the question of the drive.
void dw_guide_steps(const DwGuideCase *guide_case, const DwGuideNetwork *network, DwGuideReasons *reasons);

#endif
