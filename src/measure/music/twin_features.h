// SPDX-License-Identifier: MIT
// How the level of music moves, band by band: alike in any two recordings of it, whatever their levels and tone
// controls.
#ifndef DW_MEASURE_TWIN_FEATURES_H
#define DW_MEASURE_TWIN_FEATURES_H

#include "measure/music/twin_path.h"

enum { DW_TWIN_BANDS = 10 };

typedef struct {
    float *band[DW_TWIN_BANDS]; // each of unit power
    size_t count;
    double first_s, step_s; // of the values, in the recording
} DwTwinFeatures;

DwTwinFeatures dw_twin_features_of(const DwTwinSound *sound);
void dw_twin_features_clear(DwTwinFeatures *features);
// The value of BAND at place AT (in values), between two by a straight line; 0 outside.
double dw_twin_features_at(const DwTwinFeatures *features, size_t band, double at);

#endif
