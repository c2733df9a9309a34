// SPDX-License-Identifier: MIT
// What is true of a planned side, from its description alone.
#ifndef DW_SYNTH_RECORD_SIDE_TRUTH_H
#define DW_SYNTH_RECORD_SIDE_TRUTH_H

#include "synth/record_side.h"

// One for each band of the plan; GROOVE_S as in dw_record_side_new. The caller
// frees them with free().
DwRecordSideBand *dw_record_side_bands(const DwSideInputs *inputs, const DwTravel *travel, double groove_s);
// The rest, but for the bands and the level.
DwRecordSideTruth dw_record_side_overall(const DwSideInputs *inputs);

#endif
