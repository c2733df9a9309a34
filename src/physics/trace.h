// SPDX-License-Identifier: MIT
// Tracing: which part turns at the rate of each line of a flutter spectrum, how
// sure that is, and which parts the recording was too short to tell apart.
#ifndef DW_PHYSICS_TRACE_H
#define DW_PHYSICS_TRACE_H

#include "physics/rates.h"

// A line of the flutter spectrum.
typedef struct {
    double frequency_hz;   // above 0
    double uncertainty_hz; // standard uncertainty of the frequency
    double amplitude;      // % peak
} DwTraceLine;

// One explanation of a line: a harmonic of a part.
typedef struct {
    DwPart part;
    double harmonic;   // of the part's own rate: 1 is once per turn, ¾ nine slots of twelve poles; 0 for unknown
    const char *what;  // "cogging", "commutation" …; NULL: turns of the part
    const char *turn;  // "first belt" …, where the part is there twice and it is the other one; NULL: it is not
    double rate_hz;    // at which the part would show it
    double confidence; // 0 to 1; those of a line's explanations add up to at most 1
} DwTraceSuspect;

// What is said of one line. The first suspect is the likeliest; the others are
// those that this recording cannot rule out. `platter` and `record` turn alike
// and always stand together.
typedef struct {
    DwTraceSuspect suspects[DW_PART_COUNT];
    size_t suspect_count;
    double share;      // % of the flutter's power
    double confidence; // that it is one of the suspects
} DwTraceFinding;

// Two parts whose rates are too close for the recording.
typedef struct {
    DwPart parts[2];
    double seconds; // of recording that would tell them apart; infinite when they coincide
} DwTracePair;

// Explains COUNT lines by the RATES of a drive.
//
// Given: LINES, each fitted in a recording of SECONDS; RATES as dw_drive_rates
// gives them; POWER, the mean square of the unweighted flutter (%²), or NAN for
// that of the lines themselves. Returned: FINDINGS, one a line. Without rates every
// line is unknown.
// Accuracy: confidence is the posterior probability under equal suspicion of each
// kind of part, a harmonic h being 1/h² as likely, and lines of no part spread evenly over the octaves
// from 0.1 to 200 Hz. Harmonics that outgrow all lower ones are trusted less. A part whose own turn was
// found for certain is known by that line from then on: its harmonics are looked for up to the fortieth.
// Reference: Bayes' rule with normal errors, any textbook of inference.
void dw_trace_lines(const DwTraceLine *lines, size_t count, const DwRate *rates, size_t rate_count, double seconds,
                    double power, DwTraceFinding *findings);

// Replaces the confidence of COUNT FINDINGS, which is as good as what Bayes' rule was told, by how often one as high
// was true of drives that were described whole: ascending, from none to certain. What is nobody's keeps its own unless
// WHOLE: a part whose rate is not described may well be behind it.
// Reference: the drawn decks of scripts/trace-trial; pooled neighbours by R. E. Barlow and others, "Statistical
// Inference under Order Restrictions" (1972, from memory).
void dw_trace_believe(DwTraceFinding *findings, size_t count, int whole);

// The pairs of parts that a recording of SECONDS cannot tell apart: their rates at
// once per turn, and those harmonics that two suspects of a finding share.
//
// Returned: up to ROOM pairs in PAIRS, and their number. Platter and record are
// not listed: no recording tells them apart without turning the record.
// Accuracy: two lines are resolved in 1/Δf seconds (Rayleigh's criterion).
size_t dw_trace_pairs(const DwTraceFinding *findings, size_t finding_count, const DwRate *rates, size_t rate_count,
                      double seconds, DwTracePair *pairs, size_t room);

// The seconds that tell two rates apart; infinite when they coincide.
double dw_trace_seconds(double rate_1_hz, double rate_2_hz);

// "platter or record": the suspects of FINDING, likeliest first. Written to BUFFER.
const char *dw_trace_words(const DwTraceFinding *finding, char *buffer, size_t size);

#endif
