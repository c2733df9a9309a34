// SPDX-License-Identifier: MIT
// Which band of a recording is the record's left, right, lateral or vertical
// one, when one channel is far weaker than the other too.
#ifndef DW_MEASURE_CHANNEL_ROLES_H
#define DW_MEASURE_CHANNEL_ROLES_H

#include "measure/band/band_set.h"

// A band that was named by its seconds.
typedef struct {
    DwBandKind role;
    size_t recording;
    double from_s, to_s;
} DwNamedBand;

typedef enum {
    DW_ROLES_NAMED,        // by seconds
    DW_ROLES_BY_RECORDING, // one band a recording, in the order of the record
    DW_ROLES_BY_CONTENT,   // by the channel that carries the tone and the order of the record
} DwRolesBasis;

typedef struct {
    DwRolesBasis basis;
    bool has[DW_BAND_KINDS];
    bool silent[DW_BAND_KINDS]; // expected, but no steady tone stands there
    DwToneBand band[DW_BAND_KINDS];
    size_t left_over; // bands found that play no part
    double gain_db;   // right over left where one channel is far weaker, else 0: kinds are told with it taken off
    bool breaks[2];   // a channel of the recording comes and goes
} DwChannelRoles;

// The roles of the bands of SET: NAMED ones when there are any; else one a
// recording when several hold one band each; else by content. LEFT_FIRST is
// the order of the one-sided bands on the record; lateral stands before vertical.
// No band at all or a bad sample is DW_BAD_INPUT with one line.
DwStatus dw_channel_roles_find(DwBandSet *set, const DwNamedBand *named, size_t named_count, bool left_first,
                               DwChannelRoles *roles, DwMessage *message);
// The same by content from COUNT bands in order of time.
DwChannelRoles dw_channel_roles_by_content(const DwToneBand *bands, size_t count, bool left_first);

// Why there is no band of ROLE, in words for a sheet.
const char *dw_channel_roles_missing(const DwChannelRoles *roles, DwBandKind role);

// Whether lateral movement comes out in phase; false without a band to tell by.
bool dw_channel_roles_polarity(const DwChannelRoles *roles, int *polarity);

#endif
