// SPDX-License-Identifier: MIT
// How fast each part turns by the lines themselves: what makes tracing surer than the caliper.
#ifndef DW_PHYSICS_TRACE_TURNS_H
#define DW_PHYSICS_TRACE_TURNS_H

#include "physics/trace.h"

enum { DW_TRACE_HARMONICS_MOST = 40 };
#define DW_TRACE_SURE 0.9            // of confidence: a line is surely its part's
#define DW_TRACE_WEAK 0.3            // of a line's amplitude: what is weaker tells nothing of it
#define DW_TRACE_ERROR_LEAST_HZ 1e-5 // no rate and no line is known better, whatever is stated

// Looks for a row of four or more multiples of one turn about each rate that the dimensions tell badly: chance puts
// lines into such a row less than once in ten thousand. Returned: KNOWN, RATES with those turns taken over.
void dw_trace_find_rows(const DwTraceLine *lines, size_t count, const DwRate *rates, size_t rate_count, DwRate *known);

// Lets each of RATES that a line other than SKIP is surely the turn of, by FINDINGS, be known by that line as well.
void dw_trace_refine(const DwTraceLine *lines, const DwTraceFinding *findings, size_t count, size_t skip, DwRate *rates,
                     size_t rate_count);

// Lets what a part does besides its turn follow that turn from what was STATED to what RATES know of it.
void dw_trace_follow_turns(const DwRate *stated, DwRate *rates, size_t count);

#endif
