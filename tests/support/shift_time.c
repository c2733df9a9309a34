// SPDX-License-Identifier: MIT
// Loaded before a program (LD_PRELOAD), it lets time() be SHIFT_SECONDS later: what ends by the hour is tried at once.
#include <stdlib.h>
#include <time.h>

time_t time(time_t *at)
{
    const char *shift = getenv("SHIFT_SECONDS");
    struct timespec now;
    clock_gettime(CLOCK_REALTIME, &now);
    time_t shifted = now.tv_sec + (shift ? atoll(shift) : 0);
    if (at)
        *at = shifted;
    return shifted;
}
