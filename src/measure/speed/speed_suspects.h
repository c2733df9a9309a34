// SPDX-License-Identifier: MIT
// Who is suspected, who only has the largest share, and what cannot be told: lines grouped by part.
#ifndef DW_MEASURE_SPEED_SUSPECTS_H
#define DW_MEASURE_SPEED_SUSPECTS_H

#include "base/sheet.h"
#include "measure/speed/speed_waveform.h"
#include "physics/trace.h"

#include <stdbool.h>

// Lines that point to the same suspects, or to the same turn of nothing described.
typedef struct {
    const DwTraceFinding *finding; // the strongest line's
    char words[100];
    double amplitude, frequency_hz, confidence; // of the strongest line
    double turn_hz;                             // of the part, by its lines; NAN where they are not its own turns
    unsigned lines;
    DwWaveform waveform;
    double share;    // % of the flutter's power
    double severity; // what it alone reads over what is good
    bool is_guilty;  // by the limits
    const char *verdict;
} DwSuspect;

enum { DW_SUSPECTS_MOST = DW_FLUTTER_LINES_MOST };

// What is asked of a technician once a part is suspected, and what mends it.
typedef struct {
    const char *test, *remedy;
} DwSpeedAdvice;
const DwSpeedAdvice *dw_speed_advice(DwPart part, const DwDrive *drive, double frequency_hz);

// The weighted two-sigma that SETTINGS call good, %: a hi-fi deck's where no class was stated.
double dw_speed_good_flutter(const DwSpeedSettings *settings);

// What SUSPECT does, or which of several of its kind it is, beside its name: "cogging", "first belt"; "" for a turn.
const char *dw_speed_what_comes(const DwTraceSuspect *suspect);

// Groups the lines of ANALYSIS by FINDINGS, one a line; the worst first. TURN_MOST: what comes once a turn with its ±,
// % peak; NAN where it is not told. Returned: how many.
size_t dw_speed_suspects(const DwSpeedAnalysis *analysis, const DwSpeedSettings *settings, double turn_most,
                         const DwTraceFinding *findings, DwSuspect suspects[DW_SUSPECTS_MOST]);
// Adds their table, remarks and the pictures of what they do once round.
void dw_speed_suspects_show(const DwSuspect *suspects, size_t count, const DwSpeedSettings *settings, DwSheet *sheet);
// Adds what is in no line, and what comes and goes in no step with anything.
void dw_speed_rest(const DwSpeedAnalysis *analysis, const DwSuspect *suspects, size_t count,
                   const DwSpeedSettings *settings, double turn_hz, DwSheet *sheet);

#endif
