// SPDX-License-Identifier: MIT
// Splits what comes once (or twice) a revolution into the deck's and the
// record's share, from recordings between which the record was turned on the
// platter by known angles.
//
// Two frames turn here. The deck's vector stands still on the platter; the
// record's stands still on the record. Angles count the way the platter turns:
// clockwise seen from above. With the platter ψ past its mark and the record
// laid on θ further round than at first, a line of harmonic n is the real part of
//   V = D·e^(inψ) + R·e^(in(ψ + θ)).
#ifndef DW_DSP_SHARES_H
#define DW_DSP_SHARES_H

#include <stdbool.h>
#include <stddef.h>

// A line's amplitude and phase: the real part of (real + i·imaginary)·e^(iωt), t
// from a moment that is stated where it is used.
typedef struct {
    double real, imaginary;
} DwVector;

// One seating of the record, as one recording shows it. Uncertainties are
// standard ones; angles in radians.
typedef struct {
    DwVector vector;
    double vector_off; // of each part
    double turned;     // ψ, or ψ + θ where the mark is the record's, at the moment of `vector`
    double turned_off;
    double angle; // θ
    double angle_off;
    double scale; // the record's share here over that at the first radius: r₁/r
    size_t band;  // recordings at one radius have one number, from 0
} DwSeat;

enum { DW_SHARES_SEATS_MOST = 16, DW_SHARES_BANDS_MOST = 4 };

typedef struct {
    bool possible; // false: these angles do not part the two
    bool open;     // the two values are known, but not which is whose
    unsigned harmonic;
    bool on_record, by_amplitudes;
    DwVector deck;                         // at ψ (or ψ + θ) = 0; real when only amplitudes were used
    DwVector record[DW_SHARES_BANDS_MOST]; // at θ = 0 and the first radius, by band
    double deck_amplitude, record_amplitude;
    double deck_off, record_off; // half-widths of the 95 % intervals
    double residual;             // rms that the split leaves in one recording; NAN when nothing can be left
} DwShares;

// The split where the platter's place is known in every recording.
//
// Given: COUNT seats of one band, the HARMONIC (1 or 2) and whether the mark is
// on the record. Returned: not possible below two seats, or where the angles
// lie within 20° of each other (times the harmonic, round the circle).
// Accuracy: linear least squares; the 95 % intervals propagate the seats'
// uncertainties to first order, widened where the residual says they are too small.
// Reference: C. F. Gauss's normal equations, solved by GSL's gsl_multifit_wlinear;
// for two seats half a turn apart: half-sum the deck, half-difference the record.
DwShares dw_shares_split(const DwSeat *seats, size_t count, unsigned harmonic, bool on_record);

// The split from amplitudes alone: |V|² = D² + R² + 2DR·cos(nθ + α).
//
// Given: as above, `turned` not used; three seats or more in one band. Returned:
// `open` unless a second band, with two seats or more, tells the two apart: the
// record's share goes as 1/radius. Then the deck's share is the one that does not.
// Accuracy: Levenberg–Marquardt on the amplitudes; intervals as above. Poor
// where the two are nearly equal.
// Reference: the law of cosines; GSL's gsl_multifit_nlinear.
DwShares dw_shares_split_amplitudes(const DwSeat *seats, size_t count, unsigned harmonic);

// The record's share in the recording SEAT, at the moment of its vector.
DwVector dw_shares_record_in(const DwShares *shares, const DwSeat *seat);

#endif
