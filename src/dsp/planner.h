// SPDX-License-Identifier: MIT
// FFTW's planner is not thread-safe: every plan is made and destroyed under this lock.
#ifndef DW_DSP_PLANNER_H
#define DW_DSP_PLANNER_H

// FFTW's planner serves one thread at a time: whoever makes or ends a plan holds this.
void dw_planner_lock(void);
void dw_planner_unlock(void);

#endif
