// SPDX-License-Identifier: MIT
// Whether what the files say hangs together, and harms nobody.
#ifndef DW_GUIDE_GUIDE_CHECK_H
#define DW_GUIDE_GUIDE_CHECK_H

#include "guide/guide_knowledge.h"

// Turns the names that the items call one another by into places; unknown names are troubles.
void dw_guide_link(DwGuideKnowledge *knowledge, DwGuideTroubles *troubles);
// Chances out of range, faults that nothing shows, tests that show nothing, missing cautions.
void dw_guide_check(const DwGuideKnowledge *knowledge, DwGuideTroubles *troubles);
// Advice that harms a deck, a cartridge or who follows it: lubricant on belts, rims or trip
// clutches, a meter on a connected cartridge, heated belts, trimmers turned unmarked, mains
// work without its cautions. Also part of dw_guide_check().
void dw_guide_harm(const DwGuideKnowledge *knowledge, DwGuideTroubles *troubles);

#endif
