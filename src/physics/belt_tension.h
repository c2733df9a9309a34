// SPDX-License-Identifier: MIT
// The tension of a belt as it is fitted, from how it sounds or gives. Lengths in mm, forces in N.
#ifndef DW_PHYSICS_BELT_TENSION_H
#define DW_PHYSICS_BELT_TENSION_H

// Tension of a span that rings at PLUCK_HZ.
//
// Given: SPAN_MM between the two rims, MASS_G of the whole belt over LENGTH_MM, its length as fitted. Returned: N.
// Accuracy: exact for a string without stiffness; a belt's bending makes it read a little high.
// Reference: Mersenne's law, f = √(T/µ)/2L; M. Mersenne, "Harmonie universelle" (1636), any textbook of acoustics.
double dw_belt_tension_by_pluck(double pluck_hz, double span_mm, double mass_g, double length_mm);
// Tension of a span that gives way by GIVE_MM where it is pushed with PUSH_N in its middle.
//
// Returned: N. Accuracy: exact for the tension it has then; the push itself stretches the belt, STIFFNESS_N (modulus
// times section, NAN where unknown) taking that out to first order.
// Reference: the two halves' pull along the push, 2 T sin θ with tan θ = 2d/L (statics).
double dw_belt_tension_by_push(double push_n, double give_mm, double span_mm, double stiffness_n);

#endif
