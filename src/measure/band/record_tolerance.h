// SPDX-License-Identifier: MIT
// What a test record has of its own, which no reading can tell from the pickup's: taken into every ± that it
// touches. As stated by its maker, or what pressings usually keep (common practice, no source).
#ifndef DW_MEASURE_RECORD_TOLERANCE_H
#define DW_MEASURE_RECORD_TOLERANCE_H

// The standard deviation of a leak of the cut near 1 kHz, as a ratio. Given: what is stated below the tone
// [dB], within which a leak lies evenly; NAN: not stated, 48 dB below then.
double dw_record_tolerance_leak(double stated_db);
// How far a band's level lies off the one stated, 95 % [dB].
double dw_record_tolerance_level_db(void);

#endif
