// SPDX-License-Identifier: MIT
// What is worth asking or trying next, best first.
#ifndef DW_GUIDE_GUIDE_STEPS_H
#define DW_GUIDE_GUIDE_STEPS_H

#include "guide/guide_network.h"
#include "guide/guide_reason.h"

// Fills the steps of REASONS from NETWORK, in which each set has its leader. REASONS has room for every test, every
// complaint and the question of the drive.
void dw_guide_steps(const DwGuideCase *guide_case, const DwGuideNetwork *network, DwGuideReasons *reasons);

#endif
