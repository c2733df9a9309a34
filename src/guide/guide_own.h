// SPDX-License-Identifier: MIT
// What the shop itself found before moves what data/guide says.
#ifndef DW_GUIDE_GUIDE_OWN_H
#define DW_GUIDE_GUIDE_OWN_H

#include "guide/guide_case.h"

// The share of complaints that come of nothing on the list, moved by what the shop found that is not on it.
double dw_guide_own_unlisted_share(const DwGuideCase *guide_case);
// How likely FAULT is before anything was answered, PRIOR by data/guide, moved by how often the shop found it.
double dw_guide_own_prior(const DwGuideCase *guide_case, size_t fault, double prior);

#endif
