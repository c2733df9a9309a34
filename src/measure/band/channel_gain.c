// SPDX-License-Identifier: MIT
#include "measure/band/channel_gain.h"

#include <math.h>
#include <stdbool.h>

static const double DRIVEN_DB = 9; // a channel this near to its best level is driven
static const double MOST_DB = 30;  // beyond it a channel is dead

static double best_of(const DwChannelLevels *bands, size_t count, size_t channel)
{
    double best = -INFINITY;
    for (size_t i = 0; i < count; i++)
        best = fmax(best, bands[i].level_db[channel]);
    return best;
}

double dw_channel_gain_db(const DwChannelLevels *bands, size_t count)
{
    double best[2] = {best_of(bands, count, 0), best_of(bands, count, 1)}, sum = 0, together = 0;
    bool alone = false;
    for (size_t i = 0; i < count; i++) {
        bool left = bands[i].level_db[0] > best[0] - DRIVEN_DB, right = bands[i].level_db[1] > best[1] - DRIVEN_DB;
        alone |= left != right;
        if (left && right) {
            sum += bands[i].level_db[1] - bands[i].level_db[0];
            together++;
        }
    }
    double gain = together > 0 ? sum / together : best[1] - best[0];
    return alone && fabs(gain) <= MOST_DB ? gain : 0;
}
