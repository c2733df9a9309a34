// SPDX-License-Identifier: MIT
// Feeds a request's recordings to a set of bands, and reads the bands named by
// their seconds.
#ifndef DW_PROCEDURE_BAND_RECORDINGS_H
#define DW_PROCEDURE_BAND_RECORDINGS_H

#include "measure/band/channel_roles.h"
#include "procedure/registry/procedure.h"

// Each recording of REQUEST, between record.start and record.end, into SET; SHEET
// is told about each.
DwStatus dw_band_recordings_feed(const DwRequest *request, DwBandSet *set, DwSheet *sheet, DwMessage *message);

// The bands named by channels.left, channels.right, channels.both and channels.vertical.
// Seconds can only be meant of one recording.
DwStatus dw_band_recordings_named(const DwRequest *request, DwNamedBand named[DW_BAND_KINDS], size_t *count,
                                  DwMessage *message);

#endif
