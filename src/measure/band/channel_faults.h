// SPDX-License-Identifier: MIT
// What is wrong between stylus and recorder: found once, from all that was heard, and put on the
// sheet as one line with its verdict.
#ifndef DW_MEASURE_CHANNEL_FAULTS_H
#define DW_MEASURE_CHANNEL_FAULTS_H

#include "base/sheet.h"
#include "measure/band/channel_roles.h"

// Several may stand together. Left and right are the record's, but for a dead channel: the recording's.
typedef struct {
    bool known;          // enough was heard to say that there is none
    bool polarity_known; // a band of both channels was heard
    bool swapped, reversed, strapped;
    bool open_ground;   // the return that both channels share
    bool own_ground[2]; // the return of one channel: weak or dead, and humming
    bool hisses[2];     // weak or dead, and far louder than the other where no band is, without a clear hum
    bool may_hum[2];    // … but some, so that it may be the return as well
    bool dead[2], weak[2], intermittent[2];
    double weak_db;  // of the weak channel under the other
    bool by_content; // bands were told by what they hold and their order on the record
    bool by_plan;    // by the plan of a side
} DwChannelFaults;

// The faults that explain what was heard in the bands, and what the bands of the whole SIDE show beside (NULL: there is
// none).
DwChannelFaults dw_channel_faults_of(const DwChannelRoles *roles, const DwChannelFaults *side);
// Whether there is any.
bool dw_channel_faults_any(const DwChannelFaults *faults);
// Whether only one signal comes out: nothing that needs both channels can be read.
bool dw_channel_faults_leave_one(const DwChannelFaults *faults);
// "swapped and reversed", "left weak", "none". The caller frees it with free().
char *dw_channel_faults_words(const DwChannelFaults *faults);
// Adds the reading channels.fault with its verdict and what to do; with too little heard, why there is none.
void dw_channel_faults_report(const DwChannelFaults *faults, DwSheet *sheet);

#endif
