// SPDX-License-Identifier: MIT
// Once a turn: what records that lie anyhow on platters have of it and what the platters have, by amplitudes alone.
#ifndef DW_DSP_TURN_SHARES_H
#define DW_DSP_TURN_SHARES_H

#include <stdbool.h>
#include <stddef.h>

enum { DW_TURN_SHARES_MOST = 12 }; // of records, of platters, of takes

typedef struct {
    double low, middle, high; // 2.5, 50 and 97.5 % of what it may be
} DwTurnShare;

typedef struct {
    double amplitude, off; // as read, with its 95 % half-width
    size_t record, platter;
} DwTurnTake;

// Given: COUNT takes of RECORDS on PLATTERS, amplitudes in %; at each the record lies at an angle of its own, any being
// alike, and off its middle within the hole by PLAY (standard, each way, %).
// Returned: false with fewer than three takes or no amplitude; else what each record and platter has.
// Accuracy: the shares hold in 95 of 100 as far as eccentricities and platters are drawn as anywhere from 0.02 to
// 1.5 %, each decade as likely as another (common practice, no source). One record on one platter leaves open which
// of the two has which share.
// Method: amplitude |D + R·e^(iα) + play| with α even (S. O. Rice, 1945, for what noise makes of a length), sampled by
// N. Metropolis's walk (1953) from a fixed seed: the same takes give the same shares.
bool dw_turn_shares(const DwTurnTake *takes, size_t count, size_t records, size_t platters, double play,
                    DwTurnShare *of_record, DwTurnShare *of_platter);

#endif
