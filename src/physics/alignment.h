// SPDX-License-Identifier: MIT
// The classical alignments of a pivoted arm as closed forms: where the
// cartridge should stand tangent, for a record whose grooves reach from an
// inner to an outer radius. Null radii do not depend on the arm's length.
#ifndef DW_PHYSICS_ALIGNMENT_H
#define DW_PHYSICS_ALIGNMENT_H

#include "physics/arm.h"

// The radii of the innermost and outermost modulated groove.
typedef struct {
    double inner_mm, outer_mm;
} DwGroove;

typedef enum {
    DW_ALIGNMENT_LOEFGREN_A,  // least worst |error|/radius
    DW_ALIGNMENT_LOEFGREN_B,  // the same linear offset, least mean square of error/radius
    DW_ALIGNMENT_STEVENSON_A, // tangent at the innermost groove
    DW_ALIGNMENT_UNWEIGHTED,  // least worst |error|
} DwAlignment;

// The null radii of an alignment, in the sine form (sin φ − sin β in place of
// φ − β), which all the classical papers use.
//
// Given: the alignment, and the groove radii [mm], 0 < inner < outer.
// Returned: the null radii [mm].
// Accuracy: to rounding; equalising true angles instead moves overhang and
// offset by less than 0.02 mm and 0.02° on 9- to 12-inch arms.
// Reference: E. Löfgren, "Über die nichtlineare Verzerrung bei der Wiedergabe
// von Schallplatten …", Akustische Zeitschrift 3, 1938 (A and B; A also
// H. G. Baerwald, J. SMPE 37, 1941); J. K. Stevenson, "Pickup Arm Design",
// Wireless World, May and June 1966; P. Wilson, "Needle Track Alignment", The
// Gramophone, 1924 (unweighted). The forms here are derived: with x = 1/r the
// weighted error is the quadratic (1 − s x + p x²)/(2 L cos β); A is the
// Chebyshev polynomial T₂ on [1/outer, 1/inner], Stevenson's is T₂ stretched
// until its upper zero lies at 1/inner, B sets ∂/∂p ∫(1 − s/r + p/r²)² dr = 0.
// That B is Löfgren's is inferred from null radii known from memory.
DwNulls dw_alignment_nulls(DwAlignment alignment, DwGroove groove);

// The one null radius of an arm without offset (an underhung arm).
//
// Given: the alignment, and the groove radii [mm], 0 < inner < outer.
// Returned: the null radius [mm]. Stevenson's criterion puts it at the
// innermost groove; A takes the least worst, B the least mean square of
// error/radius.
// Reference: derived: the weighted error is (1 − r₀² x²)/(2 L) with x = 1/r,
// so r₀² = 2/(1/r_i² + 1/r_o²), ∫r⁻²dr/∫r⁻⁴dr, and r_i r_o unweighted.
double dw_alignment_underhung_null(DwAlignment alignment, DwGroove groove);

// The arm without offset whose null lies at NULL_MM: L = √(d² − r₀²).
DwArm dw_alignment_underhung_at_distance(double null_mm, double pivot_to_spindle_mm);
// The same from the effective length: d = √(L² + r₀²).
DwArm dw_alignment_underhung_at_length(double null_mm, double effective_length_mm);

#endif
