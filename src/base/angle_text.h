// SPDX-License-Identifier: MIT
// Angles as they stand on drawings and makers' sheets: degrees, minutes, seconds.
#ifndef DW_BASE_ANGLE_TEXT_H
#define DW_BASE_ANGLE_TEXT_H

#include <stdbool.h>

// Reads TEXT ("22°59'", "22°59′30″", "-1° 30'") as degrees. Returned: whether the
// whole of TEXT is such an angle, minutes and seconds below 60; *DEGREES is
// written only then. Plain degrees are not: they are a number with a unit.
bool dw_angle_text_read(const char *text, double *degrees);

#endif
