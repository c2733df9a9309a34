// SPDX-License-Identifier: MIT
#ifndef DW_PROCEDURE_TWIN_TAKEN_H
#define DW_PROCEDURE_TWIN_TAKEN_H

#include "measure/music/twin.h"
#include "procedure/input/recording.h"
#include "procedure/registry/procedure.h"

// Both recordings, and what they were fed to.
typedef struct {
    DwRecording recording[2];
    unsigned opened;
    DwTwin *twin;
} DwTwinTaken;

// Feeds the two recordings of REQUEST to a twin, twice where their poling asks for it. The caller clears TAKEN, on
// failure too.
DwStatus dw_twin_taken_read(const DwRequest *request, DwTwinTaken *taken, DwMessage *message);
void dw_twin_taken_clear(DwTwinTaken *taken);

#endif
