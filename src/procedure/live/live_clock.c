// SPDX-License-Identifier: MIT
#include "procedure/live/live_clock.h"

#include <sys/timex.h>
#include <time.h>

double dw_live_clock_now(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

double dw_live_clock_off_ppm(void)
{
    static const double DISCIPLINED_PPM = 1, CRYSTAL_PPM = 50;
    struct timex asked = {0};
    int state = adjtimex(&asked);
    return state >= 0 && state != TIME_ERROR && !(asked.status & STA_UNSYNC) ? DISCIPLINED_PPM : CRYSTAL_PPM;
}
