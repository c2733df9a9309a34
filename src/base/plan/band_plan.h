// SPDX-License-Identifier: MIT
// What one side of a test record holds, as a key file with a [record] group and one
// [band N] group for each band, in the order of the record. Read, examined for
// errors, and written.
//
//   [record]                       [band 1]
//   name = Set-up record           kind = tone        (tone sweep steps silence two-tone)
//   number = side A                channel = lateral  (left right lateral vertical)
//   speed = 33 1/3 rpm             frequency = 3150 Hz
//   reference = 5 cm/s             level = 0 dB       (cm/s, um, or dB re the reference)
//   lead_in = 4 s                  length = 60 s
//   gap = 3 s                      radius = 140 mm    (where it begins)
#ifndef DW_BASE_BAND_PLAN_H
#define DW_BASE_BAND_PLAN_H

#include "base/status.h"

#include <stdbool.h>

typedef enum {
    DW_PLAN_TONE,
    DW_PLAN_SWEEP,
    DW_PLAN_STEPS,
    DW_PLAN_SILENCE,
    DW_PLAN_TWO_TONE,
    DW_PLAN_KINDS
} DwPlanKind;

typedef enum { DW_PLAN_LEFT, DW_PLAN_RIGHT, DW_PLAN_LATERAL, DW_PLAN_VERTICAL, DW_PLAN_CHANNELS } DwPlanChannel;

// How a sweep's level goes with its frequency: by the recorded characteristic, by
// its bass part alone (318 and 3180 µs), at constant velocity or at constant amplitude.
typedef enum {
    DW_PLAN_CUT_RIAA,
    DW_PLAN_CUT_BASS,
    DW_PLAN_CUT_VELOCITY,
    DW_PLAN_CUT_AMPLITUDE,
    DW_PLAN_CUTS
} DwPlanCut;

// Lengths and frequencies are as engraved, at the nominal speed. A value that a
// band's kind has no use for, or that was not given, is NAN.
typedef struct {
    unsigned number; // N of [band N]
    DwPlanKind kind;
    DwPlanChannel channel; // of silence: lateral, and without a meaning
    double frequency_hz;   // tone, steps; two-tone: the higher tone
    double from_hz, to_hz; // ends of a sweep; two-tone: from_hz is the lower tone
    // Peak, of the channel driven or of the lateral or vertical movement. A sweep:
    // at 1 kHz, or at its start when it does not pass 1 kHz; two-tone: of the
    // lower tone; steps: of the highest.
    double velocity_cm_s;
    double *steps_um; // peak amplitudes in order, equal shares of the length; NULL but for steps
    size_t step_count;
    double high_db; // two-tone: the higher tone over the lower, −12 unless given
    DwPlanCut cut;  // of a sweep
    double length_s;
    double gap_s;     // silent groove after it
    double radius_mm; // where it begins
    unsigned line;    // where its group begins; 0 for a plan not read from a file
    bool broken;      // something that it needs is missing or wrong
} DwBandPlanBand;

typedef struct {
    char *name;   // of the record; never NULL once read
    char *number; // the maker's, as typed
    double speed_rpm;
    double reference_cm_s; // what 0 dB is, peak; NAN when not stated
    double lead_in_s;      // silent groove before the first band
    double gap_s;          // after a band that says nothing of its own
    DwBandPlanBand *bands; // by number
    size_t count;
} DwBandPlan;

// One thing that is wrong with a plan, or doubtful.
typedef struct {
    unsigned line; // 0 when it concerns the plan as a whole
    unsigned band; // N of [band N]; 0 when it concerns none
    bool doubtful; // the plan can be used all the same
    char *text;    // what is wrong and what to do, in English
    char *said;    // the same in the language of the program's user
} DwPlanTrouble;

typedef struct {
    DwPlanTrouble *items; // by line
    size_t count, room;
} DwPlanTroubles;

enum { DW_BAND_PLAN_BANDS_MOST = 200, DW_BAND_PLAN_STEPS_MOST = 16 };

// Reads the plan at PATH. The first thing that is wrong with it is DW_BAD_INPUT
// with one line; what is merely doubtful is let pass. The caller clears *PLAN.
DwStatus dw_band_plan_read(const char *path, DwBandPlan *plan, DwMessage *message);
// The same from LENGTH bytes at TEXT; NAME stands for the path in messages.
DwStatus dw_band_plan_parse(const char *text, size_t length, const char *name, DwBandPlan *plan, DwMessage *message);
void dw_band_plan_clear(DwBandPlan *plan);

// Reads the plan at PATH and lists everything that is wrong or doubtful. Bands
// that cannot be used are marked broken. Only a file that is no key file at all
// is a failure. The caller clears both.
DwStatus dw_band_plan_examine(const char *path, DwBandPlan *plan, DwPlanTroubles *troubles, DwMessage *message);
DwStatus dw_band_plan_examine_text(const char *text, size_t length, const char *name, DwBandPlan *plan,
                                   DwPlanTroubles *troubles, DwMessage *message);
void dw_plan_troubles_clear(DwPlanTroubles *troubles);

// PLAN as a key file that dw_band_plan_read takes. The caller frees it with free().
char *dw_band_plan_write(const DwBandPlan *plan);

// Seconds from the first groove to where the band at INDEX begins, at the nominal speed;
// what a broken band does not say counts as nothing.
double dw_band_plan_start_s(const DwBandPlan *plan, size_t index);
const char *dw_band_plan_kind_word(DwPlanKind kind);
const char *dw_band_plan_channel_word(DwPlanChannel channel);
const char *dw_band_plan_cut_word(DwPlanCut cut);

#endif
