// SPDX-License-Identifier: MIT
// Points of the distributions that uncertainties are stated by.
#ifndef DW_PHYSICS_CHANCE_H
#define DW_PHYSICS_CHANCE_H

// The value that a normal deviate of unit deviation stays below with PROBABILITY, 0 to 1.
// Accuracy: rounding. Reference: any table of the normal distribution.
double dw_chance_normal(double probability);
// The same for χ² of FREEDOM degrees (> 0).
double dw_chance_chi_square(double probability, double freedom);
// The same for Student's t of FREEDOM degrees (> 0).
double dw_chance_student(double probability, double freedom);
// How probable HITS or more are in TRIES (≥ HITS) that each hit with PROBABILITY, 0 to 1.
double dw_chance_hits(unsigned hits, unsigned tries, double probability);

#endif
