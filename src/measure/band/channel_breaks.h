// SPDX-License-Identifier: MIT
// Counts how often a channel falls away and comes back while the other plays on.
#ifndef DW_MEASURE_CHANNEL_BREAKS_H
#define DW_MEASURE_CHANNEL_BREAKS_H

#include <stdbool.h>
#include <stddef.h>

typedef struct {
    double most_db; // of the channel since the other plays on, where it held for three moments: a tick does not
    double before_db[2];
    bool fallen;
    size_t returns;
} DwChannelBreaks;

// No level is known, as before the first moment: at the beginning, and where the other channel no longer plays on.
// RETURNS stay.
void dw_channel_breaks_forget(DwChannelBreaks *breaks);
// Takes a moment: the channel's level and the other's [dB, of one reference].
void dw_channel_breaks_push(DwChannelBreaks *breaks, double here_db, double other_db);

#endif
